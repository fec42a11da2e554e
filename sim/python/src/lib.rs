//! The package `chirrup` for Python: the functions of the bench, with numpy arrays.
//!
//! ```text
//! Python (python/chirrup: signatures, documentation, types)
//!    -> this crate (arrays -> slices, results -> arrays, errors -> chirrup.Error)
//!       -> the bench's library, the same functions that the program calls
//! ```
//!
//! Work is done without the interpreter's lock, by [`work`], which also looks for Ctrl-C.

mod arrow;
mod channels;
mod columns;
mod errors;
mod flying;
mod replaying;
mod reports;
mod settings;
mod sound;
mod trace;
mod words;
mod work;

/// What the Python side of the package is made of.
#[pyo3::pymodule]
mod _native {
    #[pymodule_export]
    use crate::arrow::arrow_stream;
    #[pymodule_export]
    use crate::errors::Error;
    #[pymodule_export]
    use crate::flying::{fly, scenario, scenarios};
    #[pymodule_export]
    use crate::replaying::{decimals, render, replay};
    #[pymodule_export]
    use crate::reports::{inspect, tune};
    #[pymodule_export]
    use crate::settings::Settings;
    #[pymodule_export]
    use crate::trace::read_trace;
    use numpy::{PyArray1, PyArrayMethods};
    use pyo3::prelude::*;

    /// Loads numpy's functions and those that keep track of who reads an array. The first call
    /// would load them otherwise, where Ctrl-C would meet code that cannot return an error.
    #[pymodule_init]
    fn init(module: &Bound<'_, PyModule>) -> PyResult<()> {
        module.py().import("numpy")?;
        PyArray1::<f64>::from_vec(module.py(), Vec::new()).try_readonly()?;
        Ok(())
    }
}
