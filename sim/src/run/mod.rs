//! A replay from end to end: the trace, the instruments, the outputs and the summary.

mod size;
mod span;

use crate::ears::Ears;
use crate::error::{Complaint, Error, Result};
use crate::inject::{Chain, Injected, Injection};
use crate::input::Input;
use crate::output::Output;
use crate::output::csv::CsvOutput;
use crate::output::drawn::{Drawing, DrawnOutput};
use crate::output::files::Files;
use crate::output::place::place_all;
use crate::output::sizes::Sizes;
use crate::output::watch::Watch;
use crate::output::wav::{self, WavOutput};
use crate::progress::Progress;
use crate::replay::{Listening, Replay, Stretch};
use crate::settings_file::Instrument;
use crate::summary::Summary;
use crate::time::Moment;
use crate::trace::columns::ColumnMap;
use crate::trace::{self, Item, Trace};
use chirrup_core::InertialChoice;
use size::Rows;
use span::{Place, Span, resolve};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};

/// Everything a replay needs to know.
pub struct ReplayOptions {
    /// Where the samples come from.
    pub input: Input,
    /// Which columns they are in.
    pub columns: ColumnMap,
    /// The first moment wanted.
    pub from: Option<Moment>,
    /// The last moment wanted.
    pub to: Option<Moment>,
    /// Faults to put into the trace.
    pub injections: Vec<Injection>,
    /// The instrument, and the one beside it.
    pub instruments: Ears<Instrument>,
    /// Files to make.
    pub files: Files,
    /// Samples a second of the WAV.
    pub sample_rate_hz: u32,
    /// Play the sound live.
    pub play: bool,
    /// Heading of the picture; the trace's name where absent.
    pub title: Option<String>,
}

/// Replays a trace and makes the requested outputs; `interrupted` stops it between two samples,
/// `watcher` sees every row and all sound.
///
/// # Errors
/// Whatever stops the run; no output is then under its name.
pub fn replay(
    options: &ReplayOptions,
    interrupted: &AtomicBool,
    watcher: &mut dyn Watch,
) -> Result<Summary> {
    let name = options.input.name();
    let opened = options.input.open()?;
    let mut progress = Progress::new(opened.length, opened.read);
    let mut trace = trace::open(&name, opened.reader, &options.columns).map_err(|error| {
        if interrupted.load(Ordering::Relaxed) { Error::Interrupted } else { error }
    })?;
    check_sizes(options)?;
    let outputs = create_outputs(options, trace.has_inertial(), interrupted)?;
    outputs.iter().for_each(|output| output.empty_before(&opened.waiting));
    let mut tick = || progress.tick();
    replay_into(outputs, options, (trace.as_mut(), &mut tick), interrupted, watcher)
}

/// The same with a trace that is open, of which `options.input` is only the name; `tick` is called
/// for every line.
///
/// # Errors
/// Those of [`replay`].
pub fn replay_trace(
    options: &ReplayOptions,
    trace: &mut dyn Trace,
    tick: &mut dyn FnMut(),
    interrupted: &AtomicBool,
    watcher: &mut dyn Watch,
) -> Result<Summary> {
    let outputs = create_outputs(options, trace.has_inertial(), interrupted)?;
    replay_into(outputs, options, (trace, tick), interrupted, watcher)
}

fn replay_into(
    mut outputs: Vec<Box<dyn Output + '_>>,
    options: &ReplayOptions,
    (trace, tick): (&mut dyn Trace, &mut dyn FnMut()),
    interrupted: &AtomicBool,
    watcher: &mut dyn Watch,
) -> Result<Summary> {
    let name = options.input.name();
    let listening = outputs.iter().map(|output| output.listening());
    let listening = listening.fold(watcher.listening(), Listening::max);
    let mut summary = Summary::new(name.clone(), trace.format(), &options.instruments);
    let mut replay =
        Replay::new(options.instruments.as_ref().map(|instrument| instrument.pipeline.clone()));
    let mut span = Span::new(options.from, options.to);
    let mut chain: Option<Chain> = None;
    while let Some(item) = trace.next() {
        if interrupted.load(Ordering::Relaxed) {
            return Err(Error::Interrupted);
        }
        tick();
        match item? {
            Item::Skipped(skipped) => summary.skip(&skipped),
            Item::Sample { line, sample } => match span.place(sample.time, trace)? {
                Place::Outside => {}
                Place::Done => break,
                Place::Inside => {
                    let chain = match &mut chain {
                        Some(chain) => chain,
                        None => chain.insert(injections(options, trace)?),
                    };
                    for sample in chain.pass(&sample) {
                        let mut sound = |stretch: Stretch<'_>| {
                            watcher.sound(stretch);
                            outputs.iter_mut().try_for_each(|output| output.sound(stretch))
                        };
                        let row = replay.feed_to(listening, (line, sample), &mut sound)?;
                        outputs.iter_mut().try_for_each(|output| output.row(&row))?;
                        check_written(&name, options, &outputs)?;
                        summary.values(line, sample);
                        summary.row(&row, trace);
                        summary.truth(&row, &trace.truth());
                        watcher.row(&row);
                    }
                }
            },
        }
    }
    check_something_was_used(&summary, options)?;
    let mut notes = trace.notes();
    notes.extend(chain.iter().flat_map(Chain::notes));
    trace.utc_start_s().iter().for_each(|utc_s| watcher.time_zero_is(*utc_s));
    let places = finish(outputs, trace.utc_start_s(), &mut notes)?;
    summary.finish(trace, notes, places);
    Ok(summary)
}

/// Completes all outputs and gives them their names; `utc_s` is the UTC of the trace's time zero.
fn finish(
    outputs: Vec<Box<dyn Output + '_>>,
    utc_s: Option<f64>,
    notes: &mut Vec<String>,
) -> Result<Vec<PathBuf>> {
    let mut sealed = Vec::new();
    for mut output in outputs {
        if let Some(utc_s) = utc_s {
            output.time_zero_is(utc_s);
        }
        notes.extend(output.notes());
        sealed.extend(output.finish()?);
    }
    place_all(sealed)
}

/// The requested faults; UTC times become the trace's, which it knows once its first sample is
/// there.
fn injections(options: &ReplayOptions, trace: &dyn Trace) -> Result<Chain> {
    let begin = |(seed, injection): (u64, &Injection)| {
        Ok(Injected::new(injection, resolve(injection.from, trace)?, seed))
    };
    let links = (1..).zip(&options.injections).map(begin).collect::<Result<_>>()?;
    Ok(Chain::new(links))
}

fn create_outputs<'a>(
    options: &ReplayOptions,
    has_inertial: bool,
    interrupted: &'a AtomicBool,
) -> Result<Vec<Box<dyn Output + 'a>>> {
    let is_used = options.instruments.left.settings.inertial.choice != InertialChoice::Off;
    let two_ears = options.instruments.right.is_some();
    let mut outputs: Vec<Box<dyn Output + 'a>> = Vec::new();
    if let Some(path) = &options.files.wav {
        outputs.push(Box::new(WavOutput::create(path, options.sample_rate_hz, two_ears)?));
    }
    if let Some(path) = &options.files.csv {
        outputs.push(Box::new(CsvOutput::create(path, has_inertial && is_used)?));
    }
    if !options.files.plots.is_empty() {
        let title = options.title.clone().unwrap_or_else(|| options.input.title());
        let drawing = Drawing::new(title, options.instruments.clone());
        outputs.push(Box::new(DrawnOutput::create(&options.files.plots, drawing)?));
    }
    if options.play {
        outputs.push(live_output(two_ears, interrupted)?);
    }
    Ok(outputs)
}

#[cfg(feature = "play")]
pub(crate) fn live_output(
    two_ears: bool,
    interrupted: &AtomicBool,
) -> Result<Box<dyn Output + '_>> {
    Ok(Box::new(crate::output::live::LiveOutput::open(two_ears, interrupted)?))
}

#[cfg(not(feature = "play"))]
pub(crate) fn live_output(
    _two_ears: bool,
    _interrupted: &AtomicBool,
) -> Result<Box<dyn Output + '_>> {
    Err(crate::output::live::refusal())
}

/// Reads a file once for the sizes of what would be written, so that what cannot be or is more
/// than the user may expect is refused before it is begun.
fn check_sizes(options: &ReplayOptions) -> Result<()> {
    let ReplayOptions { files, input, .. } = options;
    if files.wav.is_none() && files.csv.is_none() || !input.can_be_read_again() {
        return Ok(());
    }
    let is_readings_of_all = files.wav.is_none() && options.from.is_none() && options.to.is_none();
    if is_readings_of_all
        && size::are_few(trace::lines_at_most(&input.name(), input.open()?.reader)?)
    {
        return Ok(());
    }
    let mut trace = trace::open(&input.name(), input.open()?.reader, &options.columns)?;
    let mut span = Span::new(options.from, options.to);
    let mut rows = Rows::default();
    while let Some(item) = trace.next() {
        if let Item::Sample { sample, .. } = item? {
            match span.place(sample.time, trace.as_ref())? {
                Place::Outside => {}
                Place::Done => break,
                Place::Inside => rows.take(&sample),
            }
        }
    }
    let (name, rate_hz, ears) = (input.name(), options.sample_rate_hz, options.instruments.count());
    if files.wav.is_some() {
        wav::check_length(&name, rows.lasts_s(), rate_hz, ears)?;
    }
    let sizes = Sizes {
        sound: files.wav.as_ref().map_or(0, |_| rows.sound_bytes(rate_hz, ears)),
        readings: files
            .csv
            .as_ref()
            .filter(|path| path.as_path() != Path::new("-"))
            .map_or(0, |_| rows.readings_bytes(trace.has_inertial())),
    };
    sizes.check(&name, files.may_be_large)
}

/// The same for what has been written so far, since a stream cannot be read twice.
fn check_written(
    name: &str,
    options: &ReplayOptions,
    outputs: &[Box<dyn Output + '_>],
) -> Result<()> {
    if options.files.may_be_large {
        return Ok(());
    }
    let sizes = outputs.iter().map(|output| output.bytes());
    let written = sizes.fold(Sizes::default(), Sizes::plus);
    written.check(name, false)
}

fn check_something_was_used(summary: &Summary, options: &ReplayOptions) -> Result<()> {
    if summary.samples_used > 0 {
        return Ok(());
    }
    let skipped = summary.lines_skipped_in_all();
    // Arrays have no lines.
    let line = |line| (summary.format != "arrays").then_some(line);
    let mut complaint = Complaint {
        file: summary.trace.clone(),
        line: None,
        column: None,
        found: "no samples".into(),
        expected: match summary.format {
            "igc" => "B records with a time and an altitude".into(),
            "arrays" => "at least one time with a static pressure".into(),
            _ => "at least one row with a time and a static pressure".into(),
        },
        hint: None,
    };
    if let Some(reason) = summary.main_reason() {
        complaint.line = line(reason.first_line);
        complaint.found = format!("no usable sample in {skipped} lines (mostly: {})", reason.what);
    } else if let Some(fault) = summary.faults.first() {
        complaint.line = line(fault.first_line);
        complaint.found = format!("no usable sample ({} in {})", fault.what, fault.count);
        complaint.expected = "static pressures from 5000 to 115000 Pa".into();
        complaint.hint = Some(match summary.format {
            "arrays" => "give pressures in Pa, not in hPa".into(),
            _ => "name the column and its unit with --columns static=COLUMN:hPa".into(),
        });
    } else if options.from.is_some() || options.to.is_some() {
        complaint.found = "no samples between --from and --to".into();
        complaint.hint =
            Some("times count on the trace's own time, or on UTC with a Z (13:05:00Z)".into());
    }
    Err(complaint.into())
}
