//! The drivers on fake sensors, in simulated time.

use super::*;
use crate::inertial::average::{Averaged, Averager};
use crate::slot::{Condition, Slot};
use chirrup_core::Micros;
use chirrup_sensors::bus::{Transaction, run_blocking};
use chirrup_sensors::fakes::{Air, FakeBus, FakeImu, FakeImuKind, Trouble};
use chirrup_sensors::inertial::{Batch, SelfTest, chip, icm42688, lsm6dso};
use chirrup_sensors::sensor::{FRAME, Fault, Wanted, after, frame_of};
use std::vec::Vec;

const BOTH: [(FakeImuKind, u8); 2] = [(FakeImuKind::Lsm6dso, 0x6A), (FakeImuKind::Icm42688, 0x69)];

/// A glider as the sensor feels it.
#[derive(Clone, Copy)]
struct Felt<F>(F);

impl<F: Fn(f64) -> ([f64; 3], [f64; 3])> Air for Felt<F> {
    fn static_64ths_pa(&self, _time: Micros) -> i32 {
        95_000 * 64
    }
    fn felt(&self, time: Micros) -> ([f64; 3], [f64; 3]) {
        (self.0)(time.0 as f64 / 1e6)
    }
}

struct Bench<A> {
    slot: Slot<InertialCandidate>,
    bus: FakeBus<A>,
    now: Micros,
    batches: Vec<Batch>,
    /// When each transaction began and ended, in microseconds of its frame.
    used: Vec<(i64, i64)>,
}

impl<A: Air> Bench<A> {
    fn new(kind: FakeImuKind, address: u8, air: A) -> Self {
        let mut bus = FakeBus::empty(air);
        bus.imu = Some(FakeImu::new(kind, address));
        let [first, others @ ..] = InertialCandidate::ALL;
        let slot = Slot::of_the_start(first, &others, 25, 2);
        Self { slot, bus, now: Micros(5_000), batches: Vec::new(), used: Vec::new() }
    }

    fn run(&mut self, for_ms: i64) {
        let end = after(self.now, Micros(for_ms * 1_000));
        while self.now < end {
            match self.slot.wanted(self.now) {
                Wanted::Nothing(until) => {
                    assert!(until > self.now, "a wait for the past is a busy loop");
                    self.now = until.min(end);
                }
                Wanted::Transact(transaction) => {
                    let begun = self.now.0.rem_euclid(FRAME.0);
                    self.now = after(self.now, time_on_the_bus(&transaction));
                    self.used.push((begun, begun + time_on_the_bus(&transaction).0));
                    let result = self.bus.run(self.now, &transaction);
                    let answer = result.as_deref().map_err(|fault| *fault);
                    self.batches.extend(self.slot.answer(self.now, answer));
                }
            }
        }
    }

    fn averaged(&mut self, for_ms: i64) -> Averaged {
        self.batches.clear();
        self.run(for_ms);
        let mut averager = Averager::default();
        let recent = self.batches.iter().rev().take(5).rev();
        recent.for_each(|batch| averager.add(batch));
        averager.take(self.batches[0].scale).expect("it measured")
    }

    fn imu(&mut self) -> &mut FakeImu {
        self.bus.imu.as_mut().expect("it is there")
    }
}

fn time_on_the_bus(step: &Transaction) -> Micros {
    Micros(100 + 23 * (2 + step.send.len() + step.read) as i64)
}

/// At rest, level, with z up.
fn at_rest(_: f64) -> ([f64; 3], [f64; 3]) {
    ([0.0, 0.0, 9.806_65], [0.0; 3])
}

fn turning(_: f64) -> ([f64; 3], [f64; 3]) {
    ([1.0, -2.0, 14.0], [0.1, -0.4, 0.7])
}

#[test]
fn both_sensors_are_found_tested_and_read_in_their_units() {
    for (kind, address) in BOTH {
        let mut bench = Bench::new(kind, address, Felt(turning));
        bench.imu().celsius = 31.0;
        bench.run(1_500);
        assert_eq!(bench.slot.condition(), Condition::Live, "{kind:?}");
        assert_eq!(bench.slot.identity().1, address);
        let last = bench.slot.latest().expect("it measured");
        assert_eq!(last.self_test, SelfTest::Passed, "{kind:?}");
        let warm = last.temperature_centicelsius;
        assert!((3_050..=3_110).contains(&warm), "{warm}");
        let felt = bench.averaged(200).inertial();
        for (found, wanted) in felt.specific_force.as_array().iter().zip([1.0, -2.0, 14.0]) {
            assert!((found.0 - wanted).abs() < 0.01, "{felt:?}");
        }
        for (found, wanted) in felt.turn_rate.as_array().iter().zip([0.1, -0.4, 0.7]) {
            assert!((found.0 - wanted).abs() < 0.001, "{felt:?}");
        }
        let spread = felt.spread.expect("it was read more than once");
        // 0.01 m/s2 and 0.0005 rad/s rms along each of three axes.
        assert!((spread.force_deviation.0 - 0.0173).abs() < 0.006, "{spread:?}");
        assert!((spread.turn_deviation.0 - 0.000_87).abs() < 0.000_3, "{spread:?}");
        assert!((spread.largest_force.0 - 14.02).abs() < 0.02, "{spread:?}");
        assert!((spread.largest_turn.0 - 0.701).abs() < 0.002, "{spread:?}");
    }
}

#[test]
fn no_reading_is_missed_or_taken_twice() {
    for (kind, address) in BOTH {
        // Rates of real sensors are off by some percent.
        for clock in [0.95, 1.0, 1.05] {
            let mut bench = Bench::new(kind, address, Felt(at_rest));
            bench.imu().clock = clock;
            bench.run(2_000);
            bench.batches.clear();
            bench.run(10_000);
            let nominal = if kind == FakeImuKind::Lsm6dso { 2_080.0 } else { 2_000.0 };
            let force: u16 = bench.batches.iter().map(|batch| batch.force.readings).sum();
            let turn: u16 = bench.batches.iter().map(|batch| batch.turn.readings).sum();
            assert!((f64::from(force) - nominal * clock).abs() <= 6.0, "{kind:?} {clock}: {force}");
            assert!(turn.abs_diff(force) <= 1, "{turn} {force}");
            assert_eq!(bench.batches.len(), 500);
        }
    }
}

#[test]
fn it_keeps_out_of_the_barometers_way() {
    for (kind, address) in BOTH {
        let mut bench = Bench::new(kind, address, Felt(at_rest));
        bench.run(3_000);
        // A barometer starts before 5 ms of a frame, a differential sensor is read until 7.2 ms.
        // Two MS5611 are read, and their temperatures started, before 9.7 ms, and read from 18.4 ms
        // on; a BMP390 may wait to be read, at which nothing changes.
        for (begun, ended) in &bench.used {
            let is_read = *begun >= 9_800 && *ended <= 12_300;
            let is_start = *begun >= 13_000 && *ended <= 19_300;
            assert!(is_read || is_start, "{kind:?} {begun} to {ended}");
        }
    }
}

#[test]
fn an_axis_that_does_not_answer_the_sensors_own_test_is_seen() {
    for (kind, address) in BOTH {
        for axis in 0..6 {
            let mut bench = Bench::new(kind, address, Felt(at_rest));
            bench.imu().deaf_axis = Some(axis);
            bench.run(1_500);
            let last = bench.slot.latest().expect("it measures all the same");
            assert_eq!(last.self_test, SelfTest::Outside, "{kind:?} {axis}");
        }
    }
}

#[test]
fn a_memory_that_ran_over_costs_frames_and_no_old_reading_comes_through() {
    for (kind, address) in BOTH {
        for gap_ms in [100, 2_000] {
            let begun = core::cell::Cell::new(f64::INFINITY);
            let air = Felt(|now: f64| {
                let force = if now > begun.get() { 5.0 } else { 0.0 };
                ([force, 0.0, 9.8], [0.0; 3])
            });
            let mut bench = Bench::new(kind, address, air);
            bench.run(2_000);
            // Nobody reads it for a while, at the end of which the force changes.
            bench.now = after(bench.now, Micros(gap_ms * 1_000));
            begun.set(bench.now.0 as f64 / 1e6);
            bench.batches.clear();
            bench.run(200);
            assert_eq!(bench.slot.condition(), Condition::Live);
            assert!(bench.batches.len() >= 8, "{kind:?}: {}", bench.batches.len());
            for batch in &bench.batches {
                let averaged = Averaged::of(&batch.force, &batch.turn, batch.scale).unwrap();
                assert!(averaged.force[0] > 49_000, "{kind:?} {gap_ms}: {averaged:?}");
            }
        }
    }
}

#[test]
fn a_sensor_without_result_gone_or_frozen_is_lost_and_back() {
    for (kind, address) in BOTH {
        for (trouble, fault) in [
            (Trouble::Silent, Fault::NoResult),
            (Trouble::Gone, Fault::NoAnswer),
            (Trouble::Frozen, Fault::Frozen),
        ] {
            let mut bench = Bench::new(kind, address, Felt(at_rest));
            bench.run(2_500);
            bench.imu().trouble = trouble;
            bench.run(1_000);
            assert_eq!(bench.slot.condition(), Condition::Lost(fault), "{kind:?} {trouble:?}");
            bench.imu().trouble = Trouble::None;
            bench.run(2_000);
            assert_eq!(bench.slot.condition(), Condition::Live, "{kind:?} {trouble:?}");
        }
    }
}

#[test]
fn another_chip_is_named_and_none_is_looked_for_twice_and_no_more() {
    let mut bench = Bench::new(FakeImuKind::Icm42688, 0x68, Felt(at_rest));
    bench.imu().trouble = Trouble::Spoilt;
    bench.run(300);
    assert_eq!(bench.slot.condition(), Condition::Absent(Fault::WrongIdentity(0x46)));
    bench.bus.imu = None;
    bench.run(700);
    bench.used.clear();
    bench.run(60_000);
    assert_eq!(bench.used.len(), 0, "without one the bus is left alone from the first second on");
}

#[test]
fn a_bus_that_hangs_between_count_and_reading_costs_a_frame() {
    let mut bench = Bench::new(FakeImuKind::Lsm6dso, 0x6B, Felt(at_rest));
    bench.run(2_000);
    bench.batches.clear();
    let mut failed = 0;
    let end = after(bench.now, Micros(1_000_000));
    while bench.now < end {
        match bench.slot.wanted(bench.now) {
            Wanted::Nothing(until) => bench.now = until,
            Wanted::Transact(transaction) => {
                bench.now = after(bench.now, time_on_the_bus(&transaction));
                let is_broken = transaction.read > 2 && frame_of(bench.now) % 10 == 0;
                failed += u32::from(is_broken);
                let result = match is_broken {
                    true => Err(chirrup_sensors::bus::BusFault::Broken),
                    false => bench.bus.run(bench.now, &transaction),
                };
                let answer = result.as_deref().map_err(|fault| *fault);
                bench.batches.extend(bench.slot.answer(bench.now, answer));
            }
        }
    }
    assert_eq!(failed, 5);
    assert_eq!(bench.batches.len(), 45);
    assert_eq!(bench.slot.condition(), Condition::Live);
}

#[test]
fn the_bytes_of_both_data_sheets_are_read_over_a_real_bus_trait() {
    use embedded_hal_mock::eh1::i2c::{Mock, Transaction as Expected};
    // Two words of an LSM6DSO: gyro 1, -2, 3 (tag 1), accelerometer 256, -256, 4096 (tag 2).
    let words = [0x08, 1, 0, 0xFE, 0xFF, 3, 0, 0x10, 0, 1, 0, 0xFF, 0, 0x10];
    let mut bus = Mock::new(&[Expected::write_read(0x6A, [0x78].to_vec(), words.to_vec())]);
    let reply = run_blocking(&mut bus, &Transaction::write_read(0x6A, [0x78], 14)).unwrap();
    bus.done();
    let mut readings = chip::Readings::default();
    reply.chunks(7).for_each(|word| (lsm6dso::CHIP.decode)(word, &mut readings));
    assert_eq!((readings.turn.sum, readings.force.sum), ([1, -2, 3], [256, -256, 4_096]));
    // A packet of an ICM-42688-P with header 0x68; one without a reading; an empty memory.
    let packet = [0x68, 1, 0, 0xFF, 0, 0x10, 0, 0, 1, 0xFF, 0xFE, 0, 3, 0x0A, 0, 0];
    let mut nothing = packet;
    nothing[1..3].copy_from_slice(&[0x80, 0x00]);
    let mut readings = chip::Readings::default();
    for item in [packet, nothing, [0xFF; 16]] {
        (icm42688::CHIP.decode)(&item, &mut readings);
    }
    assert_eq!((readings.turn.sum, readings.force.sum), ([1, -2, 3], [256, -256, 4_096]));
    assert_eq!(readings.temperature_centicelsius, Some(2_500 + 483));
}
