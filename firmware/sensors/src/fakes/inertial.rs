//! A simulated LSM6DSO or ICM-42688-P: registers, a memory that fills by itself, its own test, and
//! noise. Registers and bits are typed from the data sheets' tables, not taken from the drivers.

use super::air::{Air, Trouble};
use crate::bus::{Reply, Transaction};
use chirrup_core::Micros;
use heapless::Deque;

/// Readings that the memory holds; a real one holds more, which takes longer to overrun.
const HOLDS: usize = 128;
/// Acceleration of gravity, m/s2.
const GRAVITY: f64 = 9.806_65;

/// Which sensor it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FakeImuKind {
    /// LSM6DSO.
    Lsm6dso,
    /// ICM-42688-P.
    Icm42688,
}

/// An inertial sensor.
#[derive(Clone, Debug)]
pub struct FakeImu {
    /// Which.
    pub kind: FakeImuKind,
    /// Its address.
    pub address: u8,
    /// Its fault; silent means that its memory stays empty.
    pub trouble: Trouble,
    /// An axis that does not answer the sensor's own test, 0 to 5: x, y, z of force, then of turn.
    pub deaf_axis: Option<usize>,
    /// Its temperature.
    pub celsius: f64,
    /// Noise in m/s2 and rad/s rms.
    pub noise: (f64, f64),
    /// What it reads of what it feels.
    pub gain: f64,
    /// Its clock, in readings per nominal reading.
    pub clock: f64,
    registers: [u8; 128],
    memory: Deque<[u8; 16], HOLDS>,
    has_overrun: bool,
    /// Readings made since it stores, and when that began.
    made: u32,
    storing_since: Micros,
    last: ([i16; 3], [i16; 3]),
    random: u32,
}

impl FakeImu {
    /// A healthy one.
    pub fn new(kind: FakeImuKind, address: u8) -> Self {
        Self {
            kind,
            address,
            trouble: Trouble::None,
            deaf_axis: None,
            celsius: 25.0,
            noise: (0.01, 0.0005),
            gain: 1.0,
            clock: 1.0,
            registers: [0; 128],
            memory: Deque::new(),
            has_overrun: false,
            made: 0,
            storing_since: Micros(0),
            last: Default::default(),
            random: 1,
        }
    }

    /// Power goes and comes.
    pub(super) fn lose_power(&mut self) {
        self.registers = [0; 128];
        self.memory.clear();
    }

    pub(super) fn answer(&mut self, now: Micros, asked: &Transaction, air: &impl Air) -> Reply {
        self.fill(now, air);
        match (asked.send.as_slice(), asked.read) {
            ([register, value], 0) => {
                self.write(now, *register, *value);
                Reply::new()
            }
            ([register], length) => self.read(*register, length),
            (_, length) => (0..length).map(|_| 0).collect(),
        }
    }

    fn register(&self, place: u8) -> u8 {
        self.registers.get(usize::from(place)).copied().unwrap_or(0)
    }

    fn write(&mut self, now: Micros, register: u8, value: u8) {
        use FakeImuKind::{Icm42688, Lsm6dso};
        // Bit 0 of CTRL3_C, and of DEVICE_CONFIG, resets.
        let resets = matches!((self.kind, register), (Lsm6dso, 0x12) | (Icm42688, 0x11));
        if resets && value & 1 != 0 {
            return self.lose_power();
        }
        if let Some(place) = self.registers.get_mut(usize::from(register)) {
            *place = value;
        }
        // FIFO_CTRL4 in bypass mode, and bit 1 of SIGNAL_PATH_RESET, empty the memory.
        let empties = match (self.kind, register) {
            (Lsm6dso, 0x0A) => value & 0x07 == 0,
            (Icm42688, 0x4B) => value & 0x02 != 0,
            _ => false,
        };
        if empties {
            self.memory.clear();
            self.has_overrun = false;
        }
        if empties || !self.is_storing() {
            (self.storing_since, self.made) = (now, 0);
        }
    }

    /// Whether both halves run, are stored, and the memory takes the newest.
    fn is_storing(&self) -> bool {
        match self.kind {
            // Rates in the upper half of CTRL1_XL, CTRL2_G and FIFO_CTRL3; FIFO mode 6.
            FakeImuKind::Lsm6dso => {
                self.register(0x10) >> 4 == 5
                    && self.register(0x11) >> 4 == 5
                    && self.register(0x09) == 0x55
                    && self.register(0x0A) & 7 == 6
            }
            // PWR_MGMT0 both low-noise; rates 7 are 200 Hz; FIFO_CONFIG stream; accel, gyro and
            // temperature in FIFO_CONFIG1.
            FakeImuKind::Icm42688 => {
                self.register(0x4E) & 0x0F == 0x0F
                    && self.register(0x4F) & 0x0F == 7
                    && self.register(0x50) & 0x0F == 7
                    && self.register(0x16) >> 6 == 1
                    && self.register(0x5F) & 0x07 == 7
            }
        }
    }

    /// Everything it stored until now.
    fn fill(&mut self, now: Micros, air: &impl Air) {
        if !self.is_storing() || self.trouble == Trouble::Silent {
            return;
        }
        let nominal_hz = if self.kind == FakeImuKind::Lsm6dso { 208.0 } else { 200.0 };
        let apart_us = 1e6 / (nominal_hz * self.clock);
        while (f64::from(self.made) + 1.0) * apart_us <= (now.0 - self.storing_since.0) as f64 {
            self.made += 1;
            let at = self.storing_since.0 + (f64::from(self.made) * apart_us) as i64;
            self.store(air.felt(Micros(at)));
        }
    }

    fn store(&mut self, (force, turn): ([f64; 3], [f64; 3])) {
        let (per_force, per_turn) = self.counts_per_unit();
        let (more_force, more_turn) = self.deflection();
        let mut counts = [0_i16; 6];
        for (axis, count) in counts.iter_mut().enumerate() {
            let hears = self.deaf_axis != Some(axis);
            let place = axis % 3;
            let of = |axes: &[f64; 3]| axes.get(place).copied().unwrap_or(0.0);
            let value = if axis < 3 {
                let moved = if hears { more_force } else { 0.0 };
                (self.gain * of(&force) + moved + self.noise.0 * self.gaussian()) * per_force
            } else {
                let moved = if hears { more_turn } else { 0.0 };
                (self.gain * of(&turn) + moved + self.noise.1 * self.gaussian()) * per_turn
            };
            // A conversion to an integer clips, as the sensor does.
            *count = (value + if value < 0.0 { -0.5 } else { 0.5 }) as i16;
        }
        let [fx, fy, fz, tx, ty, tz] = counts;
        if self.trouble != Trouble::Frozen {
            self.last = ([fx, fy, fz], [tx, ty, tz]);
        }
        let (force, turn) = self.last;
        match self.kind {
            FakeImuKind::Lsm6dso => {
                self.push(lsm6dso_word(1, turn));
                self.push(lsm6dso_word(2, force));
                // About twelve times a second.
                if self.made % 16 == 1 {
                    let temperature = ((self.celsius - 25.0) * 256.0) as i16;
                    self.push(lsm6dso_word(3, [temperature, 0, 0]));
                }
            }
            FakeImuKind::Icm42688 => {
                let temperature = ((self.celsius - 25.0) * 2.07) as i8;
                self.push(icm42688_packet(force, turn, temperature));
            }
        }
    }

    fn push(&mut self, item: [u8; 16]) {
        if self.memory.is_full() {
            self.memory.pop_front();
            self.has_overrun = true;
        }
        let _ = self.memory.push_back(item);
    }

    /// Counts in 1 m/s2 and 1 rad/s, by the ranges in the registers.
    fn counts_per_unit(&self) -> (f64, f64) {
        let per_degree = 180.0 / core::f64::consts::PI;
        match self.kind {
            FakeImuKind::Lsm6dso => {
                let milli_g = match self.register(0x10) >> 2 & 3 {
                    0 => 0.061,
                    1 => 0.488,
                    2 => 0.122,
                    _ => 0.244,
                };
                let milli_degrees = match self.register(0x11) >> 2 & 3 {
                    0 => 8.75,
                    1 => 17.5,
                    2 => 35.0,
                    _ => 70.0,
                };
                (1_000.0 / (milli_g * GRAVITY), per_degree * 1_000.0 / milli_degrees)
            }
            FakeImuKind::Icm42688 => {
                let g = f64::from(16_u8 >> (self.register(0x50) >> 5 & 3));
                let degrees = f64::from(2_000_u16 >> (self.register(0x4F) >> 5 & 3));
                (32_768.0 / (g * GRAVITY), per_degree * 32_768.0 / degrees)
            }
        }
    }

    /// What its own test adds to every axis, in m/s2 and rad/s.
    fn deflection(&self) -> (f64, f64) {
        let (milli_g, degrees, is_on) = match self.kind {
            FakeImuKind::Lsm6dso => (400.0, 45.0, self.register(0x14) & 0x0F == 0x05),
            FakeImuKind::Icm42688 => (500.0, 150.0, self.register(0x70) & 0x7F == 0x7F),
        };
        if !is_on {
            return (0.0, 0.0);
        }
        (milli_g / 1_000.0 * GRAVITY, degrees * core::f64::consts::PI / 180.0)
    }

    fn read(&mut self, register: u8, length: usize) -> Reply {
        let spoilt = u8::from(self.trouble == Trouble::Spoilt);
        let items = (self.memory.len() as u16).to_le_bytes();
        let [low, high] = items;
        match (self.kind, register) {
            (FakeImuKind::Lsm6dso, 0x0F) => Reply::from_iter([0x6C ^ spoilt]),
            (FakeImuKind::Icm42688, 0x75) => Reply::from_iter([0x47 ^ spoilt]),
            (FakeImuKind::Lsm6dso, 0x3A) => {
                let overrun = if core::mem::take(&mut self.has_overrun) { 0x48 } else { 0 };
                Reply::from_iter([low, high & 0x03 | overrun])
            }
            // Big-endian packets, if INTF_CONFIG0 says so.
            (FakeImuKind::Icm42688, 0x2E) if self.register(0x4C) & 0x60 == 0x60 => {
                Reply::from_iter([high, low])
            }
            (FakeImuKind::Lsm6dso, 0x78) => self.items::<7>(length),
            (FakeImuKind::Icm42688, 0x30) => self.items::<16>(length),
            _ => (0..length).map(|place| self.register(register + place as u8)).collect(),
        }
    }

    /// Whole items of so many bytes, and 0xFF where there is none.
    fn items<const N: usize>(&mut self, length: usize) -> Reply {
        let mut reply = Reply::new();
        for _ in 0..length / N {
            let item = self.memory.pop_front().unwrap_or([0xFF; 16]);
            let _ = reply.extend_from_slice(item.get(..N).unwrap_or_default());
        }
        reply
    }

    /// Twelve uniform numbers less six: near enough to normal, and the same on every run.
    fn gaussian(&mut self) -> f64 {
        (0..12).fold(-6.0, |sum, _| {
            self.random = self.random.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            sum + f64::from(self.random) / 4_294_967_296.0
        })
    }
}

/// A word: its tag, then three axes, the least significant byte first.
fn lsm6dso_word(tag: u8, axes: [i16; 3]) -> [u8; 16] {
    let [[x0, x1], [y0, y1], [z0, z1]] = axes.map(i16::to_le_bytes);
    [tag << 3, x0, x1, y0, y1, z0, z1, 0, 0, 0, 0, 0, 0, 0, 0, 0]
}

/// A packet of both with its header, the most significant byte first, and a time that is not read.
fn icm42688_packet(force: [i16; 3], turn: [i16; 3], temperature: i8) -> [u8; 16] {
    let [[fx1, fx0], [fy1, fy0], [fz1, fz0]] = force.map(i16::to_be_bytes);
    let [[tx1, tx0], [ty1, ty0], [tz1, tz0]] = turn.map(i16::to_be_bytes);
    let temperature = temperature as u8;
    [0x68, fx1, fx0, fy1, fy0, fz1, fz0, tx1, tx0, ty1, ty0, tz1, tz0, temperature, 0x12, 0x34]
}
