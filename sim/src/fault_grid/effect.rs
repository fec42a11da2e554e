//! The effect of a disturbance on one instrument.

use super::flight::{Source, still_air};
use crate::inject::disturbance::{Disturbance, Disturbed};
use chirrup_core::{Meaning, Micros, Pipeline, PipelineState, Reading, Status};

/// How long an instrument flies before a disturbance begins and is judged, s.
pub const SETTLED_S: f64 = 40.0;
/// How long it is judged, s.
pub const JUDGED_S: f64 = 140.0;

/// A flight with one disturbance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Trial {
    /// What the instrument takes its energy from.
    pub source: Source,
    /// From one sample to the next, s.
    pub interval_s: f64,
    /// What disturbs it; `None` for the same flight without.
    pub disturbance: Option<Disturbance>,
    /// When that begins, s.
    pub from_s: f64,
    /// How long it lasts, s.
    pub lasts_s: f64,
}

/// What a disturbance does; effects of several flights are joined with [`Effect::worse`].
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Effect {
    /// How long a climb sounded, pauses between beeps included, s. The truth never climbs.
    pub climb_s: f64,
    /// How far the reading that sounds was from that of the same flight without the disturbance, at
    /// most, m/s; while either settles, no reading counts.
    pub moved_mps: f64,
    /// Seconds until `check_static` was said first, where it was.
    pub check_static_s: Option<f64>,
}

impl Effect {
    /// The larger of each, and the later warning.
    pub fn worse(self, other: Self) -> Self {
        Self {
            climb_s: self.climb_s.max(other.climb_s),
            moved_mps: self.moved_mps.max(other.moved_mps),
            check_static_s: self
                .check_static_s
                .into_iter()
                .chain(other.check_static_s)
                .reduce(f64::max),
        }
    }
}

impl Trial {
    /// A disturbance from [`SETTLED_S`] to the end.
    pub fn of(source: Source, interval_s: f64, disturbance: Disturbance) -> Self {
        Self {
            source,
            interval_s,
            disturbance: Some(disturbance),
            from_s: SETTLED_S,
            lasts_s: JUDGED_S,
        }
    }

    /// Flies it with the noise of `seed`, beside the same flight without the disturbance. What is
    /// heard and read before the disturbance does not count.
    pub fn fly(&self, pipeline: &Pipeline, seed: u64) -> Effect {
        let (mut state, mut twin) = (PipelineState::default(), PipelineState::default());
        let mut disturbed = self.disturbance.map(Disturbed::new);
        let (mut effect, mut climbs, mut last) = (Effect::default(), false, Micros(0));
        for sample in still_air(self.source, self.interval_s, SETTLED_S + JUDGED_S, seed) {
            if climbs {
                effect.climb_s += f64::from(sample.time.since(last).as_seconds());
            }
            last = sample.time;
            let since_s = sample.time.0 as f64 * 1e-6 - self.from_s;
            let spoilt = match &mut disturbed {
                Some(disturbed) if (-1e-9..self.lasts_s).contains(&since_s) => {
                    disturbed.spoil(since_s.max(0.0) as f32, &sample)
                }
                _ => sample,
            };
            let reading = pipeline.step(&mut state, &spoilt);
            let without = pipeline.step(&mut twin, &sample);
            if reading.status == Status::CheckStatic {
                effect.check_static_s.get_or_insert(since_s);
            }
            let Some(values) = reading.values else { continue };
            climbs = since_s > -1e-9 && values.sound.meaning() == Meaning::Climb;
            if let (true, Some(moved_mps)) = (since_s > -1e-9, moved(&reading, &without)) {
                effect.moved_mps = effect.moved_mps.max(moved_mps);
            }
        }
        effect
    }

    /// The worst of `seeds` flights.
    pub fn worst(&self, pipeline: &Pipeline, seeds: u64) -> Effect {
        (0..seeds).fold(Effect::default(), |worst, seed| worst.worse(self.fly(pipeline, seed)))
    }
}

/// How far the reading that sounds is from the one of the flight without the disturbance; `None`
/// while either settles.
fn moved(reading: &Reading, without: &Reading) -> Option<f64> {
    let settled = |reading: &Reading| {
        let values = reading.values.filter(|_| reading.status != Status::Settling)?;
        Some(f64::from(values.sounded().0))
    };
    Some((settled(reading)? - settled(without)?).abs())
}
