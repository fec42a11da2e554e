//! A command and its answer.

use super::port::{Heard, Port};
use crate::error::{Error, Result};
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

/// An answer takes no longer than a save, which erases flash.
const PATIENCE: Duration = Duration::from_secs(5);

/// What the instrument said to a command: the lines of the answer, or why not.
pub type Answer = std::result::Result<Vec<String>, String>;

/// Sends a line and gathers its answer; the log's rows and what happens by itself are passed over.
///
/// # Errors
/// The port went, nobody answered, or Ctrl-C.
pub fn ask(port: &mut Port, line: &str, interrupted: &AtomicBool) -> Result<Answer> {
    port.send(line)?;
    let begun = Instant::now();
    let mut answer = Vec::new();
    while begun.elapsed() < PATIENCE {
        if interrupted.load(Ordering::Relaxed) {
            return Err(Error::Interrupted);
        }
        match port.hear() {
            Heard::Line(said) => match said.strip_prefix("# ") {
                Some("ok") => return Ok(Ok(answer)),
                Some(said) => match said.strip_prefix("error: ") {
                    Some(reason) => return Ok(Err(reason.to_owned())),
                    None => answer.push(said.to_owned()),
                },
                None => {}
            },
            Heard::Nothing => {}
            Heard::Gone => {
                return Err(Error::Refused(format!("{}: the port is gone", port.path().display())));
            }
        }
    }
    let path = port.path().display();
    Err(Error::Refused(format!(
        "{path}: nothing answered \"{line}\" in 5 s; is a Chirrup instrument there?"
    )))
}

/// The same where only an answer will do.
///
/// # Errors
/// As [`ask`], or the instrument's own reason.
pub fn demand(port: &mut Port, line: &str, interrupted: &AtomicBool) -> Result<Vec<String>> {
    ask(port, line, interrupted)?
        .map_err(|reason| Error::Refused(format!("{}: {reason}", port.path().display())))
}

/// Says hello: whatever was typed, half sent or half changed before is forgotten.
///
/// # Errors
/// As [`demand`].
pub fn greet(port: &mut Port, interrupted: &AtomicBool) -> Result<()> {
    // Ends a half line of whoever spoke before; its answer is an error, or none.
    port.send("")?;
    let quiet = Instant::now();
    while quiet.elapsed() < Duration::from_millis(300) && port.hear() != Heard::Gone {}
    let said = demand(port, "version", interrupted)?;
    // Whoever began a change and went away.
    demand(port, "cancel", interrupted)?;
    if said.iter().any(|line| line.starts_with("chirrup ")) {
        return Ok(());
    }
    Err(Error::Refused(format!(
        "{}: what answers there is not a Chirrup instrument",
        port.path().display()
    )))
}
