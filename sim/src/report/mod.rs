//! A flight as one page to keep, send or print: `chirrup report`.

mod climbs;
mod page;

use crate::ears::Ears;
use crate::error::Result;
use crate::input::Input;
use crate::inspect::steps::Steps;
use crate::inspect::{Inspection, picture};
use crate::output::drawn::Drawing;
use crate::output::files::Files;
use crate::output::place::Placed;
use crate::output::watch::Watch;
use crate::recording::Recording;
use crate::recording::track::Track;
use crate::replay::{Row, Stretch};
use crate::run::{self, ReplayOptions};
use crate::settings_file::Instrument;
use crate::trace::columns::ColumnMap;
use climbs::List;
use page::Parts;
use std::path::{Path, PathBuf};
use std::sync::atomic::AtomicBool;

/// Samples a second of the sound.
const SOUND_HZ: u32 = 24_000;

/// The inputs and outputs of the page.
#[derive(Clone, Debug)]
pub struct Request {
    /// The trace, which is read twice.
    pub input: Input,
    /// Which columns it is in.
    pub columns: ColumnMap,
    /// The segment to use where a trace has several, the first being 1; else the longest with a
    /// flight.
    pub segment: Option<usize>,
    /// The instrument whose readings are shown.
    pub instrument: Instrument,
    /// The page.
    pub output: PathBuf,
    /// The sound, if any.
    pub wav: Option<PathBuf>,
    /// Whether it may be large.
    pub may_be_large: bool,
}

/// Makes the page, and the sound if requested; returns the files made.
///
/// # Errors
/// A trace that cannot be used, or a file that cannot be written; the page is then not there.
pub fn report(request: &Request, interrupted: &AtomicBool) -> Result<Vec<PathBuf>> {
    // Before the work, so that a missing folder is reported at once.
    let file = Placed::create(&request.output)?;
    let page = html(request, interrupted)?;
    let placed = file.seal_with(page.as_bytes())?.place()?;
    Ok(placed.into_iter().chain(request.wav.clone()).collect())
}

/// The page as HTML; the sound is then in its file.
fn html(request: &Request, interrupted: &AtomicBool) -> Result<String> {
    let Request { input, columns, instrument, output, wav, .. } = request;
    let recording = Recording::read(input, columns, interrupted)?.segment(request.segment)?;
    let (track, steps) = Steps::off(Track::of(&recording));
    let inspection = Inspection::of(&recording, &track, steps, &instrument.settings);
    let instruments = Ears { left: instrument.clone(), right: None };
    let mut seen =
        Seen { climbs: List::default(), drawing: Drawing::new(input.title(), instruments.clone()) };
    let options = ReplayOptions {
        input: input.clone(),
        columns: columns.clone(),
        from: None,
        to: None,
        cuts_before: Some(recording.segment.cuts_before),
        instruments,
        files: Files { wav: wav.clone(), may_be_large: request.may_be_large, ..Files::default() },
        sample_rate_hz: SOUND_HZ,
        play: false,
        title: None,
        injections: Vec::new(),
    };
    let summary = run::replay(&options, interrupted, &mut seen)?;
    seen.climbs.end();
    let sound = wav.as_deref().map(|wav| beside(output, wav));
    Ok(page::html(&Parts {
        summary: &summary,
        average_s: instrument.settings.average.span_s,
        inspection: &inspection,
        climbs: &seen.climbs.climbs,
        pictures: [&seen.drawing.into_svg(), &picture::draw(&inspection, &track)],
        sound: sound.as_deref(),
    }))
}

/// What the page shows of the replay.
struct Seen {
    climbs: List,
    drawing: Drawing,
}

impl Watch for Seen {
    fn row(&mut self, row: &Row) {
        self.climbs.row(row);
        self.drawing.row(row);
    }

    fn sound(&mut self, stretch: Stretch<'_>) {
        self.drawing.sound(stretch);
    }

    fn time_zero_is(&mut self, utc_s: f64) {
        self.drawing.time_zero_is(utc_s);
    }
}

/// The page's link to the sound: the file name alone if they share a folder.
fn beside(page: &Path, sound: &Path) -> String {
    let same = page.parent() == sound.parent();
    let name = if same { sound.file_name().map(Path::new).unwrap_or(sound) } else { sound };
    name.to_string_lossy().into_owned()
}
