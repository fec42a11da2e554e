//! The true values in a simulated trace, and the errors of the readings.
//!
//! Errors are of means over each second of the trace, of the reading and of the truth alike:
//! turbulence is rougher than any reading can be, and a pilot hears about a second of it. The lag
//! is the delay of the truth, 0 to 3 s, at which the readings fit it best. Memory does not grow
//! with the trace.

use crate::false_climb::{Counter, FalseClimb};
use crate::time::Clock;
use crate::units::Units;
use chirrup_core::{Meaning, Reading, Status};
use serde::Serialize;
use std::collections::VecDeque;
use std::fmt::{self, Write};

/// Step of the lags that are tried, s, and their number.
const LAG_STEP_S: f64 = 0.1;
const LAGS: usize = 31;
/// A lag is given only where the best fits this much better than the worst; in steady air none
/// does.
const TELLING: f64 = 0.7;

/// The true values at a sample, in m/s, where the trace has them.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Truth {
    /// Vertical speed of the air.
    pub air_mps: Option<f64>,
    /// Vertical speed of the glider.
    pub vertical_mps: Option<f64>,
    /// Rate of the glider's energy relative to the mean air mass, per weight: its mean since the
    /// sample before.
    pub climb_mps: Option<f64>,
}

impl Truth {
    /// A column of earlier versions: the rate of the energy with the gusty airspeed, which counts
    /// every gust as a climb. It is not taken for the truth.
    pub const GUSTY: &'static str = "truth_energy_mps";
    /// The column of the true climb.
    pub const CLIMB: &'static str = "truth_climb_mps";
    /// The columns in which a trace says it, in the order of the fields.
    pub const COLUMNS: [&'static str; 3] = ["truth_air_mps", "truth_vertical_mps", Self::CLIMB];
}

/// How far one reading is from the truth, in means over a second.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Deviation {
    /// Root of the mean square, m/s.
    pub rms_mps: f64,
    /// Mean, reading minus truth, m/s.
    pub bias_mps: f64,
    /// The largest, with its sign, m/s.
    pub worst_mps: f64,
    /// The second in which that was, s of the trace.
    pub worst_at_s: f64,
    /// How many seconds were compared.
    pub seconds: u64,
    /// How late the reading is, s, where the truth changes enough to measure it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub lag_s: Option<f64>,
}

/// How far an instrument is from the truth; values that the trace or the instrument does not have
/// are absent.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct AgainstTruth {
    /// The reading that sounds, against the rate of the glider's energy.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sounded: Option<Deviation>,
    /// The uncompensated reading, against the vertical speed of the glider.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub uncompensated: Option<Deviation>,
    /// Netto, against the vertical speed of the air.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub netto: Option<Deviation>,
    /// Climb that sounds while the glider loses energy, in ten minutes.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub false_climb: Option<FalseClimb>,
}

impl AgainstTruth {
    /// Whether anything was compared.
    pub fn is_empty(&self) -> bool {
        *self == Self::default()
    }
}

impl AgainstTruth {
    /// Writes it in words, in the pilot's units.
    ///
    /// # Errors
    /// Those of `f`.
    pub fn in_units(&self, f: &mut impl Write, units: Units) -> fmt::Result {
        let rows = [
            ("reading", self.sounded),
            ("uncompensated", self.uncompensated),
            ("netto", self.netto),
        ];
        let rows = rows.into_iter().filter_map(|(name, error)| Some((name, error?)));
        for (place, (name, error)) in rows.enumerate() {
            let heading = if place == 0 { "truth" } else { "" };
            let Deviation { worst_at_s, lag_s, .. } = error;
            let rms = units.climb(error.rms_mps).unsigned().finer(1);
            let bias = units.climb(error.bias_mps).finer(1).number();
            let worst = units.climb(error.worst_mps).number();
            write!(f, "  {heading:<13} {name:<13} off by {rms} rms, {bias} in the mean, ")?;
            write!(f, "at worst {worst} at {}", Clock(worst_at_s))?;
            match lag_s {
                Some(lag_s) => writeln!(f, "; {lag_s:.1} s late")?,
                None => writeln!(f)?,
            }
        }
        match self.false_climb {
            Some(false_climb) => writeln!(f, "  {:<13} {:<13} {false_climb}", "", "false climb"),
            None => Ok(()),
        }
    }
}

/// The comparison of one instrument as it goes.
#[derive(Clone, Debug, Default)]
pub struct Comparison {
    sounded: Means,
    uncompensated: Means,
    netto: Means,
    lags: Lags,
    false_climb: Counter,
}

impl Comparison {
    /// Adds a reading and the true values.
    pub fn take(&mut self, reading: &Reading, truth: &Truth) {
        let time_s = reading.time.0 as f64 * 1e-6;
        if let Some(climb_mps) = truth.climb_mps {
            self.lags.remember(time_s, climb_mps);
        }
        let is_beginning =
            matches!(reading.status, Status::Settling | Status::Gap | Status::ClockReset);
        let Some(values) = reading.values.as_ref().filter(|_| !is_beginning) else { return };
        let sounded = f64::from(values.sounded().0);
        self.sounded.take(time_s, Some(sounded), truth.climb_mps);
        self.uncompensated.take(
            time_s,
            Some(f64::from(values.vertical_speed.0)),
            truth.vertical_mps,
        );
        self.netto.take(time_s, values.netto.map(|netto| f64::from(netto.air.0)), truth.air_mps);
        if let Some(climb_mps) = truth.climb_mps {
            self.lags.take(time_s, sounded);
            let is_climb = values.sound.meaning() == Meaning::Climb;
            self.false_climb.take(time_s, is_climb, climb_mps);
        }
    }

    /// What it came to.
    pub fn result(&self) -> AgainstTruth {
        let sounded =
            self.sounded.error().map(|error| Deviation { lag_s: self.lags.best_s(), ..error });
        AgainstTruth {
            sounded,
            uncompensated: self.uncompensated.error(),
            netto: self.netto.error(),
            false_climb: self.false_climb.result(),
        }
    }
}

/// Errors of means over each second.
#[derive(Clone, Copy, Debug, Default)]
struct Means {
    second: f64,
    samples: f64,
    sum: f64,
    total: Totals,
}

#[derive(Clone, Copy, Debug, Default)]
struct Totals {
    seconds: u64,
    sum: f64,
    squares: f64,
    worst: f64,
    worst_at_s: f64,
}

impl Means {
    fn take(&mut self, time_s: f64, reading: Option<f64>, truth: Option<f64>) {
        let (Some(reading), Some(truth)) = (reading, truth) else { return };
        let second = time_s.floor();
        if second != self.second {
            self.total = self.with_this_second();
            (self.second, self.samples, self.sum) = (second, 0.0, 0.0);
        }
        self.samples += 1.0;
        self.sum += reading - truth;
    }

    fn with_this_second(&self) -> Totals {
        if self.samples == 0.0 {
            return self.total;
        }
        let error = self.sum / self.samples;
        let Totals { seconds, sum, squares, worst, worst_at_s } = self.total;
        let (worst, worst_at_s) =
            if error.abs() > worst.abs() { (error, self.second) } else { (worst, worst_at_s) };
        Totals {
            seconds: seconds + 1,
            sum: sum + error,
            squares: squares + error * error,
            worst,
            worst_at_s,
        }
    }

    fn error(&self) -> Option<Deviation> {
        let Totals { seconds, sum, squares, worst, worst_at_s } = self.with_this_second();
        let count = seconds as f64;
        (seconds > 0).then(|| Deviation {
            rms_mps: rounded((squares / count).sqrt()),
            bias_mps: rounded(sum / count),
            worst_mps: rounded(worst),
            worst_at_s,
            seconds,
            lag_s: None,
        })
    }
}

/// Squares of the error at each of the lags.
#[derive(Clone, Debug)]
struct Lags {
    past: VecDeque<(f64, f64)>,
    squares: [f64; LAGS],
}

impl Default for Lags {
    fn default() -> Self {
        Self { past: VecDeque::new(), squares: [0.0; LAGS] }
    }
}

impl Lags {
    /// The newest in front.
    fn remember(&mut self, time_s: f64, truth: f64) {
        let oldest_s = time_s - LAG_STEP_S * LAGS as f64;
        while self.past.back().is_some_and(|(time_s, _)| *time_s < oldest_s) {
            self.past.pop_back();
        }
        // Beyond 400 samples a second the past is cut short rather than grown.
        self.past.truncate(400 * LAGS / 10);
        self.past.push_front((time_s, truth));
    }

    fn take(&mut self, time_s: f64, reading: f64) {
        let mut squares = [0.0; LAGS];
        let mut past = self.past.iter().peekable();
        for (place, square) in squares.iter_mut().enumerate() {
            let wanted_s = time_s - LAG_STEP_S * place as f64;
            // A truth is the mean of the time before it: the last of those that end at or after the
            // wanted time.
            let mut found = None;
            while let Some(&(end_s, truth)) =
                past.peek().filter(|(end_s, _)| *end_s >= wanted_s - 1e-6)
            {
                found = Some((*end_s, *truth));
                if past.clone().nth(1).is_none_or(|(end_s, _)| *end_s < wanted_s - 1e-6) {
                    break;
                }
                past.next();
            }
            let Some((_, truth)) = found else { return };
            *square = (reading - truth) * (reading - truth);
        }
        for (sum, square) in self.squares.iter_mut().zip(squares) {
            *sum += square;
        }
    }

    fn best_s(&self) -> Option<f64> {
        let (place, best) = self.squares.iter().enumerate().min_by(|a, b| a.1.total_cmp(b.1))?;
        let worst = self.squares.iter().fold(0.0_f64, |worst, square| worst.max(*square));
        (*best < TELLING * worst).then(|| rounded(LAG_STEP_S * place as f64))
    }
}

/// To a thousandth, zero without a sign.
fn rounded(value: f64) -> f64 {
    (value * 1e3).round() / 1e3 + 0.0
}
