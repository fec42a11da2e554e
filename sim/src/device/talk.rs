//! A command and its answer.

use super::port::{Heard, Port};
use crate::error::{Error, Result};
use crate::words::shown_path;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

/// Longest wait for the next line of an answer: that of a save, which erases flash.
const PATIENCE: Duration = Duration::from_secs(5);

/// The answer to a command: its lines, or the instrument's error.
pub type Answer = std::result::Result<Vec<String>, String>;

/// Sends a line and collects its answer; rows of the log and the instrument's own messages are
/// skipped.
///
/// # Errors
/// The port was lost, no answer came, or Ctrl-C.
pub fn ask(port: &mut Port, line: &str, interrupted: &AtomicBool) -> Result<Answer> {
    port.send(line)?;
    let mut heard = Instant::now();
    let mut answer = Vec::new();
    while heard.elapsed() < PATIENCE {
        if interrupted.load(Ordering::Relaxed) {
            return Err(Error::Interrupted);
        }
        match port.hear() {
            Heard::Line(said) => match said.strip_prefix("# ") {
                Some("ok") => return Ok(Ok(answer)),
                Some(said) => match said.strip_prefix("error: ") {
                    Some(reason) => return Ok(Err(reason.to_owned())),
                    None => {
                        answer.push(said.to_owned());
                        // A long list comes slowly.
                        heard = Instant::now();
                    }
                },
                None => {}
            },
            Heard::Nothing => {}
            Heard::Gone => {
                return Err(Error::Refused(format!(
                    "{}: the port is gone",
                    shown_path(port.path())
                )));
            }
        }
    }
    let path = shown_path(port.path());
    Err(Error::Refused(format!(
        "{path}: nothing answered \"{line}\" in 5 s; is a Chirrup instrument there?"
    )))
}

/// The same where an error of the instrument is an error too.
///
/// # Errors
/// As [`ask`], or the instrument's own reason.
pub fn demand(port: &mut Port, line: &str, interrupted: &AtomicBool) -> Result<Vec<String>> {
    ask(port, line, interrupted)?
        .map_err(|reason| Error::Refused(format!("{}: {reason}", shown_path(port.path()))))
}

/// Starts the conversation: discards anything half typed, half sent or half changed before.
///
/// # Errors
/// As [`demand`].
pub fn greet(port: &mut Port, interrupted: &AtomicBool) -> Result<()> {
    // Ends a half-typed line of an earlier user; its answer is an error, or none.
    port.send("")?;
    let quiet = Instant::now();
    while quiet.elapsed() < Duration::from_millis(300) && port.hear() != Heard::Gone {}
    // Where an earlier user left in the middle of a flight, this ends it and is answered with that.
    let said = match ask(port, "version", interrupted)? {
        Ok(said) => said,
        Err(_) => demand(port, "version", interrupted)?,
    };
    // Cancels a change that an earlier user left unfinished.
    demand(port, "cancel", interrupted)?;
    if said.iter().any(|line| line.starts_with("chirrup ")) {
        return Ok(());
    }
    Err(Error::Refused(format!(
        "{}: what answers there is not a Chirrup instrument",
        shown_path(port.path())
    )))
}
