//! Columns as an Arrow stream, by the Arrow PyCapsule interface.
//!
//! NaN and `None` become nulls. The numbers are copied once, since numpy keeps its own.

use crate::errors::refused;
use arrow_array::ffi_stream::FFI_ArrowArrayStream;
use arrow_array::{ArrayRef, BooleanArray, Float32Array, Float64Array, Int64Array, StringArray};
use arrow_array::{RecordBatch, RecordBatchIterator};
use arrow_schema::{ArrowError, Field, Schema};
use numpy::{PyArray1, PyArrayMethods};
use pyo3::prelude::*;
use pyo3::types::{PyCapsule, PyDict};
use std::sync::Arc;

/// A capsule of the name `arrow_array_stream` with the columns as one record batch.
///
/// # Errors
/// A column that is no array of numbers, truth values or words, or is not as long as the others.
#[pyfunction]
pub fn arrow_stream<'py>(
    py: Python<'py>,
    columns: &Bound<'py, PyDict>,
) -> PyResult<Bound<'py, PyCapsule>> {
    let mut fields = Vec::new();
    let mut arrays = Vec::new();
    for (name, column) in columns.iter() {
        let name: String = name.extract()?;
        let array = array_of(&name, &column)?;
        fields.push(Field::new(name, array.data_type().clone(), true));
        arrays.push(array);
    }
    let schema = Arc::new(Schema::new(fields));
    let cannot = |error: ArrowError| refused(format!("no Arrow table: {error}"));
    let batch = RecordBatch::try_new(Arc::clone(&schema), arrays).map_err(cannot)?;
    let batches = RecordBatchIterator::new([Ok(batch)], schema);
    let stream = FFI_ArrowArrayStream::new(Box::new(batches));
    PyCapsule::new_with_value(py, stream, c"arrow_array_stream")
}

fn array_of(name: &str, column: &Bound<'_, PyAny>) -> PyResult<ArrayRef> {
    if let Ok(array) = column.cast::<PyArray1<f32>>() {
        let array = array.try_readonly()?;
        let values = array.as_array();
        let values = values.iter().map(|value| (!value.is_nan()).then_some(*value));
        return Ok(Arc::new(Float32Array::from_iter(values)));
    }
    if let Ok(array) = column.cast::<PyArray1<f64>>() {
        let array = array.try_readonly()?;
        let values = array.as_array();
        let values = values.iter().map(|value| (!value.is_nan()).then_some(*value));
        return Ok(Arc::new(Float64Array::from_iter(values)));
    }
    if let Ok(array) = column.cast::<PyArray1<bool>>() {
        let array = array.try_readonly()?;
        let values: Vec<bool> = array.as_array().iter().copied().collect();
        return Ok(Arc::new(BooleanArray::from(values)));
    }
    if let Ok(array) = column.cast::<PyArray1<i64>>() {
        let array = array.try_readonly()?;
        return Ok(Arc::new(Int64Array::from_iter_values(array.as_array().iter().copied())));
    }
    let words: Result<Vec<Option<String>>, _> =
        column.try_iter().and_then(|words| words.map(|word| word?.extract()).collect());
    match words {
        Ok(words) => Ok(Arc::new(StringArray::from(words))),
        Err(_) => Err(refused(format!("{name}: expected numbers, truth values or words"))),
    }
}
