//! Makes everything that a release of Chirrup has, on one machine, reproducibly:
//!
//! ```sh
//! cargo xtask dist [-o FOLDER] [--without PART[,PART]]
//! cargo xtask numbers [-o FOLDER] [--without benchmarks]
//! ```
//!
//! The second writes the page of measured numbers in the book, from the release in `FOLDER`.
//!
//! ```text
//! dist -> parts: program, page, boards, python, book, listening, licences, sbom
//!                |                                              |
//!                command (environment, log)                     crates (what each is built from)
//!      -> readme -> sums -> archive (sorted, one owner, one time)
//! numbers -> machine, figures (program, release), benches -> docs/src/measured.md
//! ```
//!
//! Two runs over the same commit, with the same compilers and in a folder of the same name, give
//! the same bytes: every time is that of the commit, and no path of this machine is in what is
//! compiled. `reproduced.sh` shows it, and `try-release.sh` tries the archive where no Rust is
//! installed.

mod archive;
mod benches;
mod boards;
mod clips;
mod command;
mod crates;
mod dist;
mod figures;
mod files;
mod licences;
mod listening;
mod machine;
mod numbers;
mod parts;
mod program;
mod readme;
mod release;
mod sbom;
mod sums;
mod web;
mod wheel;

use anyhow::{Result, bail};
use lexopt::prelude::*;
use std::collections::BTreeSet;
use std::path::PathBuf;
use std::process::ExitCode;

const USAGE: &str = "\
usage: cargo xtask dist [-o FOLDER] [--without PART[,PART]]
       cargo xtask numbers [-o FOLDER] [--without benchmarks]

dist makes a release in FOLDER (target/dist-release): an archive, the files that people take singly,
and SHA256SUMS. Parts: program, page, boards, python, book, listening, licences, sbom. The program
is always made.";

fn main() -> ExitCode {
    match run() {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("xtask: {error:#}");
            ExitCode::FAILURE
        }
    }
}

fn run() -> Result<()> {
    let (mut out, mut without) = (PathBuf::from("target/dist-release"), BTreeSet::new());
    let mut words = lexopt::Parser::from_env();
    let mut named: Option<String> = None;
    while let Some(word) = words.next()? {
        match word {
            Short('o') | Long("output") => out = words.value()?.into(),
            Long("without") => {
                let list = words.value()?.string()?;
                without.extend(list.split(',').map(str::to_owned));
            }
            Short('h') | Long("help") => {
                println!("{USAGE}");
                return Ok(());
            }
            Value(value) if named.is_none() => named = Some(value.string()?),
            other => bail!("{}; {USAGE}", other.unexpected()),
        }
    }
    match named.as_deref() {
        Some("dist") => dist::make(&out, without),
        Some("numbers") => numbers::write(&out, with_benchmarks(&without)?),
        Some(other) => bail!("no command '{other}'; {USAGE}"),
        None => bail!("no command; {USAGE}"),
    }
}

/// What `--without` says of the benchmarks of `numbers`, the one thing that may be left out there.
fn with_benchmarks(without: &BTreeSet<String>) -> Result<bool> {
    if let Some(other) = without.iter().find(|name| *name != "benchmarks") {
        bail!("--without {other}: of the numbers, only the benchmarks can be left out");
    }
    Ok(without.is_empty())
}
