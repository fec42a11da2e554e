//! SHA256SUMS, in the form that `sha256sum --check` reads.

use crate::files::name_below;
use anyhow::{Context, Result};
use sha2::{Digest, Sha256};
use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};

/// Name of the file.
pub const NAME: &str = "SHA256SUMS";

/// Writes the digests of `files`, all below `folder`, into its file SHA256SUMS.
///
/// # Errors
/// When a file cannot be read or written.
pub fn write(folder: &Path, files: &[PathBuf]) -> Result<()> {
    let mut lines = String::new();
    for file in files {
        let bytes = fs::read(file).with_context(|| format!("cannot read {}", file.display()))?;
        writeln!(lines, "{}  {}", digest(&bytes), name_below(folder, file)?)?;
    }
    Ok(fs::write(folder.join(NAME), lines)?)
}

/// Removes the files that SHA256SUMS in `folder` names, and then itself; what else is there stays.
///
/// # Errors
/// When one of them cannot be removed.
pub fn forget(folder: &Path) -> Result<()> {
    let sums = folder.join(NAME);
    let Ok(lines) = fs::read_to_string(&sums) else { return Ok(()) };
    // Names alone: no path leads out of the folder.
    let names = lines.lines().filter_map(|line| Path::new(line.get(66..)?).file_name());
    for file in names.map(|name| folder.join(name)).filter(|file| file.is_file()) {
        fs::remove_file(&file).with_context(|| format!("cannot remove {}", file.display()))?;
    }
    fs::remove_file(&sums).with_context(|| format!("cannot remove {}", sums.display()))
}

/// SHA-256 of `bytes` as 64 hexadecimal digits.
pub fn digest(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().fold(String::new(), |mut text, byte| {
        let _ = write!(text, "{byte:02x}");
        text
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_an_earlier_run_made_is_forgotten_and_nothing_else() {
        let folder = std::env::temp_dir().join(format!("xtask-sums-{}", std::process::id()));
        fs::create_dir_all(&folder).unwrap();
        for name in ["made.tar.gz", "mine.txt"] {
            fs::write(folder.join(name), name).unwrap();
        }
        write(&folder, &[folder.join("made.tar.gz")]).unwrap();
        forget(&folder).unwrap();
        forget(&folder).unwrap();
        let left: Vec<_> =
            fs::read_dir(&folder).unwrap().map(|file| file.unwrap().path()).collect();
        assert_eq!(left, [folder.join("mine.txt")]);
        fs::remove_dir_all(&folder).unwrap();
    }

    #[test]
    fn the_digest_of_abc_is_that_of_fips_180_2() {
        let expected = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";
        assert_eq!(digest(b"abc"), expected);
    }
}
