//! `cargo xtask numbers`: the page of measured numbers, `docs/src/measured.md`, from the program,
//! its benchmarks and a release. Nothing in that page is typed by hand.

use crate::benches;
use crate::figures::{self, Figure};
use crate::machine;
use crate::release::Release;
use anyhow::{Context, Result};
use std::fmt::Write as _;
use std::fs;
use std::path::Path;

/// Where it stands in the book.
const PAGE: &str = "docs/src/measured.md";

const BEGINNING: &str = "\
# Measured numbers

`just numbers` writes this page and nobody types into it. Where README.md or another page repeats
one of its figures, the test `docs::measured` compares the two. What must hold, and the test that
asserts it, is in [Accuracy](numbers.md); the processors of the instrument are in [What it
costs](cost.md).

";

const SAME: &str = "
## The same on every machine

Of the program alone. `chirrup response --only rough --json` gives the cases in rough air, each the
worst of five flights of ten minutes ([rough air](rough-air.md) says what each is); `chirrup tone
--json` the tone, as an ear by a model hears it.

";

const HERE: &str = "
## On this machine

Benchmarks of `just bench`, one core each: the fastest and the median of many runs. The load above
is that of the whole machine meanwhile; with more than one for each core the figures are too slow.

";

/// In place of the benchmarks, as on a machine that is busy.
const LEFT_OUT: &str = "The benchmarks were left out: `just numbers` without options runs them.\n";

const SIZES: &str = "
Files of the release that `cargo xtask dist` makes, and its program making the demonstration.

";

/// Measures all of it and writes the page; without the benchmarks on a machine that is busy.
///
/// # Errors
/// When a command fails, or there is no release in `out`.
pub fn write(out: &Path, with_benchmarks: bool) -> Result<()> {
    let release = Release::of_this_commit(out)?;
    let before = machine::load();
    println!("1/3 sizes and the demonstration");
    let sizes = figures::of_release(&release)?;
    println!("2/3 rough air and tone");
    let same = figures::of_program(&release)?;
    println!("3/3 benchmarks");
    let benchmarks = if with_benchmarks { benches::measured(&release)? } else { Vec::new() };
    let mut page = String::from(BEGINNING);
    page += &machine::table(&release, before)?;
    page += SAME;
    page += &table(&same);
    page += HERE;
    page += &if with_benchmarks { benches::table(&benchmarks) } else { LEFT_OUT.to_owned() };
    page += SIZES;
    page += &table(&sizes);
    let path = release.root.join(PAGE);
    fs::write(&path, page).with_context(|| format!("cannot write {}", path.display()))?;
    println!("{} is written", path.display());
    Ok(())
}

/// Figures with their keys, by which the test finds them.
fn table(figures: &[Figure]) -> String {
    let mut out = String::from("| key | figure | unit |\n|---|---|---|\n");
    for Figure { key, value, unit } in figures {
        let _ = writeln!(out, "| `{key}` | {value} | {unit} |");
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_figure_is_a_row_with_its_key() {
        let figure = Figure { key: "a.b".into(), value: "1.5".into(), unit: "m/s" };
        assert!(table(&[figure]).ends_with("| `a.b` | 1.5 | m/s |\n"));
    }

    #[test]
    fn no_line_of_the_page_is_wider_than_a_hundred_columns() {
        for text in [BEGINNING, SAME, HERE, SIZES] {
            assert!(text.lines().all(|line| line.chars().count() <= 100), "{text}");
        }
    }
}
