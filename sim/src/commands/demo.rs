//! `chirrup demo`: the demonstration flight, which needs no file.

use super::say::say;
use chirrup::demo;
use chirrup::error::Result;
use clap::Args;
use std::path::PathBuf;
use std::sync::atomic::AtomicBool;

/// Arguments of `demo`.
#[derive(Args, Debug)]
pub struct DemoArgs {
    /// Folder to put the files in; made if it does not exist
    #[arg(short, long, alias = "out", value_name = "DIR", default_value = "chirrup-demo")]
    output: PathBuf,
}

/// Makes the demonstration and prints what to listen for.
pub fn run(args: &DemoArgs, interrupted: &AtomicBool) -> Result<()> {
    let made = demo::make(&args.output, interrupted)?;
    say(&format!("{}\n{}\n", made.summary, made.guide))
}
