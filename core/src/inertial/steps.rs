//! What is done in which sample.
//!
//! The states move with every sample; the covariance takes steps of several, and what the other
//! sensors say is used in a round over two steps, so that no sample has too much to do on a small
//! processor. At 50 samples a second:
//!
//! ```text
//! 1   the covariance's step        6   the covariance's step
//! 2   height                       7   side slip
//! 3   airspeed, or standing still  8   what the climb may be wrong by, bank
//! ```
//!
//! and, while a velocity over the ground waits, one part of it in each of the ten but 1 and 6.

use super::filter::Filter;
use super::noise::Noise;
use super::seen::Part;

/// The covariance takes steps of at least this: five samples at 50 a second. Steps of 0.04 to 0.1 s
/// read alike (docs/src/inertial.md).
const STEP_S: f32 = 0.09;
/// Parts of a round that are done after a step, one a sample.
const PARTS: u8 = 2;
/// Samples that are further apart do all that is due at once: they have the time.
const SLOW_S: f32 = 0.035;
/// An unknown heading is forgotten this often (a guess; it grows by a degree in a minute).
const FORGET_S: f32 = 5.0;

impl Filter {
    /// Uses what was seen, as far as it is this sample's turn.
    pub fn settle(&mut self, noise: &Noise) {
        if self.pending.dt_s < STEP_S {
            if self.round.left > 0 {
                self.round.left -= 1;
                self.do_next(noise);
            }
            self.take_ground(noise);
            return;
        }
        let mut step = core::mem::take(&mut self.pending);
        step.down = self.rotation.down;
        step.gust_left = self.gust_left(noise, step.dt_s);
        self.covariance.advance(&step);
        self.wander(noise, &step);
        self.follow_rise(step.dt_s);
        self.round.gathered_s += step.dt_s;
        if self.sample_s < SLOW_S {
            self.round.left = PARTS;
            return;
        }
        while self.do_next(noise) {}
        while self.take_ground(noise) {}
    }

    /// Does the next part of a round; returns whether another follows.
    fn do_next(&mut self, noise: &Noise) -> bool {
        let part = self.round.next;
        self.round.next = match part {
            Part::Height => {
                self.round.lasts_s = core::mem::take(&mut self.round.gathered_s);
                self.use_height(noise, self.round.lasts_s);
                Part::Airspeed
            }
            Part::Airspeed => {
                self.round.flies = self.flies(noise, self.round.lasts_s);
                if self.round.flies {
                    self.use_airspeed(noise, self.round.lasts_s);
                }
                Part::Slip
            }
            Part::Slip => {
                if self.round.flies {
                    self.use_slip(noise, self.round.lasts_s);
                }
                Part::Deviation
            }
            Part::Deviation => {
                self.forget_unknown_heading(self.round.lasts_s);
                self.weigh_errors();
                self.look_for_the_absurd();
                Part::Height
            }
        };
        part != Part::Deviation
    }

    fn forget_unknown_heading(&mut self, dt_s: f32) {
        self.miss_ground();
        self.unforgotten_s += dt_s;
        if !self.heading_known && self.unforgotten_s > FORGET_S {
            self.unforgotten_s = 0.0;
            self.forget_heading();
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::air::atmosphere::GRAVITY_MPS2;
    use crate::inertial::errors::Errors;
    use approx::assert_abs_diff_eq;

    const FORCE: [f32; 3] = [0.0, 0.0, -GRAVITY_MPS2];
    const AIRSPEED_MPS: f32 = 25.0;

    /// Straight and level at `rate` samples a second; with what is wrong in the beginning.
    fn straight(rate: f32, seconds: f32, wrong: impl Fn(&mut Filter)) -> Filter {
        let noise = Noise::USUAL;
        let mut filter = Filter::start(&noise, FORCE, 1000.0, AIRSPEED_MPS);
        wrong(&mut filter);
        for _ in 0..(seconds * rate) as u32 {
            filter.predict(&noise, (1.0 / rate, 1.0), (FORCE, 0.0), [0.0; 3]);
            filter.see_height(1000.0, 0.0);
            filter.see_airspeed(AIRSPEED_MPS, 0.0);
            filter.settle(&noise);
        }
        filter
    }

    #[test]
    fn height_airspeed_and_slip_are_all_used_at_every_rate() {
        for rate in [10.0, 20.0, 25.0, 28.0, 30.0, 40.0, 50.0, 72.0, 100.0, 136.0, 200.0] {
            let right = straight(rate, 20.0, |_| {});
            assert_abs_diff_eq!(right.climb(), 0.0, epsilon = 1.0e-2);
            // What each of the three shows alone is set right by it.
            let wrong = straight(rate, 20.0, |filter| {
                filter.height += 0.9;
                filter.velocity = [AIRSPEED_MPS - 2.0, 1.5, 0.0];
            });
            let [ahead, aside, _] = wrong.through_body();
            assert_abs_diff_eq!(wrong.origin + wrong.height, 1000.0, epsilon = 0.1);
            assert_abs_diff_eq!(ahead, AIRSPEED_MPS, epsilon = 0.3);
            assert_abs_diff_eq!(aside - wrong.slip * ahead, 0.0, epsilon = 0.15);
        }
    }

    #[test]
    fn a_pitot_that_reads_nothing_for_half_a_second_leaves_the_covariance_its_digits() {
        let noise = Noise::USUAL;
        for rate in [10.0, 50.0] {
            let mut filter = straight(rate, 20.0, |_| {});
            let [_, aside, _] = filter.slip_variances();
            for _ in 0..(0.5 * rate) as u32 {
                filter.predict(&noise, (1.0 / rate, 1.0), (FORCE, 0.0), [0.0; 3]);
                filter.see_height(1000.0, 0.0);
                filter.see_airspeed(0.0, 0.0);
                filter.settle(&noise);
            }
            let [_, later, _] = filter.slip_variances();
            assert!(later > 0.1 * aside, "at {rate} Hz {aside} to {later}");
        }
    }

    impl Filter {
        /// Variances of the velocity along body axes.
        fn slip_variances(&self) -> [f32; 3] {
            [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]]
                .map(|velocity| self.covariance.variance(Errors { velocity, ..Errors::default() }))
        }
    }
}
