//! The MS5611 on its bus: reset, calibration, then a pressure in every frame and a temperature in
//! every 25th.
//!
//! ```text
//! RESET --3 ms--> PROM word 0 .. 7 --checksum right--> IDLE, temperature wanted
//!
//! IDLE --frame begins--> CONVERTING pressure (temperature at first) --9.1 ms--> read --> IDLE
//!   ^                                                                                |
//!   +- read <--9.1 ms-- CONVERTING temperature, in second half of every 25th frame <-+
//! ```
//!
//! A result of zero means that it had not finished or never began (its supply failed). Times:
//! MS5611-01BA03 data sheet, conversion at oversampling 4096 typically 8.22 ms and at most 9.04 ms,
//! reload after reset 2.8 ms (from memory).

use super::Calibration;
use super::prom::{self, WORDS};
use crate::bus::{BusFault, Transaction};
use crate::sensor::{
    Driver, Fault, Measurement, Outcome, Wanted, after, big_endian, frame_of,
    is_near_its_beginning, next_frame,
};
use chirrup_core::Micros;

/// The address with pin CSB low.
pub const ADDRESS_CSB_LOW: u8 = 0x77;
/// The address with pin CSB high.
pub const ADDRESS_CSB_HIGH: u8 = 0x76;

const RESET: u8 = 0x1E;
const READ_PROM: u8 = 0xA0;
const READ_RESULT: u8 = 0x00;
/// Pressure, oversampling 4096.
const CONVERT_PRESSURE: u8 = 0x48;
/// Temperature, oversampling 4096.
const CONVERT_TEMPERATURE: u8 = 0x58;

const RELOAD: Micros = Micros(3_000);
const LONGEST_CONVERSION: Micros = Micros(9_100);
/// Half the typical conversion.
const TO_MIDDLE: Micros = Micros(4_110);
/// The die follows the air temperature over tens of seconds, so twice a second is often enough (a
/// guess).
const FRAMES_PER_TEMPERATURE: u8 = 25;

/// One MS5611.
#[derive(Clone, Debug)]
pub struct Ms5611 {
    address: u8,
    words: [u16; WORDS],
    calibration: Option<Calibration>,
    phase: Phase,
    temperature_counts: Option<u32>,
    frames_since_temperature: u8,
    last_frame: i64,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Phase {
    Reset,
    Reloading(Micros),
    Prom(u8),
    Idle(Micros),
    Starting(Quantity),
    Converting(Quantity, Micros),
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Quantity {
    Pressure,
    Temperature,
}

impl Ms5611 {
    /// A sensor that has not been found yet.
    pub fn new(address: u8) -> Self {
        Self {
            address,
            words: [0; WORDS],
            calibration: None,
            phase: Phase::Reset,
            temperature_counts: None,
            frames_since_temperature: 0,
            last_frame: i64::MIN,
        }
    }

    /// What to convert now, or when the next conversion may start.
    fn next_conversion(&self, now: Micros) -> Result<Quantity, Micros> {
        let pressure_is_over = frame_of(now) == self.last_frame || !is_near_its_beginning(now);
        match self.temperature_counts {
            None => Ok(Quantity::Temperature),
            Some(_) if !pressure_is_over => Ok(Quantity::Pressure),
            Some(_) if self.frames_since_temperature >= FRAMES_PER_TEMPERATURE => {
                Ok(Quantity::Temperature)
            }
            Some(_) => Err(next_frame(now)),
        }
    }

    fn result(&mut self, quantity: Quantity, started: Micros, counts: u32) -> Outcome {
        match (quantity, self.calibration, self.temperature_counts) {
            (Quantity::Temperature, ..) => {
                self.temperature_counts = Some(counts);
                self.frames_since_temperature = 0;
                Outcome::Going
            }
            (Quantity::Pressure, Some(calibration), Some(temperature)) => {
                let compensated = calibration.compensate(counts, temperature);
                Outcome::Measured(Measurement {
                    time: after(started, TO_MIDDLE),
                    counts,
                    pressure_64ths_pa: compensated.pressure_64ths_pa,
                    temperature_centicelsius: compensated.temperature_centicelsius,
                })
            }
            _ => Outcome::Failed(Fault::BadCalibration),
        }
    }

    fn prom_word(&mut self, now: Micros, place: u8, word: u16) -> Outcome {
        if let Some(kept) = self.words.get_mut(usize::from(place)) {
            *kept = word;
        }
        if usize::from(place) + 1 < WORDS {
            self.phase = Phase::Prom(place + 1);
            return Outcome::Going;
        }
        self.calibration = prom::calibration(&self.words);
        if self.calibration.is_none() {
            return self.fail(now, Fault::BadCalibration);
        }
        self.phase = Phase::Idle(Micros(i64::MIN));
        Outcome::Ready
    }

    fn fail(&mut self, now: Micros, fault: Fault) -> Outcome {
        // A known sensor tries again in the next frame, not at once, so that ten failures take a
        // fifth of a second.
        self.phase =
            if self.calibration.is_some() { Phase::Idle(next_frame(now)) } else { Phase::Reset };
        Outcome::Failed(fault)
    }
}

impl Driver for Ms5611 {
    fn wanted(&mut self, now: Micros) -> Wanted {
        let command = |command| Wanted::Transact(Transaction::write(self.address, [command]));
        let read = |command, length| {
            Wanted::Transact(Transaction::write_read(self.address, [command], length))
        };
        match self.phase {
            Phase::Reset => command(RESET),
            Phase::Reloading(until) | Phase::Idle(until) | Phase::Converting(_, until)
                if now < until =>
            {
                Wanted::Nothing(until)
            }
            Phase::Reloading(_) => {
                self.phase = Phase::Prom(0);
                read(READ_PROM, 2)
            }
            Phase::Prom(place) => read(READ_PROM + 2 * place, 2),
            Phase::Converting(..) => read(READ_RESULT, 3),
            Phase::Starting(quantity) => command(start_of(quantity)),
            Phase::Idle(_) => match self.next_conversion(now) {
                Ok(quantity) => {
                    self.phase = Phase::Starting(quantity);
                    command(start_of(quantity))
                }
                Err(until) => {
                    self.phase = Phase::Idle(until);
                    Wanted::Nothing(until)
                }
            },
        }
    }

    fn answer(&mut self, now: Micros, answer: Result<&[u8], BusFault>) -> Outcome {
        if let Phase::Starting(Quantity::Pressure) = self.phase {
            // Even if it failed: the next try is in the next frame.
            self.last_frame = frame_of(now);
            self.frames_since_temperature = self.frames_since_temperature.saturating_add(1);
        }
        let bytes = match answer {
            Ok(bytes) => bytes,
            Err(fault) => return self.fail(now, Fault::of_bus(fault)),
        };
        match self.phase {
            Phase::Reset => {
                self.phase = Phase::Reloading(after(now, RELOAD));
                Outcome::Going
            }
            Phase::Prom(place) => match big_endian::<2>(bytes) {
                Some(word) => self.prom_word(now, place, word as u16),
                None => self.fail(now, Fault::Broken),
            },
            Phase::Starting(quantity) => {
                self.phase = Phase::Converting(quantity, after(now, LONGEST_CONVERSION));
                Outcome::Going
            }
            Phase::Converting(quantity, until) => match big_endian::<3>(bytes) {
                None => self.fail(now, Fault::Broken),
                Some(0) => self.fail(now, Fault::NoResult),
                Some(counts) => {
                    self.phase = Phase::Idle(Micros(i64::MIN));
                    self.result(quantity, Micros(until.0 - LONGEST_CONVERSION.0), counts)
                }
            },
            Phase::Reloading(_) | Phase::Idle(_) => Outcome::Going,
        }
    }

    fn name(&self) -> &'static str {
        "ms5611"
    }

    fn address(&self) -> u8 {
        self.address
    }
}

fn start_of(quantity: Quantity) -> u8 {
    match quantity {
        Quantity::Pressure => CONVERT_PRESSURE,
        Quantity::Temperature => CONVERT_TEMPERATURE,
    }
}
