//! Runs other programs: no path of this machine in what they compile, the commit's time, and all
//! that they say in a log.

use crate::release::Release;
use anyhow::{Context, Result, bail};
use std::fs::{self, File, OpenOptions};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

/// How many lines of the log an error shows.
const LAST_LINES: usize = 12;

/// A command for the part `part` of `release`.
pub fn command(release: &Release, program: impl AsRef<std::ffi::OsStr>) -> Command {
    let mut command = Command::new(program);
    command
        .current_dir(&release.root)
        .env("SOURCE_DATE_EPOCH", release.epoch_s.to_string())
        .env("CARGO_ENCODED_RUSTFLAGS", without_paths(release).join("\u{1f}"))
        .env("CARGO_TARGET_DIR", &release.work)
        .env("CHIRRUP_BOARDS_DIR", release.work.join("boards"))
        .env("TZ", "UTC")
        .env("LC_ALL", "C.UTF-8")
        .env("NO_COLOR", "1")
        .env_remove("RUSTFLAGS");
    command
}

/// Flags that replace the folders of this machine in messages and debug information; of several
/// that fit, the compiler takes the last.
fn without_paths(release: &Release) -> Vec<String> {
    let home = std::env::home_dir().unwrap_or_default().join(".cargo");
    let cargo = std::env::var_os("CARGO_HOME").map_or(home, PathBuf::from);
    let mut sources: Vec<PathBuf> = fs::read_dir(cargo.join("registry/src"))
        .map(|found| found.filter_map(|entry| Some(entry.ok()?.path())).collect())
        .unwrap_or_default();
    sources.sort();
    let renamed = |from: &Path, to: &str| format!("--remap-path-prefix={}={to}", from.display());
    let mut flags = vec![renamed(&release.root, "/chirrup"), renamed(&cargo, "/cargo")];
    flags.extend(sources.iter().map(|from| renamed(from, "/cargo/registry")));
    flags
}

/// Runs it; what it says goes into the log of `part`.
///
/// # Errors
/// When it cannot be run or fails; with the end of the log.
pub fn run(release: &Release, part: &str, command: &mut Command) -> Result<()> {
    let path = release.log(part);
    let log = appended(&path)?;
    let name = command.get_program().to_string_lossy().into_owned();
    let status = command
        .stdin(Stdio::null())
        .stdout(log.try_clone()?)
        .stderr(log)
        .status()
        .with_context(|| format!("{part}: cannot run {name}"))?;
    if !status.success() {
        let said = fs::read_to_string(&path).unwrap_or_default();
        let lines: Vec<&str> = said.lines().collect();
        let last = lines[lines.len().saturating_sub(LAST_LINES)..].join("\n");
        bail!("{part}: {name} ended with {status}; the end of {}:\n{last}", path.display());
    }
    Ok(())
}

fn appended(path: &Path) -> Result<File> {
    fs::create_dir_all(path.parent().context("a log has a folder")?)?;
    Ok(OpenOptions::new().create(true).append(true).open(path)?)
}

/// Whether a program of this name can be run.
pub fn is_there(program: &str) -> bool {
    let tried = Command::new(program)
        .arg("--version")
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .status();
    tried.is_ok_and(|status| status.success())
}
