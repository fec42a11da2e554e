//! The report of a flight: what was flown when, how high, how fast.

use super::request::Request;
use crate::time::Clock;
use crate::words::shown_path;
use chirrup_flight::physics::moment::Moment;
use serde::Serialize;
use std::fmt;
use std::path::PathBuf;

/// The report, in the shape of its JSON.
#[derive(Clone, Debug, Serialize)]
pub struct Report {
    /// The scenario as the user named it.
    pub scenario: String,
    /// What the flight is called.
    pub name: String,
    /// The glider.
    pub glider: String,
    /// The seed.
    pub seed: u64,
    /// Samples written.
    pub samples: u64,
    /// Samples a second.
    pub rate_hz: f64,
    /// Length of the flight, s.
    pub duration_s: f64,
    /// Lowest height above the sea, m.
    pub lowest_m: f64,
    /// Highest.
    pub highest_m: f64,
    /// Least load factor.
    pub least_load: f64,
    /// Greatest.
    pub most_load: f64,
    /// What was flown when.
    pub phases: Vec<Phase>,
    /// Things worth knowing.
    pub notes: Vec<String>,
    /// Files made.
    pub outputs: Vec<PathBuf>,
    #[serde(skip)]
    legs: Vec<String>,
}

/// A part of the flight.
#[derive(Clone, Debug, Serialize)]
pub struct Phase {
    /// The word in `truth_phase`.
    pub phase: String,
    /// When it began, s.
    pub from_s: f64,
    /// Height above the sea then, m.
    pub from_m: f64,
    /// When it ended, s.
    pub to_s: f64,
    /// Height then, m.
    pub to_m: f64,
    /// Slowest true airspeed, m/s.
    pub slowest_mps: f64,
    /// Fastest.
    pub fastest_mps: f64,
}

impl Report {
    /// An empty report.
    pub fn new(request: &Request) -> Self {
        let scenario = &request.scenario;
        Self {
            scenario: request.file.clone(),
            name: scenario.name.clone(),
            glider: scenario.glider.name.clone(),
            seed: request.seed,
            samples: 0,
            rate_hz: scenario.sensors.rate_hz,
            duration_s: 0.0,
            lowest_m: f64::INFINITY,
            highest_m: f64::NEG_INFINITY,
            least_load: f64::INFINITY,
            most_load: f64::NEG_INFINITY,
            phases: Vec::new(),
            notes: Vec::new(),
            outputs: Vec::new(),
            legs: scenario.leg.iter().map(|leg| leg.phase.clone()).collect(),
        }
    }

    /// Adds a moment.
    pub fn note(&mut self, moment: &Moment<'_>) {
        let Moment { time_s, place, airspeed_mps, load_factor, .. } = *moment;
        self.duration_s = time_s;
        self.lowest_m = self.lowest_m.min(place.up);
        self.highest_m = self.highest_m.max(place.up);
        self.least_load = self.least_load.min(load_factor);
        self.most_load = self.most_load.max(load_factor);
        if self.phases.last().is_none_or(|last| last.phase != moment.phase) {
            self.phases.push(Phase {
                phase: moment.phase.to_owned(),
                from_s: time_s,
                from_m: place.up,
                to_s: time_s,
                to_m: place.up,
                slowest_mps: airspeed_mps,
                fastest_mps: airspeed_mps,
            });
        }
        if let Some(phase) = self.phases.last_mut() {
            (phase.to_s, phase.to_m) = (time_s, place.up);
            phase.slowest_mps = phase.slowest_mps.min(airspeed_mps);
            phase.fastest_mps = phase.fastest_mps.max(airspeed_mps);
        }
    }

    /// Completes it; `overdue` are the legs that ended only by their time limit.
    pub(super) fn finish(&mut self, overdue: &[usize]) {
        let notes = overdue.iter().map(|&leg| {
            let phase = &self.legs[leg];
            format!(
                "leg {} ({phase}) had not reached its end after an hour; the next was begun",
                leg + 1
            )
        });
        self.notes.extend(notes);
    }
}

impl fmt::Display for Report {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { scenario, name, glider, samples, rate_hz, duration_s, .. } = self;
        writeln!(f, "{scenario}: {name}, in a {glider}")?;
        writeln!(
            f,
            "  {} of flight, {samples} samples at {rate_hz} Hz, seed {}",
            Clock(*duration_s),
            self.seed
        )?;
        writeln!(
            f,
            "  height {:.0} to {:.0} m, load factor {:.1} to {:.1}",
            self.lowest_m, self.highest_m, self.least_load, self.most_load
        )?;
        for phase in &self.phases {
            writeln!(
                f,
                "  {:>7}  {:<16} {:>5.0} to {:>5.0} m   {:>3.0} to {:>3.0} m/s",
                Clock(phase.from_s).to_string(),
                phase.phase,
                phase.from_m,
                phase.to_m,
                phase.slowest_mps,
                phase.fastest_mps
            )?;
        }
        for note in &self.notes {
            writeln!(f, "  note     {note}")?;
        }
        for output in &self.outputs {
            writeln!(f, "  written  {}", shown_path(output))?;
        }
        Ok(())
    }
}
