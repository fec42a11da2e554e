//! The files that a run makes, and the kinds of picture.

use std::path::{Path, PathBuf};

/// Files to make.
#[derive(Clone, Debug, Default)]
pub struct Files {
    /// The sound.
    pub wav: Option<PathBuf>,
    /// The pictures.
    pub plots: Vec<(PathBuf, PlotFormat)>,
    /// The readings.
    pub csv: Option<PathBuf>,
    /// Whether they may be larger in all than [`super::sizes::MOST_UNASKED`].
    pub may_be_large: bool,
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
    /// The paths of all of them.
    pub fn all(&self) -> impl Iterator<Item = &Path> {
        let plots = self.plots.iter().map(|(path, _)| path);
        self.wav.iter().chain(plots).chain(&self.csv).map(PathBuf::as_path)
    }

    /// Whether one of them is standard output.
    pub fn use_standard_output(&self) -> bool {
        self.all().any(|path| path == Path::new("-"))
    }
}
