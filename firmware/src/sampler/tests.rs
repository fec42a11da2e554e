//! The sampler on fake sensors, in simulated time.

use super::*;
use crate::log::{self, Columns};
use chirrup_sensors::fakes::{
    Air, Connected, FakeBmp390, FakeBus, FakeImu, FakeImuKind, FakeMs4525, FakeMs5611, Trouble,
};
use chirrup_sensors::sensor::Fault;
use std::vec::Vec;

/// A transaction of so many bytes at 400 kHz, with the address and some delay of the board.
fn time_on_the_bus(step: &chirrup_sensors::bus::Transaction) -> i64 {
    100 + 23 * (2 + step.send.len() + step.read) as i64
}

struct Bench<A> {
    sampler: Sampler,
    bus: FakeBus<A>,
    now: Micros,
    samples: Vec<Sampled>,
    recoveries: Vec<Micros>,
    /// A busy program hears so late that a transaction is over.
    late: Micros,
}

impl<A: Air> Bench<A> {
    fn new(device: &DeviceSettings, bus: FakeBus<A>) -> Self {
        let sampler = Sampler::new(device);
        Self {
            sampler,
            bus,
            now: Micros(123_456),
            samples: Vec::new(),
            recoveries: Vec::new(),
            late: Micros(0),
        }
    }

    /// Runs for this time; a stuck bus costs the board's time limit, and is freed by clocks if
    /// `clocks_free`.
    fn run(&mut self, for_ms: i64, clocks_free: bool) {
        let end = after(self.now, Micros(for_ms * 1_000));
        while self.now < end {
            match self.sampler.step(self.now) {
                BusStep::Wait(until) => {
                    assert!(until > self.now, "a wait for the past is a busy loop");
                    self.now = until.min(end);
                }
                BusStep::Transact(transaction) => {
                    let taken =
                        if self.bus.is_stuck { 10_000 } else { time_on_the_bus(&transaction) };
                    self.now = after(self.now, Micros(taken));
                    let result = self.bus.run(self.now, &transaction);
                    self.now = after(self.now, self.late);
                    self.sampler.done(self.now, result);
                }
                BusStep::Recover => {
                    self.recoveries.push(self.now);
                    self.bus.is_stuck &= !clocks_free;
                    self.now = after(self.now, Micros(120));
                    self.sampler.recovered(self.now, !self.bus.is_stuck);
                }
            }
            self.samples.extend(self.sampler.take());
        }
    }

    fn samples_of(&mut self, for_ms: i64) -> Vec<Sampled> {
        self.samples.clear();
        self.run(for_ms, true);
        self.samples.clone()
    }

    fn condition(&self) -> Condition {
        self.sampler.condition(Role::Static).expect("there is always one")
    }
}

/// Changes by 1.5 Pa from one time to the next, so that nothing looks frozen, and falls by
/// 100 Pa/s.
fn lively(time: Micros) -> i32 {
    let falling = 95_000 * 64 - (time.0 * 64 / 10_000) as i32;
    falling + 96 * ((time.0 / 7_919) % 2) as i32
}

fn falling(time: Micros) -> i32 {
    95_000 * 64 - (time.0 * 64 / 10_000) as i32
}

#[test]
fn a_lone_ms5611_is_sampled_fifty_times_a_second_at_the_middle_of_its_conversions() {
    let mut bench = Bench::new(&DeviceSettings::default(), FakeBus::new(falling));
    bench.run(1_000, true);
    let samples = bench.samples_of(60_000);
    assert_eq!(samples.len(), 3_000);
    for pair in samples.windows(2) {
        assert_eq!(pair[1].time.since(pair[0].time), FRAME, "the rhythm is that of the clock");
    }
    for sample in samples {
        // The counts' own step is about 1/64 Pa, and the temperature's rounding another.
        assert!((sample.static_64ths_pa - falling(sample.time)).abs() <= 2, "{sample:?}");
        assert_eq!((sample.dynamic_64ths_pa, sample.te_64ths_pa), (None, None));
    }
    assert_eq!(bench.condition(), Condition::Live);
}

#[test]
fn the_very_first_samples_have_the_same_interval() {
    let mut other = FakeBus::empty(falling);
    other.bmp390 = Some(FakeBmp390::new(0x77, Connected::Static));
    for bus in [FakeBus::new(falling), other] {
        let mut bench = Bench::new(&DeviceSettings::default(), bus);
        for pair in bench.samples_of(2_000).windows(2) {
            let apart = pair[1].time.since(pair[0].time).0;
            assert!((apart - FRAME.0).abs() < 300, "{apart}");
        }
    }
}

/// The bus of one barometer on the static port.
fn bus_of(name: &str) -> FakeBus<fn(Micros) -> i32> {
    let mut bus: FakeBus<fn(Micros) -> i32> = FakeBus::empty(lively);
    match name {
        "ms5611" => bus.ms5611[0] = Some(FakeMs5611::new(0x77, Connected::Static)),
        _ => bus.bmp390 = Some(FakeBmp390::new(0x77, Connected::Static)),
    }
    bus
}

#[test]
fn temperature_is_converted_in_every_frame_and_costs_no_sample() {
    // Each conversion is started and read; a BMP390's is one of both. A look for the differential
    // sensors comes twice a second: an MS4525DO is read, and each of three SDP3x is told to stop
    // and asked what it is.
    for (name, conversions) in [("ms5611", 2), ("bmp390", 1)] {
        let mut bench = Bench::new(&DeviceSettings::default(), bus_of(name));
        bench.run(1_000, true);
        bench.bus.transactions = 0;
        assert_eq!(bench.samples_of(10_000).len(), 500, "{name}");
        assert_eq!(bench.bus.transactions, 500 * 2 * conversions + 7 * 20, "{name}");
    }
}

#[test]
fn a_temperature_that_is_missing_for_less_than_a_second_costs_no_sample() {
    for name in ["ms5611", "bmp390"] {
        let mut bench = Bench::new(&DeviceSettings::default(), bus_of(name));
        let fail = |bench: &mut Bench<_>, fails| {
            bench
                .bus
                .ms5611
                .iter_mut()
                .flatten()
                .for_each(|one| one.is_without_temperature = fails);
            bench.bus.bmp390.iter_mut().for_each(|one| one.is_without_temperature = fails);
        };
        bench.run(1_000, true);
        fail(&mut bench, true);
        assert_eq!(bench.samples_of(900).len(), 45, "{name}");
        assert_eq!(bench.condition(), Condition::Live, "{name}");
        bench.run(400, true);
        assert_eq!(bench.condition(), Condition::Lost(Fault::NoResult), "{name}");
        fail(&mut bench, false);
        bench.run(1_000, true);
        assert_eq!(bench.condition(), Condition::Live, "{name}");
        assert_eq!(bench.samples_of(1_000).len(), 50, "{name}");
    }
}

#[test]
fn a_busy_program_reckons_from_when_the_command_was_on_the_wire() {
    for name in ["ms5611", "bmp390"] {
        let mut bus = bus_of(name);
        bus.air = falling;
        bus.ms4525 = Some(FakeMs4525::default());
        let mut bench = Bench::new(&DeviceSettings::default(), bus);
        bench.run(1_000, true);
        bench.late = Micros(2_500);
        for sample in bench.samples_of(2_000) {
            // It falls by 16/64 Pa in 2.5 ms.
            let apart = sample.static_64ths_pa - falling(sample.time);
            assert!(apart.abs() <= 2, "{name}: {apart}/64 Pa");
        }
    }
}

#[test]
fn a_slow_sensor_a_second_one_and_all_the_others_leave_every_frame_its_sample() {
    // The slowest conversions that the sheets allow.
    let device =
        DeviceSettings { second_barometer: SecondBarometer::Probe, ..DeviceSettings::default() };
    let slow_ms5611 = |address, connected| {
        let mut sensor = FakeMs5611::new(address, connected);
        sensor.pace = 1.1;
        Some(sensor)
    };
    for (static_is_bmp390, second_is_bmp390) in [(false, false), (true, false), (false, true)] {
        let mut bus = with_imu(flight_bus());
        let (is_static, is_second) = (Connected::Static, Connected::Second);
        bus.ms5611 = [None, None];
        if !static_is_bmp390 {
            bus.ms5611[0] = slow_ms5611(0x77, is_static);
        }
        if !second_is_bmp390 {
            bus.ms5611[1] = slow_ms5611(0x76, is_second);
        }
        if static_is_bmp390 || second_is_bmp390 {
            let (address, port) =
                if static_is_bmp390 { (0x77, is_static) } else { (0x76, is_second) };
            let mut sensor = FakeBmp390::new(address, port);
            sensor.pace = 1.1;
            bus.bmp390 = Some(sensor);
        }
        let mut bench = Bench::new(&device, bus);
        bench.run(2_000, true);
        let samples = bench.samples_of(10_000);
        assert_eq!(samples.len(), 500, "{static_is_bmp390} {second_is_bmp390}");
        for pair in samples.windows(2) {
            let apart = pair[1].time.since(pair[0].time).0;
            assert!((apart - FRAME.0).abs() < 300, "{apart} us apart");
        }
        assert!(samples.iter().all(|sample| sample.te_64ths_pa.is_some()));
        assert!(samples.iter().all(|sample| sample.dynamic_64ths_pa.is_some()));
        assert!(samples.iter().all(|sample| sample.inertial.is_some()));
    }
}

#[test]
fn either_address_will_do_and_a_bmp390_as_well() {
    for address in [0x76, 0x77] {
        let mut bus = FakeBus::empty(lively);
        bus.ms5611[0] = Some(FakeMs5611::new(address, Connected::Static));
        let mut bench = Bench::new(&DeviceSettings::default(), bus);
        bench.run(1_000, true);
        assert_eq!(bench.sampler.slot(Role::Static).unwrap().identity(), ("ms5611", address));
        let mut bus = FakeBus::empty(falling);
        bus.bmp390 = Some(FakeBmp390::new(address, Connected::Static));
        let mut bench = Bench::new(&DeviceSettings::default(), bus);
        bench.run(1_000, true);
        assert_eq!(bench.sampler.slot(Role::Static).unwrap().identity(), ("bmp390", address));
        let samples = bench.samples_of(2_000);
        assert_eq!(samples.len(), 100);
        assert!(
            samples.iter().all(|sample| (sample.static_64ths_pa - falling(sample.time)).abs() <= 2)
        );
    }
}

struct Flight;

impl Air for Flight {
    fn static_64ths_pa(&self, time: Micros) -> i32 {
        lively(time)
    }
    fn second_64ths_pa(&self, time: Micros) -> i32 {
        lively(time) - 64 * 500
    }
    fn dynamic_64ths_pa(&self, time: Micros) -> i32 {
        // Gains 100 Pa/s.
        (time.0 * 64 / 10_000 % (6_000 * 64)) as i32
    }
}

fn flight_bus() -> FakeBus<Flight> {
    let mut bus = FakeBus::new(Flight);
    bus.ms5611[1] = Some(FakeMs5611::new(0x76, Connected::Second));
    bus.ms4525 = Some(FakeMs4525::default());
    bus
}

#[test]
fn a_probe_and_a_differential_sensor_are_sampled_with_the_static_barometer() {
    let device =
        DeviceSettings { second_barometer: SecondBarometer::Probe, ..DeviceSettings::default() };
    let mut bench = Bench::new(&device, flight_bus());
    bench.run(1_000, true);
    let samples = bench.samples_of(10_000);
    assert_eq!(samples.len(), 500);
    for sample in samples {
        let te = sample.te_64ths_pa.expect("the probe is there");
        // Its conversion is half a millisecond later.
        assert!((te - (sample.static_64ths_pa - 64 * 500)).abs() <= 2 + 96, "{sample:?}");
        let dynamic = sample.dynamic_64ths_pa.expect("the differential sensor is there");
        let apart_pa = f64::from(dynamic - Flight.dynamic_64ths_pa(sample.time)) / 64.0;
        // A quarter of its count is 0.26 Pa; half a millisecond is 0.05 Pa.
        assert!(apart_pa.abs() < 0.5, "{apart_pa} Pa");
    }
}

#[test]
fn a_second_barometer_on_the_pitot_gives_the_dynamic_pressure_less_its_zero() {
    let device = DeviceSettings {
        second_barometer: SecondBarometer::Pitot,
        dynamic_zero_pa: -600.0,
        ..DeviceSettings::default()
    };
    let mut bus = flight_bus();
    bus.ms4525 = None;
    let mut bench = Bench::new(&device, bus);
    bench.run(1_000, true);
    for sample in bench.samples_of(2_000) {
        let dynamic = sample.dynamic_64ths_pa.expect("both are there");
        assert!((dynamic - 100 * 64).abs() <= 4 + 96, "{sample:?}");
    }
}

#[test]
fn a_probe_is_never_mistaken_for_the_static_barometer() {
    let device =
        DeviceSettings { second_barometer: SecondBarometer::Probe, ..DeviceSettings::default() };
    let mut bus = flight_bus();
    bus.ms5611[0] = None;
    let mut bench = Bench::new(&device, bus);
    assert!(bench.samples_of(5_000).is_empty());
    assert_eq!(bench.condition(), Condition::Absent(Fault::NoAnswer));
    assert_eq!(bench.sampler.condition(Role::Second), Some(Condition::Live));
}

#[test]
fn a_sensor_that_was_never_there_is_absent_and_found_when_it_comes() {
    let mut bench = Bench::new(&DeviceSettings::default(), FakeBus::new(lively));
    *bench.bus.trouble().unwrap() = Trouble::Gone;
    assert_eq!(bench.condition(), Condition::Seeking);
    bench.run(300, true);
    assert_eq!(bench.condition(), Condition::Absent(Fault::NoAnswer));
    *bench.bus.trouble().unwrap() = Trouble::None;
    bench.run(700, true);
    assert_eq!(bench.condition(), Condition::Live);
}

#[test]
fn a_lost_sensor_is_detected_within_half_a_second_and_back_within_one() {
    let mut bench = Bench::new(&DeviceSettings::default(), FakeBus::new(lively));
    bench.run(2_000, true);
    *bench.bus.trouble().unwrap() = Trouble::Gone;
    assert!(bench.samples_of(500).len() <= 1);
    assert_eq!(bench.condition(), Condition::Lost(Fault::NoAnswer));
    *bench.bus.trouble().unwrap() = Trouble::None;
    bench.run(1_000, true);
    assert_eq!(bench.condition(), Condition::Live);
    assert_eq!(bench.samples_of(1_000).len(), 50);
}

#[test]
fn one_failed_transaction_costs_one_sample_and_no_alarm() {
    let mut bench = Bench::new(&DeviceSettings::default(), FakeBus::new(lively));
    bench.run(1_010, true);
    bench.samples.clear();
    *bench.bus.trouble().unwrap() = Trouble::Gone;
    bench.run(20, true);
    *bench.bus.trouble().unwrap() = Trouble::None;
    bench.run(980, true);
    let lost = 50 - bench.samples.len();
    assert!((1..=2).contains(&lost), "{lost} samples lost");
    assert_eq!(bench.condition(), Condition::Live);
}

#[test]
fn a_bad_calibration_and_a_wrong_identity_are_named() {
    let mut bench = Bench::new(&DeviceSettings::default(), FakeBus::new(lively));
    *bench.bus.trouble().unwrap() = Trouble::Spoilt;
    bench.run(1_000, true);
    assert_eq!(bench.condition(), Condition::Absent(Fault::BadCalibration));
    let mut bus = FakeBus::empty(lively);
    let mut other = FakeBmp390::new(0x77, Connected::Static);
    other.trouble = Trouble::Spoilt;
    bus.bmp390 = Some(other);
    let mut bench = Bench::new(&DeviceSettings::default(), bus);
    bench.run(1_000, true);
    assert_eq!(bench.condition(), Condition::Absent(Fault::WrongIdentity(0x58)));
}

#[test]
fn a_sensor_that_repeats_its_value_is_frozen_after_a_second_until_it_changes() {
    let mut bench = Bench::new(&DeviceSettings::default(), FakeBus::new(lively));
    bench.run(3_000, true);
    *bench.bus.trouble().unwrap() = Trouble::Frozen;
    bench.run(900, true);
    assert_eq!(bench.condition(), Condition::Live);
    bench.run(300, true);
    assert_eq!(bench.condition(), Condition::Lost(Fault::Frozen));
    assert!(bench.samples_of(10_000).len() > 450, "what it says is still passed on, for the log");
    assert_eq!(bench.condition(), Condition::Lost(Fault::Frozen));
    *bench.bus.trouble().unwrap() = Trouble::None;
    bench.run(200, true);
    assert_eq!(bench.condition(), Condition::Live);
}

#[test]
fn a_sensor_that_does_not_convert_gives_no_sample() {
    let mut bench = Bench::new(&DeviceSettings::default(), FakeBus::new(lively));
    bench.run(1_000, true);
    *bench.bus.trouble().unwrap() = Trouble::Silent;
    assert!(bench.samples_of(1_000).len() <= 1);
    assert_eq!(bench.condition(), Condition::Lost(Fault::NoResult));
}

#[test]
fn a_stuck_bus_is_clocked_free() {
    let mut bench = Bench::new(&DeviceSettings::default(), FakeBus::new(lively));
    bench.run(1_000, true);
    bench.bus.is_stuck = true;
    let samples = bench.samples_of(1_000);
    assert_eq!(bench.recoveries.len(), 1);
    assert!(samples.len() >= 45, "{} samples", samples.len());
    assert!(!bench.sampler.is_stuck());
}

#[test]
fn a_short_circuit_is_retried_twice_a_second_and_reported() {
    let mut bench = Bench::new(&DeviceSettings::default(), FakeBus::new(lively));
    bench.run(1_000, true);
    bench.bus.is_stuck = true;
    bench.run(5_000, false);
    assert!((8..=11).contains(&bench.recoveries.len()), "{}", bench.recoveries.len());
    assert!(bench.sampler.is_stuck());
    assert_eq!(bench.condition(), Condition::Lost(Fault::BusStuck));
    bench.bus.is_stuck = false;
    bench.run(1_500, true);
    assert_eq!(bench.condition(), Condition::Live);
    assert!(!bench.sampler.is_stuck());
}

#[test]
fn a_differential_sensor_fault_is_named_and_height_continues() {
    let mut bench = Bench::new(&DeviceSettings::default(), flight_bus());
    bench.run(1_000, true);
    bench.bus.ms4525.as_mut().unwrap().trouble = Trouble::Spoilt;
    bench.run(1_000, true);
    assert_eq!(
        bench.sampler.condition(Role::Differential),
        Some(Condition::Lost(Fault::SaysFaulty))
    );
    let samples = bench.samples_of(1_000);
    assert_eq!(samples.len(), 50);
    assert!(samples.iter().all(|sample| sample.dynamic_64ths_pa.is_none()));
}

#[test]
fn the_measured_figures_match_the_fake_sensor() {
    let mut bench = Bench::new(&DeviceSettings::default(), FakeBus::new(lively));
    bench.run(11_000, true);
    let quality =
        bench.sampler.slot(Role::Static).unwrap().quality().expect("two windows are full");
    assert_eq!((quality.rate_millihz, quality.jitter_us), (50_000, 0));
    assert!((200..2_000).contains(&quality.noise_millipascals), "{quality:?}");
}

fn with_imu<A: Air>(mut bus: FakeBus<A>) -> FakeBus<A> {
    bus.imu = Some(FakeImu::new(FakeImuKind::Icm42688, 0x68));
    bus
}

#[test]
fn an_inertial_sensor_adds_its_mean_to_every_sample() {
    let mut bench = Bench::new(&DeviceSettings::default(), with_imu(flight_bus()));
    bench.run(1_000, true);
    assert_eq!(bench.sampler.condition(Role::Inertial), Some(Condition::Live));
    for sample in bench.samples_of(10_000) {
        let felt = sample.inertial.expect("the sensor is there");
        assert!((felt.force[2] - 98_066).abs() < 300, "{felt:?}");
        assert!(felt.turn[0].abs() < 150 && felt.spread.is_some(), "{felt:?}");
    }
}

#[test]
fn a_sample_is_the_mean_of_all_readings_since_the_sample_before() {
    let mut bench = Bench::new(&DeviceSettings::default(), with_imu(FakeBus::new(lively)));
    bench.run(2_000, true);
    *bench.bus.trouble().unwrap() = Trouble::Gone;
    bench.run(60, true);
    *bench.bus.trouble().unwrap() = Trouble::None;
    let samples = bench.samples_of(100);
    let first = samples[0].inertial.expect("the sensor is there");
    let spread = |averaged: Averaged| averaged.spread.expect("of many").force_deviation;
    // Of sixteen readings the deviation is known better than of four: 0.017 m/s2.
    assert!((130..220).contains(&spread(first)), "{first:?}");
    assert!(samples.iter().all(|sample| sample.inertial.is_some()));
}

#[test]
fn whatever_an_inertial_sensor_does_pressures_and_their_times_are_the_same() {
    let device =
        DeviceSettings { second_barometer: SecondBarometer::Probe, ..DeviceSettings::default() };
    let mut alone = Bench::new(&device, flight_bus());
    alone.run(20_000, true);
    for (kind, address) in [(FakeImuKind::Lsm6dso, 0x6A), (FakeImuKind::Icm42688, 0x69)] {
        for trouble in
            [Trouble::None, Trouble::Gone, Trouble::Spoilt, Trouble::Frozen, Trouble::Silent]
        {
            let mut bus = flight_bus();
            bus.imu = Some(FakeImu::new(kind, address));
            let mut bench = Bench::new(&device, bus);
            bench.run(5_000, true);
            bench.bus.imu.as_mut().unwrap().trouble = trouble;
            bench.run(5_000, true);
            let is_there = bench.samples.last().is_some_and(|sample| sample.inertial.is_some());
            assert_eq!(is_there, matches!(trouble, Trouble::None | Trouble::Spoilt), "{trouble:?}");
            bench.bus.imu.as_mut().unwrap().trouble = Trouble::None;
            bench.run(10_000, true);
            assert!(bench.samples.last().is_some_and(|sample| sample.inertial.is_some()));
            assert_eq!(bench.samples.len(), alone.samples.len());
            for (with, without) in bench.samples.iter().zip(&alone.samples) {
                assert_eq!(Sampled { inertial: None, ..*with }, *without, "{kind:?} {trouble:?}");
            }
        }
    }
}

/// The sample in a row of the log, as a reader of traces makes it.
fn sample_in(row: &str) -> Sample {
    use chirrup_core::{Axes, Inertial, MetrePerSecond2, RadianPerSecond, Spread};
    let fields: Vec<&str> = row.split(',').collect();
    let number = |place: usize| fields[place].parse::<f64>().unwrap() as f32;
    let force = |place| MetrePerSecond2(number(place));
    let turn = |place| RadianPerSecond(number(place));
    let inertial = Inertial {
        specific_force: Axes { x: force(6), y: force(7), z: force(8) },
        turn_rate: Axes { x: turn(9), y: turn(10), z: turn(11) },
        spread: Some(Spread {
            largest_force: force(12),
            force_deviation: force(13),
            largest_turn: turn(14),
            turn_deviation: turn(15),
        }),
    };
    let time = Micros(fields[0].parse().unwrap());
    Sample { inertial: Some(inertial), ..Sample::of_static(time, Pascal(number(1))) }
}

#[test]
fn what_the_log_says_of_a_sample_is_what_the_core_was_given_to_the_bit() {
    let mut bench = Bench::new(&DeviceSettings::default(), with_imu(FakeBus::new(lively)));
    bench.run(2_000, true);
    for sampled in bench.samples_of(20_000) {
        let mut row = std::string::String::new();
        log::row(&mut row, &sampled, None, 0, Columns { inertial: true, ground: false }).unwrap();
        assert_eq!(sample_in(&row), sampled.sample(), "{row}");
    }
}

mod found;
