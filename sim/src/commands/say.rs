//! Printing the output of a command.

use chirrup::error::{Error, Result};
use chirrup::words::{printed, printed_json};
use serde::Serialize;
use std::io::{Write, stderr, stdout};

/// Prints `text` on standard output.
///
/// # Errors
/// Standard output cannot be written.
pub fn say(text: &str) -> Result<()> {
    let mut out = stdout().lock();
    out.write_all(printed(text).as_bytes())
        .and_then(|()| out.flush())
        .map_err(|source| Error::io("cannot write", "standard output", source))
}

/// Prints `text` on standard output, or on standard error where an output file was sent to standard
/// output.
///
/// # Errors
/// It cannot be written.
pub fn say_beside(text: &str, output_is_taken: bool) -> Result<()> {
    if output_is_taken {
        stderr()
            .write_all(printed(text).as_bytes())
            .map_err(|source| Error::io("cannot write", "standard error", source))
    } else {
        say(text)
    }
}

/// Prints `result` as JSON on standard output.
///
/// # Errors
/// It cannot be written.
pub fn say_json(result: &(impl Serialize + ?Sized)) -> Result<()> {
    let text =
        serde_json::to_string_pretty(result).map_err(|error| Error::Refused(error.to_string()))?;
    say(&(printed_json(&text).into_owned() + "\n"))
}
