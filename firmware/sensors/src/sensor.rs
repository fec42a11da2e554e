//! The common interface of sensor drivers: a driver requests bus transactions, takes the answers,
//! and measures once a frame.
//!
//! Frames are [`FRAME`] long and begin at whole multiples of it on the instrument's clock, so that
//! independent sensors convert at the same time, and their pressures can be compared.

use crate::bus::{BusFault, Transaction};
use chirrup_core::Micros;
use core::fmt;

/// One sample of every sensor: 50 a second.
pub const FRAME: Micros = Micros(20_000);

/// The result of one conversion.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Measurement {
    /// The middle of the conversion.
    pub time: Micros,
    /// Raw counts, to check that the sensor still works.
    pub counts: u32,
    /// Pressure in 1/64 Pa; of a differential sensor, the difference.
    pub pressure_64ths_pa: i32,
    /// Temperature of the sensor in 0.01 degrees Celsius.
    pub temperature_centicelsius: i32,
}

/// A driver's request.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Wanted {
    /// This, now.
    Transact(Transaction),
    /// Nothing before this time.
    Nothing(Micros),
}

/// What the place of a sensor needs of a measurement, whatever was measured.
pub trait Measured: Copy {
    /// When it was measured.
    fn time(&self) -> Micros;
    /// Raw counts, to check that the sensor still works: a working one changes them.
    fn counts(&self) -> u32;
}

impl Measured for Measurement {
    fn time(&self) -> Micros {
        self.time
    }

    fn counts(&self) -> u32 {
        self.counts
    }
}

/// What is wrong with a sensor.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fault {
    /// No device answers at its address.
    NoAnswer,
    /// The transfer failed.
    Broken,
    /// A line of the bus is held down.
    BusStuck,
    /// It identifies itself as something else.
    WrongIdentity(u8),
    /// It is an SPL07-003 or SPA06-003, which the driver of a [`dps310`](crate::dps310) would read
    /// wrongly.
    Spl07OrSpa06,
    /// Its calibration is not what the factory wrote.
    BadCalibration,
    /// It did not convert.
    NoResult,
    /// It reports a fault of its own.
    SaysFaulty,
    /// It forgot what was written to it, as after a dip of its supply.
    Restarted,
    /// It repeats one value bit for bit.
    Frozen,
    /// It measured more than its memory holds, or than can be read in time.
    Overrun,
    /// The pressure is beyond what it can measure.
    BeyondRange,
}

impl Fault {
    /// The fault for a failed transaction.
    pub fn of_bus(fault: BusFault) -> Self {
        match fault {
            BusFault::NoAnswer => Fault::NoAnswer,
            BusFault::Stuck => Fault::BusStuck,
            BusFault::Broken => Fault::Broken,
        }
    }
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Fault::NoAnswer => f.write_str("no answer"),
            Fault::Broken => f.write_str("stops in the middle of a transfer"),
            Fault::BusStuck => f.write_str("a bus line is held low"),
            Fault::WrongIdentity(id) => write!(f, "unknown chip id 0x{id:02x}"),
            Fault::Spl07OrSpa06 => f.write_str("SPL07-003 or SPA06-003, not supported"),
            Fault::BadCalibration => f.write_str("wrong calibration checksum"),
            Fault::NoResult => f.write_str("does not convert"),
            Fault::Restarted => f.write_str("restarts by itself: check its supply"),
            Fault::SaysFaulty => f.write_str("reports a fault of its own"),
            Fault::Frozen => f.write_str("repeats one value"),
            Fault::Overrun => f.write_str("measures more than is read"),
            Fault::BeyondRange => f.write_str("pressure is beyond its range"),
        }
    }
}

/// A driver's result after an answer.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Outcome<M = Measurement> {
    /// Nothing yet.
    Going,
    /// The sensor is known and ready to measure.
    Ready,
    /// A measurement.
    Measured(M),
    /// It failed; a driver that is ready tries again with the next frame, any other has to restart.
    Failed(Fault),
}

/// A sensor's protocol as a state machine, and what it measures.
pub trait Driver<M = Measurement> {
    /// Its request for the bus now.
    fn wanted(&mut self, now: Micros) -> Wanted;
    /// Takes the answer to the last [`Wanted::Transact`], and when it was over on the wire.
    fn answer(&mut self, now: Micros, answer: Result<&[u8], BusFault>) -> Outcome<M>;
    /// Its name, for messages.
    fn name(&self) -> &'static str;
    /// Its address on the bus.
    fn address(&self) -> u8;
}

/// The first frame that begins after `time`.
pub fn next_frame(time: Micros) -> Micros {
    Micros(time.0.div_euclid(FRAME.0).saturating_add(1).saturating_mul(FRAME.0))
}

/// Whether a pressure may still be converted in the frame that `time` is in: only near its
/// beginning, so that sensors stay in step and two conversions of one sensor never overlap.
fn is_near_its_beginning(time: Micros) -> bool {
    time.0.rem_euclid(FRAME.0) < FRAME.0 / 4
}

/// A sensor's turn to convert a pressure: once a frame, near its beginning.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Turn {
    last_frame: i64,
}

impl Turn {
    /// No pressure was converted yet.
    pub const FIRST: Self = Self { last_frame: i64::MIN };

    /// Whether a pressure may be converted now.
    pub fn is_due(self, now: Micros) -> bool {
        frame_of(now) != self.last_frame && is_near_its_beginning(now)
    }

    /// A conversion was begun now, or failed to begin: the next is in the next frame.
    pub fn take(&mut self, now: Micros) {
        self.last_frame = frame_of(now);
    }
}

/// The frame that `time` is in.
pub fn frame_of(time: Micros) -> i64 {
    time.0.div_euclid(FRAME.0)
}

/// `time` and `later` after it.
pub fn after(time: Micros, later: Micros) -> Micros {
    Micros(time.0.saturating_add(later.0))
}

/// The bytes of an answer as a number, the most significant first; `None` for an answer of another
/// length.
pub fn big_endian<const N: usize>(bytes: &[u8]) -> Option<u32> {
    let bytes: [u8; N] = bytes.try_into().ok()?;
    Some(bytes.into_iter().fold(0, |number, byte| number << 8 | u32::from(byte)))
}

/// The nearest integer, halves away from zero; saturates at the ends of `i32`.
pub fn rounded(value: f64) -> i32 {
    (if value < 0.0 { value - 0.5 } else { value + 0.5 }) as i32
}
