//! Climb that sounds where there is none, as a pilot would take it.
//!
//! A false beep is a climb sound that begins while the truth is below zero. A false spell is climb
//! sounds less than half a second apart taken as one, longer than a second and begun while the
//! truth is below zero: what a pilot would take for a call. Both are counted in ten minutes.

use super::flown::Flown;
use super::heard::Heard;

/// Ten minutes.
const COUNTED_OVER_S: f64 = 600.0;
/// Sounds closer than this are one.
const TAKEN_AS_ONE_S: f64 = 0.5;
/// A spell is longer than this.
const SPELL_S: f64 = 1.0;

/// False climb in ten minutes.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct FalseClimb {
    /// Sounds.
    pub beeps: f64,
    /// Spells.
    pub spells: f64,
}

/// Counts the false climb of the times of which `counts` is true for their place in the flight.
pub fn false_climb(flown: &Flown, heard: &Heard, counts: impl Fn(usize) -> bool) -> FalseClimb {
    let counted = (0..flown.times_s.len()).filter(|place| counts(*place)).count();
    let step_s = flown.times_s.last().unwrap_or(&0.0) / flown.times_s.len() as f64;
    let is_false = |from_s: f64| {
        let place = flown.times_s.partition_point(|time_s| *time_s < from_s);
        counts(place) && flown.truth_mps[place] < 0.0
    };
    let beeps = heard.climbs_s.iter().filter(|(from_s, _)| is_false(*from_s)).count();
    let spells = spells(&heard.climbs_s)
        .filter(|(from_s, to_s)| to_s - from_s > SPELL_S && is_false(*from_s))
        .count();
    let in_ten_minutes = COUNTED_OVER_S / (counted as f64 * step_s);
    FalseClimb { beeps: beeps as f64 * in_ten_minutes, spells: spells as f64 * in_ten_minutes }
}

/// Sounds with those close after them.
fn spells(climbs_s: &[(f64, f64)]) -> impl Iterator<Item = (f64, f64)> {
    climbs_s
        .chunk_by(|(_, before_s), (after_s, _)| after_s - before_s < TAKEN_AS_ONE_S)
        .map(|chunk| (chunk[0].0, chunk[chunk.len() - 1].1))
}
