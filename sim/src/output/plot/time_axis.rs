//! The time axis: round times of the trace's own clock, in seconds, minutes or hours by its length.

use super::svg::{Weight, text_width};

const SECOND_US: i64 = 1_000_000;
const MINUTE_US: i64 = 60 * SECOND_US;
const HOUR_US: i64 = 60 * MINUTE_US;
const DAY_US: i64 = 24 * HOUR_US;
/// Below this times are in seconds.
const SECONDS_BELOW_US: i64 = 2 * MINUTE_US;
/// A clock that is further from zero than this (eleven days) counts from somewhere else than the
/// flight, such as 1970; its time is then shown from the start of the trace.
const FAR_FROM_ZERO_US: i64 = 1_000_000 * SECOND_US;
/// Free space between two labels, in pixels.
const BETWEEN_LABELS: f32 = 40.0;

/// Time along the pictures, from the left end to the right.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TimeAxis {
    /// What the clock shows at the left end, in microseconds.
    from_us: i64,
    span_us: i64,
    /// Time furthest from zero on the whole of the axis that this may be a part of: what the style
    /// goes by.
    furthest_us: i64,
    clock: Clock,
    /// Hours have seconds, even where all labels are whole minutes.
    shows_seconds: bool,
}

/// What the times of an axis are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Clock {
    /// The trace's own.
    Trace,
    /// Counted from the start of the trace.
    SinceStart,
    /// The time of day, which begins again at midnight.
    Utc,
}

/// Labelled places, as a share of the axis's length.
#[derive(Clone, Debug, PartialEq)]
pub struct TimeTicks {
    /// Place and label.
    pub ticks: Vec<(f32, String)>,
    /// What the labels are: `s`, `m:ss`, `h:mm` or `h:mm:ss`.
    pub unit: &'static str,
}

#[derive(Clone, Copy)]
enum Style {
    Seconds { decimals: usize },
    MinutesSeconds,
    HoursMinutes,
    HoursMinutesSeconds,
}

impl TimeAxis {
    /// An axis that begins when the trace's clock shows `first_us`.
    pub fn new(first_us: i64, span_us: i64) -> Self {
        let since_start = first_us.unsigned_abs() >= FAR_FROM_ZERO_US.unsigned_abs();
        let from_us = if since_start { 0 } else { first_us };
        let furthest_us = from_us.abs().max(from_us.saturating_add(span_us).abs());
        let clock = if since_start { Clock::SinceStart } else { Clock::Trace };
        Self { from_us, span_us, furthest_us, clock, shows_seconds: false }
    }

    /// An axis that begins when the time of day is `first_us` after midnight UTC.
    pub fn of_day(first_us: i64, span_us: i64) -> Self {
        Self {
            from_us: first_us.rem_euclid(DAY_US),
            span_us,
            furthest_us: DAY_US,
            clock: Clock::Utc,
            shows_seconds: false,
        }
    }

    /// An axis that counts from its left end.
    pub fn since_start(span_us: i64) -> Self {
        Self { from_us: 0, clock: Clock::SinceStart, ..Self::new(0, span_us) }
    }

    /// The same with labels in the style of the longest of `axes`.
    pub fn in_style_of(self, axes: impl Iterator<Item = Self>) -> Self {
        let furthest_us = axes.map(|axis| axis.furthest_us).fold(self.furthest_us, i64::max);
        Self { furthest_us, ..self }
    }

    /// The same with seconds in every label that has hours.
    pub fn with_seconds(self) -> Self {
        Self { shows_seconds: true, ..self }
    }

    /// Whether it counts from its left end.
    pub fn is_since_start(&self) -> bool {
        self.clock == Clock::SinceStart
    }

    /// A part of the axis, both ends counted in microseconds from the start of the trace.
    pub fn part(&self, from_us: i64, to_us: i64) -> Self {
        Self { from_us: self.from_us + from_us, span_us: to_us - from_us, ..*self }
    }

    /// What the axis shows, in words.
    pub fn title(&self) -> &'static str {
        match self.clock {
            Clock::Trace => "Time",
            Clock::SinceStart => "Time after the first sample",
            Clock::Utc => "UTC",
        }
    }

    /// As many round times as fit into `width` pixels with text of `size` pixels.
    pub fn ticks(&self, width: f32, size: f32) -> TimeTicks {
        let to_us = self.from_us.saturating_add(self.span_us);
        // A time of day has no fractions of a second.
        let least_us = if self.clock == Clock::Utc { SECOND_US } else { 0 };
        for step_us in steps().filter(|&step_us| step_us >= least_us) {
            let style = self.style(step_us);
            let label_width = [self.from_us, to_us]
                .map(|time_us| text_width(&style.label(time_us), size, Weight::Regular))
                .into_iter()
                .fold(0.0, f32::max);
            if (self.span_us / step_us + 1) as f32 * (label_width + BETWEEN_LABELS) <= width {
                return TimeTicks { ticks: self.multiples(step_us, style), unit: style.unit() };
            }
        }
        TimeTicks { ticks: Vec::new(), unit: "h:mm" }
    }

    fn multiples(&self, step_us: i64, style: Style) -> Vec<(f32, String)> {
        let first =
            self.from_us.div_euclid(step_us) + i64::from(self.from_us.rem_euclid(step_us) > 0);
        let times = (first..)
            .map(|count| count * step_us)
            .take_while(|time_us| time_us - self.from_us <= self.span_us);
        let shown =
            |time_us: i64| if self.clock == Clock::Utc { time_us % DAY_US } else { time_us };
        times
            .map(|time_us| {
                ((time_us - self.from_us) as f32 / self.span_us as f32, style.label(shown(time_us)))
            })
            .collect()
    }

    fn style(&self, step_us: i64) -> Style {
        if step_us < SECOND_US || self.furthest_us < SECONDS_BELOW_US {
            let decimals = [1_000, 10_000, 100_000]
                .iter()
                .filter(|&&unit_us| step_us % (10 * unit_us) != 0)
                .count();
            Style::Seconds { decimals }
        } else if self.furthest_us < HOUR_US {
            Style::MinutesSeconds
        } else if step_us % MINUTE_US == 0 && !self.shows_seconds {
            Style::HoursMinutes
        } else {
            Style::HoursMinutesSeconds
        }
    }
}

impl Style {
    fn unit(self) -> &'static str {
        match self {
            Style::Seconds { .. } => "s",
            Style::MinutesSeconds => "m:ss",
            Style::HoursMinutes => "h:mm",
            Style::HoursMinutesSeconds => "h:mm:ss",
        }
    }

    fn label(self, time_us: i64) -> String {
        let sign = if time_us < 0 { "\u{2212}" } else { "" };
        let us = time_us.abs();
        let (hours, minutes, seconds) = (us / HOUR_US, us / MINUTE_US, us / SECOND_US);
        match self {
            Style::Seconds { decimals } => {
                format!("{sign}{:.decimals$}", us as f64 / SECOND_US as f64)
            }
            Style::MinutesSeconds => format!("{sign}{minutes}:{:02}", seconds % 60),
            Style::HoursMinutes => format!("{sign}{hours}:{:02}", minutes % 60),
            Style::HoursMinutesSeconds => {
                format!("{sign}{hours}:{:02}:{:02}", minutes % 60, seconds % 60)
            }
        }
    }
}

/// Round steps, from a millisecond to some centuries.
fn steps() -> impl Iterator<Item = i64> {
    let below_a_second =
        [1_000, 10_000, 100_000].into_iter().flat_map(|unit| [1, 2, 5].map(|digit| digit * unit));
    let sixtieths = [SECOND_US, MINUTE_US]
        .into_iter()
        .flat_map(|unit| [1, 2, 5, 10, 15, 30].map(|count| count * unit));
    let hours = [1, 2, 3, 6, 12].into_iter().map(|count| count * HOUR_US);
    let days = (0..5).flat_map(|power| [1, 2, 5].map(|digit| digit * 10_i64.pow(power) * DAY_US));
    below_a_second.chain(sixtieths).chain(hours).chain(days)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The labels of an axis from `from_s` to `to_s`, and their unit.
    fn labels(from_s: f64, to_s: f64) -> (Vec<String>, &'static str) {
        let axis = TimeAxis::new((from_s * 1e6) as i64, ((to_s - from_s) * 1e6) as i64);
        let found = axis.ticks(1100.0, 15.0);
        (found.ticks.into_iter().map(|tick| tick.1).collect(), found.unit)
    }

    #[test]
    fn times_are_written_as_the_length_of_the_trace_asks_for() {
        let (seconds, unit) = labels(0.0, 12.0);
        assert_eq!((seconds[1].as_str(), seconds.len(), unit), ("1", 13, "s"));
        assert_eq!(labels(0.0, 0.4).0[1], "0.05");
        let (minutes, unit) = labels(0.0, 480.0);
        assert_eq!((minutes[3].as_str(), unit), ("3:00", "m:ss"));
        let (hours, unit) = labels(0.0, 5.4 * 3600.0);
        assert_eq!((hours[3].as_str(), unit), ("1:30", "h:mm"));
        assert_eq!(labels(0.0, 3.0 * 86_400.0).0[1], "6:00");
    }

    #[test]
    fn a_trace_that_begins_in_the_day_shows_its_own_time() {
        let (times, unit) = labels(36_000.0, 36_012.0);
        assert_eq!((times[0].as_str(), unit), ("10:00:00", "h:mm:ss"));
        let (times, unit) = labels(36_010.0, 39_610.0);
        assert_eq!((times[0].as_str(), unit), ("10:05", "h:mm"));
        assert_eq!(labels(-2.5, 2.5).0[0], "\u{2212}2.5");
    }

    #[test]
    fn a_clock_that_counts_from_elsewhere_is_shown_from_the_start() {
        let axis = TimeAxis::new(1_700_000_000_000_000, 12_000_000);
        assert_eq!(axis.title(), "Time after the first sample");
        assert_eq!(axis.ticks(1100.0, 15.0).ticks[0].1, "0");
    }

    #[test]
    fn a_time_of_day_begins_again_at_midnight() {
        let axis = TimeAxis::of_day(23 * HOUR_US, 2 * HOUR_US);
        let found = axis.ticks(600.0, 15.0);
        let labels: Vec<&str> = found.ticks.iter().map(|tick| tick.1.as_str()).collect();
        assert_eq!(labels, ["23:00", "23:30", "0:00", "0:30", "1:00"]);
        assert_eq!((axis.title(), found.unit), ("UTC", "h:mm"));
        assert_eq!(
            axis.part(HOUR_US, HOUR_US + 2_000_000).ticks(600.0, 15.0).ticks[1].1,
            "0:00:01"
        );
    }

    #[test]
    fn ticks_lie_where_their_time_is_and_leave_room_between_their_labels() {
        for span_s in [0.01, 1.0, 59.0, 61.0, 300.0, 3599.0, 3601.0, 20_000.0, 400_000.0, 1e9] {
            let axis = TimeAxis::new(7_300_000, (span_s * 1e6) as i64);
            let ticks = axis.ticks(1100.0, 15.0).ticks;
            assert!((3..=26).contains(&ticks.len()), "{span_s} s: {ticks:?}");
            let places = ticks.windows(2).map(|pair| (pair[0].0, pair[1].0));
            let room =
                places.map(|(left, right)| 1100.0 * (right - left)).fold(f32::INFINITY, f32::min);
            assert!(
                room >= BETWEEN_LABELS + text_width(&ticks[0].1, 15.0, Weight::Regular),
                "{span_s} s: {room}"
            );
        }
    }
}
