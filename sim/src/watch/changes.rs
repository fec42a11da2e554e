//! Waits until a file may have changed.
//!
//! The folders are watched and not the files: an editor that saves a new file and renames it over
//! the old one would leave the watch on the old one.

use notify::{Event, RecommendedWatcher, RecursiveMode, Watcher};
use std::collections::BTreeSet;
use std::ffi::OsString;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, Sender, channel};
use std::time::{Duration, Instant};

/// A file counts as written once it has been left alone for this long: editors write in pieces (a
/// guess).
const QUIET: Duration = Duration::from_millis(50);
/// A file that is written all the time is looked at so often.
const MOST_PATIENCE: Duration = Duration::from_millis(500);
/// Without news the files are looked at so often: network drives report nothing.
const LOOK: Duration = Duration::from_secs(1);
/// Ctrl-C is noticed within this.
const NAP: Duration = Duration::from_millis(50);

/// What the system reports of some files.
pub struct Changes {
    /// Reports as long as it is there.
    watcher: Option<RecommendedWatcher>,
    news: Receiver<()>,
    /// Keeps the channel open where nothing is watched.
    _open: Sender<()>,
}

impl Changes {
    /// Watches the folders of `files`; and why not, where the system cannot.
    pub fn of(files: &[&Path]) -> (Self, Option<String>) {
        let (send, news) = channel();
        let mut changes = Self { watcher: None, news, _open: send.clone() };
        let why_not = changes.watch(files, send).err().map(|error| error.to_string());
        (changes, why_not)
    }

    fn watch(&mut self, files: &[&Path], send: Sender<()>) -> notify::Result<()> {
        // A link may be turned to another file, and the file that it leads to be written.
        let real = files.iter().filter_map(|file| file.canonicalize().ok());
        let all: Vec<PathBuf> = files.iter().map(|file| file.to_path_buf()).chain(real).collect();
        let names: Vec<OsString> =
            all.iter().filter_map(|file| file.file_name().map(Into::into)).collect();
        let mut watcher = notify::recommended_watcher(move |event: notify::Result<Event>| {
            if event.as_ref().map_or(true, |event| is_change(event, &names)) {
                // Nobody listens once the watch has ended.
                let _ = send.send(());
            }
        })?;
        let folders: BTreeSet<PathBuf> = all.iter().map(|file| folder_of(file)).collect();
        for folder in &folders {
            watcher.watch(folder, RecursiveMode::NonRecursive)?;
        }
        self.watcher = Some(watcher);
        Ok(())
    }

    /// Waits until the files may have changed and have been left alone since, or for a second;
    /// returns when the first change was noticed.
    pub fn wait(&self, interrupted: &AtomicBool) -> Instant {
        let begun = Instant::now();
        while self.news.recv_timeout(NAP).is_err() {
            if interrupted.load(Ordering::Relaxed) || begun.elapsed() > LOOK {
                return Instant::now();
            }
        }
        let noticed = Instant::now();
        while self.news.recv_timeout(QUIET).is_ok() && noticed.elapsed() < MOST_PATIENCE {}
        noticed
    }
}

/// Whether `event` may have changed one of the files called `names`; reading them does not.
fn is_change(event: &Event, names: &[OsString]) -> bool {
    let is_ours =
        |path: &PathBuf| path.file_name().is_some_and(|name| names.iter().any(|n| n == name));
    event.need_rescan() || !event.kind.is_access() && event.paths.iter().any(is_ours)
}

fn folder_of(file: &Path) -> PathBuf {
    match file.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder.to_owned(),
        _ => PathBuf::from("."),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use notify::EventKind;
    use notify::event::{AccessKind, CreateKind, Flag, ModifyKind, RenameMode};

    #[test]
    fn a_file_that_is_renamed_over_ours_is_a_change_and_reading_ours_is_none() {
        let names = [OsString::from("my.toml")];
        let event = |kind, path: &str| Event::new(kind).add_path(path.into());
        let renamed = EventKind::Modify(ModifyKind::Name(RenameMode::To));
        assert!(is_change(&event(renamed, "/a/my.toml"), &names));
        assert!(is_change(&event(EventKind::Create(CreateKind::File), "my.toml"), &names));
        assert!(!is_change(&event(EventKind::Access(AccessKind::Any), "my.toml"), &names));
        assert!(!is_change(&event(renamed, "/a/.my.toml.swp"), &names));
        let lost = Event::new(EventKind::Other).set_flag(Flag::Rescan);
        assert!(is_change(&lost, &names));
    }
}
