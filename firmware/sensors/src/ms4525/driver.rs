//! The MS4525DO on its bus: it measures continuously and is only read, four times while the
//! barometers convert.
//!
//! ```text
//! SEEKING --four bytes that are no fault--> READING 1 .. 4, at 1, 3, 5 and 7 ms of the frame
//!                                              ^                     |
//!                                              +---- the mean <------+  at the middle of the four
//! ```
//!
//! It has no identity and no calibration that could be checked. Stale readings are skipped; a frame
//! with only stale readings gives no result.

use super::{Reading, Scale, Status};
use crate::bus::{BusFault, Transaction};
use crate::sensor::{Driver, FRAME, Fault, Measurement, Outcome, Wanted, after, frame_of};
use chirrup_core::Micros;

/// The address of the common order code (interface type I).
pub const ADDRESS: u8 = 0x28;

/// Readings in a frame.
const READINGS: u8 = 4;
const FIRST: Micros = Micros(1_000);
/// Above the sensor's own half millisecond, so that each is a new one.
const APART: Micros = Micros(2_000);

/// One MS4525DO.
#[derive(Clone, Debug)]
pub struct Ms4525 {
    scale: Scale,
    is_ready: bool,
    /// The reading that comes next, and the frame it belongs to.
    reading: u8,
    frame: i64,
    sum: Sum,
}

#[derive(Clone, Copy, Debug, Default)]
struct Sum {
    readings: u32,
    counts: u32,
    times: i64,
    temperature_centicelsius: i32,
}

impl Ms4525 {
    /// A sensor that has not been found yet.
    pub fn new(scale: Scale) -> Self {
        Self { scale, is_ready: false, reading: READINGS, frame: i64::MIN, sum: Sum::default() }
    }

    fn due(&self) -> Micros {
        let start = Micros(self.frame.saturating_mul(FRAME.0));
        after(start, Micros(FIRST.0 + i64::from(self.reading) * APART.0))
    }

    fn take(&mut self, now: Micros, reading: Reading) -> Outcome {
        match reading.status {
            Status::Fault => return Outcome::Failed(Fault::SaysFaulty),
            Status::Stale => {}
            Status::Fresh => {
                self.sum.readings += 1;
                self.sum.counts += u32::from(reading.pressure_counts);
                // From the frame's start, so that the sum stays small.
                self.sum.times += now.0 - self.frame.saturating_mul(FRAME.0);
                self.sum.temperature_centicelsius = reading.temperature_centicelsius();
            }
        }
        if self.reading < READINGS { Outcome::Going } else { self.mean() }
    }

    fn mean(&mut self) -> Outcome {
        let Sum { readings, counts, times, temperature_centicelsius } =
            core::mem::take(&mut self.sum);
        match (self.scale.mean_64ths_pa(counts, readings), times.checked_div(i64::from(readings))) {
            (Some(pressure_64ths_pa), Some(middle)) => Outcome::Measured(Measurement {
                time: after(Micros(self.frame.saturating_mul(FRAME.0)), Micros(middle)),
                counts,
                pressure_64ths_pa,
                temperature_centicelsius,
            }),
            _ => Outcome::Failed(Fault::NoResult),
        }
    }
}

impl Driver for Ms4525 {
    fn wanted(&mut self, now: Micros) -> Wanted {
        if self.reading >= READINGS || frame_of(now) > self.frame {
            let past_the_first = now.0.rem_euclid(FRAME.0) > FIRST.0;
            self.frame = frame_of(now).saturating_add(i64::from(past_the_first));
            self.reading = 0;
            self.sum = Sum::default();
        }
        let due = self.due();
        if now < due {
            Wanted::Nothing(due)
        } else {
            Wanted::Transact(Transaction::read(ADDRESS, 4))
        }
    }

    fn answer(&mut self, now: Micros, answer: Result<&[u8], BusFault>) -> Outcome {
        self.reading = self.reading.saturating_add(1);
        let bytes: [u8; 4] = match answer.map(<[u8; 4]>::try_from) {
            Ok(Ok(bytes)) => bytes,
            Ok(Err(_)) => return Outcome::Failed(Fault::Broken),
            Err(fault) => return Outcome::Failed(Fault::of_bus(fault)),
        };
        let outcome = self.take(now, Reading::from_bytes(bytes));
        match outcome {
            Outcome::Going if !self.is_ready => {
                self.is_ready = true;
                Outcome::Ready
            }
            outcome => outcome,
        }
    }

    fn name(&self) -> &'static str {
        "ms4525do"
    }

    fn address(&self) -> u8 {
        ADDRESS
    }
}
