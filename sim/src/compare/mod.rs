//! Two settings compared on recordings: `chirrup compare`.
//!
//! | module | what |
//! |---|---|
//! | `comparison` | the figures of both, on each recording and on all |
//! | `parts` | what a cost is made of |
//! | `table` | the comparison as text |
//! | `picture`, `bars` | the comparison as a picture, and its columns |

mod bars;
mod comparison;
mod parts;
mod picture;
mod table;

pub use comparison::{Comparison, Pair};

use crate::error::Result;
use crate::input::Input;
use crate::output::files::PlotFormat;
use crate::output::picture_file::PictureFile;
use crate::progress::Work;
use crate::recording::Recording;
use crate::recording::track::Track;
use crate::recording::truth::Truth;
use crate::settings_file::Instrument;
use crate::trace::columns::ColumnMap;
use crate::tune::judge::Judge;
use crate::tune::readings::{self, Readings};
use crate::tune::score::{Sums, Weights};
use crate::tune::table::whole;
use crate::tune::tuned::Tuned;
use crate::tune::verdict::cannot_tell;
use chirrup_core::EnergySettings;
use std::path::PathBuf;
use std::sync::atomic::AtomicBool;

/// The comparison to run, and whether to draw it.
#[derive(Clone, Debug)]
pub struct Request {
    /// The recordings; files, since each is read more than once.
    pub inputs: Vec<Input>,
    /// Which columns they are in.
    pub columns: ColumnMap,
    /// The segment to use where a trace has several, the first being 1; else the longest with a
    /// flight.
    pub segment: Option<usize>,
    /// The first settings.
    pub a: Instrument,
    /// The second.
    pub b: Instrument,
    /// Where the picture goes.
    pub plot: Option<(PathBuf, PlotFormat)>,
}

/// Runs both over every recording.
///
/// # Errors
/// A recording that cannot be used, or an interruption.
pub fn compare(request: &Request, interrupted: &AtomicBool) -> Result<Comparison> {
    // Before the work, so that a missing folder is reported at once.
    let plot = request.plot.as_ref().map(PictureFile::create).transpose()?;
    let pipelines = [&request.a.pipeline, &request.b.pipeline];
    let work = Work::new((request.inputs.len() * pipelines.len()) as u64);
    let weights = Weights::default();
    let (mut recordings, mut judged): (Vec<Pair>, Vec<Tuned>) = (Vec::new(), Vec::new());
    let (mut all_a, mut all_b) = (Sums::default(), Sums::default());
    for input in &request.inputs {
        let recording = Recording::read(input, &request.columns, interrupted)?;
        let recording = recording.segment(request.segment)?;
        // By lines as they should be: with those of one of both, that one would always win.
        let track = Track::of(&recording);
        let truth = Truth::of(&recording, &track, &EnergySettings::default());
        let split = whole(&recording, &track, &truth);
        drop(track);
        let grid = &truth.rate_mps;
        let said = readings::of_all(&pipelines, &recording, grid, &work, interrupted)?;
        let from_mps = f64::from(request.a.settings.tone.climb_from_mps);
        let sums = |instrument: &Instrument, said: &Readings| {
            let threshold = f64::from(instrument.settings.tone.climb_from_mps);
            Judge::of(&truth, &split, from_mps, &[threshold]).sums(said)[0].all()
        };
        let (a, b) = (sums(&request.a, &said[0]), sums(&request.b, &said[1]));
        all_a.add(&a);
        all_b.add(&b);
        judged.push(Tuned::of(&recording, &truth));
        recordings.push(Pair {
            segment: recording.segment.if_one_of_several(),
            remarks: recording.remarks(),
            trace: recording.name,
            truth: truth.from,
            a: a.score(&weights),
            b: b.score(&weights),
        });
    }
    let first = recordings.first().map_or("recorded", |pair| pair.truth);
    let truth = if recordings.iter().all(|pair| pair.truth == first) { first } else { "both" };
    let all = Pair {
        trace: "all".into(),
        segment: None,
        truth,
        remarks: Vec::new(),
        a: all_a.score(&weights),
        b: all_b.score(&weights),
    };
    let b_costs_more =
        if all.a.cost_mps > 0.0 { all.b.cost_mps / all.a.cost_mps - 1.0 } else { 0.0 };
    let comparison = Comparison {
        a: request.a.name.clone(),
        b: request.b.name.clone(),
        recordings,
        all,
        cannot_tell: cannot_tell(&all_a.score(&weights), &judged),
        b_costs_more,
    };
    if let Some(plot) = plot {
        plot.write(&picture::draw(&comparison))?.place()?;
    }
    Ok(comparison)
}
