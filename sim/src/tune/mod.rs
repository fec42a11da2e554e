//! The best settings for recordings, with reasons: `chirrup tune`, and `chirrup compare`.
//!
//! ```text
//! recordings -> energy (compensation, delays) -> candidates -> readings
//!            -> truth (recorded, or estimated with its error), phases
//! readings, truth -> judge -> score -> choose (limits, weights) -> verdict -> report, settings
//! ```

pub mod candidates;
pub mod choose;
mod each;
pub mod energy;
pub mod judge;
pub mod limits;
pub mod phases;
mod picture;
pub mod readings;
pub mod report;
pub mod request;
pub mod run;
pub mod score;
mod side_by_side;
pub mod table;
mod taking;
mod text;
pub mod tuned;
mod twice;
pub mod verdict;

use crate::error::Result;
use crate::output::picture_file::PictureFile;
use crate::output::place::{Placed, place_all};
use crate::settings_file;
use report::Report;
use request::Request;
use std::path::Path;
use std::sync::atomic::AtomicBool;
use verdict::Decision;

/// Tunes, and writes the requested files.
///
/// # Errors
/// Whatever stops it; no file is then under its name.
pub fn tune(request: &Request, interrupted: &AtomicBool) -> Result<Report> {
    // Before the work, so that a missing folder is reported at once.
    let settings = request.output.as_deref().map(Placed::create).transpose()?;
    let plot = request.plot.as_ref().map(PictureFile::create).transpose()?;
    let mut report = run::run(request, interrupted)?;
    let mut sealed = Vec::new();
    if let Some(plot) = plot {
        sealed.push(plot.write(&picture::draw(&report))?);
    }
    if let Some(file) = settings {
        let text = settings_file::bare(&report.settings, &reasons(&report));
        sealed.push(file.seal_with(text.as_bytes())?);
    }
    report.outputs = place_all(sealed)?;
    Ok(report)
}

impl Request {
    /// Whether an output takes standard output.
    pub fn uses_standard_output(&self) -> bool {
        let plot = self.plot.as_ref().map(|(path, _)| path);
        self.output.iter().chain(plot).any(|path| path == Path::new("-"))
    }
}

fn reasons(report: &Report) -> Vec<String> {
    let names: Vec<&str> =
        report.recordings.iter().map(|recording| recording.trace.as_str()).collect();
    let held = report.held_out;
    let mut reasons =
        vec![format!("Tuned by chirrup tune on {}.", names.join(", ")), report.sentence()];
    if report.verdict.decision == Decision::Change {
        reasons.push(format!(
            "On recordings held out the cost is {:.3} m/s, with the settings before {:.3} m/s.",
            held.tuned.cost_mps, held.present.cost_mps
        ));
    }
    reasons.extend(report.notes.iter().cloned());
    reasons
}
