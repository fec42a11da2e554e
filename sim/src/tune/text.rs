//! The result of tuning as text.

use super::report::{HeldOut, Judged, OfPhase, Report, Sure};
use super::tuned::Tuned;
use super::verdict::Decision;
use crate::text_table::{Column, Table};
use crate::time::Clock;
use crate::words::{one_line, shown_path};
use std::fmt;

impl fmt::Display for Report {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for recording in &self.recordings {
            writeln!(f, "{recording}")?;
        }
        if self.verdict.decision != Decision::CannotTell {
            writeln!(f, "\n{}", self.table())?;
            writeln!(f, "{}", self.of_phases())?;
            self.confidence(f)?;
        }
        writeln!(f, "Recommended   {}", self.sentence())?;
        for note in &self.notes {
            writeln!(f, "Note          {}", one_line(note))?;
        }
        for output in &self.outputs {
            writeln!(f, "Written       {}", shown_path(output))?;
        }
        Ok(())
    }
}

impl fmt::Display for Tuned {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.trace)?;
        self.segment.iter().try_for_each(|segment| write!(f, ", {segment}"))?;
        write!(f, ": {}, truth {}", Clock(self.lasts_s), self.truth)?;
        if self.truth == "estimated" {
            write!(f, " to \u{b1} {:.2} m/s", self.truth_deviation_mps)?;
        }
        if let Some(reference) = &self.reference {
            write!(
                f,
                "; the recorder's own vario agrees by {:.3}, {:.1} s late, to {:.2} m/s",
                reference.correlation,
                reference.delay_s + reference.time_constant_s,
                reference.rms_mps
            )?;
        }
        self.remarks.iter().try_for_each(|remark| write!(f, "\n  {}", one_line(remark)))
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
        let changes = self.verdict.decision == Decision::Change;
        for (place, judged) in self.readings.iter().enumerate() {
            let mark = match () {
                () if changes && *judged == self.recommended => "<- recommended",
                () if place == 0 => "<- present",
                () => "",
            };
            table.row(judged.cells(mark));
        }
        if changes && !self.readings.contains(&self.recommended) {
            table.row(self.recommended.cells("<- recommended"));
        }
        table
    }

    /// The present settings in each phase, and the recommended ones where they are others.
    fn of_phases(&self) -> Table {
        let mut table = Table::new([
            Column::left("phase").wide(8),
            Column::right("lasts").gap(1),
            Column::left("").gap(2),
            Column::right("error\nm/s rms"),
            Column::right("lag\ns").wide(6),
            Column::right("noise\nm/s rms"),
            Column::right("false beeps\na minute"),
            Column::right("climbs\nmissed"),
        ]);
        for OfPhase { phase, lasts_s, present, recommended } in &self.phases {
            let rows = [("present", present), ("recommended", recommended)];
            let changes = self.verdict.decision == Decision::Change;
            for (name, score) in rows.into_iter().take(1 + usize::from(changes)) {
                let is_first = name == "present";
                table.row([
                    if is_first { phase.name().to_owned() } else { String::new() },
                    if is_first { Clock(*lasts_s).to_string() } else { String::new() },
                    name.to_owned(),
                    format!("{:.3}", score.error_mps),
                    format!("{:.2}", score.lag_s),
                    format!("{:.3}", score.noise_mps),
                    format!("{:.2}", score.false_beeps_per_min),
                    match score.climbs {
                        0 => "none".to_owned(),
                        climbs => format!("{:.0} % of {climbs}", 100.0 * score.missed_share),
                    },
                ]);
            }
        }
        table
    }

    fn confidence(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let HeldOut { present, tuned } = self.held_out;
        writeln!(
            f,
            "Cost          error + {} m/s for each false beep a minute + {} m/s for all climbs \
             missed",
            self.weights.false_beep_mps, self.weights.missed_mps
        )?;
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
            "Confidence    the best is better than the present settings in {:.0} % of 200 \
             bootstrap samples of the recordings; its filter is best in {:.0} %, \
             response {response_from_s} to {response_to_s} s in 90 %",
            100.0 * better_share,
            100.0 * filter_share
        )
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
