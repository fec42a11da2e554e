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
        self.is_beyond(climb)
    }

    /// Whether they agree well enough to trust in.
    pub(super) fn is_good(&self, climb: f32) -> bool {
        !self.is_beyond(0.5 * climb)
    }

    fn is_beyond(&self, climb: f32) -> bool {
        self.added_m.iter().zip(SPANS).any(|(sum, span)| sum.abs() > climb * span.most_s)
    }
}
