//! The altitude's own vertical speed beside a compensated reading.
//!
//! It is only shown, never heard, so a fixed filter as late as the response time will do; a second
//! adaptive filter would double the cost of a sample. It follows what the compensated filter found:
//! a height held back there is not used here, and where the heights stepped as no glider flies, the
//! altitude's own step is taken off too.

use crate::motion::estimator::{Estimate, ORIGIN_REACH_M};
use crate::motion::fixed::FixedState;
use crate::units::{Metre, MetrePerSecond};

/// A step of the energy height is one of the altitude too where the altitude is off by as much, to
/// within this share; where it is not, it came from the airspeed.
const ALIKE: f32 = 0.5;

/// State of the plain vertical speed.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct PlainState {
    origin_m: f32,
    /// Steps taken off the altitude, and those that the compensated filter has found so far.
    stepped_m: f32,
    found_m: f32,
    fixed: Option<FixedState>,
}

impl PlainState {
    /// Takes the altitude of a sample, `dt_s` after the one before, of which the compensated filter
    /// said `estimate`. A filter that begins in flight goes on from the vertical speed `before`.
    pub(crate) fn step(
        &mut self,
        response_s: f32,
        dt_s: f32,
        altitude: Metre,
        estimate: &Estimate,
        before: Option<MetrePerSecond>,
    ) {
        let Some(fixed) = &mut self.fixed else {
            self.origin_m = libm::floorf(altitude.0);
            self.found_m = estimate.steps.0;
            let height_m = altitude.0 - self.origin_m;
            self.fixed = Some(match before {
                Some(speed) => FixedState::take_over(height_m, speed.0),
                None => FixedState::start(height_m),
            });
            return;
        };
        if dt_s <= 0.0 {
            return;
        }
        if estimate.suspect {
            fixed.coast(dt_s);
            return;
        }
        let step_m = estimate.steps.0 - self.found_m;
        self.found_m = estimate.steps.0;
        let away_m = altitude.0 - self.stepped_m - self.origin_m - fixed.height_m;
        if libm::fabsf(away_m - step_m) < ALIKE * libm::fabsf(step_m) {
            self.stepped_m += step_m;
        }
        fixed.step(response_s, dt_s, altitude.0 - self.stepped_m - self.origin_m);
        if fixed.height_m.abs() > ORIGIN_REACH_M {
            let whole_m = libm::floorf(fixed.height_m);
            self.origin_m += whole_m;
            fixed.shift(whole_m);
        }
    }

    /// The filtered altitude, less steps.
    pub(crate) fn height(&self) -> Metre {
        Metre(self.origin_m + self.fixed.map_or(0.0, |fixed| fixed.height_m))
    }

    /// Its vertical speed.
    pub(crate) fn velocity(&self) -> MetrePerSecond {
        MetrePerSecond(self.fixed.map_or(0.0, |fixed| fixed.velocity_mps))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    const GOOD: Estimate = Estimate {
        height: Metre(0.0),
        velocity: MetrePerSecond(0.0),
        deviation: MetrePerSecond(0.0),
        settled: true,
        suspect: false,
        steps: Metre(0.0),
    };

    #[test]
    fn it_shows_a_climb_from_5000_m_and_goes_on_from_a_known_speed() {
        let mut plain = PlainState::default();
        for sample in 0..500 {
            let altitude = Metre(5000.0 + 2.0 * sample as f32 * 0.02);
            plain.step(1.0, 0.02, altitude, &GOOD, Some(MetrePerSecond(2.0)));
            assert_abs_diff_eq!(plain.velocity().0, 2.0, epsilon = 0.02);
        }
        assert_abs_diff_eq!(plain.height().0, 5019.96, epsilon = 0.1);
    }

    #[test]
    fn a_held_back_height_is_not_used_and_a_step_is_taken_off() {
        let mut plain = PlainState::default();
        let stepped = Estimate { steps: Metre(340.0), ..GOOD };
        let mut step = |altitude: f32, estimate: &Estimate| {
            plain.step(1.0, 0.02, Metre(altitude), estimate, None);
            (plain.height().0, plain.velocity().0)
        };
        for _ in 0..200 {
            step(900.0, &GOOD);
        }
        for (altitude, estimate) in
            [(1240.0, Estimate { suspect: true, ..GOOD }), (1240.0, stepped), (1240.0, stepped)]
        {
            let (height, velocity) = step(altitude, &estimate);
            assert_abs_diff_eq!(height, 900.0, epsilon = 0.01);
            assert_abs_diff_eq!(velocity, 0.0, epsilon = 0.01);
        }
    }
}
