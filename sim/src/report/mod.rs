//! A flight as one page to keep, to send or to print: `chirrup report`.

mod climbs;
mod page;

use crate::ears::Ears;
use crate::error::{Error, Result};
use crate::input::Input;
use crate::inspect::{Inspection, picture};
use crate::output::files::{Files, PlotFormat};
use crate::output::place::Placed;
use crate::recording::Recording;
use crate::recording::track::Track;
use crate::run::{self, ReplayOptions};
use crate::settings_file::Instrument;
use crate::trace::columns::ColumnMap;
use chirrup_core::polar::Polar;
use climbs::List;
use page::Parts;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::sync::atomic::AtomicBool;

/// Samples a second of the sound.
const SOUND_HZ: u32 = 24_000;

/// What the page is made of, and where it goes.
#[derive(Clone, Debug)]
pub struct Request {
    /// The trace, which is read twice.
    pub input: Input,
    /// Which columns it is in.
    pub columns: ColumnMap,
    /// The instrument whose readings are shown.
    pub instrument: Instrument,
    /// The page.
    pub output: PathBuf,
    /// The sound, if any.
    pub wav: Option<PathBuf>,
}

/// Makes the page, and the sound where it was asked for; the files made.
///
/// # Errors
/// A trace that cannot be used, or a file that cannot be written; the page is then not there.
pub fn report(request: &Request, interrupted: &AtomicBool) -> Result<Vec<PathBuf>> {
    let Request { input, columns, instrument, output, wav } = request;
    let mut file = Placed::create(output)?;
    let recording = Recording::read(input, columns, interrupted)?;
    let polar = instrument.settings.polar.as_ref().and_then(|polar| Polar::new(polar).ok());
    let track = Track::of(&recording);
    let inspection = Inspection::of(&recording, &track, polar.as_ref());
    let folder = tempfile::tempdir()
        .map_err(|source| Error::io("cannot make", "a temporary folder", source))?;
    let picture_path = folder.path().join("replay.svg");
    let options = ReplayOptions {
        input: input.clone(),
        columns: columns.clone(),
        from: None,
        to: None,
        instruments: Ears { left: instrument.clone(), right: None },
        files: Files {
            wav: wav.clone(),
            plots: vec![(picture_path.clone(), PlotFormat::Svg)],
            csv: None,
        },
        sample_rate_hz: SOUND_HZ,
        play: false,
        title: None,
        injections: Vec::new(),
    };
    let average_s = options.instruments.left.settings.average_s;
    let mut list = List::default();
    let summary = run::replay(&options, interrupted, &mut |row| list.row(row))?;
    list.end();
    let replayed = std::fs::read_to_string(&picture_path)
        .map_err(|source| Error::io("cannot read", &picture_path, source))?;
    let inspected = picture::draw(&inspection, &track);
    let sound = wav.as_deref().map(|wav| beside(output, wav));
    let parts = Parts {
        summary: &summary,
        average_s,
        inspection: &inspection,
        climbs: &list.climbs,
        pictures: [&replayed, &inspected],
        sound: sound.as_deref(),
    };
    file.write_all(page::html(&parts).as_bytes())
        .map_err(|source| Error::io("cannot write", file.path(), source))?;
    Ok(file.finish()?.into_iter().chain(wav.clone()).collect())
}

/// How the page finds the sound: by its name alone where they share a folder.
fn beside(page: &Path, sound: &Path) -> String {
    let same = page.parent() == sound.parent();
    let name = if same { sound.file_name().map(Path::new).unwrap_or(sound) } else { sound };
    name.to_string_lossy().into_owned()
}
