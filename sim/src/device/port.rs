//! A serial port as lines: raw, 115200 baud where it matters, and never waiting longer than a
//! moment.

use crate::error::{Error, Result};
use crate::words::shown_path;
use serial2::SerialPort;
use std::io;
use std::path::{Path, PathBuf};
use std::time::Duration;

/// The rate of the instrument's UART; USB has none.
const BAUD: u32 = 115_200;
/// Longest wait for a byte, so that Ctrl-C is seen.
const MOMENT: Duration = Duration::from_millis(100);
/// Longest line accepted: the instrument's are a tenth of it.
const LONGEST_LINE: usize = 4_096;

/// The result of a short wait.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Heard {
    /// A whole line, without its end.
    Line(String),
    /// Nothing yet.
    Nothing,
    /// The port is gone: unplugged, or switched off.
    Gone,
}

/// An open port.
pub struct Port {
    path: PathBuf,
    serial: SerialPort,
    /// Bytes after the last whole line.
    rest: Vec<u8>,
    lines: std::collections::VecDeque<String>,
}

impl Port {
    /// Opens a port.
    ///
    /// # Errors
    /// What prevents it, and which ports there are.
    pub fn open(path: &Path) -> Result<Self> {
        Self::try_open(path).map_err(|source| Error::Refused(cannot_open(path, &source)))
    }

    /// Reopens a port that was lost.
    pub fn reopen(path: &Path) -> Option<Self> {
        Self::try_open(path).ok()
    }

    fn try_open(path: &Path) -> io::Result<Self> {
        let raw = |mut settings: serial2::Settings| {
            settings.set_raw();
            settings.set_baud_rate(BAUD)?;
            Ok(settings)
        };
        let mut serial = SerialPort::open(path, raw)?;
        serial.set_read_timeout(MOMENT)?;
        serial.set_write_timeout(Duration::from_secs(2))?;
        Ok(Self { path: path.to_owned(), serial, rest: Vec::new(), lines: Default::default() })
    }

    /// The port as the user named it.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Sends a line.
    ///
    /// # Errors
    /// The port is gone.
    pub fn send(&self, line: &str) -> Result<()> {
        let text = format!("{line}\n");
        self.serial
            .write_all(text.as_bytes())
            .map_err(|source| Error::io("cannot write to", &self.path, source))
    }

    /// The next line, or `Nothing` if none came in time.
    pub fn hear(&mut self) -> Heard {
        if let Some(line) = self.lines.pop_front() {
            return Heard::Line(line);
        }
        let mut buffer = [0; 1_024];
        match self.serial.read(&mut buffer) {
            Ok(0) => Heard::Gone,
            Ok(length) => {
                self.take(&buffer[..length]);
                self.lines.pop_front().map_or(Heard::Nothing, Heard::Line)
            }
            Err(error)
                if matches!(error.kind(), io::ErrorKind::TimedOut | io::ErrorKind::Interrupted) =>
            {
                Heard::Nothing
            }
            Err(_) => Heard::Gone,
        }
    }

    fn take(&mut self, bytes: &[u8]) {
        for byte in bytes {
            match byte {
                b'\n' => {
                    let line = std::mem::take(&mut self.rest);
                    let line = line.strip_suffix(b"\r").unwrap_or(&line);
                    self.lines.push_back(String::from_utf8_lossy(line).into_owned());
                }
                // A line without an end does not come from an instrument.
                _ if self.rest.len() >= LONGEST_LINE => {}
                byte => self.rest.push(*byte),
            }
        }
    }
}

fn cannot_open(path: &Path, source: &io::Error) -> String {
    let path = shown_path(path);
    let why = match source.kind() {
        io::ErrorKind::NotFound => "there is no such port".to_owned(),
        io::ErrorKind::PermissionDenied if cfg!(target_os = "linux") => {
            "permission denied; on Linux join the group of the port, often dialout".to_owned()
        }
        io::ErrorKind::PermissionDenied => {
            "permission denied; is another program using it?".to_owned()
        }
        // Not a terminal, as Linux and macOS number it.
        _ if cfg!(unix) && source.raw_os_error() == Some(25) => {
            "it is not a serial port".to_owned()
        }
        _ => source.to_string(),
    };
    let ports = SerialPort::available_ports().unwrap_or_default();
    let ports: Vec<String> = ports.iter().map(|port| shown_path(port)).collect();
    let there = if ports.is_empty() {
        "no serial port is here".to_owned()
    } else {
        format!("here are {}", ports.join(", "))
    };
    format!("cannot open {path}: {why}; {there}")
}
