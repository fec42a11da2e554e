//! One recording as its page needs it: what the analysis found, and what the instrument made of it.

use super::request::Request;
use crate::ears::Ears;
use crate::error::{Error, Result};
use crate::inspect::Inspection;
use crate::inspect::steps::Steps;
use crate::output::drawn::Drawing;
use crate::output::watch::Watch;
use crate::recording::Recording;
use crate::recording::flight::Climb;
use crate::recording::track::Track;
use crate::replay::{Replay, Row, Stretch};
use chirrup_core::{EnergySource, Micros, Status};
use std::sync::atomic::{AtomicBool, Ordering};

/// The close-up shows so much before and after a climb, s.
const AROUND_S: f64 = 20.0;
/// And no more of it than this, s: each beep shall be seen.
const MOST_S: f64 = 300.0;

/// A recording, its analysis and its replay.
pub struct Flown {
    /// The samples.
    pub recording: Recording,
    /// Heights over time.
    pub track: Track,
    /// The analysis.
    pub inspection: Inspection,
    /// The best climb as the instrument heard it, as SVG; `None` without a climb.
    pub close_up: Option<String>,
    /// What was wrong with samples, how often, and when first in seconds.
    pub faults: Vec<(Status, u64, f64)>,
    /// Where total energy came from at the end.
    pub source: EnergySource,
}

impl Flown {
    /// Analyses and replays `recording`; the sound goes to `sound`.
    ///
    /// # Errors
    /// A sound that cannot be written, or an interruption.
    pub fn of(
        request: &Request,
        recording: Recording,
        sound: &mut dyn FnMut(Stretch<'_>) -> Result<()>,
        interrupted: &AtomicBool,
    ) -> Result<Self> {
        let (track, steps) = Steps::off(Track::of(&recording));
        let settings = &request.instrument.settings;
        let mut inspection = Inspection::of(&recording, &track, steps, settings);
        inspection.units = request.instrument.units;
        let mut heard = Heard::new(request, &recording, &inspection);
        let pipeline = request.instrument.pipeline.clone();
        let mut replay = Replay::new(Ears { left: pipeline, right: None });
        for (line, sample) in recording.all().iter().enumerate() {
            if interrupted.load(Ordering::Relaxed) {
                return Err(Error::Interrupted);
            }
            let mut hear = |stretch: Stretch<'_>| {
                heard.sound(stretch);
                sound(stretch)
            };
            let row = replay.feed(line as u64, &sample, &mut hear)?;
            heard.row(&row);
        }
        let Heard { drawing, faults, source, .. } = heard;
        let close_up = drawing.map(Drawing::into_svg);
        Ok(Self { recording, track, inspection, close_up, faults, source })
    }
}

impl Flown {
    /// A time of the flight in seconds, as UTC where that is known, else as the trace's own clock.
    pub fn clock(&self, time_s: f64) -> String {
        self.recording.clock().at(time_s)
    }
}

/// What the page shows of the replay.
struct Heard {
    drawing: Option<Drawing>,
    /// The stretch that is drawn.
    from: Micros,
    to: Micros,
    is_within: bool,
    faults: Vec<(Status, u64, f64)>,
    source: EnergySource,
}

impl Heard {
    fn new(request: &Request, recording: &Recording, inspection: &Inspection) -> Self {
        let best = best(&inspection.flight.climbs);
        let drawing = best.map(|_| {
            let instruments = Ears { left: request.instrument.clone(), right: None };
            let mut drawing = Drawing::new("The best climb, as it was heard".into(), instruments);
            recording.utc_at_zero_s.iter().for_each(|utc_s| drawing.time_zero_is(*utc_s));
            drawing
        });
        let (from_s, to_s) = best.map_or((0.0, 0.0), |climb| (climb.from_s, climb.to_s));
        let us = |seconds: f64| Micros((seconds * 1e6) as i64);
        // The launch before it would be louder.
        let free_s = inspection.flight.release_s.unwrap_or(f64::MIN);
        let from_s = (from_s - AROUND_S).max(free_s.min(from_s));
        let to_s = (to_s + AROUND_S).min(from_s + MOST_S);
        Self {
            drawing,
            from: us(from_s),
            to: us(to_s),
            is_within: false,
            faults: Vec::new(),
            source: EnergySource::None,
        }
    }

    fn row(&mut self, row: &Row) {
        let reading = row.readings.left;
        if reading.values.is_some() {
            self.source = reading.source;
        }
        if !matches!(reading.status, Status::Ok | Status::Settling | Status::Partial) {
            let time_s = row.time.0 as f64 * 1e-6;
            match self.faults.iter_mut().find(|(status, ..)| *status == reading.status) {
                Some((_, count, _)) => *count += 1,
                None => self.faults.push((reading.status, 1, time_s)),
            }
        }
        self.is_within = (self.from..=self.to).contains(&row.time);
        if let Some(drawing) = self.drawing.as_mut().filter(|_| self.is_within) {
            drawing.row(row);
        }
    }

    fn sound(&mut self, stretch: Stretch<'_>) {
        if let Some(drawing) = self.drawing.as_mut().filter(|_| self.is_within) {
            drawing.sound(stretch);
        }
    }
}

/// The climb of the best mean, of those that gain at least half as much as the highest.
pub fn best(climbs: &[Climb]) -> Option<&Climb> {
    let most_m = climbs.iter().map(|climb| climb.gain_m).fold(0.0, f64::max);
    let high = climbs.iter().filter(|climb| climb.gain_m >= 0.5 * most_m);
    high.max_by(|one, other| one.mean_mps.total_cmp(&other.mean_mps))
}
