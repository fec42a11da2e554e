//! A simulated BMP581: its registers, its check of itself, its times, its noise by oversampling.

use super::air::{Air, Connected, Trouble};
use super::die::{Die, DieKind};
use crate::bus::{BusFault, Reply, Transaction};
use crate::sensor::rounded;
use chirrup_core::Micros;

/// Time of a conversion by oversampling, from memory of the data sheet.
const TEMPERATURE_US: [i64; 8] = [1_000, 1_100, 1_500, 2_100, 3_300, 5_800, 10_800, 20_800];
const PRESSURE_US: [i64; 8] = [1_000, 1_700, 2_900, 5_400, 10_400, 20_400, 40_400, 80_400];
/// Noise by oversampling in Pa rms: the sheet's table 9.
const NOISE_PA: [f64; 8] = [0.78, 0.58, 0.41, 0.30, 0.21, 0.15, 0.11, 0.08];
/// After a reset it is deaf for so long: the sheet's most.
const RESET: Micros = Micros(2_000);
/// What its own compensation leaves, in Pa per kelvin: the sheet's most.
const LEFT_PA_PER_KELVIN: f64 = 0.5;

/// What a die of this kind is like: guesses but for 0.3 mA at 3.3 V while it converts, from memory
/// of the sheet.
const DIE: DieKind =
    DieKind { lag_s: 1.5, kelvin_per_watt: 200.0, converting_w: 0.001, flicker_corner_hz: 0.1 };

/// A BMP581.
#[derive(Clone, Debug)]
pub struct FakeBmp581 {
    /// Its address.
    pub address: u8,
    /// Its port.
    pub connected: Connected,
    /// Its fault; spoilt means that its memory is damaged.
    pub trouble: Trouble,
    /// What it says it is.
    pub identity: u8,
    /// Length of its conversions, of the typical one.
    pub pace: f64,
    /// Its temperature and noise.
    pub die: Die,
    /// What the bus says of a reset that is written; the sheet has it not acknowledged.
    pub answer_to_reset: Result<(), BusFault>,
    /// How long it is deaf after a reset.
    pub restart: Micros,
    /// How long its memory is not loaded yet when it answers again after a reset.
    pub loading: Micros,
    /// It is deaf before this time, as after power-on.
    pub deaf_until: Micros,
    has_started: bool,
    tells_result: bool,
    filter: u8,
    oversampling: u8,
    /// When the conversion under way is done, and its counts of pressure and temperature.
    done: Option<(Micros, [i32; 2])>,
    result: [u8; 6],
}

impl FakeBmp581 {
    /// A healthy one without noise.
    pub fn new(address: u8, connected: Connected) -> Self {
        Self {
            address,
            connected,
            trouble: Trouble::None,
            identity: 0x50,
            pace: 1.0,
            die: Die::quiet(),
            answer_to_reset: Err(BusFault::Broken),
            restart: RESET,
            loading: Micros(0),
            deaf_until: Micros(i64::MIN),
            has_started: true,
            tells_result: false,
            filter: 0,
            oversampling: 0,
            done: None,
            result: [0x7F; 6],
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
            pace: self.pace,
            die: self.die.clone(),
            answer_to_reset: self.answer_to_reset,
            restart: self.restart,
            loading: self.loading,
            deaf_until: Micros(now.0 + self.restart.0),
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
            ([0x7E, 0xB6], 0) => {
                self.reset(now);
                self.answer_to_reset?;
            }
            ([0x15, value], 0) => self.tells_result = value & 1 != 0,
            ([0x31, value], 0) => self.filter = *value,
            ([0x36, value], 0) => self.oversampling = *value,
            ([0x37, value], 0) if value & 3 == 2 => self.convert(now, air),
            ([0x01], 1) => return Ok(Reply::from_iter([self.identity])),
            ([0x27], length) => return Ok(self.status(now).into_iter().take(length).collect()),
            ([0x1D], 6) => return Ok(Reply::from_iter(self.result)),
            (_, length) => return Ok((0..length).map(|_| 0).collect()),
        }
        Ok(Reply::new())
    }

    fn convert(&mut self, now: Micros, air: &impl Air) {
        let has_pressure = self.oversampling & 0x40 != 0 && self.filter == 0;
        if !has_pressure || self.trouble == Trouble::Silent {
            return;
        }
        let by = |table: [i64; 8], bits: u8| table.get(usize::from(bits & 7)).copied();
        let typical = [
            by(TEMPERATURE_US, self.oversampling).unwrap_or(0),
            by(PRESSURE_US, self.oversampling >> 3).unwrap_or(0),
        ];
        let [warm_us, pressure_us] = typical.map(|us| (us as f64 * self.pace) as i64);
        let middle = Micros(now.0 + warm_us + pressure_us / 2);
        let celsius = self.die.celsius(middle, air.celsius(middle));
        let noise_pa = NOISE_PA.get(usize::from(self.oversampling >> 3 & 7)).copied();
        let noise = self.die.pressure_noise(middle, noise_pa.unwrap_or(0.0));
        let left = if self.die.is_quiet() { 0.0 } else { LEFT_PA_PER_KELVIN * (celsius - 20.0) };
        let pressure = f64::from(self.connected.pressure_64ths_pa(air, middle));
        let counts = [pressure + (noise + left) * 64.0, celsius * 65_536.0].map(rounded);
        self.done = Some((Micros(now.0 + warm_us + pressure_us), counts));
        self.die.converted_for(Micros(warm_us + pressure_us));
    }

    /// The bits of a result and of a start, which reading clears, and the state of its memory.
    fn status(&mut self, now: Micros) -> [u8; 2] {
        let is_done = self.done.is_some_and(|(done, _)| now >= done);
        if let Some((_, counts)) = self.done.take_if(|_| is_done)
            && self.trouble != Trouble::Frozen
        {
            let [[p0, p1, p2, _], [t0, t1, t2, _]] = counts.map(i32::to_le_bytes);
            self.result = [t0, t1, t2, p0, p1, p2];
        }
        let started = if core::mem::take(&mut self.has_started) { 0x10 } else { 0 };
        let memory = match self.trouble {
            Trouble::Spoilt => 0x06,
            _ if now.0 < self.deaf_until.0.saturating_add(self.loading.0) => 0x00,
            _ => 0x02,
        };
        [started | u8::from(is_done && self.tells_result), memory]
    }
}
