//! The readings side by side are those of the whole pipeline, bit for bit, whatever the samples.

use super::*;
use crate::trace::columns::ColumnMap;
use crate::trace::testing::seeded;
use crate::trace::{self, Item};
use chirrup_core::{
    EnergyChoice, FilterChoice, Kelvin, Metre, MetrePerSecond, Micros, Pascal, PipelineState,
    Settings, Speed, VerticalScale, pressure_at,
};
use proptest::prelude::*;
use proptest::test_runner::Config;
use std::fs::{self, File};
use std::io::BufReader;
use std::path::Path;

/// Settings of every kind that the reading depends on.
fn all_settings() -> Vec<Settings> {
    let mut all = Vec::new();
    for (choice, response_s) in [(FilterChoice::Adaptive, 1.0), (FilterChoice::Fixed, 0.5)] {
        for energy in [EnergyChoice::Auto, EnergyChoice::None, EnergyChoice::Probe] {
            let mut settings = Settings::default();
            (settings.filter.choice, settings.filter.response_s) = (choice, response_s);
            settings.energy.choice = energy;
            settings.energy.airspeed_delay_ms = 80.0;
            settings.reading.scale = VerticalScale::Corrected;
            all.push(settings);
        }
    }
    all
}

/// Compares every sample's status and reading; returns the statuses that came.
fn agree(settings: &Settings, samples: &[Sample]) -> Vec<Status> {
    let pipeline = settings.build().expect("the settings are valid");
    let (mut state, mut intake) = (PipelineState::default(), IntakeState::default());
    let mut channel = Channel::default();
    let mut agreed = |(place, sample): (usize, &Sample)| {
        let whole = pipeline.step(&mut state, sample);
        let (status, side) = match pipeline.intake().step(&mut intake, sample) {
            Err(status) => (status, None),
            Ok(taken) => sounded(&taken, pipeline.filters(), &mut channel),
        };
        let bits =
            (whole.values.map(|values| values.sounded().0.to_bits()), side.map(f32::to_bits));
        assert_eq!(bits.0, bits.1, "sample {place}, {}: {sample:?}", whole.status.name());
        let expected = if whole.status.is_good() { Status::Ok } else { whole.status };
        assert_eq!(status, expected, "sample {place}: {sample:?}");
        status
    };
    samples.iter().enumerate().map(&mut agreed).collect()
}

/// A flight of so many samples, 50 a second: waves of height and speed, noise, a warm day.
fn flight(count: i64) -> Vec<Sample> {
    let sample = |place: i64| {
        let t = place as f32 * 0.02;
        let noise_pa = ((place * 7_919) % 101) as f32 * 0.02;
        let height = Metre(900.0 + 40.0 * libm::sinf(t / 9.0) + 0.5 * t);
        let pressure = Pascal(pressure_at(height).0 + noise_pa);
        let dynamic = Pascal(450.0 - 90.0 * libm::sinf(t / 5.0) + 0.3 * noise_pa);
        Sample {
            speed: Some(Speed::Dynamic(dynamic)),
            te_pressure: Some(Pascal(pressure.0 - 0.97 * dynamic.0)),
            outside_air: Some(Kelvin(301.0)),
            ..Sample::of_static(Micros(20_000 * place), pressure)
        }
    };
    (0..count).map(sample).collect()
}

/// The flight with one part of it made worse.
fn worse(name: &str) -> Vec<Sample> {
    let mut samples = flight(3_000);
    let part = 1_000..2_000;
    match name {
        "gap" => _ = samples.drain(part),
        "repeated" => (1_000..1_500).for_each(|place| samples[2 * place] = samples[2 * place - 1]),
        "clock" => samples[1_500..].iter_mut().for_each(|sample| sample.time.0 -= 25_000_000),
        "partial" => {
            let each_second = samples[part].iter_mut().step_by(2);
            each_second.for_each(|sample| sample.static_pressure = None);
        }
        "bad" => {
            samples[part].iter_mut().step_by(3).for_each(|sample| {
                (sample.static_pressure, sample.te_pressure) = (Some(Pascal(f32::NAN)), None);
            });
        }
        "frozen" => {
            let held = samples[1_000];
            samples[part]
                .iter_mut()
                .for_each(|sample| *sample = Sample { time: sample.time, ..held });
        }
        "frozen gap" => {
            let held = samples[1_000];
            samples[1_000..]
                .iter_mut()
                .for_each(|sample| *sample = Sample { time: sample.time, ..held });
            samples[2_000..].iter_mut().for_each(|sample| sample.time.0 += 20_000_000);
        }
        "spikes" => samples[part].iter_mut().step_by(97).for_each(|sample| {
            sample.static_pressure = Some(pressure_at(Metre(2_000.0)));
        }),
        "source lost" => samples[part].iter_mut().for_each(|sample| {
            (sample.speed, sample.te_pressure) = (None, None);
        }),
        "no source" => samples.iter_mut().for_each(|sample| {
            (sample.speed, sample.te_pressure) = (None, None);
        }),
        "slow" => samples.iter_mut().for_each(|sample| sample.time.0 *= 100),
        _ => panic!("{name}"),
    }
    samples
}

#[test]
fn on_a_flight_with_every_kind_of_trouble() {
    for (name, expected) in [
        ("gap", Status::Gap),
        ("repeated", Status::RepeatedTime),
        ("clock", Status::ClockReset),
        ("partial", Status::Partial),
        ("bad", Status::BadPressure),
        ("frozen", Status::Frozen),
        ("frozen gap", Status::Frozen),
        ("spikes", Status::Suspect),
        ("source lost", Status::Settling),
        ("no source", Status::Ok),
        ("slow", Status::Ok),
    ] {
        let samples = worse(name);
        let mut came = Vec::new();
        all_settings().iter().for_each(|settings| came.extend(agree(settings, &samples)));
        assert!(came.contains(&expected), "{name} gives {}", expected.name());
    }
}

/// Compares on every trace in a folder beside the crate; returns how many there were.
fn agree_on_all_of(folder: &str, ending: &str) -> usize {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join(folder);
    let Ok(entries) = fs::read_dir(folder) else { return 0 };
    let paths = entries.map(|entry| entry.expect("it can be listed").path());
    let traces = paths.filter(|path| path.extension().is_some_and(|its| its == ending));
    let agreed = traces.map(|path| {
        let samples = samples_of(&path);
        all_settings().iter().for_each(|settings| _ = agree(settings, &samples));
    });
    agreed.count()
}

fn samples_of(path: &Path) -> Vec<Sample> {
    let name = path.to_string_lossy();
    let input = Box::new(BufReader::new(File::open(path).expect("it can be opened")));
    let mut trace = trace::open(&name, input, &ColumnMap::default()).expect("it is a trace");
    let mut samples = Vec::new();
    while let Some(item) = trace.next() {
        if let Item::Sample { sample, .. } = item.expect("it can be read") {
            samples.push(sample);
        }
    }
    samples
}

#[test]
fn on_every_flight_of_the_project_and_on_real_ones() {
    assert!(agree_on_all_of("../recordings", "csv") > 5);
    // Real flights are not part of the project; tests/real_flights.rs says where they are missing.
    agree_on_all_of("../../shared/real-flights", "igc");
}

/// Any value that a broken sensor may give.
fn any_pressure() -> impl Strategy<Value = Pascal> {
    let pressure = prop_oneof![
        4 => 89_990.0..90_010.0_f32,
        2 => 5_000.0..115_000.0_f32,
        1 => prop::num::f32::ANY,
    ];
    pressure.prop_map(Pascal)
}

fn any_speed() -> impl Strategy<Value = Speed> {
    prop_oneof![
        (-100.0..2_000.0_f32).prop_map(|dynamic| Speed::Dynamic(Pascal(dynamic))),
        (0.0..200.0_f32).prop_map(|speed| Speed::True(MetrePerSecond(speed))),
        prop::num::f32::ANY.prop_map(|speed| Speed::Calibrated(MetrePerSecond(speed))),
    ]
}

prop_compose! {
    fn any_sample()(
        step_us in prop_oneof![
            20 => 0..200_000_i64,
            2 => -5_000_000..20_000_000_i64,
            1 => any::<i64>(),
        ],
        static_pressure in prop::option::weighted(0.9, any_pressure()),
        speed in prop::option::of(any_speed()),
        te_pressure in prop::option::of(any_pressure()),
        outside_air in prop::option::of((170.0..350.0_f32).prop_map(Kelvin)),
    ) -> Sample {
        let of_time = Sample::of_static(Micros(step_us), Pascal(0.0));
        Sample { static_pressure, speed, te_pressure, outside_air, ..of_time }
    }
}

proptest! {
    #![proptest_config(Config { cases: 100, ..seeded() })]

    #[test]
    fn on_any_samples(steps in prop::collection::vec(any_sample(), 1..200)) {
        let mut time = 0_i64;
        let samples: Vec<Sample> = steps
            .into_iter()
            .map(|step| {
                time = time.wrapping_add(step.time.0);
                Sample { time: Micros(time), ..step }
            })
            .collect();
        for settings in all_settings() {
            agree(&settings, &samples);
        }
    }
}
