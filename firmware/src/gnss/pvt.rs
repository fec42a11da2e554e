//! The payload of UBX-NAV-PVT.
//!
//! ```text
//! offset  4 year   6 month   7 day   8 hour   9 minute   10 second   11 what of them is valid
//!        20 kind of fix      21 flags, 1: within its limits
//!        48 north 52 east    56 down, mm/s    68 estimated error of the speed, mm/s
//! ```
//!
//! Source: as for [`frame`](super::frame).

use core::fmt;

/// Larger estimated errors than this are of no use: the filter's own reading is better (a guess).
const USABLE_ERROR_MMPS: u32 = 2_000;

/// Velocity over the ground in mm/s.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Velocity {
    /// Toward true north.
    pub north_mmps: i32,
    /// Toward the east.
    pub east_mmps: i32,
    /// Downward.
    pub down_mmps: i32,
}

/// Date and time of day, UTC.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Utc {
    /// Year.
    pub year: u16,
    /// Month, 1 to 12.
    pub month: u8,
    /// Day of the month.
    pub day: u8,
    /// Hour, minute and second.
    pub time: [u8; 3],
}

/// What a message says.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Pvt {
    /// The velocity, where it can be used.
    pub velocity: Option<Velocity>,
    /// The time, where it is known.
    pub utc: Option<Utc>,
}

impl Pvt {
    /// From a payload of 84 or 92 bytes; `None` for a shorter one.
    pub fn of(payload: &[u8]) -> Option<Self> {
        let byte = |at: usize| payload.get(at).copied();
        let word = |at: usize| Some(u32::from_le_bytes(*payload.get(at..)?.first_chunk()?));
        let (kind, flags, error) = (byte(20)?, byte(21)?, word(68)?);
        let velocity = Velocity {
            north_mmps: word(48)? as i32,
            east_mmps: word(52)? as i32,
            down_mmps: word(56)? as i32,
        };
        // A fix in three dimensions, by satellites alone or with dead reckoning.
        let is_usable = matches!(kind, 3 | 4)
            && flags & 1 != 0
            && error <= USABLE_ERROR_MMPS
            && velocity.is_possible();
        let utc = Utc {
            year: u16::from_le_bytes(*payload.get(4..)?.first_chunk()?),
            month: byte(6)?,
            day: byte(7)?,
            time: [byte(8)?, byte(9)?, byte(10)?],
        };
        // Date and time valid, and leap seconds known.
        let is_known = byte(11)? & 0x07 == 0x07;
        Some(Self { velocity: is_usable.then_some(velocity), utc: is_known.then_some(utc) })
    }
}

impl fmt::Display for Utc {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { year, month, day, time: [hour, minute, second] } = self;
        write!(f, "{year}-{month:02}-{day:02} {hour:02}:{minute:02}:{second:02}")
    }
}

impl Velocity {
    /// As the core has it: 250 m/s along each axis.
    fn is_possible(&self) -> bool {
        [self.north_mmps, self.east_mmps, self.down_mmps]
            .iter()
            .all(|speed| speed.unsigned_abs() <= 250_000)
    }
}
