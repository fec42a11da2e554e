//! The picture as files: drawn once the trace has been read, as SVG, PNG or both.

use super::Output;
use super::files::PlotFormat;
use super::picture::{Picture, PictureLabels, svg_to_png};
use super::place::{Placed, Sealed};
use crate::ears::Ears;
use crate::error::{Error, Result};
use crate::replay::{Row, Stretch};
use crate::settings_file::Instrument;
use chirrup_core::energy::EnergySource;
use std::io::Write;
use std::path::PathBuf;

/// A picture in the making, and where it goes.
pub struct DrawnOutput {
    picture: Picture,
    title: String,
    instruments: Ears<Instrument>,
    source: EnergySource,
    files: Vec<PictureFile>,
}

impl DrawnOutput {
    /// Begins a picture headed `title`, which will be written to every one of `files`.
    ///
    /// # Errors
    /// When one of the folders is not there or cannot be written.
    pub fn create(
        files: &[(PathBuf, PlotFormat)],
        title: String,
        instruments: Ears<Instrument>,
    ) -> Result<Self> {
        let files = files.iter().map(PictureFile::create).collect::<Result<Vec<_>>>()?;
        let picture = Picture::new(PictureLabels::default());
        Ok(Self { picture, title, instruments, source: EnergySource::None, files })
    }

    fn labels(&self) -> PictureLabels {
        let Ears { left, right } = &self.instruments;
        let energy = match self.source {
            EnergySource::None => "no total-energy compensation",
            EnergySource::Electronic => "total energy from airspeed",
            EnergySource::Probe => "total energy from a probe",
        };
        let settings = &left.settings;
        PictureLabels {
            title: self.title.clone(),
            subtitle: format!(
                "{energy}, {} filter of {} s response, average over {} s",
                settings.filter.name(),
                settings.response_s,
                settings.average_s
            ),
            left: left.name.clone(),
            right: right.as_ref().map(|right| right.name.clone()),
        }
    }
}

/// A picture's file in the making.
pub(crate) struct PictureFile {
    file: Placed,
    format: PlotFormat,
}

impl PictureFile {
    /// Begins the file, so that a folder that is not there is said before the work.
    ///
    /// # Errors
    /// When the folder is not there or cannot be written.
    pub(crate) fn create((path, format): &(PathBuf, PlotFormat)) -> Result<Self> {
        Ok(Self { file: Placed::create(path)?, format: *format })
    }

    /// Writes the picture in the format asked for; it can then be put in its place.
    ///
    /// # Errors
    /// When it cannot be drawn as pixels or written.
    pub(crate) fn draw(mut self, svg: &str) -> Result<Sealed> {
        let written = match self.format {
            PlotFormat::Svg => self.file.write_all(svg.as_bytes()),
            PlotFormat::Png => self.file.write_all(&svg_to_png(svg)?),
        };
        written.map_err(|source| Error::io("cannot write", self.file.path(), source))?;
        self.file.seal()
    }
}

impl Output for DrawnOutput {
    fn row(&mut self, row: &Row) -> Result<()> {
        self.source = row.readings.left.source;
        self.picture.row(row);
        Ok(())
    }

    fn sound(&mut self, stretch: Stretch<'_>) -> Result<()> {
        self.picture.sound(stretch);
        Ok(())
    }

    fn time_zero_is(&mut self, utc_s: f64) {
        self.picture.show_utc(utc_s);
    }

    fn finish(mut self: Box<Self>) -> Result<Vec<Sealed>> {
        self.picture.label(self.labels());
        let svg = self.picture.to_svg();
        let mut sealed = Vec::new();
        for file in self.files {
            sealed.push(file.draw(&svg)?);
        }
        Ok(sealed)
    }
}
