//! A simulated BMP390.

use super::air::{Air, Connected, Trouble};
use super::search::least;
use crate::bmp390;
use crate::bus::{Reply, Transaction};
use chirrup_core::Micros;

/// An invented BMP390 calibration with values like real ones.
pub const BMP390_REGISTERS: [u8; bmp390::CALIBRATION_BYTES] = [
    0x4C, 0x6B, 0xEE, 0x48, 0xF6, 0x90, 0x01, 0x17, 0xF8, 0x23, 0x00, 0xB7, 0x65, 0x24, 0x77, 0xF3,
    0xF6, 0xDF, 0x42, 0x13, 0xC4,
];
/// Temperature counts that are about 25 degrees Celsius by that calibration.
pub const BMP390_TEMPERATURE_COUNTS: u32 = 8_465_000;

/// A BMP390.
#[derive(Clone, Debug)]
pub struct FakeBmp390 {
    /// Its address.
    pub address: u8,
    /// Its port.
    pub connected: Connected,
    /// Its fault.
    pub trouble: Trouble,
    pressure_counts: u32,
    status: u8,
}

impl FakeBmp390 {
    /// A healthy one.
    pub fn new(address: u8, connected: Connected) -> Self {
        Self { address, connected, trouble: Trouble::None, pressure_counts: 0, status: 0 }
    }

    pub(super) fn answer(
        &mut self,
        now: Micros,
        transaction: &Transaction,
        air: &impl Air,
    ) -> Reply {
        match (transaction.send.as_slice(), transaction.read) {
            ([0x00], 1) => {
                Reply::from_iter([if self.trouble == Trouble::Spoilt { 0x58 } else { 0x60 }])
            }
            ([0x31], bmp390::CALIBRATION_BYTES) => Reply::from_iter(BMP390_REGISTERS),
            ([0x1B, power], 0) => {
                let with_temperature = power & 0x02 != 0;
                let middle = Micros(now.0 + if with_temperature { 5_444 } else { 4_353 });
                if self.trouble != Trouble::Frozen {
                    self.pressure_counts =
                        bmp390_counts_for(self.connected.pressure_64ths_pa(air, middle));
                }
                self.status = if with_temperature { 0x60 } else { 0x20 };
                Reply::new()
            }
            ([0x03], 7) => {
                let status = if self.trouble == Trouble::Silent { 0 } else { self.status };
                let [p0, p1, p2, _] = self.pressure_counts.to_le_bytes();
                let [t0, t1, t2, _] = BMP390_TEMPERATURE_COUNTS.to_le_bytes();
                Reply::from_iter([status, p0, p1, p2, t0, t1, t2])
            }
            (_, length) => (0..length).map(|_| 0).collect(),
        }
    }
}

fn bmp390_counts_for(pressure_64ths_pa: i32) -> u32 {
    let Some(calibration) = bmp390::Calibration::from_registers(&BMP390_REGISTERS) else {
        return 0;
    };
    // More counts are less pressure.
    least((1, 0x00FF_FFFF), |counts| {
        calibration.compensate(counts, BMP390_TEMPERATURE_COUNTS).pressure_64ths_pa
            <= pressure_64ths_pa
    })
}
