//! Flights simulated from physics, written as traces: `chirrup fly`.
//!
//! ```text
//! request -> chirrup-flight (plan -> physics -> sensors) -> table
//!            (a trace for `replay`, with the true values beside it)
//! ```

pub mod list;
pub mod report;
pub mod request;
pub mod table;

use crate::error::{Error, Result};
use crate::progress::Progress;
use crate::time::Clock;
use chirrup_flight::plan::check;
use chirrup_flight::plan::flight::{Crash, Flight, Mishap};
use chirrup_flight::sensors::Sensors;
use report::Report;
use request::Request;
use std::cell::Cell;
use std::rc::Rc;
use std::sync::atomic::{AtomicBool, Ordering};
use table::Table;

/// Ticks between two looks at Ctrl-C.
const STRIDE: u64 = 1024;

/// Flies the scenario and writes its trace; `interrupted` stops it.
///
/// # Errors
/// The glider hits the ground where it should not, or the trace cannot be written; no file is then
/// under its name.
pub fn fly(request: &Request, interrupted: &AtomicBool) -> Result<Report> {
    let mut table = Table::create(&request.output, request)?;
    let mut report = Report::new(request);
    let flown = Rc::new(Cell::new(0));
    let mut progress = Progress::counting("{spinner} {pos} s flown", Rc::clone(&flown));
    let mut flight = Flight::new(&request.scenario, request.glider, request.seed);
    let mut sensors =
        Sensors::new(&request.scenario.sensors, &request.scenario.fault, request.seed);
    for tick in 0_u64.. {
        if tick.is_multiple_of(STRIDE) && interrupted.load(Ordering::Relaxed) {
            return Err(Error::Interrupted);
        }
        progress.tick();
        let moment = flight.moment();
        flown.set(moment.time_s as u64);
        report.note(&moment);
        if let Some(sensed) = sensors.take(&moment) {
            report.samples += 1;
            table.row(&sensed, &moment)?;
        }
        match flight.advance() {
            Ok(true) => {}
            Ok(false) => break,
            Err(crash) => return Err(ends_badly(request, &crash)),
        }
    }
    drop(progress);
    report.finish(flight.overdue());
    report.outputs.extend(table.finish()?);
    Ok(report)
}

fn ends_badly(request: &Request, crash: &Crash) -> Error {
    let (file, line) = (&request.file, check::line_of_leg(&request.text, crash.leg));
    let phase = request.scenario.leg.get(crash.leg).map_or("", |leg| leg.phase.as_str());
    let (end, help) = match crash.mishap {
        Mishap::Ground => {
            ("flies into the ground", "start higher, end it sooner, or make it how = \"land\"")
        }
        Mishap::Heaven => ("rises above 20000 m", "end it sooner"),
    };
    let (leg, time) = (crash.leg + 1, Clock(crash.time_s));
    Error::Settings(format!("{file}:{line}: leg {leg} ({phase}) {end} at {time}; {help}"))
}
