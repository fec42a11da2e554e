//! Means of heights one after the other, their bends, and a follower of how large the bends are.

use crate::units::{larger, smaller};

/// A bend of two stretches of time is known where the longer is no more than this many times the
/// other.
const UNEVEN: f32 = 3.0;
/// The mean spacing follows the gaps between means by this share.
const SPACING_SHARE: f32 = 0.1;
/// The spacing after a start is at least this, s.
const LEAST_SPACING_S: f32 = 1e-3;
/// With this share of the deviation as its limit, a follower of normal values settles on the
/// deviation: the mean of |x| / 0.876, at most 3, where |x| > 0.876, is the share below it.
const LIMIT: f32 = 0.876;
/// A magnitude further above the limit than this many times counts as that.
const MOST_TIMES: f32 = 3.0;
/// A follower is quicker at first.
const FIRST_VALUES: u8 = 60;
const FIRST_PACE: f32 = 3.0;
/// No deviation is smaller or larger, m.
const LEAST_M: f32 = 1e-4;
const MOST_M: f32 = 30.0;
/// Means kept: a bend over four of them needs nine.
const KEPT: usize = 9;

/// Means of heights, the newest first.
#[derive(Clone, Copy, Debug)]
pub(super) struct Means {
    newest_m: [f32; KEPT],
    /// Time from the mean before to each, between their middles.
    gaps_s: [f32; KEPT],
    known: u8,
    sum_m: f32,
    /// Sum of the samples' times since the middle of the newest mean, and the time since.
    sum_s: f32,
    since_s: f32,
    lasted_s: f32,
    count: f32,
    spacing_s: f32,
    samples: f32,
}

impl Default for Means {
    fn default() -> Self {
        Self {
            newest_m: [0.0; KEPT],
            gaps_s: [0.0; KEPT],
            known: 0,
            sum_m: 0.0,
            sum_s: 0.0,
            since_s: 0.0,
            lasted_s: 0.0,
            count: 0.0,
            spacing_s: 0.0,
            samples: 1.0,
        }
    }
}

/// How far the middle of three means lies below the straight line through the others, twice:
/// `B(0) - 2 B(1) + B(2)` where they are evenly spaced. A steady climb does not bend.
#[derive(Clone, Copy, Debug)]
pub(super) struct Bend {
    pub(super) bend_m: f32,
    /// Time between the means; where uneven, that which gives a walk the same bend.
    pub(super) apart_s: f32,
}

/// A bend of means has the variance of one mean so many times: 1 + 4 + 1.
const BEND_OF_MEANS: f32 = 6.0;

/// The variance that noise of `noise_m` a sample gives a bend of means of so many `samples`, m2.
pub(super) fn bend_noise_m2(noise_m: f32, samples: f32) -> f32 {
    BEND_OF_MEANS * noise_m * noise_m / samples
}

impl Means {
    /// Takes a height, `dt_s` after the one before, into a mean that is `length_s` long, but at
    /// least one sample; returns whether it is complete.
    pub(super) fn take(&mut self, dt_s: f32, height_m: f32, length_s: f32) -> bool {
        self.since_s += dt_s;
        self.lasted_s += dt_s;
        self.sum_s += self.since_s;
        self.sum_m += height_m;
        self.count += 1.0;
        // Complete at the sample nearest to the length.
        let is_complete = self.lasted_s + 0.5 * smaller(dt_s, length_s) >= length_s;
        if is_complete {
            self.complete();
        }
        is_complete
    }

    /// Completes a mean before a pause of `pause_s`, which becomes part of no mean; returns whether
    /// there was one.
    pub(super) fn pause(&mut self, pause_s: f32) -> bool {
        let had_samples = self.count > 0.0;
        if had_samples {
            self.complete();
        }
        self.lasted_s = -pause_s;
        had_samples
    }

    fn complete(&mut self) {
        let gap_s = self.sum_s / self.count;
        self.newest_m.rotate_right(1);
        self.gaps_s.rotate_right(1);
        let ([newest_m, ..], [newest_s, ..]) = (&mut self.newest_m, &mut self.gaps_s);
        (*newest_m, *newest_s) = (self.sum_m / self.count, gap_s);
        self.spacing_s = match self.known {
            0 => larger(self.lasted_s, LEAST_SPACING_S),
            1 => gap_s,
            _ => self.spacing_s + SPACING_SHARE * (gap_s - self.spacing_s),
        };
        self.known = self.known.saturating_add(1);
        self.samples = self.count;
        self.since_s -= gap_s;
        (self.sum_m, self.sum_s, self.lasted_s, self.count) = (0.0, 0.0, 0.0, 0.0);
    }

    /// The bend over 1 mean, where so many are known and are about evenly spaced.
    pub(super) fn bend_1(&self) -> Option<Bend> {
        let ([now_m, one_m, two_m, ..], [one_s, two_s, ..]) = (self.newest_m, self.gaps_s);
        (self.known > 2).then(|| Bend::of([now_m, one_m, two_m], [one_s, two_s])).flatten()
    }

    /// The bend over 2 means.
    pub(super) fn bend_2(&self) -> Option<Bend> {
        let [now_m, _, two_m, _, four_m, ..] = self.newest_m;
        let [one_s, two_s, three_s, four_s, ..] = self.gaps_s;
        let gaps_s = [one_s + two_s, three_s + four_s];
        (self.known > 4).then(|| Bend::of([now_m, two_m, four_m], gaps_s)).flatten()
    }

    /// The bend over 4 means.
    pub(super) fn bend_4(&self) -> Option<Bend> {
        let [now_m, _, _, _, four_m, .., eight_m] = self.newest_m;
        let [a_s, b_s, c_s, d_s, e_s, f_s, g_s, h_s, _] = self.gaps_s;
        let gaps_s = [a_s + b_s + c_s + d_s, e_s + f_s + g_s + h_s];
        (self.known > 8).then(|| Bend::of([now_m, four_m, eight_m], gaps_s)).flatten()
    }

    /// Height gained per second over the last four means; meaningful where [`Means::bend_4`] is.
    pub(super) fn climb_mps(&self) -> f32 {
        let ([now_m, _, _, _, four_m, ..], [a_s, b_s, c_s, d_s, ..]) = (self.newest_m, self.gaps_s);
        (now_m - four_m) / (a_s + b_s + c_s + d_s)
    }

    /// The newest mean.
    pub(super) fn newest_m(&self) -> f32 {
        let [now, ..] = self.newest_m;
        now
    }

    /// Samples in it.
    pub(super) fn samples(&self) -> f32 {
        self.samples
    }

    /// Time from one mean to the next, s.
    pub(super) fn spacing_s(&self) -> f32 {
        self.spacing_s
    }

    /// The variance that noise of `noise_m` a sample gives a bend, m2.
    pub(super) fn noise_m2(&self, noise_m: f32) -> f32 {
        bend_noise_m2(noise_m, self.samples)
    }

    /// The noise of a sample whose bends have the variance `bend_m2` by noise alone, m.
    pub(super) fn noise_of_m(&self, bend_m2: f32) -> f32 {
        libm::sqrtf(self.samples * bend_m2 / BEND_OF_MEANS)
    }

    /// Measures heights from a new origin, `by_m` higher.
    pub(super) fn shift(&mut self, by_m: f32) {
        for mean_m in &mut self.newest_m {
            *mean_m -= by_m;
        }
        self.sum_m -= self.count * by_m;
    }

    /// Forgets the heights.
    pub(super) fn clear(&mut self) {
        *self = Self { spacing_s: self.spacing_s, samples: self.samples, ..Self::default() };
    }
}

impl Bend {
    fn of([now_m, middle_m, old_m]: [f32; 3], [new_s, old_s]: [f32; 2]) -> Option<Self> {
        if new_s > UNEVEN * old_s || old_s > UNEVEN * new_s {
            return None;
        }
        let share = new_s / (new_s + old_s);
        let line_m = now_m + share * (old_m - now_m);
        Some(Self { bend_m: 2.0 * (line_m - middle_m), apart_s: 2.0 * share * old_s })
    }
}

/// Follows the deviation of values of zero mean, in steps of its logarithm, so that single large
/// values have little weight.
#[derive(Clone, Copy, Debug)]
pub(super) struct Deviation {
    value_m: f32,
    seen: u8,
}

impl Deviation {
    /// A follower that begins at `value_m`.
    pub(super) const fn from(value_m: f32) -> Self {
        Self { value_m, seen: 0 }
    }

    /// Takes a value; `pace` is the step of the logarithm, about one over the number of values that
    /// are remembered.
    pub(super) fn follow(&mut self, value_m: f32, pace: f32) {
        let pace = if self.seen < FIRST_VALUES { FIRST_PACE * pace } else { pace };
        self.seen = self.seen.saturating_add(1);
        let times = libm::fabsf(value_m) / (LIMIT * self.value_m);
        let step = if times <= 1.0 {
            -1.0
        } else if times < MOST_TIMES {
            times
        } else {
            MOST_TIMES
        };
        self.value_m = (self.value_m * libm::expf(pace * step)).clamp(LEAST_M, MOST_M);
    }

    /// The variance, m2.
    pub(super) fn variance_m2(&self) -> f32 {
        self.value_m * self.value_m
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::motion::random::Noise;
    use approx::{assert_abs_diff_eq, assert_relative_eq};

    /// Means of 0.12 s of a height over time, at 50 samples a second.
    fn means(seconds: f32, height_m: impl Fn(f32) -> f32) -> Means {
        let mut means = Means::default();
        for sample in 0..(seconds * 50.0) as u32 {
            means.take(0.02, height_m(sample as f32 * 0.02), 0.12);
        }
        means
    }

    #[test]
    fn a_steady_climb_has_no_bend_and_an_acceleration_bends_by_its_square_of_time() {
        let climb = means(4.0, |t| 3.0 * t);
        for bend in [climb.bend_1(), climb.bend_2(), climb.bend_4()] {
            assert_abs_diff_eq!(bend.unwrap().bend_m, 0.0, epsilon = 1e-4);
        }
        assert_relative_eq!(climb.climb_mps(), 3.0, max_relative = 1e-4);
        // a D^2 for D of one, two and four means; any text on differences.
        let faster = means(4.0, |t| 0.5 * 2.0 * t * t);
        for (bend, apart_s) in
            [(faster.bend_1(), 0.12_f32), (faster.bend_2(), 0.24), (faster.bend_4(), 0.48)]
        {
            let Bend { bend_m, apart_s: found_s } = bend.unwrap();
            assert_relative_eq!(bend_m, 2.0 * apart_s * apart_s, max_relative = 1e-2);
            assert_relative_eq!(found_s, apart_s, max_relative = 1e-3);
        }
    }

    #[test]
    fn a_bend_is_known_only_from_means_that_are_about_evenly_spaced() {
        let mut means = means(0.7, |t| t);
        assert!(means.bend_2().is_some() && means.bend_4().is_none());
        means.pause(0.8);
        for sample in 0..7 {
            means.take(if sample == 0 { 0.8 } else { 0.02 }, 1.5, 0.12);
        }
        assert!(means.bend_1().is_none(), "0.8 s is not as long as 0.12 s");
    }

    #[test]
    fn a_steady_climb_does_not_bend_across_a_pause_and_a_jump_does() {
        // Ten samples at 50 Hz, then a pause of 0.14 s, and again.
        let mut means = Means::default();
        let (mut time_s, mut jump_m) = (0.0_f32, 0.0);
        let mut bends_m = std::vec![];
        for sample in 0..400 {
            let dt_s = if sample % 10 == 0 { 0.14 } else { 0.02 };
            if dt_s > 0.12 {
                means.pause(dt_s);
            }
            time_s += dt_s;
            if sample == 300 {
                jump_m = 1.0;
            }
            means.take(dt_s, 3.0 * time_s + jump_m, 0.12);
            bends_m.extend(means.bend_2().map(|bend| (sample, bend.bend_m)));
        }
        assert!(bends_m.len() > 300);
        let largest_m =
            |bends: &[(i32, f32)]| bends.iter().map(|(_, bend_m)| bend_m.abs()).fold(0.0, f32::max);
        let (before, after): (std::vec::Vec<_>, std::vec::Vec<_>) =
            bends_m.iter().partition(|(sample, _)| *sample < 300);
        assert_abs_diff_eq!(largest_m(&before), 0.0, epsilon = 1e-3);
        assert!(largest_m(&after) > 0.6);
    }

    #[test]
    fn a_follower_settles_on_the_deviation_of_normal_values() {
        let mut noise = Noise(5);
        for deviation_m in [0.01_f32, 0.3, 20.0] {
            let (mut follower, mut sum) = (Deviation::from(0.1), 0.0);
            for value in 0..6000 {
                follower.follow(deviation_m * noise.normal() as f32, 0.01);
                sum += if value >= 1000 { follower.variance_m2() } else { 0.0 };
            }
            assert_relative_eq!((sum / 5000.0).sqrt(), deviation_m, max_relative = 0.05);
        }
    }
}
