//! Simulated sensors: the bus answers of an MS5611, a BMP390, an MS4525DO and of inertial sensors,
//! for tests and for trying things out.
//!
//! [`FakeBus`] carries out [`Transaction`]s in a time that the caller keeps; the pressures come
//! from an [`Air`], taken at the middle of each conversion. Each device can be removed, broken or
//! frozen while running.

mod air;
mod inertial;

pub use air::{Air, Trouble};
pub use inertial::{FakeImu, FakeImuKind};

use crate::bmp390;
use crate::bus::{BusFault, Reply, Transaction};
use crate::ms5611::{self, prom};
use chirrup_core::Micros;

/// Which port a barometer is connected to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Connected {
    /// The static port.
    Static,
    /// The probe or the pitot.
    Second,
}

/// The words of the MS5611 data sheet's example, with a factory word, a serial code and the
/// checksum that belongs to them.
pub const SHEET_PROM: [u16; prom::WORDS] =
    [0x0042, 40_127, 36_924, 23_317, 23_282, 33_464, 28_312, 0x120A];
/// Temperature counts of that example: 20.07 degrees Celsius.
pub const SHEET_TEMPERATURE_COUNTS: u32 = 8_569_150;

/// An invented BMP390 calibration with values like real ones.
pub const BMP390_REGISTERS: [u8; bmp390::CALIBRATION_BYTES] = [
    0x4C, 0x6B, 0xEE, 0x48, 0xF6, 0x90, 0x01, 0x17, 0xF8, 0x23, 0x00, 0xB7, 0x65, 0x24, 0x77, 0xF3,
    0xF6, 0xDF, 0x42, 0x13, 0xC4,
];
/// Temperature counts that are about 25 degrees Celsius by that calibration.
pub const BMP390_TEMPERATURE_COUNTS: u32 = 8_465_000;

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

/// An MS4525DO of type A and 1 psi.
#[derive(Clone, Debug, Default)]
pub struct FakeMs4525 {
    /// Its fault; spoilt means that it reports a fault of its own.
    pub trouble: Trouble,
    last_read: Option<Micros>,
    counts: u16,
}

/// A bus with the given devices.
#[derive(Clone, Debug)]
pub struct FakeBus<A> {
    /// Where the pressures come from.
    pub air: A,
    /// MS5611s, one at each address at most.
    pub ms5611: [Option<FakeMs5611>; 2],
    /// A BMP390.
    pub bmp390: Option<FakeBmp390>,
    /// An MS4525DO.
    pub ms4525: Option<FakeMs4525>,
    /// An inertial sensor.
    pub imu: Option<FakeImu>,
    /// A data line that is held down.
    pub is_stuck: bool,
    /// Transactions that were carried out or failed.
    pub transactions: u32,
}

impl FakeMs5611 {
    /// A healthy one.
    pub fn new(address: u8, connected: Connected) -> Self {
        Self { address, connected, trouble: Trouble::None, result: 0 }
    }

    fn answer(&mut self, now: Micros, transaction: &Transaction, air: &impl Air) -> Reply {
        match (transaction.send.as_slice(), transaction.read) {
            ([command @ 0xA0..=0xAE], 2) => {
                let place = usize::from(command - 0xA0) / 2;
                let word = SHEET_PROM.get(place).copied().unwrap_or(0);
                let spoilt = self.trouble == Trouble::Spoilt && place == 3;
                bytes((word ^ u16::from(spoilt)).to_be_bytes())
            }
            ([0x00], 3) => {
                let [_, high, middle, low] = self.result.to_be_bytes();
                if !matches!(self.trouble, Trouble::Frozen) {
                    self.result = 0;
                }
                bytes([high, middle, low])
            }
            ([0x48], 0) => {
                let middle = Micros(now.0 + 4_110);
                match self.trouble {
                    Trouble::Frozen if self.result != 0 => {}
                    Trouble::Silent => self.result = 0,
                    _ => self.result = counts_for(pressure_at(air, self.connected, middle)),
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

impl FakeBmp390 {
    /// A healthy one.
    pub fn new(address: u8, connected: Connected) -> Self {
        Self { address, connected, trouble: Trouble::None, pressure_counts: 0, status: 0 }
    }

    fn answer(&mut self, now: Micros, transaction: &Transaction, air: &impl Air) -> Reply {
        match (transaction.send.as_slice(), transaction.read) {
            ([0x00], 1) => bytes([if self.trouble == Trouble::Spoilt { 0x58 } else { 0x60 }]),
            ([0x31], bmp390::CALIBRATION_BYTES) => bytes(BMP390_REGISTERS),
            ([0x1B, power], 0) => {
                let with_temperature = power & 0x02 != 0;
                let middle = Micros(now.0 + if with_temperature { 5_444 } else { 4_353 });
                if self.trouble != Trouble::Frozen {
                    self.pressure_counts =
                        bmp390_counts_for(pressure_at(air, self.connected, middle));
                }
                self.status = if with_temperature { 0x60 } else { 0x20 };
                Reply::new()
            }
            ([0x03], 7) => {
                let status = if self.trouble == Trouble::Silent { 0 } else { self.status };
                let [p0, p1, p2, _] = self.pressure_counts.to_le_bytes();
                let [t0, t1, t2, _] = BMP390_TEMPERATURE_COUNTS.to_le_bytes();
                bytes([status, p0, p1, p2, t0, t1, t2])
            }
            (_, length) => (0..length).map(|_| 0).collect(),
        }
    }
}

impl FakeMs4525 {
    fn answer(&mut self, now: Micros, air: &impl Air) -> Reply {
        let is_stale = self.last_read.is_some_and(|last| now.0 - last.0 < 500);
        self.last_read = Some(now);
        if self.trouble != Trouble::Frozen {
            // Type A, 1 psi: 10 % to 90 % of 16383 counts from -6895 to 6895 Pa.
            let pascals = f64::from(air.dynamic_64ths_pa(now)) / 64.0;
            self.counts = ((pascals + 6_895.0) / 13_790.0 * 13_106.4 + 1_638.3 + 0.5) as u16;
        }
        let status: u16 = match self.trouble {
            Trouble::Spoilt => 3,
            Trouble::Silent => 2,
            _ if is_stale => 2,
            _ => 0,
        };
        let [high, low] = (status << 14 | self.counts & 0x3FFF).to_be_bytes();
        // 20 degrees Celsius are 716 counts.
        let [warm, rest] = (716_u16 << 5).to_be_bytes();
        bytes([high, low, warm, rest])
    }
}

impl<A: Air> FakeBus<A> {
    /// A bus with one MS5611 at 0x77 on the static port.
    pub fn new(air: A) -> Self {
        Self {
            air,
            ms5611: [Some(FakeMs5611::new(0x77, Connected::Static)), None],
            bmp390: None,
            ms4525: None,
            imu: None,
            is_stuck: false,
            transactions: 0,
        }
    }

    /// The same with nothing on it.
    pub fn empty(air: A) -> Self {
        Self { ms5611: [None, None], ..Self::new(air) }
    }

    /// The fault of the first MS5611, to be changed.
    pub fn trouble(&mut self) -> Option<&mut Trouble> {
        self.ms5611.iter_mut().flatten().next().map(|device| &mut device.trouble)
    }

    /// Carries out a transaction at `now`.
    ///
    /// # Errors
    /// No device is at the address, or the bus is stuck.
    pub fn run(&mut self, now: Micros, transaction: &Transaction) -> Result<Reply, BusFault> {
        self.transactions += 1;
        if self.is_stuck {
            return Err(BusFault::Stuck);
        }
        let is_there = |address: u8, trouble: Trouble| {
            address == transaction.address && trouble != Trouble::Gone
        };
        for device in self.ms5611.iter_mut().flatten() {
            if is_there(device.address, device.trouble) {
                return Ok(device.answer(now, transaction, &self.air));
            }
        }
        if let Some(device) =
            self.bmp390.as_mut().filter(|device| is_there(device.address, device.trouble))
        {
            return Ok(device.answer(now, transaction, &self.air));
        }
        if let Some(device) = self.ms4525.as_mut().filter(|device| is_there(0x28, device.trouble)) {
            return Ok(device.answer(now, &self.air));
        }
        if let Some(device) =
            self.imu.as_mut().filter(|device| device.address == transaction.address)
        {
            if device.trouble != Trouble::Gone {
                return Ok(device.answer(now, transaction, &self.air));
            }
            device.lose_power();
        }
        Err(BusFault::NoAnswer)
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

/// The least number of a span for which `is_enough` holds, if it holds from somewhere on.
fn least((mut low, mut high): (u32, u32), is_enough: impl Fn(u32) -> bool) -> u32 {
    while low < high {
        let middle = low + (high - low) / 2;
        if is_enough(middle) {
            high = middle;
        } else {
            low = middle + 1;
        }
    }
    low
}

fn pressure_at(air: &impl Air, connected: Connected, time: Micros) -> i32 {
    match connected {
        Connected::Static => air.static_64ths_pa(time),
        Connected::Second => air.second_64ths_pa(time),
    }
}

fn bytes<const N: usize>(bytes: [u8; N]) -> Reply {
    bytes.into_iter().collect()
}
