//! The command line, checked: what a run reads, what it makes, and with which instruments.

use crate::cli::{EnergyArg, ReplayArgs};
use crate::ears::Ears;
use crate::error::{Error, Result};
use crate::inject::Injection;
use crate::input::Input;
use crate::settings_file::{self, Instrument};
use crate::time::Moment;
use crate::trace::columns::ColumnMap;
use chirrup_core::energy::EnergyChoice;
use chirrup_core::settings::Settings;
use std::path::{Path, PathBuf};

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

/// Files to make.
#[derive(Clone, Debug, Default)]
pub struct Files {
    /// The sound.
    pub wav: Option<PathBuf>,
    /// The pictures.
    pub plots: Vec<(PathBuf, PlotFormat)>,
    /// The readings.
    pub csv: Option<PathBuf>,
}

/// Kinds of picture.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PlotFormat {
    /// Vector picture.
    Svg,
    /// Pixels, 1200 by 800.
    Png,
}

impl Files {
    pub(crate) fn all(&self) -> impl Iterator<Item = &Path> {
        let plots = self.plots.iter().map(|(path, _)| path);
        self.wav.iter().chain(plots).chain(&self.csv).map(PathBuf::as_path)
    }

    /// Whether one of them is standard output.
    pub fn use_standard_output(&self) -> bool {
        self.all().any(|path| path == Path::new("-"))
    }
}

impl ReplayOptions {
    /// Checks what was typed.
    ///
    /// # Errors
    /// The first thing that cannot be used, and what to do instead.
    pub fn new(args: &ReplayArgs) -> Result<Self> {
        let plots = drawing(args.plot.as_deref())?.into_iter().collect();
        let files = Files { wav: args.wav.clone(), plots, csv: args.csv.clone() };
        let trace = args.trace.as_deref().ok_or_else(|| {
            Error::Usage(
                "--inject needs a trace to put the fault into; `--inject list` alone prints the faults".into(),
            )
        })?;
        let input = Input::new(trace);
        check_places(&read_by(trace, args), &files.all().collect::<Vec<_>>(), args.json)?;
        check_range(args.from, args.to)?;
        Ok(Self {
            input,
            columns: args.columns.clone().unwrap_or_default(),
            from: args.from,
            to: args.to,
            injections: args.inject.iter().map(|typed| injection(typed)).collect::<Result<_>>()?,
            instruments: instruments(args)?,
            files,
            sample_rate_hz: args.rate,
            play: args.play,
            title: None,
        })
    }
}

fn injection(typed: &str) -> Result<Injection> {
    typed.parse().map_err(|error| Error::Usage(format!("--inject {typed}: {error}")))
}

/// The files that a run reads.
fn read_by<'a>(trace: &'a Path, args: &'a ReplayArgs) -> Vec<(&'a str, &'a Path)> {
    what_is_read([trace], args.settings.iter().chain(&args.against))
}

/// Traces and settings as what must not be written over; standard input cannot be.
pub(crate) fn what_is_read<'a>(
    traces: impl IntoIterator<Item = &'a Path>,
    settings: impl IntoIterator<Item = &'a String>,
) -> Vec<(&'a str, &'a Path)> {
    let traces =
        traces.into_iter().filter(|path| *path != Path::new("-")).map(|path| ("trace", path));
    traces.chain(settings.into_iter().map(|source| ("settings file", Path::new(source)))).collect()
}

fn instruments(args: &ReplayArgs) -> Result<Ears<Instrument>> {
    let mut left = settings_file::load_or_defaults(args.settings.as_deref())?;
    if let Some(energy) = args.energy {
        left =
            settings_file::build(&left.name, Settings { energy: energy.into(), ..left.settings })?;
    }
    let right = args
        .against
        .as_ref()
        .map(|source| settings_file::load(source, &left.settings))
        .transpose()?;
    Ok(Ears { left, right })
}

impl From<EnergyArg> for EnergyChoice {
    fn from(typed: EnergyArg) -> Self {
        match typed {
            EnergyArg::None => EnergyChoice::None,
            EnergyArg::Electronic => EnergyChoice::Electronic,
            EnergyArg::Probe => EnergyChoice::Probe,
            EnergyArg::Auto => EnergyChoice::Auto,
        }
    }
}

/// Where a picture was asked for, and of which kind.
pub(crate) fn drawing(plot: Option<&Path>) -> Result<Option<(PathBuf, PlotFormat)>> {
    plot.map(|path| plot_format(path).map(|format| (path.to_owned(), format))).transpose()
}

/// Refuses a number that an option cannot be.
pub(crate) fn in_range(option: &str, value: f64, least: f64, most: f64) -> Result<()> {
    if (least..=most).contains(&value) {
        Ok(())
    } else {
        Err(Error::Usage(format!("{option} is {value}, expected {least} to {most}")))
    }
}

/// The kind of picture that the ending of `path` asks for.
fn plot_format(path: &Path) -> Result<PlotFormat> {
    let ending = path.extension().map(|ending| ending.to_string_lossy().to_ascii_lowercase());
    match ending.as_deref() {
        Some("svg") => Ok(PlotFormat::Svg),
        Some("png") => Ok(PlotFormat::Png),
        None if path == Path::new("-") => Ok(PlotFormat::Svg),
        _ => Err(Error::Usage(format!(
            "--plot {}: found no known ending, expected .svg or .png",
            path.display()
        ))),
    }
}

/// Where a path leads, whatever way it is written: the folder's real path, and the file's where it
/// is there.
pub(crate) fn place_of(path: &Path) -> PathBuf {
    if path == Path::new("-") {
        return path.to_owned();
    }
    let in_folder = || {
        let folder =
            path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
        Some(folder.canonicalize().ok()?.join(path.file_name()?))
    };
    path.canonicalize().ok().or_else(in_folder).unwrap_or_else(|| path.to_owned())
}

/// Refuses two outputs in one place, and an output over something that is `read`.
pub(crate) fn check_places(read: &[(&str, &Path)], written: &[&Path], json: bool) -> Result<()> {
    let mut places: Vec<PathBuf> = written.iter().map(|path| place_of(path)).collect();
    if json && written.contains(&Path::new("-")) {
        return Err(Error::Usage(
            "--json and an output to - both want standard output; give one of them a file".into(),
        ));
    }
    places.sort_unstable();
    for pair in places.windows(2) {
        if pair[0] == pair[1] {
            let place = pair[0].display();
            return Err(Error::Usage(format!(
                "two outputs would be written to {place}; give each its own file"
            )));
        }
    }
    for place in places {
        let read = read.iter().find(|(_, path)| place_of(path) == place);
        if let Some((what, _)) = read {
            let place = place.display();
            return Err(Error::Usage(format!(
                "the output {place} is the {what} itself; give it another name"
            )));
        }
    }
    Ok(())
}

fn check_range(from: Option<Moment>, to: Option<Moment>) -> Result<()> {
    match (from, to) {
        (Some(Moment::Trace(from)), Some(Moment::Trace(to))) if from >= to => {
            Err(Error::Usage(format!(
                "--from {from} is not before --to {to} (seconds); there is nothing between them"
            )))
        }
        _ => Ok(()),
    }
}
