//! Who measured: commit, machine, system, compiler, load.

use crate::commit::Commit;
use crate::release::Release;
use anyhow::Result;
use std::fs;
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

/// The table that says by whom it was measured: `commit` with what is changed since, the load
/// `before`, and what else `further` says.
///
/// # Errors
/// When the number of cores is not known.
pub fn table(
    release: &Release,
    commit: Option<&Commit>,
    before: Option<f64>,
    further: &[(String, String)],
) -> Result<String> {
    let unknown = || "not known".to_owned();
    let load = |load: Option<f64>| load.map_or_else(unknown, |load| format!("{load:.1}"));
    let processor = said("/proc/cpuinfo", "model name").unwrap_or_else(unknown);
    let memory = said("/proc/meminfo", "MemTotal").unwrap_or_else(unknown);
    let system = said("/etc/os-release", "PRETTY_NAME").unwrap_or_else(unknown);
    let rows = [
        ("commit", commit.map_or_else(unknown, Commit::shortly)),
        ("machine", format!("{processor}, {} cores, {memory}", available_parallelism()?)),
        ("system", format!("{system}, {}, {}", release.platform, release.compiler)),
        ("load before and after", format!("{}, {}", load(before), load(self::load()))),
    ];
    let mut lines = rows.map(|(what, value)| row(what, &value)).concat();
    lines.extend(further.iter().map(|(what, value)| row(what, value)));
    Ok(format!("| measured by | |\n|---|---|\n{lines}"))
}

fn row(what: &str, value: &str) -> String {
    format!("| {what} | {value} |\n")
}
