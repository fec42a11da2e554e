//! A simulated MS5611.

use super::air::{Air, Connected, Trouble};
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

/// An MS5611.
#[derive(Clone, Debug)]
pub struct FakeMs5611 {
    /// Its address.
    pub address: u8,
    /// Its port.
    pub connected: Connected,
    /// Its fault.
    pub trouble: Trouble,
    result: u32,
}

impl FakeMs5611 {
    /// A healthy one.
    pub fn new(address: u8, connected: Connected) -> Self {
        Self { address, connected, trouble: Trouble::None, result: 0 }
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
                let [_, high, middle, low] = self.result.to_be_bytes();
                if !matches!(self.trouble, Trouble::Frozen) {
                    self.result = 0;
                }
                Reply::from_iter([high, middle, low])
            }
            ([0x48], 0) => {
                let middle = Micros(now.0 + 4_110);
                match self.trouble {
                    Trouble::Frozen if self.result != 0 => {}
                    Trouble::Silent => self.result = 0,
                    _ => self.result = counts_for(self.connected.pressure_64ths_pa(air, middle)),
                }
                Reply::new()
            }
            ([0x58], 0) => {
                if self.trouble != Trouble::Frozen {
                    self.result = SHEET_TEMPERATURE_COUNTS;
                }
                Reply::new()
            }
            (_, length) => (0..length).map(|_| 0).collect(),
        }
    }
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
