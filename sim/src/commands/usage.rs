//! What is said about a command line that cannot be used: one line.

use super::Cli;
use clap::CommandFactory;
use std::io::{Write, stderr};
use std::process::ExitCode;

/// Help and version as they are; anything else that was typed wrong in one line, as all our errors.
pub fn answer(error: &clap::Error) -> ExitCode {
    if !error.use_stderr() {
        // Nobody is left to tell when standard output is closed.
        let _ = error.print();
        return ExitCode::SUCCESS;
    }
    let text = error.render().to_string().replace("\n\n  tip:", ";");
    let said = text.split("\n\nUsage:").next().unwrap_or(&text).trim_start_matches("error: ");
    let said = said
        .split("\n\nFor more")
        .next()
        .unwrap_or(said)
        .split_whitespace()
        .collect::<Vec<_>>()
        .join(" ");
    let _ = writeln!(
        stderr(),
        "chirrup: {said}; `chirrup --help` and `chirrup {} --help` tell what there is",
        command()
    );
    ExitCode::from(2)
}

/// The command that was typed, or the one most people want.
fn command() -> String {
    let typed =
        std::env::args().nth(1).filter(|word| Cli::command().find_subcommand(word).is_some());
    typed.unwrap_or_else(|| "replay".into())
}
