//! A rise of the whole air, known exactly: it lifts glider and truth alike.
//!
//! ```text
//! entries   every 40 s, or more, from 60 s on: up within 1.5 s, 14 s of climb, down within 1.5 s
//! wave      a mean and a sinusoid, from zero on
//! ```
//!
//! The air's rise is added to the flown glider's: its height grows by the integral and its truth
//! by the rise. That leaves out that a glider takes a few tenths of a second to be lifted, in which
//! the wing already gains the same energy.

use std::f64::consts::TAU;

/// When the first entry begins, in s.
pub const FIRST_S: f64 = 60.0;
/// How long an edge lasts, in s.
pub const EDGE_S: f64 = 1.5;
/// How long the air rises between two edges, in s.
pub const CLIMB_S: f64 = 14.0;

/// A rise of the whole air.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Rise {
    /// None.
    None,
    /// Thermals of one strength, met straight on.
    Entries {
        /// The strength, in m/s.
        climb_mps: f64,
        /// From an entry to the next, in s.
        every_s: f64,
    },
    /// The air of a circle that is stronger on one side.
    Wave {
        /// The mean, in m/s.
        mean_mps: f64,
        /// The amplitude, in m/s.
        swing_mps: f64,
        /// The time of a circle, in s.
        period_s: f64,
    },
}

impl Rise {
    /// Vertical speed of the air, in m/s.
    pub fn climb_mps(self, time_s: f64) -> f64 {
        match self {
            Self::None => 0.0,
            Self::Entries { climb_mps, every_s } => {
                let since_s = since_entry_s(time_s, every_s);
                let up = ramp(since_s);
                let down = ramp(since_s - EDGE_S - CLIMB_S);
                climb_mps * (up.0 - down.0)
            }
            Self::Wave { mean_mps, swing_mps, period_s } => {
                mean_mps + swing_mps * libm::sin(TAU * time_s / period_s)
            }
        }
    }

    /// How far the air has risen since time zero, in m.
    pub fn risen_m(self, time_s: f64) -> f64 {
        match self {
            Self::None => 0.0,
            Self::Entries { climb_mps, every_s } => {
                let before = libm::floor((time_s - FIRST_S) / every_s).max(0.0);
                let since_s = since_entry_s(time_s, every_s);
                let lately_s = ramp(since_s).1 - ramp(since_s - EDGE_S - CLIMB_S).1;
                climb_mps * (before * (EDGE_S + CLIMB_S) + lately_s)
            }
            Self::Wave { mean_mps, swing_mps, period_s } => {
                let turn = TAU / period_s;
                mean_mps * time_s + swing_mps * (1.0 - libm::cos(turn * time_s)) / turn
            }
        }
    }

    /// When thermals are entered, before `until_s`: the beginnings of the edges, in s.
    pub fn entries(self, until_s: f64) -> impl Iterator<Item = f64> {
        let (count, every_s) = match self {
            Self::Entries { every_s, .. } => {
                (((until_s - FIRST_S) / every_s).max(0.0) as u32, every_s)
            }
            _ => (0, 0.0),
        };
        (0..count).map(move |entry| FIRST_S + every_s * f64::from(entry))
    }
}

/// Time since the last entry began, negative before the first.
fn since_entry_s(time_s: f64, every_s: f64) -> f64 {
    let since_s = time_s - FIRST_S;
    if since_s < 0.0 { since_s } else { since_s - every_s * libm::floor(since_s / every_s) }
}

/// From 0 to 1 within an edge, and its integral.
fn ramp(since_s: f64) -> (f64, f64) {
    let during_s = since_s.clamp(0.0, EDGE_S);
    let after_s = (since_s - EDGE_S).max(0.0);
    (during_s / EDGE_S, 0.5 * during_s * during_s / EDGE_S + after_s)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    #[test]
    fn what_has_risen_is_the_integral_of_the_climb() {
        for rise in [
            Rise::None,
            Rise::Entries { climb_mps: 2.0, every_s: 40.0 },
            Rise::Wave { mean_mps: 2.0, swing_mps: 1.0, period_s: 18.0 },
        ] {
            let mut risen_m = 0.0;
            for step in 0..40_000 {
                let time_s = 0.005 * f64::from(step);
                risen_m += 0.005 * rise.climb_mps(time_s + 0.0025);
                assert_abs_diff_eq!(risen_m, rise.risen_m(time_s + 0.005), epsilon = 1e-3);
            }
        }
    }

    #[test]
    fn an_entry_is_half_way_up_in_the_middle_of_its_edge() {
        let rise = Rise::Entries { climb_mps: 2.0, every_s: 40.0 };
        let entries: Vec<f64> = rise.entries(200.0).collect();
        assert_eq!(entries, [60.0, 100.0, 140.0]);
        for entry_s in entries {
            assert_abs_diff_eq!(rise.climb_mps(entry_s), 0.0, epsilon = 1e-9);
            assert_abs_diff_eq!(rise.climb_mps(entry_s + 0.5 * EDGE_S), 1.0, epsilon = 1e-9);
            assert_abs_diff_eq!(rise.climb_mps(entry_s + 10.0), 2.0, epsilon = 1e-9);
            assert_abs_diff_eq!(rise.climb_mps(entry_s + 30.0), 0.0, epsilon = 1e-9);
        }
    }
}
