//! A row as bits: the first of a page whole, the others as differences to the row before.
//!
//! ```text
//! row     time | groups that are there (only where they changed) | [a velocity comes] | numbers
//! number  first in the page: 6 bits of length, the number, 5 bits of its code's parameter
//!         else: the difference to the one before, in a Rice code
//! Rice    u = difference, its sign in the lowest bit; (u >> k) ones, a zero, k bits of u
//!         24 ones: u follows whole (of a time: one bit says whether groups follow instead)
//! ```
//!
//! A barometer's noise is white, so a first difference is Gaussian, and a Rice code is within a
//! tenth of a bit of what a Gaussian needs. Its parameter k follows the mean size of the
//! differences before, which reader and writer both know, so it is stored once a page.
//! Time is on a grid of frames: what is coded is by how much a step differs from a frame.
//!
//! Source: Rice, Plaunt, "Adaptive variable-length coding for efficient compression of spacecraft
//! television data", IEEE Trans. Commun. 19 (1971).

use super::bits::Bits;
use super::row::{GROUND, GROUP_OF, GROUPS, NUMBERS, Numbers};
use chirrup_sensors::sensor::FRAME;

/// So many ones say that a number follows whole.
const LONGEST: u32 = 24;
/// Shares of the mean, as a power of two, that one difference has.
const MEMORY: u32 = 5;
/// Larger differences count as this in the mean.
const LARGEST: u32 = 1 << 26;

/// How large a number's differences have been.
#[derive(Clone, Copy, Debug)]
struct Size(u32);

impl Size {
    /// The parameter: of ln 2 times the mean the whole power of two, which is the best for values
    /// that fall off exponentially, and near it for Gaussian ones.
    fn parameter(self) -> u32 {
        let mean = self.0 >> MEMORY;
        mean.checked_ilog2().unwrap_or(0)
    }

    /// As if its parameter had been right for long.
    fn of_parameter(k: u32) -> Self {
        Self(((3 << k.min(25)) >> 1) << MEMORY)
    }

    fn take(&mut self, magnitude: u32) {
        self.0 = self.0 - (self.0 >> MEMORY) + magnitude.min(LARGEST);
    }
}

/// Follows a number through its noise: level and slope, in 256ths. Of white noise a first
/// difference has twice the variance, and this little more than once.
#[derive(Clone, Copy, Debug, Default)]
struct Track {
    level: i64,
    slope: i64,
}

impl Track {
    fn from(value: i32) -> Self {
        Self { level: i64::from(value) << 8, slope: 0 }
    }

    fn next(&self) -> i32 {
        (self.level.wrapping_add(self.slope) >> 8) as i32
    }

    /// Gains of a quarter and a 32nd (tried: others were no better on barometers' noise).
    fn take(&mut self, value: i32) {
        self.level = self.level.wrapping_add(self.slope);
        let off = (i64::from(value) << 8).wrapping_sub(self.level);
        self.level = self.level.wrapping_add(off >> 2);
        self.slope = self.slope.wrapping_add(off >> 5);
    }
}

/// One number of the row.
#[derive(Clone, Copy, Debug)]
struct Number {
    before: Option<i32>,
    track: Track,
    /// How far off the value before has been, and the track.
    size: Size,
    track_size: Size,
}

impl Number {
    fn carry(&mut self, bits: &mut impl Bits, value: i32) -> Option<i32> {
        let Some(before) = self.before else {
            let value = self.whole(bits, value)?;
            self.track = Track::from(value);
            return Some(*self.before.insert(value));
        };
        let track = self.track.next();
        let is_tracked = self.track_size.0 < self.size.0;
        let (guess, size) = if is_tracked { (track, self.track_size) } else { (before, self.size) };
        let off = zigzag(value.wrapping_sub(guess));
        let off = match rice(bits, off, size.parameter())? {
            Rice::Value(value) => value,
            Rice::Long => bits.carry(off, 32)?,
        };
        let value = guess.wrapping_add(unzigzag(off));
        self.size.take(zigzag(value.wrapping_sub(before)));
        self.track_size.take(zigzag(value.wrapping_sub(track)));
        self.track.take(value);
        Some(*self.before.insert(value))
    }

    fn whole(&mut self, bits: &mut impl Bits, value: i32) -> Option<i32> {
        let value = zigzag(value);
        let length = bits.carry(32 - value.leading_zeros(), 6)?;
        let value = bits.carry(value, length)?;
        let parameter = bits.carry(self.size.parameter(), 5)?;
        self.size = Size::of_parameter(parameter);
        self.track_size = self.size;
        Some(unzigzag(value))
    }
}

/// What both ends of a page remember of the rows before.
#[derive(Clone, Debug)]
pub struct Coder {
    time_us: Option<i64>,
    time_size: Size,
    has: u8,
    numbers: [Number; NUMBERS],
}

impl Default for Coder {
    fn default() -> Self {
        let size = Size::of_parameter(6);
        let number = Number { before: None, track: Track::default(), size, track_size: size };
        Self { time_us: None, time_size: Size::of_parameter(2), has: 0, numbers: [number; NUMBERS] }
    }
}

impl Coder {
    /// For the next page: only how large the differences were is remembered.
    pub fn begin_page(&mut self) {
        self.time_us = None;
        self.has = 0;
        for number in &mut self.numbers {
            number.before = None;
        }
    }

    /// Writes the row, or reads one; `None` where it does not fit, or where none is left. The
    /// memory is then of no use.
    pub fn carry(&mut self, bits: &mut impl Bits, row: &Numbers) -> Option<Numbers> {
        // Once a velocity has come, each row of the page says whether it has one.
        let wanted = row.has | self.has & GROUND;
        let mut carried = Numbers { time_us: self.time(bits, row.time_us, wanted)?, ..*row };
        carried.has = self.has;
        if self.has & GROUND != 0 && bits.carry(u32::from(row.has & GROUND != 0), 1)? == 0 {
            carried.has &= !GROUND;
        }
        let places = carried.values.iter_mut().zip(GROUP_OF).zip(&mut self.numbers);
        for ((value, group), number) in places {
            *value = if group == 0 || carried.has & group != 0 {
                number.carry(bits, *value)?
            } else {
                0
            };
        }
        Some(carried)
    }

    fn time(&mut self, bits: &mut impl Bits, time_us: i64, has: u8) -> Option<i64> {
        let Some(before) = self.time_us else {
            self.has = bits.carry(has.into(), GROUPS)? as u8;
            let time_us = whole(bits, time_us)?;
            let parameter = bits.carry(self.time_size.parameter(), 5)?;
            self.time_size = Size::of_parameter(parameter);
            return Some(*self.time_us.insert(time_us));
        };
        let expected = before.wrapping_add(FRAME.0);
        let off = time_us.wrapping_sub(expected);
        loop {
            // What does not fit a code is sent whole; so are groups that change.
            let short = i32::try_from(off).ok().map(zigzag).filter(|_| has == self.has);
            let is_long = u32::MAX;
            let code = short.unwrap_or(is_long);
            let time_us = match rice(bits, code, self.time_size.parameter())? {
                Rice::Value(value) => {
                    self.time_size.take(value);
                    expected.wrapping_add(unzigzag(value).into())
                }
                Rice::Long if bits.carry(u32::from(has != self.has), 1)? == 1 => {
                    self.has = bits.carry(has.into(), GROUPS)? as u8;
                    continue;
                }
                Rice::Long => whole(bits, time_us)?,
            };
            return Some(*self.time_us.insert(time_us));
        }
    }
}

/// A time in as few bytes as it has, their number less one before them.
fn whole(bits: &mut impl Bits, value: i64) -> Option<i64> {
    let value = (value << 1 ^ value >> 63) as u64;
    let bytes = 8 - (value | 1).leading_zeros() / 8;
    let bytes = bits.carry(bytes - 1, 3)? + 1;
    let mut carried = 0;
    for byte in (0..bytes).rev() {
        carried = carried << 8 | u64::from(bits.carry((value >> (8 * byte)) as u32 & 0xFF, 8)?);
    }
    Some((carried >> 1) as i64 ^ -((carried & 1) as i64))
}

enum Rice {
    Value(u32),
    Long,
}

fn rice(bits: &mut impl Bits, value: u32, parameter: u32) -> Option<Rice> {
    let ones = value >> parameter;
    for count in 0..LONGEST {
        if bits.carry(u32::from(count < ones), 1)? == 0 {
            let rest = bits.carry(value, parameter)?;
            return Some(Rice::Value(count << parameter | rest & ((1 << parameter) - 1)));
        }
    }
    Some(Rice::Long)
}

/// The sign in the lowest bit, so that small magnitudes are small numbers.
fn zigzag(value: i32) -> u32 {
    (value << 1 ^ value >> 31) as u32
}

fn unzigzag(value: u32) -> i32 {
    (value >> 1) as i32 ^ -((value & 1) as i32)
}
