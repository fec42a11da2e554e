//! `inspect` and `tune`: what the program prints as JSON.

use crate::errors::{raised, refused};
use crate::settings::{self, Settings};
use crate::trace::map;
use crate::work;
use chirrup::input;
use chirrup::inspect as inspection;
use chirrup::tune as tuning;
use chirrup::tune::choose::Wanted;
use chirrup::tune::limits::Limits;
use chirrup::tune::score::Weights;
use pyo3::prelude::*;
use serde::Serialize;
use std::path::PathBuf;

/// The inspection of the trace at `path`, as JSON.
#[pyfunction]
pub fn inspect(
    py: Python<'_>,
    path: PathBuf,
    columns: Option<&str>,
    segment: Option<usize>,
    settings: &Settings,
) -> PyResult<String> {
    let instrument = settings.instrument();
    let request = inspection::Request {
        inputs: vec![input::Input::new(&path)],
        columns: map(columns)?,
        segment,
        settings: instrument.settings,
        units: instrument.units,
        plot: None,
        climb: None,
        csv: None,
    };
    let inspections = work::run(py, |interrupted| inspection::all(&request, interrupted))?;
    json(&inspections.first())
}

/// What the best settings are.
#[derive(FromPyObject)]
pub struct Wish {
    #[pyo3(item)]
    most_false_beeps_per_min: Option<f64>,
    #[pyo3(item)]
    most_lag_s: Option<f64>,
    #[pyo3(item)]
    most_missed_share: Option<f64>,
    #[pyo3(item)]
    false_beep_mps: Option<f64>,
    #[pyo3(item)]
    missed_mps: Option<f64>,
}

/// The report of tuning on the recordings at `paths`, as JSON, and the recommended settings.
#[pyfunction]
pub fn tune(
    py: Python<'_>,
    paths: Vec<PathBuf>,
    columns: Option<&str>,
    segment: Option<usize>,
    settings: &Settings,
    wish: Wish,
) -> PyResult<(String, Settings)> {
    let usual = Weights::default();
    let weights = Weights {
        false_beep_mps: wish.false_beep_mps.unwrap_or(usual.false_beep_mps),
        missed_mps: wish.missed_mps.unwrap_or(usual.missed_mps),
    };
    let limits = Limits {
        false_beeps_per_min: wish.most_false_beeps_per_min,
        lag_s: wish.most_lag_s,
        missed_share: wish.most_missed_share,
    };
    let request = tuning::request::Request {
        inputs: input::files(&paths).map_err(raised)?,
        columns: map(columns)?,
        segment,
        base: settings.instrument(),
        wanted: Wanted { weights, limits },
        output: None,
        plot: None,
    };
    let report = work::run(py, |interrupted| tuning::tune(&request, interrupted))?;
    Ok((json(&report)?, settings::made(&report.settings)?))
}

fn json(report: &impl Serialize) -> PyResult<String> {
    serde_json::to_string(report).map_err(|error| refused(error.to_string()))
}
