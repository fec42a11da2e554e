//! What `chirrup tone` was asked for, checked.

use super::sweep::{self, Sweep};
use crate::cli::ToneArgs;
use crate::error::{Error, Result};
use crate::options::{Files, check_places, drawing, in_range, what_is_read};
use crate::settings_file::{self, Instrument};
use chirrup_core::beep::Voice;
use chirrup_core::sounder::Sounder;

/// How long one value sounds, unless that is said.
const ONE_VALUE_S: f64 = 6.0;
/// How long the sweep takes, unless that is said.
const SWEEP_S: f64 = 60.0;
/// How long the fault is listened to, unless that is said: two calls of the default settings.
const FAULT_S: f64 = 30.0;

/// Everything that the law and its sound need to know.
pub struct Request {
    /// The settings whose sound it is.
    pub instrument: Instrument,
    /// The sound of these settings.
    pub sounder: Sounder,
    /// What is heard.
    pub what: What,
    /// Files to make.
    pub files: Files,
    /// Samples a second of the WAV.
    pub sample_rate_hz: u32,
    /// Play the sound live.
    pub play: bool,
}

/// What is heard.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum What {
    /// A reading that moves evenly.
    Sweep(Sweep),
    /// One value.
    One {
        /// The value in m/s.
        value_mps: f64,
        /// How long.
        seconds: f64,
    },
    /// A dead sensor.
    Fault {
        /// How long.
        seconds: f64,
    },
}

impl Request {
    /// Checks what was typed.
    ///
    /// # Errors
    /// The first thing that cannot be used, and its range.
    pub fn new(args: &ToneArgs) -> Result<Self> {
        let what = what(args)?;
        let plots = drawing(args.plot.as_deref())?.into_iter().collect();
        let files = Files { wav: args.wav.clone(), plots, csv: args.csv.clone() };
        check_places(
            &what_is_read([], &args.settings),
            &files.all().collect::<Vec<_>>(),
            args.json,
        )?;
        let instrument = settings_file::load_or_defaults(args.settings.as_deref())?;
        let sounder = Sounder::new(&instrument.settings.tone)
            .map_err(|error| Error::Settings(format!("{}: {error}", instrument.name)))?;
        Ok(Self { instrument, sounder, what, files, sample_rate_hz: args.rate, play: args.play })
    }

    /// The voices of what is heard, tick by tick.
    pub fn voices(&self) -> Box<dyn Iterator<Item = Voice> + '_> {
        match self.what {
            What::Sweep(sweep) => Box::new(sweep::voices(&self.sounder, sweep)),
            What::One { value_mps, seconds } => Box::new(sweep::voices(
                &self.sounder,
                Sweep { from_mps: value_mps, to_mps: value_mps, seconds },
            )),
            What::Fault { seconds } => Box::new(sweep::fault(&self.sounder, seconds)),
        }
    }
}

fn what(args: &ToneArgs) -> Result<What> {
    if let Some(seconds) = args.over {
        in_range("--over", seconds, 0.1, 3600.0)?;
    }
    if args.fault {
        return Ok(What::Fault { seconds: args.over.unwrap_or(FAULT_S) });
    }
    if let Some(value_mps) = args.at {
        in_range("--at", value_mps, -60.0, 60.0)?;
        return Ok(What::One { value_mps, seconds: args.over.unwrap_or(ONE_VALUE_S) });
    }
    in_range("--from", args.from, -60.0, 60.0)?;
    in_range("--to", args.to, -60.0, 60.0)?;
    Ok(What::Sweep(Sweep {
        from_mps: args.from,
        to_mps: args.to,
        seconds: args.over.unwrap_or(SWEEP_S),
    }))
}
