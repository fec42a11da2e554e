//! The archive: a tar file in gzip whose bytes depend on names and contents alone.

use crate::files::{below, name_below};
use anyhow::{Context, Result};
use flate2::{Compression, GzBuilder};
use std::fs::{self, File};
use std::io::{BufWriter, Write};
use std::path::Path;
use tar::{Builder, EntryType, Header};

/// Writes all files below `folder` into `archive`, in a folder `name`: sorted, owned by root, all
/// from the time `epoch_s` (seconds since 1970). What is in `bin` may be run.
///
/// # Errors
/// When a file cannot be read or written.
pub fn write(folder: &Path, name: &str, epoch_s: u64, archive: &Path) -> Result<()> {
    let file =
        File::create(archive).with_context(|| format!("cannot write {}", archive.display()))?;
    // Without a time and the same system in its header everywhere.
    let gzip = GzBuilder::new().mtime(0).operating_system(255);
    let mut tar = Builder::new(gzip.write(BufWriter::new(file), Compression::best()));
    for path in below(folder)? {
        let inside = name_below(folder, &path)?;
        let bytes = fs::read(&path)?;
        let mode = if inside.starts_with("bin/") { 0o755 } else { 0o644 };
        let mut header = header(bytes.len() as u64, mode, epoch_s);
        tar.append_data(&mut header, format!("{name}/{inside}"), bytes.as_slice())?;
    }
    Ok(tar.into_inner()?.finish()?.flush()?)
}

fn header(size: u64, mode: u32, epoch_s: u64) -> Header {
    let mut header = Header::new_gnu();
    header.set_entry_type(EntryType::Regular);
    header.set_size(size);
    header.set_mode(mode);
    header.set_mtime(epoch_s);
    header.set_uid(0);
    header.set_gid(0);
    header
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::{emptied, made};

    /// The bytes of an archive of two files that are written in the order `names`.
    fn packed(names: [&str; 2]) -> Vec<u8> {
        let place = std::env::temp_dir().join(format!("xtask-tar-{}", std::process::id()));
        emptied(&place).unwrap();
        let folder = place.join(names.concat().replace('/', "-"));
        for name in names {
            made(folder.join(name).parent().unwrap()).unwrap();
            fs::write(folder.join(name), name).unwrap();
        }
        write(&folder, "n", 1_700_000_000, &place.join("n.tar.gz")).unwrap();
        fs::read(place.join("n.tar.gz")).unwrap()
    }

    #[test]
    fn the_same_files_give_the_same_bytes_whatever_order_they_were_written_in() {
        let bytes = packed(["bin/b", "a"]);
        assert_eq!(bytes, packed(["a", "bin/b"]));
        let mut tar = tar::Archive::new(flate2::read::GzDecoder::new(bytes.as_slice()));
        let seen: Vec<_> = tar
            .entries()
            .unwrap()
            .map(|entry| {
                let entry = entry.unwrap();
                let header = entry.header();
                let path = entry.path().unwrap().to_string_lossy().into_owned();
                (path, header.mode().unwrap(), header.mtime().unwrap(), header.uid().unwrap())
            })
            .collect();
        let expected = |path: &str, mode| (path.to_owned(), mode, 1_700_000_000, 0);
        assert_eq!(seen, [expected("n/a", 0o644), expected("n/bin/b", 0o755)]);
    }
}
