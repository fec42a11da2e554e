//! The settings of an instrument, read, changed and refused as the program does.

use crate::errors::{raised, refused};
use chirrup::settings_file::{self, All, Instrument};
use pyo3::prelude::*;

/// The settings of an instrument; see the Python side for what is built upon it.
#[pyclass(module = "chirrup._native", subclass)]
#[derive(Clone)]
pub struct Settings(Instrument);

impl Settings {
    /// The instrument that they make.
    pub fn instrument(&self) -> Instrument {
        self.0.clone()
    }
}

impl Settings {
    fn of(all: &All) -> PyResult<Self> {
        let instrument = settings_file::build("settings", all.settings.clone()).map_err(raised)?;
        Ok(Self(Instrument { units: all.units, ..instrument }))
    }
}

#[pymethods]
impl Settings {
    /// The defaults.
    #[new]
    fn new() -> PyResult<Self> {
        Self::of(&All::default())
    }

    /// Those of a settings file that holds `text` and is called `name` in messages; what is not in
    /// it is as in `base`.
    #[staticmethod]
    fn read_text(name: &str, text: &str, base: &Settings) -> PyResult<Self> {
        settings_file::text_over(name, text, &base.0.all()).map(Self).map_err(raised)
    }

    /// Those of the sources of `--settings`, files or `key=value`, the later ones winning.
    #[staticmethod]
    fn load(sources: Vec<String>) -> PyResult<Self> {
        let base = chirrup_core::Settings::default();
        settings_file::load_layers(&sources, &base).map(Self).map_err(raised)
    }

    /// These settings with what `words`, `key=value[,key=value]`, change.
    fn with_words(&self, words: &str) -> PyResult<Self> {
        settings_file::words_over(words, &self.0.all()).map(Self).map_err(raised)
    }

    /// All of them as JSON.
    fn json(&self) -> PyResult<String> {
        let mut text = Vec::new();
        settings_file::as_json(&self.0.all(), &mut serde_json::Serializer::new(&mut text))
            .map_err(|error| refused(error.to_string()))?;
        String::from_utf8(text).map_err(|error| refused(error.to_string()))
    }

    /// All of them as a settings file; `comments` with what each means.
    fn toml(&self, comments: bool) -> String {
        let all = self.0.all();
        if comments { settings_file::with_comments(&all) } else { settings_file::bare(&all, &[]) }
    }

    /// What `other` has otherwise, a line each.
    fn differences(&self, other: &Settings) -> Vec<String> {
        settings_file::differences(&self.0.all(), &other.0.all())
    }

    /// What was written in an earlier format, and how to write it now, a line each.
    #[getter]
    fn old(&self) -> Vec<String> {
        self.0.old.clone()
    }
}

/// Settings that the bench made.
pub fn made(settings: &chirrup_core::Settings) -> PyResult<Settings> {
    Settings::of(&All::of(settings))
}
