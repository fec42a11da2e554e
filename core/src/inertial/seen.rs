//! What the other sensors said since the covariance was last brought up to date.

use super::vector::Vector;
use crate::motion::noise::NoiseState;
use crate::units::larger;

/// No barometer is believed to be quieter, m: its errors are not all white (a guess).
const LEAST_NOISE_M: f32 = 0.05;

/// The mean of the squares of surprises is over this, s (a guess).
const STRAIN_S: f32 = 10.0;

/// The surprises since the last step, and what is known of their sensors.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Seen {
    pub(super) heights: Mean,
    pub(super) speeds: Mean,
    /// The last airspeed, m/s.
    pub(super) airspeed: f32,
    height_noise: NoiseState,
    last_height: Option<f32>,
    waited_s: f32,
    /// For how long the heights and the airspeeds have been beyond belief, s.
    contradicted_s: [f32; 2],
    /// Mean square of the heights' surprises, as a share of their variance.
    strain: f32,
}

/// Whose measurement it is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Sensor {
    Height,
    Airspeed,
}

/// A mean that is taken once.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Mean {
    sum: f32,
    count: f32,
}

impl Mean {
    pub(super) fn add(&mut self, value: f32) {
        self.sum += value;
        self.count += 1.0;
    }

    /// The mean and how many values it is of.
    pub(super) fn take(&mut self) -> Option<(f32, f32)> {
        let Self { sum, count } = core::mem::take(self);
        (count > 0.0).then(|| (sum / count, count))
    }
}

impl Seen {
    pub(super) fn of(airspeed: f32) -> Self {
        Self { airspeed, ..Self::default() }
    }

    pub(super) fn pass(&mut self, dt_s: f32) {
        self.waited_s += dt_s;
    }

    /// Takes a static height and how much it surprises.
    pub(super) fn height(&mut self, height: f32, surprise: f32) {
        if let Some(last) = self.last_height.filter(|_| self.waited_s > 0.0) {
            self.height_noise.see_step(height - last);
            self.height_noise.step(self.waited_s, height - last);
        }
        self.heights.add(surprise);
        self.last_height = Some(height);
        self.waited_s = 0.0;
    }

    /// Takes whether the filter was contradicted over `dt_s`, by one of its sensors. The other's
    /// agreement makes up for nothing.
    pub(super) fn judge(&mut self, by: Sensor, is_contradicted: bool, dt_s: f32) {
        let more = if is_contradicted { dt_s } else { -dt_s };
        let [height, airspeed] = &mut self.contradicted_s;
        let of_it = match by {
            Sensor::Height => height,
            Sensor::Airspeed => airspeed,
        };
        *of_it = larger(*of_it + more, 0.0);
    }

    /// For how long one of them has contradicted the filter, s.
    pub(super) fn contradicted_s(&self) -> f32 {
        let [height, airspeed] = self.contradicted_s;
        larger(height, airspeed)
    }

    /// Takes the square of a height's surprise, as a share of its variance, after `dt_s`.
    pub(super) fn strain(&mut self, squared: f32, dt_s: f32) {
        self.strain += (squared - self.strain) * (dt_s / (STRAIN_S + dt_s));
    }

    /// Mean square of the heights' surprises, as a share of their variance: less than 1 while all
    /// is well, since they are taken to be noisier than they are.
    pub(super) fn strained(&self) -> f32 {
        self.strain
    }

    /// The noise of a static height, m.
    pub(super) fn height_deviation(&self) -> f32 {
        larger(self.height_noise.sigma_m(), LEAST_NOISE_M)
    }
}

/// A velocity over the ground, some parts of which have not been taken.
#[derive(Clone, Copy, Debug)]
pub(super) struct Waiting {
    pub(super) velocity: Vector,
    pub(super) age_s: f32,
    /// The next: 0 is north, 1 east, 2 down.
    pub(super) along: u8,
    /// A part of it was beyond belief.
    pub(super) is_refused: bool,
}

impl Waiting {
    /// `dt_s` later.
    pub(super) fn pass(&mut self, dt_s: f32) {
        self.age_s += dt_s;
    }
}

/// How far the round is in which what was seen is used.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Round {
    pub(super) next: Part,
    /// Parts that are still due after the last step of the covariance.
    pub(super) left: u8,
    /// The time of the covariance's steps since the last round began, and of those before it, s.
    pub(super) gathered_s: f32,
    pub(super) lasts_s: f32,
    /// The glider flies, in this round.
    pub(super) flies: bool,
}

/// The parts of a round, in their order.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) enum Part {
    #[default]
    Height,
    Airspeed,
    Slip,
    Deviation,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_strain_is_a_mean_square_over_10_s() {
        let mut seen = Seen::default();
        (0..50).for_each(|_| seen.strain(2.0, 0.2));
        assert!((seen.strained() - 2.0 * (1.0 - (-1.0_f32).exp())).abs() < 0.02);
    }

    #[test]
    fn an_airspeed_that_agrees_does_not_make_up_for_a_height_that_does_not() {
        let mut seen = Seen::default();
        for _ in 0..15 {
            seen.judge(Sensor::Height, true, 0.2);
            seen.judge(Sensor::Airspeed, false, 0.2);
        }
        assert!((seen.contradicted_s() - 3.0).abs() < 1.0e-5);
    }
}
