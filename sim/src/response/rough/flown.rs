//! A case flown: the sensors' samples and the truth beside them.

use super::case::Case;
use super::scenario::{self, CIRCLES, LASTS_S};
use chirrup_core::{Micros, Pascal, Sample, Speed};
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
    let mut before_m = None;
    loop {
        let moment = flight.moment();
        let energy_m = energy_m(&moment);
        let glide_mps = (energy_m - before_m.unwrap_or(energy_m)) / TICK_S;
        before_m = Some(energy_m);
        let lifted = lifted(case, &atmosphere, moment);
        if let Some(sensed) = sensors.take(&lifted) {
            flown.times_s.push(sensed.stamp_us as f64 * 1e-6);
            flown.truth_mps.push(glide_mps + case.rise.climb_mps(moment.time_s));
            flown.circles.push(moment.phase == CIRCLES);
            flown.samples.push(Sample {
                speed: sensed.dynamic_pa.map(|dynamic| Speed::Dynamic(Pascal(dynamic as f32))),
                ..Sample::of_static(Micros(sensed.stamp_us), Pascal(sensed.static_pa as f32))
            });
        }
        let flies_on = flight.advance().expect("the flight ends in the air");
        if !flies_on || flight.moment().time_s > LASTS_S {
            return flown;
        }
    }
}

/// The moment with the rise of the whole air added.
fn lifted<'a>(case: &Case, atmosphere: &Atmosphere, mut moment: Moment<'a>) -> Moment<'a> {
    moment.place.up += case.rise.risen_m(moment.time_s);
    moment.still = atmosphere.at(moment.place.up);
    moment
}

/// Energy per weight, the velocity being that over the ground, as there is no wind.
fn energy_m(moment: &Moment<'_>) -> f64 {
    moment.place.up
        + moment.velocity.dot(moment.velocity)
            / (2.0 * chirrup_flight::physics::atmosphere::GRAVITY_MPS2)
}
