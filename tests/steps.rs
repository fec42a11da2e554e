//! A step of the measured height that no glider can fly, and what must not keep it: averages,
//! climbs, the altimeter, the summary, the gain of a recording and its badge.

use crate::air::white;
use crate::support::{folder, path, pressure_pa, run, write};
use chirrup_core::{
    Climb, FilterChoice, Micros, Pascal, PipelineState, Reading, Sample, Settings,
    pressure_altitude,
};
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use serde_json::Value;

/// A flight of steady climb whose measured height steps.
#[derive(Clone, Copy, Debug)]
struct Stepping {
    rate_hz: f64,
    climb_mps: f64,
    step_m: f64,
}

const STEP_AT_S: f64 = 100.0;
const FLIGHT_S: f64 = 240.0;
const FROM_M: f64 = 1_500.0;

impl Stepping {
    /// Time and static pressure of each sample, with 0.1 m of noise.
    fn pressures(self) -> impl Iterator<Item = (f64, f64)> {
        let Self { rate_hz, climb_mps, step_m } = self;
        let mut rng = ChaCha8Rng::seed_from_u64(1);
        (0..(FLIGHT_S * rate_hz) as u32).map(move |place| {
            let t = f64::from(place) / rate_hz;
            let stepped = if t >= STEP_AT_S { step_m } else { 0.0 };
            let height = FROM_M + climb_mps * t + stepped + 0.1 * white(&mut rng);
            (t, pressure_pa(height))
        })
    }

    fn readings(self, choice: FilterChoice) -> Vec<(f64, Reading)> {
        let mut settings = Settings::default();
        settings.filter.choice = choice;
        let pipeline = settings.build().expect("the defaults are good");
        let mut state = PipelineState::default();
        let sample = |(t, pressure): (f64, f64)| {
            let time = Micros((t * 1e6).round() as i64);
            let sample = Sample::of_static(time, Pascal(pressure as f32));
            (t, pipeline.step(&mut state, &sample))
        };
        self.pressures().map(sample).collect()
    }

    fn trace(self) -> String {
        let row = |(t, pressure): (f64, f64)| format!("{t:.3},{pressure:.2}\n");
        self.pressures().fold(String::from("time_s,static_pa\n"), |text, of| text + &row(of))
    }
}

const CHOICES: [FilterChoice; 2] = [FilterChoice::Adaptive, FilterChoice::Fixed];

/// Steps of either sign and every size at every rate, in a flight that climbs at `climb_mps`.
fn every_step(climb_mps: f64) -> Vec<Stepping> {
    let mut all = Vec::new();
    for rate_hz in [50.0, 20.0, 4.0, 1.0] {
        for step_m in [8.0, 50.0, 340.0, -8.0, -50.0, -340.0] {
            all.push(Stepping { rate_hz, climb_mps, step_m });
        }
    }
    all
}

/// The readings once the average covers its whole time.
fn settled(readings: Vec<(f64, Reading)>) -> impl Iterator<Item = (f64, Reading)> {
    readings.into_iter().filter(|(t, _)| *t > 30.0)
}

#[test]
fn no_average_keeps_a_step() {
    for stepping in every_step(-0.7) {
        for choice in CHOICES {
            for (t, reading) in settled(stepping.readings(choice)) {
                let Some(average) = reading.values.and_then(|values| values.average) else {
                    continue;
                };
                let off = (f64::from(average.0) + 0.7).abs();
                assert!(off < 0.1, "{stepping:?} {choice:?}, {t} s: {average:?}");
            }
        }
    }
}

#[test]
fn no_glide_becomes_a_climb_by_a_step() {
    for stepping in every_step(-0.7) {
        for choice in CHOICES {
            for (t, reading) in settled(stepping.readings(choice)) {
                let climb = reading.values.and_then(|values| values.climb);
                assert_eq!(climb, None, "{stepping:?} {choice:?}, {t} s");
            }
        }
    }
}

/// Whether a steady climb of 1.5 m/s is read as one from the first seconds on.
fn is_of_a_steady_climb(t: f64, climb: Climb) -> bool {
    let lasted_s = climb.lasted.0 as f64 * 1e-6;
    (f64::from(climb.gain.0) - 1.5 * lasted_s).abs() < 1.0
        && (f64::from(climb.average.0) - 1.5).abs() < 0.1
        && lasted_s > t - 10.0
}

#[test]
fn no_climb_gains_or_ends_by_a_step() {
    for stepping in every_step(1.5) {
        for choice in CHOICES {
            for (t, reading) in settled(stepping.readings(choice)) {
                let Some(values) = reading.values else { continue };
                let climb = values.climb.expect("it climbs all the time");
                assert!(
                    is_of_a_steady_climb(t, climb),
                    "{stepping:?} {choice:?}, {t} s: {climb:?}"
                );
            }
        }
    }
}

#[test]
fn the_altimeter_is_always_the_sensors_own() {
    // A step taken off by mistake, in violent flight or at a disturbance that fades, would leave
    // the altimeter wrong for the rest of the flight.
    for stepping in every_step(-0.7) {
        for (t, reading) in settled(stepping.readings(FilterChoice::Adaptive)) {
            let Some(values) = reading.values else { continue };
            assert_eq!(values.altimeter, values.altitude, "{stepping:?}, {t} s");
            let stepped = if t >= STEP_AT_S { stepping.step_m } else { 0.0 };
            let off_m = (f64::from(values.altitude.0) - (FROM_M - 0.7 * t + stepped)).abs();
            assert!(off_m < 1.0, "{stepping:?}, {t} s: {:?}", values.altitude);
        }
    }
}

#[test]
fn the_summary_of_a_replay_keeps_no_step() {
    let folder = folder();
    for rate_hz in [20.0, 1.0] {
        let stepping = Stepping { rate_hz, climb_mps: -0.7, step_m: 340.0 };
        let trace = write(&folder, "step.csv", stepping.trace());
        for filter in ["filter=adaptive", "filter=fixed"] {
            let said = run(&["replay", &trace, "--json", "--settings", filter]);
            let summary: Value = serde_json::from_str(&said).expect("JSON");
            let instrument = &summary["instruments"][0];
            assert_eq!(instrument["climbs"]["count"], 0, "{rate_hz} Hz, {filter}");
            assert_eq!(instrument["climbs"]["gain_m"], 0.0, "{rate_hz} Hz, {filter}");
            let highest = |name: &str| instrument[name]["highest"].as_f64().expect("a number");
            assert!(highest("average_mps") < 0.0, "{rate_hz} Hz, {filter}");
            assert!(highest("vertical_speed_mps") < 0.2, "{rate_hz} Hz, {filter}");
        }
    }
}

#[test]
fn no_step_gains_height_or_a_badge() {
    let folder = folder();
    // 1000 m would be enough for a badge. A glide, and a climb of 360 m.
    for (climb_mps, true_gain_m) in [(-0.7, 0.0), (1.5, 360.0)] {
        let stepping = Stepping { rate_hz: 1.0, climb_mps, step_m: 1_100.0 };
        let trace = write(&folder, "step.csv", stepping.trace());
        let said = run(&["inspect", &trace, "--json"]);
        let facts: Value = serde_json::from_str(&said).expect("JSON");
        let flight = &facts[0]["flight"];
        let gain_m = flight["best_gain_m"].as_f64().expect("a number");
        assert!(gain_m < true_gain_m + 5.0, "{flight}");
        let launch_m = flight["launch"]["gain_m"].as_f64().unwrap_or(0.0);
        assert!(launch_m < true_gain_m + 5.0, "{flight}");
        let page = path(&folder, "page.html");
        run(&["report", &trace, "-o", &page]);
        let text = std::fs::read_to_string(page).expect("it was written");
        assert!(!text.contains("as much as the"), "a badge for a step");
    }
}

#[test]
fn a_glide_without_a_step_is_within_the_same_bounds() {
    for rate_hz in [50.0, 20.0, 4.0, 1.0] {
        for choice in CHOICES {
            let still = Stepping { rate_hz, climb_mps: -0.7, step_m: 0.0 };
            for (t, reading) in settled(still.readings(choice)) {
                let values = reading.values.expect("it is a good sample");
                assert_eq!(values.climb, None, "{still:?}, {t} s");
                let average = f64::from(values.average.expect("it has settled").0);
                assert!((average + 0.7).abs() < 0.1, "{still:?} {choice:?}, {t} s: {average}");
                let off_m = f64::from(values.altimeter.0 - values.altitude.0).abs();
                assert!(off_m < 0.01, "{still:?}, {t} s");
            }
            let climbs = Stepping { climb_mps: 1.5, ..still };
            for (t, reading) in settled(climbs.readings(choice)) {
                let climb = reading.values.and_then(|values| values.climb).expect("it climbs");
                assert!(is_of_a_steady_climb(t, climb), "{climbs:?} {choice:?}, {t} s: {climb:?}");
            }
        }
    }
    // The heights that the pressures mean.
    let high = pressure_altitude(Pascal(pressure_pa(FROM_M) as f32));
    assert!((f64::from(high.0) - FROM_M).abs() < 0.1);
}
