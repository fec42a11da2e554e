//! Whether an archive is a whole release of the commit that is checked out: only such a one is
//! measured. It is the archive itself that is read.

use crate::parts::PARTS;
use crate::release::Release;
use crate::sums::{self, digest};
use anyhow::{Context, Result, bail};
use flate2::read::GzDecoder;
use std::collections::BTreeMap;
use std::fs::{self, File};
use std::io::Read;

/// The line of README.txt that says the commit begins so, and ends with a full stop.
const COMMIT: &str = "The commit is ";

/// What an archive has: every file with its bytes, named below the archive's one folder.
type Files = BTreeMap<String, Vec<u8>>;

/// Refuses the archive of `release` where it is not whole, of another commit, or not what the
/// folder beside it has.
///
/// # Errors
/// One line for each complaint: what is wrong and what to do.
pub fn check(release: &Release) -> Result<()> {
    let archive = release.archive();
    if !archive.is_file() {
        bail!("there is no {}; make a release first: cargo xtask dist", archive.display());
    }
    let files = unpacked(release).with_context(|| {
        format!("{} cannot be read; make it again: cargo xtask dist", archive.display())
    })?;
    let mut complaints = missing(&files);
    complaints.extend(of_another_commit(&files, release));
    let beside = fs::read(release.folder().join(sums::NAME)).unwrap_or_default();
    if complaints.is_empty() && files.get(sums::NAME) != Some(&beside) {
        complaints.push("the folder beside it is of another release".to_owned());
    }
    let line = |what: &String| format!("{}: {what}; cargo xtask dist", archive.display());
    let lines: Vec<String> = complaints.iter().map(line).collect();
    if lines.is_empty() { Ok(()) } else { bail!("{}", lines.join("\n       ")) }
}

fn unpacked(release: &Release) -> Result<Files> {
    let mut tar = tar::Archive::new(GzDecoder::new(File::open(release.archive())?));
    let mut files = Files::new();
    for entry in tar.entries()? {
        let mut entry = entry?;
        let path = entry.path()?.to_string_lossy().into_owned();
        let mut bytes = Vec::new();
        entry.read_to_end(&mut bytes)?;
        let inside = path.split_once('/').map_or("", |(_, inside)| inside);
        files.insert(inside.to_owned(), bytes);
    }
    Ok(files)
}

/// The parts that are left out, and the files that SHA256SUMS names and that are not there as it
/// names them.
fn missing(files: &Files) -> Vec<String> {
    let mut complaints = Vec::new();
    let is_there = |folder: &str| files.keys().any(|file| file.split('/').next() == Some(folder));
    let left_out: Vec<&str> =
        PARTS.iter().filter(|part| !is_there(part.folder)).map(|part| part.name).collect();
    if !left_out.is_empty() {
        complaints.push(format!("it has no {}", left_out.join(", ")));
    }
    let Some(sums) = files.get(sums::NAME) else {
        complaints.push(format!("it has no {}", sums::NAME));
        return complaints;
    };
    let sums = String::from_utf8_lossy(sums);
    let as_named = |line: &&str| {
        let (expected, name) = line.split_once("  ").unwrap_or_default();
        files.get(name).is_some_and(|bytes| digest(bytes) == expected)
    };
    let wrong: Vec<&str> = sums.lines().filter(|line| !as_named(line)).collect();
    if let Some(first) = wrong.first() {
        let name = first.split_once("  ").map_or(*first, |(_, name)| name);
        let more = match wrong.len() - 1 {
            0 => String::new(),
            more => format!(" and {more} more"),
        };
        complaints.push(format!("{name}{more} missing or not as {} says", sums::NAME));
    }
    complaints
}

/// What is wrong with the commit it was made of; that of `release` is checked out.
fn of_another_commit(files: &Files, release: &Release) -> Option<String> {
    let readme = files.get("README.txt").map(|bytes| String::from_utf8_lossy(bytes));
    let made_of = readme
        .as_deref()
        .unwrap_or_default()
        .lines()
        .find_map(|line| Some(line.strip_prefix(COMMIT)?.strip_suffix('.')?.to_owned()));
    let Some(made_of) = made_of else {
        return Some("its README.txt does not say of which commit it was made".to_owned());
    };
    let is_commit = made_of.len() == 40 && made_of.bytes().all(|byte| byte.is_ascii_hexdigit());
    let checked_out = release.commit.as_ref().map_or("not known", |commit| commit.hash.as_str());
    if !is_commit {
        Some(format!("it was made of no commit ({made_of}); commit, then make it again"))
    } else if made_of != checked_out {
        Some(format!("it was made of commit {made_of}, and {checked_out} is checked out"))
    } else {
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::commit::Commit;
    use crate::files::{below, emptied, made};
    use crate::{archive, readme};

    /// A release of the commit `digit`, with a file in each part's folder but `without`.
    fn release(name: &str, digit: char, without: &[&str]) -> Release {
        let out = std::env::temp_dir().join(format!("xtask-{name}-{}", std::process::id()));
        emptied(&out).unwrap();
        let commit =
            Commit { hash: digit.to_string().repeat(40), day: "2026-01-02".into(), changed: false };
        let release = Release {
            root: out.clone(),
            work: out.join("work"),
            target: out.join("target"),
            out,
            version: "0.1.0".into(),
            platform: "here".into(),
            compiler: "rustc".into(),
            commit: Some(commit),
            epoch_s: 1_700_000_000,
        };
        for part in PARTS.iter().filter(|part| !without.contains(&part.name)) {
            made(&release.folder().join(part.folder)).unwrap();
            fs::write(release.folder().join(part.folder).join("file"), part.name).unwrap();
        }
        release
    }

    /// Ends the folder and packs it, as `dist` does.
    fn pack(release: &Release) {
        readme::write(release).unwrap();
        let folder = release.folder();
        sums::write(&folder, &below(&folder).unwrap()).unwrap();
        write(release);
    }

    fn write(release: &Release) {
        let (folder, to) = (release.folder(), release.archive());
        archive::write(&folder, &release.name(), release.epoch_s, &to).unwrap();
    }

    fn refusal(release: &Release) -> String {
        let text = check(release).expect_err("it is refused").to_string();
        fs::remove_dir_all(&release.out).unwrap();
        text.replace(&release.out.display().to_string(), "")
    }

    fn lines(text: &str) -> usize {
        text.lines().count()
    }

    #[test]
    fn a_whole_release_of_this_commit_is_taken_with_changes_in_the_tree_too() {
        let mut release = release("whole", 'a', &[]);
        pack(&release);
        check(&release).unwrap();
        release.commit.as_mut().unwrap().changed = true;
        check(&release).unwrap();
        fs::remove_dir_all(&release.out).unwrap();
    }

    #[test]
    fn parts_that_were_left_out_are_named_in_one_line() {
        let release = release("parts", 'a', &["python", "boards"]);
        pack(&release);
        let text = refusal(&release);
        assert_eq!(text, "/chirrup-0.1.0-here.tar.gz: it has no boards, python; cargo xtask dist");
    }

    #[test]
    fn a_release_of_another_commit_is_refused_in_one_line() {
        let mut release = release("commit", 'a', &[]);
        pack(&release);
        release.commit.as_mut().unwrap().hash = "b".repeat(40);
        let text = refusal(&release);
        assert_eq!(lines(&text), 1, "{text}");
        assert!(text.contains(&format!("made of commit {}", "a".repeat(40))), "{text}");
        assert!(text.contains(&format!("{} is checked out", "b".repeat(40))), "{text}");
    }

    #[test]
    fn a_release_of_changed_files_or_of_no_commit_is_refused() {
        let mut changed = release("changed", 'a', &[]);
        changed.commit.as_mut().unwrap().changed = true;
        pack(&changed);
        assert!(refusal(&changed).contains("changed since); commit, then make it again"));
        let mut unknown = release("unknown", 'a', &[]);
        unknown.commit = None;
        pack(&unknown);
        assert!(refusal(&unknown).contains("made of no commit (not known)"));
    }

    #[test]
    fn a_file_that_is_missing_or_other_is_named_in_one_line() {
        for other in [None, Some("other")] {
            let release = release("file", 'a', &[]);
            fs::write(release.folder().join("book/second"), "stays").unwrap();
            pack(&release);
            let file = release.folder().join("book/file");
            other.map_or_else(|| fs::remove_file(&file), |text| fs::write(&file, text)).unwrap();
            write(&release);
            let text = refusal(&release);
            assert_eq!(lines(&text), 1, "{text}");
            assert!(text.contains("book/file missing or not as SHA256SUMS says"), "{text}");
        }
    }

    #[test]
    fn a_folder_of_another_release_beside_the_archive_is_refused() {
        let release = release("beside", 'a', &[]);
        pack(&release);
        fs::write(release.folder().join("SHA256SUMS"), "other").unwrap();
        let text = refusal(&release);
        assert_eq!(lines(&text), 1, "{text}");
        assert!(text.contains("the folder beside it is of another release"), "{text}");
    }

    #[test]
    fn no_archive_and_one_that_is_cut_short_are_refused_in_one_line() {
        let none = release("none", 'a', &[]);
        assert!(refusal(&none).ends_with("make a release first: cargo xtask dist"));
        let short = release("short", 'a', &[]);
        pack(&short);
        let bytes = fs::read(short.archive()).unwrap();
        fs::write(short.archive(), &bytes[..bytes.len() / 2]).unwrap();
        let text = refusal(&short);
        assert!(text.contains("cannot be read; make it again"), "{text}");
    }
}
