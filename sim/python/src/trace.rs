//! `read_trace`: a recording as columns, as the program reads it.

use crate::words::in_python;
use crate::work;
use chirrup::error::{Error, Result};
use chirrup::input::Input;
use chirrup::trace::columns::ColumnMap;
use chirrup::trace::{self, Item, Skipped, Trace};
use chirrup_core::{Sample, Speed};
use numpy::PyArray1;
use pyo3::prelude::*;
use pyo3::types::PyDict;
use std::path::PathBuf;
use std::sync::atomic::{AtomicBool, Ordering};

/// The ice point, as the bench's unit has it.
const KELVIN_AT_ZERO_CELSIUS: f64 = 273.15_f32 as f64;
/// So many skipped lines are kept one by one.
const MOST_SKIPPED: usize = 1_000;

/// The columns of a trace, in this order, named as in a CSV that the program reads.
const NAMES: [&str; 27] = [
    "static_pa",
    "dynamic_pa",
    "ias_mps",
    "tas_mps",
    "te_pa",
    "oat_c",
    "accel_x_mps2",
    "accel_y_mps2",
    "accel_z_mps2",
    "gyro_x_radps",
    "gyro_y_radps",
    "gyro_z_radps",
    "accel_largest_mps2",
    "accel_deviation_mps2",
    "gyro_largest_radps",
    "gyro_deviation_radps",
    "gnss_vn_mps",
    "gnss_ve_mps",
    "gnss_vd_mps",
    "gnss_age_s",
    "lat_deg",
    "lon_deg",
    "gnss_alt_m",
    "truth_air_mps",
    "truth_vertical_mps",
    "truth_climb_mps",
    "recorded_climb_mps",
];
/// Where the inertial sensor's columns begin and end.
const INERTIAL: std::ops::Range<usize> = 6..12;

/// A trace that has been read.
#[derive(Default)]
struct Read {
    time_s: Vec<f64>,
    columns: Vec<Vec<f64>>,
    skipped: Vec<Skipped>,
    skipped_count: usize,
    notes: Vec<String>,
    format: &'static str,
    date: Option<String>,
    utc_at_zero_s: Option<f64>,
}

/// The columns of the trace at `path`, and what is known about it, as two dicts.
#[pyfunction]
pub fn read_trace(
    py: Python<'_>,
    path: PathBuf,
    columns: Option<&str>,
) -> PyResult<(Py<PyDict>, Py<PyDict>)> {
    let columns = map(columns)?;
    let input = Input::new(&path);
    let read = work::run(py, |interrupted| Read::all(&input, &columns, interrupted))?;
    read.into_dicts(py)
}

/// What the option `--columns` says.
pub fn map(columns: Option<&str>) -> PyResult<ColumnMap> {
    let map: Option<ColumnMap> = columns
        .map(|text| text.parse())
        .transpose()
        .map_err(|error| crate::errors::refused(format!("columns: {error}")))?;
    Ok(map.unwrap_or_default())
}

impl Read {
    fn all(input: &Input, columns: &ColumnMap, interrupted: &AtomicBool) -> Result<Self> {
        let mut trace = trace::open(&input.name(), input.open()?.reader, columns)?;
        let mut read = Self { columns: vec![Vec::new(); NAMES.len()], ..Self::default() };
        while let Some(item) = trace.next() {
            if interrupted.load(Ordering::Relaxed) {
                return Err(Error::Interrupted);
            }
            match item? {
                Item::Sample { sample, .. } => read.take(&sample, trace.as_ref()),
                Item::Skipped(skipped) => {
                    read.skipped_count += 1;
                    if read.skipped.len() < MOST_SKIPPED {
                        read.skipped.push(skipped);
                    }
                }
            }
        }
        if trace.has_inertial() {
            read.columns[INERTIAL]
                .iter_mut()
                .for_each(|column| column.resize(read.time_s.len(), f64::NAN));
        }
        read.notes = trace.notes().iter().map(|note| in_python(note)).collect();
        read.format = trace.format();
        read.date = trace.date();
        read.utc_at_zero_s = trace.utc_start_s();
        Ok(read)
    }

    fn take(&mut self, sample: &Sample, trace: &dyn Trace) {
        let count = self.time_s.len();
        self.time_s.push(sample.time.0 as f64 / 1e6);
        for (column, value) in self.columns.iter_mut().zip(values(sample, trace)) {
            if let Some(value) = value {
                column.resize(count, f64::NAN);
                column.push(value);
            }
        }
    }

    fn into_dicts(self, py: Python<'_>) -> PyResult<(Py<PyDict>, Py<PyDict>)> {
        let (columns, facts) = (PyDict::new(py), PyDict::new(py));
        let count = self.time_s.len();
        columns.set_item("time_s", PyArray1::from_vec(py, self.time_s))?;
        for (name, mut column) in NAMES.iter().zip(self.columns) {
            // The static pressure is always there.
            if *name == "static_pa" || !column.is_empty() {
                column.resize(count, f64::NAN);
                columns.set_item(name, PyArray1::from_vec(py, column))?;
            }
        }
        let skipped = self.skipped.into_iter().map(|it| (it.line, it.reason, it.found));
        facts.set_item("format", self.format)?;
        facts.set_item("date", self.date)?;
        facts.set_item("utc_at_zero_s", self.utc_at_zero_s)?;
        facts.set_item("notes", self.notes)?;
        facts.set_item("skipped", skipped.collect::<Vec<_>>())?;
        facts.set_item("skipped_count", self.skipped_count)?;
        Ok((columns.unbind(), facts.unbind()))
    }
}

/// What a sample has, in the order of [`NAMES`]; from these the same sample can be made again.
fn values(sample: &Sample, trace: &dyn Trace) -> [Option<f64>; NAMES.len()] {
    let single = |value: f32| Some(f64::from(value));
    let [dynamic, ias, tas] = match sample.speed {
        Some(Speed::Dynamic(pa)) => [single(pa.0), None, None],
        Some(Speed::Calibrated(mps)) => [None, single(mps.0), None],
        Some(Speed::True(mps)) => [None, None, single(mps.0)],
        None => [None; 3],
    };
    let force = sample.inertial.map(|it| it.specific_force);
    let turn = sample.inertial.map(|it| it.turn_rate);
    let spread = sample.inertial.and_then(|it| it.spread);
    let ground = sample.ground_velocity;
    let (position, truth) = (trace.position(), trace.truth());
    [
        sample.static_pressure.map(|pa| f64::from(pa.0)),
        dynamic,
        ias,
        tas,
        sample.te_pressure.map(|pa| f64::from(pa.0)),
        sample.outside_air.map(|air| f64::from(air.0) - KELVIN_AT_ZERO_CELSIUS),
        force.map(|it| f64::from(it.x.0)),
        force.map(|it| f64::from(it.y.0)),
        force.map(|it| f64::from(it.z.0)),
        turn.map(|it| f64::from(it.x.0)),
        turn.map(|it| f64::from(it.y.0)),
        turn.map(|it| f64::from(it.z.0)),
        spread.map(|it| f64::from(it.largest_force.0)),
        spread.map(|it| f64::from(it.force_deviation.0)),
        spread.map(|it| f64::from(it.largest_turn.0)),
        spread.map(|it| f64::from(it.turn_deviation.0)),
        ground.map(|it| f64::from(it.north.0)),
        ground.map(|it| f64::from(it.east.0)),
        ground.map(|it| f64::from(it.down.0)),
        ground.map(|it| it.age.0 as f64 / 1e6),
        position.map(|it| it.latitude_deg),
        position.map(|it| it.longitude_deg),
        position.and_then(|it| it.gnss_altitude_m),
        truth.air_mps,
        truth.vertical_mps,
        truth.climb_mps,
        trace.recorded_climb_mps().map(f64::from),
    ]
}
