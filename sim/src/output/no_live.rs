//! Replaces the sound device in a build without one.

use crate::error::{Error, Result};
use std::convert::Infallible;
use std::marker::PhantomData;
use std::sync::atomic::AtomicBool;

/// What to do about it.
pub(crate) fn refusal() -> Error {
    let headers =
        if cfg!(target_os = "linux") { "`sudo apt-get install libasound2-dev`, then " } else { "" };
    Error::Usage(format!(
        "this build has no live audio; type {headers}`cargo install --path sim --features play`, \
         or write the sound with --wav FILE"
    ))
}

/// A sound device that is never available; see the feature `play`.
pub struct Speaker<'a>(Infallible, PhantomData<&'a AtomicBool>);

impl<'a> Speaker<'a> {
    /// Explains how to build with one.
    ///
    /// # Errors
    /// Always.
    pub fn open(_channels: u16, _ahead_s: f64, _interrupted: &'a AtomicBool) -> Result<Self> {
        Err(refusal())
    }

    /// Never called.
    pub fn sample_rate_hz(&self) -> u32 {
        match self.0 {}
    }

    /// Never called.
    pub fn room(&self) -> usize {
        match self.0 {}
    }

    /// Never called.
    ///
    /// # Errors
    /// Never.
    pub fn push(&mut self, _samples: &[i16]) -> Result<()> {
        match self.0 {}
    }

    /// Never called.
    ///
    /// # Errors
    /// Never.
    pub fn finish(self) -> Result<()> {
        match self.0 {}
    }
}
