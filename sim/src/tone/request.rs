//! The sound to make, its settings and its outputs.

use super::sweep::What;
use crate::error::{Error, Result};
use crate::output::files::Files;
use crate::settings_file::Instrument;
use chirrup_core::stages::Sounder;

/// Everything that the law and its sound need to know.
pub struct Request {
    /// The settings whose sound it is.
    pub instrument: Instrument,
    /// The sound of these settings.
    pub sounder: Sounder,
    /// What is heard.
    pub what: What,
    /// The minute of [`super::check`] is heard instead.
    pub check: bool,
    /// Files to make.
    pub files: Files,
    /// Samples a second of the WAV.
    pub sample_rate_hz: u32,
    /// Play the sound live.
    pub play: bool,
}

/// The sound of an instrument's settings.
///
/// # Errors
/// None that the check of the settings has left.
pub fn sounder(instrument: &Instrument) -> Result<Sounder> {
    Sounder::new(&instrument.settings.tone)
        .map_err(|error| Error::Settings(format!("{}: {error}", instrument.name)))
}
