//! What to watch and to make, and what there is to say about it.

use super::made::Made;
use crate::error::Error;
use crate::run::ReplayOptions;
use std::path::PathBuf;

/// What to watch and what to make.
pub struct Request {
    /// The settings file, as the user named it.
    pub settings: String,
    /// The trace.
    pub trace: PathBuf,
    /// The replay; its first instrument becomes that of the settings file.
    pub replay: ReplayOptions,
}

/// What there is to say.
#[derive(Debug)]
pub enum News {
    /// The outputs have been made.
    Made(Box<Made>),
    /// They could not be made; those of before are still there, where there were any.
    Failed(Error),
    /// The settings file has changed, but no setting.
    Same,
    /// This file is gone, and is waited for.
    Gone(String),
    /// Something about the settings or the watching.
    Note(String),
}
