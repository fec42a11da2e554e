//! Whether a height is believed, held back as a likely spike, or accepted after all because the
//! next ones agree with it.
//!
//! ```text
//!                within the limit                 the next agrees (or more, far off)
//!     BELIEVED  <-----------------  SUSPECT(n)  ---------------->  STEPPED or FASTER
//!               ----------------->
//!                beyond the limit (a later one that does not agree becomes the first)
//! ```

/// Above this many times the limit, more samples must agree, since two spikes may look alike: three
/// that span 35 ms, or any that span a tenth of a second.
const FAR: f32 = 1.8;
const AGREEING: u8 = 3;
const AGREEING_S: f32 = 0.035;
const LONG_S: f32 = 0.1;
/// Suspects agree if their errors have the same sign and the smaller is at least this share of the
/// larger.
const AGREEMENT: f32 = 0.4;

/// Streams with time steps from here on are slow.
pub(super) const SLOW_S: f32 = 0.2;
/// A sensor's step stays where it is, while a glider that has become faster goes on: in a slow
/// stream suspects that have moved on by this share of the first are a change of speed.
const SLOW_MOVED: f32 = 0.4;
/// In a quick stream a disturbance's steps shrink and an aircraft's grow: so many steps to the same
/// side, each within half a second of the last and at least 0.6 of it, are a change of speed. The
/// energy height steps three times in a gust that takes a tenth of a second, and no launch is so
/// sudden.
pub(super) const STEPS_OF_LAUNCH: u8 = 2;
pub(super) const STEPS_OF_ENERGY: u8 = 6;
const TOGETHER_S: f32 = 0.5;
const NO_SMALLER: f32 = 0.6;

/// The suspects so far.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Suspicion {
    count: u8,
    /// Error of the last suspect, of the first, and the sum of all.
    error_m: f32,
    first_m: f32,
    sum_m: f32,
    lasted_s: f32,
    /// The last step, the time since, and how many like it there have been.
    step_m: f32,
    since_step_s: f32,
    steps: u8,
}

/// What becomes of a height.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Verdict {
    Believed,
    Suspect,
    /// Confirmed: the height has stepped as no glider flies, in a slow stream by the mean of the
    /// suspects' errors.
    Stepped {
        step_m: f32,
    },
    /// Confirmed: the vertical speed has changed.
    Faster,
}

impl Suspicion {
    /// Judges an error of `error_m`, `dt_s` after the last height, where errors beyond `limit_m`
    /// are suspect; in a quick stream `steps_of_launch` steps in a row are a change of speed.
    pub(super) fn judge(
        &mut self,
        error_m: f32,
        limit_m: f32,
        dt_s: f32,
        steps_of_launch: u8,
    ) -> Verdict {
        self.since_step_s += dt_s;
        if error_m.abs() <= limit_m {
            self.count = 0;
            return Verdict::Believed;
        }
        if self.count > 0 && agree(self.error_m, error_m, dt_s) {
            self.count = self.count.saturating_add(1);
            self.lasted_s += dt_s;
            self.sum_m += error_m;
        } else {
            (self.count, self.lasted_s) = (1, 0.0);
            (self.first_m, self.sum_m) = (error_m, error_m);
        }
        self.error_m = error_m;
        let far = error_m.abs() > FAR * limit_m;
        let long =
            self.lasted_s >= LONG_S || (self.count >= AGREEING && self.lasted_s >= AGREEING_S);
        if !(long || (self.count > 1 && !far)) {
            return Verdict::Suspect;
        }
        let mean_m = self.sum_m / f32::from(self.count);
        let step_m = if dt_s >= SLOW_S { mean_m } else { error_m };
        self.count = 0;
        let is_faster = if dt_s >= SLOW_S {
            libm::fabsf(error_m - self.first_m) > SLOW_MOVED * libm::fabsf(self.first_m)
        } else {
            self.count_step(error_m) >= steps_of_launch
        };
        if is_faster { Verdict::Faster } else { Verdict::Stepped { step_m } }
    }

    /// Counts a step of `error_m` in a quick stream with those to the same side before it that
    /// were not much larger.
    fn count_step(&mut self, error_m: f32) -> u8 {
        let follows = self.since_step_s <= TOGETHER_S
            && self.step_m * error_m > 0.0
            && libm::fabsf(error_m) >= NO_SMALLER * libm::fabsf(self.step_m);
        self.steps = if follows { self.steps.saturating_add(1) } else { 1 };
        (self.step_m, self.since_step_s) = (error_m, 0.0);
        self.steps
    }
}

/// Whether the next error says the same as the one before: to the same side, and no smaller than a
/// share of it; in a quick stream no larger either, in a slow one a launch may have begun between.
fn agree(before_m: f32, error_m: f32, dt_s: f32) -> bool {
    let (before, error) = (libm::fabsf(before_m), libm::fabsf(error_m));
    let (small, large) = if before < error { (before, error) } else { (error, before) };
    let alike = small >= AGREEMENT * large;
    before_m * error_m > 0.0 && (alike || (dt_s >= SLOW_S && error > before))
}

#[cfg(test)]
mod tests {
    use super::Verdict::{Believed, Faster, Suspect};
    use super::*;
    use std::vec::Vec;

    fn stepped(step_m: f32) -> Verdict {
        Verdict::Stepped { step_m }
    }

    /// The verdicts on errors in metres, `dt_s` apart, with a limit of 1 m.
    fn verdicts(dt_s: f32, errors_m: &[f32]) -> Vec<Verdict> {
        let mut suspicion = Suspicion::default();
        errors_m
            .iter()
            .map(|error_m| suspicion.judge(*error_m, 1.0, dt_s, STEPS_OF_LAUNCH))
            .collect()
    }

    #[test]
    fn a_lone_spike_is_held_back_and_forgotten() {
        assert_eq!(verdicts(0.02, &[0.2, 9.0, -0.3]), [Believed, Suspect, Believed]);
        assert_eq!(verdicts(0.02, &[9.0, -9.0, 9.0, -9.0]), [Suspect; 4]);
    }

    #[test]
    fn the_next_confirms_a_step_and_further_off_three_must_agree() {
        assert_eq!(verdicts(0.02, &[1.5, 1.4]), [Suspect, stepped(1.4)]);
        assert_eq!(verdicts(0.02, &[9.0, 9.0, 9.0]), [Suspect, Suspect, stepped(9.0)]);
        // Two that are much alike and one that is not.
        assert_eq!(verdicts(0.02, &[9.0, 2.0]), [Suspect, Suspect]);
    }

    #[test]
    fn a_second_step_to_the_same_side_is_a_change_of_speed_unless_it_shrinks() {
        assert_eq!(verdicts(0.02, &[1.5, 1.5, 0.1, 1.5, 1.6]).last(), Some(&Faster));
        assert_eq!(verdicts(0.02, &[2.2, 2.2, 2.2, 0.1, 1.2, 1.2]).last(), Some(&stepped(1.2)));
        assert_eq!(verdicts(0.02, &[1.5, 1.5, 0.1, -1.5, -1.5]).last(), Some(&stepped(-1.5)));
    }

    #[test]
    fn at_a_slow_rate_a_step_stays_and_a_launch_moves_on() {
        assert_eq!(verdicts(1.0, &[50.0, 50.5]), [Suspect, stepped(50.25)]);
        assert_eq!(verdicts(2.0, &[18.0, 51.0]), [Suspect, Faster]);
    }
}
