//! README.txt of the release: what is in it, and the cautions.

use crate::parts::PARTS;
use crate::release::Release;
use anyhow::Result;
use std::fs;

const TEXT: &str = include_str!("../page/readme.txt");

/// Writes it.
///
/// # Errors
/// When the file cannot be written.
pub fn write(release: &Release) -> Result<()> {
    let text = TEXT
        .replace("{version}", &release.version)
        .replace("{platform}", &release.platform)
        .replace("{commit}", &release.commit())
        .replace("{compiler}", &release.compiler)
        .replace("{left out}", &left_out(release));
    Ok(fs::write(release.folder().join("README.txt"), text)?)
}

/// Which of the folders that the text names are not there.
fn left_out(release: &Release) -> String {
    let folders = PARTS.iter().map(|part| part.folder);
    let missing: Vec<&str> =
        folders.filter(|folder| !release.folder().join(folder).is_dir()).collect();
    match missing.as_slice() {
        [] => String::new(),
        _ => format!("\nLeft out of this archive: {}.\n", missing.join(", ")),
    }
}
