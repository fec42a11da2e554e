//! What distinguishes one inertial sensor from another: addresses, registers, and the bytes of a
//! reading.

use super::batch::Scale;
use super::sums::Sums;

/// One step of a sensor's start.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Step {
    /// Write this into a register.
    Write(u8, u8),
    /// Wait for so many microseconds.
    Wait(i64),
    /// Read what it measures by itself.
    Undeflected,
    /// Read what it measures while it deflects itself, and compare.
    Deflected,
}

/// A kind of sensor.
#[derive(Debug)]
pub struct Chip {
    /// Its name, for messages.
    pub name: &'static str,
    /// The register of its identity, and what that holds.
    pub identity: (u8, u8),
    /// What it needs at the start, its own test included; afterwards it measures into its memory,
    /// which is empty.
    pub start: &'static [Step],
    /// Empties its memory.
    pub flush: &'static [Step],
    /// The register of two bytes that counts the items in its memory.
    pub count: u8,
    /// The items of those two bytes; `None` where it says that some were lost.
    pub items: fn([u8; 2]) -> Option<usize>,
    /// The register from which its memory is read.
    pub memory: u8,
    /// Bytes of an item.
    pub item: usize,
    /// Items that are read at once.
    pub most: usize,
    /// Items that show that it is not read in time.
    pub too_many: usize,
    /// Takes an item.
    pub decode: fn(&[u8], &mut Readings),
    /// What counts mean when it measures.
    pub scale: Scale,
    /// By how many counts its own test must move every accelerometer, at the range of the test.
    pub force_deflection: (u32, u32),
    /// The same for every gyro.
    pub turn_deflection: (u32, u32),
}

/// What was read at once.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Readings {
    /// Accelerometers.
    pub force: Sums,
    /// Gyros.
    pub turn: Sums,
    /// Temperature in 0.01 degrees Celsius, if it was among them.
    pub temperature_centicelsius: Option<i32>,
    last_force: u32,
    last_turn: u32,
}

impl Readings {
    /// Takes a reading of the accelerometers.
    pub fn force(&mut self, axes: [i16; 3]) {
        self.force.add(axes);
        self.last_force = mixed(axes);
    }

    /// Takes a reading of the gyros.
    pub fn turn(&mut self, axes: [i16; 3]) {
        self.turn.add(axes);
        self.last_turn = mixed(axes);
    }

    /// The last counts of both, mixed: a working sensor changes them.
    pub fn last(&self) -> u32 {
        self.last_force ^ self.last_turn.rotate_left(5)
    }
}

fn mixed(axes: [i16; 3]) -> u32 {
    let [x, y, z] = axes.map(|axis| u32::from(axis as u16));
    x ^ y.rotate_left(11) ^ z.rotate_left(22)
}

/// Three axes of six bytes, the most significant of each first.
pub fn big_endian_axes(bytes: &[u8]) -> Option<[i16; 3]> {
    let [x1, x0, y1, y0, z1, z0] = *bytes.first_chunk::<6>()?;
    Some([[x1, x0], [y1, y0], [z1, z0]].map(i16::from_be_bytes))
}

/// Three axes of six bytes, the least significant of each first.
pub fn little_endian_axes(bytes: &[u8]) -> Option<[i16; 3]> {
    let [x0, x1, y0, y1, z0, z1] = *bytes.first_chunk::<6>()?;
    Some([[x0, x1], [y0, y1], [z0, z1]].map(i16::from_le_bytes))
}
