//! TDK's ICM-42688-P: its registers, and a packet of its memory.
//!
//! ```text
//! packet of both: header   force x y z   turn x y z (high byte first)   temperature   time
//! header: 1 nothing | 2 force, turn are in it | 1 long | .. | (upper four bits: 0110)
//! ```
//!
//! Ranges and rate as for the [LSM6DSO](super::lsm6dso): 8 g, 500 degrees a second, 200 readings a
//! second, low-passed by the sensor at 100 Hz.
//!
//! Source: ICM-42688-P data sheet DS-000347, "register map" and "FIFO", and the limits of the
//! self-test of the maker's own driver for a sensor without trim figures (50 to 1200 mg, 60 degrees
//! a second at least), all from memory; addresses and values of the registers were compared with
//! Zephyr's `icm42688_reg.h`.

use super::batch::Scale;
use super::chip::{Chip, Readings, Step, big_endian_axes};

/// The address with pin AD0 low.
pub const ADDRESS_AD0_LOW: u8 = 0x68;
/// The address with pin AD0 high.
pub const ADDRESS_AD0_HIGH: u8 = 0x69;

const DEVICE_CONFIG: u8 = 0x11;
const FIFO_CONFIG: u8 = 0x16;
const FIFO_COUNTH: u8 = 0x2E;
const FIFO_DATA: u8 = 0x30;
const SIGNAL_PATH_RESET: u8 = 0x4B;
const INTF_CONFIG0: u8 = 0x4C;
const INTF_CONFIG1: u8 = 0x4D;
const PWR_MGMT0: u8 = 0x4E;
const GYRO_CONFIG0: u8 = 0x4F;
const ACCEL_CONFIG0: u8 = 0x50;
const FIFO_CONFIG1: u8 = 0x5F;
const SELF_TEST_CONFIG: u8 = 0x70;
const WHO_AM_I: u8 = 0x75;

const IDENTITY: u8 = 0x47;
const SOFT_RESET: u8 = 0x01;
/// The memory is counted in packets, and the most significant byte comes first everywhere.
const COUNT_PACKETS: u8 = 0x70;
/// The default with two reserved bits turned from 10 to 01: without it the gyros were found to
/// stand still for moments (three open autopilots name the bits, the data sheet does not).
const NO_STALLS: u8 = 0x51;
/// 200 readings a second.
const FORCE_4G: u8 = 0x47;
const FORCE_8G: u8 = 0x27;
const TURN_500DPS: u8 = 0x47;
/// Both with the lowest noise.
const ON: u8 = 0x0F;
/// Force, turn and temperature are stored.
const STORE_ALL: u8 = 0x07;
const STREAM: u8 = 0x40;
const FLUSH_MEMORY: u8 = 0x02;
/// All six axes, with the test's own supply.
const ALL_TESTS: u8 = 0x7F;

/// The upper half of the header of a packet of both.
const BOTH: u8 = 0x6;
/// What an axis holds while it has nothing to say.
const NOTHING: i16 = i16::MIN;

const SETTLE: Step = Step::Wait(100_000);
/// Six packets.
const GATHER: Step = Step::Wait(30_000);
const EMPTY: Step = Step::Write(SIGNAL_PATH_RESET, FLUSH_MEMORY);

/// An ICM-42688-P.
pub const CHIP: Chip = Chip {
    name: "icm-42688-p",
    identity: (WHO_AM_I, IDENTITY),
    start: &[
        Step::Write(DEVICE_CONFIG, SOFT_RESET),
        Step::Wait(10_000),
        Step::Write(INTF_CONFIG0, COUNT_PACKETS),
        Step::Write(INTF_CONFIG1, NO_STALLS),
        Step::Write(GYRO_CONFIG0, TURN_500DPS),
        Step::Write(ACCEL_CONFIG0, FORCE_4G),
        Step::Write(FIFO_CONFIG1, STORE_ALL),
        Step::Write(FIFO_CONFIG, STREAM),
        Step::Write(PWR_MGMT0, ON),
        SETTLE,
        EMPTY,
        GATHER,
        Step::Undeflected,
        Step::Write(SELF_TEST_CONFIG, ALL_TESTS),
        SETTLE,
        EMPTY,
        GATHER,
        Step::Deflected,
        Step::Write(SELF_TEST_CONFIG, 0),
        Step::Write(ACCEL_CONFIG0, FORCE_8G),
        SETTLE,
        EMPTY,
    ],
    flush: &[EMPTY],
    count: FIFO_COUNTH,
    items: packets,
    memory: FIFO_DATA,
    item: 16,
    most: 5,
    too_many: 12,
    decode,
    // 4096 counts for a g of 9.80665 m/s2, and 32768 for 500 degrees a second.
    scale: Scale::new(23_942_017, 26_631_611),
    // 50 to 1200 mg at 8192 counts a g; 60 degrees a second at 65.5 counts a degree, to full scale.
    force_deflection: (410, 9_830),
    turn_deflection: (3_930, 32_767),
};

/// Packets in its memory; it keeps the newest, and what was overwritten shows as a full memory.
fn packets(bytes: [u8; 2]) -> Option<usize> {
    Some(usize::from(u16::from_be_bytes(bytes)))
}

fn decode(packet: &[u8], readings: &mut Readings) {
    let Some((header, data)) = packet.split_first() else { return };
    let Some((force, rest)) = data.split_first_chunk::<6>() else { return };
    let Some((turn, rest)) = rest.split_first_chunk::<6>() else { return };
    let (Some(force), Some(turn)) = (big_endian_axes(force), big_endian_axes(turn)) else { return };
    if header >> 4 != BOTH || force.contains(&NOTHING) || turn.contains(&NOTHING) {
        return;
    }
    readings.force(force);
    readings.turn(turn);
    // 2.07 counts a degree from 25 degrees on.
    let counts = rest.first().map(|byte| i32::from(*byte as i8));
    readings.temperature_centicelsius = counts.map(|counts| 2_500 + counts * 10_000 / 207);
}
