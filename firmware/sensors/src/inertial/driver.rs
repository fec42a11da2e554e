//! An inertial sensor on its bus: identity, start with its own test, then its memory emptied once a
//! frame.
//!
//! ```text
//! IDENTITY --it is the one--> STARTING: the steps of its kind --> IDLE
//! IDLE --9.8 ms of the frame--> COUNT --items--> READ --> IDLE
//!                                     --too many, or some lost--> EMPTYING: two steps --> IDLE
//! ```
//!
//! It keeps out of the barometers' way: found and started only while the bus has nothing else to do
//! (13 to 17 ms of a frame), and read when the barometers have been, and a temperature has been
//! started where one is due; read before, it delayed every pressure that follows a temperature by
//! half a millisecond. What is read then lags some milliseconds behind by the sensor's own low-pass
//! (2 to 5, a guess), so that its mean belongs to within 2 ms to the time of the pressures, the
//! middle of their conversions.

use super::batch::{Batch, SelfTest};
use super::chip::{Chip, Readings, Step};
use super::sums::Sums;
use crate::bus::{BusFault, Transaction};
use crate::sensor::{Driver, FRAME, Fault, Outcome, Wanted, after, frame_of, next_frame};
use chirrup_core::Micros;

/// When in a frame it is read; later than the end, it waits for the next.
const READ: (i64, i64) = (9_800, 15_000);
/// When in a frame it is looked for and started.
const START: (i64, i64) = (13_000, 17_000);
/// Fewer readings than this show nothing in a test: 20 ms.
const LEAST_FOR_TEST: u16 = 4;

/// One inertial sensor.
#[derive(Clone, Debug)]
pub struct Imu {
    chip: &'static Chip,
    address: u8,
    phase: Phase,
    is_ready: bool,
    /// Steps that are left before it measures.
    steps: &'static [Step],
    /// Means of forces and turn rates before its own test.
    undeflected: Option<[[i32; 3]; 2]>,
    self_test: SelfTest,
    temperature_centicelsius: i32,
    last_frame: i64,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Phase {
    Identity,
    Idle(Micros),
    Count,
    Read(usize),
}

impl Imu {
    /// A sensor that has not been found yet.
    pub fn new(chip: &'static Chip, address: u8) -> Self {
        Self {
            chip,
            address,
            phase: Phase::Identity,
            is_ready: false,
            steps: chip.start,
            undeflected: None,
            self_test: SelfTest::Outside,
            temperature_centicelsius: 0,
            last_frame: i64::MIN,
        }
    }

    fn idle(&mut self, now: Micros) -> Wanted {
        match self.steps.split_first() {
            Some((Step::Wait(time), rest)) => {
                self.steps = rest;
                self.wait(after(now, Micros(*time)))
            }
            Some((Step::Write(register, value), _)) => {
                Wanted::Transact(Transaction::write(self.address, [*register, *value]))
            }
            None if frame_of(now) == self.last_frame => self.wait(window(next_frame(now), READ)),
            Some(_) | None => {
                self.phase = Phase::Count;
                self.count()
            }
        }
    }

    fn wait(&mut self, until: Micros) -> Wanted {
        self.phase = Phase::Idle(until);
        Wanted::Nothing(until)
    }

    fn count(&self) -> Wanted {
        Wanted::Transact(Transaction::write_read(self.address, [self.chip.count], 2))
    }

    fn counted(&mut self, bytes: &[u8]) -> Outcome<Batch> {
        let Ok(bytes) = <[u8; 2]>::try_from(bytes) else { return self.fail(Fault::Broken) };
        match (self.chip.items)(bytes) {
            Some(0) => self.fail(Fault::NoResult),
            Some(items) if items <= self.chip.too_many => {
                self.phase = Phase::Read(items.min(self.chip.most));
                Outcome::Going
            }
            _ => {
                // In a start the test does not hold, and the start goes on.
                let goes_on = !self.is_ready;
                self.steps = if goes_on { self.steps } else { self.chip.flush };
                self.fail(Fault::Overrun)
            }
        }
    }

    fn read(&mut self, now: Micros, bytes: &[u8]) -> Outcome<Batch> {
        let mut readings = Readings::default();
        bytes.chunks_exact(self.chip.item).for_each(|item| (self.chip.decode)(item, &mut readings));
        if let Some(celsius) = readings.temperature_centicelsius {
            self.temperature_centicelsius = celsius;
        }
        self.phase = Phase::Idle(Micros(i64::MIN));
        let (force, turn) = (readings.force, readings.turn);
        if force.readings == 0 || turn.readings == 0 {
            return self.fail(Fault::NoResult);
        }
        match self.steps.split_first() {
            None => {
                return Outcome::Measured(Batch {
                    time: now,
                    force,
                    turn,
                    scale: self.chip.scale,
                    last: readings.last(),
                    temperature_centicelsius: self.temperature_centicelsius,
                    self_test: self.self_test,
                });
            }
            Some((Step::Undeflected, rest)) => {
                self.undeflected = means_for_test(&force, &turn);
                self.steps = rest;
            }
            Some((_, rest)) => {
                self.self_test = self.compare(&force, &turn);
                self.steps = rest;
            }
        }
        Outcome::Going
    }

    fn compare(&self, force: &Sums, turn: &Sums) -> SelfTest {
        let both = self.undeflected.zip(means_for_test(force, turn));
        let is_good = both.is_some_and(|([force_before, turn_before], [force, turn])| {
            is_deflected(force_before, force, self.chip.force_deflection)
                && is_deflected(turn_before, turn, self.chip.turn_deflection)
        });
        if is_good { SelfTest::Passed } else { SelfTest::Outside }
    }

    fn fail(&mut self, fault: Fault) -> Outcome<Batch> {
        // A known sensor tries again in the next frame.
        self.phase = if self.is_ready { Phase::Idle(Micros(i64::MIN)) } else { Phase::Identity };
        Outcome::Failed(fault)
    }

    /// When it may use the bus next: now, or later.
    fn turn_of(&self, now: Micros) -> Micros {
        let is_measuring = self.is_ready && self.steps.is_empty();
        window(now, if is_measuring { READ } else { START })
    }
}

impl Driver<Batch> for Imu {
    fn wanted(&mut self, now: Micros) -> Wanted {
        if let Phase::Idle(until) = self.phase
            && now < until
        {
            return Wanted::Nothing(until);
        }
        let turn = self.turn_of(now);
        if now < turn {
            return Wanted::Nothing(turn);
        }
        let (identity, _) = self.chip.identity;
        match self.phase {
            Phase::Identity => {
                Wanted::Transact(Transaction::write_read(self.address, [identity], 1))
            }
            Phase::Idle(_) => self.idle(now),
            Phase::Count => self.count(),
            Phase::Read(items) => Wanted::Transact(Transaction::write_read(
                self.address,
                [self.chip.memory],
                items * self.chip.item,
            )),
        }
    }

    fn answer(&mut self, now: Micros, answer: Result<&[u8], BusFault>) -> Outcome<Batch> {
        self.last_frame = frame_of(now);
        let bytes = match answer {
            Ok(bytes) => bytes,
            Err(fault) => return self.fail(Fault::of_bus(fault)),
        };
        match self.phase {
            Phase::Identity => match bytes {
                [found] if *found == self.chip.identity.1 => {
                    self.phase = Phase::Idle(Micros(i64::MIN));
                }
                [other] => return self.fail(Fault::WrongIdentity(*other)),
                _ => return self.fail(Fault::Broken),
            },
            Phase::Idle(_) => {
                self.steps = self.steps.get(1..).unwrap_or_default();
                if self.steps.is_empty() && !self.is_ready {
                    self.is_ready = true;
                    return Outcome::Ready;
                }
            }
            Phase::Count => return self.counted(bytes),
            Phase::Read(_) => return self.read(now, bytes),
        }
        Outcome::Going
    }

    fn name(&self) -> &'static str {
        self.chip.name
    }

    fn address(&self) -> u8 {
        self.address
    }
}

/// The first time from `now` on that is in this part of a frame.
fn window(now: Micros, (from, to): (i64, i64)) -> Micros {
    let begun = now.0.rem_euclid(FRAME.0);
    let wait = match () {
        () if begun < from => from - begun,
        () if begun < to => 0,
        () => FRAME.0 - begun + from,
    };
    after(now, Micros(wait))
}

/// Mean counts of forces and turn rates, if there are enough.
fn means_for_test(force: &Sums, turn: &Sums) -> Option<[[i32; 3]; 2]> {
    if force.readings.min(turn.readings) < LEAST_FOR_TEST {
        return None;
    }
    Some([force.means()?, turn.means()?])
}

/// Whether every axis moved by what its own test must give.
fn is_deflected(before: [i32; 3], after: [i32; 3], (least, most): (u32, u32)) -> bool {
    let mut moved = before.iter().zip(after).map(|(before, after)| before.abs_diff(after));
    moved.all(|moved| (least..=most).contains(&moved))
}
