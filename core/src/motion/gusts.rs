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
//! Noise gives all bends the same size and a walk gives longer ones larger bends, so the walk of an
//! energy height is what bends over four short means have more than those over one. The noise that
//! is measured from single samples is no help: where those lie 0.1 s apart, it holds the walk
//! already. Bursts that come and go bend short means and not long ones; they count as a walk where
//! they stand far out of that noise.
//!
//! | meter | means over | bends over | tells |
//! |---|---|---|---|
//! | short | 0.12 s, at least a sample | 1, 2, 4 of them | the walk, in quick streams |
//! | slow | a sample, or 0.24 s | 1, 2, 4 of them | noise, walk and acceleration, by 1:1:1, 1:2:4, 1:8:64 |
//! | long | 1 s | 4 s | how fast the air changes the climb |
//! | circle | 2 s | 8 s | whether that is more than gusts explain: the glider circles |

use crate::motion::means::{Bend, Deviation, Means, bend_noise_m2};
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
/// The walk begins where bends over four short means are larger than those over one by this, which
/// the meters reach by chance.
const WALK_COVER: f32 = 1.2;
/// Bends of the air's own making over four short means, as a multiple of what a smooth change of
/// climb makes of the long bends: edges are not smooth.
const CURVED: f32 = 8.5;
/// Bends over two short means that are larger than noise explains by this are a walk in any case:
/// bursts. Without total energy there are no gusts, and it is all there is.
const WILD_COVER: f32 = 2.2;
const WILD_ALTITUDE_COVER: f32 = 1.85;
/// In a slow stream the walk begins where bends over two means are larger than those over one by
/// this.
const SLOW_COVER: f32 = 1.25;
/// Long bends count as motion of the air beyond this many times what noise and walk explain, and
/// this share of the motion becomes the quiet filter's density.
const EXPLAINED_COVER: f32 = 0.92;
const MOTION_SHARE: f32 = 0.28;
/// Two signs that the glider circles in lift, each a ramp from 0 to 1: the climb comes and goes by
/// more than gusts explain (long bends from 0.4 to 3.6 times what they explain), and it is a climb
/// at all (its mean over 8 s, from -0.21 to 0.76 m/s). The product counts. Without a climb the
/// second sign is still a third, since a thermal begins before its mean does.
const MODULATED_FROM: f32 = 0.4;
const MODULATED_OVER: f32 = 3.2;
const CLIMBS_FROM_MPS: f32 = -0.21;
const CLIMBS_OVER_MPS: f32 = 0.97;
const LEAST_CLIMBS: f32 = 0.35;
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
    /// Variance of the long bends that noise and walk leave unexplained.
    unexplained_m2: f32,
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
            unexplained_m2: 0.0,
            kinetic_sum_m: 0.0,
            quick: true,
            unusual: 0,
        }
    }
}

/// A believed height.
#[derive(Clone, Copy, Debug)]
pub(super) struct Believed {
    pub(super) height_m: f32,
    /// The part of it that comes from the airspeed.
    pub(super) kinetic_m: f32,
    /// Deviation of single heights.
    pub(super) noise_m: f32,
    /// It is of total energy, in which horizontal gusts show.
    pub(super) compensated: bool,
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

    /// Takes a believed height, `dt_s` after the one before; returns the bend that a short mean
    /// completes in a quick stream.
    pub(super) fn step(&mut self, dt_s: f32, believed: &Believed) -> Option<ShortBend> {
        let Believed { height_m, kinetic_m, noise_m, compensated } = *believed;
        let quick = self.is_quick(dt_s, noise_m);
        if quick && dt_s >= QUICK_S {
            self.pause(dt_s, compensated);
        }
        self.kinetic_sum_m += kinetic_m;
        let is_complete = self.short.take(dt_s, height_m, self.short_s(dt_s));
        if self.long.take(dt_s, height_m, LONG_S) {
            self.measure_long(noise_m);
        }
        if quick && self.circle.take(dt_s, height_m, CIRCLE_S) {
            self.measure_circle(noise_m);
        }
        match (is_complete, quick) {
            (false, _) => None,
            (true, true) => self.measure_quick(noise_m, compensated),
            (true, false) => {
                self.measure_slow();
                None
            }
        }
    }

    /// Lets a pause of a quick stream be part of no short mean.
    fn pause(&mut self, pause_s: f32, compensated: bool) {
        self.kinetic_sum_m = 0.0;
        if self.short.pause(pause_s) && compensated {
            self.measure_walk();
        }
    }

    /// Whether the stream is quick; a single pause does not make it slow.
    fn is_quick(&mut self, dt_s: f32, noise_m: f32) -> bool {
        let quick = dt_s < QUICK_S;
        self.unusual = if quick == self.quick { 0 } else { self.unusual + 1 };
        if self.unusual >= UNUSUAL {
            (self.quick, self.unusual) = (quick, 0);
            self.interrupt();
            self.expect_bends(dt_s, noise_m);
        }
        self.quick
    }

    /// Sets the meters of short bends to what noise and walk give between the means of a stream
    /// that has become quick or slow.
    fn expect_bends(&mut self, dt_s: f32, noise_m: f32) {
        let spacing_s = larger(self.short_s(dt_s), dt_s);
        let samples = spacing_s / dt_s;
        for (meter, means) in self.short_bends.iter_mut().zip([1.0, 2.0, 4.0]) {
            let walked_m2 = 2.0 * self.air.walk_m2ps * means * spacing_s;
            let variance_m2 = bend_noise_m2(noise_m, samples) + walked_m2;
            *meter = Deviation::from(libm::sqrtf(variance_m2));
        }
    }

    /// How long a short mean is.
    fn short_s(&self, dt_s: f32) -> f32 {
        match self.quick {
            true => SHORT_S,
            false if dt_s < MIDDLE_S => MIDDLE_S,
            false => 0.0,
        }
    }

    fn measure_quick(&mut self, noise_m: f32, compensated: bool) -> Option<ShortBend> {
        let kinetic_m = self.kinetic_sum_m / self.short.samples();
        self.kinetic_sum_m = 0.0;
        self.air.slow_noise_m = None;
        if compensated {
            self.measure_walk();
        } else {
            self.air.walk_m2ps = 0.0;
        }
        let Bend { bend_m, apart_s } = self.short.bend_2()?;
        let noise_m2 = self.short.noise_m2(noise_m);
        let cover = if compensated { WILD_COVER } else { WILD_ALTITUDE_COVER };
        self.measure_wild(bend_m, cover * noise_m2);
        let usual_m2 = noise_m2 + self.walked_m2(apart_s, noise_m);
        let height_m = self.short.newest_m();
        Some(ShortBend { bend_m, apart_s, usual_m2, height_m, kinetic_m })
    }

    /// The walk by which bends over four means are larger than those over one.
    fn measure_walk(&mut self) {
        let curved_m2 = self.curved_m2();
        let [one, _, four] = &mut self.short_bends;
        let (Some(over_one), Some(over_four)) = (self.short.bend_1(), self.short.bend_4()) else {
            return;
        };
        one.follow(over_one.bend_m, SHORT_PACE);
        four.follow(over_four.bend_m, SHORT_PACE);
        let covered_m2 = WALK_COVER * one.variance_m2() + curved_m2;
        let grown_m2 = larger(four.variance_m2() - covered_m2, 0.0);
        self.air.walk_m2ps = grown_m2 / (6.0 * self.short.spacing_s());
    }

    /// What the air's own changes of climb bend four short means: long bends, by the fourth power
    /// of the time.
    fn curved_m2(&self) -> f32 {
        let shorter = self.short.spacing_s() / larger(self.long.spacing_s(), LONG_S);
        CURVED * self.unexplained_m2 * shorter * shorter * shorter * shorter
    }

    /// A walk that shows beside the noise, whatever longer bends say.
    fn measure_wild(&mut self, bend_m: f32, covered_m2: f32) {
        let [_, two, _] = &mut self.short_bends;
        two.follow(bend_m, SHORT_PACE);
        let excess_m2 = two.variance_m2() - covered_m2;
        // Means as long as their spacing: a third of it less.
        let wild_m2ps = excess_m2 / (2.0 * (2.0 - 1.0 / 3.0) * self.short.spacing_s());
        self.air.walk_m2ps = larger(wild_m2ps, self.air.walk_m2ps);
    }

    /// Noise, walk and acceleration, whose bends over one, two and four means grow as 1:1:1, 1:2:4
    /// and 1:8:64.
    fn measure_slow(&mut self) {
        let bends = [self.short.bend_1(), self.short.bend_2(), self.short.bend_4()];
        for (meter, bend) in self.short_bends.iter_mut().zip(bends) {
            if let Some(bend) = bend {
                meter.follow(bend.bend_m, SHORT_PACE);
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
        let Some(Bend { bend_m, .. }) = self.long.bend_4() else { return };
        self.long_bend.follow(bend_m, LONG_PACE);
        let apart_s = 4.0 * self.long.spacing_s();
        let explained_m2 = self.walked_m2(apart_s, noise_m) + self.long.noise_m2(noise_m);
        let unexplained_m2 = self.long_bend.variance_m2() - EXPLAINED_COVER * explained_m2;
        self.unexplained_m2 = larger(unexplained_m2, 0.0);
        self.air.acceleration_m2ps3 =
            MOTION_SHARE * self.unexplained_m2 / (apart_s * apart_s * apart_s);
    }

    /// Whether the glider circles in lift: it climbs, and the climb comes and goes by more than
    /// gusts explain.
    fn measure_circle(&mut self, noise_m: f32) {
        let Some(Bend { bend_m, .. }) = self.circle.bend_4() else { return };
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
            let believed = Believed {
                height_m: height as f32,
                kinetic_m: 0.0,
                noise_m: noise_m as f32,
                compensated: true,
            };
            state.step((1.0 / rate_hz) as f32, &believed);
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
    fn the_walk_is_measured_at_every_rate() {
        // The mean over five moments: the meters remember some ten seconds.
        let mean_m2ps = |rate_hz: f64, walk_m2ps: f64| {
            [100.0, 130.0, 160.0, 190.0, 220.0]
                .map(|lasts_s| meters(rate_hz, lasts_s, 0.13, walk_m2ps, |t| -0.7 * t))
                .iter()
                .map(|meters| f64::from(meters.air().walk_m2ps) / 5.0)
                .sum::<f64>()
        };
        for rate_hz in [9.0, 10.0, 13.0, 20.0, 33.0, 100.0, 200.0] {
            assert_relative_eq!(mean_m2ps(rate_hz, 0.75), 0.75, max_relative = 0.4);
            let still_m2ps = mean_m2ps(rate_hz, 0.0);
            assert!(still_m2ps < 0.03, "{rate_hz} Hz: {still_m2ps} m2/s");
        }
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
