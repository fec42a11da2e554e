//! The check on the ground: what an instrument's sensors and lines do, what they should do, and
//! what to do about it.
//!
//! ```text
//! selftest -> figures --+-> at_rest (noise, QNH, zero)  ----------------+-> findings
//! log 50   -> rows -----+-> held (a minute) -> trend -> leak -> lines --+
//!             guide: leads the person, waits, shows, warns of what must not be (trial, danger)
//! ```

mod at_rest;
mod danger;
mod figures;
mod finding;
mod guide;
mod held;
mod leak;
mod lines;
mod patience;
mod report;
mod rows;
pub mod sheets;
#[cfg(test)]
mod tests;
mod trend;
mod trial;
#[cfg(test)]
mod world;

pub use at_rest::Place;
pub use finding::{Finding, Measured, Verdict};
pub use leak::Line;
pub use report::report;

use super::port::Port;
use super::{selftest, talk};
use crate::error::{Error, Result};
use crate::words::shown_path;
use at_rest::{Plumbing, Rest};
use chirrup_core::{Pascal, SecondBarometer};
use figures::{Figures, Sensor};
use guide::Guide;
use rows::Row;
use std::path::Path;
use std::sync::atomic::AtomicBool;

/// Time at rest before anything is done, s.
const REST_S: f64 = 10.0;

/// What to check.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Request {
    /// Where it stands, to check the static pressure.
    pub place: Option<Place>,
    /// Whether to test lines for leaks.
    pub leak: bool,
    /// Only this line.
    pub only: Option<Line>,
    /// How long to wait for a pressure, s.
    pub patience_s: f64,
}

/// What was found, and what ended the check before its end.
pub type Checked = (Vec<Finding>, Result<()>);

/// Checks the instrument at `path`, and leads the person through it on standard error. What was
/// found before the port was lost, or before Ctrl-C, is there as well.
///
/// # Errors
/// No instrument answers, a line is asked for that has no sensor, or the log stops or Ctrl-C comes
/// before anything was found.
pub fn check(path: &Path, request: &Request, interrupted: &AtomicBool) -> Result<Checked> {
    let mut port = Port::open(path)?;
    talk::greet(&mut port, interrupted)?;
    let figures = Figures::of(&selftest::lines(&mut port, interrupted)?);
    let plumbing = plumbing(&mut port, interrupted)?;
    if !is_live(figures.static_barometer.as_ref()) {
        let rest = Rest { rows: &[], figures: &figures, plumbing, place: None };
        return Ok((rest.findings(), Ok(())));
    }
    let tested = if request.leak { asked(request, &figures, plumbing)? } else { Vec::new() };
    let mut guide = Guide::begin(port, interrupted)?;
    guide.say("At rest, lines open, out of the wind: ten seconds.");
    let rows = guide.collect(REST_S)?;
    let mut findings =
        Rest { rows: &rows, figures: &figures, plumbing, place: request.place }.findings();
    if tested.is_empty() {
        return Ok((findings, Ok(())));
    }
    guide.say(&format!("\n{}", lines::CAUTIONS));
    let (at_rest, patience_s) = (mean(&rows), request.patience_s);
    let tests = lines::Tests { at_rest, figures: &figures, plumbing, patience_s };
    let (found, ended) = tests.each(&mut guide, &tested);
    // Also after an error or Ctrl-C: the lines are closed as they were.
    guide.say(lines::AFTERWARDS);
    findings.extend(found);
    Ok((findings, ended))
}

fn is_live(sensor: Option<&Sensor>) -> bool {
    sensor.is_some_and(|sensor| sensor.noise_pa.is_some())
}

/// The lines to test.
fn asked(request: &Request, figures: &Figures, plumbing: Plumbing) -> Result<Vec<Line>> {
    let second = is_live(figures.second.as_ref()).then_some(plumbing.second);
    let has = |line: &Line| match line {
        Line::Pitot => {
            is_live(figures.differential.as_ref()) || second == Some(SecondBarometer::Pitot)
        }
        Line::Static => true,
        Line::Probe => second == Some(SecondBarometer::Probe),
    };
    let Some(only) = request.only else {
        return Ok([Line::Pitot, Line::Static, Line::Probe].into_iter().filter(has).collect());
    };
    if has(&only) {
        return Ok(vec![only]);
    }
    let name = only.name();
    Err(Error::Refused(format!("there is no sensor on a {name} line; nothing to test")))
}

fn plumbing(port: &mut Port, interrupted: &AtomicBool) -> Result<Plumbing> {
    let text = talk::demand(port, "settings device.", interrupted)?.join("\n");
    let table: toml::Table = text.parse().map_err(|_| unreadable(port))?;
    let device = table.get("device").and_then(toml::Value::as_table).ok_or(unreadable(port))?;
    let number = |name: &str| {
        let value = device.get(name)?;
        value.as_float().or(value.as_integer().map(|whole| whole as f64))
    };
    Ok(Plumbing {
        second: match device.get("second_barometer").and_then(toml::Value::as_str) {
            Some("probe") => SecondBarometer::Probe,
            Some("pitot") => SecondBarometer::Pitot,
            _ => SecondBarometer::None,
        },
        range_pa: Pascal(number("differential_range_pa").ok_or(unreadable(port))? as f32),
        zero_pa: number("dynamic_zero_pa").ok_or(unreadable(port))?,
    })
}

fn unreadable(port: &Port) -> Error {
    Error::Refused(format!("{}: its settings cannot be read", shown_path(port.path())))
}

/// The mean of each column that the last row has.
fn mean(rows: &[Row]) -> Row {
    let of = |of: &dyn Fn(&Row) -> Option<f64>| {
        let values: Vec<f64> = rows.iter().filter_map(of).collect();
        (!values.is_empty()).then(|| values.iter().sum::<f64>() / values.len() as f64)
    };
    Row {
        time_s: rows.last().map_or(0.0, |row| row.time_s),
        static_pa: of(&|row| Some(row.static_pa)).unwrap_or(0.0),
        dynamic_pa: of(&|row| row.dynamic_pa),
        te_pa: of(&|row| row.te_pa),
    }
}
