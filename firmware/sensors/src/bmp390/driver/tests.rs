//! Dips of the supply, at every part of a frame: on the simulated device, which forgets what was
//! written, loses a conversion that runs, and is deaf for its start-up time.

use super::*;
use crate::fakes::{Connected, FakeBmp390, FakeBus};
use crate::sensor::frame_of;
use std::vec::Vec;

fn still(_time: Micros) -> i32 {
    95_000 * 64
}

/// A driver, its device, and what happened since.
struct Bench {
    driver: Bmp390,
    bus: FakeBus<fn(Micros) -> i32>,
    now: Micros,
    outcomes: Vec<(Micros, Outcome)>,
    /// When the oversampling was written.
    set_up_at: Vec<Micros>,
    /// The last frame of which there was a pressure before the dip.
    last_before: i64,
}

impl Bench {
    fn measuring(from: Micros) -> Self {
        let mut bus = FakeBus::empty(still as fn(Micros) -> i32);
        bus.bmp390 = Some(FakeBmp390::new(ADDRESS_SDO_HIGH, Connected::Static));
        let driver = Bmp390::new(ADDRESS_SDO_HIGH);
        let (outcomes, set_up_at) = (Vec::new(), Vec::new());
        let (now, last_before) = (Micros(0), 0);
        let mut bench = Self { driver, bus, now, outcomes, set_up_at, last_before };
        bench.run_until(from);
        let measured = bench.measured();
        assert!(measured.len() > 20, "it measures before the dip");
        bench.last_before = measured.last().map_or(0, |(_, one)| frame_of(one.time));
        bench.outcomes.clear();
        bench.set_up_at.clear();
        bench
    }

    fn run_until(&mut self, end: Micros) {
        while self.now < end {
            match self.driver.wanted(self.now) {
                Wanted::Nothing(until) => self.now = until.min(end),
                Wanted::Transact(transaction) => {
                    let taken = transaction.on_the_wire();
                    self.now = after(self.now, Micros(taken.0 + 50));
                    let answer = self.bus.run(self.now, &transaction);
                    if transaction.send[..] == [OVERSAMPLING, PRESSURE_4X_TEMPERATURE_2X] {
                        self.set_up_at.push(self.now);
                    }
                    let answer = answer.as_deref().map_err(|fault| *fault);
                    self.outcomes.push((self.now, self.driver.answer(self.now, answer)));
                }
            }
        }
    }

    fn measured(&self) -> Vec<(Micros, Measurement)> {
        let of = |(at, outcome): &(Micros, Outcome)| match outcome {
            Outcome::Measured(measurement) => Some((*at, *measurement)),
            _ => None,
        };
        self.outcomes.iter().filter_map(of).collect()
    }

    fn faults(&self) -> Vec<Fault> {
        let of = |(_, outcome): &(Micros, Outcome)| match outcome {
            Outcome::Failed(fault) => Some(*fault),
            _ => None,
        };
        self.outcomes.iter().filter_map(of).collect()
    }
}

#[test]
fn after_a_dip_nothing_is_measured_before_it_is_set_up_again_and_two_frames_are_lost_at_most() {
    for part in 0..100 {
        let dip = Micros(1_000_000 + 200 * part);
        let mut bench = Bench::measuring(dip);
        let last = bench.last_before;
        bench.bus.dip_supply(bench.now);
        bench.run_until(after(dip, Micros(200_000)));
        let measured = bench.measured();
        let Some(&set_up) = bench.set_up_at.first() else { panic!("{part}: not set up again") };
        assert!(
            measured.iter().all(|(_, measurement)| measurement.time > set_up),
            "{part}: {measured:?} and set up at {set_up:?}"
        );
        let frames: Vec<i64> = measured.iter().map(|(_, one)| frame_of(one.time)).collect();
        let first = frames.first().copied().unwrap_or(i64::MAX);
        assert!(first - last <= 3, "{part}: measures in frame {last}, then {first}");
        assert!(frames.windows(2).all(|pair| pair[1] == pair[0] + 1), "{part}: {frames:?}");
        assert!(bench.faults().contains(&Fault::Restarted), "{part}: {:?}", bench.faults());
    }
}

#[test]
fn a_dip_while_it_is_set_up_again_is_noticed_too() {
    for later in 0..120 {
        let mut bench = Bench::measuring(Micros(1_004_000));
        bench.bus.dip_supply(bench.now);
        bench.run_until(Micros(1_013_000 + 200 * later));
        bench.bus.dip_supply(bench.now);
        let second = bench.now;
        bench.run_until(Micros(1_200_000));
        let after_both = bench.set_up_at.iter().find(|at| **at > second);
        let Some(&set_up) = after_both else { panic!("{later}: not set up after the second") };
        let measured = bench.measured();
        let is_in_doubt = |at: Micros| at > second && at < set_up;
        assert!(!measured.iter().any(|(_, one)| is_in_doubt(one.time)), "{later}");
        assert!(measured.len() >= 5, "{later}: {}", measured.len());
    }
}

#[test]
fn one_whose_supply_dips_in_every_frame_fails_in_each_and_is_never_ready_anew() {
    let mut bench = Bench::measuring(Micros(1_000_000));
    for frame in 0..30 {
        bench.run_until(Micros(1_000_000 + 20_000 * frame + 12_000));
        bench.bus.dip_supply(bench.now);
    }
    assert!(bench.measured().is_empty(), "{:?}", bench.measured());
    assert!(bench.faults().len() >= 28, "{:?}", bench.faults());
    let is_ready = bench.outcomes.iter().any(|(_, outcome)| *outcome == Outcome::Ready);
    assert!(!is_ready, "else its failures would never add up");
}

#[test]
fn the_event_costs_158_microseconds_of_the_bus_in_a_frame() {
    // By hand: seven bytes of nine bits at 400 kHz.
    let of = |length| Transaction::write_read(ADDRESS_SDO_HIGH, [STATUS], length).on_the_wire().0;
    assert!((157..=158).contains(&(of(RESULT_BYTES) - of(7))));
    let alone = Transaction::write_read(ADDRESS_SDO_HIGH, [EVENT], 1).on_the_wire().0;
    assert!((100..=101).contains(&alone));
}
