//! Simulated sensors: the bus answers of each barometer, of the differential and of the inertial
//! sensors, for tests and for trying things out.
//!
//! [`FakeBus`] carries out [`Transaction`]s in a time that the caller keeps; the pressures come
//! from an [`Air`], taken at the middle of each conversion. Each device can be removed, broken or
//! frozen while running.

mod air;
mod bmp390;
mod bmp581;
mod die;
mod dps310;
mod inertial;
mod ms4525;
mod ms5611;
mod sdp3x;
mod search;

pub use air::{Air, Connected, Trouble};
pub use bmp390::{BMP390_REGISTERS, BMP390_TEMPERATURE_COUNTS, FakeBmp390};
pub use bmp581::FakeBmp581;
pub use die::{Die, DieKind};
pub use dps310::{DPS310_REGISTERS, FakeDps310};
pub use inertial::{FakeImu, FakeImuKind};
pub use ms4525::FakeMs4525;
pub use ms5611::{FakeMs5611, SHEET_PROM, SHEET_TEMPERATURE_COUNTS, counts_for, counts_of};
pub use sdp3x::FakeSdp3x;

use crate::bus::{BusFault, Reply, Transaction};
use chirrup_core::Micros;

/// A bus with the given devices.
#[derive(Clone, Debug)]
pub struct FakeBus<A> {
    /// Where the pressures come from.
    pub air: A,
    /// MS5611s, one at each address at most.
    pub ms5611: [Option<FakeMs5611>; 2],
    /// A BMP390.
    pub bmp390: Option<FakeBmp390>,
    /// BMP581s, one at each address at most.
    pub bmp581: [Option<FakeBmp581>; 2],
    /// DPS310s or SPL06s, one at each address at most.
    pub dps310: [Option<FakeDps310>; 2],
    /// An SDP31, SDP32 or SDP33.
    pub sdp3x: Option<FakeSdp3x>,
    /// An MS4525DO.
    pub ms4525: Option<FakeMs4525>,
    /// An inertial sensor.
    pub imu: Option<FakeImu>,
    /// A data line that is held down.
    pub is_stuck: bool,
    /// Transactions that were carried out or failed.
    pub transactions: u32,
}

impl<A: Air> FakeBus<A> {
    /// A bus with one MS5611 at 0x77 on the static port.
    pub fn new(air: A) -> Self {
        Self {
            air,
            ms5611: [Some(FakeMs5611::new(0x77, Connected::Static)), None],
            bmp390: None,
            bmp581: [None, None],
            dps310: [None, None],
            sdp3x: None,
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

    /// The supply of all barometers dips: each forgets what it was told, and none tells.
    pub fn dip_supply(&mut self, now: Micros) {
        self.ms5611.iter_mut().flatten().for_each(FakeMs5611::reset);
        self.bmp390.iter_mut().for_each(|device| device.reset(now));
        self.bmp581.iter_mut().flatten().for_each(|device| device.reset(now));
        self.dps310.iter_mut().flatten().for_each(|device| device.reset(now));
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
            return device.answer(now, transaction, &self.air);
        }
        for device in self.bmp581.iter_mut().flatten() {
            if is_there(device.address, device.trouble) {
                return device.answer(now, transaction, &self.air);
            }
        }
        for device in self.dps310.iter_mut().flatten() {
            if is_there(device.address, device.trouble) {
                return Ok(device.answer(now, transaction, &self.air));
            }
        }
        if let Some(device) =
            self.sdp3x.as_mut().filter(|device| is_there(device.address, device.trouble))
        {
            return device.answer(now, transaction, &self.air);
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
