//! Files that appear only when complete: written in the same folder under another name, then
//! renamed.
//!
//! ```text
//! Placed --seal: all of it is on the disk--> Sealed --place: renamed--> there
//! ```
//!
//! Several files that belong together are all sealed before the first is placed, so that a full
//! disk leaves the old ones, all of them.
//!
//! `-` is standard output. An existing path that is not a regular file (a device, a pipe) is
//! written to directly, never replaced.

use super::beside::{Beside, folder_of};
use super::leftover::sweep;
use super::stream::Stream;
use crate::error::{Error, Result};
use crate::waiting::Waiting;
use std::fs::{File, OpenOptions};
use std::io::{self, BufWriter, Seek, Write};
use std::path::{Path, PathBuf};
use tempfile::NamedTempFile;

/// Large pieces, because the sound of a long flight is a gigabyte.
const BUFFER: usize = 1 << 18;

/// A file on its way to its place; dropped unfinished, it leaves nothing. (Killed, the program
/// leaves the unfinished one, named `.chirrup-*.part`, which the next run that writes into the
/// folder removes.)
pub struct Placed {
    path: PathBuf,
    target: Target,
}

enum Target {
    /// A temporary file beside the place, and the name that it will get.
    Beside(BufWriter<NamedTempFile>, PathBuf),
    /// Standard output or something that cannot be renamed over, and no need to go back in it.
    Stream(Stream),
    /// The same, for a writer that must go back: kept in a temporary file and copied at the end.
    Spooled(BufWriter<File>, Box<dyn Write>),
}

impl Placed {
    /// A file that is written from front to back.
    ///
    /// # Errors
    /// When the folder of `path` is not there or cannot be written.
    pub fn create(path: &Path) -> Result<Self> {
        Self::open(path, |stream| Ok(Target::Stream(Stream::new(BUFFER, stream))))
    }

    /// A file whose beginning is written again at the end, such as a WAV.
    ///
    /// # Errors
    /// As [`Placed::create`], or when there is no room for temporary files.
    pub fn create_seekable(path: &Path) -> Result<Self> {
        Self::open(path, |stream| {
            Ok(Target::Spooled(BufWriter::with_capacity(BUFFER, tempfile::tempfile()?), stream))
        })
    }

    fn open(
        path: &Path,
        special: impl FnOnce(Box<dyn Write>) -> io::Result<Target>,
    ) -> Result<Self> {
        let target = match special_file(path) {
            Some(stream) => stream.and_then(special),
            None => beside(path),
        };
        match target {
            Ok(target) => Ok(Self { path: path.to_owned(), target }),
            Err(source) => Err(Error::io("cannot write", path, source)),
        }
    }

    /// Completes the file and brings it to the disk, under its own name not yet; a stream has then
    /// been written.
    ///
    /// # Errors
    /// When the disk is full; nothing new is then under its name.
    pub fn seal(self) -> Result<Sealed> {
        let Self { path, target } = self;
        let sealed = match target {
            Target::Beside(buffer, name) => synced(buffer).map(|file| Some(Beside { file, name })),
            Target::Stream(mut stream) => stream.flush().map(|()| None),
            Target::Spooled(buffer, mut stream) => copy(buffer, &mut stream).map(|()| None),
        };
        match sealed {
            Ok(file) => Ok(Sealed { path, file }),
            Err(source) => Err(Error::io("cannot write", &path, source)),
        }
    }

    /// Writes `bytes` and completes the file as [`Placed::seal`] does.
    ///
    /// # Errors
    /// When the disk is full; nothing new is then under its name.
    pub fn seal_with(mut self, bytes: &[u8]) -> Result<Sealed> {
        let written = self.write_all(bytes);
        written.map_err(|source| Error::io("cannot write", &self.path, source))?;
        self.seal()
    }

    /// Completes the file, puts it in place and returns its path, unless it is standard output.
    ///
    /// # Errors
    /// When the disk is full or the file cannot be renamed; nothing new is then under its name.
    pub fn finish(self) -> Result<Option<PathBuf>> {
        self.seal()?.place()
    }

    /// Brings out what a stream has been given whenever `waiting` begins; of a file, which has no
    /// name yet, nobody can read.
    pub fn empty_before(&self, waiting: &Waiting) {
        if let Target::Stream(stream) = &self.target {
            stream.empty_before(waiting);
        }
    }

    /// The file as the user named it.
    pub fn path(&self) -> &Path {
        &self.path
    }
}

/// A file that is complete and on the disk, but not yet under its name; dropped, it leaves nothing.
#[must_use = "dropped, it leaves nothing"]
pub struct Sealed {
    path: PathBuf,
    /// `None` for what was a stream.
    file: Option<Beside>,
}

impl Sealed {
    /// Puts the file in place and returns its path, unless it is standard output.
    ///
    /// # Errors
    /// When the file cannot be renamed; the old file is then still there.
    pub fn place(self) -> Result<Option<PathBuf>> {
        let Self { path, file } = self;
        if let Some(Beside { file, name }) = file {
            file.persist(&name)
                .map_err(|failure| Error::io("cannot write", &path, failure.error))?;
        }
        Ok((path != Path::new("-")).then_some(path))
    }
}

/// Writes a text file, complete or not at all.
///
/// # Errors
/// As [`Placed::create`], or when the disk is full.
pub fn write_text(path: &Path, text: &str) -> Result<()> {
    Placed::create(path)?.seal_with(text.as_bytes())?.place()?;
    Ok(())
}

/// Puts files that belong together in their places, now that all of them are on the disk.
///
/// # Errors
/// The first that cannot be renamed; those before it are in their places, the others are not.
pub fn place_all(sealed: Vec<Sealed>) -> Result<Vec<PathBuf>> {
    sealed.into_iter().filter_map(|file| file.place().transpose()).collect()
}

impl Write for Placed {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        match &mut self.target {
            Target::Beside(file, _) => file.write(bytes),
            Target::Stream(stream) => stream.write(bytes),
            Target::Spooled(file, _) => file.write(bytes),
        }
    }

    fn flush(&mut self) -> io::Result<()> {
        match &mut self.target {
            Target::Beside(file, _) => file.flush(),
            Target::Stream(stream) => stream.flush(),
            Target::Spooled(file, _) => file.flush(),
        }
    }
}

impl Seek for Placed {
    fn seek(&mut self, position: io::SeekFrom) -> io::Result<u64> {
        match &mut self.target {
            Target::Beside(file, _) => file.seek(position),
            Target::Spooled(file, _) => file.seek(position),
            Target::Stream(_) => Err(io::Error::from(io::ErrorKind::NotSeekable)),
        }
    }
}

/// Standard output, or a device or pipe that is there already.
fn special_file(path: &Path) -> Option<io::Result<Box<dyn Write>>> {
    if path == Path::new("-") {
        return Some(Ok(Box::new(io::stdout())));
    }
    let is_special = path.metadata().is_ok_and(|found| !found.is_file() && !found.is_dir());
    is_special.then(|| {
        OpenOptions::new().write(true).open(path).map(|file| Box::new(file) as Box<dyn Write>)
    })
}

fn beside(path: &Path) -> io::Result<Target> {
    let Beside { file, name } = Beside::create(path)?;
    sweep(folder_of(&name));
    Ok(Target::Beside(BufWriter::with_capacity(BUFFER, file), name))
}

fn synced(buffer: BufWriter<NamedTempFile>) -> io::Result<NamedTempFile> {
    let file = buffer.into_inner().map_err(io::IntoInnerError::into_error)?;
    // A full disk may be reported only now, and must be before the file gets its name.
    file.as_file().sync_data()?;
    Ok(file)
}

fn copy(buffer: BufWriter<File>, stream: &mut impl Write) -> io::Result<()> {
    let mut file = buffer.into_inner().map_err(io::IntoInnerError::into_error)?;
    file.rewind()?;
    io::copy(&mut file, stream)?;
    stream.flush()
}
