//! The licences of everything that the release is built from, in one file: a table of the crates,
//! then each text once. Crates whose package has no licence file are named at the top.

use crate::crates::{self, key};
use crate::files::{below, made};
use crate::release::Release;
use anyhow::Result;
use cargo_metadata::Package;
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};

/// How the names of files with licences begin, in capitals.
const BEGINNINGS: [&str; 6] = ["LICENSE", "LICENCE", "COPYING", "COPYRIGHT", "NOTICE", "UNLICENSE"];

/// A crate and the texts that came with it.
struct Entry {
    name: String,
    version: String,
    licence: String,
    texts: Vec<String>,
}

/// Writes `licences/libraries.txt`.
///
/// # Errors
/// When cargo cannot list the crates, or a file cannot be read.
pub fn make(release: &Release) -> Result<()> {
    let mut found: BTreeMap<(String, String), Entry> = BTreeMap::new();
    for built in crates::in_release(release) {
        for package in crates::of(release, built)?.packages.into_values() {
            // Our own crates have no source: their licences are at the top of the release.
            if package.source.is_some() {
                found.insert(key(&package), entry(&package)?);
            }
        }
    }
    let folder = release.folder().join("licences");
    made(&folder)?;
    let entries: Vec<Entry> = found.into_values().collect();
    Ok(fs::write(folder.join("libraries.txt"), text(&entries))?)
}

fn entry(package: &Package) -> Result<Entry> {
    let folder = package.manifest_path.parent().map(|path| path.as_std_path().to_owned());
    let licence = package.license.clone();
    let texts = folder.map_or(Ok(Vec::new()), |folder| licence_texts(&folder))?;
    Ok(Entry {
        name: package.name.to_string(),
        version: package.version.to_string(),
        licence: licence.unwrap_or_else(|| "see its file".to_owned()),
        texts,
    })
}

/// The texts of the files with licences anywhere in a package: that of a font lies beside the font.
fn licence_texts(folder: &Path) -> Result<Vec<String>> {
    let is_one = |path: &PathBuf| {
        let name = path.file_name().map(|name| name.to_string_lossy().to_uppercase());
        let code = path.extension().is_some_and(|ending| ending == "rs");
        !code && name.is_some_and(|name| BEGINNINGS.iter().any(|start| name.starts_with(start)))
    };
    let files = below(folder)?.into_iter().filter(is_one);
    files.map(|file| Ok(plain(&String::from_utf8_lossy(&fs::read(file)?)))).collect()
}

/// Without what differs between editors, so that equal texts are equal.
fn plain(text: &str) -> String {
    let text = text.trim_start_matches('\u{feff}').replace("\r\n", "\n");
    let lines: Vec<&str> = text.lines().map(str::trim_end).collect();
    lines.join("\n").trim().to_owned()
}

/// The whole file.
fn text(entries: &[Entry]) -> String {
    let texts: BTreeSet<&str> =
        entries.iter().flat_map(|entry| entry.texts.iter().map(String::as_str)).collect();
    let number_of: BTreeMap<&str, usize> = texts.into_iter().zip(1..).collect();
    let mut out = String::from(
        "Licences of the libraries in this release. Chirrup itself is under MIT or Apache-2.0, at\n\
         your choice: LICENSE-MIT, LICENSE-APACHE. Rust's own library, which every program here\n\
         contains, is under the same two licences.\n\n",
    );
    out += &without_file(entries);
    let _ = writeln!(out, "crate, version, licence, texts below\n");
    for Entry { name, version, licence, texts } in entries {
        let mut numbers: Vec<usize> = texts.iter().map(|text| number_of[text.as_str()]).collect();
        numbers.sort_unstable();
        numbers.dedup();
        let numbers: Vec<String> = numbers.iter().map(|number| format!("[{number}]")).collect();
        let numbers = if numbers.is_empty() { "no file".into() } else { numbers.join(" ") };
        let _ = writeln!(out, "{:<44} {licence:<46} {numbers}", format!("{name} {version}"));
    }
    for (text, number) in number_of {
        let _ = write!(out, "\n\n{:=<100}\n[{number}]\n\n{text}\n", "");
    }
    out
}

/// The crates whose package has no licence file: their manifest names the licence all the same.
fn without_file(entries: &[Entry]) -> String {
    let missing: Vec<String> = entries
        .iter()
        .filter(|entry| entry.texts.is_empty())
        .map(|entry| format!("  {} {}: {}\n", entry.name, entry.version, entry.licence))
        .collect();
    match missing.len() {
        0 => String::from("Every package has a licence file.\n\n"),
        count => format!(
            "{count} of {} packages have no licence file; their manifests name the licence:\n{}\n",
            entries.len(),
            missing.concat()
        ),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn entry(name: &str, texts: &[&str]) -> Entry {
        Entry {
            name: name.into(),
            version: "1.0.0".into(),
            licence: "MIT".into(),
            texts: texts.iter().map(|text| plain(text)).collect(),
        }
    }

    #[test]
    fn the_licence_of_a_font_deep_in_a_package_is_found() {
        let folder = std::env::temp_dir().join(format!("xtask-licences-{}", std::process::id()));
        let font = folder.join("assets/fonts/round-1.0");
        made(&font).unwrap();
        fs::write(font.join("LICENSE"), "May be copied.").unwrap();
        fs::write(font.join("license.rs"), "no text").unwrap();
        assert_eq!(licence_texts(&folder).unwrap(), ["May be copied."]);
        fs::remove_dir_all(&folder).unwrap();
    }

    #[test]
    fn equal_texts_are_printed_once_and_a_missing_one_is_said() {
        let all = text(&[
            entry("a", &["The licence\r\nof all  \n"]),
            entry("b", &["\u{feff}The licence\nof all", "Another"]),
            entry("c", &[]),
        ]);
        assert_eq!(all.matches("The licence\nof all").count(), 1, "{all}");
        assert!(all.contains("1 of 3 packages have no licence file"), "{all}");
        let line = all.lines().find(|line| line.starts_with("b 1.0.0")).unwrap();
        assert!(line.ends_with("[1] [2]"), "{line}");
        assert!(text(&[entry("a", &["x"])]).contains("Every package has a licence file"));
    }
}
