//! Which commit is checked out, and whether files have been changed since.

use std::path::Path;
use std::process::Command;

/// A commit, as far as git says.
#[derive(Clone, Debug, PartialEq)]
pub struct Commit {
    /// Its hash, 40 hexadecimal digits.
    pub hash: String,
    /// Its day, such as 2026-11-27.
    pub day: String,
    /// Whether files that git knows differ from it.
    pub changed: bool,
}

impl Commit {
    /// The commit that is checked out in `root`; none without git. A change of the files `except`
    /// does not count.
    pub fn checked_out(root: &Path, except: &[&str]) -> Option<Self> {
        let git = |words: &[&str]| {
            let output = Command::new("git").args(words).current_dir(root).output().ok()?;
            let text = String::from_utf8(output.stdout).ok()?;
            output.status.success().then(|| text.trim().to_owned())
        };
        let except: Vec<String> = except.iter().map(|file| format!(":(exclude){file}")).collect();
        let mut status = vec!["status", "--porcelain", "--untracked-files=no", "--", "."];
        status.extend(except.iter().map(String::as_str));
        Some(Self {
            hash: git(&["rev-parse", "HEAD"])?,
            day: git(&["log", "-1", "--format=%cs"])?,
            changed: !git(&status)?.is_empty(),
        })
    }

    /// The hash, and whether files are changed: what a release says of itself.
    pub fn exactly(&self) -> String {
        format!("{}{}", self.hash, self.changes())
    }

    /// In few words, with the day.
    pub fn shortly(&self) -> String {
        let digits = self.hash.get(..12).unwrap_or(&self.hash);
        format!("`{digits}` of {}{}", self.day, self.changes())
    }

    fn changes(&self) -> &'static str {
        if self.changed { ", changed since" } else { "" }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::emptied;
    use std::fs;

    #[test]
    fn a_change_is_seen_in_every_file_but_the_one_excepted() {
        let folder = std::env::temp_dir().join(format!("xtask-commit-{}", std::process::id()));
        emptied(&folder).unwrap();
        assert_eq!(Commit::checked_out(&folder.join("nowhere"), &[]), None);
        let git = |words: &[&str]| {
            let person = ["-c", "user.name=a", "-c", "user.email=a@example.org"];
            let done = Command::new("git").args(person).args(words).current_dir(&folder).output();
            assert!(done.unwrap().status.success(), "{words:?}");
        };
        git(&["init", "--quiet"]);
        for name in ["page.md", "code.rs"] {
            fs::write(folder.join(name), "before").unwrap();
        }
        git(&["add", "."]);
        git(&["commit", "--quiet", "-m", "all"]);
        let changed = |except: &[&str]| Commit::checked_out(&folder, except).unwrap().changed;
        assert!(!changed(&[]));
        fs::write(folder.join("page.md"), "after").unwrap();
        assert!(changed(&[]) && !changed(&["page.md"]));
        fs::write(folder.join("code.rs"), "after").unwrap();
        assert!(changed(&["page.md"]));
        fs::remove_dir_all(&folder).unwrap();
    }

    #[test]
    fn a_commit_is_said_with_its_changes() {
        let mut commit =
            Commit { hash: "0123456789".repeat(4), day: "2026-01-02".into(), changed: false };
        assert_eq!(commit.shortly(), "`012345678901` of 2026-01-02");
        commit.changed = true;
        assert_eq!(commit.shortly(), "`012345678901` of 2026-01-02, changed since");
        assert!(commit.exactly().ends_with("89, changed since"));
    }
}
