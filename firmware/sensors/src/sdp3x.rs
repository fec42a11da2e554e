//! The SDP31, SDP32 and SDP33 for airspeed: nine bytes, each word with a checksum, to a
//! differential pressure and a temperature.
//!
//! ```text
//! bytes 0, 1: pressure counts    2: checksum     P = counts / scale          (Pa)
//! bytes 3, 4: temperature counts 5: checksum     T = counts / 200            (degrees Celsius)
//! bytes 6, 7: scale              8: checksum     60 SDP31, 240 SDP32, 20 SDP33  (counts per Pa)
//!
//! checksum: CRC-8 of the two bytes, polynomial x^8 + x^5 + x^4 + 1 (0x31), started at 0xFF
//! ```
//!
//! The scale in the answer is the sensor's range, so that no setting is needed:
//!
//! | sensor | full scale, Pa | indicated airspeed there, km/h | for |
//! |---|---|---|---|
//! | SDP33 | 1500 | 178 | slow gliders, paragliders, hang gliders |
//! | SDP31 | 500 | 103 | too little for most gliders |
//! | SDP32 | 125 | 51 | no airspeed |
//!
//! **Above its range it knows nothing of speed.** A reading beyond 99 % of the range is a fault
//! ([`BeyondRange`](crate::sensor::Fault::BeyondRange)) and no pressure: a speed that stands still
//! would turn each pull-up into a climb. Fly faster than the table, and an MS4525DO is the sensor.
//!
//! # It measures a flow
//!
//! The sensor lets a little air through from one port to the other and measures what that cools.
//! Its counts are a pressure where the air is as dense as at its calibration, at 966 hPa; elsewhere
//!
//! ```text
//! P = P_read 96600 / P_static
//! ```
//!
//! ([`at_static_64ths_pa`]), which at 3000 m is a third more. Hoses must be short and wide, since
//! the flow through them costs pressure; and it must have a pitot and static line of its own, never
//! those of the required airspeed indicator, through which it would let air pass.
//!
//! # Accuracy
//!
//! Zero within 0.1 Pa (SDP31) and without drift, span 3 % of reading: half as much of the speed.
//! The pressure here is the count divided by the scale, to 1/64 Pa.
//!
//! Sources: data sheets SDP3x-Digital and SDP33, "digital interface description" (words, scale,
//! checksum with its example 0xBEEF -> 0x92, which other sheets of the maker print too), from
//! memory; the scales, addresses and the correction to 96600 Pa also as autopilots' drivers and
//! libraries have them (PX4, `sdp3x` and `airspeed`). The speeds are `sqrt(2 P / 1.225)`.
//!
//! Other drivers: crate `sdp8xx` 0.3 waits and gives `f32`; it is the reference of the tests.

pub mod driver;

use crc::{CRC_8_NRSC_5, Crc, NoTable};

/// Bytes of a whole result.
pub const RESULT_BYTES: usize = 9;

/// The static pressure at which counts are pascals, in 1/64 Pa.
const CALIBRATED_AT: i64 = 96_600 * 64;

/// Polynomial 0x31, started at 0xFF, nothing reflected: known as CRC-8/NRSC-5.
const CRC8: Crc<u8, NoTable> = Crc::<u8, NoTable>::new(&CRC_8_NRSC_5);

/// One result.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Reading {
    /// Pressure counts.
    pub counts: i16,
    /// Temperature in 1/200 degrees Celsius.
    pub temperature_200ths: i16,
    /// Which sensor.
    pub model: Model,
}

/// A sensor of the family.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Model {
    /// 500 Pa.
    Sdp31,
    /// 125 Pa.
    Sdp32,
    /// 1500 Pa.
    Sdp33,
}

/// Why nine bytes are no result.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Wrong {
    /// A checksum is.
    Checksum,
    /// The scale is none of the family's.
    Scale(u16),
}

impl Model {
    /// The sensor with this scale.
    pub fn of_scale(scale: u16) -> Option<Self> {
        match scale {
            60 => Some(Model::Sdp31),
            240 => Some(Model::Sdp32),
            20 => Some(Model::Sdp33),
            _ => None,
        }
    }

    /// Counts in a pascal.
    pub fn scale(self) -> i32 {
        match self {
            Model::Sdp31 => 60,
            Model::Sdp32 => 240,
            Model::Sdp33 => 20,
        }
    }

    /// Full scale in Pa, on either side of zero.
    pub fn range_pa(self) -> i32 {
        match self {
            Model::Sdp31 => 500,
            Model::Sdp32 => 125,
            Model::Sdp33 => 1_500,
        }
    }

    /// Its name, for messages.
    pub fn name(self) -> &'static str {
        match self {
            Model::Sdp31 => "sdp31",
            Model::Sdp32 => "sdp32",
            Model::Sdp33 => "sdp33",
        }
    }
}

impl Reading {
    /// From the nine bytes of a read.
    ///
    /// # Errors
    /// A checksum or the scale is wrong.
    pub fn from_bytes(bytes: [u8; RESULT_BYTES]) -> Result<Self, Wrong> {
        let [p1, p0, p, t1, t0, t, s1, s0, s] = bytes;
        let [pressure, temperature, scale] =
            [word([p1, p0, p]), word([t1, t0, t]), word([s1, s0, s])];
        let (Some(pressure), Some(temperature), Some(scale)) = (pressure, temperature, scale)
        else {
            return Err(Wrong::Checksum);
        };
        let model = Model::of_scale(scale).ok_or(Wrong::Scale(scale))?;
        Ok(Self { counts: pressure as i16, temperature_200ths: temperature as i16, model })
    }

    /// Pressure as read, in 1/64 Pa, rounded; `None` beyond 99 % of the range.
    pub fn pressure_64ths_pa(&self) -> Option<i32> {
        let counts = i32::from(self.counts);
        let scale = self.model.scale();
        let is_within = counts.abs() * 100 <= self.model.range_pa() * scale * 99;
        is_within.then_some((2 * 64 * counts + scale).div_euclid(2 * scale))
    }

    /// Temperature of the sensor in 0.01 degrees Celsius, rounded down.
    pub fn temperature_centicelsius(&self) -> i32 {
        i32::from(self.temperature_200ths).div_euclid(2)
    }
}

/// A pressure as read at a static pressure, both in 1/64 Pa, as a true pressure. As read for a
/// static pressure below 100 hPa, which is none that anyone flies in.
pub fn at_static_64ths_pa(read_64ths_pa: i32, static_64ths_pa: i32) -> i32 {
    let static_64ths_pa = i64::from(static_64ths_pa);
    if static_64ths_pa < 10_000 * 64 {
        return read_64ths_pa;
    }
    let twice = 2 * i64::from(read_64ths_pa) * CALIBRATED_AT + static_64ths_pa;
    twice.div_euclid(2 * static_64ths_pa) as i32
}

/// A word whose checksum is right.
fn word([high, low, checksum]: [u8; 3]) -> Option<u16> {
    (CRC8.checksum(&[high, low]) == checksum).then_some(u16::from_be_bytes([high, low]))
}

#[cfg(test)]
mod tests;
