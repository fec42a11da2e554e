//! Sensors one by one: the output for a simulated pressure.

use chirrup_flight::physics::atmosphere::{Atmosphere, SEA_LEVEL_K, StillAir};
use chirrup_flight::physics::attitude::Attitude;
use chirrup_flight::physics::moment::Moment;
use chirrup_flight::physics::vector::Vector;
use chirrup_flight::plan::scenario::Scenario;
use chirrup_flight::sensors::settings::{FaultSettings, SensorSettings};
use chirrup_flight::sensors::{Sensed, Sensors};

const TICK_S: f64 = 0.005;

fn settings(text: &str) -> (SensorSettings, Vec<FaultSettings>) {
    let text = super::scenario(
        super::ORRIN,
        &format!(
            "stall_mps = 16\n[start]\nheight_m = 1000\n[[leg]]\nphase = \"x\"\nfor_s = 1\n{text}"
        ),
    );
    let Scenario { sensors, fault, .. } =
        chirrup_flight::plan::check::read("t", &text).expect("good").0;
    (sensors, fault)
}

/// Feeds a static pressure and an airspeed of time to the sensors for `seconds`.
fn sensed(text: &str, seconds: f64, air: impl Fn(f64) -> (f64, f64)) -> Vec<Sensed> {
    let (settings, faults) = settings(text);
    let mut sensors = Sensors::new(&settings, &faults, 11);
    let at_sea = Atmosphere { sea_level_pa: 101_325.0, sea_level_k: SEA_LEVEL_K }.at(0.0);
    let ticks = (seconds / TICK_S) as u32;
    let take = |tick: u32| {
        let time_s = f64::from(tick) * TICK_S;
        let (pressure_pa, airspeed_mps) = air(time_s);
        let moment = Moment {
            time_s,
            place: Vector::default(),
            velocity: Vector::default(),
            air: Vector::default(),
            wind: Vector::default(),
            airspeed_mps,
            still: StillAir { pressure_pa, ..at_sea },
            attitude: Attitude::along(Vector::on_course(0.0), Vector::UP),
            load_factor: 1.0,
            phase: "x",
        };
        sensors.take(&moment)
    };
    (0..=ticks).filter_map(take).collect()
}

fn at(samples: &[Sensed], time_s: f64) -> &Sensed {
    samples
        .iter()
        .find(|sample| sample.stamp_us >= (time_s * 1e6) as i64 - 1)
        .expect("it lasts so long")
}

fn rms(values: impl Iterator<Item = f64>) -> f64 {
    crate::air::rms(values)
}

/// 100 Pa up at 1 s.
fn step(time_s: f64) -> (f64, f64) {
    (if time_s >= 1.0 { 100_100.0 } else { 100_000.0 }, 0.0)
}

#[test]
fn an_ideal_sensor_says_what_is() {
    let samples =
        sensed("[sensors]\nrate_hz = 50\n[sensors.dynamic]\n[sensors.probe]\n", 2.0, |_| {
            (100_000.0, 50.0)
        });
    assert_eq!(samples.len(), 101);
    let sample = samples[100];
    assert_eq!((sample.stamp_us, sample.static_pa), (2_000_000, 100_000.0));
    // p - rho V^2 / 2 with the density of the sea: 1531.25 Pa (published-values, section 4).
    assert!((sample.te_pa.expect("there is a probe") - (100_000.0 - 1531.25)).abs() < 0.01);
    // A pitot's impact pressure at this pressure and 288.15 K: p ((1 + M^2 / 5)^3.5 - 1).
    let mach = 50.0 / (1.4 * 287.05287 * 288.15_f64).sqrt();
    let impact = 100_000.0 * ((1.0 + 0.2 * mach * mach).powf(3.5) - 1.0);
    assert!((sample.dynamic_pa.expect("there is a pitot") - impact).abs() < 1e-6);
}

#[test]
fn tubing_follows_a_step_as_a_first_order_lag() {
    let samples = sensed("[sensors]\nrate_hz = 200\n[sensors.static]\nlag_s = 0.3\n", 3.0, step);
    for (after_s, share) in [(0.3, 0.6321), (0.6, 0.8647), (1.5, 0.9933)] {
        // 1 - exp(-t / T): any text. The step lies in the tick before 1 s, half a tick early.
        let risen = (at(&samples, 1.0 + after_s - 0.0025).static_pa - 100_000.0) / 100.0;
        assert!((risen - share).abs() < 5e-3, "{risen} after {after_s} s");
    }
}

#[test]
fn a_delay_is_a_delay_to_a_fraction_of_a_tick() {
    let ramp = |time_s: f64| (100_000.0 + 40.0 * time_s, 0.0);
    let samples = sensed("[sensors]\nrate_hz = 20\n[sensors.static]\ndelay_s = 0.123\n", 3.0, ramp);
    assert!((at(&samples, 2.0).static_pa - (100_000.0 + 40.0 * (2.0 - 0.123))).abs() < 1e-6);
}

#[test]
fn noise_steps_and_warm_up_are_as_large_as_said() {
    let noisy =
        sensed("[sensors]\nrate_hz = 200\n[sensors.static]\nnoise_pa = 1.2\n", 100.0, |_| {
            (100_000.0, 0.0)
        });
    let found = rms(noisy.iter().map(|sample| sample.static_pa - 100_000.0));
    assert!((found - 1.2).abs() < 0.02, "{found} Pa");
    let stepped = sensed("[sensors]\nrate_hz = 20\n[sensors.static]\nstep_pa = 0.25\n", 5.0, |t| {
        (100_000.0 + t, 0.0)
    });
    assert!(stepped.iter().all(|sample| (sample.static_pa * 4.0).fract() == 0.0));
    assert!(stepped.iter().all(|sample| {
        (sample.static_pa - 100_000.0 - sample.stamp_us as f64 * 1e-6).abs() <= 0.125
    }));
    let warm = sensed(
        "[sensors]\nrate_hz = 20\n[sensors.static]\nwarm_up_pa = 50\nwarm_up_s = 10\n",
        11.0,
        |_| (100_000.0, 0.0),
    );
    assert_eq!(at(&warm, 0.0).static_pa, 100_050.0);
    assert!((at(&warm, 10.0).static_pa - (100_000.0 + 50.0 / std::f64::consts::E)).abs() < 0.01);
}

#[test]
fn the_ports_errors_are_in_units_of_the_dynamic_pressure() {
    let text = "[sensors]\nrate_hz = 20\n[sensors.static]\nposition_error = \
                0.02\n[sensors.dynamic]\n[sensors.probe]\ncoefficient = -0.9\n";
    let sample = sensed(text, 1.0, |_| (100_000.0, 40.0))[5];
    // q = 1.225 / 2 40^2 = 980 Pa (published-values, section 4).
    assert!((sample.static_pa - (100_000.0 + 0.02 * 980.0)).abs() < 0.01);
    assert!((sample.te_pa.expect("a probe") - (100_000.0 - 0.9 * 980.0)).abs() < 0.01);
    // The pitot's other side is the same static line.
    let clean = sensed("[sensors]\nrate_hz = 20\n", 1.0, |_| (100_000.0, 40.0))[5];
    let dynamic = |sample: Sensed| sample.dynamic_pa.expect("a pitot");
    assert!((dynamic(clean) - dynamic(sample) - 0.02 * 980.0).abs() < 0.01);
}

#[test]
fn stamps_jitter_by_as_much_as_said_and_never_go_back() {
    let samples = sensed("[sensors]\nrate_hz = 20\njitter_ms = 4\n", 200.0, |_| (100_000.0, 0.0));
    let late = samples
        .iter()
        .enumerate()
        .map(|(sample, it)| it.stamp_us as f64 * 1e-3 - 50.0 * sample as f64);
    let found = rms(late);
    assert!((found - 4.0).abs() < 0.2, "{found} ms");
    let wild = sensed("[sensors]\nrate_hz = 200\njitter_ms = 20\n", 20.0, |_| (100_000.0, 0.0));
    assert!(wild.windows(2).all(|pair| pair[1].stamp_us > pair[0].stamp_us));
}

#[test]
fn rates_that_are_no_whole_ticks_keep_their_pace() {
    let samples = sensed("[sensors]\nrate_hz = 30\n", 10.0, |_| (100_000.0, 0.0));
    assert_eq!(samples.len(), 301);
    for (number, sample) in samples.iter().enumerate() {
        assert!((sample.stamp_us as f64 * 1e-6 - number as f64 / 30.0).abs() <= 0.0025 + 1e-6);
    }
}

#[test]
fn faults_begin_and_end_when_they_should() {
    let fault = |text: &str| format!("[sensors]\nrate_hz = 20\n[[fault]]\n{text}\n");
    let ramp = |time_s: f64| (100_000.0 + 10.0 * time_s, 0.0);
    let shut =
        sensed(&fault("kind = \"blocked\"\nline = \"static\"\nfrom_s = 1\nfor_s = 2"), 5.0, ramp);
    assert!((at(&shut, 2.5).static_pa - 100_009.95).abs() < 0.06);
    assert!((at(&shut, 3.5).static_pa - 100_035.0).abs() < 1e-6);
    let water = sensed(
        &fault("kind = \"water\"\nline = \"static\"\nfrom_s = 0.5\nfor_s = 10\nlag_s = 2"),
        5.0,
        step,
    );
    let risen = (at(&water, 3.0).static_pa - 100_000.0) / 100.0;
    assert!((risen - 0.632).abs() < 0.01, "{risen}");
    let spiked = sensed(
        &fault("kind = \"spike\"\nline = \"static\"\nfrom_s = 1.01\nsize_pa = 500"),
        3.0,
        |_| (100_000.0, 0.0),
    );
    let spikes: Vec<i64> =
        spiked.iter().filter(|it| it.static_pa > 100_001.0).map(|it| it.stamp_us).collect();
    assert_eq!(spikes, [1_050_000]);
    let lost = sensed(&fault("kind = \"dropout\"\nfrom_s = 1\nfor_s = 2"), 5.0, ramp);
    assert_eq!(lost.len(), 101 - 40);
    assert!(lost.iter().all(|it| !(1_000_000..3_000_000).contains(&it.stamp_us)));
}
