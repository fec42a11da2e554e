//! The climbs of a flight one by one, as they end.

use crate::replay::Row;
use chirrup_core::Climb;

/// One climb, to its highest point.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Listed {
    /// When it began, in seconds of the trace.
    pub from_s: f64,
    /// When it was highest.
    pub to_s: f64,
    /// Energy height gained, m.
    pub gain_m: f64,
    /// Its average, m/s.
    pub average_mps: f64,
    /// Best running average in it, m/s.
    pub best_mps: Option<f64>,
}

/// Collects them.
#[derive(Clone, Debug, Default)]
pub struct List {
    /// Those that are over.
    pub climbs: Vec<Listed>,
    present: Option<Listed>,
}

impl List {
    /// Takes a row.
    pub fn row(&mut self, row: &Row) {
        let Some(values) = &row.readings.left.values else { return };
        let average = values.average.map(|average| f64::from(average.0));
        match values.climb {
            Some(climb) => self.climbs_on(row.time.0 as f64 * 1e-6, climb, average),
            None => self.end(),
        }
    }

    /// The trace is over.
    pub fn end(&mut self) {
        self.climbs.extend(self.present.take());
    }

    fn climbs_on(&mut self, time_s: f64, climb: Climb, average: Option<f64>) {
        let gain_m = f64::from(climb.gain.0);
        let best_mps = self
            .present
            .and_then(|present| present.best_mps)
            .into_iter()
            .chain(average)
            .reduce(f64::max);
        let now = Listed {
            from_s: time_s - climb.lasted.0 as f64 * 1e-6,
            to_s: time_s,
            gain_m,
            average_mps: f64::from(climb.average.0),
            best_mps,
        };
        match &mut self.present {
            Some(present) if present.gain_m > gain_m => present.best_mps = best_mps,
            present => *present = Some(now),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use chirrup_core::{Metre, MetrePerSecond, Micros};

    #[test]
    fn a_climb_stands_to_its_highest_point_with_its_best_average() {
        let mut list = List::default();
        for (time, gain, average) in [(10, 20.0, 1.0), (20, 60.0, 4.0), (30, 55.0, 2.0)] {
            let lasted = Micros(time * 1_000_000);
            let average_mps = MetrePerSecond(gain / time as f32);
            let climb = Climb { gain: Metre(gain), lasted, average: average_mps };
            list.climbs_on(100.0 + time as f64, climb, Some(average));
        }
        list.end();
        let climb = list.climbs[0];
        assert_eq!((climb.from_s, climb.to_s, climb.gain_m), (100.0, 120.0, 60.0));
        assert_eq!((climb.average_mps, climb.best_mps), (3.0, Some(4.0)));
    }
}
