//! `fly`: a simulated flight as columns, by way of the very file that the program writes.

use crate::errors::{raised, refused};
use crate::work;
use chirrup::error::Error;
use chirrup::fly as flight;
use chirrup::fly::list::List;
use chirrup::fly::request::{Request, make_ideal, source};
use chirrup_flight::plan::check;
use pyo3::prelude::*;
use std::path::PathBuf;

/// Changes of a scenario, as the options of `chirrup fly`.
#[derive(FromPyObject)]
pub struct Changes {
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

/// Flies `scenario`, a built-in one or a file, and writes its trace to `output`; returns the
/// account of the flight as JSON.
#[pyfunction]
pub fn fly(
    py: Python<'_>,
    scenario: &str,
    text: Option<String>,
    changes: Changes,
    output: PathBuf,
) -> PyResult<String> {
    let (file, text) = match text {
        Some(text) => (scenario.to_owned(), text),
        None => source(scenario).map_err(raised)?,
    };
    let (mut scenario, glider) =
        check::read(&file, &text).map_err(|wrong| raised(Error::from(wrong)))?;
    if let Some(rate_hz) = changes.sensor_rate_hz {
        if !(0.1..=200.0).contains(&rate_hz) {
            return Err(refused(format!("sensor_rate_hz: found {rate_hz}, expected 0.1 to 200")));
        }
        scenario.sensors.rate_hz = rate_hz;
    }
    if changes.ideal {
        make_ideal(&mut scenario);
    }
    if changes.calm {
        scenario.turbulence = None;
    }
    let seed = changes.seed.unwrap_or(scenario.seed);
    let truth = changes.truth;
    let request =
        Request { file, text, scenario, glider, seed, truth, output, may_be_large: false };
    let report = work::run(py, |interrupted| flight::fly(&request, interrupted))?;
    serde_json::to_string(&report).map_err(|error| refused(error.to_string()))
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
