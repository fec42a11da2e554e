//! Makes everything that a release of Chirrup has, on one machine, reproducibly:
//!
//! ```sh
//! cargo xtask dist [-o FOLDER] [--without PART[,PART]]
//! cargo xtask numbers [SOURCE...] [-o FOLDER]
//! ```
//!
//! The second writes the page of measured numbers in the book; sizes are those of the release in
//! `FOLDER`.
//!
//! ```text
//! dist -> parts: program, page, boards, python, book, listening, licences, sbom
//!                |                                              |
//!                command (environment, log)                     crates (what each is built from)
//!      -> readme -> sums -> archive (sorted, one owner, one time)
//! numbers -> sources: figures (program, release), counts, others, benches -> docs/src/measured.md
//!         -> machine, commit; whole (is that release one, and of this commit)
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
mod commit;
mod counts;
mod crates;
mod dist;
mod figures;
mod files;
mod licences;
mod listening;
mod machine;
mod measured;
mod numbers;
mod others;
mod parts;
mod program;
mod readme;
mod release;
mod sbom;
mod sources;
mod sums;
mod tools;
mod web;
mod wheel;
mod whole;

use anyhow::{Result, bail};
use lexopt::prelude::*;
use std::collections::BTreeSet;
use std::path::PathBuf;
use std::process::ExitCode;

const USAGE: &str = "\
usage: cargo xtask dist [-o FOLDER] [--without PART[,PART]]
       cargo xtask numbers [SOURCE...] [-o FOLDER]

dist makes a release in FOLDER (target/dist-release): an archive, the files that people take singly,
and SHA256SUMS. Parts: program, page, boards, python, book, listening, licences, sbom. The program
is always made.

numbers measures and writes docs/src/measured.md. Sources, all without any: response, instructions,
speed, bench, release. The last measures the release in FOLDER.";

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
    let mut named = Vec::new();
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
            Value(value) => named.push(value.string()?),
            other => bail!("{}; {USAGE}", other.unexpected()),
        }
    }
    match named.split_first() {
        Some((command, [])) if command == "dist" => dist::make(&out, without),
        Some((command, sources)) if command == "numbers" && without.is_empty() => {
            numbers::write(&out, sources)
        }
        Some((command, _)) => bail!("no such command: '{command}' with these words; {USAGE}"),
        None => bail!("no command; {USAGE}"),
    }
}
