//! A simulated DPS310 or SPL06: its registers, its two thermometers, its times.

use super::air::{Air, Connected, Trouble};
use super::search::least;
use crate::bus::{Reply, Transaction};
use crate::dps310::{CALIBRATION_BYTES, Calibration};
use chirrup_core::Micros;

/// The coefficients of a sensor that its owner published (Infineon/DPS310-Pressure-Sensor, issue
/// 30), packed by hand.
pub const DPS310_REGISTERS: [u8; CALIBRATION_BYTES] = [
    0x0D, 0xEE, 0xD7, 0x13, 0x7D, 0x8F, 0x24, 0x0C, 0xF7, 0x09, 0x05, 0xA4, 0xDA, 0x1B, 0x00, 0x6F,
    0xFA, 0xF7,
];
/// 25 degrees Celsius by them, in the thermometer in the cell, in counts without oversampling.
const TEMPERATURE_COUNTS: i32 = 151_814;
/// The other thermometer reads that much more: by issue 30, where it is 28 degrees off.
const OTHER_THERMOMETER: i32 = 49_900;
/// Where the fuses are wrong it reads 35 degrees too much.
const WRONG_FUSES: i32 = -61_800;
/// After a reset the sensor and its coefficients are ready, by the data sheet.
const SENSOR_READY_US: i64 = 12_000;
const COEFFICIENTS_READY_US: i64 = 40_000;

/// A DPS310 or an SPL06.
#[derive(Clone, Debug)]
pub struct FakeDps310 {
    /// Its address.
    pub address: u8,
    /// Its port.
    pub connected: Connected,
    /// Its fault; spoilt means that its coefficients are gone.
    pub trouble: Trouble,
    /// One of those that the maker's five writes mend.
    pub has_wrong_fuses: bool,
    reset_at: Micros,
    pressure_set_up: u8,
    temperature_set_up: u8,
    unlocked: [u8; 2],
    done: Option<(Micros, u8, u32)>,
    status: u8,
    pressure: u32,
    temperature: u32,
}

impl FakeDps310 {
    /// A healthy one.
    pub fn new(address: u8, connected: Connected) -> Self {
        Self {
            address,
            connected,
            trouble: Trouble::None,
            has_wrong_fuses: false,
            reset_at: Micros(i64::MIN / 2),
            pressure_set_up: 0,
            temperature_set_up: 0,
            unlocked: [0; 2],
            done: None,
            status: 0,
            pressure: 0,
            temperature: 0,
        }
    }

    pub(super) fn answer(
        &mut self,
        now: Micros,
        transaction: &Transaction,
        air: &impl Air,
    ) -> Reply {
        self.finish(now);
        match (transaction.send.as_slice(), transaction.read) {
            ([register, value], 0) => {
                self.write(now, *register, *value, air);
                Reply::new()
            }
            ([first], length) => {
                let registers = (*first..).take(length);
                let read: Reply = registers.map(|register| self.register(now, register)).collect();
                match first {
                    0x00 => self.status &= !0x10,
                    0x03 => self.status &= !0x20,
                    _ => {}
                }
                read
            }
            (_, length) => (0..length).map(|_| 0).collect(),
        }
    }

    fn register(&self, now: Micros, register: u8) -> u8 {
        let of = |number: u32, place: u8| (number >> (16 - 8 * u32::from(place))) as u8;
        match register {
            0x00..=0x02 => of(self.pressure, register),
            0x03..=0x05 => of(self.temperature, register - 3),
            0x06 => self.pressure_set_up,
            0x07 => self.temperature_set_up,
            0x08 => {
                let since = now.0 - self.reset_at.0;
                let sensor = if since >= SENSOR_READY_US { 0x40 } else { 0 };
                let coefficients = if since >= COEFFICIENTS_READY_US { 0x80 } else { 0 };
                sensor | coefficients | self.status
            }
            0x0D => 0x10,
            0x10..=0x21 if self.trouble != Trouble::Spoilt => {
                DPS310_REGISTERS.get(usize::from(register - 0x10)).copied().unwrap_or(0)
            }
            0x32 if !self.has_wrong_fuses => 0x02,
            _ => 0,
        }
    }

    fn write(&mut self, now: Micros, register: u8, value: u8, air: &impl Air) {
        match register {
            0x06 => self.pressure_set_up = value,
            0x07 => self.temperature_set_up = value,
            0x08 => self.convert(now, value & 7, air),
            0x0C if value & 0x0F == 0x09 => {
                *self = Self {
                    trouble: self.trouble,
                    has_wrong_fuses: self.has_wrong_fuses,
                    reset_at: now,
                    ..Self::new(self.address, self.connected)
                };
            }
            0x0E => self.unlocked[0] = value,
            0x0F => self.unlocked[1] = value,
            0x62 if self.unlocked == [0xA5, 0x96] && value == 0x02 => self.has_wrong_fuses = false,
            _ => {}
        }
    }

    fn convert(&mut self, now: Micros, command: u8, air: &impl Air) {
        let set_up = if command == 1 { self.pressure_set_up } else { self.temperature_set_up };
        let lasts = 2_000 + (1_600 << (set_up & 7));
        let counts = match command {
            1 => self.pressure_counts(Micros(now.0 + lasts / 2), air),
            2 => self.temperature_counts(),
            _ => return,
        };
        if self.trouble != Trouble::Silent {
            let ready = if command == 1 { 0x10 } else { 0x20 };
            self.done = Some((Micros(now.0 + lasts), ready, counts as u32 & 0x00FF_FFFF));
        }
    }

    fn finish(&mut self, now: Micros) {
        let is_done = self.done.is_some_and(|(done, ..)| now >= done);
        if let Some((_, ready, counts)) = self.done.take_if(|_| is_done) {
            self.status |= ready;
            match ready {
                _ if self.trouble == Trouble::Frozen => {}
                0x10 => self.pressure = counts,
                _ => self.temperature = counts,
            }
        }
    }

    fn temperature_counts(&self) -> i32 {
        let other = if self.temperature_set_up & 0x80 == 0 { OTHER_THERMOMETER } else { 0 };
        let wrong = if self.has_wrong_fuses { WRONG_FUSES } else { 0 };
        TEMPERATURE_COUNTS + other + wrong
    }

    /// At 4 times oversampling; other set-ups have other scales, and the driver uses none.
    fn pressure_counts(&self, middle: Micros, air: &impl Air) -> i32 {
        const LOWEST: i32 = -3_670_016;
        let wanted = self.connected.pressure_64ths_pa(air, middle);
        let Some(calibration) = Calibration::from_registers(&DPS310_REGISTERS) else { return 0 };
        if self.pressure_set_up & 7 != 2 {
            return 0;
        }
        // More counts are less pressure; the die is as warm as it is, whatever it says.
        let is_enough = |counts: u32| {
            let counts = counts as i32 + LOWEST;
            let found = calibration.compensate(counts, f64::from(TEMPERATURE_COUNTS));
            found.pressure_64ths_pa <= wanted
        };
        least((0, 2 * 3_670_016), is_enough) as i32 + LOWEST
    }
}
