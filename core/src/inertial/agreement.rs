//! Whether what the sensor felt adds up to what the other sensors say.
//!
//! Between two measurements the filter's energy height, `h + v.v / 2g`, grows by its climb and by
//! nothing else. Then a measurement moves it. What the measurements have added over a while is
//! therefore what the sensor got wrong of the climb:
//!
//! ```text
//! d' = what the measurements add to the energy height - d / T
//! ```
//!
//! A climb that is wrong by e for long gives d = e T. A gust is in the airspeed, but the filter
//! expects gusts, and does not follow them with its energy: gusts of 0.5 m/s rms, in which the
//! energy height of the pressures wanders by 5 m, give 3 m over the longer span, and a force that
//! is suddenly wrong by 1 m/s2 gives 3 m within 2 to 4 s.

/// T, and the time over which the climb may be wrong by as much as that of the pressures, s: a
/// short span for what is suddenly wrong by a lot, and two thirds of a circle for what is wrong by
/// less (guesses with the margin above).
const SPANS: [Span; 2] = [Span { lasts_s: 4.0, most_s: 5.8 }, Span { lasts_s: 12.0, most_s: 10.0 }];

#[derive(Clone, Copy, Debug)]
struct Span {
    lasts_s: f32,
    most_s: f32,
}

/// State of the comparison: d over each span.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Agreement {
    added_m: [f32; 2],
}

impl Agreement {
    /// Takes what the measurements have added to the energy height over `dt_s`.
    pub(super) fn pass(&mut self, dt_s: f32, added_m: f32) {
        for (sum, span) in self.added_m.iter_mut().zip(SPANS) {
            *sum = (*sum + added_m) * (span.lasts_s / (span.lasts_s + dt_s));
        }
    }

    /// Whether they contradict each other, where a climb wrong by `climb` (m/s) is allowed.
    pub(super) fn is_broken(&self, climb: f32) -> bool {
        self.added_m.iter().zip(SPANS).any(|(sum, span)| sum.abs() > climb * span.most_s)
    }

    /// Whether they agree well enough to trust in.
    pub(super) fn is_good(&self, climb: f32) -> bool {
        !self.is_broken(0.5 * climb)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    const DT_S: f32 = 0.02;

    /// What the measurements add each second, for `seconds`.
    fn after(seconds: f32, added_mps: impl Fn(f32) -> f32) -> Agreement {
        let mut agreement = Agreement::default();
        for step in 0..(seconds / DT_S) as u32 {
            agreement.pass(DT_S, DT_S * added_mps(DT_S * step as f32));
        }
        agreement
    }

    #[test]
    fn a_climb_that_is_wrong_for_long_adds_up_to_itself_times_the_span() {
        let agreement = after(120.0, |_| -0.5);
        assert_abs_diff_eq!(agreement.added_m[0], -0.5 * 4.0, epsilon = 1.0e-3);
        assert_abs_diff_eq!(agreement.added_m[1], -0.5 * 12.0, epsilon = 1.0e-3);
        // 6 m over the longer span are what a climb of 0.6 m/s may be wrong by.
        assert!(agreement.is_broken(0.59) && !agreement.is_broken(0.61));
        assert!(!agreement.is_good(1.19) && agreement.is_good(1.21));
    }

    #[test]
    fn a_sudden_error_is_seen_over_the_short_span_first() {
        // 2 m/s: 8 (1 - exp(-t / 4)) m is beyond 5.8 m after 5.2 s, 24 (1 - exp(-t / 12)) m beyond
        // 10 m after 6.5 s.
        assert!(!after(5.0, |_| 2.0).is_broken(1.0));
        assert!(after(5.4, |_| 2.0).is_broken(1.0));
    }

    #[test]
    fn what_comes_and_goes_is_left_in_as_one_pole_leaves_it() {
        // A swing of 1 m/s at 5 s passes one pole of T with T / sqrt(1 + (2 pi T / 5)^2).
        let turn = core::f32::consts::TAU / 5.0;
        let mut most = [0.0_f32; 2];
        for step in 0..250 {
            let agreement = after(100.0 + DT_S * step as f32, |time| (turn * time).sin());
            most = core::array::from_fn(|span| most[span].max(agreement.added_m[span]));
        }
        for (found, lasts_s) in most.into_iter().zip([4.0, 12.0]) {
            let expected = lasts_s / (1.0 + (turn * lasts_s) * (turn * lasts_s)).sqrt();
            assert_abs_diff_eq!(found, expected, epsilon = 0.01);
        }
        assert!(after(100.0, |time| (turn * time).sin()).is_good(0.4));
    }
}
