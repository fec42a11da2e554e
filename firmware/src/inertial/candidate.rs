//! The inertial sensors that the instrument looks for, and where.

use super::figures::InertialMeter;
use crate::slot::Sought;
use chirrup_sensors::inertial::batch::Batch;
use chirrup_sensors::inertial::driver::Imu;
use chirrup_sensors::inertial::{icm42688, lsm6dso};
use chirrup_sensors::sensor::Driver;

/// An inertial sensor at an address.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum InertialCandidate {
    /// LSM6DSO at this address.
    Lsm6dso(u8),
    /// ICM-42688-P at this address.
    Icm42688(u8),
}

impl InertialCandidate {
    /// All of them, in the order in which they are looked for.
    pub const ALL: [InertialCandidate; 4] = [
        InertialCandidate::Lsm6dso(lsm6dso::ADDRESS_SA0_LOW),
        InertialCandidate::Lsm6dso(lsm6dso::ADDRESS_SA0_HIGH),
        InertialCandidate::Icm42688(icm42688::ADDRESS_AD0_LOW),
        InertialCandidate::Icm42688(icm42688::ADDRESS_AD0_HIGH),
    ];
}

impl Sought for InertialCandidate {
    type Measurement = Batch;
    type Device = Imu;
    type Meter = InertialMeter;

    fn device(self) -> Imu {
        match self {
            InertialCandidate::Lsm6dso(address) => Imu::new(&lsm6dso::CHIP, address),
            InertialCandidate::Icm42688(address) => Imu::new(&icm42688::CHIP, address),
        }
    }

    fn driver(device: &Imu) -> &dyn Driver<Batch> {
        device
    }

    fn driver_mut(device: &mut Imu) -> &mut dyn Driver<Batch> {
        device
    }
}
