//! A simulated DPS310 or SPL06: its registers, its two thermometers, its times, its noise by
//! oversampling; its counts depend on the die's temperature.

use super::air::{Air, Connected, Trouble};
use super::die::{Die, DieKind, root};
use crate::bus::{Reply, Transaction};
use crate::dps310::CALIBRATION_BYTES;
use crate::sensor::rounded;
use chirrup_core::Micros;

/// The coefficients of a sensor that its owner published (Infineon/DPS310-Pressure-Sensor, issue
/// 30), packed by hand.
pub const DPS310_REGISTERS: [u8; CALIBRATION_BYTES] = [
    0x0D, 0xEE, 0xD7, 0x13, 0x7D, 0x8F, 0x24, 0x0C, 0xF7, 0x09, 0x05, 0xA4, 0xDA, 0x1B, 0x00, 0x6F,
    0xFA, 0xF7,
];
/// The same as numbers: c0, c1; c00, c10, c20, c30; c01, c11, c21.
const OF_TEMPERATURE: [f64; 2] = [222.0, -297.0];
const OF_PRESSURE: [f64; 4] = [79_832.0, -56_308.0, -9_701.0, -1_289.0];
const OF_BOTH: [f64; 3] = [-2_295.0, 1_444.0, 111.0];
/// What divides the counts, and the noise in Pa rms, by oversampling; the noise from memory.
const SCALE: [f64; 4] = [524_288.0, 1_572_864.0, 3_670_016.0, 7_864_320.0];
const NOISE_PA: [f64; 4] = [2.5, 1.0, 0.5, 0.4];
/// Noise of one temperature in kelvin rms: a guess, the sheet's last digit.
const TEMPERATURE_NOISE: f64 = 0.01;
/// The other thermometer reads that much less, in kelvin: by issue 30.
const OTHER_THERMOMETER: f64 = -28.0;
/// Where the fuses are wrong it reads 60 degrees in a room (README of the maker's library).
const WRONG_FUSES: f64 = 38.0;

/// What a die of this kind is like: guesses but for 0.3 mA at 3.3 V while it converts, from memory
/// of the sheet.
const DIE: DieKind =
    DieKind { lag_s: 1.5, kelvin_per_watt: 200.0, converting_w: 0.001, flicker_corner_hz: 0.1 };

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
    /// What it says it is.
    pub identity: u8,
    /// One of those that the maker's five writes mend.
    pub has_wrong_fuses: bool,
    /// Whether it gives no temperature.
    pub is_without_temperature: bool,
    /// Length of its conversions, of the typical one.
    pub pace: f64,
    /// Its temperature and noise.
    pub die: Die,
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
    /// A healthy one without noise.
    pub fn new(address: u8, connected: Connected) -> Self {
        Self {
            address,
            connected,
            trouble: Trouble::None,
            identity: 0x10,
            has_wrong_fuses: false,
            is_without_temperature: false,
            pace: 1.0,
            die: Die::quiet(),
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

    /// One as they are: with noise and heat of its own.
    pub fn real(address: u8, connected: Connected, seed: u32) -> Self {
        Self { die: Die::real(DIE, seed), ..Self::new(address, connected) }
    }

    /// All that was written is gone, as after a reset or a dip of its supply.
    pub(super) fn reset(&mut self, now: Micros) {
        *self = Self {
            trouble: self.trouble,
            identity: self.identity,
            has_wrong_fuses: self.has_wrong_fuses,
            is_without_temperature: self.is_without_temperature,
            pace: self.pace,
            die: self.die.clone(),
            reset_at: now,
            ..Self::new(self.address, self.connected)
        };
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
            0x0D => self.identity,
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
            0x0C if value & 0x0F == 0x09 => self.reset(now),
            0x0E => self.unlocked[0] = value,
            0x0F => self.unlocked[1] = value,
            0x62 if self.unlocked == [0xA5, 0x96] && value == 0x02 => self.has_wrong_fuses = false,
            _ => {}
        }
    }

    fn convert(&mut self, now: Micros, command: u8, air: &impl Air) {
        let set_up = if command == 1 { self.pressure_set_up } else { self.temperature_set_up };
        let place = usize::from(set_up & 7);
        let (Some(scale), Some(noise_pa)) = (SCALE.get(place), NOISE_PA.get(place)) else { return };
        let lasts = Micros(((2_000 + (1_600 << place)) as f64 * self.pace) as i64);
        let middle = Micros(now.0 + lasts.0 / 2);
        let celsius = self.die.celsius(middle, air.celsius(middle));
        let share = match command {
            1 => {
                let pascals = f64::from(self.connected.pressure_64ths_pa(air, middle)) / 64.0;
                pressure_share(pascals + self.die.pressure_noise(middle, *noise_pa), celsius)
            }
            2 if !self.is_without_temperature => {
                let noise = TEMPERATURE_NOISE / root((1 << place) as f64);
                let noise = self.die.temperature_noise(middle, noise);
                temperature_share(celsius + noise + self.wrong_by())
            }
            _ => return,
        };
        self.die.converted_for(lasts);
        if self.trouble != Trouble::Silent {
            let ready = if command == 1 { 0x10 } else { 0x20 };
            let counts = rounded(share * scale) as u32 & 0x00FF_FFFF;
            self.done = Some((Micros(now.0 + lasts.0), ready, counts));
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

    /// By how many kelvin the thermometer that is asked for is off.
    fn wrong_by(&self) -> f64 {
        let other = if self.temperature_set_up & 0x80 == 0 { OTHER_THERMOMETER } else { 0.0 };
        other + if self.has_wrong_fuses { WRONG_FUSES } else { 0.0 }
    }
}

/// T = c0 / 2 + c1 t, solved for t.
fn temperature_share(celsius: f64) -> f64 {
    let [c0, c1] = OF_TEMPERATURE;
    (celsius - c0 / 2.0) / c1
}

/// P = c00 + p (c10 + p (c20 + p c30)) + t (c01 + p (c11 + p c21)), solved for p by halves: more
/// counts are less pressure.
fn pressure_share(pascals: f64, celsius: f64) -> f64 {
    let [c00, c10, c20, c30] = OF_PRESSURE;
    let [c01, c11, c21] = OF_BOTH;
    let t = temperature_share(celsius);
    let at = |p: f64| c00 + p * (c10 + p * (c20 + p * c30)) + t * (c01 + p * (c11 + p * c21));
    let (low, high) = (0..50).fold((-1.0, 1.0), |(low, high), _| {
        let middle = (low + high) / 2.0;
        if at(middle) > pascals { (middle, high) } else { (low, middle) }
    });
    (low + high) / 2.0
}
