//! Folders and files, in an order that does not depend on the disk.

use anyhow::{Context, Result};
use std::fs;
use std::path::{Path, PathBuf};

/// A folder that is there and empty.
///
/// # Errors
/// When what was in it cannot be removed.
pub fn emptied(folder: &Path) -> Result<()> {
    if folder.exists() {
        fs::remove_dir_all(folder).with_context(|| format!("cannot empty {}", folder.display()))?;
    }
    made(folder)
}

/// A folder that is there.
///
/// # Errors
/// When it cannot be made.
pub fn made(folder: &Path) -> Result<()> {
    fs::create_dir_all(folder).with_context(|| format!("cannot make {}", folder.display()))
}

/// Every file below a folder, sorted by path; none if there is no such folder.
///
/// # Errors
/// When a folder cannot be read.
pub fn below(folder: &Path) -> Result<Vec<PathBuf>> {
    let (mut found, mut folders) = (Vec::new(), vec![folder.to_owned()]);
    while let Some(folder) = folders.pop().filter(|folder| folder.is_dir()) {
        for entry in fs::read_dir(&folder)? {
            let path = entry?.path();
            if path.is_dir() { folders.push(path) } else { found.push(path) }
        }
    }
    found.sort();
    Ok(found)
}

/// Copies `from` to `to`, with the folders that are missing.
///
/// # Errors
/// When it cannot.
pub fn copied(from: &Path, to: &Path) -> Result<()> {
    made(to.parent().context("a file is in a folder")?)?;
    fs::copy(from, to)
        .with_context(|| format!("cannot copy {} to {}", from.display(), to.display()))?;
    Ok(())
}

/// The path of `file` below `folder`, with slashes on every system.
///
/// # Errors
/// When it is elsewhere.
pub fn name_below(folder: &Path, file: &Path) -> Result<String> {
    let parts = file.strip_prefix(folder)?.components();
    let words: Vec<_> = parts.map(|part| part.as_os_str().to_string_lossy()).collect();
    Ok(words.join("/"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn files_are_found_in_the_order_of_their_paths_with_slashes() {
        let folder = std::env::temp_dir().join(format!("xtask-files-{}", std::process::id()));
        emptied(&folder).unwrap();
        for name in ["b/c", "b/a", "a", "b/d/e"] {
            made(folder.join(name).parent().unwrap()).unwrap();
            fs::write(folder.join(name), name).unwrap();
        }
        let found = below(&folder).unwrap();
        let names: Vec<_> = found.iter().map(|file| name_below(&folder, file).unwrap()).collect();
        assert_eq!(names, ["a", "b/a", "b/c", "b/d/e"]);
        assert!(below(&folder.join("nothing")).unwrap().is_empty());
        fs::remove_dir_all(&folder).unwrap();
    }
}
