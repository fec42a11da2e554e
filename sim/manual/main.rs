//! The manual pages and the shells' completions of the program, from its own command line:
//!
//! ```sh
//! cargo run -p chirrup --features manual --bin chirrup-manual -- FOLDER
//! ```
//!
//! writes `FOLDER/man/man1/chirrup.1` with one page for each command beside it, and completions for
//! bash, zsh and fish in `FOLDER/completions`. `cargo xtask dist` puts them into a release.
//!
//! The library has no command line, so the commands are compiled here a second time.

#[expect(dead_code, reason = "the commands are described here and not run")]
#[path = "../src/commands/mod.rs"]
mod commands;

use clap::CommandFactory;
use clap_complete::Shell;
use commands::Cli;
use std::fs;
use std::io::Result;
use std::path::{Path, PathBuf};

fn main() -> Result<()> {
    let Some(folder) = std::env::args_os().nth(1).map(PathBuf::from) else {
        return Err(std::io::Error::other("name the folder to write into"));
    };
    write_pages(&made(folder.join("man/man1"))?)?;
    write_completions(&made(folder.join("completions"))?)
}

fn made(folder: PathBuf) -> Result<PathBuf> {
    fs::create_dir_all(&folder)?;
    Ok(folder)
}

/// One page for the program and one for each command, without a date: the version says which.
fn write_pages(folder: &Path) -> Result<()> {
    clap_mangen::generate_to(Cli::command(), folder)
}

fn write_completions(folder: &Path) -> Result<()> {
    for shell in [Shell::Bash, Shell::Zsh, Shell::Fish] {
        clap_complete::generate_to(shell, &mut Cli::command(), "chirrup", folder)?;
    }
    Ok(())
}
