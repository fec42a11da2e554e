//! What is done in which sample.
//!
//! The states move with every sample; the covariance takes steps of several, and what a step asks
//! for is spread over the samples after it, so that none has too much to do on a small processor:
//!
//! ```text
//! the sample that ends a step   the covariance's step
//! the next                      height                        + and one part each of a velocity
//! the next                      airspeed, or standing still   | over the ground, in any sample
//! the next                      side slip                     | that ends no step
//! the next                      the climb's deviation, bank   +
//! ```

use super::filter::Filter;
use super::noise::Noise;
use super::seen::{Due, Part};

/// The covariance takes steps of at least this: five samples at 50 a second. Steps of 0.04 to 0.12 s
/// read alike (docs/src/inertial.md).
const STEP_S: f32 = 0.09;
/// An unknown heading is forgotten this often (a guess; it grows by a degree in a minute).
const FORGET_S: f32 = 1.0;

impl Filter {
    /// Uses what was seen, as far as it is this sample's turn.
    pub fn settle(&mut self, noise: &Noise) {
        if self.pending.dt_s < STEP_S {
            self.do_next(noise);
            self.take_ground(noise);
            return;
        }
        while self.do_next(noise) {}
        // In a slow stream every sample does all of it.
        let is_slow = self.sample_s >= STEP_S;
        while is_slow && self.take_ground(noise) {}
        let mut step = core::mem::take(&mut self.pending);
        step.down = self.rotation.down;
        step.gust_left = self.gust_left(noise, step.dt_s);
        self.covariance.advance(&step);
        self.wander(noise, &step);
        self.follow_rise(step.dt_s);
        self.due = Some(Due { step, next: Part::Height });
        while is_slow && self.do_next(noise) {}
    }

    /// Does the next part of a step; returns whether there was one.
    fn do_next(&mut self, noise: &Noise) -> bool {
        let Some(Due { step, next }) = self.due.take() else { return false };
        let after = match next {
            Part::Height => {
                self.use_height(noise, step.dt_s);
                Some(Part::Airspeed)
            }
            Part::Airspeed if self.flies(noise, &step) => {
                self.use_airspeed(noise, step.dt_s);
                Some(Part::Slip)
            }
            Part::Airspeed => Some(Part::Deviation),
            Part::Slip => {
                self.use_slip(noise, &step);
                Some(Part::Deviation)
            }
            Part::Deviation => {
                self.forget_unknown_heading(step.dt_s);
                self.weigh_errors();
                None
            }
        };
        self.due = after.map(|next| Due { step, next });
        true
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
