//! The reports of the last minute.

use chirrup::session::Report;
use std::collections::VecDeque;

/// How long reports are kept, s.
pub const LENGTH_S: f64 = 60.0;
/// Reports closer together than this count as one, s.
const APART_S: f64 = 0.01;

/// The reports of the last minute.
#[derive(Default)]
pub struct History(VecDeque<Report>);

impl History {
    /// Takes a report; a jump in time, as at a new flight, clears the history.
    pub fn remember(&mut self, report: Report) {
        if let Some(last) = self.0.back() {
            let since = report.time_s - last.time_s;
            if !(0.0..5.0).contains(&since) {
                self.0.clear();
            } else if since < APART_S {
                return;
            }
        }
        while self.0.front().is_some_and(|first| first.time_s < report.time_s - LENGTH_S) {
            self.0.pop_front();
        }
        self.0.push_back(report);
    }

    /// Forgets everything.
    pub fn clear(&mut self) {
        self.0.clear();
    }

    /// From the earliest to the latest.
    pub fn iter(&self) -> impl DoubleEndedIterator<Item = &Report> {
        self.0.iter()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(time_s: f64) -> Report {
        Report { time_s, ..Report::default() }
    }

    #[test]
    fn a_minute_is_remembered_and_a_new_flight_begins_anew() {
        let mut history = History::default();
        for step in 0..10_000 {
            history.remember(at(f64::from(step) * 0.02));
        }
        let first = history.iter().next().map(|report| report.time_s);
        assert!(first.is_some_and(|first| (first - (199.98 - LENGTH_S)).abs() < 0.05), "{first:?}");
        history.remember(at(0.0));
        assert_eq!(history.iter().count(), 1);
    }
}
