//! The unfinished file beside its place: where the place really is, and with which mode.
//!
//! A link as a place stays a link: what it leads to is replaced. A file that is there already
//! keeps its mode; owner, group and further hard links cannot be kept, because the new file takes
//! the old one's name.

use super::leftover::{PREFIX, SUFFIX};
use std::fs::{self, File, Permissions};
use std::io;
use std::path::{Path, PathBuf};
use tempfile::NamedTempFile;

/// So many links in a row lead in a circle, as Linux counts them.
const MOST_LINKS: usize = 40;

/// An unfinished file, and the name that it will get.
pub(super) struct Beside {
    pub(super) file: NamedTempFile,
    pub(super) name: PathBuf,
}

impl Beside {
    /// Begins the file for `path`.
    ///
    /// # Errors
    /// The folder is not there or cannot be written, the path is a folder, or links lead in a
    /// circle.
    pub(super) fn create(path: &Path) -> io::Result<Self> {
        let name = behind_links(path)?;
        if name.is_dir() {
            return Err(io::Error::from(io::ErrorKind::IsADirectory));
        }
        let before = fs::metadata(&name).ok().map(|found| found.permissions());
        let mut builder = tempfile::Builder::new();
        builder.prefix(PREFIX).suffix(SUFFIX);
        // What the umask leaves of this, as for any new file; a temporary file's own is for the
        // owner alone, and so it stays until it has the mode of the file that it replaces.
        #[cfg(unix)]
        if before.is_none() {
            use std::os::unix::fs::PermissionsExt;
            builder.permissions(Permissions::from_mode(0o666));
        }
        let file = builder.tempfile_in(folder_of(&name))?;
        // Whoever sweeps leftovers sees by this that it is in use. A folder without locks (some
        // networks) is never swept.
        let _ = file.as_file().lock();
        if let Some(permissions) = before {
            keep(file.as_file(), permissions)?;
        }
        Ok(Self { file, name })
    }
}

/// Gives a file the mode of the one that it replaces.
#[cfg(unix)]
fn keep(file: &File, before: Permissions) -> io::Result<()> {
    use std::os::unix::fs::PermissionsExt;
    file.set_permissions(Permissions::from_mode(before.mode() & 0o777))
}

/// Elsewhere the folder decides.
#[cfg(not(unix))]
fn keep(_file: &File, _before: Permissions) -> io::Result<()> {
    Ok(())
}

/// The file that a link leads to, there or not; `path` itself where it is no link.
fn behind_links(path: &Path) -> io::Result<PathBuf> {
    let mut place = path.to_owned();
    for _ in 0..MOST_LINKS {
        let is_link = place.symlink_metadata().is_ok_and(|found| found.is_symlink());
        if !is_link {
            return Ok(place);
        }
        place = folder_of(&place).join(fs::read_link(&place)?);
    }
    Err(io::Error::other("its links lead in a circle"))
}

pub(super) fn folder_of(path: &Path) -> &Path {
    match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    }
}
