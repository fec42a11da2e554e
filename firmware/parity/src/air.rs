//! A flight computed in integers: pressures in 1/64 Pa as from a barometer's driver, with sensor
//! faults mixed in.
//!
//! Random numbers are `x <- 1664525 x + 1013904223` modulo 2^32, of which the upper bits are used
//! (constants: Knuth and Lewis, as given in "Numerical Recipes", from memory). An integer up to
//! 2^24 is exact as an `f32`, and so is it over 64, so no rounding enters the samples.

use chirrup_core::{
    Axes, Inertial, Kelvin, MetrePerSecond, MetrePerSecond2, Micros, Pascal, RadianPerSecond,
    Sample, Speed,
};

/// The usual time between samples.
const STEP_US: i64 = 20_000;
/// One sample in this many has a fault.
const ODD_ONE_IN: u32 = 24;
/// The flight stays between these, in 1/64 Pa: 107 000 and 20 000 Pa, sea level to the
/// stratosphere.
const LOWEST: i32 = 107_000 * 64;
const HIGHEST: i32 = 20_000 * 64;

/// A small random number generator of integers.
#[derive(Clone, Copy, Debug)]
struct Random(u32);

impl Random {
    fn next(&mut self) -> u32 {
        self.0 = self.0.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        self.0 >> 8
    }

    /// 0 to `count - 1`.
    fn below(&mut self, count: u32) -> u32 {
        self.next() % count
    }

    /// From `-most` to `most`; the sum of two numbers, so the middle is likelier.
    fn about_zero(&mut self, most: i32) -> i32 {
        self.die(most) + self.die(most)
    }

    /// From `-most / 2` to `most / 2`.
    fn die(&mut self, most: i32) -> i32 {
        self.below(most as u32 + 1) as i32 - most / 2
    }
}

/// Which airspeed the samples have.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Equipment {
    /// Pitot minus static.
    Pitot,
    /// Pitot minus static, and an inertial sensor.
    Inertial,
    /// Calibrated airspeed, and the temperature outside.
    Indicated,
    /// A total-energy probe beside true airspeed.
    Probe,
    /// Static pressure alone.
    Static,
}

/// An endless flight.
#[derive(Clone, Debug)]
pub struct Air {
    random: Random,
    equipment: Equipment,
    time_us: i64,
    /// The time of the sample before.
    last_us: i64,
    /// Static pressure in 1/64 Pa.
    pressure: i32,
    /// Change of the pressure from sample to sample, in 1/64 Pa.
    drift: i32,
    /// Airspeed in 1/16 m/s.
    speed: i32,
    /// Samples until the air changes.
    until_change: u32,
    /// Samples for which the sensor repeats itself.
    frozen: u32,
    /// Samples for which pitot and static are swapped.
    swapped: u32,
    /// Samples for which the static line is blocked.
    blocked: u32,
    /// Whether there are no faults.
    fair: bool,
}

impl Air {
    /// A different flight for each `seed`.
    pub fn new(seed: u32, equipment: Equipment) -> Self {
        Self {
            random: Random(seed),
            equipment,
            time_us: 0,
            last_us: 0,
            pressure: 95_000 * 64,
            drift: 0,
            speed: 25 * 16,
            until_change: 400,
            frozen: 0,
            swapped: 0,
            blocked: 0,
            fair: false,
        }
    }

    /// The same flight with a healthy sensor and clock, for measuring cost; with an inertial sensor
    /// a steady circle, in which it agrees with the pressures.
    pub fn fair(self) -> Self {
        Self { fair: true, ..self }
    }

    /// The next sample.
    pub fn next_sample(&mut self) -> Sample {
        self.last_us = self.time_us;
        self.time_us += STEP_US + i64::from(self.random.about_zero(400));
        self.fly();
        let noise = if self.frozen > 0 { 0 } else { self.random.about_zero(96) };
        let mut sample = Sample::of_static(Micros(self.time_us), pascals(self.pressure + noise));
        self.equip(&mut sample);
        if !self.fair && self.blocked == 0 && self.random.below(ODD_ONE_IN) == 0 {
            self.spoil(&mut sample);
        }
        sample
    }

    /// Climbs, sinks and turns as a glider might, and now and then the sensor freezes.
    fn fly(&mut self) {
        if self.fair && self.equipment == Equipment::Inertial {
            return;
        }
        if self.frozen > 0 {
            self.frozen -= 1;
            return;
        }
        if self.blocked > 0 {
            // A glide, in which the airspeed seems to rise.
            self.blocked -= 1;
            self.speed = (self.speed + i32::from(self.blocked.is_multiple_of(5))).max(25 * 16);
            return;
        }
        if self.until_change == 0 {
            self.until_change = 50 + self.random.below(450);
            // 1 m/s is about 12 Pa a second: 15 a sample in 1/64 Pa. To 10 m/s, and a little more
            // often still air.
            self.drift = self.random.about_zero(150) * i32::from(self.random.below(4) != 0);
            if !self.fair && self.random.below(12) == 0 {
                self.frozen = 100 + self.random.below(200);
            }
            if !self.fair && self.random.below(12) == 0 {
                self.swapped = 700;
            } else if !self.fair && self.random.below(40) == 0 {
                self.blocked = 2_000;
            }
        }
        self.until_change -= 1;
        self.swapped = self.swapped.saturating_sub(1);
        if !(HIGHEST..LOWEST).contains(&(self.pressure + self.drift)) {
            self.drift = -self.drift;
        }
        self.pressure += self.drift;
        self.speed = (self.speed + self.random.about_zero(6)).clamp(0, 90 * 16);
    }

    fn equip(&mut self, sample: &mut Sample) {
        let speed = MetrePerSecond(self.speed as f32 / 16.0);
        match self.equipment {
            Equipment::Static => {}
            Equipment::Pitot | Equipment::Inertial => {
                // 0.6 v^2 Pa: v^2 / 256 in 1/16 m/s, in 1/64 Pa about 0.15 of the square.
                let impact = self.speed * self.speed / 7;
                let impact =
                    if self.swapped > 0 { -impact } else { impact } + self.random.about_zero(64);
                sample.speed = Some(Speed::Dynamic(pascals(impact)));
                if self.equipment == Equipment::Inertial {
                    sample.inertial = Some(self.felt());
                }
            }
            Equipment::Indicated => {
                sample.speed = Some(Speed::Calibrated(speed));
                sample.outside_air = Some(Kelvin(240.0 + self.random.below(60) as f32));
            }
            Equipment::Probe => {
                sample.speed = Some(Speed::True(speed));
                let suction = self.speed * self.speed / 7 + self.random.about_zero(64);
                sample.te_pressure = Some(pascals(self.pressure - suction));
            }
        }
    }

    /// What an inertial sensor feels: in a bumpy straight flight, with turns when the air changes,
    /// or in a fair flight in a circle at 25 m/s banked 30 degrees. There the load is 1 / cos 30,
    /// and the turn of 0.226 rad/s is seen half from the wing and 0.87 from above.
    fn felt(&mut self) -> Inertial {
        let is_turning = self.until_change <= 200;
        let (down, [right, below]) = match (self.fair, is_turning) {
            (true, _) => (-725, [116, 201]),
            (false, true) => (-640, [50, 200]),
            (false, false) => (-640, [0, 0]),
        };
        let mut force =
            |middle: i32| MetrePerSecond2((middle + self.random.about_zero(20)) as f32 / 64.0);
        let specific_force = Axes { x: force(0), y: force(0), z: force(down) };
        let mut turn =
            |middle: i32| RadianPerSecond((middle + self.random.about_zero(6)) as f32 / 1024.0);
        let turn_rate = Axes { x: turn(0), y: turn(right), z: turn(below) };
        Inertial { specific_force, turn_rate, spread: None }
    }

    /// One thing that a sensor, a wire or a clock may do.
    fn spoil(&mut self, sample: &mut Sample) {
        let odd = odd_float(self.random.below(ODD_FLOATS));
        match self.random.below(15) {
            0 => sample.static_pressure = Some(Pascal(odd)),
            1 => sample.te_pressure = sample.te_pressure.map(|_| Pascal(odd)),
            2 => sample.outside_air = Some(Kelvin(odd)),
            3 => sample.speed = sample.speed.map(|_| Speed::Dynamic(Pascal(odd))),
            4 => sample.speed = sample.speed.map(|_| Speed::Calibrated(MetrePerSecond(odd))),
            5 => sample.speed = sample.speed.map(|_| Speed::True(MetrePerSecond(odd))),
            6 => sample.speed = None,
            7 => sample.te_pressure = None,
            8 => raise(sample, 300.0),
            9 => raise(sample, -20_000.0),
            10 => sample.time = Micros(self.last_us),
            11 => sample.time = Micros(self.time_us - 3_600_000_000),
            12 => self.wait(sample, 40_000),
            13 => sample.static_pressure = None,
            _ => self.leap(sample),
        }
    }

    /// A pause in the samples.
    fn wait(&mut self, sample: &mut Sample, pause_us: i64) {
        self.time_us += pause_us;
        sample.time = Micros(self.time_us);
    }

    /// Rarer faults: a gap, a clock set back permanently, or one far ahead.
    fn leap(&mut self, sample: &mut Sample) {
        match self.random.below(4) {
            0 => self.wait(sample, 12_000_000),
            1 => self.wait(sample, -5_000_000),
            2 => self.wait(sample, 2_500_000),
            _ => {
                sample.static_pressure = Some(Pascal(f32::NAN));
                sample.time = Micros(self.time_us + 86_400_000_000);
            }
        }
    }
}

fn raise(sample: &mut Sample, by_pa: f32) {
    sample.static_pressure = sample.static_pressure.map(|pressure| Pascal(pressure.0 + by_pa));
}

const ODD_FLOATS: u32 = 10;

/// Floats that are hard for arithmetic.
fn odd_float(which: u32) -> f32 {
    match which {
        0 => f32::NAN,
        1 => f32::INFINITY,
        2 => f32::NEG_INFINITY,
        3 => -0.0,
        4 => 0.0,
        5 => f32::from_bits(1),
        6 => f32::MAX,
        7 => 5_000.0,
        8 => 115_000.0,
        _ => -250.0,
    }
}

fn pascals(sixty_fourths: i32) -> Pascal {
    Pascal(sixty_fourths as f32 / 64.0)
}
