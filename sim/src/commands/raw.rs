//! Keys of a terminal as they are pressed.

use chirrup::error::{Error, Result};
use ratatui::crossterm::event::{self, Event, KeyCode, KeyEventKind, KeyModifiers};
use ratatui::crossterm::terminal::{disable_raw_mode, enable_raw_mode};
use std::io;
use std::time::Duration;

/// Keys come as they are pressed as long as it is there; the terminal is restored however it ends.
pub struct Raw;

impl Raw {
    /// Turns it on.
    ///
    /// # Errors
    /// Standard input is no terminal.
    pub fn new() -> Result<Self> {
        enable_raw_mode().map_err(terminal)?;
        Ok(Self)
    }

    /// The key pressed within `wait`, if any.
    ///
    /// # Errors
    /// [`Error::Interrupted`] for Ctrl-C; the terminal cannot be read.
    pub fn key(&self, wait: Duration) -> Result<Option<KeyCode>> {
        if !event::poll(wait).map_err(terminal)? {
            return Ok(None);
        }
        let Event::Key(key) = event::read().map_err(terminal)? else { return Ok(None) };
        if key.kind != KeyEventKind::Press {
            return Ok(None);
        }
        if key.code == KeyCode::Char('c') && key.modifiers.contains(KeyModifiers::CONTROL) {
            return Err(Error::Interrupted);
        }
        Ok(Some(key.code))
    }
}

impl Drop for Raw {
    fn drop(&mut self) {
        // If this fails there is nothing left to do.
        let _ = disable_raw_mode();
    }
}

fn terminal(source: io::Error) -> Error {
    Error::io("cannot use", "the terminal", source)
}
