//! The instrument's self-test: a report for people, an exit code for programs.

use super::port::Port;
use super::talk;
use crate::error::{Error, Result};
use crate::words::shown_path;
use std::path::Path;
use std::sync::atomic::AtomicBool;
use std::time::{Duration, Instant};

/// The instrument needs eleven seconds from its start.
const PATIENCE: Duration = Duration::from_secs(15);

/// The report of the instrument at `path`, and its verdict; waits until the instrument has one.
///
/// # Errors
/// No instrument answers.
pub fn report(path: &Path, interrupted: &AtomicBool) -> Result<(String, Result<()>)> {
    let mut port = Port::open(path)?;
    talk::greet(&mut port, interrupted)?;
    let lines = lines(&mut port, interrupted)?;
    let result = result(&lines);
    let verdict = if result == "passed" {
        Ok(())
    } else {
        Err(Error::Refused(format!("{}: the self-test {result}", shown_path(path))))
    };
    Ok((lines.join("\n") + "\n", verdict))
}

/// The lines of the report once the instrument has a verdict, or as they are after a while.
///
/// # Errors
/// As [`talk::demand`].
pub fn lines(port: &mut Port, interrupted: &AtomicBool) -> Result<Vec<String>> {
    let begun = Instant::now();
    loop {
        let lines = talk::demand(port, "selftest", interrupted)?;
        if !result(&lines).starts_with("not yet") || begun.elapsed() > PATIENCE {
            return Ok(lines);
        }
        std::thread::sleep(Duration::from_millis(300));
    }
}

/// `passed`, `failed: ..` or `not yet: ..`.
pub fn result(lines: &[String]) -> &str {
    lines.iter().find_map(|line| line.strip_prefix("result: ")).unwrap_or("missing")
}
