//! The result of tuning, in the shape of its JSON, and as text.

use super::choose::Choice;
use super::energy::Pooled;
use super::score::Score;
use crate::text_table::{Column, Table};
use crate::time::Clock;
use chirrup_core::Settings;
use serde::Serialize;
use std::fmt;
use std::path::PathBuf;

/// The result of tuning.
#[derive(Clone, Debug, Serialize)]
pub struct Report {
    /// The recordings.
    pub recordings: Vec<Tuned>,
    /// Every reading that was tried, each with its best threshold; the present settings first.
    pub readings: Vec<Judged>,
    /// The best, with its figures.
    pub recommended: Judged,
    /// The present settings on what was held out, and what was tuned on the rest.
    pub held_out: HeldOut,
    /// Confidence of the choice.
    pub sure: Sure,
    /// The energy fit.
    pub energy: Pooled,
    /// The recommended settings, all of them.
    #[serde(serialize_with = "crate::settings_file::as_json")]
    pub settings: Settings,
    /// In plain words.
    pub notes: Vec<String>,
    /// Files made.
    pub outputs: Vec<PathBuf>,
}

/// One recording.
#[derive(Clone, Debug, Serialize)]
pub struct Tuned {
    /// As the user named it.
    pub trace: String,
    /// How long it is.
    pub lasts_s: f64,
    /// Where the truth is from: `recorded` or `smoothed`.
    pub truth: &'static str,
}

/// Settings and their figures.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Judged {
    /// `adaptive` or `fixed`.
    pub filter: &'static str,
    /// Response time in seconds.
    pub response_s: f32,
    /// Where beeps begin, m/s.
    pub climb_from_mps: f32,
    /// The figures.
    #[serde(flatten)]
    pub score: Score,
}

/// On what was held out.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct HeldOut {
    /// The present settings.
    pub present: Score,
    /// What was tuned on the rest.
    pub tuned: Score,
}

/// Confidence of the choice, from bootstrap samples of the recordings.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Sure {
    /// Share of the bootstrap samples in which the recommended settings were better than the
    /// present ones, 0 to 1.
    pub better_share: f64,
    /// Share of the bootstrap samples in which the same filter was best, 0 to 1.
    pub filter_share: f64,
    /// Nine tenths of the bootstrap samples chose a response time from this, in seconds.
    pub response_from_s: f32,
    /// To this.
    pub response_to_s: f32,
}

impl Sure {
    /// From the best candidate of each bootstrap sample.
    pub fn of(choice: &Choice, candidates: &[Judged]) -> Self {
        let best = &candidates[choice.best];
        let chosen = || choice.drawn.iter().map(|place| &candidates[*place]);
        let same = chosen().filter(|candidate| candidate.filter == best.filter).count();
        let mut responses: Vec<f32> = chosen().map(|candidate| candidate.response_s).collect();
        responses.sort_unstable_by(f32::total_cmp);
        let at = |share: f64| responses[(share * (responses.len() - 1) as f64).round() as usize];
        Self {
            better_share: choice.better_share,
            filter_share: same as f64 / choice.drawn.len() as f64,
            response_from_s: at(0.05),
            response_to_s: at(0.95),
        }
    }
}

impl fmt::Display for Report {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for Tuned { trace, lasts_s, truth } in &self.recordings {
            writeln!(f, "{trace}: {}, truth {truth}", Clock(*lasts_s))?;
        }
        writeln!(f)?;
        write!(f, "{}", self.table())?;
        writeln!(f)?;
        let HeldOut { present, tuned } = self.held_out;
        writeln!(
            f,
            "Held out      present settings cost {:.3} m/s, those tuned on the rest {:.3} m/s \
             ({:+.0} %)",
            present.cost_mps,
            tuned.cost_mps,
            100.0 * (tuned.cost_mps / present.cost_mps - 1.0)
        )?;
        let Sure { better_share, filter_share, response_from_s, response_to_s } = self.sure;
        writeln!(
            f,
            "Confidence    better than the present settings in {:.0} % of 200 bootstrap samples of \
             the recordings; {} filter in {:.0} %, response {response_from_s} to \
             {response_to_s} s in 90 %",
            100.0 * better_share,
            self.recommended.filter,
            100.0 * filter_share
        )?;
        for note in &self.notes {
            writeln!(f, "Note          {note}")?;
        }
        for output in &self.outputs {
            writeln!(f, "Written       {}", output.display())?;
        }
        Ok(())
    }
}

impl Report {
    /// What was tried, the present settings first.
    fn table(&self) -> Table {
        let mut table = Table::new([
            Column::left("filter").wide(8),
            Column::right("response").gap(1),
            Column::right("beeps\nfrom").wide(6),
            Column::right("error\nm/s rms"),
            Column::right("lag\ns").wide(6),
            Column::right("noise\nm/s rms"),
            Column::right("false beeps\na minute"),
            Column::right("climbs\nmissed"),
            Column::right("cost\nm/s").wide(7),
            Column::left("").gap(2),
        ]);
        for (place, judged) in self.readings.iter().enumerate() {
            let mark = match () {
                () if *judged == self.recommended => "<- recommended",
                () if place == 0 => "<- present",
                () => "",
            };
            table.row(judged.cells(mark));
        }
        if !self.readings.contains(&self.recommended) {
            table.row(self.recommended.cells("<- recommended"));
        }
        table
    }
}

impl Judged {
    fn cells(&self, mark: &str) -> [String; 10] {
        let score = &self.score;
        [
            self.filter.to_owned(),
            format!("{:.2} s", self.response_s),
            format!("{:.2}", self.climb_from_mps),
            format!("{:.3}", score.error_mps),
            format!("{:.2}", score.lag_s),
            format!("{:.3}", score.noise_mps),
            format!("{:.2}", score.false_beeps_per_min),
            format!("{:.0} %", 100.0 * score.missed_share),
            format!("{:.3}", score.cost_mps),
            mark.to_owned(),
        ]
    }
}
