//! ST's LSM6DSO: its registers, and a word of its memory.
//!
//! ```text
//! word: tag (what it is: upper five bits)   x low, x high, y low, y high, z low, z high
//! ```
//!
//! Ranges: 8 g, because a glider's wing may be pulled to 5.3 g (CS-22's limit for aerobatics is 7,
//! from memory) and a landing on wheels gave 5 g; noise is nearly that of the 4 g range. 500
//! degrees a second, twice what a spin turns; a step is half the noise, so 250 would gain nothing.
//! Rate: 208 a second, low-passed by the sensor at half of it (accelerometers) and 67 Hz (gyros).
//!
//! Source: LSM6DSO data sheet DS12140 Rev 2, table 2 for the limits of the self-test and 6.5.7 for
//! the words; its table 2 for sensitivities and its register tables from memory, as application
//! note AN5192 for the procedure of the test and the reading of several words at once. Addresses
//! and values of the registers were compared with an open driver, ArduPilot's.
//!
//! The LSM6DSOX has the same identity and registers, and serves as well (from memory). The
//! LSM6DSO32 has the same identity and twice the range. It is not for this instrument: its
//! forces would read half.

use super::batch::Scale;
use super::chip::{Chip, Readings, Step, little_endian_axes};

/// The address with pin SA0 low.
pub const ADDRESS_SA0_LOW: u8 = 0x6A;
/// The address with pin SA0 high.
pub const ADDRESS_SA0_HIGH: u8 = 0x6B;

const FIFO_CTRL3: u8 = 0x09;
const FIFO_CTRL4: u8 = 0x0A;
const WHO_AM_I: u8 = 0x0F;
const CTRL1_XL: u8 = 0x10;
const CTRL2_G: u8 = 0x11;
const CTRL3_C: u8 = 0x12;
const CTRL5_C: u8 = 0x14;
const CTRL9_XL: u8 = 0x18;
const FIFO_STATUS1: u8 = 0x3A;
const FIFO_DATA_OUT_TAG: u8 = 0x78;

const IDENTITY: u8 = 0x6C;
const SOFTWARE_RESET: u8 = 0x01;
/// Registers do not change while they are read, and addresses count up.
const BLOCK_UPDATE_AND_INCREMENT: u8 = 0x44;
/// The default with I3C, a bus that shares the pins, off.
const NO_I3C: u8 = 0xE2;
/// 208 readings a second at 4 g and 250 degrees a second, for the test.
const FORCE_208HZ_4G: u8 = 0x58;
const TURN_208HZ_250DPS: u8 = 0x50;
const FORCE_208HZ_8G: u8 = 0x5C;
const TURN_208HZ_500DPS: u8 = 0x54;
const BOTH_TESTS_POSITIVE: u8 = 0x05;
const BOTH_STORED_AT_208HZ: u8 = 0x55;
/// Temperature is stored 12.5 times a second.
const STORE: u8 = 0x26;
const STORE_NOTHING: u8 = 0x00;
/// Some readings were overwritten: now, or since it was last asked.
const OVERRUN: u8 = 0x48;

const TAG_TURN: u8 = 0x01;
const TAG_FORCE: u8 = 0x02;
const TAG_TEMPERATURE: u8 = 0x03;

/// Its memory is emptied by storing nothing, and filled again by storing.
const EMPTY: Step = Step::Write(FIFO_CTRL4, STORE_NOTHING);
const AGAIN: Step = Step::Write(FIFO_CTRL4, STORE);

/// Settling after a change of range or of the test: 100 ms in AN5192.
const SETTLE: Step = Step::Wait(100_000);
/// Six readings of each.
const GATHER: Step = Step::Wait(30_000);

/// An LSM6DSO.
pub const CHIP: Chip = Chip {
    name: "lsm6dso",
    identity: (WHO_AM_I, IDENTITY),
    start: &[
        Step::Write(CTRL3_C, SOFTWARE_RESET),
        Step::Wait(10_000),
        Step::Write(CTRL3_C, BLOCK_UPDATE_AND_INCREMENT),
        Step::Write(CTRL9_XL, NO_I3C),
        Step::Write(FIFO_CTRL3, BOTH_STORED_AT_208HZ),
        Step::Write(CTRL1_XL, FORCE_208HZ_4G),
        Step::Write(CTRL2_G, TURN_208HZ_250DPS),
        SETTLE,
        EMPTY,
        AGAIN,
        GATHER,
        Step::Undeflected,
        Step::Write(CTRL5_C, BOTH_TESTS_POSITIVE),
        SETTLE,
        EMPTY,
        AGAIN,
        GATHER,
        Step::Deflected,
        Step::Write(CTRL5_C, 0),
        Step::Write(CTRL1_XL, FORCE_208HZ_8G),
        Step::Write(CTRL2_G, TURN_208HZ_500DPS),
        SETTLE,
        EMPTY,
        AGAIN,
    ],
    flush: &[EMPTY, AGAIN],
    count: FIFO_STATUS1,
    items: words,
    memory: FIFO_DATA_OUT_TAG,
    item: 7,
    most: 12,
    too_many: 24,
    decode,
    // 0.244 mg and 17.5 mdps a count.
    scale: Scale::new(23_928_226, 30_543_262),
    // 50 to 1700 mg at 0.122 mg a count, 20 to 80 dps at 8.75 mdps.
    force_deflection: (410, 13_934),
    turn_deflection: (2_286, 9_143),
};

/// Words in its memory, ten bits.
fn words([low, high]: [u8; 2]) -> Option<usize> {
    (high & OVERRUN == 0).then_some(usize::from(u16::from_le_bytes([low, high & 0x03])))
}

fn decode(word: &[u8], readings: &mut Readings) {
    let Some((tag, data)) = word.split_first() else { return };
    let Some(axes) = little_endian_axes(data) else { return };
    match tag >> 3 {
        TAG_FORCE => readings.force(axes),
        TAG_TURN => readings.turn(axes),
        // 256 counts a degree from 25 degrees on.
        TAG_TEMPERATURE => {
            let [counts, ..] = axes;
            readings.temperature_centicelsius = Some(2_500 + i32::from(counts) * 100 / 256);
        }
        _ => {}
    }
}
