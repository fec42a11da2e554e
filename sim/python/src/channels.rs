//! numpy arrays as the channels of a trace: checked, and not copied.
//!
//! The names are those of the option `--columns` of the program.

use crate::errors::refused;
use chirrup::trace::arrays::{Airspeed, Channels, Numbers, micros};
use numpy::{PyArray1, PyArrayMethods, PyReadonlyArray1, PyUntypedArray, PyUntypedArrayMethods};
use pyo3::prelude::*;
use pyo3::types::PyDict;

/// The ways in which an airspeed may come; one of them at a time.
const AIRSPEEDS: [&str; 3] = ["dynamic", "ias", "tas"];
const INERTIAL: [&str; 6] = ["accel_x", "accel_y", "accel_z", "gyro_x", "gyro_y", "gyro_z"];
const SPREAD: [&str; 4] = ["accel_largest", "accel_deviation", "gyro_largest", "gyro_deviation"];
const GROUND: [&str; 3] = ["gnss_vn", "gnss_ve", "gnss_vd"];

/// What the numbers may be.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Strictness {
    /// Neither NaN nor times that go back.
    Strict,
    /// NaN stands for what a sensor did not give.
    NanIsAbsent,
    /// As a recorder wrote it, times that go back too.
    AsRecorded,
}

/// Numbers of one channel.
enum Held<'py> {
    Single(PyReadonlyArray1<'py, f32>),
    Double(PyReadonlyArray1<'py, f64>),
}

/// The arrays of a trace by their channels' names.
pub struct Arrays<'py>(Vec<(String, Held<'py>)>);

impl<'py> Arrays<'py> {
    /// The arrays in `named`, without those that are `None`.
    ///
    /// # Errors
    /// One that is no array of floats in one dimension.
    pub fn new(named: &Bound<'py, PyDict>) -> PyResult<Self> {
        let mut arrays = Vec::new();
        for (name, array) in named.iter().filter(|(_, array)| !array.is_none()) {
            let name: String = name.extract()?;
            let held = held(&name, &array)?;
            arrays.push((name, held));
        }
        Ok(Self(arrays))
    }

    /// Their numbers, checked.
    ///
    /// # Errors
    /// The first array that cannot be used, in one line.
    pub fn channels(&self, strictness: Strictness) -> PyResult<Channels<'_>> {
        let time_s = self.time_s()?;
        check_times(time_s, strictness)?;
        for (name, held) in self.0.iter().filter(|(name, _)| name != "time") {
            check_numbers(name, &held.numbers()?, time_s.len(), strictness)?;
        }
        let Some(static_pa) = self.numbers("static")? else {
            return Err(refused("there is no static pressure"));
        };
        Ok(Channels {
            time_s,
            static_pa,
            airspeed: self.airspeed()?,
            te_pa: self.numbers("te")?,
            oat_c: self.numbers("oat")?,
            inertial: self.together(INERTIAL)?,
            spread: self.together(SPREAD)?,
            ground_mps: self.together(GROUND)?,
            ground_age_s: self.numbers("gnss_age")?,
        })
    }

    fn time_s(&self) -> PyResult<&[f64]> {
        match self.find("time") {
            Some(Held::Double(array)) => Ok(array.as_slice()?),
            Some(Held::Single(_)) => Err(refused(
                "time: found dtype float32, which has no milliseconds after some hours; \
                 expected float64, in s",
            )),
            None => Err(refused("there is no time")),
        }
    }

    fn find(&self, name: &str) -> Option<&Held<'py>> {
        self.0.iter().find(|(known, _)| known == name).map(|(_, held)| held)
    }

    fn numbers(&self, name: &str) -> PyResult<Option<Numbers<'_>>> {
        self.find(name).map(Held::numbers).transpose()
    }

    fn airspeed(&self) -> PyResult<Option<Airspeed<'_>>> {
        let given: Vec<&str> =
            AIRSPEEDS.into_iter().filter(|name| self.find(name).is_some()).collect();
        if given.len() > 1 {
            return Err(refused(format!(
                "found {} together, expected one airspeed: give the one that was measured",
                given.join(" and ")
            )));
        }
        let [dynamic, ias, tas] = AIRSPEEDS.map(|name| self.numbers(name));
        let forms = [
            dynamic?.map(Airspeed::Dynamic),
            ias?.map(Airspeed::Calibrated),
            tas?.map(Airspeed::True),
        ];
        Ok(forms.into_iter().flatten().next())
    }

    /// Channels that are of use only together.
    fn together<const N: usize>(&self, names: [&str; N]) -> PyResult<Option<[Numbers<'_>; N]>> {
        let missing: Vec<&str> =
            names.into_iter().filter(|name| self.find(name).is_none()).collect();
        if missing.len() == N {
            return Ok(None);
        }
        if !missing.is_empty() {
            let all = names.join(", ");
            return Err(refused(format!("found no {}, expected all of {all}", missing.join(", "))));
        }
        let numbers: Vec<Numbers<'_>> = names
            .iter()
            .filter_map(|name| self.numbers(name).transpose())
            .collect::<PyResult<_>>()?;
        Ok(numbers.try_into().ok())
    }
}

impl Held<'_> {
    fn numbers(&self) -> PyResult<Numbers<'_>> {
        Ok(match self {
            Held::Single(array) => Numbers::Single(array.as_slice()?),
            Held::Double(array) => Numbers::Double(array.as_slice()?),
        })
    }
}

fn held<'py>(name: &str, array: &Bound<'py, PyAny>) -> PyResult<Held<'py>> {
    let Ok(untyped) = array.cast::<PyUntypedArray>() else {
        return Err(refused(format!("{name}: found {}, expected an array", array.get_type())));
    };
    if untyped.ndim() != 1 {
        let shape = array.getattr("shape")?;
        return Err(refused(format!("{name}: found shape {shape}, expected one dimension")));
    }
    if let Ok(double) = array.cast::<PyArray1<f64>>() {
        return Ok(Held::Double(double.try_readonly()?));
    }
    if let Ok(single) = array.cast::<PyArray1<f32>>() {
        return Ok(Held::Single(single.try_readonly()?));
    }
    let hint = match (name, array.getattr("dtype")?.getattr("kind")?.extract::<char>()?) {
        ("time", 'M') => " in s, such as (time - time[0]) / numpy.timedelta64(1, \"s\")",
        ("time", 'm') => " in s, such as time / numpy.timedelta64(1, \"s\")",
        _ => "",
    };
    let dtype = untyped.dtype();
    Err(refused(format!("{name}: found dtype {dtype}, expected float64 or float32{hint}")))
}

/// Refuses what is no time, and what is earlier than the time before.
fn check_times(time_s: &[f64], strictness: Strictness) -> PyResult<()> {
    if let Some((place, time)) = (0..).zip(time_s).find(|(_, time)| micros(**time).is_none()) {
        return Err(refused(format!(
            "time[{place}]: found {time}, expected seconds within 1e12 of zero"
        )));
    }
    if strictness == Strictness::AsRecorded {
        return Ok(());
    }
    let back = (1..).zip(time_s.windows(2)).find(|(_, pair)| pair[1] < pair[0]);
    if let Some((place, pair)) = back {
        return Err(refused(format!(
            "time[{place}]: found {} s after {} s, expected times that do not go back; sort the \
             rows, or write them as CSV and read that with read_trace",
            pair[1], pair[0]
        )));
    }
    Ok(())
}

fn check_numbers(
    name: &str,
    numbers: &Numbers<'_>,
    count: usize,
    strictness: Strictness,
) -> PyResult<()> {
    if numbers.len() != count {
        let found = numbers.len();
        return Err(refused(format!("{name}: found {found} values, expected {count} as in time")));
    }
    let is_wrong = |value: f64| match value.is_nan() {
        true => strictness == Strictness::Strict,
        false => !(value as f32).is_finite(),
    };
    let wrong = (0..count).map(|place| (place, numbers.at(place))).find(|(_, it)| is_wrong(*it));
    match wrong {
        None => Ok(()),
        Some((place, value)) if value.is_nan() => Err(refused(format!(
            "{name}[{place}]: found NaN, expected a number; with nan_is_absent=True NaN stands for \
             what the sensor did not give"
        ))),
        Some((place, value)) => {
            Err(refused(format!("{name}[{place}]: found {value}, expected a finite number")))
        }
    }
}
