//! A simulated BMP581: its registers, its check of itself, its times.

use super::air::{Air, Connected, Trouble};
use crate::bus::{Reply, Transaction};
use chirrup_core::Micros;

/// Time of a conversion by oversampling, from memory of the data sheet.
const TEMPERATURE_US: [i64; 8] = [1_000, 1_100, 1_500, 2_100, 3_300, 5_800, 10_800, 20_800];
const PRESSURE_US: [i64; 8] = [1_000, 1_700, 2_900, 5_400, 10_400, 20_400, 40_400, 80_400];
/// After a reset it is deaf for so long.
const RESET_US: i64 = 2_000;
/// The temperature of the die, degrees Celsius times 65536.
const TEMPERATURE: i32 = 25 << 16;

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
    deaf_until: Micros,
    has_started: bool,
    tells_result: bool,
    filter: u8,
    oversampling: u8,
    done: Option<(Micros, u32)>,
    result: [u8; 6],
}

impl FakeBmp581 {
    /// A healthy one.
    pub fn new(address: u8, connected: Connected) -> Self {
        Self {
            address,
            connected,
            trouble: Trouble::None,
            identity: 0x50,
            deaf_until: Micros(i64::MIN),
            has_started: true,
            tells_result: false,
            filter: 0,
            oversampling: 0,
            done: None,
            result: [0x7F; 6],
        }
    }

    fn reset(&mut self, now: Micros) {
        *self = Self {
            trouble: self.trouble,
            identity: self.identity,
            deaf_until: Micros(now.0 + RESET_US),
            ..Self::new(self.address, self.connected)
        };
    }

    pub(super) fn answer(
        &mut self,
        now: Micros,
        transaction: &Transaction,
        air: &impl Air,
    ) -> Reply {
        let zeros = |length| (0..length).map(|_| 0).collect();
        if now < self.deaf_until {
            return zeros(transaction.read);
        }
        match (transaction.send.as_slice(), transaction.read) {
            ([0x7E, 0xB6], 0) => self.reset(now),
            ([0x15, value], 0) => self.tells_result = value & 1 != 0,
            ([0x31, value], 0) => self.filter = *value,
            ([0x36, value], 0) => self.oversampling = *value,
            ([0x37, value], 0) if value & 3 == 2 => self.convert(now, air),
            ([0x01], 1) => return Reply::from_iter([self.identity]),
            ([0x27], length) => return self.status(now).into_iter().take(length).collect(),
            ([0x1D], 6) => return Reply::from_iter(self.result),
            (_, length) => return zeros(length),
        }
        Reply::new()
    }

    fn convert(&mut self, now: Micros, air: &impl Air) {
        let has_pressure = self.oversampling & 0x40 != 0 && self.filter == 0;
        if !has_pressure || self.trouble == Trouble::Silent {
            return;
        }
        let place = |bits: u8| usize::from(bits & 7);
        let temperature = TEMPERATURE_US.get(place(self.oversampling)).copied().unwrap_or(0);
        let pressure = PRESSURE_US.get(place(self.oversampling >> 3)).copied().unwrap_or(0);
        let middle = Micros(now.0 + temperature + pressure / 2);
        let counts = self.connected.pressure_64ths_pa(air, middle).max(0) as u32;
        self.done = Some((Micros(now.0 + temperature + pressure), counts));
    }

    /// The bits of a result and of a start, which reading clears, and the state of its memory.
    fn status(&mut self, now: Micros) -> [u8; 2] {
        let is_done = self.done.is_some_and(|(done, _)| now >= done);
        if let Some((_, counts)) = self.done.take_if(|_| is_done)
            && self.trouble != Trouble::Frozen
        {
            let [p0, p1, p2, _] = counts.to_le_bytes();
            let [t0, t1, t2, _] = TEMPERATURE.to_le_bytes();
            self.result = [t0, t1, t2, p0, p1, p2];
        }
        let started = if core::mem::take(&mut self.has_started) { 0x10 } else { 0 };
        let memory = if self.trouble == Trouble::Spoilt { 0x06 } else { 0x02 };
        [started | u8::from(is_done && self.tells_result), memory]
    }
}
