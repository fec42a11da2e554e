//! The BMP390 on its bus: identity, reset, calibration, then a forced conversion of temperature and
//! pressure in every frame.
//!
//! ```text
//! IDENTITY --0x60--> RESET --3 ms--> CALIBRATION --> CLEAR EVENT --> OVERSAMPLING --> FILTER OFF
//!     --> IDLE
//! IDLE --frame begins--> CONVERTING --14.7 ms--> read status, data and event --> IDLE
//!                                                     +--it was reset--> IDENTITY
//! ```
//!
//! ```text
//! time in frame   0 ms       4.2            12.9   14.7            20 ms
//!                 | T  twice | P  4 times     |    | read          |
//!                                   ^ time of the measurement: the middle of P, 8.7 ms
//! ```
//!
//! | register | name | what is done with it |
//! |---|---|---|
//! | 0x00 | CHIP_ID | 0x60 |
//! | 0x03..0x09 | STATUS, DATA | bits 5 and 6: pressure, temperature is there; then three bytes each |
//! | 0x10 | EVENT | bit 0: it was reset, or its supply dipped; a read clears it |
//! | 0x1B | PWR_CTRL | 0x13: convert both once |
//! | 0x1C | OSR | 0x0A: pressure 4 times, temperature twice |
//! | 0x1F | CONFIG | 0: no filter |
//! | 0x31..0x45 | NVM | [the calibration](super) |
//! | 0x7E | CMD | 0xB6: reset |
//!
//! Forced conversions instead of the sensor's own timing, so that the time of each is known, and
//! the sensor's filter is off, since the core's filter must see the raw noise.
//!
//! Temperature is converted twice: of a single one the converter's step is 0.0044 degrees, which is
//! 0.9 Pa, and twice leaves half of it.
//!
//! # A dip of the supply
//!
//! After one the sensor answers and converts as before, but the temperature once instead of twice,
//! and whatever of a conversion ran is lost. So EVENT is read with each result, and a result with
//! its bit set is not used: the sensor is set up again from its identity on, in 5 ms, which end
//! before the next frame or soon after it began. EVENT is cleared before the set-up is written, so
//! that a dip in the middle of the set-up shows too.
//!
//! EVENT is seven bytes behind the data. One transfer up to it costs 158 us more of the bus in each
//! frame; a transfer of its own would cost 101 us, but the processor's work for another one too,
//! and the state would not be that of the moment of the data.
//!
//! Source, from memory: BMP390 data sheet, "memory map" for the registers; conversion time
//! 234 us + 392 us + 2020 us times the oversampling of pressure + 163 us + 2020 us times that of
//! temperature, typical; a tenth more is allowed here (a guess). That temperature comes first is a
//! guess too, after the BMP581.

use super::{CALIBRATION_BYTES, Calibration};
use crate::bus::{BusFault, Transaction};
use crate::sensor::{Driver, Fault, Measurement, Outcome, Turn, Wanted, after, next_frame};
use crate::temperature::LatestTemperature;
use chirrup_core::Micros;

/// The address with pin SDO high.
pub const ADDRESS_SDO_HIGH: u8 = 0x77;
/// The address with pin SDO low.
pub const ADDRESS_SDO_LOW: u8 = 0x76;

const CHIP_ID: u8 = 0x00;
const IDENTITY: u8 = 0x60;
const STATUS: u8 = 0x03;
const EVENT: u8 = 0x10;
/// From STATUS to EVENT.
const RESULT_BYTES: usize = 14;
const POWER: u8 = 0x1B;
const OVERSAMPLING: u8 = 0x1C;
const CONFIG: u8 = 0x1F;
const CALIBRATION: u8 = 0x31;
const COMMAND: u8 = 0x7E;
const SOFT_RESET: u8 = 0xB6;

/// Pressure 4 times, temperature twice.
const PRESSURE_4X_TEMPERATURE_2X: u8 = 0b001_010;
/// Forced mode with pressure and temperature.
const FORCE: u8 = 0b01_0011;
const PRESSURE_READY: u8 = 0x20;
const TEMPERATURE_READY: u8 = 0x40;
const WAS_RESET: u8 = 0x01;

const RESTART: Micros = Micros(3_000);
/// The typical time of a conversion, and the time after which it is over.
const CONVERSION: Micros = Micros(234 + 392 + 4 * 2_020 + 163 + 2 * 2_020);
/// The middle of the pressure's conversion, which comes after the temperature's.
const TO_MIDDLE: Micros = Micros(234 + 163 + 2 * 2_020 + (392 + 4 * 2_020) / 2);
const LONGEST: Micros = Micros(CONVERSION.0 + CONVERSION.0 / 10 + 500);

/// One BMP390.
#[derive(Clone, Debug)]
pub struct Bmp390 {
    address: u8,
    calibration: Option<Calibration>,
    phase: Phase,
    /// It was ready once.
    is_known: bool,
    /// It holds what was written to it.
    is_set_up: bool,
    temperature: LatestTemperature,
    turn: Turn,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Phase {
    Identity,
    Reset,
    Restarting(Micros),
    Calibration,
    ClearEvent,
    Oversampling,
    FilterOff,
    Idle(Micros),
    Starting,
    Converting(Micros),
}

impl Bmp390 {
    /// A sensor that has not been found yet.
    pub fn new(address: u8) -> Self {
        Self {
            address,
            calibration: None,
            phase: Phase::Identity,
            is_known: false,
            is_set_up: false,
            temperature: LatestTemperature::default(),
            turn: Turn::FIRST,
        }
    }

    fn result(&mut self, now: Micros, started: Micros, bytes: &[u8]) -> Outcome {
        let Ok([status, p0, p1, p2, t0, t1, t2, .., event]) = <[u8; RESULT_BYTES]>::try_from(bytes)
        else {
            return self.fail(now, Fault::Broken);
        };
        if event & WAS_RESET != 0 {
            return self.begin_again();
        }
        if status & PRESSURE_READY == 0 {
            return self.fail(now, Fault::NoResult);
        }
        if status & TEMPERATURE_READY != 0 {
            self.temperature.take(u32::from_le_bytes([t0, t1, t2, 0]));
        }
        self.phase = Phase::Idle(Micros(i64::MIN));
        let temperature = self.temperature.for_a_pressure();
        let (Some(calibration), Some(temperature)) = (self.calibration, temperature) else {
            return self.fail(now, Fault::NoResult);
        };
        let counts = u32::from_le_bytes([p0, p1, p2, 0]);
        let compensated = calibration.compensate(counts, temperature);
        Outcome::Measured(Measurement {
            time: after(started, TO_MIDDLE),
            counts,
            pressure_64ths_pa: compensated.pressure_64ths_pa,
            temperature_centicelsius: compensated.temperature_centicelsius,
        })
    }

    fn fail(&mut self, now: Micros, fault: Fault) -> Outcome {
        // A known sensor tries again in the next frame, not at once, so that ten failures take a
        // fifth of a second.
        self.phase = if self.is_known { Phase::Idle(next_frame(now)) } else { Phase::Identity };
        Outcome::Failed(fault)
    }

    /// It was reset: what it measured is not used, and it is set up at once, so that only this
    /// frame is without a pressure.
    fn begin_again(&mut self) -> Outcome {
        self.is_set_up = false;
        self.temperature = LatestTemperature::default();
        self.phase = Phase::Identity;
        Outcome::Failed(Fault::Restarted)
    }

    /// A sensor that only has to be set up again is not ready anew: else one that is reset in every
    /// frame would never count as lost.
    fn set_up(&mut self) -> Outcome {
        self.phase = Phase::Idle(Micros(i64::MIN));
        self.is_set_up = true;
        if core::mem::replace(&mut self.is_known, true) { Outcome::Going } else { Outcome::Ready }
    }

    fn idle(&mut self, now: Micros) -> Wanted {
        if !self.is_set_up {
            self.phase = Phase::Identity;
            return self.read(CHIP_ID, 1);
        }
        if !self.turn.is_due(now) {
            let until = next_frame(now);
            self.phase = Phase::Idle(until);
            return Wanted::Nothing(until);
        }
        self.phase = Phase::Starting;
        self.start()
    }

    fn start(&self) -> Wanted {
        self.write(POWER, FORCE)
    }

    fn write(&self, register: u8, value: u8) -> Wanted {
        Wanted::Transact(Transaction::write(self.address, [register, value]))
    }

    fn read(&self, register: u8, length: usize) -> Wanted {
        Wanted::Transact(Transaction::write_read(self.address, [register], length))
    }
}

impl Driver for Bmp390 {
    fn wanted(&mut self, now: Micros) -> Wanted {
        match self.phase {
            Phase::Identity => self.read(CHIP_ID, 1),
            Phase::Reset => self.write(COMMAND, SOFT_RESET),
            Phase::Restarting(until) | Phase::Idle(until) if now < until => Wanted::Nothing(until),
            Phase::Restarting(_) => {
                self.phase = Phase::Calibration;
                self.read(CALIBRATION, CALIBRATION_BYTES)
            }
            Phase::Calibration => self.read(CALIBRATION, CALIBRATION_BYTES),
            Phase::ClearEvent => self.read(EVENT, 1),
            Phase::Oversampling => self.write(OVERSAMPLING, PRESSURE_4X_TEMPERATURE_2X),
            Phase::FilterOff => self.write(CONFIG, 0),
            Phase::Idle(_) => self.idle(now),
            Phase::Starting => self.start(),
            Phase::Converting(started) => {
                let until = after(started, LONGEST);
                if now < until { Wanted::Nothing(until) } else { self.read(STATUS, RESULT_BYTES) }
            }
        }
    }

    fn answer(&mut self, now: Micros, answer: Result<&[u8], BusFault>) -> Outcome {
        if self.phase == Phase::Starting {
            // Even if it failed: the next try is in the next frame.
            self.turn.take(now);
        }
        let bytes = match answer {
            Ok(bytes) => bytes,
            Err(fault) => return self.fail(now, Fault::of_bus(fault)),
        };
        match self.phase {
            Phase::Identity => match bytes {
                [IDENTITY] => self.phase = Phase::Reset,
                [other] => return self.fail(now, Fault::WrongIdentity(*other)),
                _ => return self.fail(now, Fault::Broken),
            },
            Phase::Reset => self.phase = Phase::Restarting(after(now, RESTART)),
            Phase::Calibration => {
                self.calibration = bytes.try_into().ok().and_then(Calibration::from_registers);
                if self.calibration.is_none() {
                    return self.fail(now, Fault::BadCalibration);
                }
                self.phase = Phase::ClearEvent;
            }
            Phase::ClearEvent => self.phase = Phase::Oversampling,
            Phase::Oversampling => self.phase = Phase::FilterOff,
            Phase::FilterOff => return self.set_up(),
            Phase::Starting => self.phase = Phase::Converting(now),
            Phase::Converting(started) => return self.result(now, started, bytes),
            Phase::Restarting(_) | Phase::Idle(_) => {}
        }
        Outcome::Going
    }

    fn name(&self) -> &'static str {
        "bmp390"
    }

    fn address(&self) -> u8 {
        self.address
    }
}

#[cfg(test)]
mod tests;
