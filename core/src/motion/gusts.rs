//! Measures, while the heights arrive, what the filter must know of sensor and air: the sensor's
//! noise, how far gusts make the height wander, and how fast the air itself changes the climb.
//!
//! The measure is the bend of three means of the height, one apart by the time D:
//!
//! ```text
//! b = B(now) - 2 B(now - D) + B(now - 2 D)          blind to any steady climb
//!
//! white noise of deviation s, N samples a mean     var b = 6 s^2 / N
//! a height that walks with density r               var b = 2 r D (less, for means of finite length)
//! an acceleration that is white, of density q      var b = 2/3 q D^3
//! ```
//!
//! A gust of the horizontal wind steps the energy height at once and stays for seconds, so to the
//! filter it is a walk; a thermal's edge bends the height over seconds.
//!
//! | meter | means over | bends over | tells |
//! |---|---|---|---|
//! | short | 0.12 s, at least a sample | two of them | the walk, in quick streams (noise known from single samples) |
//! | slow | a sample, or 0.24 s | 1, 2, 4 of them | noise, walk and acceleration, by 1:1:1, 1:2:4, 1:8:64 |
//! | long | 1 s | 4 s | how fast the air changes the climb |
//! | circle | 2 s | 8 s | whether that is more than gusts explain: the glider circles |

use crate::motion::means::{Deviation, Means};
use crate::units::{larger, smaller};

/// Means of this length in a quick stream, and in one of less than 8 samples a second; beyond,
/// each sample counts as one.
const SHORT_S: f32 = 0.12;
const MIDDLE_S: f32 = 0.24;
/// Streams with longer time steps are slow.
pub(super) const QUICK_S: f32 = 0.12;
const LONG_S: f32 = 1.0;
const CIRCLE_S: f32 = 2.0;
/// So many steps of the other kind in a row make a quick stream slow, or a slow one quick.
const UNUSUAL: u8 = 3;
/// Bends remembered by the meters, as the step of a logarithm.
const SHORT_PACE: f32 = 0.01;
const LONG_PACE: f32 = 0.04;
const CIRCLE_PACE: f32 = 0.12;
/// Bends count as walk beyond this many times what noise explains.
const NOISE_COVER: f32 = 1.85;
/// In a slow stream the walk begins where bends over two means are larger than those over one by
/// this, which the meters reach by chance.
const SLOW_COVER: f32 = 1.25;
/// Long bends count as motion of the air beyond this many times what noise and walk explain, and
/// this share of the motion becomes the quiet filter's density.
const EXPLAINED_COVER: f32 = 1.4;
const MOTION_SHARE: f32 = 0.67;
/// Two signs that the glider circles in lift, each a ramp from 0 to 1: the climb comes and goes by
/// more than gusts explain (long bends from 0.86 to 3.36 times what they explain), and it is a
/// climb at all (its mean over 16 s, from -0.13 to 1.57 m/s). The product counts. Without a climb
/// the second sign is still half, since a thermal begins before its mean does.
const MODULATED_FROM: f32 = 0.86;
const MODULATED_OVER: f32 = 2.5;
const CLIMBS_FROM_MPS: f32 = -0.13;
const CLIMBS_OVER_MPS: f32 = 1.7;
const LEAST_CLIMBS: f32 = 0.5;
/// The walk that is always allowed for, as a share of the noise's variance a second, and the most
/// of it, m2/s.
const LEAST_WALK_PER_S: f32 = 0.012;
const MOST_LEAST_WALK_M2PS: f32 = 2.0e-4;

/// What the meters say.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Air {
    /// Density of the height's walk in gusts, m2/s.
    pub(super) walk_m2ps: f32,
    /// Density of the acceleration of the air's own vertical motion, m2/s3.
    pub(super) acceleration_m2ps3: f32,
    /// 0 in a glide, 1 while the glider surely circles in lift.
    pub(super) circling: f32,
    /// Deviation of a measured height, in a slow stream.
    pub(super) slow_noise_m: Option<f32>,
}

/// State of the meters.
#[derive(Clone, Copy, Debug)]
pub(super) struct GustState {
    short: Means,
    long: Means,
    circle: Means,
    /// Of bends over one, two and four short means.
    short_bends: [Deviation; 3],
    long_bend: Deviation,
    circle_bend: Deviation,
    air: Air,
    /// Sum of kinetic heights of the short mean that is not yet complete.
    kinetic_sum_m: f32,
    /// Whether the stream is quick, and how many steps in a row were not of that kind.
    quick: bool,
    unusual: u8,
}

impl Default for GustState {
    fn default() -> Self {
        Self {
            short: Means::default(),
            long: Means::default(),
            circle: Means::default(),
            // What still air and an ordinary sensor give; the meters are quick at first.
            short_bends: [Deviation::from(0.1); 3],
            long_bend: Deviation::from(0.3),
            circle_bend: Deviation::from(0.5),
            air: Air::default(),
            kinetic_sum_m: 0.0,
            quick: true,
            unusual: 0,
        }
    }
}

/// A bend over 0.24 s of a quick stream.
#[derive(Clone, Copy, Debug)]
pub(super) struct ShortBend {
    pub(super) bend_m: f32,
    /// Time between the means compared.
    pub(super) apart_s: f32,
    /// Its usual variance, of noise and gusts.
    pub(super) usual_m2: f32,
    /// The newest mean, and the mean of the kinetic height in it.
    pub(super) height_m: f32,
    pub(super) kinetic_m: f32,
}

impl GustState {
    /// What is known.
    pub(super) fn air(&self) -> &Air {
        &self.air
    }

    /// Takes a believed height, `dt_s` after the one before, of a sensor with noise `noise_m`, and
    /// the kinetic height in it; returns the bend that a short mean completes in a quick stream.
    pub(super) fn step(
        &mut self,
        dt_s: f32,
        height_m: f32,
        kinetic_m: f32,
        noise_m: f32,
    ) -> Option<ShortBend> {
        let quick = dt_s < QUICK_S;
        if !self.is_usual(quick) {
            return None;
        }
        let length_s = match quick {
            true => SHORT_S,
            false if dt_s < MIDDLE_S => MIDDLE_S,
            false => 0.0,
        };
        self.kinetic_sum_m += kinetic_m;
        let is_complete = self.short.take(dt_s, height_m, length_s);
        let kinetic_sum_m = self.kinetic_sum_m;
        if is_complete {
            self.kinetic_sum_m = 0.0;
        }
        if self.long.take(dt_s, height_m, LONG_S) {
            self.measure_long(noise_m);
        }
        if quick && self.circle.take(dt_s, height_m, CIRCLE_S) {
            self.measure_circle(noise_m);
        }
        match (is_complete, quick) {
            (false, _) => None,
            (true, true) => self.measure_quick(kinetic_sum_m, noise_m),
            (true, false) => {
                self.measure_slow();
                None
            }
        }
    }

    /// Whether the stream is as quick as it was; a single pause does not make it slow.
    fn is_usual(&mut self, quick: bool) -> bool {
        self.unusual = if quick == self.quick { 0 } else { self.unusual + 1 };
        if self.unusual == 0 {
            return true;
        }
        self.interrupt();
        if self.unusual >= UNUSUAL {
            (self.quick, self.unusual) = (quick, 0);
        }
        false
    }

    /// The walk: what noise leaves unexplained of the bends over two means.
    fn measure_quick(&mut self, kinetic_sum_m: f32, noise_m: f32) -> Option<ShortBend> {
        self.air.slow_noise_m = None;
        let bend_m = self.short.bend_2()?;
        let [_, meter, _] = &mut self.short_bends;
        meter.follow(bend_m, SHORT_PACE);
        let noise_m2 = self.short.noise_m2(noise_m);
        let spacing_s = self.short.spacing_s();
        let apart_s = 2.0 * spacing_s;
        let excess_m2 = larger(meter.variance_m2() - NOISE_COVER * noise_m2, 0.0);
        self.air.walk_m2ps = excess_m2 / (2.0 * (apart_s - spacing_s / 3.0));
        let usual_m2 = noise_m2 + self.walked_m2(apart_s, noise_m);
        let kinetic_m = kinetic_sum_m / self.short.samples();
        let height_m = self.short.newest_m();
        Some(ShortBend { bend_m, apart_s, usual_m2, height_m, kinetic_m })
    }

    /// Noise, walk and acceleration, whose bends over one, two and four means grow as 1:1:1, 1:2:4
    /// and 1:8:64.
    fn measure_slow(&mut self) {
        let bends_m = [self.short.bend_1(), self.short.bend_2(), self.short.bend_4()];
        for (meter, bend_m) in self.short_bends.iter_mut().zip(bends_m) {
            if let Some(bend_m) = bend_m {
                meter.follow(bend_m, SHORT_PACE);
            }
        }
        let [one_m2, two_m2, four_m2] = self.short_bends.map(|meter| meter.variance_m2());
        let mut acceleration_m2 = larger((four_m2 - 3.0 * two_m2 + 2.0 * one_m2) / 42.0, 0.0);
        let mut walk_m2 = two_m2 - SLOW_COVER * one_m2 - 7.0 * acceleration_m2;
        if walk_m2 < 0.0 {
            walk_m2 = 0.0;
            acceleration_m2 = larger((two_m2 - one_m2) / 7.0, 0.0);
        }
        let white_m2 = larger(one_m2 - acceleration_m2 - walk_m2, 0.01 * one_m2);
        self.air.slow_noise_m = Some(self.short.noise_of_m(white_m2));
        self.air.walk_m2ps = walk_m2 / (2.0 * self.short.spacing_s());
    }

    /// How fast the air changes the climb: what noise and gusts leave unexplained over seconds.
    fn measure_long(&mut self, noise_m: f32) {
        let Some(bend_m) = self.long.bend_4() else { return };
        self.long_bend.follow(bend_m, LONG_PACE);
        let apart_s = 4.0 * self.long.spacing_s();
        let explained_m2 = self.walked_m2(apart_s, noise_m) + self.long.noise_m2(noise_m);
        let unexplained_m2 = self.long_bend.variance_m2() - EXPLAINED_COVER * explained_m2;
        let excess_m2 = larger(unexplained_m2, 0.0);
        self.air.acceleration_m2ps3 = MOTION_SHARE * excess_m2 / (apart_s * apart_s * apart_s);
    }

    /// Whether the glider circles in lift: it climbs, and the climb comes and goes by more than
    /// gusts explain.
    fn measure_circle(&mut self, noise_m: f32) {
        let Some(bend_m) = self.circle.bend_4() else { return };
        self.circle_bend.follow(bend_m, CIRCLE_PACE);
        let apart_s = 4.0 * self.circle.spacing_s();
        let explained_m2 = self.walked_m2(apart_s, noise_m) + self.circle.noise_m2(noise_m);
        let times = self.circle_bend.variance_m2() / explained_m2;
        let modulated = ((times - MODULATED_FROM) / MODULATED_OVER).clamp(0.0, 1.0);
        let climbs = ((self.circle.climb_mps() - CLIMBS_FROM_MPS) / CLIMBS_OVER_MPS)
            .clamp(LEAST_CLIMBS, 1.0);
        self.air.circling = modulated * climbs;
    }

    /// The variance that gusts give a bend over `apart_s`, m2.
    fn walked_m2(&self, apart_s: f32, noise_m: f32) -> f32 {
        2.0 * (self.air.walk_m2ps + least_walk_m2ps(noise_m)) * apart_s
    }

    /// Measures heights from a new origin, `by_m` higher.
    pub(super) fn shift(&mut self, by_m: f32) {
        self.short.shift(by_m);
        self.long.shift(by_m);
        self.circle.shift(by_m);
    }

    /// Forgets the heights, not what they told.
    pub(super) fn interrupt(&mut self) {
        self.short.clear();
        self.long.clear();
        self.circle.clear();
        self.kinetic_sum_m = 0.0;
    }
}

/// The walk that is always allowed for beside the measured one, m2/s.
pub(super) fn least_walk_m2ps(noise_m: f32) -> f32 {
    smaller(LEAST_WALK_PER_S * noise_m * noise_m, MOST_LEAST_WALK_M2PS)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::motion::random::Noise;
    use approx::assert_relative_eq;

    /// The meters after `seconds` of a height over time, `rate_hz` samples a second, with white
    /// noise of `noise_m` and a walk of density `walk_m2ps`.
    fn meters(
        rate_hz: f64,
        seconds: f64,
        noise_m: f64,
        walk_m2ps: f64,
        height_m: impl Fn(f64) -> f64,
    ) -> GustState {
        let (mut random, mut state, mut walk_m) = (Noise(11), GustState::default(), 0.0);
        for sample in 0..(rate_hz * seconds) as u32 {
            walk_m += (walk_m2ps / rate_hz).sqrt() * random.normal();
            let height = height_m(f64::from(sample) / rate_hz) + walk_m + noise_m * random.normal();
            state.step((1.0 / rate_hz) as f32, height as f32, 0.0, noise_m as f32);
        }
        state
    }

    #[test]
    fn the_walk_of_gusts_is_measured_and_still_air_has_none() {
        // Gusts of 0.5 m/s, 150 m long, at 28 m/s: steps of energy height of 1.4 m for 5.4 s, a
        // density of 2 1.4^2 / 5.4 = 0.75 m2/s.
        for walk_m2ps in [0.2, 0.75, 3.0] {
            let found = meters(50.0, 200.0, 0.13, walk_m2ps, |t| -0.7 * t).air().walk_m2ps;
            assert_relative_eq!(f64::from(found), walk_m2ps, max_relative = 0.4);
        }
        assert!(meters(50.0, 200.0, 0.13, 0.0, |t| -0.7 * t).air().walk_m2ps < 0.01);
    }

    #[test]
    fn a_slow_stream_tells_noise_from_walk() {
        let noisy = meters(1.0, 600.0, 0.3, 0.0, |t| 1.5 * t);
        assert_relative_eq!(noisy.air().slow_noise_m.unwrap(), 0.3, max_relative = 0.3);
        assert!(noisy.air().walk_m2ps < 0.03, "{:?}", noisy.air());
        let gusty = meters(1.0, 600.0, 0.05, 0.75, |t| -0.7 * t);
        assert_relative_eq!(gusty.air().walk_m2ps, 0.75, max_relative = 0.5);
    }

    #[test]
    fn a_circle_in_lift_is_told_from_a_glide_through_gusts() {
        let circle = |t: f64| 1.5 * t - 3.2 * (t * core::f64::consts::TAU / 20.0).cos();
        let circling = meters(50.0, 120.0, 0.13, 0.75, circle).air().circling;
        assert!(circling > 0.9, "{circling}");
        let gliding = meters(50.0, 120.0, 0.13, 0.75, |t| -0.8 * t).air().circling;
        assert!(gliding < 0.6, "{gliding}");
    }

    #[test]
    fn air_that_changes_its_climb_is_told_from_still_air() {
        let wavy = |t: f64| 5.0 * (t * core::f64::consts::TAU / 15.0).sin();
        assert!(meters(50.0, 120.0, 0.1, 0.0, wavy).air().acceleration_m2ps3 > 0.05);
        assert!(meters(50.0, 120.0, 0.1, 0.0, |_| 0.0).air().acceleration_m2ps3 < 1e-4);
    }
}
