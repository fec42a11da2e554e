//! The instrument's UTC, with which a recorded flight gets its date.

use super::port::Port;
use super::talk;
use crate::error::{Error, Result};
use crate::trace::name_of_day;
use std::path::Path;
use std::sync::atomic::AtomicBool;
use std::time::{Duration, SystemTime};

/// What the instrument at `path` takes for UTC.
///
/// # Errors
/// No instrument answers, or it does not know.
pub fn show(path: &Path, interrupted: &AtomicBool) -> Result<String> {
    let mut port = Port::open(path)?;
    talk::greet(&mut port, interrupted)?;
    Ok(talk::demand(&mut port, "clock", interrupted)?.join("\n"))
}

/// Gives the instrument at `path` this computer's UTC, at the beginning of a second; gives what was
/// set.
///
/// # Errors
/// No instrument answers, or this computer's clock is far off.
pub fn set(path: &Path, interrupted: &AtomicBool) -> Result<String> {
    let mut port = Port::open(path)?;
    talk::greet(&mut port, interrupted)?;
    let now = SystemTime::now().duration_since(SystemTime::UNIX_EPOCH).unwrap_or_default();
    let second = now.as_secs() + 1;
    std::thread::sleep(Duration::from_secs(second).saturating_sub(now));
    let utc = text(second)
        .ok_or_else(|| Error::Refused("this computer's clock is far off; set it first".into()))?;
    talk::demand(&mut port, &format!("clock {utc}"), interrupted)?;
    Ok(utc)
}

/// Seconds after 1970-01-01 UTC as the instrument reads them.
fn text(seconds: u64) -> Option<String> {
    let day = name_of_day(i64::try_from(seconds).ok()?.checked_mul(1_000_000)?)?;
    let (hour, minute, second) = (seconds / 3_600 % 24, seconds / 60 % 60, seconds % 60);
    Some(format!("{day}T{hour:02}:{minute:02}:{second:02}Z"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_moment_is_written_as_the_instrument_reads_it() {
        // From `date -u -d @1777630830`.
        assert_eq!(text(1_777_630_830).as_deref(), Some("2026-05-01T10:20:30Z"));
        assert_eq!(text(u64::MAX), None);
    }
}
