//! A simulated MS5611: its conversions take their time, and its pressure counts depend on the die's
//! temperature. Figures: MS5611-01BA03 data sheet, from memory where no section is named.

use super::air::{Air, Connected, Trouble};
use super::die::{Die, DieKind};
use super::search::least;
use crate::bus::{Reply, Transaction};
use crate::ms5611::{self, prom};
use chirrup_core::Micros;

/// The words of the MS5611 data sheet's example, with a factory word, a serial code and the
/// checksum that belongs to them.
pub const SHEET_PROM: [u16; prom::WORDS] =
    [0x0042, 40_127, 36_924, 23_317, 23_282, 33_464, 28_312, 0x120A];
/// Temperature counts of that example: 20.07 degrees Celsius.
pub const SHEET_TEMPERATURE_COUNTS: u32 = 8_569_150;

/// What a die of this kind is like. From the sheet, "electrical characteristics": 1.4 mA while it
/// converts, at 3 V. Guesses: 200 K/W from the die to the air (a small package on a board); the lag
/// is that times the heat capacity of 15 mm3 of ceramics and steel (3 mJ/K each); where flicker
/// begins.
const DIE: DieKind =
    DieKind { lag_s: 9.0, kelvin_per_watt: 200.0, converting_w: 0.004_2, flicker_corner_hz: 0.1 };
/// Conversion times by oversampling 256, 512, .. 4096, in microseconds: the sheet's "ADC conversion
/// time", typical. At least 0.90 and at most 1.10 times that.
const TYPICAL_US: [f64; 5] = [540.0, 1_060.0, 2_080.0, 4_130.0, 8_220.0];
/// Noise of a pressure, by the sheet's table "pressure output": 0.065 .. 0.012 mbar rms.
const PRESSURE_NOISE_PA: [f64; 5] = [6.5, 4.2, 2.7, 1.8, 1.2];
/// Noise of a temperature, by the sheet's table "temperature output", in degrees rms.
const TEMPERATURE_NOISE: [f64; 5] = [0.012, 0.008, 0.005, 0.003, 0.002];

/// An MS5611.
#[derive(Clone, Debug)]
pub struct FakeMs5611 {
    /// Its address.
    pub address: u8,
    /// Its port.
    pub connected: Connected,
    /// Its fault.
    pub trouble: Trouble,
    /// Whether its temperature conversions give nothing.
    pub is_without_temperature: bool,
    /// Length of its conversions, of the typical one: 0.9 to 1.1.
    pub pace: f64,
    /// Its temperature and noise.
    pub die: Die,
    running: Option<Running>,
    last_pressure: u32,
    last_temperature: u32,
}

#[derive(Clone, Copy, Debug)]
struct Running {
    done: Micros,
    counts: u32,
}

impl FakeMs5611 {
    /// A healthy one without noise.
    pub fn new(address: u8, connected: Connected) -> Self {
        Self {
            address,
            connected,
            trouble: Trouble::None,
            is_without_temperature: false,
            pace: 1.0,
            die: Die::quiet(),
            running: None,
            last_pressure: 0,
            last_temperature: 0,
        }
    }

    /// One as they are: with noise and heat of its own.
    pub fn real(address: u8, connected: Connected, seed: u32) -> Self {
        Self { die: Die::real(DIE, seed), ..Self::new(address, connected) }
    }

    /// A conversion under way is lost, as after a dip of its supply.
    pub(super) fn reset(&mut self) {
        self.running = None;
    }

    pub(super) fn answer(
        &mut self,
        now: Micros,
        transaction: &Transaction,
        air: &impl Air,
    ) -> Reply {
        match (transaction.send.as_slice(), transaction.read) {
            ([command @ 0xA0..=0xAE], 2) => {
                let place = usize::from(command - 0xA0) / 2;
                let word = SHEET_PROM.get(place).copied().unwrap_or(0);
                let spoilt = self.trouble == Trouble::Spoilt && place == 3;
                Reply::from_iter((word ^ u16::from(spoilt)).to_be_bytes())
            }
            ([0x00], 3) => {
                // Zero before the end, and the conversion is lost; zero where there was none.
                let done = self.running.take().filter(|running| now >= running.done);
                let [_, high, middle, low] = done.map_or(0, |done| done.counts).to_be_bytes();
                Reply::from_iter([high, middle, low])
            }
            ([command @ 0x40..=0x58], 0) => {
                self.convert(now, *command, air);
                Reply::new()
            }
            (_, length) => (0..length).map(|_| 0).collect(),
        }
    }

    fn convert(&mut self, now: Micros, command: u8, air: &impl Air) {
        let place = usize::from(command & 0x0F) / 2;
        let of = |table: [f64; 5]| table.get(place).copied().unwrap_or(0.0);
        let lasts = Micros((of(TYPICAL_US) * self.pace) as i64);
        let middle = Micros(now.0 + lasts.0 / 2);
        let is_disturbed = self.running.is_some_and(|running| now < running.done);
        let is_pressure = command < 0x50;
        let counts = if is_pressure {
            self.pressure_counts(middle, of(PRESSURE_NOISE_PA), air)
        } else {
            self.temperature_counts(middle, of(TEMPERATURE_NOISE), air)
        };
        self.die.converted_for(lasts);
        let is_silent = self.trouble == Trouble::Silent
            || (self.is_without_temperature && !is_pressure)
            || is_disturbed;
        let counts = if is_silent { 0 } else { counts };
        self.running = Some(Running { done: Micros(now.0 + lasts.0), counts });
    }

    fn pressure_counts(&mut self, at: Micros, noise_pa: f64, air: &impl Air) -> u32 {
        let celsius = self.die.celsius(at, air.celsius(at));
        let pascals = f64::from(self.connected.pressure_64ths_pa(air, at)) / 64.0;
        let noise = self.die.pressure_noise(at, noise_pa);
        if self.trouble != Trouble::Frozen {
            self.last_pressure = d1(pascals + noise, d2(celsius));
        }
        self.last_pressure
    }

    fn temperature_counts(&mut self, at: Micros, noise: f64, air: &impl Air) -> u32 {
        let celsius = self.die.celsius(at, air.celsius(at));
        let noise = self.die.temperature_noise(at, noise);
        if self.trouble != Trouble::Frozen {
            self.last_temperature = (d2(celsius + noise) + 0.5) as u32;
        }
        self.last_temperature
    }
}

/// The sheet's example, C1 to C6.
const C: [f64; 6] = [40_127.0, 36_924.0, 23_317.0, 23_282.0, 33_464.0, 28_312.0];

/// Temperature counts, not rounded, by the sheet's flow chart: TEMP = 2000 + dT C6 / 2^23. Above
/// -15 degrees; below 20 the second order is solved by repeated substitution.
fn d2(celsius: f64) -> f64 {
    let [.., c5, c6] = C;
    let wanted = celsius * 100.0 - 2_000.0;
    let two = |exponent: u32| f64::from(1_u32 << exponent);
    let dt = (0..20).fold(wanted * two(23) / c6, |dt, _| {
        let cold = if wanted < 0.0 { dt * dt / two(31) } else { 0.0 };
        (wanted + cold) * two(23) / c6
    });
    c5 * 256.0 + dt
}

/// Pressure counts, rounded, by the sheet's flow charts solved for D1.
fn d1(pascals: f64, d2: f64) -> u32 {
    let [c1, c2, c3, c4, c5, c6] = C;
    let dt = d2 - c5 * 256.0;
    let temp = 2_000.0 + dt * c6 / f64::from(1 << 23);
    let below = (temp - 2_000.0).min(0.0);
    let off = c2 * 65_536.0 + c4 * dt / 128.0 - 5.0 * below * below / 2.0;
    let sens = c1 * 32_768.0 + c3 * dt / 256.0 - 5.0 * below * below / 4.0;
    ((pascals * 32_768.0 + off) * 2_097_152.0 / sens + 0.5) as u32
}

/// Pressure counts of the data sheet's MS5611 at 20.07 degrees for a pressure, to half a count.
pub fn counts_for(pressure_64ths_pa: i32) -> u32 {
    let Some(calibration) = prom::calibration(&SHEET_PROM) else { return 0 };
    counts_of(&calibration, SHEET_TEMPERATURE_COUNTS, pressure_64ths_pa)
}

/// Pressure counts of any MS5611 for a pressure, to a count: its arithmetic inverted by bisection.
pub fn counts_of(
    calibration: &ms5611::Calibration,
    temperature_counts: u32,
    pressure_64ths_pa: i32,
) -> u32 {
    least((1, 0x00FF_FFFF), |counts| {
        calibration.compensate(counts, temperature_counts).pressure_64ths_pa >= pressure_64ths_pa
    })
}
