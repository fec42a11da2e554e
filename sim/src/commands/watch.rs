//! `chirrup watch`: a replay made anew whenever its settings file changes.

use super::common::{ColumnsArg, LargeArg, OUTPUTS, SoundRateArg, SpanArgs};
use super::places::{check_places, what_is_read};
use super::say::{say, say_beside};
use super::values::{Drawing, drawing};
use chirrup::ears::Ears;
use chirrup::error::{Error, Result};
use chirrup::input::Input;
use chirrup::output::files::Files;
use chirrup::run::ReplayOptions;
use chirrup::settings_file;
use chirrup::watch::{self, News, Request};
use chirrup_core::Settings;
use clap::Args;
use std::path::PathBuf;
use std::sync::atomic::AtomicBool;

/// Arguments of `watch`.
#[derive(Args, Debug)]
#[command(after_help = HELP)]
pub struct WatchArgs {
    /// The settings file to watch; `chirrup settings` prints one to start from
    #[arg(value_name = "SETTINGS")]
    settings: String,
    /// The trace: a CSV or IGC file; it is watched as well
    #[arg(value_name = "TRACE")]
    trace: PathBuf,
    /// Write the sound as a WAV file
    #[arg(long, value_name = "FILE", help_heading = OUTPUTS)]
    wav: Option<PathBuf>,
    /// Draw the picture, as SVG or PNG by the file's ending
    #[arg(long, value_name = "FILE", value_parser = drawing(), help_heading = OUTPUTS)]
    plot: Option<Drawing>,
    /// Write the readings as CSV, one line a sample
    #[arg(long, value_name = "FILE", help_heading = OUTPUTS)]
    csv: Option<PathBuf>,
    #[command(flatten)]
    sound_rate: SoundRateArg,
    #[command(flatten)]
    large: LargeArg,
    #[command(flatten)]
    span: SpanArgs,
    #[command(flatten)]
    columns: ColumnsArg,
}

const HELP: &str = "\
Each time one line says which settings have changed, how long it took, and what the readings are; a
trace of `chirrup fly` has the truth to compare them with. Settings with an error are reported in
one line, and the outputs stay as they were until the file is mended. Ctrl-C ends it.

Examples:
  chirrup settings > my.toml
  chirrup watch my.toml flight.csv --plot flight.png --wav flight.wav
  chirrup watch my.toml flight.igc --from 12:05:00Z --to 12:15:00Z --plot thermal.png";

/// Watches until Ctrl-C.
pub fn run(args: &WatchArgs, interrupted: &AtomicBool) -> Result<()> {
    watch::watch(request(args)?, interrupted, &mut tell)
}

/// Checks the arguments.
fn request(args: &WatchArgs) -> Result<Request> {
    let plots = args.plot.iter().cloned().collect();
    let may_be_large = args.large.yes;
    let files = Files { wav: args.wav.clone(), plots, csv: args.csv.clone(), may_be_large };
    if files.use_standard_output() {
        return Err(Error::Usage(
            "watch makes its outputs again and again, which standard output cannot hold; give \
             each a file instead of -"
                .into(),
        ));
    }
    let read = what_is_read([args.trace.as_path()], [&args.settings]);
    check_places(&read, &files.all().collect::<Vec<_>>(), false)?;
    args.span.check()?;
    let input = Input::new(&args.trace).to_be_read_twice()?;
    let replay = ReplayOptions {
        input,
        columns: args.columns.map(),
        from: args.span.from,
        to: args.span.to,
        injections: Vec::new(),
        // In its place comes the instrument of the settings file.
        instruments: Ears {
            left: settings_file::build("defaults", Settings::default())?,
            right: None,
        },
        files,
        sample_rate_hz: args.sound_rate.hz,
        play: false,
        title: None,
    };
    Ok(Request { settings: args.settings.clone(), trace: args.trace.clone(), replay })
}

/// Prints one line.
fn tell(news: News) -> Result<()> {
    match news {
        News::Made(made) => say(&format!("{made}\n")),
        News::Same => say("no setting has changed; the outputs are kept\n"),
        News::Failed(error) => {
            say_beside(&format!("chirrup: {error}; the outputs are kept\n"), true)
        }
        News::Gone(name) => say_beside(&format!("{name} is not there; it is waited for\n"), true),
        News::Note(note) => say_beside(&format!("note: {note}\n"), true),
    }
}
