//! The samples of a recording, packed: 28 bytes each instead of the 160 of a [`Sample`], and 120
//! more where the recording has an inertial sensor or a velocity over the ground.

use chirrup_core::{
    GroundVelocity, Inertial, Kelvin, MetrePerSecond, Micros, Pascal, Sample, Speed,
};

/// Samples in the order in which they were pushed.
#[derive(Clone, Debug, Default)]
pub struct Samples {
    air: Vec<Air>,
    /// As many, or none where no sample has either.
    motion: Vec<(Option<Inertial>, Option<GroundVelocity>)>,
    has_inertial: bool,
}

/// What a sample says of time and air.
#[derive(Clone, Copy, Debug)]
struct Air {
    /// The halves of the time, so that nothing is lost to alignment.
    time: [u32; 2],
    static_pa: f32,
    speed: f32,
    te_pa: f32,
    outside_k: f32,
    /// Which of the four there are, and the form of the speed.
    has: u8,
}

const STATIC: u8 = 1;
const TE: u8 = 2;
const OUTSIDE: u8 = 4;
const DYNAMIC: u8 = 8;
const CALIBRATED: u8 = 16;
const TRUE: u8 = 32;

impl Samples {
    /// Adds one after the last.
    pub fn push(&mut self, sample: Sample) {
        let motion = (sample.inertial, sample.ground_velocity);
        if motion != (None, None) || !self.motion.is_empty() {
            self.motion.resize(self.air.len(), (None, None));
            self.motion.push(motion);
        }
        self.has_inertial |= sample.inertial.is_some();
        self.air.push(Air::of(&sample));
    }

    /// How many there are.
    pub fn len(&self) -> usize {
        self.air.len()
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.air.is_empty()
    }

    /// Whether any has an inertial part.
    pub fn has_inertial(&self) -> bool {
        self.has_inertial
    }

    /// The one at `place`, the first being 0.
    pub fn get(&self, place: usize) -> Option<Sample> {
        let (inertial, ground_velocity) = self.motion.get(place).copied().unwrap_or((None, None));
        Some(Sample { inertial, ground_velocity, ..self.air.get(place)?.sample() })
    }

    /// The first.
    pub fn first(&self) -> Option<Sample> {
        self.get(0)
    }

    /// The last.
    pub fn last(&self) -> Option<Sample> {
        self.get(self.len().checked_sub(1)?)
    }

    /// All of them in order.
    pub fn iter(&self) -> impl Iterator<Item = Sample> + '_ {
        (0..self.len()).filter_map(|place| self.get(place))
    }

    /// Gives back the memory kept for more.
    pub fn shrink_to_fit(&mut self) {
        self.air.shrink_to_fit();
        self.motion.shrink_to_fit();
    }
}

impl Extend<Sample> for Samples {
    fn extend<T: IntoIterator<Item = Sample>>(&mut self, samples: T) {
        samples.into_iter().for_each(|sample| self.push(sample));
    }
}

impl Air {
    fn of(sample: &Sample) -> Self {
        let time = sample.time.0 as u64;
        let mut air = Self {
            time: [(time >> 32) as u32, time as u32],
            static_pa: 0.0,
            speed: 0.0,
            te_pa: 0.0,
            outside_k: 0.0,
            has: 0,
        };
        let mut note = |kind: u8, value: Option<f32>| {
            air.has |= value.map_or(0, |_| kind);
            value.unwrap_or(0.0)
        };
        let static_pa = note(STATIC, sample.static_pressure.map(|pressure| pressure.0));
        let te_pa = note(TE, sample.te_pressure.map(|pressure| pressure.0));
        let outside_k = note(OUTSIDE, sample.outside_air.map(|temperature| temperature.0));
        let speed = match sample.speed {
            Some(Speed::Dynamic(pressure)) => note(DYNAMIC, Some(pressure.0)),
            Some(Speed::Calibrated(speed)) => note(CALIBRATED, Some(speed.0)),
            Some(Speed::True(speed)) => note(TRUE, Some(speed.0)),
            None => 0.0,
        };
        Self { static_pa, speed, te_pa, outside_k, ..air }
    }

    fn sample(&self) -> Sample {
        let [high, low] = self.time.map(u64::from);
        let is = |kind: u8| self.has & kind != 0;
        let speed = if is(DYNAMIC) {
            Some(Speed::Dynamic(Pascal(self.speed)))
        } else if is(CALIBRATED) {
            Some(Speed::Calibrated(MetrePerSecond(self.speed)))
        } else if is(TRUE) {
            Some(Speed::True(MetrePerSecond(self.speed)))
        } else {
            None
        };
        Sample {
            time: Micros((high << 32 | low) as i64),
            static_pressure: is(STATIC).then_some(Pascal(self.static_pa)),
            speed,
            te_pressure: is(TE).then_some(Pascal(self.te_pa)),
            outside_air: is(OUTSIDE).then_some(Kelvin(self.outside_k)),
            inertial: None,
            ground_velocity: None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use chirrup_core::{Axes, MetrePerSecond2, RadianPerSecond};

    /// Ten recordings of five hours at 50 Hz are 250 MB; tuning has two at a time.
    #[test]
    fn a_sample_of_the_air_is_28_bytes() {
        assert_eq!(size_of::<Air>(), 28);
        assert!(size_of::<(Option<Inertial>, Option<GroundVelocity>)>() <= 120);
    }

    fn axes<T>(unit: fn(f32) -> T) -> Axes<T> {
        Axes { x: unit(1.0), y: unit(-2.0), z: unit(3.0) }
    }

    #[test]
    fn what_is_pushed_comes_back() {
        let bare = Sample::of_static(Micros(i64::MIN), Pascal(f32::MIN_POSITIVE));
        let none = Sample { static_pressure: None, time: Micros(-1), ..bare };
        let inertial = Some(Inertial {
            specific_force: axes(MetrePerSecond2),
            turn_rate: axes(RadianPerSecond),
            spread: None,
        });
        let of_speed = |speed: Speed| Sample { speed: Some(speed), time: Micros(1 << 40), ..none };
        let all = [
            bare,
            none,
            of_speed(Speed::Dynamic(Pascal(-3.0))),
            of_speed(Speed::Calibrated(MetrePerSecond(30.0))),
            of_speed(Speed::True(MetrePerSecond(0.0))),
            Sample { te_pressure: Some(Pascal(0.0)), ..bare },
            Sample { outside_air: Some(Kelvin(300.0)), time: Micros(i64::MAX), ..none },
            Sample { inertial, ..bare },
            bare,
        ];
        let mut samples = Samples::default();
        assert!(samples.is_empty() && samples.first().is_none() && samples.last().is_none());
        samples.extend(all[..7].iter().copied());
        assert!(!samples.has_inertial() && samples.motion.is_empty());
        samples.extend(all[7..].iter().copied());
        assert!(samples.has_inertial());
        assert_eq!(samples.iter().collect::<Vec<_>>(), all);
        assert_eq!((samples.first(), samples.last(), samples.len()), (Some(bare), Some(bare), 9));
    }
}
