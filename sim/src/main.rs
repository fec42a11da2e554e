//! The program: parse, run, exit.

#![cfg_attr(
    not(feature = "program"),
    allow(dead_code, reason = "the commands that call it are in the whole program")
)]

mod commands;

use chirrup::error::Error;
use chirrup::output::leftover::swept;
use chirrup::words::{one_line, shown_path};
use clap::Parser;
use commands::{Cli, usage};
use std::io::{Write, stderr};
use std::process::ExitCode;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

fn main() -> ExitCode {
    let cli = match Cli::try_parse() {
        Ok(cli) => cli,
        Err(error) => return usage::answer(&error),
    };
    let ended = cli.run(&stop_on_ctrl_c());
    for left in swept() {
        let path = shown_path(&left);
        let _ = writeln!(stderr(), "note: removed {path}, which a run that was killed had left");
    }
    match ended {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            if !matches!(error, Error::ReaderGone) {
                // If standard error is closed too, nobody can read it.
                let _ = writeln!(stderr(), "chirrup: {}", one_line(&error.to_string()));
            }
            ExitCode::from(error.exit_code())
        }
    }
}

/// A flag that Ctrl-C raises; a second Ctrl-C ends the program at once.
fn stop_on_ctrl_c() -> Arc<AtomicBool> {
    let interrupted = Arc::new(AtomicBool::new(false));
    let flag = Arc::clone(&interrupted);
    let handler = move || {
        if flag.swap(true, Ordering::Relaxed) {
            std::process::exit(130);
        }
    };
    if ctrlc::set_handler(handler).is_err() {
        // Without a handler Ctrl-C ends the program at once; files are still complete or absent.
    }
    interrupted
}
