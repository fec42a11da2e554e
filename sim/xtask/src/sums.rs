//! SHA256SUMS, in the form that `sha256sum --check` reads.

use crate::files::name_below;
use anyhow::{Context, Result};
use sha2::{Digest, Sha256};
use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};

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
    Ok(fs::write(folder.join("SHA256SUMS"), lines)?)
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
    #[test]
    fn the_digest_of_abc_is_that_of_fips_180_2() {
        let expected = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";
        assert_eq!(super::digest(b"abc"), expected);
    }
}
