//! A replay from end to end: the trace, the instruments, the outputs and the summary.

use crate::ears::Ears;
use crate::error::{Complaint, Error, Result};
use crate::inject::{Chain, Injected, Injection};
use crate::input::Input;
use crate::output::Output;
use crate::output::csv::CsvOutput;
use crate::output::drawn::{Drawing, DrawnOutput};
use crate::output::files::Files;
use crate::output::place::place_all;
use crate::output::watch::Watch;
use crate::output::wav::{self, WavOutput};
use crate::progress::Progress;
use crate::replay::{Replay, Stretch};
use crate::settings_file::Instrument;
use crate::summary::Summary;
use crate::time::Moment;
use crate::trace::columns::ColumnMap;
use crate::trace::{self, Item, Trace};
use chirrup_core::{InertialChoice, Micros};
use std::path::PathBuf;
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
    check_wav_length(options)?;
    let mut outputs = create_outputs(options, trace.has_inertial(), interrupted)?;
    let mut summary = Summary::new(name, trace.format(), &options.instruments);
    let mut replay =
        Replay::new(options.instruments.as_ref().map(|instrument| instrument.pipeline.clone()));
    let mut span = Span::new(options.from, options.to);
    let mut chain: Option<Chain> = None;
    while let Some(item) = trace.next() {
        if interrupted.load(Ordering::Relaxed) {
            return Err(Error::Interrupted);
        }
        progress.tick();
        match item? {
            Item::Skipped(skipped) => summary.skip(&skipped),
            Item::Sample { line, sample } => match span.place(sample.time, trace.as_ref())? {
                Place::Outside => {}
                Place::Done => break,
                Place::Inside => {
                    let chain = match &mut chain {
                        Some(chain) => chain,
                        None => chain.insert(injections(options, trace.as_ref())?),
                    };
                    for sample in chain.pass(&sample) {
                        let mut sound = |stretch: Stretch<'_>| {
                            watcher.sound(stretch);
                            outputs.iter_mut().try_for_each(|output| output.sound(stretch))
                        };
                        let row = replay.feed(line, sample, &mut sound)?;
                        outputs.iter_mut().try_for_each(|output| output.row(&row))?;
                        summary.values(line, sample);
                        summary.row(&row);
                        summary.truth(&row, &trace.truth());
                        watcher.row(&row);
                    }
                }
            },
        }
    }
    drop(progress);
    check_something_was_used(&summary, options)?;
    let mut notes = trace.notes();
    notes.extend(chain.iter().flat_map(Chain::notes));
    trace.utc_start_s().iter().for_each(|utc_s| watcher.time_zero_is(*utc_s));
    let places = finish(outputs, trace.utc_start_s(), &mut notes)?;
    summary.finish(trace.as_ref(), notes, places);
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

/// Reads a file once for its length, so that a WAV that cannot be is refused before it is begun.
fn check_wav_length(options: &ReplayOptions) -> Result<()> {
    if options.files.wav.is_none() || !options.input.can_be_read_again() {
        return Ok(());
    }
    let name = options.input.name();
    let mut trace = trace::open(&name, options.input.open()?.reader, &options.columns)?;
    let mut span = Span::new(options.from, options.to);
    let mut times: Option<(Micros, Micros)> = None;
    while let Some(item) = trace.next() {
        if let Item::Sample { sample, .. } = item? {
            match span.place(sample.time, trace.as_ref())? {
                Place::Outside => {}
                Place::Done => break,
                Place::Inside => {
                    let (first, last) = times.unwrap_or((sample.time, sample.time));
                    times = Some((first, last.max(sample.time)));
                }
            }
        }
    }
    let seconds = times.map_or(0.0, |(first, last)| last.since(first).0 as f64 * 1e-6);
    wav::check_length(&name, seconds, options.sample_rate_hz, options.instruments.count())
}

fn check_something_was_used(summary: &Summary, options: &ReplayOptions) -> Result<()> {
    if summary.samples_used > 0 {
        return Ok(());
    }
    let skipped = summary.lines_skipped_in_all();
    let mut complaint = Complaint {
        file: summary.trace.clone(),
        line: None,
        column: None,
        found: "no samples".into(),
        expected: match summary.format {
            "igc" => "B records with a time and an altitude".into(),
            _ => "at least one row with a time and a static pressure".into(),
        },
        hint: None,
    };
    if let Some(reason) = summary.main_reason() {
        complaint.line = Some(reason.first_line);
        complaint.found = format!("no usable sample in {skipped} lines (mostly: {})", reason.what);
    } else if let Some(fault) = summary.faults.first() {
        complaint.line = Some(fault.first_line);
        complaint.found = format!("no usable sample ({} in {})", fault.what, fault.count);
        complaint.expected = "static pressures from 5000 to 115000 Pa".into();
        complaint.hint =
            Some("name the column and its unit with --columns static=COLUMN:hPa".into());
    } else if options.from.is_some() || options.to.is_some() {
        complaint.found = "no samples between --from and --to".into();
        complaint.hint =
            Some("times count on the trace's own time, or on UTC with a Z (13:05:00Z)".into());
    }
    Err(complaint.into())
}

/// So many samples beyond the end in a row are the end; fewer may be a wild time stamp.
const BEYOND_THE_END: u32 = 100;

/// Where a sample lies to the part of the trace that is wanted.
enum Place {
    Outside,
    Inside,
    /// Outside, and so is all that follows.
    Done,
}

/// The part of the trace that is wanted; UTC times become times of the trace when its first sample
/// is there.
struct Span {
    from: Option<Moment>,
    to: Option<Moment>,
    resolved: Option<(Option<Micros>, Option<Micros>)>,
    beyond: u32,
}

impl Span {
    fn new(from: Option<Moment>, to: Option<Moment>) -> Self {
        Self { from, to, resolved: None, beyond: 0 }
    }

    fn place(&mut self, time: Micros, trace: &dyn Trace) -> Result<Place> {
        let (from, to) = match self.resolved {
            Some(known) => known,
            None => {
                let known = (resolve(self.from, trace)?, resolve(self.to, trace)?);
                *self.resolved.insert(known)
            }
        };
        if to.is_some_and(|to| time > to) {
            self.beyond += 1;
            return Ok(if self.beyond > BEYOND_THE_END { Place::Done } else { Place::Outside });
        }
        self.beyond = 0;
        Ok(if from.is_some_and(|from| time < from) { Place::Outside } else { Place::Inside })
    }
}

fn resolve(moment: Option<Moment>, trace: &dyn Trace) -> Result<Option<Micros>> {
    let seconds = match moment {
        None => return Ok(None),
        Some(Moment::Trace(seconds)) => seconds,
        Some(Moment::Utc(clock)) => {
            let zero = trace.utc_start_s().ok_or_else(|| {
                Error::Usage(
                    "a UTC time (with a Z) needs a trace that knows the time of day, \
                    such as an IGC file; use seconds"
                        .into(),
                )
            })?;
            // A clock more than half a day before the start is the next day's.
            let since = clock - zero;
            if since < -43_200.0 { since + 86_400.0 } else { since }
        }
    };
    Ok(Some(Micros((seconds * 1e6).round() as i64)))
}
