//! Two settings compared on recordings: `chirrup compare`.

use crate::error::{Error, Result};
use crate::input::Input;
use crate::output::files::PlotFormat;
use crate::output::picture_file::PictureFile;
use crate::output::plot::chart::{Chart, dot, sheet};
use crate::output::plot::key::{self, Key, Mark};
use crate::output::plot::layout::{KEY_TOP, LEFT, RIGHT};
use crate::output::plot::scale::Scale;
use crate::output::plot::style;
use crate::output::plot::svg::{Area, Pen, Svg};
use crate::progress::Work;
use crate::recording::Recording;
use crate::recording::truth::Truth;
use crate::settings_file::Instrument;
use crate::text_table::{Column, Table};
use crate::trace::columns::ColumnMap;
use crate::tune::readings::{self, Readings};
use crate::tune::score::{Score, Sums};
use chirrup_core::stages::Energy;
use serde::Serialize;
use std::fmt;
use std::path::PathBuf;
use std::sync::atomic::AtomicBool;

/// Differences smaller than this share count as equal.
const SAME: f64 = 0.01;

/// The comparison to run, and whether to draw it.
#[derive(Clone, Debug)]
pub struct Request {
    /// The recordings; files, since each is read more than once.
    pub inputs: Vec<Input>,
    /// Which columns they are in.
    pub columns: ColumnMap,
    /// The first settings.
    pub a: Instrument,
    /// The second.
    pub b: Instrument,
    /// Where the picture goes.
    pub plot: Option<(PathBuf, PlotFormat)>,
}

/// Figures of both on one recording, or on all.
#[derive(Clone, Debug, Serialize)]
pub struct Pair {
    /// The recording, or `all`.
    pub trace: String,
    /// Where the truth is from: `recorded`, `smoothed` or `both`.
    pub truth: &'static str,
    /// The first settings.
    pub a: Score,
    /// The second.
    pub b: Score,
}

/// The comparison.
#[derive(Clone, Debug, Serialize)]
pub struct Comparison {
    /// The user's name for the first settings.
    pub a: String,
    /// And the second.
    pub b: String,
    /// Each recording.
    pub recordings: Vec<Pair>,
    /// All of them.
    pub all: Pair,
    /// Extra cost of the second over the first, as a share of the first's cost; negative if lower.
    pub b_costs_more: f64,
}

/// Runs both over every recording.
///
/// # Errors
/// A recording that cannot be used, or an interruption.
pub fn compare(request: &Request, interrupted: &AtomicBool) -> Result<Comparison> {
    let energy = Energy::new(&request.a.settings.energy)
        .map_err(|error| Error::Settings(error.to_string()))?;
    // Before the work, so that a missing folder is reported at once.
    let plot = request.plot.as_ref().map(PictureFile::create).transpose()?;
    let pipelines = [&request.a.pipeline, &request.b.pipeline];
    let work = Work::new((request.inputs.len() * pipelines.len()) as u64);
    let mut recordings: Vec<Pair> = Vec::new();
    let (mut all_a, mut all_b) = (Sums::default(), Sums::default());
    for input in &request.inputs {
        let recording = Recording::read(input, &request.columns, interrupted)?;
        let truth = Truth::of(&recording, &energy);
        let grid = &truth.rate_mps;
        let said = readings::of_all(&pipelines, &recording, grid, &work, interrupted)?;
        let sums = |instrument: &Instrument, said: &Readings| {
            let threshold = f64::from(instrument.settings.tone.climb_from_mps);
            Sums::of(&truth, &said.at, (0, said.at.len()), threshold)
        };
        let (a, b) = (sums(&request.a, &said[0]), sums(&request.b, &said[1]));
        all_a.add(&a);
        all_b.add(&b);
        recordings.push(Pair {
            trace: recording.name,
            truth: truth.from,
            a: a.score(),
            b: b.score(),
        });
    }
    let first = recordings.first().map_or("recorded", |pair| pair.truth);
    let truth = if recordings.iter().all(|pair| pair.truth == first) { first } else { "both" };
    let all = Pair { trace: "all".into(), truth, a: all_a.score(), b: all_b.score() };
    let b_costs_more =
        if all.a.cost_mps > 0.0 { all.b.cost_mps / all.a.cost_mps - 1.0 } else { 0.0 };
    let comparison = Comparison {
        a: request.a.name.clone(),
        b: request.b.name.clone(),
        recordings,
        all,
        b_costs_more,
    };
    if let Some(plot) = plot {
        plot.write(&draw(&comparison))?.place()?;
    }
    Ok(comparison)
}

impl Comparison {
    /// Returns an error if the second is worse by more than `most_worse`.
    ///
    /// # Errors
    /// A sentence with both figures.
    pub fn verdict(&self, most_worse: Option<f64>) -> Result<()> {
        match most_worse {
            Some(most) if self.b_costs_more > most => Err(Error::Refused(format!(
                "{} costs {:.1} % more than {}, at most {:.1} % was allowed",
                self.b,
                100.0 * self.b_costs_more,
                self.a,
                100.0 * most
            ))),
            _ => Ok(()),
        }
    }
}

impl fmt::Display for Comparison {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        writeln!(f, "A: {}", self.a)?;
        writeln!(f, "B: {}", self.b)?;
        for pair in self.recordings.iter().chain((self.recordings.len() > 1).then_some(&self.all)) {
            writeln!(f, "\n{}, truth {}", pair.trace, pair.truth)?;
            write!(f, "{}", table(pair))?;
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
    ("climbs missed, share", |score| score.missed_share),
    ("cost, m/s", |score| score.cost_mps),
];

fn verdict(a: f64, b: f64) -> String {
    if (a - b).abs() <= SAME * a.abs().max(b.abs()) {
        return "the same".into();
    }
    let which = if b < a { "B better" } else { "A better" };
    if a > 0.0 { format!("{which}, {:+.0} %", 100.0 * (b / a - 1.0)) } else { which.into() }
}

/// The picture of a comparison: for every recording the cost, lag and noise of
/// both.
fn draw(comparison: &Comparison) -> String {
    let subtitle = format!(
        "A: {}.  B: {}.  B costs {:+.1} % against A",
        comparison.a,
        comparison.b,
        100.0 * comparison.b_costs_more
    );
    let mut svg = sheet("Two settings compared", &subtitle);
    let keys = [
        Key::new(Mark::Line(Pen::solid(style::FIRST, 6.0)), "A"),
        Key::new(Mark::Line(Pen::solid(style::SECOND, 12.0)), "B"),
    ];
    key::heading(&mut svg, KEY_TOP, "Each recording, in the order given; lower is better", &keys);
    let panels: [(&str, Figure); 3] = [
        ("Cost (m/s)", |score| score.cost_mps),
        ("Lag (s)", |score| score.lag_s),
        ("Noise with the lag taken out (m/s rms)", |score| score.noise_mps),
    ];
    for ((name, figure), (top, bottom)) in panels.into_iter().zip(PANELS) {
        let area = Area { left: LEFT, top, right: RIGHT, bottom };
        panel(&mut svg, comparison, area, name, figure);
    }
    svg.finish()
}

fn panel(svg: &mut Svg, comparison: &Comparison, area: Area, name: &str, figure: Figure) {
    let pairs = || comparison.recordings.iter().map(|pair| (figure(&pair.a), figure(&pair.b)));
    let most = pairs().fold(1e-3, |most: f64, (a, b)| most.max(a).max(b));
    let count = comparison.recordings.len() as f32;
    let chart = Chart {
        area,
        across: Scale::between(0.5, count + 0.5),
        up: Scale::between(0.0, 1.1 * most as f32),
    };
    chart.ground(svg, name, "recording");
    for (place, (a, b)) in pairs().enumerate() {
        let x = (place + 1) as f64;
        let (a, b) = (chart.at(x, a), chart.at(x, b));
        svg.line(a, b, style::ZERO);
        // They also differ in size, so that both show where they overlap.
        dot(svg, b, 9.0, style::SECOND);
        dot(svg, a, 5.0, style::FIRST);
    }
    chart.frame(svg);
}

const PANELS: [(f32, f32); 3] = [(136.0, 300.0), (368.0, 520.0), (588.0, 740.0)];

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
}
