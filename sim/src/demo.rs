//! The demonstration: a built-in flight, every output, and what to listen for.

use crate::ears::Ears;
use crate::error::{Error, Result};
use crate::input::Input;
use crate::output::files::{Files, PlotFormat};
use crate::output::place::write_text;
use crate::replay::Row;
use crate::run::{self, ReplayOptions};
use crate::settings_file;
use crate::summary::Summary;
use crate::time::Clock;
use crate::trace::columns::ColumnMap;
use crate::units::Units;
use crate::words::shown_path;
use chirrup_core::Settings;
use chirrup_recordings::DEMO_FLIGHT;
use std::fmt::{self, Write as _};
use std::fs;
use std::path::Path;
use std::sync::atomic::AtomicBool;

/// A part of the flight worth listening to.
struct Chapter {
    from_s: f64,
    to_s: f64,
    title: &'static str,
    listen: &'static str,
}

const CHAPTERS: [Chapter; 9] = [
    Chapter { from_s: 0.0, to_s: 15.0, title: "on the ground", listen: "silence" },
    Chapter {
        from_s: 15.0,
        to_s: 48.0,
        title: "winch launch",
        listen: "fast, high beeps, slower and lower towards the release",
    },
    Chapter {
        from_s: 53.0,
        to_s: 107.0,
        title: "glide in still air",
        listen: "silence: a glider's own sink is no news",
    },
    Chapter { from_s: 118.0, to_s: 168.0, title: "weak thermal", listen: "slow, low beeps" },
    Chapter {
        from_s: 191.0,
        to_s: 274.0,
        title: "strong thermal",
        listen: "beeps that swell and fade with every circle, until at 3:55 the circle is centred",
    },
    Chapter {
        from_s: 302.0,
        to_s: 313.0,
        title: "dive in still air",
        listen: "no more than the tone of fast flight, though the glider falls: height turned into \
                 speed is not lost",
    },
    Chapter {
        from_s: 313.0,
        to_s: 321.0,
        title: "pull-up in still air",
        listen: "no beep, though the glider shoots up: height bought with speed is no lift",
    },
    Chapter { from_s: 336.0, to_s: 381.0, title: "steep sink", listen: "a low steady tone: leave" },
    Chapter {
        from_s: 430.0,
        to_s: 482.0,
        title: "approach with airbrakes",
        listen: "the same tone, this time on purpose",
    },
];

/// What the demonstration made.
pub struct Demo {
    /// The summary of the replay.
    pub summary: Summary,
    /// The accompanying text: what to listen for, and what to try next.
    pub guide: String,
}

/// Makes the demonstration in `folder`.
///
/// # Errors
/// When the folder cannot be made or a file in it cannot be written.
pub fn make(folder: &Path, interrupted: &AtomicBool) -> Result<Demo> {
    fs::create_dir_all(folder)
        .map_err(|source| Error::io("cannot make the folder", folder, source))?;
    let place = |name: &str| folder.join(name);
    let options = options(Files {
        may_be_large: true,
        wav: Some(place("demo.wav")),
        plots: vec![(place("demo.svg"), PlotFormat::Svg), (place("demo.png"), PlotFormat::Png)],
        csv: Some(place("demo.csv")),
    })?;
    let mut means = [Mean::default(); CHAPTERS.len()];
    let mut summary = run::replay(&options, interrupted, &mut |row: &Row| note(&mut means, row))?;
    let trace = place("flight.csv");
    write_text(&trace, DEMO_FLIGHT)?;
    let guide = Guide { means: &means, trace: &trace, folder }.to_string();
    let text = place("summary.txt");
    summary.outputs.extend([trace.clone(), text.clone()]);
    write_text(&text, &format!("{summary}\n{guide}\n"))?;
    Ok(Demo { summary, guide })
}

fn options(files: Files) -> Result<ReplayOptions> {
    Ok(ReplayOptions {
        input: Input::Embedded { name: "demo flight", text: DEMO_FLIGHT },
        columns: ColumnMap::default(),
        from: None,
        to: None,
        injections: Vec::new(),
        instruments: Ears {
            left: settings_file::build("defaults", Settings::default())?,
            right: None,
        },
        files,
        sample_rate_hz: 24_000,
        play: false,
        title: Some("Demonstration flight".into()),
    })
}

/// Mean reading of a chapter, compensated and not.
#[derive(Clone, Copy, Default)]
struct Mean {
    count: u32,
    compensated: f64,
    bare: f64,
}

fn note(means: &mut [Mean], row: &Row) {
    let time_s = row.time.0 as f64 * 1e-6;
    let Some(values) = &row.readings.left.values else { return };
    for (mean, chapter) in means.iter_mut().zip(&CHAPTERS) {
        if (chapter.from_s..chapter.to_s).contains(&time_s) {
            mean.count += 1;
            mean.compensated += f64::from(values.sounded().0);
            mean.bare += f64::from(values.vertical_speed.0);
        }
    }
}

/// A path quoted for a shell.
fn quoted(path: &Path) -> String {
    let path = shown_path(path);
    if path.contains(char::is_whitespace) { format!("\"{path}\"") } else { path }
}

struct Guide<'a> {
    means: &'a [Mean],
    trace: &'a Path,
    folder: &'a Path,
}

impl fmt::Display for Guide<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        writeln!(
            f,
            "What to listen for, with the mean reading and, in brackets, what it would be \
             without compensation:"
        )?;
        for (chapter, mean) in CHAPTERS.iter().zip(self.means) {
            let Chapter { from_s, to_s, title, listen } = chapter;
            let count = f64::from(mean.count.max(1));
            let mut span = String::new();
            write!(span, "{} - {}", Clock(*from_s), Clock(*to_s))?;
            let (reading, bare) = (mean.compensated / count, mean.bare / count);
            let units = Units::default();
            let (reading, bare) = (units.climb(reading).to_string(), units.climb(bare).number());
            writeln!(f, "  {span:<13} {title:<32} {reading:>9} ({bare})\n{:17}{listen}", "")?;
        }
        let both = self.folder.join("both.wav");
        writeln!(
            f,
            "\nNext: hear the instrument in the left ear and an uncompensated one in the right, \
             at the pull-up:"
        )?;
        write!(
            f,
            "  cargo run --release -p chirrup -- replay {} --from 4:55 --to 5:30 --against \
             energy=none --wav {}",
            quoted(self.trace),
            quoted(&both)
        )
    }
}
