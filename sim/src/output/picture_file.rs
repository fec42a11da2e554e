//! A picture as a file: the SVG as it is, or the same as PNG.

use super::files::PlotFormat;
use super::place::{Placed, Sealed};
use super::plot::raster::svg_to_png;
use crate::error::Result;
use std::path::PathBuf;

/// A picture's file being made.
pub(crate) struct PictureFile {
    file: Placed,
    format: PlotFormat,
}

impl PictureFile {
    /// Begins the file, so that a missing folder is reported before the work.
    ///
    /// # Errors
    /// When the folder is missing or cannot be written.
    pub(crate) fn create((path, format): &(PathBuf, PlotFormat)) -> Result<Self> {
        Ok(Self { file: Placed::create(path)?, format: *format })
    }

    /// Writes the picture in its format; it can then be put in its place.
    ///
    /// # Errors
    /// When it cannot be drawn as pixels or written.
    pub(crate) fn write(self, svg: &str) -> Result<Sealed> {
        match self.format {
            PlotFormat::Svg => self.file.seal_with(svg.as_bytes()),
            PlotFormat::Png => self.file.seal_with(&svg_to_png(svg)?),
        }
    }
}
