//! A simulated BMP390: its conversions take their time, have the steps of its converter, and its
//! pressure counts depend on the die's temperature.

use super::air::{Air, Connected, Trouble};
use super::die::{Die, DieKind, root};
use crate::bmp390;
use crate::bus::{BusFault, Reply, Transaction};
use chirrup_core::Micros;

/// An invented BMP390 calibration with values like real ones.
pub const BMP390_REGISTERS: [u8; bmp390::CALIBRATION_BYTES] = [
    0x4C, 0x6B, 0xEE, 0x48, 0xF6, 0x90, 0x01, 0x17, 0xF8, 0x23, 0x00, 0xB7, 0x65, 0x24, 0x77, 0xF3,
    0xF6, 0xDF, 0x42, 0x13, 0xC4,
];
/// Temperature counts that are about 25 degrees Celsius by that calibration.
pub const BMP390_TEMPERATURE_COUNTS: u32 = 8_465_000;

/// What a die of this kind is like. From the sheet, "electrical characteristics", from memory: 0.7
/// mA while it converts, at 3.3 V. Guesses: 200 K/W from the die to the air; the lag is that times
/// the heat capacity of 3 mm3 (2.5 mJ/K each); where flicker begins.
const DIE: DieKind =
    DieKind { lag_s: 1.5, kelvin_per_watt: 200.0, converting_w: 0.002_3, flicker_corner_hz: 0.1 };
/// Noise of one pressure without oversampling: a guess that gives 0.65 Pa, about the resolution,
/// four times oversampled.
const PRESSURE_NOISE_PA: f64 = 1.3;
/// Noise of one temperature, in degrees rms: a guess, about the resolution.
const TEMPERATURE_NOISE: f64 = 0.005;

/// After power-on or a reset it is deaf for so long: start-up time of the sheet (as quoted in
/// zephyrproject-rtos/zephyr, pull request 108084).
const START_UP_US: i64 = 2_000;
/// OSR after a reset: pressure 4 times, temperature once; from memory of the sheet's memory map.
const OVERSAMPLING_AFTER_RESET: u8 = 0x02;
/// EVENT after a reset: `por_detected`.
const WAS_RESET: u8 = 0x01;

/// A BMP390.
#[derive(Clone, Debug)]
pub struct FakeBmp390 {
    /// Its address.
    pub address: u8,
    /// Its port.
    pub connected: Connected,
    /// Its fault.
    pub trouble: Trouble,
    /// Whether it gives no temperature.
    pub is_without_temperature: bool,
    /// Length of its conversions, of the typical one.
    pub pace: f64,
    /// Its temperature and noise.
    pub die: Die,
    deaf_until: Micros,
    event: u8,
    oversampling: u8,
    done: Micros,
    pressure_counts: u32,
    temperature_counts: u32,
    status: u8,
}

impl FakeBmp390 {
    /// A healthy one without noise and with 24 bits whatever the oversampling.
    pub fn new(address: u8, connected: Connected) -> Self {
        Self {
            address,
            connected,
            trouble: Trouble::None,
            is_without_temperature: false,
            pace: 1.0,
            die: Die::quiet(),
            deaf_until: Micros(i64::MIN),
            event: WAS_RESET,
            oversampling: OVERSAMPLING_AFTER_RESET,
            done: Micros(0),
            pressure_counts: 0x80_0000,
            temperature_counts: 0x80_0000,
            status: 0,
        }
    }

    /// One as they are: with noise, steps of its converter and heat of its own.
    pub fn real(address: u8, connected: Connected, seed: u32) -> Self {
        Self { die: Die::real(DIE, seed), ..Self::new(address, connected) }
    }

    /// All that was written is gone, and so is a conversion that ran, as after a reset or a dip of
    /// its supply.
    pub(super) fn reset(&mut self, now: Micros) {
        *self = Self {
            trouble: self.trouble,
            is_without_temperature: self.is_without_temperature,
            pace: self.pace,
            die: self.die.clone(),
            deaf_until: Micros(now.0 + START_UP_US),
            ..Self::new(self.address, self.connected)
        };
    }

    pub(super) fn answer(
        &mut self,
        now: Micros,
        transaction: &Transaction,
        air: &impl Air,
    ) -> Result<Reply, BusFault> {
        if now < self.deaf_until {
            return Err(BusFault::NoAnswer);
        }
        match (transaction.send.as_slice(), transaction.read) {
            ([0x7E, 0xB6], 0) => self.reset(now),
            ([0x1B, power], 0) => self.convert(now, *power, air),
            ([0x1C, oversampling], 0) => self.oversampling = *oversampling,
            ([first], length) => return Ok(self.registers(now, *first, length)),
            (_, length) => return Ok((0..length).map(|_| 0).collect()),
        }
        Ok(Reply::new())
    }

    /// A burst of registers; a read clears EVENT.
    fn registers(&mut self, now: Micros, first: u8, length: usize) -> Reply {
        let registers = (first..).take(length);
        let read = registers.clone().map(|register| self.register(now, register)).collect();
        if registers.into_iter().any(|register| register == 0x10) {
            self.event = 0;
        }
        read
    }

    fn register(&self, now: Micros, register: u8) -> u8 {
        let of = |counts: u32, place: u8| (counts >> (8 * u32::from(place))) as u8;
        let is_ready = self.trouble != Trouble::Silent && now >= self.done;
        match register {
            0x00 if self.trouble == Trouble::Spoilt => 0x58,
            0x00 => 0x60,
            0x03 if is_ready => self.status,
            0x04..=0x06 => of(self.pressure_counts, register - 0x04),
            0x07..=0x09 => of(self.temperature_counts, register - 0x07),
            0x10 => self.event,
            0x1C => self.oversampling,
            0x31..=0x45 => BMP390_REGISTERS.get(usize::from(register - 0x31)).copied().unwrap_or(0),
            _ => 0,
        }
    }

    /// A forced conversion: temperature where it is enabled, then pressure. Times: the sheet,
    /// "measurement time", from memory: 234 us + 392 us + 2020 us for each pressure + 163 us + 2020
    /// us for each temperature.
    fn convert(&mut self, now: Micros, power: u8, air: &impl Air) {
        let with_temperature = power & 0x02 != 0;
        let of_pressure = 1_i64 << (self.oversampling & 7);
        let of_temperature = 1_i64 << (self.oversampling >> 3 & 7);
        let warm_us = if with_temperature { 163 + 2_020 * of_temperature } else { 0 };
        let pressure_us = 392 + 2_020 * of_pressure;
        let paced = |us: i64| (us as f64 * self.pace) as i64;
        let lasts_us = paced(234 + warm_us + pressure_us);
        let middle = Micros(now.0 + paced(234 + warm_us + pressure_us / 2));
        let celsius = self.die.celsius(middle, air.celsius(middle));
        let warm_noise = TEMPERATURE_NOISE / root(of_temperature as f64);
        let pressure_noise = PRESSURE_NOISE_PA / root(of_pressure as f64);
        let warm = celsius + self.die.temperature_noise(middle, warm_noise);
        let noise = self.die.pressure_noise(middle, pressure_noise);
        let pascals = f64::from(self.connected.pressure_64ths_pa(air, middle)) / 64.0;
        if self.trouble != Trouble::Frozen {
            self.pressure_counts = self.stepped(up(pascals + noise, celsius), of_pressure);
            self.temperature_counts = self.stepped(ut(warm), of_temperature);
        }
        let has_temperature = with_temperature && !self.is_without_temperature;
        self.status = if has_temperature { 0x60 } else { 0x20 };
        self.done = Micros(now.0 + lasts_us);
        self.die.converted_for(Micros(lasts_us));
    }

    /// Counts in the steps of a conversion: the sheet's "oversampling settings", from memory: 16
    /// bits of 24 for one conversion, a bit more for each doubling.
    fn stepped(&self, counts: f64, oversampling: i64) -> u32 {
        let step = if self.die.is_quiet() { 1.0 } else { 256.0 / oversampling as f64 };
        (counts / step + 0.5) as u32 * step as u32
    }
}

/// The registers' coefficients as the sheet's formulae have them, from memory.
fn coefficients() -> ([f64; 3], [f64; 11]) {
    let r = |place: usize| BMP390_REGISTERS.get(place).copied().unwrap_or(0);
    let unsigned = |place| f64::from(u16::from_le_bytes([r(place), r(place + 1)]));
    let signed = |place| f64::from(i16::from_le_bytes([r(place), r(place + 1)]));
    let small = |place| f64::from(r(place) as i8);
    let two = |exponent: u32| (1_u128 << exponent) as f64;
    let t = [unsigned(0) * 256.0, unsigned(2) / two(30), small(4) / two(48)];
    let p = [
        (signed(5) - 16_384.0) / two(20),
        (signed(7) - 16_384.0) / two(29),
        small(9) / two(32),
        small(10) / two(37),
        unsigned(11) * 8.0,
        unsigned(13) / two(6),
        small(15) / two(8),
        small(16) / two(15),
        signed(17) / two(48),
        small(19) / two(48),
        small(20) / two(65),
    ];
    (t, p)
}

/// Temperature counts: T = t2 d + t3 d^2 solved for d by repeated substitution.
fn ut(celsius: f64) -> f64 {
    let ([t1, t2, t3], _) = coefficients();
    t1 + (0..20).fold(celsius / t2, |d, _| celsius / (t2 + t3 * d))
}

/// Pressure counts of a pressure at a temperature, by Newton's method.
fn up(pascals: f64, t: f64) -> f64 {
    let (_, [p1, p2, p3, p4, p5, p6, p7, p8, p9, p10, p11]) = coefficients();
    let constant = p5 + t * (p6 + t * (p7 + t * p8));
    let linear = p1 + t * (p2 + t * (p3 + t * p4));
    let quadratic = p9 + t * p10;
    (0..20).fold(7_500_000.0, |u, _| {
        let value = constant + u * (linear + u * (quadratic + u * p11));
        let slope = linear + u * (2.0 * quadratic + u * 3.0 * p11);
        u - (value - pascals) / slope
    })
}
