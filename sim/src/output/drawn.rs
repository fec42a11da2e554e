//! The picture as files: drawn once the trace has been read, as SVG, PNG or both.

use super::Output;
use super::picture::{Picture, PictureLabels, svg_to_png};
use super::place::{Placed, Sealed};
use crate::ears::Ears;
use crate::error::{Error, Result};
use crate::options::PlotFormat;
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
    files: Vec<(Placed, PlotFormat)>,
}

impl DrawnOutput {
    /// Begins a picture headed `title`, which will be written to every one of `files`.
    ///
    /// # Errors
    /// When one of the folders is not there or cannot be written.
    pub fn create(files: &[(PathBuf, PlotFormat)], title: String, instruments: Ears<Instrument>) -> Result<Self> {
        let files =
            files.iter().map(|(path, format)| Ok((Placed::create(path)?, *format))).collect::<Result<Vec<_>>>()?;
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

/// Writes a picture in the format asked for.
///
/// # Errors
/// When it cannot be drawn as pixels or written.
pub(crate) fn write_picture(file: &mut Placed, format: PlotFormat, svg: &str) -> Result<()> {
    let written = match format {
        PlotFormat::Svg => file.write_all(svg.as_bytes()),
        PlotFormat::Png => file.write_all(&svg_to_png(svg)?),
    };
    written.map_err(|source| Error::io("cannot write", file.path(), source))
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
        for (mut file, format) in self.files {
            write_picture(&mut file, format, &svg)?;
            sealed.push(file.seal()?);
        }
        Ok(sealed)
    }
}
