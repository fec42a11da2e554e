//! The benchmarks of `just bench`, read from what divan prints.

use crate::release::Release;
use anyhow::{Context, Result, bail};
use std::fmt::Write as _;
use std::process::Command;

/// One benchmark: its times, and the items a second where it counts items.
#[derive(Debug, PartialEq)]
pub struct Benchmark {
    name: String,
    fastest: String,
    median: String,
    rate: Option<String>,
}

/// Runs them. They are built with the usual flags, as a user builds them.
///
/// # Errors
/// When they cannot be built, or print nothing that can be read.
pub fn measured(release: &Release) -> Result<Vec<Benchmark>> {
    let output = Command::new("cargo")
        .args(["bench", "--quiet", "--locked", "-p", "chirrup", "--bench", "speed"])
        .current_dir(&release.root)
        .output()
        .context("cannot run cargo bench")?;
    let found = read(&String::from_utf8_lossy(&output.stdout));
    if !output.status.success() || found.is_empty() {
        let said = String::from_utf8_lossy(&output.stderr);
        bail!("cargo bench: {}", said.lines().last().unwrap_or("no benchmark printed anything"));
    }
    Ok(found)
}

/// A line of divan has a tree, a name, and columns between bars: fastest, slowest, median, mean,
/// samples, iterations. The line below it, without a name, has items a second.
fn read(printed: &str) -> Vec<Benchmark> {
    let mut found: Vec<Benchmark> = Vec::new();
    let mut group = Group::default();
    for line in printed.lines() {
        let row = line.trim_start_matches(['│', '├', '╰', '─', ' ']);
        let depth = line.chars().count() - row.chars().count();
        let mut columns = row.split('│').map(str::trim);
        let first: Vec<&str> = columns.next().unwrap_or_default().split_whitespace().collect();
        let median = columns.nth(1).unwrap_or_default();
        match first.as_slice() {
            [name] => group = Group { depth, name: (*name).to_owned() },
            [name, number, unit] if number.parse::<f64>().is_ok() => found.push(Benchmark {
                name: group.whole_name(depth, name),
                fastest: format!("{number} {unit}"),
                median: median.to_owned(),
                rate: None,
            }),
            [number, unit] if unit.ends_with("item/s") && number.parse::<f64>().is_ok() => {
                if let Some(last) = found.last_mut() {
                    last.rate = Some(format!("{number} {}", unit.trim_end_matches("item/s")));
                }
            }
            _ => {}
        }
    }
    found
}

/// The last name that stands alone: the benchmarks further in are its cases.
#[derive(Default)]
struct Group {
    depth: usize,
    name: String,
}

impl Group {
    /// `render.Pure`, where `Pure` is further in than `render`.
    fn whole_name(&self, depth: usize, name: &str) -> String {
        let is_case = !self.name.is_empty() && depth > self.depth;
        if is_case { format!("{}.{name}", self.name) } else { name.to_owned() }
    }
}

/// Their table.
pub fn table(benchmarks: &[Benchmark]) -> String {
    let mut out = String::from(
        "| benchmark | fastest | median | items a second, fastest |\n|---|---|---|---|\n",
    );
    for Benchmark { name, fastest, median, rate } in benchmarks {
        let rate = rate.as_deref().unwrap_or_default().trim();
        let _ = writeln!(out, "| `{name}` | {fastest} | {median} | {rate} |");
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_and_rates_are_read_from_the_tree() {
        let printed = "\
Timer precision: 20 ns
speed            fastest       │ slowest       │ median        │ mean          │ samples │ iters
├─ fly_an_hour   1.2 s         │ 1.4 s         │ 1.3 s         │ 1.3 s         │ 5       │ 5
│                3.1 Kitem/s   │ 2.7 Kitem/s   │ 2.9 Kitem/s   │ 2.9 Kitem/s   │         │
├─ tones                       │               │               │               │         │
│  ╰─ a_tick     14.8 ns       │ 20 ns         │ 15.1 ns       │ 15.2 ns       │ 100     │ 3200
╰─ timer         5 us          │ 6 us          │ 5 us          │ 5 us          │ 100     │ 100
";
        let benchmark = |name: &str, fastest: &str, median: &str, rate: Option<&str>| Benchmark {
            name: name.into(),
            fastest: fastest.into(),
            median: median.into(),
            rate: rate.map(str::to_owned),
        };
        let expected = [
            benchmark("fly_an_hour", "1.2 s", "1.3 s", Some("3.1 K")),
            benchmark("tones.a_tick", "14.8 ns", "15.1 ns", None),
            benchmark("timer", "5 us", "5 us", None),
        ];
        assert_eq!(read(printed), expected);
    }
}
