//! Unfinished files of runs that were killed: found beside a place that is written anew, and
//! removed.
//!
//! Only what bears our name is looked at, and only what no running program holds: an unfinished
//! file is locked as long as it is being written, and the lock goes with the program.

use std::collections::BTreeSet;
use std::fs::{self, File};
use std::path::{Path, PathBuf};
use std::sync::Mutex;
use std::time::Duration;

/// How the name of an unfinished file begins.
pub(super) const PREFIX: &str = ".chirrup-";
/// How it ends.
pub(super) const SUFFIX: &str = ".part";
/// A younger one may belong to a program that has not yet locked it.
const YOUNG: Duration = Duration::from_secs(10);

/// The folders that this run has looked into, and what it has removed.
#[derive(Default)]
struct Swept {
    folders: BTreeSet<PathBuf>,
    files: Vec<PathBuf>,
}

static SWEPT: Mutex<Option<Swept>> = Mutex::new(None);

/// Removes what killed runs have left in `folder`; once a run for each folder.
pub(super) fn sweep(folder: &Path) {
    // A panic elsewhere leaves it as good as it was.
    let mut swept = SWEPT.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
    let swept = swept.get_or_insert_default();
    if !swept.folders.insert(folder.to_owned()) {
        return;
    }
    // A folder that cannot be listed is told where the file cannot be made in it.
    let Ok(entries) = fs::read_dir(folder) else { return };
    for entry in entries.flatten() {
        let is_ours = entry.file_name().to_str().is_some_and(is_our_name);
        let path = entry.path();
        if is_ours && is_left(&path) && fs::remove_file(&path).is_ok() {
            swept.files.push(path);
        }
    }
}

/// The unfinished files that this run has removed so far; each is told once.
pub fn swept() -> Vec<PathBuf> {
    let mut swept = SWEPT.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
    swept.as_mut().map(|swept| std::mem::take(&mut swept.files)).unwrap_or_default()
}

/// Whether a name is as the crate `tempfile` makes ours: six letters or digits in the middle.
fn is_our_name(name: &str) -> bool {
    let middle = name.strip_prefix(PREFIX).and_then(|rest| rest.strip_suffix(SUFFIX));
    middle.is_some_and(|middle| {
        middle.len() == 6 && middle.bytes().all(|byte| byte.is_ascii_alphanumeric())
    })
}

/// Whether it is a regular file that no program holds.
fn is_left(path: &Path) -> bool {
    let Ok(found) = path.symlink_metadata() else { return false };
    let is_old = || found.modified().ok()?.elapsed().ok().map(|age| age > YOUNG);
    if !found.is_file() || is_old() != Some(true) {
        return false;
    }
    // The lock ends with `file`, before the file is removed: nobody else takes one of ours up.
    File::open(path).is_ok_and(|file| file.try_lock().is_ok())
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::time::SystemTime;

    fn old_file(path: &Path) -> File {
        let file = File::create(path).expect("the folder is ours");
        let hour_ago = SystemTime::now() - Duration::from_secs(3_600);
        file.set_modified(hour_ago).expect("it is ours");
        file
    }

    #[test]
    fn only_what_is_ours_old_and_held_by_nobody_is_left() {
        let folder = tempfile::tempdir().expect("there is room");
        let at = |name: &str| folder.path().join(name);
        let ours = at(".chirrup-a1B2c3.part");
        let file = old_file(&ours);
        file.lock().expect("nobody else has it");
        assert!(!is_left(&ours), "a program holds it");
        drop(file);
        assert!(is_left(&ours));
        let young = at(".chirrup-a1B2c4.part");
        File::create(&young).expect("the folder is ours");
        assert!(!is_left(&young), "it may be about to be locked");
        let others = [".chirrup-a.part", ".chirrup-a1B2c/.part", "chirrup-a1B2c3.part", "a.part"];
        assert!(
            is_our_name(".chirrup-a1B2c3.part") && !others.iter().any(|name| is_our_name(name))
        );
        let kept = at("flight.part");
        old_file(&kept);
        sweep(folder.path());
        assert!(!ours.exists() && young.exists() && kept.exists());
        assert!(swept().contains(&ours));
    }
}
