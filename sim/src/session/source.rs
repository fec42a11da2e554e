//! The source of a session's samples: a hand-flown flight, or a trace.

use super::control::Controls;
use super::profile::Profile;
use crate::error::{Complaint, Result};
use crate::inject::catalogue::Kind;
use crate::inject::{Chain, Injected, Injection};
use crate::replay::Replay;
use crate::segments::flown::Flown;
use crate::sensed::sample_of;
use crate::trace::columns::ColumnMap;
use crate::trace::{self, Item};
use chirrup_core::{Micros, Sample};
use chirrup_flight::hand::{Flight, STEP_US};
use std::io::Cursor;

/// Time from one sample of a flight to the next.
pub(super) const STEP: Micros = Micros(STEP_US);
/// Height at which a free flight begins, m.
pub(super) const START_M: f64 = 1000.0;
/// Below or above these heights a free flight restarts.
const LOWEST_M: f64 = 150.0;
const HIGHEST_M: f64 = 3500.0;
/// The faults on offer use no random numbers.
const FAULT_SEED: u64 = 0;
/// How long before the chosen time the instruments start, to let them settle unheard.
const BEFORE_S: f64 = 30.0;

/// The present fault and its state.
#[derive(Default)]
pub(super) struct Fault {
    kind: Option<Kind>,
    chain: Chain,
}

impl Fault {
    /// Applies a fault of this kind to a sample; a new fault begins with it.
    fn pass(&mut self, kind: Option<Kind>, sample: &Sample) -> Option<Sample> {
        if kind != self.kind {
            let begin = |kind| Injected::new(&Injection::of(kind), Some(sample.time), FAULT_SEED);
            *self = Self { kind, chain: Chain::new(kind.map(begin).into_iter().collect()) };
        }
        self.chain.pass(sample).last().copied()
    }
}

/// The source of samples.
pub(super) enum Source {
    Flight { flight: Box<Flight>, begun: bool, fault: Fault },
    Trace { samples: Vec<Sample>, flown_s: Vec<f64>, next: usize },
}

impl Source {
    pub(super) fn flight(seed: u64) -> Self {
        Self::flight_of(START_M, seed)
    }

    pub(super) fn flight_of(start_m: f64, seed: u64) -> Self {
        Source::Flight {
            flight: Box::new(Flight::new(start_m, seed)),
            begun: false,
            fault: Fault::default(),
        }
    }

    /// Reads a whole trace, and the notes on it.
    pub(super) fn trace(
        name: &str,
        bytes: Vec<u8>,
        columns: &ColumnMap,
    ) -> Result<(Self, Vec<String>)> {
        let mut trace = trace::open(name, Box::new(Cursor::new(bytes)), columns)?;
        let mut samples = Vec::new();
        let mut skipped = 0_u64;
        while let Some(item) = trace.next() {
            match item? {
                Item::Sample { sample, .. } => samples.push(sample),
                Item::Skipped(_) => skipped += 1,
            }
        }
        if samples.is_empty() {
            return Err(Complaint {
                file: name.into(),
                line: None,
                column: None,
                found: format!("no usable sample in {skipped} lines"),
                expected: "rows with a time and a static pressure, or an IGC file's B records"
                    .into(),
                hint: None,
            }
            .into());
        }
        let mut notes = trace.notes();
        if skipped > 0 {
            notes.push(format!("{skipped} lines could not be read and were passed over"));
        }
        let mut flown = Flown::default();
        let flown_s = samples.iter().map(|sample| flown.take(sample).0 as f64 * 1e-6).collect();
        Ok((Source::Trace { samples, flown_s, next: 0 }, notes))
    }

    pub(super) fn is_trace(&self) -> bool {
        matches!(self, Source::Trace { .. })
    }

    /// The next sample; `None` once a trace has ended.
    pub(super) fn next(&mut self, controls: &Controls) -> Option<Sample> {
        match self {
            Source::Flight { flight, begun, fault } => {
                let asked = controls.asked();
                if *begun {
                    flight.step(&asked);
                }
                *begun = true;
                let sample = sample_of(&flight.sense(asked.noise_m));
                fault.pass(controls.fault, &sample)
            }
            Source::Trace { samples, next, .. } => {
                let sample = samples.get(*next).copied();
                *next += usize::from(sample.is_some());
                sample
            }
        }
    }

    /// How long the sound runs before the next sample.
    pub(super) fn until_next(&self, replay: &Replay) -> Micros {
        match self {
            Source::Flight { .. } => STEP,
            Source::Trace { samples, next, .. } => {
                samples.get(*next).map_or(STEP, |sample| replay.time_until(sample))
            }
        }
    }

    /// Moves to the sample `seconds` after the first, less the settling time of the instruments.
    pub(super) fn seek(&mut self, seconds: f64) {
        if let Source::Trace { flown_s, next, .. } = self {
            let wanted_s = (seconds - BEFORE_S).max(0.0);
            *next =
                flown_s.iter().position(|flown_s| *flown_s >= wanted_s).unwrap_or(flown_s.len());
        }
    }

    /// Seconds since the flight or the trace began.
    pub(super) fn flown_s(&self) -> f64 {
        match self {
            Source::Flight { flight, .. } => flight.time_us() as f64 * 1e-6,
            Source::Trace { flown_s, next, .. } => {
                flown_s.get(next.saturating_sub(1)).copied().unwrap_or(0.0)
            }
        }
    }

    /// Length of the trace, s; 0 for a flight, which has no end.
    pub(super) fn length_s(&self) -> f64 {
        match self {
            Source::Flight { .. } => 0.0,
            Source::Trace { flown_s, .. } => flown_s.last().copied().unwrap_or(0.0),
        }
    }

    /// Whether the free flight is too low or too high to continue.
    pub(super) fn has_left(&self) -> bool {
        match self {
            Source::Flight { flight, .. } => {
                !(LOWEST_M..HIGHEST_M).contains(&flight.craft().height_m())
            }
            Source::Trace { .. } => false,
        }
    }

    /// Heights and climbs of the trace; empty for a flight.
    pub(super) fn profile(&self) -> Profile {
        match self {
            Source::Flight { .. } => Profile::default(),
            Source::Trace { samples, flown_s, .. } => Profile::of(samples, flown_s),
        }
    }

    pub(super) fn flown(&self) -> Option<&Flight> {
        match self {
            Source::Flight { flight, .. } => Some(flight),
            Source::Trace { .. } => None,
        }
    }
}
