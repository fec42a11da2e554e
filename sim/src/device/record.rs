//! Records the instrument's log into a file: rows as they come, through unplugging and restarts,
//! until Ctrl-C.
//!
//! ```text
//! OPEN --log on--> ROWS --port gone--> WAITING --port back--> OPEN ..
//!                   | no row for three seconds (it has restarted): log on
//!                   | Ctrl-C: the file takes its name
//! ```
//!
//! Only whole lines are written, and a header only where it differs from the one before: with the
//! first sample of an inertial sensor columns are added. The instrument's own messages, and gaps in
//! the recording, are written as comments. The file gets its name only when the recording has
//! ended.

use super::port::{Heard, Port};
use super::talk;
use crate::error::{Error, Result};
use crate::output::place::Placed;
use crate::waiting::Waiting;
use crate::words::shown_path;
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use std::io::{IsTerminal, Write, stderr};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

/// Time between two attempts to reopen a lost port.
const BETWEEN_TRIES: Duration = Duration::from_millis(300);
/// After this long without a row the log is requested again.
const NO_ROW_FOR: Duration = Duration::from_secs(3);
/// The beginning of the log's header.
const HEADER_BEGINS: &str = "time_us,";

/// The result of a recording.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Recorded {
    /// The file, unless it is standard output.
    pub file: Option<PathBuf>,
    /// Rows written.
    pub rows: u64,
    /// Rows that the instrument reports as dropped.
    pub dropped: u64,
    /// How often the port was lost and came back.
    pub reconnections: u32,
}

impl std::fmt::Display for Recorded {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let count = |number: u64, one: &str, many: &str| {
            if number == 1 { format!("1 {one}") } else { format!("{number} {many}") }
        };
        write!(f, "{}", count(self.rows, "row", "rows"))?;
        if self.dropped > 0 {
            write!(f, ", {} dropped by the instrument", self.dropped)?;
        }
        if self.reconnections > 0 {
            write!(f, ", {}", count(self.reconnections.into(), "interruption", "interruptions"))?;
        }
        if let Some(file) = &self.file {
            write!(f, ", in {}", shown_path(file))?;
        }
        Ok(())
    }
}

/// Records the log of the instrument at `path` into `out`, `rate_hz` rows a second, until
/// `interrupted` or for `seconds`.
///
/// # Errors
/// No instrument answers at the beginning, nothing was recorded, or the disk cannot be written;
/// there is then no file.
pub fn record(
    path: &Path,
    out: &Path,
    rate_hz: u8,
    seconds: Option<f64>,
    interrupted: &AtomicBool,
) -> Result<Recorded> {
    let mut port = Port::open(path)?;
    talk::greet(&mut port, interrupted)?;
    let mut file = File::create(out)?;
    let end = seconds.map(|seconds| Instant::now() + Duration::from_secs_f64(seconds));
    let is_over =
        || interrupted.load(Ordering::Relaxed) || end.is_some_and(|end| Instant::now() >= end);
    let log_on = format!("log {rate_hz}");
    let mut open = Some(port);
    let mut asked: Option<Instant> = None;
    while !is_over() {
        let Some(port) = &mut open else {
            open = Port::reopen(path);
            if open.is_none() {
                file.wait_for(path);
                std::thread::sleep(BETWEEN_TRIES);
            }
            continue;
        };
        if asked.is_none_or(|asked| asked.elapsed() > NO_ROW_FOR) {
            // If the port has just been lost, the next read reports it.
            let _ = port.send(&log_on);
            asked = Some(Instant::now());
        }
        match port.hear() {
            Heard::Line(line) => {
                if file.take(&line)? {
                    asked = Some(Instant::now());
                }
            }
            Heard::Nothing => file.flush()?,
            Heard::Gone => {
                open = None;
                asked = None;
                file.port_is_gone();
            }
        }
    }
    if let Some(port) = &open {
        // If the port has just been lost, there is no log to end.
        let _ = port.send("log off");
    }
    file.finish()
}

/// The file and the count of what is in it.
struct File {
    path: PathBuf,
    placed: Placed,
    bar: ProgressBar,
    /// The header, once it has been written.
    header: Option<String>,
    /// Whether the header of the log that is running has been seen; what comes before may be half a
    /// row.
    is_in_step: bool,
    gone: Option<Instant>,
    dropped_column: Option<usize>,
    /// Dropped rows of this log, and of those before it.
    dropped: u64,
    dropped_before: u64,
    rows: u64,
    reconnections: u32,
    flushed: Instant,
    /// For whoever reads along.
    waiting: Waiting,
}

impl File {
    fn create(out: &Path) -> Result<Self> {
        let bar = ProgressBar::with_draw_target(None, ProgressDrawTarget::hidden());
        let style = ProgressStyle::with_template("{spinner} {msg}")
            .unwrap_or_else(|_| ProgressStyle::default_spinner());
        bar.set_style(style);
        if stderr().is_terminal() {
            bar.set_draw_target(ProgressDrawTarget::stderr());
        }
        let (placed, waiting) = (Placed::create(out)?, Waiting::default());
        placed.empty_before(&waiting);
        Ok(Self {
            path: out.to_owned(),
            placed,
            waiting,
            bar,
            header: None,
            is_in_step: false,
            gone: None,
            dropped_column: None,
            dropped: 0,
            dropped_before: 0,
            rows: 0,
            reconnections: 0,
            flushed: Instant::now(),
        })
    }

    /// Takes a line of the port; whether it is a row.
    fn take(&mut self, line: &str) -> Result<bool> {
        if line.starts_with("#!") {
            self.write(line)?;
        } else if line.starts_with(HEADER_BEGINS) {
            self.header(line)?;
        } else if self.is_row(line) {
            self.write(line)?;
            self.rows += 1;
            let dropped =
                self.dropped_column.and_then(|place| line.split(',').nth(place)?.parse().ok());
            self.dropped = dropped.unwrap_or(self.dropped);
            self.show();
            return Ok(true);
        }
        Ok(false)
    }

    fn header(&mut self, line: &str) -> Result<()> {
        self.dropped_before += std::mem::take(&mut self.dropped);
        if let Some(gone) = self.gone.take() {
            self.reconnections += 1;
            self.write(&format!(
                "# the port was gone for about {:.1} s",
                gone.elapsed().as_secs_f64()
            ))?;
        }
        if self.header.as_deref() != Some(line) {
            self.dropped_column = line.split(',').position(|name| name == "dropped");
            self.header = Some(line.to_owned());
            self.write(line)?;
        }
        self.is_in_step = true;
        Ok(())
    }

    /// As many fields as the header, the first a number.
    fn is_row(&self, line: &str) -> bool {
        let fields = |line: &str| line.split(',').count();
        let begins = line.starts_with(|first: char| first.is_ascii_digit());
        self.is_in_step
            && begins
            && self.header.as_deref().is_some_and(|header| fields(header) == fields(line))
    }

    fn port_is_gone(&mut self) {
        self.is_in_step = false;
        if self.header.is_some() {
            self.gone.get_or_insert_with(Instant::now);
        }
    }

    fn wait_for(&self, path: &Path) {
        self.bar.set_message(format!(
            "{} rows; {} is gone, waiting for it; Ctrl-C ends",
            self.rows,
            shown_path(path)
        ));
        self.bar.tick();
    }

    fn show(&self) {
        if self.rows.is_multiple_of(5) {
            self.bar.set_message(format!(
                "{} rows, {} dropped; Ctrl-C ends",
                self.rows,
                self.dropped_before + self.dropped
            ));
            self.bar.tick();
        }
    }

    fn write(&mut self, line: &str) -> Result<()> {
        writeln!(self.placed, "{line}")
            .map_err(|source| Error::io("cannot write", &self.path, source))?;
        self.waiting.begins();
        if self.flushed.elapsed() > Duration::from_secs(1) { self.flush() } else { Ok(()) }
    }

    /// For the user watching.
    fn flush(&mut self) -> Result<()> {
        self.flushed = Instant::now();
        self.placed.flush().map_err(|source| Error::io("cannot write", &self.path, source))
    }

    fn finish(self) -> Result<Recorded> {
        self.bar.finish_and_clear();
        if self.rows == 0 {
            return Err(Error::Refused("no data received; no file was written".into()));
        }
        let (rows, dropped) = (self.rows, self.dropped_before + self.dropped);
        Ok(Recorded {
            file: self.placed.finish()?,
            rows,
            dropped,
            reconnections: self.reconnections,
        })
    }
}
