//! The BMP581 on its bus: identity, reset, the sensor's own check of its memory, then a forced
//! conversion of temperature and pressure in every frame.
//!
//! ```text
//! IDENTITY --0x50, 0x51--> RESET --2.5 ms--> SELF-CHECK --started, memory good--> STANDBY
//!                                             | ^                                    | 2.5 ms
//!                                             +-+ 2.5 ms later, for 50 ms            |
//!   +------------------------------------ IDLE <----------- SET UP 1 .. 3 <----------+
//!   | frame begins                         ^
//!   v                                      |
//! CONVERTING --12.6 ms--> DONE? --yes--> READING (6 bytes in one transfer: they cannot tear)
//!                          | ^
//!                          +-+ 0.5 ms later, up to 17.5 ms; then it does not convert
//! ```
//!
//! ```text
//! time in frame   0 ms   1.0              6.2                 11.4     12.6    17.5 20 ms
//!                 |  T  |        P  16 times                  |  margin | looks  |   |
//!                                          ^ time of the measurement
//! ```
//!
//! | register | name | what is done with it |
//! |---|---|---|
//! | 0x01 | CHIP_ID | 0x50: BMP581 or BMP580; 0x51: BMP585 |
//! | 0x15 | INT_SOURCE | 0x01: a result sets the bit that is asked for; no pin is used |
//! | 0x1D..0x22 | TEMP, PRESS | the result |
//! | 0x27 | INT_STATUS | bit 0: a result; bit 4: it has started. Reading clears them |
//! | 0x28 | STATUS | bit 1: memory is loaded; bit 2: it is damaged |
//! | 0x31 | DSP_IIR | 0: no filter, since the core's must see the raw noise |
//! | 0x36 | OSR_CONFIG | 0x60: pressure on, 16 times; temperature once |
//! | 0x37 | ODR_CONFIG | 0x80: standby, not a deep one, out of which it would be late; 0x82: convert once |
//! | 0x7E | CMD | 0xB6: reset, which the sensor does not acknowledge (page 66) |
//!
//! Forced conversions instead of the sensor's own rate: so the time of each is known, and sensors
//! stay in step. Found at 0x47 (pin SDO high, as on most modules) or 0x46, which no other sensor of
//! this crate has.
//!
//! # When a conversion starts is not known
//!
//! It is taken to be when the command is over on the wire. The sheet does not say how much later it
//! is; Linux's driver allows 4 ms for the change of mode, and 15.97 ms in all. So the result is
//! looked for up to 17.5 ms, and the time of a measurement may be late by what a sensor takes: 4 ms
//! are 0.2 Pa where the pressure changes by 50 Pa/s, and always the same, so that a vario does not
//! see them. A second barometer that is later than 16 ms is not in the sample, which is made then.
//!
//! # One that starts slowly
//!
//! By the sheet it answers 2 ms after power-on (page 10) and 2 ms after a reset, but 300 ms were
//! seen after power-on (community.bosch-sensortec.com, "BMP581 power up time"). One that does not
//! answer at all fails at once, and its user looks for it again later; one that told its identity
//! has 50 ms from its reset on (a guess), during which the other sensors measure.
//!
//! Sources: BMP581 data sheet 1.2, "memory map"; registers and the order of the checks also in the
//! maker's library BMP5_SensorAPI 1.1.1, reset 2 ms there. From memory: the times of a conversion,
//! 1.0 ms of temperature and then 10.4 ms of pressure, which agrees with the sheet's 87 a second; a
//! tenth more is allowed (a guess).

use super::{RESULT_BYTES, Reading};
use crate::bus::{BusFault, Transaction};
use crate::sensor::{Driver, Fault, Measurement, Outcome, Turn, Wanted, after, next_frame};
use chirrup_core::Micros;

/// The address with pin SDO high.
pub const ADDRESS_SDO_HIGH: u8 = 0x47;
/// The address with pin SDO low.
pub const ADDRESS_SDO_LOW: u8 = 0x46;

const CHIP_ID: u8 = 0x01;
const RESULT: u8 = 0x1D;
const INT_STATUS: u8 = 0x27;
const ODR_CONFIG: u8 = 0x37;
const COMMAND: u8 = 0x7E;
const SOFT_RESET: u8 = 0xB6;
const CONVERT_ONCE: u8 = 0x82;

/// Out of deep standby, in which the sensor is after a reset.
const STANDBY: u8 = 0x80;
/// Registers and their values, in this order: the bit for a result, no filter, oversampling.
const SET_UP: [[u8; 2]; 3] = [[0x15, 0x01], [0x31, 0x00], [0x36, 0x60]];

const HAS_RESULT: u8 = 0x01;
const HAS_STARTED: u8 = 0x10;
const MEMORY_LOADED: u8 = 0x02;
const MEMORY_DAMAGED: u8 = 0x04;

const RESTART: Micros = Micros(2_500);
const BETWEEN_SELF_CHECKS: Micros = Micros(2_500);
const SELF_CHECKS: u8 = 20;
const TO_STANDBY: Micros = Micros(2_500);
const TEMPERATURE_CONVERSION: i64 = 1_000;
const PRESSURE_CONVERSION: i64 = 10_400;
const LONGEST_CONVERSION: Micros = Micros((TEMPERATURE_CONVERSION + PRESSURE_CONVERSION) * 11 / 10);
const TO_MIDDLE: Micros = Micros(TEMPERATURE_CONVERSION + PRESSURE_CONVERSION / 2);
const BETWEEN_LOOKS: Micros = Micros(500);
/// After this time from its command a conversion is not looked for any more, which with the way to
/// the sensor is 17.5 ms of the frame.
const LAST_LOOK: Micros = Micros(17_200);

/// One BMP581, BMP580 or BMP585.
#[derive(Clone, Debug)]
pub struct Bmp581 {
    address: u8,
    name: &'static str,
    phase: Phase,
    is_ready: bool,
    /// It has said since its reset that it started; it says so once.
    has_started: bool,
    self_checks_left: u8,
    turn: Turn,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Phase {
    Identity,
    Reset,
    Restarting(Micros),
    SelfCheck,
    Standby,
    StandingBy(Micros),
    SetUp(usize),
    Idle(Micros),
    Starting,
    Converting { started: Micros, next_look: Micros },
    Reading { started: Micros },
}

impl Bmp581 {
    /// A sensor that has not been found yet.
    pub fn new(address: u8) -> Self {
        Self {
            address,
            name: "bmp581",
            phase: Phase::Identity,
            is_ready: false,
            has_started: false,
            self_checks_left: 0,
            turn: Turn::FIRST,
        }
    }

    fn fail(&mut self, now: Micros, fault: Fault) -> Outcome {
        // A known sensor tries again in the next frame, not at once, so that ten failures take a
        // fifth of a second.
        self.phase = if self.is_ready { Phase::Idle(next_frame(now)) } else { Phase::Identity };
        Outcome::Failed(fault)
    }

    fn idle(&mut self, now: Micros) -> Wanted {
        if !self.turn.is_due(now) {
            let until = next_frame(now);
            self.phase = Phase::Idle(until);
            return Wanted::Nothing(until);
        }
        self.phase = Phase::Starting;
        self.write([ODR_CONFIG, CONVERT_ONCE])
    }

    fn write(&self, bytes: [u8; 2]) -> Wanted {
        Wanted::Transact(Transaction::write(self.address, bytes))
    }

    fn read(&self, register: u8, length: usize) -> Wanted {
        Wanted::Transact(Transaction::write_read(self.address, [register], length))
    }

    fn identity(&mut self, now: Micros, bytes: &[u8]) -> Outcome {
        self.name = match bytes {
            [0x50] => "bmp581",
            [0x51] => "bmp585",
            [other] => return self.fail(now, Fault::WrongIdentity(*other)),
            _ => return self.fail(now, Fault::Broken),
        };
        self.phase = Phase::Reset;
        Outcome::Going
    }

    fn self_check(&mut self, now: Micros, bytes: &[u8]) -> Outcome {
        let [started, status] = *bytes else { return self.fail(now, Fault::Broken) };
        self.has_started |= started & HAS_STARTED != 0;
        match status & (MEMORY_LOADED | MEMORY_DAMAGED) {
            MEMORY_LOADED if self.has_started => self.phase = Phase::Standby,
            0 | MEMORY_LOADED => return self.check_again(now, Fault::SaysFaulty),
            _ => return self.fail(now, Fault::SaysFaulty),
        }
        Outcome::Going
    }

    /// It may only be slow.
    fn check_again(&mut self, now: Micros, fault: Fault) -> Outcome {
        self.self_checks_left = self.self_checks_left.saturating_sub(1);
        if self.self_checks_left == 0 {
            return self.fail(now, fault);
        }
        self.phase = Phase::Restarting(after(now, BETWEEN_SELF_CHECKS));
        Outcome::Going
    }

    fn begin_set_up(&mut self) -> Wanted {
        self.phase = Phase::SetUp(0);
        self.wanted_set_up(0)
    }

    fn wanted_set_up(&self, step: usize) -> Wanted {
        self.write(SET_UP.get(step).copied().unwrap_or_default())
    }

    fn set_up(&mut self, done: usize) -> Outcome {
        if done + 1 < SET_UP.len() {
            self.phase = Phase::SetUp(done + 1);
            return Outcome::Going;
        }
        self.phase = Phase::Idle(Micros(i64::MIN));
        self.is_ready = true;
        Outcome::Ready
    }

    fn look(&mut self, now: Micros, bytes: &[u8], started: Micros) -> Outcome {
        let [status] = *bytes else { return self.fail(now, Fault::Broken) };
        if status & HAS_RESULT != 0 {
            self.phase = Phase::Reading { started };
            return Outcome::Going;
        }
        let next_look = after(now, BETWEEN_LOOKS);
        if next_look > after(started, LAST_LOOK) {
            return self.fail(now, Fault::NoResult);
        }
        self.phase = Phase::Converting { started, next_look };
        Outcome::Going
    }

    fn result(&mut self, now: Micros, bytes: &[u8], started: Micros) -> Outcome {
        let Ok(bytes) = <[u8; RESULT_BYTES]>::try_from(bytes) else {
            return self.fail(now, Fault::Broken);
        };
        let Some(reading) = Reading::from_registers(bytes) else {
            return self.fail(now, Fault::NoResult);
        };
        self.phase = Phase::Idle(Micros(i64::MIN));
        Outcome::Measured(Measurement {
            time: after(started, TO_MIDDLE),
            counts: reading.pressure_64ths_pa,
            pressure_64ths_pa: reading.pressure_64ths_pa as i32,
            temperature_centicelsius: reading.temperature_centicelsius(),
        })
    }
}

impl Driver for Bmp581 {
    fn wanted(&mut self, now: Micros) -> Wanted {
        match self.phase {
            Phase::Identity => self.read(CHIP_ID, 1),
            Phase::Reset => self.write([COMMAND, SOFT_RESET]),
            Phase::Restarting(until)
            | Phase::StandingBy(until)
            | Phase::Idle(until)
            | Phase::Converting { next_look: until, .. }
                if now < until =>
            {
                Wanted::Nothing(until)
            }
            Phase::Restarting(_) => {
                self.phase = Phase::SelfCheck;
                self.read(INT_STATUS, 2)
            }
            Phase::SelfCheck => self.read(INT_STATUS, 2),
            Phase::Standby => self.write([ODR_CONFIG, STANDBY]),
            Phase::StandingBy(_) => self.begin_set_up(),
            Phase::SetUp(step) => self.wanted_set_up(step),
            Phase::Idle(_) => self.idle(now),
            Phase::Starting => self.write([ODR_CONFIG, CONVERT_ONCE]),
            Phase::Converting { .. } => self.read(INT_STATUS, 1),
            Phase::Reading { .. } => self.read(RESULT, RESULT_BYTES),
        }
    }

    fn answer(&mut self, now: Micros, answer: Result<&[u8], BusFault>) -> Outcome {
        if self.phase == Phase::Starting {
            // Even if it failed: the next try is in the next frame.
            self.turn.take(now);
        }
        let bytes = match answer {
            Ok(bytes) => bytes,
            // Done, but not acknowledged; whether it was, the check of itself shows.
            Err(BusFault::Broken | BusFault::NoAnswer) if self.phase == Phase::Reset => &[],
            Err(BusFault::NoAnswer) if self.phase == Phase::SelfCheck => {
                return self.check_again(now, Fault::NoAnswer);
            }
            Err(fault) => return self.fail(now, Fault::of_bus(fault)),
        };
        match self.phase {
            Phase::Identity => return self.identity(now, bytes),
            Phase::Reset => {
                (self.has_started, self.self_checks_left) = (false, SELF_CHECKS);
                self.phase = Phase::Restarting(after(now, RESTART));
            }
            Phase::SelfCheck => return self.self_check(now, bytes),
            Phase::Standby => self.phase = Phase::StandingBy(after(now, TO_STANDBY)),
            Phase::SetUp(step) => return self.set_up(step),
            Phase::Starting => {
                let next_look = after(now, LONGEST_CONVERSION);
                self.phase = Phase::Converting { started: now, next_look };
            }
            Phase::Converting { started, .. } => {
                return self.look(now, bytes, started);
            }
            Phase::Reading { started } => return self.result(now, bytes, started),
            Phase::Restarting(_) | Phase::StandingBy(_) | Phase::Idle(_) => {}
        }
        Outcome::Going
    }

    fn name(&self) -> &'static str {
        self.name
    }

    fn address(&self) -> u8 {
        self.address
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_is_taken_out_of_deep_standby_before_it_is_set_up() {
        let mut driver = Bmp581::new(ADDRESS_SDO_HIGH);
        driver.phase = Phase::SelfCheck;
        assert_eq!(driver.answer(Micros(0), Ok(&[0x10, 0x02])), Outcome::Going);
        assert_eq!(driver.wanted(Micros(0)), driver.write([0x37, 0x80]));
        assert_eq!(driver.answer(Micros(0), Ok(&[])), Outcome::Going);
        assert_eq!(driver.wanted(Micros(0)), Wanted::Nothing(Micros(2_500)));
        assert_eq!(driver.wanted(Micros(2_500)), driver.write([0x15, 0x01]));
    }
}
