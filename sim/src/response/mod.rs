//! Lag and noise of the reading under given settings, compared with the best possible: `chirrup
//! response`.
//!
//! | module | what it does |
//! |---|---|
//! | [`request`] | the checked request |
//! | [`air`] | the air: still, an edge, a steady acceleration, a wave, 20 minutes of thermals |
//! | [`mod@bench`] | air and sensor noise through the core's estimator; the mean of many runs |
//! | [`series`] | lag, overshoot, noise and sinusoid of a reading over time |
//! | [`fixed`] | what is known of the fixed filter in closed form |
//! | [`rough`] | rough air: flights in gusts and thermals through the whole instrument |
//! | [`centring`] | scripted pilots centre thermals by what they hear |
//! | [`tuning`] | planted flights tuned with their truth and without |
//! | [`with`] | which sensors the instrument has |
//! | [`trial`] | runs all of it |
//! | [`report`] | the figures, as JSON; `text` the same for people, [`picture`] drawn |
//!
//! The yardstick is the fixed filter of [`chirrup_core::stages::SteadyGains`]. It is the steady
//! Kalman filter for a randomly varying climb, so that no linear filter has a smaller `noise
//! variance + q * (squared error after a sudden change of 1 m/s, summed over time)`: with the same
//! squared error none has less noise. (The delay under a steady acceleration bounds nothing by
//! itself: a long enough window, weighted rightly, has any delay with any noise.)
//!
//! Everything random is seeded, and figures use only sums, roots and `libm`, so that the same
//! request gives the same text on every machine.

pub mod air;
pub mod bench;
pub mod centring;
pub mod fixed;
pub mod picture;
pub mod report;
pub mod request;
pub mod rough;
pub mod series;
mod text;
pub mod trial;
pub mod tuning;
pub mod with;

use crate::error::Result;
use crate::output::picture_file::PictureFile;
use picture::Drawing;
use report::Answer;
use request::{Part, Request};
use std::sync::atomic::AtomicBool;

/// Runs the requested measurement and draws it if requested; `interrupted` stops it between two
/// trials.
///
/// # Errors
/// When the picture cannot be written, or on an interruption; no file is then under its name.
pub fn respond(request: &Request, interrupted: &AtomicBool) -> Result<Answer> {
    // Before the work, so that a missing folder is reported at once.
    let plot = request.plot.as_ref().map(PictureFile::create).transpose()?;
    let settings = &request.instrument.settings;
    let still = request.wants(Part::Still).then(|| trial::run(request, interrupted)).transpose()?;
    let rough = request
        .wants(Part::Rough)
        .then(|| rough::run(settings, request.rough_seeds, interrupted))
        .transpose()?;
    let pilots = request
        .wants(Part::Pilots)
        .then(|| centring::measure(settings, request.thermals, interrupted))
        .transpose()?;
    let tuning = request
        .wants(Part::Tuning)
        .then(|| tuning::measure(settings, request.flights, interrupted))
        .transpose()?;
    if let Some(plot) = plot {
        let drawing = Drawing {
            settings: &text::filter_words(&request.instrument.name, settings),
            still: still.as_ref().map(|(report, traces)| (report, traces)),
            rough: rough.as_ref().map(|(report, traces)| (report, traces)),
        };
        plot.write(&picture::draw(&drawing))?.place()?;
    }
    Ok(Answer {
        name: request.instrument.name.clone(),
        settings: settings.clone(),
        still: still.map(|(report, _)| report),
        rough: rough.map(|(report, _)| report),
        pilots,
        tuning,
    })
}
