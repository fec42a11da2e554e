//! A case flown: the sensors' samples and the truth beside them.

use super::case::Case;
use super::scenario::{self, CIRCLES};
use crate::sensed::sample_of;
use chirrup_core::Sample;
use chirrup_flight::physics::atmosphere::Atmosphere;
use chirrup_flight::physics::moment::Moment;
use chirrup_flight::physics::motion::TICK_S;
use chirrup_flight::plan::check;
use chirrup_flight::plan::flight::Flight;
use chirrup_flight::sensors::Sensors;

/// Samples and truth; all lists are as long as each other.
#[derive(Clone, Debug, Default)]
pub struct Flown {
    /// What the sensors gave.
    pub samples: Vec<Sample>,
    /// Their times, in s.
    pub times_s: Vec<f64>,
    /// The true climb at these times, in m/s.
    pub truth_mps: Vec<f64>,
    /// Whether the pilot was circling in a thermal then.
    pub circles: Vec<bool>,
}

/// Flies a case with the random numbers of `seed`.
///
/// # Panics
/// If a scenario of this folder cannot be flown, which its test would have found.
pub fn fly(case: &Case, seed: u64) -> Flown {
    let text = scenario::text(case);
    let (scenario, glider) = check::read(case.name, &text).expect("the scenario can be read");
    let atmosphere = Atmosphere {
        sea_level_pa: 100.0 * scenario.day.sea_level_hpa,
        sea_level_k: 273.15 + scenario.day.sea_level_c,
    };
    let mut flight = Flight::new(&scenario, glider, seed);
    let mut sensors = Sensors::new(&scenario.sensors, &scenario.fault, seed);
    let mut flown = Flown::default();
    let (mut before_m, mut taken) = (None, 0);
    let (of, lost) = case.sensors.lost;
    loop {
        let moment = flight.moment();
        let energy_m = moment.energy_height_m();
        let glide_mps = (energy_m - before_m.unwrap_or(energy_m)) / TICK_S;
        before_m = Some(energy_m);
        let lifted = lifted(case, &atmosphere, moment);
        let sensed = sensors.take(&lifted);
        taken += usize::from(sensed.is_some());
        if let Some(sensed) = sensed.filter(|_| taken % of < of - lost) {
            flown.times_s.push(sensed.stamp_us as f64 * 1e-6);
            flown.truth_mps.push(glide_mps + case.rise.climb_mps(moment.time_s));
            flown.circles.push(moment.phase == CIRCLES);
            flown.samples.push(sample_of(&sensed));
        }
        let flies_on = flight.advance().expect("the flight ends in the air");
        if !flies_on || flight.moment().time_s > case.lasts_s {
            return flown;
        }
    }
}

/// The moment with the rise of the whole air added, which carries the glider along.
fn lifted<'a>(case: &Case, atmosphere: &Atmosphere, mut moment: Moment<'a>) -> Moment<'a> {
    moment.place.up += case.rise.risen_m(moment.time_s);
    moment.velocity.up += case.rise.climb_mps(moment.time_s);
    moment.still = atmosphere.at(moment.place.up);
    moment
}

#[cfg(test)]
mod tests {
    use super::super::case::{CASES, LASTS_S, Plan};
    use super::super::rise::Rise;
    use super::*;
    use approx::assert_abs_diff_eq;

    /// Mean and root mean square about it of the values after the first forty seconds.
    fn mean_and_spread(flown: &Flown, values: &[f64]) -> (f64, f64) {
        let from = flown.times_s.partition_point(|time_s| *time_s < 40.0);
        let counted = &values[from..];
        let mean = counted.iter().sum::<f64>() / counted.len() as f64;
        let square = counted.iter().map(|value| (value - mean).powi(2)).sum::<f64>();
        (mean, (square / counted.len() as f64).sqrt())
    }

    #[test]
    fn every_case_lasts_ten_minutes_and_forty_seconds_and_is_what_it_is_called() {
        for case in CASES {
            let flown = fly(&case, 1);
            let (climb_mps, spread_mps) = mean_and_spread(&flown, &flown.truth_mps);
            let what = format!("{}: {climb_mps} m/s, {spread_mps} about it", case.name);
            let last_s = flown.times_s.last().copied().unwrap();
            assert_abs_diff_eq!(last_s, LASTS_S, epsilon = 1.0);
            let circles = flown.circles.iter().filter(|circles| **circles).count();
            let share = circles as f64 / flown.circles.len() as f64;
            match (case.plan, case.rise) {
                // Air that never rises: the glider sinks as its polar says, 0.72 m/s at 25.5 m/s,
                // 5 % more a kilometre up. Level gusts are no gain.
                (Plan::Glide, Rise::None) => {
                    assert_abs_diff_eq!(climb_mps, -0.74, epsilon = 0.03);
                    assert!(spread_mps < 0.03, "{what}");
                }
                // 15.5 s of each round in lift.
                (Plan::Glide, Rise::Entries { climb_mps: lift_mps, every_s }) => {
                    let lifted_mps = 15.5 / every_s * lift_mps;
                    assert_abs_diff_eq!(climb_mps, lifted_mps - 0.74, epsilon = 0.08);
                }
                (Plan::Thermals | Plan::Leaves, _) => {
                    assert!(share > 0.4 && share < 0.6 && spread_mps > 0.8, "{what}");
                }
                (Plan::PullUps, _) => assert!(climb_mps < -0.74 && share == 0.0, "{what}"),
                (Plan::Circles, _) | (_, Rise::Wave { .. }) => {
                    // A sinusoid of 3 m/s.
                    assert_abs_diff_eq!(spread_mps, 4.5_f64.sqrt(), epsilon = 0.02);
                }
            }
        }
    }
}
