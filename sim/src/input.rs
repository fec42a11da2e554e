//! Where a trace comes from: a file, standard input, or the trace inside this program.

use crate::error::{Error, Result};
use crate::waiting::Waiting;
use crate::words::{shown, shown_path};
use std::cell::Cell;
use std::fs::File;
use std::io::{self, BufRead, BufReader, Cursor, Read};
use std::path::{Path, PathBuf};
use std::rc::Rc;

const BUFFER: usize = 1 << 17;

/// Where a trace comes from.
#[derive(Clone, Debug)]
pub enum Input {
    /// A file that can be read again.
    File(PathBuf),
    /// Standard input, which cannot, or any other stream.
    Stream(Option<PathBuf>),
    /// A trace that is part of the program.
    Embedded {
        /// Name for messages.
        name: &'static str,
        /// The text of the trace.
        text: &'static str,
    },
}

/// A trace that has been opened.
pub struct Opened {
    /// The bytes.
    pub reader: Box<dyn BufRead>,
    /// How many there will be, where that is known.
    pub length: Option<u64>,
    /// How many have been read.
    pub read: Rc<Cell<u64>>,
    /// What is done before the next piece of a stream is waited for; a file is never waited for.
    pub waiting: Waiting,
}

impl Input {
    /// A trace that the caller has open already: only a name for messages.
    pub fn held(name: &'static str) -> Self {
        Input::Embedded { name, text: "" }
    }

    /// The trace the user named; `-` is standard input.
    pub fn new(path: &Path) -> Self {
        if path == Path::new("-") {
            Input::Stream(None)
        } else if path.metadata().is_ok_and(|found| !found.is_file() && !found.is_dir()) {
            Input::Stream(Some(path.to_owned()))
        } else {
            Input::File(path.to_owned())
        }
    }

    /// What to call it in messages; what is not seen in a file's name is written out.
    pub fn name(&self) -> String {
        match self {
            Input::File(path) | Input::Stream(Some(path)) => shown_path(path),
            Input::Stream(None) => "standard input".into(),
            Input::Embedded { name, .. } => (*name).into(),
        }
    }

    /// What to call it in a heading: the file without its folder.
    pub fn title(&self) -> String {
        match self {
            Input::File(path) => {
                path.file_name().map_or_else(|| self.name(), |name| shown(&name.to_string_lossy()))
            }
            _ => self.name(),
        }
    }

    /// Whether it can be opened twice.
    pub fn can_be_read_again(&self) -> bool {
        !matches!(self, Input::Stream(_))
    }

    /// The same, where it can be opened twice.
    ///
    /// # Errors
    /// For a stream, which cannot.
    pub fn to_be_read_twice(self) -> Result<Self> {
        if self.can_be_read_again() {
            return Ok(self);
        }
        Err(Error::Usage(format!("{} is read twice and must be a file, not a stream", self.name())))
    }

    /// Opens it.
    ///
    /// # Errors
    /// When there is no such file or it cannot be read.
    pub fn open(&self) -> Result<Opened> {
        let read = Rc::new(Cell::new(0));
        let (source, length): (Box<dyn Read>, Option<u64>) = match self {
            Input::File(path) => {
                let (file, length) = open_file(path)?;
                (Box::new(file), Some(length))
            }
            Input::Stream(None) => (Box::new(io::stdin()), None),
            Input::Stream(Some(path)) => (Box::new(open_file(path)?.0), None),
            Input::Embedded { text, .. } => (Box::new(Cursor::new(*text)), Some(text.len() as u64)),
        };
        let waiting = Waiting::default();
        let waits = matches!(self, Input::Stream(_)).then(|| waiting.clone());
        let counted = Counted { source, read: Rc::clone(&read), waits };
        let reader = Box::new(BufReader::with_capacity(BUFFER, counted));
        Ok(Opened { reader, length, read, waiting })
    }
}

/// The traces the user named, as inputs that can be read again.
///
/// # Errors
/// The first that cannot.
pub fn files(traces: &[PathBuf]) -> Result<Vec<Input>> {
    traces.iter().map(|path| Input::new(path).to_be_read_twice()).collect()
}

fn open_file(path: &Path) -> Result<(File, u64)> {
    let opened = File::open(path).and_then(|file| {
        let found = file.metadata()?;
        if found.is_dir() {
            Err(io::Error::from(io::ErrorKind::IsADirectory))
        } else {
            Ok((file, found.len()))
        }
    });
    opened.map_err(|source| Error::io("cannot read", path, source))
}

struct Counted {
    source: Box<dyn Read>,
    read: Rc<Cell<u64>>,
    waits: Option<Waiting>,
}

impl Read for Counted {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        self.waits.iter().for_each(Waiting::begins);
        let count = self.source.read(buffer)?;
        self.read.set(self.read.get() + count as u64);
        Ok(count)
    }
}
