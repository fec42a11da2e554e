//! Everything that can stop a run, as one line for people and an exit code for programs.

use crate::words::{one_line, shown, shown_path};
use std::fmt;
use std::io;
use std::path::PathBuf;

/// The result of anything that can stop a run.
pub type Result<T> = std::result::Result<T, Error>;

/// What stopped a run.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// The command line or the settings cannot be used; exit code 2.
    #[error("{0}")]
    Usage(String),
    /// A settings file cannot be used; exit code 2.
    #[error("{0}")]
    Settings(String),
    /// The trace cannot be used; exit code 1.
    #[error("{0}")]
    Data(Box<Complaint>),
    /// The trace or an output could not be read or written; exit code 1.
    #[error("{action} {}: {why}", shown_path(path))]
    Io {
        /// What was being done, such as "cannot write".
        action: &'static str,
        /// The file.
        path: PathBuf,
        /// The system's message, in a few words.
        why: String,
    },
    /// Something else prevents the run, such as a WAV that would be too long or no sound device;
    /// exit code 1.
    #[error("{0}")]
    Refused(String),
    /// The user pressed Ctrl-C; exit code 130, as shells expect.
    #[error("stopped; no file was written")]
    Interrupted,
    /// The reader of standard output has closed it; no message, exit code 0.
    #[error("standard output was closed")]
    ReaderGone,
}

impl Error {
    /// An error of the system about a file; a closed pipe becomes [`Error::ReaderGone`].
    pub fn io(action: &'static str, path: impl Into<PathBuf>, source: io::Error) -> Self {
        if source.kind() == io::ErrorKind::BrokenPipe {
            return Error::ReaderGone;
        }
        let path = path.into();
        let lost =
            path.parent().filter(|folder| !folder.as_os_str().is_empty() && !folder.exists());
        if let Some(folder) = lost {
            return Error::Refused(format!(
                "{action} {}: the folder {} is not there; make it first",
                shown_path(&path),
                shown_path(folder)
            ));
        }
        Error::Io { action, path, why: reason(&source) }
    }

    /// 2 for errors of the command line, 1 for errors of data or disk, 0 for a reader that closed
    /// the pipe.
    pub fn exit_code(&self) -> u8 {
        match self {
            Error::Usage(_) | Error::Settings(_) => 2,
            Error::Data(_) | Error::Io { .. } | Error::Refused(_) => 1,
            Error::Interrupted => 130,
            Error::ReaderGone => 0,
        }
    }
}

/// The system's message, without its numbers and without the name of a temporary file.
fn reason(source: &io::Error) -> String {
    match source.kind() {
        io::ErrorKind::NotFound => "there is no such file".into(),
        io::ErrorKind::PermissionDenied => "permission denied".into(),
        io::ErrorKind::IsADirectory => "it is a folder".into(),
        io::ErrorKind::StorageFull => "the disk is full".into(),
        _ => source.to_string(),
    }
}

/// An error in a file: where, what was found, what was expected, what to do.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Complaint {
    /// The file as the user named it; `standard input` for `-`.
    pub file: String,
    /// Line in the file, the first being 1.
    pub line: Option<u64>,
    /// Name of the column, or of the field.
    pub column: Option<String>,
    /// What was found, in a few words.
    pub found: String,
    /// What would have been accepted.
    pub expected: String,
    /// What to do, with the flag that does it.
    pub hint: Option<String>,
}

#[cfg(feature = "program")]
impl From<chirrup_flight::plan::Wrong> for Error {
    fn from(wrong: chirrup_flight::plan::Wrong) -> Self {
        Error::Settings(wrong.to_string())
    }
}

impl From<Complaint> for Error {
    fn from(complaint: Complaint) -> Self {
        Error::Data(Box::new(complaint))
    }
}

impl fmt::Display for Complaint {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", shown(&self.file))?;
        if let Some(line) = self.line {
            write!(f, ":{line}")?;
        }
        if let Some(column) = &self.column {
            write!(f, ": column {}", shown(column))?;
        }
        let (found, expected) = (one_line(&self.found), one_line(&self.expected));
        write!(f, ": found {found}, expected {expected}")?;
        if let Some(hint) = &self.hint {
            write!(f, "; {}", one_line(hint))?;
        }
        Ok(())
    }
}
