//! The comparison as text: figure by figure, and what the cost is made of.

use super::comparison::{Comparison, Pair};
use super::parts::parts;
use crate::text_table::{Column, Table};
use crate::tune::score::Score;
use crate::words::one_line;
use std::fmt;

/// Differences smaller than this share count as equal.
const SAME: f64 = 0.01;

impl fmt::Display for Comparison {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        writeln!(f, "A: {}", self.a)?;
        writeln!(f, "B: {}", self.b)?;
        for pair in self.recordings.iter().chain((self.recordings.len() > 1).then_some(&self.all)) {
            write!(f, "\n{}", pair.trace)?;
            pair.segment.iter().try_for_each(|segment| write!(f, ", {segment}"))?;
            writeln!(f, ", truth {}", pair.truth)?;
            pair.remarks.iter().try_for_each(|remark| writeln!(f, "  {}", one_line(remark)))?;
            write!(f, "{}", table(pair))?;
        }
        if let Some(reason) = &self.cannot_tell {
            writeln!(f, "\nNote: these recordings cannot rank settings: {reason}")?;
        }
        writeln!(f, "\nB costs {:+.1} % against A", 100.0 * self.b_costs_more)
    }
}

/// Both on one recording, figure by figure.
fn table(pair: &Pair) -> Table {
    let mut table = Table::new([
        Column::left("").wide(32),
        Column::right("A").gap(0).wide(9),
        Column::right("B").gap(1).wide(9),
        Column::left("verdict"),
    ]);
    for (name, of) in FIGURES {
        let (a, b) = (of(&pair.a), of(&pair.b));
        table.row([name.to_owned(), format!("{a:.3}"), format!("{b:.3}"), verdict(a, b)]);
    }
    for (a, b) in parts(&pair.a).iter().zip(parts(&pair.b)) {
        let name = format!("  of which {}", a.name);
        let [a, b] = [a.mps, b.mps].map(|mps| format!("{mps:.3}"));
        table.row([name, a, b, String::new()]);
    }
    table
}

/// One figure of a score.
type Figure = fn(&Score) -> f64;

/// The figure's name; lower is better for all of them.
const FIGURES: [(&str, Figure); 6] = [
    ("error, m/s rms", |score| score.error_mps),
    ("lag, s", |score| score.lag_s),
    ("noise, m/s rms", |score| score.noise_mps),
    ("false beeps a minute", |score| score.false_beeps_per_min),
    ("climbs missed, %", |score| 100.0 * score.missed_share),
    ("cost, m/s", |score| score.cost_mps),
];

fn verdict(a: f64, b: f64) -> String {
    if (a - b).abs() <= SAME * a.abs().max(b.abs()) {
        return "the same".into();
    }
    let which = if b < a { "B better" } else { "A better" };
    if a > 0.0 { format!("{which}, {:+.0} %", 100.0 * (b / a - 1.0)) } else { which.into() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn verdicts_name_the_better_one() {
        assert_eq!(verdict(1.0, 0.8), "B better, -20 %");
        assert_eq!(verdict(1.0, 1.2), "A better, +20 %");
        assert_eq!(verdict(1.0, 1.005), "the same");
        assert_eq!(verdict(0.0, 1.0), "A better");
    }

    #[test]
    fn the_table_says_what_the_cost_is_made_of() {
        let score = |missed_share| Score { missed_share, ..Score::default() };
        let (a, b) = (score(0.2), score(0.1));
        let text = table(&Pair {
            trace: "it".into(),
            segment: None,
            truth: "recorded",
            remarks: Vec::new(),
            a,
            b,
        })
        .to_string();
        let line = |name: &str| {
            let line = text.lines().find(|line| line.contains(name)).expect("it is there");
            line.split_whitespace().map(str::to_owned).collect::<Vec<_>>().join(" ")
        };
        assert_eq!(line("climbs missed"), "climbs missed, % 20.000 10.000 B better, -50 %");
        assert_eq!(line("of which missed"), "of which missed climbs 0.100 0.050");
    }
}
