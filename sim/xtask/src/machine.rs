//! The machine that measures: processor, cores, system, compiler, commit, load.

use crate::release::Release;
use anyhow::Result;
use std::fs;
use std::process::Command;
use std::thread::available_parallelism;

/// The value after `start` and a colon or an equals sign in a file of Linux.
fn said(file: &str, start: &str) -> Option<String> {
    let text = fs::read_to_string(file).ok()?;
    let line = text.lines().find(|line| line.starts_with(start))?;
    let value = line.split_once([':', '='])?.1;
    Some(value.trim().trim_matches('"').to_owned())
}

/// How many tasks wanted to run in the last minute, where the system says it.
pub fn load() -> Option<f64> {
    fs::read_to_string("/proc/loadavg").ok()?.split(' ').next()?.parse().ok()
}

fn git(release: &Release, words: &[&str]) -> Option<String> {
    let output = Command::new("git").args(words).current_dir(&release.root).output().ok()?;
    let text = String::from_utf8(output.stdout).ok()?;
    output.status.success().then(|| text.trim().to_owned())
}

/// The table that says by whom it was measured; `before` is the load at the beginning.
///
/// # Errors
/// When the number of cores is not known.
pub fn table(release: &Release, before: Option<f64>) -> Result<String> {
    let unknown = || "not known".to_owned();
    let commit = git(release, &["log", "-1", "--format=%cs"]).unwrap_or_else(unknown);
    let changed = git(release, &["status", "--porcelain", "--untracked-files=no"]);
    let changes = if changed.is_some_and(|text| !text.is_empty()) { ", changed since" } else { "" };
    let load = |load: Option<f64>| load.map_or_else(unknown, |load| format!("{load:.1}"));
    let rows = [
        ("date of the commit", format!("{commit}{changes}")),
        ("compiler", release.compiler.clone()),
        ("platform", release.platform.clone()),
        ("processor", said("/proc/cpuinfo", "model name").unwrap_or_else(unknown)),
        ("cores", available_parallelism()?.to_string()),
        ("memory", said("/proc/meminfo", "MemTotal").unwrap_or_else(unknown)),
        ("system", said("/etc/os-release", "PRETTY_NAME").unwrap_or_else(unknown)),
        ("load before and after", format!("{}, {}", load(before), load(self::load()))),
    ];
    let lines = rows.map(|(what, value)| format!("| {what} | {value} |\n"));
    Ok(format!("| measured by | |\n|---|---|\n{}", lines.concat()))
}
