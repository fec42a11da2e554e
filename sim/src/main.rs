//! The program: parse, run, say, exit.

use chirrup::cli::{
    Cli, Command, CompareArgs, DemoArgs, DeviceAction, DeviceArgs, DeviceSettingsAction, FlyArgs,
    InspectArgs, RecordArgs, ReplayArgs, ReportArgs, ResponseArgs, ToneArgs, TuneArgs,
};
use chirrup::device;
use chirrup::error::{Error, Result};
use chirrup::fly::list::List;
use chirrup::fly::request::{self, Request as Flight};
use chirrup::options::ReplayOptions;
use chirrup::response::request::Request;
use chirrup::response::respond;
use chirrup::tune::request::Request as Tuning;
use chirrup::{
    compare, demo, drill, fly, inject, inspect, listen, report, run, settings_file, tune,
};
use clap::{CommandFactory, Parser};
use serde::Serialize;
use std::io::{Write, stderr, stdout};
use std::path::Path;
use std::process::ExitCode;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

fn main() -> ExitCode {
    let cli = match Cli::try_parse() {
        Ok(cli) => cli,
        Err(error) => return answer(&error),
    };
    let interrupted = stop_on_ctrl_c();
    let done = match &cli.command {
        Command::Demo(args) => demo(args, &interrupted),
        Command::Replay(args) => replay(args, &interrupted),
        Command::Fly(args) => fly(args, &interrupted),
        Command::Inspect(args) => inspect(args, &interrupted),
        Command::Tune(args) => tune(args, &interrupted),
        Command::Report(args) => report(args, &interrupted),
        Command::Compare(args) => compare(args, &interrupted),
        Command::Response(args) => response(args, &interrupted),
        Command::Record(args) => record(args, &interrupted),
        Command::Device(args) => device(args, &interrupted),
        Command::Tone(args) => tone(args, &interrupted),
        Command::Listen(args) => listen::run(args, &interrupted).and_then(|told| say(&told)),
        Command::Drill(args) => {
            drill::terminal::run(args, &interrupted).and_then(|told| say(&told))
        }
        Command::Settings => say(settings_file::DEFAULTS_TOML),
    };
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            if !matches!(error, Error::ReaderGone) {
                // Nobody is left to tell when standard error is closed too.
                let _ = writeln!(stderr(), "chirrup: {error}");
            }
            ExitCode::from(error.exit_code())
        }
    }
}

/// Help and version as they are; anything else that was typed wrong in one line, as all our errors.
fn answer(error: &clap::Error) -> ExitCode {
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
        // Without a handler Ctrl-C ends the program as it does any other; files are still whole or
        // absent.
    }
    interrupted
}

fn demo(args: &DemoArgs, interrupted: &AtomicBool) -> Result<()> {
    let made = demo::make(&args.out, interrupted)?;
    say(&format!("{}\n{}\n", made.summary, made.guide))
}

fn replay(args: &ReplayArgs, interrupted: &AtomicBool) -> Result<()> {
    if args.inject.iter().any(|typed| typed == "list") {
        return say(&inject::list());
    }
    let options = ReplayOptions::new(args)?;
    let summary = run::replay(&options, interrupted, &mut |_| {})?;
    if args.json {
        return say(&json(&summary)?);
    }
    say_beside(&summary.to_string(), options.files.use_standard_output())
}

fn fly(args: &FlyArgs, interrupted: &AtomicBool) -> Result<()> {
    if args.list {
        let list = List::new()?;
        return say(&if args.json { json(&list.0)? } else { list.to_string() });
    }
    if args.show {
        return say(&request::source(args.scenario.as_deref())?.1);
    }
    let flight = Flight::new(args)?;
    let report = fly::fly(&flight, interrupted)?;
    if args.json {
        say(&json(&report)?)
    } else {
        say_beside(&report.to_string(), flight.output.as_os_str() == "-")
    }
}

fn inspect(args: &InspectArgs, interrupted: &AtomicBool) -> Result<()> {
    let inspections = inspect::all(args, interrupted)?;
    if args.json {
        return say(&json(&inspections)?);
    }
    let taken = args.plot.iter().chain(&args.csv).any(|path| path == Path::new("-"));
    say_beside(&inspections.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n"), taken)
}

fn tune(args: &TuneArgs, interrupted: &AtomicBool) -> Result<()> {
    let request = Tuning::new(args)?;
    let report = tune::tune(&request, interrupted)?;
    if args.json {
        say(&json(&report)?)
    } else {
        say_beside(&report.to_string(), request.uses_standard_output())
    }
}

fn report(args: &ReportArgs, interrupted: &AtomicBool) -> Result<()> {
    let made = report::report(args, interrupted)?;
    let said: String = made.iter().map(|path| format!("written  {}\n", path.display())).collect();
    say_beside(&said, args.output == Path::new("-"))
}

fn compare(args: &CompareArgs, interrupted: &AtomicBool) -> Result<()> {
    let request = compare::Request::new(args)?;
    let comparison = compare::compare(&request, interrupted)?;
    say(&if args.json { json(&comparison)? } else { comparison.to_string() })?;
    comparison.verdict(request.most_worse)
}

fn response(args: &ResponseArgs, interrupted: &AtomicBool) -> Result<()> {
    let request = Request::new(args)?;
    let report = respond(&request, interrupted)?;
    if args.json {
        say(&report.to_json()?)
    } else {
        say_beside(&report.to_string(), request.uses_standard_output())
    }
}

fn record(args: &RecordArgs, interrupted: &AtomicBool) -> Result<()> {
    let recorded =
        device::record::record(&args.port, &args.out, args.rate, args.seconds, interrupted)?;
    say_beside(&format!("{recorded}\n"), recorded.file.is_none())
}

fn device(args: &DeviceArgs, interrupted: &AtomicBool) -> Result<()> {
    let port = &args.port;
    match &args.action {
        DeviceAction::Settings(DeviceSettingsAction::Show) => {
            say(&device::settings::show(port, interrupted)?)
        }
        DeviceAction::Settings(DeviceSettingsAction::Load { file }) => {
            device::settings::load(port, file, interrupted)?;
            say(&format!(
                "in use; `chirrup device {} settings save` keeps them for the next start\n",
                port.display()
            ))
        }
        DeviceAction::Settings(DeviceSettingsAction::Save) => {
            device::settings::save(port, interrupted)?;
            say("saved\n")
        }
        DeviceAction::Selftest => {
            let (report, verdict) = device::selftest::report(port, interrupted)?;
            say(&report)?;
            verdict
        }
    }
}

fn tone(args: &ToneArgs, interrupted: &AtomicBool) -> Result<()> {
    let request = chirrup::tone::request::Request::new(args)?;
    let (law, places) = chirrup::tone::sound(&request, interrupted)?;
    if args.json {
        return say(&law.to_json()?);
    }
    let written: String =
        places.iter().map(|place| format!("written   {}\n", place.display())).collect();
    say_beside(&format!("{law}{written}"), request.files.use_standard_output())
}

/// Says `text` on standard output, or on standard error where standard output is a file that was
/// asked for.
fn say_beside(text: &str, output_is_taken: bool) -> Result<()> {
    if output_is_taken {
        stderr()
            .write_all(text.as_bytes())
            .map_err(|source| Error::io("cannot write", "standard error", source))
    } else {
        say(text)
    }
}

fn json(account: &(impl Serialize + ?Sized)) -> Result<String> {
    let text =
        serde_json::to_string_pretty(account).map_err(|error| Error::Refused(error.to_string()))?;
    Ok(text + "\n")
}

fn say(text: &str) -> Result<()> {
    let mut out = stdout().lock();
    out.write_all(text.as_bytes())
        .and_then(|()| out.flush())
        .map_err(|source| Error::io("cannot write", "standard output", source))
}
