//! Which sound is made, from which settings, and where it goes.

use super::sweep::{self, Sweep};
use crate::error::{Error, Result};
use crate::output::files::Files;
use crate::settings_file::Instrument;
use chirrup_core::beep::Voice;
use chirrup_core::sounder::Sounder;

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

/// The sound of an instrument's settings.
///
/// # Errors
/// None that the check of the settings has left.
pub fn sounder(instrument: &Instrument) -> Result<Sounder> {
    Sounder::new(&instrument.settings.tone)
        .map_err(|error| Error::Settings(format!("{}: {error}", instrument.name)))
}
