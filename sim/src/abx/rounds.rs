//! The rounds: what X is, and which passage is heard.
//!
//! X is drawn anew in each round, like a coin, and not from a bag: only then is the number of right
//! guesses binomial.

use super::passages::Passage;
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};
use serde::Serialize;
use std::fmt;

/// One of the two settings.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Side {
    /// The first.
    A,
    /// The second.
    B,
}

impl Side {
    /// `a` or `b`, large or small.
    pub fn read(text: &str) -> Option<Self> {
        match text {
            "a" | "A" => Some(Side::A),
            "b" | "B" => Some(Side::B),
            _ => None,
        }
    }
}

impl fmt::Display for Side {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Side::A => "a",
            Side::B => "b",
        })
    }
}

/// A round.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Round {
    /// What X is.
    pub x: Side,
    /// The passage, by its place among those of the test.
    pub passage: usize,
}

/// The rounds of a test, before the first answer.
#[derive(Clone, Debug)]
pub struct Test {
    /// The passages, in the order of the flight.
    pub passages: Vec<Passage>,
    /// The rounds.
    pub rounds: Vec<Round>,
}

impl Test {
    /// `count` rounds over these passages; the same for the same seed.
    pub fn new(seed: u64, count: usize, passages: Vec<Passage>) -> Self {
        let rounds = rounds(seed, count, passages.len());
        Self { passages, rounds }
    }

    /// Where the passage of a round begins in the trace, s.
    pub fn from_s(&self, round: &Round) -> f64 {
        self.passages.get(round.passage).map_or(0.0, |passage| passage.from_s)
    }
}

/// As many rounds as `count`; the same for the same seed. What X is depends on the seed and the
/// number of the round alone, so that answers can be scored later.
fn rounds(seed: u64, count: usize, passages: usize) -> Vec<Round> {
    let mut coin = ChaCha8Rng::seed_from_u64(seed);
    // Each passage once, in any order, before one returns.
    let mut order = ChaCha8Rng::seed_from_u64(seed);
    order.set_stream(1);
    let mut bag: Vec<usize> = Vec::new();
    let round = |_| {
        if bag.is_empty() {
            bag = (0..passages).collect();
        }
        let place = order.next_u32() as usize % bag.len().max(1);
        let passage = if bag.is_empty() { 0 } else { bag.swap_remove(place) };
        let x = if coin.next_u32() >> 31 == 0 { Side::A } else { Side::B };
        Round { x, passage }
    };
    (0..count).map(round).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_seed_repeats_its_rounds_and_x_does_not_depend_on_the_passages() {
        assert_eq!(rounds(5, 40, 7), rounds(5, 40, 7));
        assert_ne!(rounds(5, 40, 7), rounds(6, 40, 7));
        let x =
            |passages, count| rounds(5, count, passages).iter().map(|r| r.x).collect::<Vec<_>>();
        assert_eq!(x(7, 40), x(1, 40));
        assert_eq!(x(7, 12), x(7, 40)[..12]);
    }

    #[test]
    fn x_is_a_in_half_of_the_rounds_and_follows_no_pattern() {
        let all = rounds(1, 10_000, 3);
        let count = |of: &dyn Fn(&[Round]) -> bool| all.windows(2).filter(|two| of(two)).count();
        // Five standard deviations of a coin are 250.
        for share in [count(&|two| two[0].x == Side::A), count(&|two| two[0].x == two[1].x)] {
            assert!(share.abs_diff(5_000) < 250, "{share}");
        }
    }

    #[test]
    fn every_passage_is_heard_before_one_is_heard_again() {
        let heard: Vec<usize> = rounds(1, 14, 7).iter().map(|round| round.passage).collect();
        for part in heard.chunks(7) {
            let mut part = part.to_vec();
            part.sort_unstable();
            assert_eq!(part, [0, 1, 2, 3, 4, 5, 6]);
        }
    }
}
