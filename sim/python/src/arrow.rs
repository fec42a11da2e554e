//! Columns as an Arrow stream, by the Arrow PyCapsule interface.
//!
//! NaN and `None` become nulls. The numbers are copied once, since numpy keeps its own.

use crate::errors::refused;
use arrow_array::ffi_stream::FFI_ArrowArrayStream;
use arrow_array::types::{
    ArrowPrimitiveType, Int8Type, Int16Type, Int32Type, Int64Type, UInt8Type, UInt16Type,
    UInt32Type, UInt64Type,
};
use arrow_array::{
    ArrayRef, BooleanArray, Float32Array, Float64Array, PrimitiveArray, StringArray,
};
use arrow_array::{RecordBatch, RecordBatchIterator};
use arrow_schema::{ArrowError, Field, Schema};
use numpy::{Element, PyArray1, PyArrayMethods, PyUntypedArray, PyUntypedArrayMethods};
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
    if let Some(whole) = whole_numbers(column) {
        return whole;
    }
    refuse_shape(name, column)?;
    let words: Result<Vec<Option<String>>, _> =
        column.try_iter().and_then(|words| words.map(|word| word?.extract()).collect());
    match words {
        Ok(words) => Ok(Arc::new(StringArray::from(words))),
        Err(_) => Err(refused(format!(
            "{name}: found {}, expected real numbers, truth values or words",
            kind_of(column)
        ))),
    }
}

/// An array of whole numbers in the width that it has; `None` for any other.
fn whole_numbers(column: &Bound<'_, PyAny>) -> Option<PyResult<ArrayRef>> {
    whole::<Int64Type>(column)
        .or_else(|| whole::<Int32Type>(column))
        .or_else(|| whole::<Int16Type>(column))
        .or_else(|| whole::<Int8Type>(column))
        .or_else(|| whole::<UInt64Type>(column))
        .or_else(|| whole::<UInt32Type>(column))
        .or_else(|| whole::<UInt16Type>(column))
        .or_else(|| whole::<UInt8Type>(column))
}

fn whole<T: ArrowPrimitiveType>(column: &Bound<'_, PyAny>) -> Option<PyResult<ArrayRef>>
where
    T::Native: Element + Copy,
{
    let array = column.cast::<PyArray1<T::Native>>().ok()?;
    let made = array.try_readonly().map(|array| -> ArrayRef {
        Arc::new(PrimitiveArray::<T>::from_iter_values(array.as_array().iter().copied()))
    });
    Some(made.map_err(Into::into))
}

fn refuse_shape(name: &str, column: &Bound<'_, PyAny>) -> PyResult<()> {
    let Ok(array) = column.cast::<PyUntypedArray>() else { return Ok(()) };
    if array.ndim() == 1 {
        return Ok(());
    }
    let shape = column.getattr("shape")?;
    Err(refused(format!("{name}: found shape {shape}, expected one dimension")))
}

fn kind_of(column: &Bound<'_, PyAny>) -> String {
    match column.cast::<PyUntypedArray>() {
        Ok(array) => format!("dtype {}", array.dtype()),
        Err(_) => column.get_type().to_string(),
    }
}
