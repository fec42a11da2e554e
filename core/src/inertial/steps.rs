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
//! and in any other of the ten one part of a velocity over the ground.

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
