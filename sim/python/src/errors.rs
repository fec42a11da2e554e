//! Errors of the bench as Python's, in the same words.

use crate::words::in_python;
use chirrup::error::Error as BenchError;
use pyo3::exceptions::{PyKeyboardInterrupt, PyValueError};
use pyo3::prelude::*;

pyo3::create_exception!(
    chirrup,
    Error,
    PyValueError,
    "What cannot be used or done, in one line: what, where, and what to do.\n\n\
     Where the program `chirrup` would refuse the same, the words are the same; arguments and\n\
     functions stand for its options and commands."
);

/// The Python error of what stopped the bench.
pub fn raised(error: BenchError) -> PyErr {
    match error {
        BenchError::Interrupted => PyKeyboardInterrupt::new_err(()),
        error => Error::new_err(in_python(&error.to_string())),
    }
}

/// An error of this package's own, in one line.
pub fn refused(what: impl Into<String>) -> PyErr {
    Error::new_err(what.into())
}
