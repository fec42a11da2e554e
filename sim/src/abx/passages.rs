//! The passages of a flight that are heard: those in which the two sounds differ most.

use super::survey::Second;
use chirrup_core::TICKS_PER_SECOND;
use serde::Serialize;

/// Length of a passage, s: some beeps of each kind, and short enough to be remembered (a guess).
pub const PASSAGE_S: usize = 10;
/// Differences below this are none: 0.05 s of something else, or a twentieth of a tone for a
/// hundredth of the time (a guess).
const NOTHING: f32 = 0.005;
/// A passage that differs less than this share of the one that differs most is left out, so that
/// all rounds are worth an answer (a guess).
const LEAST_SHARE: f32 = 0.25;
/// A beep more or less, and so much more or less tone in a passage, may be chance (a guess).
const CHANCE_NOTES: u32 = 1;
const CHANCE_ON: f32 = 0.05;

/// A part of a flight.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Passage {
    /// Its first control tick since the replay began.
    #[serde(skip)]
    pub tick: u64,
    /// Where it begins in the trace, s.
    pub from_s: f64,
    /// How much the two sounds differ in it: 0 is not at all, 1 is something else all the time.
    pub difference: f32,
}

impl Passage {
    /// The control tick after its last.
    pub fn end(&self) -> u64 {
        self.tick + (PASSAGE_S as u64) * u64::from(TICKS_PER_SECOND)
    }
}

/// At most `most` passages without overlap in which the two differ most, in the order of the
/// flight; none where they sound the same everywhere.
pub fn choose(seconds: &[Second], most: usize) -> Vec<Passage> {
    let mut all: Vec<Passage> = seconds.windows(PASSAGE_S).filter_map(passage).collect();
    // Of equal ones the earlier first.
    all.sort_by(|a, b| b.difference.total_cmp(&a.difference).then(a.tick.cmp(&b.tick)));
    let best = all.first().map_or(0.0, |passage| passage.difference);
    let least = (LEAST_SHARE * best).max(NOTHING);
    let mut chosen: Vec<Passage> = Vec::new();
    for passage in all.into_iter().take_while(|passage| passage.difference >= least) {
        let apart = |other: &Passage| passage.end() <= other.tick || other.end() <= passage.tick;
        if chosen.len() < most && chosen.iter().all(apart) {
            chosen.push(passage);
        }
    }
    chosen.sort_by_key(|passage| passage.tick);
    chosen
}

/// The passage of these seconds, if they follow one another.
fn passage(seconds: &[Second]) -> Option<Passage> {
    let (first, last) = (seconds.first()?, seconds.last()?);
    let lasts = (seconds.len() as u64 - 1) * u64::from(TICKS_PER_SECOND);
    if last.tick - first.tick != lasts {
        return None;
    }
    let sum = |of: fn(&Second) -> [u32; 2]| {
        seconds.iter().map(of).fold([0, 0], |[a, b], [more_a, more_b]| [a + more_a, b + more_b])
    };
    let ([notes_a, notes_b], [on_a, on_b]) = (sum(|second| second.notes), sum(|second| second.on));
    let length = seconds.len() as f32;
    let ticks = length * TICKS_PER_SECOND as f32;
    let notes = notes_a.abs_diff(notes_b).saturating_sub(CHANCE_NOTES) as f32 / length;
    let on = (on_a.abs_diff(on_b) as f32 / ticks - CHANCE_ON).max(0.0);
    let mean = seconds.iter().map(|second| second.difference).sum::<f32>() / length;
    let difference = (mean + notes + on).min(1.0);
    Some(Passage { tick: first.tick, from_s: first.time_s, difference })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A flight of `length` seconds, and how much each differs.
    fn flight(length: u64, difference: impl Fn(u64) -> f32) -> Vec<Second> {
        let second = |place| Second {
            tick: place * u64::from(TICKS_PER_SECOND),
            time_s: 100.0 + place as f64,
            difference: difference(place),
            ..Second::default()
        };
        (0..length).map(second).collect()
    }

    #[test]
    fn the_passages_are_where_the_sounds_differ_and_do_not_overlap() {
        let there = |place| (50..60).contains(&place) || (200..230).contains(&place);
        let chosen = choose(&flight(600, |place| if there(place) { 0.8 } else { 0.0 }), 12);
        let from: Vec<f64> = chosen.iter().map(|passage| passage.from_s).collect();
        // All four whole passages; what overlaps one of them by a part is no passage of its own.
        assert_eq!(from, [150.0, 300.0, 310.0, 320.0]);
        assert_eq!(choose(&flight(600, |_| 0.8), 12).len(), 12);
    }

    #[test]
    fn there_is_none_where_nothing_differs_or_the_flight_is_too_short() {
        assert!(choose(&flight(600, |_| 0.0), 12).is_empty());
        assert!(choose(&flight(600, |_| 0.004), 12).is_empty());
        assert!(choose(&flight(9, |_| 0.8), 12).is_empty());
    }

    #[test]
    fn a_passage_that_differs_little_is_left_out_beside_one_that_differs_much() {
        let of = |place| {
            if place < 10 {
                0.8
            } else if place < 40 {
                0.1
            } else {
                0.3
            }
        };
        let chosen = choose(&flight(60, of), 12);
        assert_eq!(
            chosen.iter().map(|passage| passage.from_s).collect::<Vec<_>>(),
            [100.0, 140.0, 150.0]
        );
    }

    #[test]
    fn no_passage_goes_over_a_gap() {
        let mut seconds = flight(15, |_| 0.8);
        seconds.iter_mut().skip(7).for_each(|second| second.tick += 1_000_000);
        assert!(choose(&seconds, 12).is_empty());
    }

    #[test]
    fn another_number_of_beeps_is_a_difference_and_one_beep_more_is_none() {
        let with = |notes: [u32; 2]| {
            let mut seconds = flight(10, |_| 0.0);
            seconds[3].notes = notes;
            choose(&seconds, 12).len()
        };
        assert_eq!((with([4, 5]), with([4, 6])), (0, 1));
    }
}
