//! The flights that the instrument recorded: a list of them, and one as a trace.

use super::port::{Heard, Port};
use super::talk;
use crate::error::{Error, Result};
use crate::output::place::Placed;
use crate::text_table::{Column, Table};
use crate::time::Clock;
use crate::words::shown_path;
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use serde::Serialize;
use std::fmt;
use std::io::{IsTerminal, Write, stderr};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

/// After this long without a line the instrument is taken for gone.
const PATIENCE: Duration = Duration::from_secs(10);

/// A recorded flight.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Flight {
    /// Its number.
    pub flight: u16,
    /// UTC of its first row, where the instrument knew it.
    pub utc: Option<String>,
    /// Seconds from the instrument's start to its first row.
    pub begin_s: f64,
    /// Seconds that it lasts.
    pub seconds: f64,
    /// Its rows.
    pub rows: u64,
    /// Bytes in the instrument's flash.
    pub bytes: u64,
    /// `ended`, `running`, or `cut off` by the end of power, and whether its beginning is gone.
    pub state: String,
}

/// Recorded flights, oldest first.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(transparent)]
pub struct Flights(pub Vec<Flight>);

/// A fetched flight.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fetched {
    /// The file, unless it is standard output.
    pub file: Option<PathBuf>,
    /// Its rows.
    pub rows: u64,
}

/// Lists the flights of the instrument at `path`.
///
/// # Errors
/// No instrument answers, or one without a recorder.
pub fn list(path: &Path, interrupted: &AtomicBool) -> Result<Flights> {
    let mut port = Port::open(path)?;
    talk::greet(&mut port, interrupted)?;
    ask_list(&mut port, interrupted)
}

/// Writes a flight of the instrument at `path` into `out`, as the log writes it.
///
/// # Errors
/// No instrument answers, it has no such flight, rows were lost on the way, or the disk cannot be
/// written; there is then no file.
pub fn fetch(path: &Path, number: u16, out: &Path, interrupted: &AtomicBool) -> Result<Fetched> {
    let mut port = Port::open(path)?;
    talk::greet(&mut port, interrupted)?;
    talk::demand(&mut port, "log off", interrupted)?;
    let flights = ask_list(&mut port, interrupted)?;
    let wanted = flights.0.iter().find(|flight| flight.flight == number).ok_or_else(|| {
        Error::Usage(format!(
            "{}: there is no flight {number}; `chirrup device {0} flights` lists them",
            shown_path(path)
        ))
    })?;
    let mut file = Placed::create(out)?;
    let bar = bar(wanted.rows);
    port.send(&format!("fetch {number}"))?;
    let rows = receive(&mut port, &mut file, out, &bar, interrupted)?;
    bar.finish_and_clear();
    // A flight that is running has more by now.
    if rows < wanted.rows {
        return Err(Error::Refused(format!(
            "{}: only {rows} of {} rows came; no file was written; try again",
            shown_path(path),
            wanted.rows
        )));
    }
    Ok(Fetched { file: file.finish()?, rows })
}

fn receive(
    port: &mut Port,
    file: &mut Placed,
    out: &Path,
    bar: &ProgressBar,
    interrupted: &AtomicBool,
) -> Result<u64> {
    let mut rows = 0;
    let mut time_us = i64::MIN;
    let mut fields = None;
    let mut heard = Instant::now();
    loop {
        if interrupted.load(Ordering::Relaxed) {
            // Ends what is being sent.
            let _ = port.send("version");
            return Err(Error::Interrupted);
        }
        let line = match port.hear() {
            Heard::Line(line) => line,
            Heard::Nothing if heard.elapsed() < PATIENCE => continue,
            Heard::Nothing | Heard::Gone => {
                let path = shown_path(port.path());
                return Err(Error::Refused(format!(
                    "{path}: the instrument fell silent after {rows} rows; no file was written"
                )));
            }
        };
        heard = Instant::now();
        let count = line.split(',').count();
        match line.as_str() {
            "# ok" => return Ok(rows),
            line if line.starts_with("# error: ") => {
                let reason = line.trim_start_matches("# error: ");
                let path = shown_path(port.path());
                return Err(Error::Refused(format!("{path}: {reason}")));
            }
            line if line.starts_with("#!") => continue,
            line if line.starts_with('#') => {}
            line if line.starts_with("time_us") => fields = Some(count),
            // Half a row of a log that was ended has other fields.
            _ if fields != Some(count) => continue,
            row => {
                time_us = later(row, time_us).ok_or_else(|| {
                    let path = shown_path(port.path());
                    Error::Refused(format!(
                        "{path}: row {} is not later than the one before; no file was written; \
                         try again",
                        rows + 1
                    ))
                })?;
                rows += 1;
                if rows.is_multiple_of(100) {
                    bar.set_position(rows);
                }
            }
        }
        writeln!(file, "{line}").map_err(|source| Error::io("cannot write", out, source))?;
    }
}

/// The time of a row, in microseconds, if it is later than that of the row before.
fn later(row: &str, before_us: i64) -> Option<i64> {
    let time_us = row.split(',').next()?.parse().ok()?;
    (time_us > before_us).then_some(time_us)
}

fn bar(rows: u64) -> ProgressBar {
    let bar = ProgressBar::with_draw_target(Some(rows), ProgressDrawTarget::hidden());
    let style = ProgressStyle::with_template("{wide_bar} {pos} of {len} rows, {eta} left")
        .unwrap_or_else(|_| ProgressStyle::default_bar());
    bar.set_style(style);
    if stderr().is_terminal() {
        bar.set_draw_target(ProgressDrawTarget::stderr());
    }
    bar
}

fn ask_list(port: &mut Port, interrupted: &AtomicBool) -> Result<Flights> {
    let lines = talk::demand(port, "flights", interrupted)?;
    // The first line names the columns.
    let flights = lines.iter().skip(1).map(|line| {
        flight(line).ok_or_else(|| {
            let path = shown_path(port.path());
            Error::Refused(format!("{path}: a flight that cannot be read: {line}"))
        })
    });
    flights.collect::<Result<_>>().map(Flights)
}

fn flight(line: &str) -> Option<Flight> {
    let mut fields = line.splitn(7, ',');
    let mut next = || fields.next();
    Some(Flight {
        flight: next()?.parse().ok()?,
        utc: next().map(str::to_owned).filter(|utc| !utc.is_empty()),
        begin_s: next()?.parse().ok()?,
        seconds: next()?.parse().ok()?,
        rows: next()?.parse().ok()?,
        bytes: next()?.parse().ok()?,
        state: next()?.to_owned(),
    })
}

impl fmt::Display for Flights {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.0.is_empty() {
            return f.write_str("no flights are recorded\n");
        }
        let mut table = Table::new([
            Column::right("flight"),
            Column::left("begins, UTC"),
            Column::right("lasts"),
            Column::right("rows"),
            Column::right("kB"),
            Column::left("state"),
        ]);
        for flight in &self.0 {
            let begins = match &flight.utc {
                Some(utc) => utc.clone(),
                None => format!("{:.0} s after its start", flight.begin_s),
            };
            table.row([
                flight.flight.to_string(),
                begins,
                Clock(flight.seconds).to_string(),
                flight.rows.to_string(),
                format!("{:.1}", flight.bytes as f64 / 1_000.0),
                flight.state.clone(),
            ]);
        }
        table.fmt(f)
    }
}

impl fmt::Display for Fetched {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} rows", self.rows)?;
        match &self.file {
            Some(file) => write!(f, ", in {}", shown_path(file)),
            None => Ok(()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::later;

    #[test]
    fn a_row_has_to_be_later_than_the_one_before() {
        assert_eq!(later("20000,95000,,,12,0", i64::MIN), Some(20_000));
        assert_eq!(later("20001,95000,,,12,0", 20_000), Some(20_001));
        for row in ["20000,95000,,,12,0", "19999,95000,,,12,0", "# ok", ""] {
            assert_eq!(later(row, 20_000), None, "{row}");
        }
    }
}
