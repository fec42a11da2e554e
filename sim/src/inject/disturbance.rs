//! Disturbances of the pressures that leave every sample plausible by itself: radio bursts, vents,
//! steps, wrong single samples and starts, coarse sensors, ice.
//!
//! Each has its size as numbers, so that [`crate::fault_grid`] can go through all sizes and
//! `--inject` draw one.

use super::tubes::{dynamic, shifted, static_pa, with_dynamic};
use chirrup_core::{Metre, Pascal, Sample, pressure_altitude, pressure_at};
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;
use rand_distr::{Distribution, StandardNormal};

/// A line that ice closes lets changes pass with this time constant at first, s (a guess).
const OPEN_S: f32 = 0.05;
/// Behind the ice the sensor still works: its noise, Pa (a guess).
const SENSOR_NOISE_PA: f32 = 0.5;

/// A disturbance of one size. Pressures in Pa, heights in m, times in s; a positive height means
/// that the static pressure is too low.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Disturbance {
    /// A transmitter near the barometer: its pressure is off by `pa` for `lasts_s` of every
    /// `every_s`.
    Bursts {
        /// Error, of either sign.
        pa: f32,
        /// Length of one burst.
        lasts_s: f32,
        /// From one burst to the next.
        every_s: f32,
    },
    /// A vent that is opened and closed shifts the pressure in the static line: the impact
    /// pressure, pitot minus static, shifts by as much the other way.
    Vent {
        /// Shift while it is open, of either sign.
        pa: f32,
        /// Time constant with which the line fills and empties.
        rise_s: f32,
        /// From opening to closing, and from closing to opening.
        every_s: f32,
    },
    /// The measured height steps and stays.
    Step {
        /// Height of the step, of either sign.
        metres: f32,
    },
    /// The first samples are off: one wrong sample, or a bad start.
    Wrong {
        /// Error, of either sign.
        metres: f32,
        /// How many samples.
        samples: u32,
    },
    /// A barometer with coarse steps.
    Coarse {
        /// The step.
        pa: f32,
    },
    /// Ice closes the static line.
    StaticIce {
        /// How long that takes.
        closes_s: f32,
    },
    /// Ice closes the pitot line.
    PitotIce {
        /// How long that takes.
        closes_s: f32,
    },
}

/// A disturbance under way.
#[derive(Clone, Debug)]
pub struct Disturbed {
    disturbance: Disturbance,
    seen: u32,
    /// The pressure behind the ice, and when it was so.
    line: Option<(f32, f32)>,
    rng: ChaCha8Rng,
}

impl Disturbed {
    /// A disturbance that begins with the next sample.
    pub fn new(disturbance: Disturbance) -> Self {
        Self { disturbance, seen: 0, line: None, rng: ChaCha8Rng::seed_from_u64(0) }
    }

    /// The result for `sample`, `since_s` after the disturbance began.
    pub fn spoil(&mut self, since_s: f32, sample: &Sample) -> Sample {
        let before = self.seen;
        self.seen = self.seen.saturating_add(1);
        match self.disturbance {
            Disturbance::Bursts { pa, lasts_s, every_s } => {
                let on = turn(since_s, every_s).1 < lasts_s;
                shifted(sample, [if on { pa } else { 0.0 }, 0.0, 0.0])
            }
            Disturbance::Vent { pa, rise_s, every_s } => {
                let by_pa = pa * opened(since_s, rise_s, every_s);
                shifted(sample, [by_pa, -by_pa, 0.0])
            }
            Disturbance::Step { metres } => raised(sample, metres),
            Disturbance::Wrong { metres, samples } if before < samples => raised(sample, metres),
            Disturbance::Wrong { .. } => *sample,
            Disturbance::Coarse { pa } => {
                let rounded = |pressure: Pascal| Pascal(pa * libm::roundf(pressure.0 / pa));
                Sample {
                    static_pressure: sample.static_pressure.map(rounded),
                    te_pressure: sample.te_pressure.map(rounded),
                    ..*sample
                }
            }
            Disturbance::StaticIce { closes_s } => {
                let outside = static_pa(sample);
                let by_pa = self.behind_ice(since_s, closes_s, outside) - outside;
                shifted(sample, [by_pa, -by_pa, 0.0])
            }
            Disturbance::PitotIce { closes_s } => {
                let Some(impact) = dynamic(sample) else { return *sample };
                let total = static_pa(sample) + impact;
                let trapped = self.behind_ice(since_s, closes_s, total);
                with_dynamic(sample, |_| trapped - static_pa(sample))
            }
        }
    }

    /// What a sensor says of a line whose opening shrinks to nothing within `closes_s`.
    fn behind_ice(&mut self, since_s: f32, closes_s: f32, outside: f32) -> f32 {
        let (line, at_s) = self.line.unwrap_or((outside, since_s));
        let open = (1.0 - since_s / closes_s).max(0.0);
        // The flow through a narrow tube falls with the fourth power of its width.
        let passed = (since_s - at_s) * open * open * open * open / OPEN_S;
        let line = line + (outside - line) * (1.0 - libm::expf(-passed));
        self.line = Some((line, since_s));
        let normal: f32 = StandardNormal.sample(&mut self.rng);
        line + SENSOR_NOISE_PA * normal
    }
}

/// How often `every_s` has passed, and the time since the last, for times that are a little off: a
/// hundred microseconds late is in time.
fn turn(since_s: f32, every_s: f32) -> (f32, f32) {
    let since_s = since_s + 1e-4;
    let turns = libm::floorf(since_s / every_s);
    (turns, since_s - every_s * turns)
}

/// How far the pressure has followed a vent that opens at zero and closes `every_s` later, from 0
/// to 1. (It had time to follow all the way before: `rise_s` is short against `every_s`.)
fn opened(since_s: f32, rise_s: f32, every_s: f32) -> f32 {
    let (turns, since_s) = turn(since_s, every_s);
    let still = libm::expf(-since_s / rise_s);
    if turns % 2.0 == 0.0 { 1.0 - still } else { still }
}

/// The sample with its static and probe pressures as if `metres` higher.
fn raised(sample: &Sample, metres: f32) -> Sample {
    let raise = |pressure: Pascal| {
        pressure_at(Metre(pressure_altitude(pressure).0 + metres)).0 - pressure.0
    };
    let probe = sample.te_pressure.map_or(0.0, raise);
    shifted(sample, [sample.static_pressure.map_or(0.0, raise), 0.0, probe])
}

#[cfg(test)]
mod tests {
    use super::*;
    use chirrup_core::{Micros, Speed};

    /// 20 s at 50 samples a second: static pressure less 90 000 Pa, and impact pressure less 500
    /// Pa.
    fn of(disturbance: Disturbance) -> Vec<(f32, f32)> {
        let mut disturbed = Disturbed::new(disturbance);
        let still = Sample {
            speed: Some(Speed::Dynamic(Pascal(500.0))),
            ..Sample::of_static(Micros(0), Pascal(90_000.0))
        };
        (0..1000)
            .map(|place| {
                let spoilt = disturbed.spoil(place as f32 * 0.02, &still);
                let impact = dynamic(&spoilt).expect("there is one");
                (static_pa(&spoilt) - 90_000.0, impact - 500.0)
            })
            .collect()
    }

    #[test]
    fn bursts_are_as_long_and_as_far_apart_as_they_say() {
        let bursts = of(Disturbance::Bursts { pa: -10.0, lasts_s: 0.12, every_s: 1.0 });
        for (place, pressures) in bursts.into_iter().enumerate() {
            let expected = if place % 50 < 6 { (-10.0, 0.0) } else { (0.0, 0.0) };
            assert_eq!(pressures, expected, "sample {place}");
        }
    }

    #[test]
    fn a_vent_leaves_the_sum_of_static_and_impact_pressure_still() {
        let vent = of(Disturbance::Vent { pa: 40.0, rise_s: 0.3, every_s: 8.0 });
        assert!(vent.iter().all(|(at_static, impact)| (at_static + impact).abs() < 0.01));
        // After one time constant, 1 - 1/e; before it closes, all; then back.
        assert!((vent[15].0 - 25.3).abs() < 0.1 && (vent[399].0 - 40.0).abs() < 0.01);
        assert!((vent[415].0 - 14.7).abs() < 0.1 && vent[799].0.abs() < 0.01);
    }

    #[test]
    fn wrong_samples_are_so_many_and_a_step_stays() {
        let low = of(Disturbance::Wrong { metres: -600.0, samples: 2 });
        // The standard atmosphere's 10 to 11 Pa a metre at 90 000 Pa.
        assert!(low[..2].iter().all(|(at_static, _)| (6_000.0..6_800.0).contains(at_static)));
        assert!(low[2..].iter().all(|pressures| *pressures == (0.0, 0.0)));
        let step = of(Disturbance::Step { metres: 8.0 });
        assert!(
            step.iter()
                .all(|(at_static, impact)| (-92.0..-80.0).contains(at_static) && *impact == 0.0)
        );
    }

    #[test]
    fn ice_closes_a_line_and_then_nothing_passes() {
        let mut static_line = Disturbed::new(Disturbance::StaticIce { closes_s: 5.0 });
        let mut seen = |place: i32| {
            let falling = Pascal(90_000.0 + 0.16 * place as f32);
            static_line.spoil(place as f32 * 0.02, &Sample::of_static(Micros(0), falling));
            static_line.line.expect("it has a pressure").0
        };
        let line: Vec<f32> = (0..1000).map(&mut seen).collect();
        // Half a second late by no more than a pascal; closed, it stays.
        assert!((line[25] - 90_004.0).abs() < 1.0, "{}", line[25]);
        assert!(line[250..].iter().all(|pressure| *pressure == line[250]));
        // What it lacks of 40 Pa is 40 Pa times the integral of exp(-20 y^5) from 0 to 1, which is
        // gamma(6/5) / 20^(1/5) = 0.504: the solution of the line's equation.
        assert!((line[250] - 90_019.83).abs() < 0.1, "{}", line[250]);
    }
}
