//! The DPS310 and the SPL06 on their bus: identity, reset, coefficients, set-up that is read back,
//! then a pressure and a temperature in every frame.
//!
//! ```text
//! IDENTITY --0x10--> RESET --every 10 ms--> STARTED? --coefficients there--> COEFFICIENTS
//!    SET UP 1 .. 4 --> CHECK SET-UP --as written--> FUSES --bit 1 set--> READY
//!                                                     +--clear--> MEND 1 .. 5 --> READY
//! READY: TEMPERATURE once, then in every frame PRESSURE, TEMPERATURE
//! ```
//!
//! ```text
//! time in frame   0 ms           4.2           8.4  9.3           13.4              20 ms
//!                 |     P  4 times             |  read|  T once   | read             |
//!                                ^ time of the measurement
//! ```
//!
//! | register | name | what is done with it |
//! |---|---|---|
//! | 0x00, 0x03 | PSR, TMP | results, three bytes each, the most significant first |
//! | 0x06 | PRS_CFG | 0x02: pressure 4 times |
//! | 0x07 | TMP_CFG | 0x80: temperature once, by the thermometer in the pressure cell |
//! | 0x08 | MEAS_CFG | bits 7 to 4: coefficients, sensor, temperature, pressure are ready; 1 converts pressure, 2 temperature, once |
//! | 0x09 | CFG_REG | 0: no memory of results, no shift (needed above 8 times) |
//! | 0x0C | RESET | 0x09: reset; the coefficients are there after 40 ms |
//! | 0x0D | ID | 0x10; 0x11 is [another kind](super#two-makers-one-identity), which is refused |
//! | 0x10..0x21 | COEF | [the calibration](super) |
//!
//! # Told from its neighbours
//!
//! A BMP390 has a running clock at 0x0D, which is 0x10 once in 256 looks, and an MS5611 has no
//! registers. So the identity alone is not believed: what was written to 0x06 and 0x07 must be read
//! back, and the coefficients must be those of such a cell.
//!
//! # Which thermometer
//!
//! The sensor has two, and the coefficients belong to one. A DPS310's register 0x28 says which:
//! bit 7 is set for the one in the pressure cell, as in every one seen. An SPL06 has no such
//! register and always means that one (Infineon/DPS310-Pressure-Sensor, issue 20). So 0x28 is not
//! asked, and the one in the cell is taken, as Linux's driver does. A DPS310 that means the other
//! would read some 28 degrees wrong, and its pressure would follow the temperature.
//!
//! # A dip of the supply
//!
//! After one the sensor answers and converts as before, but once instead of 4 times, which read as
//! set up would be 19 000 Pa wrong. So PRS_CFG and TMP_CFG, which follow the results, are read with
//! each of them in one transfer. If they are not as written, the result is not believed, and the
//! sensor is set up again from its identity on.
//!
//! # The wrong temperature
//!
//! Some DPS310 read 60 degrees in a room. The maker says so ("temperature measurement issue" in the
//! README of its library) and mends it with five writes to registers that it does not document;
//! bit 1 of 0x32 is clear in the ones concerned (the maker's mail, in openbmc/openbmc issue 2003;
//! Linux's driver asks it too). It is done here where that bit is clear. The maker's library does
//! it to every sensor, SPL06 among them.
//!
//! A pressure is compensated with the temperature of the frame before, as it was measured; why it
//! is not smoothed is in [`temperature`](crate::temperature). Its noise of about 0.01 degrees (a
//! guess) is 0.1 Pa here.
//!
//! Sources: DPS310 data sheet 1.2, "register map", "measurement configuration", "soft reset";
//! times of conversion 2.0 ms + 1.6 ms times the oversampling (from its table; a tenth more is
//! allowed, a guess).

use super::{CALIBRATION_BYTES, Calibration};
use crate::bus::{BusFault, Transaction};
use crate::sensor::{
    Driver, FRAME, Fault, Measurement, Outcome, Turn, Wanted, after, big_endian, next_frame,
};
use crate::temperature::LatestTemperature;
use chirrup_core::Micros;

/// The address with pin SDO high or open.
pub const ADDRESS_SDO_HIGH: u8 = 0x77;
/// The address with pin SDO low.
pub const ADDRESS_SDO_LOW: u8 = 0x76;

const IDENTITY: u8 = 0x10;
/// Of an SPL07-003 or SPA06-003.
const IDENTITY_WITH_MORE_COEFFICIENTS: u8 = 0x11;
const ID: u8 = 0x0D;
const COEFFICIENTS: u8 = 0x10;
const STATUS: u8 = 0x08;
const FUSES: u8 = 0x32;
const RESET: [u8; 2] = [0x0C, 0x09];

const SET_UP: [[u8; 2]; 4] =
    [[0x08, 0x00], [PRS_CFG, PRESSURE_4X], [0x07, TEMPERATURE_IN_CELL], [0x09, 0x00]];
const PRS_CFG: u8 = 0x06;
const PRESSURE_4X: u8 = 0x02;
const TEMPERATURE_IN_CELL: u8 = 0x80;
/// What the maker writes where the fuses are wrong.
const MEND: [[u8; 2]; 5] = [[0x0E, 0xA5], [0x0F, 0x96], [0x62, 0x02], [0x0E, 0x00], [0x0F, 0x00]];
const FUSES_GOOD: u8 = 0x02;

const SENSOR_AND_COEFFICIENTS_READY: u8 = 0xC0;

const BETWEEN_STARTS: Micros = Micros(10_000);
/// 0.1 s: more than twice what the sheet says.
const START_LOOKS: u8 = 10;
const BETWEEN_LOOKS: Micros = Micros(500);
const LOOKS: u8 = 5;
/// A temperature is converted only before this time of the frame, so that it is read before the
/// next pressure is due.
const LAST_TEMPERATURE: Micros = Micros(14_500);

/// One DPS310 or SPL06.
#[derive(Clone, Debug)]
pub struct Dps310 {
    address: u8,
    calibration: Option<Calibration>,
    phase: Phase,
    is_ready: bool,
    temperature: LatestTemperature,
    temperature_is_due: bool,
    turn: Turn,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Phase {
    Identity,
    Reset,
    Starting { next_look: Micros, looks: u8 },
    Coefficients,
    SetUp(usize),
    CheckSetUp,
    Fuses,
    Mend(usize),
    Idle(Micros),
    Begin(Quantity),
    Converting { quantity: Quantity, started: Micros, next_look: Micros, looks: u8 },
    Reading { quantity: Quantity, started: Micros },
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Quantity {
    Pressure,
    Temperature,
}

impl Quantity {
    fn command(self) -> u8 {
        match self {
            Quantity::Pressure => 0x01,
            Quantity::Temperature => 0x02,
        }
    }

    fn result(self) -> u8 {
        match self {
            Quantity::Pressure => 0x00,
            Quantity::Temperature => 0x03,
        }
    }

    /// How many bytes from the result to the end of the set-up.
    fn length(self) -> usize {
        usize::from(STATUS - self.result())
    }

    fn is_done(self, status: u8) -> bool {
        status
            & match self {
                Quantity::Pressure => 0x10,
                Quantity::Temperature => 0x20,
            }
            != 0
    }

    /// A typical conversion.
    fn conversion(self) -> Micros {
        Micros(match self {
            Quantity::Pressure => 8_400,
            Quantity::Temperature => 3_600,
        })
    }
}

impl Dps310 {
    /// A sensor that has not been found yet.
    pub fn new(address: u8) -> Self {
        Self {
            address,
            calibration: None,
            phase: Phase::Identity,
            is_ready: false,
            temperature: LatestTemperature::default(),
            temperature_is_due: true,
            turn: Turn::FIRST,
        }
    }

    fn fail(&mut self, now: Micros, fault: Fault) -> Outcome {
        // A known sensor tries again in the next frame, not at once, so that ten failures take a
        // fifth of a second.
        self.phase = if self.is_ready { Phase::Idle(next_frame(now)) } else { Phase::Identity };
        Outcome::Failed(fault)
    }

    fn write(&self, bytes: [u8; 2]) -> Wanted {
        Wanted::Transact(Transaction::write(self.address, bytes))
    }

    fn read(&self, register: u8, length: usize) -> Wanted {
        Wanted::Transact(Transaction::write_read(self.address, [register], length))
    }

    fn begin(&mut self, quantity: Quantity) -> Wanted {
        self.phase = Phase::Begin(quantity);
        self.write([STATUS, quantity.command()])
    }

    fn idle(&mut self, now: Micros) -> Wanted {
        if !self.temperature.is_known() {
            return self.begin(Quantity::Temperature);
        }
        if self.turn.is_due(now) {
            return self.begin(Quantity::Pressure);
        }
        let is_in_time = now.0.rem_euclid(FRAME.0) < LAST_TEMPERATURE.0;
        if self.temperature_is_due && is_in_time {
            return self.begin(Quantity::Temperature);
        }
        let until = next_frame(now);
        self.phase = Phase::Idle(until);
        Wanted::Nothing(until)
    }

    fn identity(&mut self, now: Micros, bytes: &[u8]) -> Outcome {
        match bytes {
            [IDENTITY] => self.phase = Phase::Reset,
            [IDENTITY_WITH_MORE_COEFFICIENTS] => return self.fail(now, Fault::Spl07OrSpa06),
            [other] => return self.fail(now, Fault::WrongIdentity(*other)),
            _ => return self.fail(now, Fault::Broken),
        }
        Outcome::Going
    }

    fn started(&mut self, now: Micros, bytes: &[u8], looks: u8) -> Outcome {
        let [status] = *bytes else { return self.fail(now, Fault::Broken) };
        if status & SENSOR_AND_COEFFICIENTS_READY == SENSOR_AND_COEFFICIENTS_READY {
            self.phase = Phase::Coefficients;
        } else if looks + 1 >= START_LOOKS {
            return self.fail(now, Fault::NoResult);
        } else {
            let next_look = after(now, BETWEEN_STARTS);
            self.phase = Phase::Starting { next_look, looks: looks + 1 };
        }
        Outcome::Going
    }

    fn coefficients(&mut self, now: Micros, bytes: &[u8]) -> Outcome {
        self.calibration = bytes.try_into().ok().and_then(Calibration::from_registers);
        if self.calibration.is_none() {
            return self.fail(now, Fault::BadCalibration);
        }
        self.phase = Phase::SetUp(0);
        Outcome::Going
    }

    fn check_set_up(&mut self, now: Micros, bytes: &[u8]) -> Outcome {
        let Ok(set_up) = <[u8; 2]>::try_from(bytes) else { return self.fail(now, Fault::Broken) };
        if !is_as_set_up(set_up) {
            return self.fail(now, Fault::WrongIdentity(IDENTITY));
        }
        self.phase = Phase::Fuses;
        Outcome::Going
    }

    fn ready(&mut self) -> Outcome {
        self.phase = Phase::Idle(Micros(i64::MIN));
        self.is_ready = true;
        Outcome::Ready
    }

    fn look(
        &mut self,
        now: Micros,
        bytes: &[u8],
        (quantity, started, looks): (Quantity, Micros, u8),
    ) -> Outcome {
        let [status] = *bytes else { return self.fail(now, Fault::Broken) };
        if quantity.is_done(status) {
            self.phase = Phase::Reading { quantity, started };
            return Outcome::Going;
        }
        if looks + 1 >= LOOKS {
            return self.fail(now, Fault::NoResult);
        }
        let next_look = after(now, BETWEEN_LOOKS);
        self.phase = Phase::Converting { quantity, started, next_look, looks: looks + 1 };
        Outcome::Going
    }

    fn result(
        &mut self,
        now: Micros,
        bytes: &[u8],
        quantity: Quantity,
        started: Micros,
    ) -> Outcome {
        let (Some(counts), Some(set_up)) = (bytes.first_chunk::<3>(), bytes.last_chunk::<2>())
        else {
            return self.fail(now, Fault::Broken);
        };
        if bytes.len() != quantity.length() {
            return self.fail(now, Fault::Broken);
        }
        if !is_as_set_up(*set_up) {
            self.is_ready = false;
            return self.fail(now, Fault::Restarted);
        }
        let Some(counts) = big_endian::<3>(counts) else { return self.fail(now, Fault::Broken) };
        self.phase = Phase::Idle(Micros(i64::MIN));
        match quantity {
            Quantity::Temperature => {
                self.temperature_is_due = false;
                self.temperature.take(counts);
                Outcome::Going
            }
            Quantity::Pressure => self.pressure(now, started, counts),
        }
    }

    fn pressure(&mut self, now: Micros, started: Micros, counts: u32) -> Outcome {
        self.temperature_is_due = true;
        let Some(temperature) = self.temperature.for_a_pressure() else {
            return self.fail(now, Fault::NoResult);
        };
        let Some(calibration) = self.calibration else {
            return self.fail(now, Fault::BadCalibration);
        };
        let compensated = calibration.compensate(signed(counts), signed(temperature));
        Outcome::Measured(Measurement {
            time: after(started, Micros(Quantity::Pressure.conversion().0 / 2)),
            counts,
            pressure_64ths_pa: compensated.pressure_64ths_pa,
            temperature_centicelsius: compensated.temperature_centicelsius,
        })
    }
}

/// Whether PRS_CFG and TMP_CFG hold what was written; bit 7 of the first and bit 3 of both are
/// reserved.
fn is_as_set_up([pressure, temperature]: [u8; 2]) -> bool {
    [pressure & 0x77, temperature & 0xF7] == [PRESSURE_4X, TEMPERATURE_IN_CELL]
}

/// Three bytes, of which the highest has the sign.
fn signed(counts: u32) -> i32 {
    (counts << 8) as i32 >> 8
}

impl Driver for Dps310 {
    fn wanted(&mut self, now: Micros) -> Wanted {
        match self.phase {
            Phase::Idle(until)
            | Phase::Starting { next_look: until, .. }
            | Phase::Converting { next_look: until, .. }
                if now < until =>
            {
                Wanted::Nothing(until)
            }
            Phase::Identity => self.read(ID, 1),
            Phase::Reset => self.write(RESET),
            Phase::Starting { .. } | Phase::Converting { .. } => self.read(STATUS, 1),
            Phase::Coefficients => self.read(COEFFICIENTS, CALIBRATION_BYTES),
            Phase::SetUp(step) => self.write(SET_UP.get(step).copied().unwrap_or_default()),
            Phase::CheckSetUp => self.read(PRS_CFG, 2),
            Phase::Fuses => self.read(FUSES, 1),
            Phase::Mend(step) => self.write(MEND.get(step).copied().unwrap_or_default()),
            Phase::Idle(_) => self.idle(now),
            Phase::Begin(quantity) => self.begin(quantity),
            Phase::Reading { quantity, .. } => self.read(quantity.result(), quantity.length()),
        }
    }

    fn answer(&mut self, now: Micros, answer: Result<&[u8], BusFault>) -> Outcome {
        if self.phase == Phase::Begin(Quantity::Pressure) {
            // Even if it failed: the next try is in the next frame.
            self.turn.take(now);
        }
        let bytes = match answer {
            Ok(bytes) => bytes,
            Err(fault) => return self.fail(now, Fault::of_bus(fault)),
        };
        match self.phase {
            Phase::Identity => return self.identity(now, bytes),
            Phase::Reset => {
                self.phase = Phase::Starting { next_look: after(now, BETWEEN_STARTS), looks: 0 };
            }
            Phase::Starting { looks, .. } => return self.started(now, bytes, looks),
            Phase::Coefficients => return self.coefficients(now, bytes),
            Phase::SetUp(step) if step + 1 < SET_UP.len() => self.phase = Phase::SetUp(step + 1),
            Phase::SetUp(_) => self.phase = Phase::CheckSetUp,
            Phase::CheckSetUp => return self.check_set_up(now, bytes),
            Phase::Fuses => match bytes {
                [fuses] if fuses & FUSES_GOOD == 0 => self.phase = Phase::Mend(0),
                [_] => return self.ready(),
                _ => return self.fail(now, Fault::Broken),
            },
            Phase::Mend(step) if step + 1 < MEND.len() => self.phase = Phase::Mend(step + 1),
            Phase::Mend(_) => return self.ready(),
            Phase::Begin(quantity) => {
                let longest = quantity.conversion().0 * 11 / 10;
                let next_look = after(now, Micros(longest));
                self.phase = Phase::Converting { quantity, started: now, next_look, looks: 0 };
            }
            Phase::Converting { quantity, started, looks, .. } => {
                return self.look(now, bytes, (quantity, started, looks));
            }
            Phase::Reading { quantity, started } => {
                return self.result(now, bytes, quantity, started);
            }
            Phase::Idle(_) => {}
        }
        Outcome::Going
    }

    fn name(&self) -> &'static str {
        "dps310"
    }

    fn address(&self) -> u8 {
        self.address
    }
}
