//! The picture of a replay: height, vertical speed and sound over time, what was wrong with the samples, and a
//! close-up of the beeps. SVG, or the same as PNG.
//!
//! Rows and sound are taken as they stream in and kept in 2048 columns of time at most, so that the memory of a
//! picture stays below 1 MiB whatever the length of the trace. A picture shows time as the replay runs it: it
//! begins at the trace's own time and goes on through a clock that is set back.

use super::plot::history::History;
use super::plot::page;
pub use super::plot::raster::svg_to_png;
use crate::replay::{Row, Stretch};

/// The words of a picture.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct PictureLabels {
    /// Large, at the top: the name of the trace.
    pub title: String,
    /// Below it: where total energy comes from, how quick the reading is.
    pub subtitle: String,
    /// What the instrument is; shown where there are two.
    pub left: String,
    /// What the second instrument is, where there is one.
    pub right: Option<String>,
}

/// A picture in the making.
#[derive(Clone, Debug)]
pub struct Picture {
    labels: PictureLabels,
    history: History,
}

impl Picture {
    /// An empty picture.
    pub fn new(labels: PictureLabels) -> Self {
        Self { labels, history: History::default() }
    }

    /// Changes the words, some of which are known only at the end.
    pub fn label(&mut self, labels: PictureLabels) {
        self.labels = labels;
    }

    /// Takes a sample and its readings.
    pub fn row(&mut self, row: &Row) {
        self.history.row(row);
    }

    /// Takes the sound up to the next row.
    pub fn sound(&mut self, stretch: Stretch<'_>) {
        self.history.sound(stretch);
    }

    /// The picture of what has been taken so far, 1200 by 800 pixels.
    pub fn to_svg(&self) -> String {
        page::draw(&self.history, &self.labels)
    }
}
