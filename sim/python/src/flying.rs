//! `fly`: a simulated flight as columns, by way of the very file that the program writes.

use crate::errors::{raised, refused};
use crate::work;
use chirrup::fly as flight;
use chirrup::fly::list::List;
use chirrup::fly::request::{Changes, Request, SENSOR_RATES_HZ, source};
use pyo3::prelude::*;
use std::path::PathBuf;

/// Changes of a scenario, as the options of `chirrup fly`.
#[derive(FromPyObject)]
pub struct Options {
    #[pyo3(item)]
    seed: Option<u64>,
    #[pyo3(item)]
    sensor_rate_hz: Option<f64>,
    #[pyo3(item)]
    ideal: bool,
    #[pyo3(item)]
    calm: bool,
    #[pyo3(item)]
    truth: bool,
}

impl From<Options> for Changes {
    fn from(options: Options) -> Self {
        let Options { seed, sensor_rate_hz, ideal, calm, .. } = options;
        Self { seed, sensor_rate_hz, ideal, calm }
    }
}

/// Flies `scenario`, a built-in one or a file, and writes its trace to `output`; returns the
/// account of the flight as JSON.
#[pyfunction]
pub fn fly(
    py: Python<'_>,
    scenario: &str,
    text: Option<String>,
    changes: Options,
    output: PathBuf,
) -> PyResult<String> {
    let source = match text {
        Some(text) => (scenario.to_owned(), text),
        None => source(scenario).map_err(raised)?,
    };
    check_rate(changes.sensor_rate_hz)?;
    let truth = changes.truth;
    let request = Request::new(source, &changes.into(), output).map_err(raised)?;
    let request = Request { truth, ..request };
    let report = work::run(py, |interrupted| flight::fly(&request, interrupted))?;
    serde_json::to_string(&report).map_err(|error| refused(error.to_string()))
}

fn check_rate(rate_hz: Option<f64>) -> PyResult<()> {
    match rate_hz.filter(|rate_hz| !SENSOR_RATES_HZ.contains(rate_hz)) {
        None => Ok(()),
        Some(rate_hz) => {
            let (least, most) = SENSOR_RATES_HZ.into_inner();
            Err(refused(format!("sensor_rate_hz: found {rate_hz}, expected {least} to {most}")))
        }
    }
}

/// The built-in scenarios, as JSON.
#[pyfunction]
pub fn scenarios() -> PyResult<String> {
    let list = List::new().map_err(raised)?;
    serde_json::to_string(&list.0).map_err(|error| refused(error.to_string()))
}

/// The text of a scenario, a built-in one or a file.
#[pyfunction]
pub fn scenario(name: &str) -> PyResult<String> {
    Ok(source(name).map_err(raised)?.1)
}
