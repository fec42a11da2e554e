//! `replay` and `render`: arrays through the instrument.

use crate::channels::{Arrays, Strictness};
use crate::columns::Columns;
use crate::errors::raised;
use crate::settings::Settings;
use crate::sound::{self, Sound};
use crate::work;
use chirrup::ears::Ears;
use chirrup::error::Result;
use chirrup::input::Input;
use chirrup::output::figures::{FIGURES, INERTIAL_FIGURES};
use chirrup::output::files::Files;
use chirrup::output::watch::Watch;
use chirrup::run::{self, ReplayOptions};
use chirrup::settings_file::Instrument;
use chirrup::trace::arrays::{Arrays as ArraysTrace, Channels};
use chirrup::trace::columns::ColumnMap;
use chirrup_core::InertialChoice;
use numpy::PyArray1;
use pyo3::prelude::*;
use pyo3::types::PyDict;
use std::sync::atomic::AtomicBool;

/// The readings of the samples in `arrays`, by columns.
#[pyfunction]
pub fn replay<'py>(
    py: Python<'py>,
    arrays: &Bound<'py, PyDict>,
    settings: &Settings,
    nan_is_absent: bool,
    as_recorded: bool,
) -> PyResult<Bound<'py, PyDict>> {
    let arrays = Arrays::new(arrays)?;
    let channels = arrays.channels(strictness(nan_is_absent, as_recorded))?;
    let instrument = settings.instrument();
    let is_used = instrument.settings.inertial.choice != InertialChoice::Off;
    let has_inertial = channels.inertial.is_some() && is_used;
    let columns = work::run(py, |interrupted| {
        let mut columns = Columns::new(has_inertial);
        through(channels, instrument, interrupted, &mut columns)?;
        Ok(columns)
    })?;
    columns.into_dict(py)
}

/// The sound of the samples in `arrays`: 16-bit samples, `rate_hz` a second.
#[pyfunction]
pub fn render<'py>(
    py: Python<'py>,
    arrays: &Bound<'py, PyDict>,
    settings: &Settings,
    rate_hz: u32,
    nan_is_absent: bool,
    as_recorded: bool,
) -> PyResult<Bound<'py, PyArray1<i16>>> {
    let arrays = Arrays::new(arrays)?;
    let channels = arrays.channels(strictness(nan_is_absent, as_recorded))?;
    sound::check_size(&channels, rate_hz).map_err(raised)?;
    let instrument = settings.instrument();
    let samples = work::run(py, |interrupted| {
        let mut sound = Sound::new(rate_hz);
        through(channels, instrument, interrupted, &mut sound)?;
        Ok(sound.into_samples())
    })?;
    Ok(PyArray1::from_vec(py, samples))
}

/// The decimals with which the program's CSV writes each column of figures.
#[pyfunction]
pub fn decimals(py: Python<'_>) -> PyResult<Bound<'_, PyDict>> {
    let dict = PyDict::new(py);
    for figure in FIGURES.iter().chain(&INERTIAL_FIGURES) {
        dict.set_item(figure.name, figure.decimals)?;
    }
    Ok(dict)
}

fn strictness(nan_is_absent: bool, as_recorded: bool) -> Strictness {
    match (nan_is_absent, as_recorded) {
        (_, true) => Strictness::AsRecorded,
        (true, false) => Strictness::NanIsAbsent,
        (false, false) => Strictness::Strict,
    }
}

/// Passes the samples through the instrument, as the program does.
fn through(
    channels: Channels<'_>,
    instrument: Instrument,
    interrupted: &AtomicBool,
    watcher: &mut dyn Watch,
) -> Result<()> {
    let options = ReplayOptions {
        input: Input::held("the arrays"),
        columns: ColumnMap::default(),
        from: None,
        to: None,
        injections: Vec::new(),
        instruments: Ears { left: instrument, right: None },
        files: Files::default(),
        sample_rate_hz: 0,
        play: false,
        title: None,
    };
    let mut trace = ArraysTrace::new(channels);
    run::replay_trace(&options, &mut trace, &mut || {}, interrupted, watcher)?;
    Ok(())
}
