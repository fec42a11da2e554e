//! The rows of a replay as columns.

use chirrup::output::figures::{self, FIGURES, INERTIAL_FIGURES};
use chirrup::output::watch::Watch;
use chirrup::replay::{Listening, Row};
use numpy::PyArray1;
use pyo3::prelude::*;
use pyo3::types::{PyDict, PyString};

/// A column of words of which few are different.
#[derive(Default)]
struct Words {
    known: Vec<&'static str>,
    /// Places in `known`; `None` where there is no word.
    places: Vec<Option<u8>>,
}

impl Words {
    fn push(&mut self, word: Option<&'static str>) {
        let place = word.map(|word| {
            let known = self.known.iter().position(|known| *known == word);
            known.unwrap_or_else(|| {
                self.known.push(word);
                self.known.len() - 1
            }) as u8
        });
        self.places.push(place);
    }

    fn array<'py>(&self, py: Python<'py>) -> Bound<'py, PyArray1<Py<PyAny>>> {
        let words: Vec<Py<PyAny>> =
            self.known.iter().map(|word| PyString::intern(py, word).into_any().unbind()).collect();
        let object = |place: &Option<u8>| match place {
            Some(place) => words[usize::from(*place)].clone_ref(py),
            None => py.None(),
        };
        PyArray1::from_vec(py, self.places.iter().map(object).collect())
    }
}

/// What an inertial sensor has in a row.
#[derive(Default)]
struct Felt {
    figures: [Vec<f32>; INERTIAL_FIGURES.len()],
    trust: Words,
    remark: Words,
}

/// The rows of the first instrument so far.
#[derive(Default)]
pub struct Columns {
    time_s: Vec<f64>,
    figures: [Vec<f32>; FIGURES.len()],
    sounding: Vec<bool>,
    status: Words,
    felt: Option<Felt>,
}

impl Columns {
    /// No rows yet; `has_inertial` with the columns of an inertial sensor.
    pub fn new(has_inertial: bool) -> Self {
        Self { felt: has_inertial.then(Felt::default), ..Self::default() }
    }

    /// The columns by name, in the order of the program's CSV; NaN or `None` where a CSV has an
    /// empty field.
    ///
    /// # Errors
    /// When Python has no memory left.
    pub fn into_dict(self, py: Python<'_>) -> PyResult<Bound<'_, PyDict>> {
        let dict = PyDict::new(py);
        dict.set_item("time_s", PyArray1::from_vec(py, self.time_s))?;
        for (figure, column) in FIGURES.iter().zip(self.figures) {
            dict.set_item(figure.name, PyArray1::from_vec(py, column))?;
        }
        dict.set_item("sounding", PyArray1::from_vec(py, self.sounding))?;
        dict.set_item("status", self.status.array(py))?;
        if let Some(felt) = self.felt {
            for (figure, column) in INERTIAL_FIGURES.iter().zip(felt.figures) {
                if figure.name == "inertial_weight" {
                    dict.set_item("inertial_trust", felt.trust.array(py))?;
                }
                dict.set_item(figure.name, PyArray1::from_vec(py, column))?;
            }
            dict.set_item("inertial_remark", felt.remark.array(py))?;
        }
        Ok(dict)
    }
}

impl Watch for Columns {
    fn listening(&self) -> Listening {
        Listening::Rows
    }

    fn row(&mut self, row: &Row) {
        let reading = &row.readings.left;
        self.time_s.push(reading.time.0 as f64 / 1e6);
        push(&mut self.figures, reading.values.as_ref().map(figures::of));
        self.sounding.push(row.sounding.left);
        self.status.push(Some(reading.status.name()));
        if let Some(felt) = &mut self.felt {
            let aided = reading.values.as_ref().and_then(|values| values.inertial);
            push(&mut felt.figures, Some(figures::of_inertial(aided.as_ref())));
            felt.trust.push(aided.map(|aided| aided.trust.name()));
            felt.remark.push(aided.and_then(|aided| aided.remark).map(|remark| remark.name()));
        }
    }
}

fn push<const N: usize>(columns: &mut [Vec<f32>; N], figures: Option<[Option<f32>; N]>) {
    let figures = figures.unwrap_or([None; N]);
    for (column, figure) in columns.iter_mut().zip(figures) {
        column.push(figure.unwrap_or(f32::NAN));
    }
}
