//! The MS5611 on its bus: reset, calibration, then a pressure and a temperature in every frame.
//!
//! ```text
//! RESET --3 ms--> PROM word 0 .. 7 --checksum right--> IDLE, temperature wanted
//!
//! IDLE --frame begins--> CONVERTING pressure (temperature at first) --9.1 ms--> read --> IDLE
//!   ^                                                                                |
//!   +------------------ read <--4.6 ms-- CONVERTING temperature <--------------------+
//! ```
//!
//! ```text
//! time in frame   0 ms       4.1      8.2  9.1             13.7           20 ms
//!                 |  P  4096 times    | read | T 2048 times | read        |
//!                            ^ time of the measurement
//! ```
//!
//! | command | what |
//! |---|---|
//! | 0x1E | reset, which loads the calibration |
//! | 0xA0, 0xA2 .. 0xAE | the next read is a word of [the memory](super::prom) |
//! | 0x48 | convert pressure, oversampling 4096 |
//! | 0x56 | convert temperature, oversampling 2048 |
//! | 0x00 | the next read is the result, three bytes |
//!
//! A pressure is compensated with the temperature before it, 13 ms older: where the die warms by 3
//! degrees a minute that is 0.1 Pa, always the same. A temperature that fails is left out.
//!
//! A result of zero means that it had not finished or never began (its supply failed). Times:
//! MS5611-01BA03 data sheet, "ADC conversion time": at oversampling 4096 typically 8.22 ms and at
//! most 9.04 ms, at 2048 typically 4.13 ms and at most 4.54 ms; reload after reset 2.8 ms (from
//! memory).

use super::Calibration;
use super::prom::{self, WORDS};
use crate::bus::{BusFault, Transaction};
use crate::sensor::{
    Driver, FRAME, Fault, Measurement, Outcome, Turn, Wanted, after, big_endian, next_frame,
};
use crate::temperature::LatestTemperature;
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
/// Temperature, oversampling 2048: the longest that ends well before the next frame, after a
/// pressure and with other sensors on the bus.
const CONVERT_TEMPERATURE: u8 = 0x56;

const RELOAD: Micros = Micros(3_000);
/// After so long a conversion is over, with a little more than the sheet's.
const LONGEST_PRESSURE: Micros = Micros(9_100);
const LONGEST_TEMPERATURE: Micros = Micros(4_600);
/// Half the typical conversion of a pressure.
const TO_MIDDLE: Micros = Micros(4_110);
/// A temperature is converted only before this time of the frame, so that it is read before the
/// next pressure is due.
const LAST_TEMPERATURE: Micros = Micros(14_000);

/// One MS5611.
#[derive(Clone, Debug)]
pub struct Ms5611 {
    address: u8,
    words: [u16; WORDS],
    calibration: Option<Calibration>,
    phase: Phase,
    temperature: LatestTemperature,
    temperature_is_due: bool,
    turn: Turn,
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
            temperature: LatestTemperature::default(),
            temperature_is_due: true,
            turn: Turn::FIRST,
        }
    }

    /// What to convert now, or when the next conversion may start.
    fn next_conversion(&self, now: Micros) -> Result<Quantity, Micros> {
        if !self.temperature.is_known() {
            return Ok(Quantity::Temperature);
        }
        if self.turn.is_due(now) {
            return Ok(Quantity::Pressure);
        }
        let is_in_time = now.0.rem_euclid(FRAME.0) < LAST_TEMPERATURE.0;
        if self.temperature_is_due && is_in_time {
            return Ok(Quantity::Temperature);
        }
        Err(next_frame(now))
    }

    fn pressure(&mut self, now: Micros, started: Micros, counts: u32) -> Outcome {
        let Some(temperature) = self.temperature.for_a_pressure() else {
            return self.fail(now, Fault::NoResult);
        };
        let Some(calibration) = self.calibration else {
            return self.fail(now, Fault::BadCalibration);
        };
        let compensated = calibration.compensate(counts, temperature);
        Outcome::Measured(Measurement {
            time: after(started, TO_MIDDLE),
            counts,
            pressure_64ths_pa: compensated.pressure_64ths_pa,
            temperature_centicelsius: compensated.temperature_centicelsius,
        })
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
        let is_of_temperature = matches!(
            self.phase,
            Phase::Starting(Quantity::Temperature) | Phase::Converting(Quantity::Temperature, _)
        );
        // A known sensor tries again in the next frame, not at once, so that ten failures take a
        // fifth of a second.
        self.phase =
            if self.calibration.is_some() { Phase::Idle(next_frame(now)) } else { Phase::Reset };
        if is_of_temperature && self.temperature.is_known() {
            // The next pressure can do without; if the bus is at fault, that one says so.
            return Outcome::Going;
        }
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
            Phase::Reloading(until) | Phase::Idle(until) if now < until => Wanted::Nothing(until),
            Phase::Converting(quantity, started) if now < after(started, longest(quantity)) => {
                Wanted::Nothing(after(started, longest(quantity)))
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
        // Even if it failed: the next try is in the next frame.
        match self.phase {
            Phase::Starting(Quantity::Pressure) => {
                self.turn.take(now);
                self.temperature_is_due = true;
            }
            Phase::Starting(Quantity::Temperature) => self.temperature_is_due = false,
            _ => {}
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
                self.phase = Phase::Converting(quantity, now);
                Outcome::Going
            }
            Phase::Converting(quantity, started) => match (big_endian::<3>(bytes), quantity) {
                (None, _) => self.fail(now, Fault::Broken),
                (Some(0), _) => self.fail(now, Fault::NoResult),
                (Some(counts), Quantity::Temperature) => {
                    self.phase = Phase::Idle(Micros(i64::MIN));
                    self.temperature.take(counts);
                    Outcome::Going
                }
                (Some(counts), Quantity::Pressure) => {
                    self.phase = Phase::Idle(Micros(i64::MIN));
                    self.pressure(now, started, counts)
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

/// The time after which a conversion is over.
fn longest(quantity: Quantity) -> Micros {
    match quantity {
        Quantity::Pressure => LONGEST_PRESSURE,
        Quantity::Temperature => LONGEST_TEMPERATURE,
    }
}
