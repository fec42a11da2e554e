//! The picture of a replay: drawn in memory as the trace is read, then returned as SVG, or written
//! as SVG, PNG or both.

use super::Output;
use super::files::PlotFormat;
use super::picture::{Picture, PictureLabels};
use super::picture_file::PictureFile;
use super::place::Sealed;
use super::watch::Watch;
use crate::ears::Ears;
use crate::error::Result;
use crate::replay::{Listening, Row, Stretch};
use crate::settings_file::Instrument;
use chirrup_core::EnergySource;
use std::path::PathBuf;

/// A replay's picture being made.
pub struct Drawing {
    picture: Picture,
    title: String,
    instruments: Ears<Instrument>,
    source: EnergySource,
}

impl Drawing {
    /// Begins a picture headed `title`.
    pub fn new(title: String, instruments: Ears<Instrument>) -> Self {
        let picture = Picture::new(PictureLabels::default());
        Self { picture, title, instruments, source: EnergySource::None }
    }

    /// The picture of the data so far, as SVG.
    pub fn into_svg(mut self) -> String {
        self.picture.label(self.labels());
        self.picture.to_svg()
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
                settings.filter.choice.name(),
                settings.filter.response_s,
                settings.average.span_s
            ),
            left: left.name.clone(),
            right: right.as_ref().map(|right| right.name.clone()),
            units: left.units,
        }
    }
}

impl Watch for Drawing {
    fn row(&mut self, row: &Row) {
        self.source = row.readings.left.source;
        self.picture.row(row);
    }

    fn listening(&self) -> Listening {
        Listening::Ticks
    }

    fn sound(&mut self, stretch: Stretch<'_>) {
        self.picture.sound(stretch);
    }

    fn time_zero_is(&mut self, utc_s: f64) {
        self.picture.show_utc(utc_s);
    }
}

/// A replay's picture, and the files it goes to.
pub struct DrawnOutput {
    drawing: Drawing,
    files: Vec<PictureFile>,
}

impl DrawnOutput {
    /// Begins `drawing`, which will be written to every one of `files`.
    ///
    /// # Errors
    /// When one of the folders is missing or cannot be written.
    pub fn create(files: &[(PathBuf, PlotFormat)], drawing: Drawing) -> Result<Self> {
        let files = files.iter().map(PictureFile::create).collect::<Result<Vec<_>>>()?;
        Ok(Self { drawing, files })
    }
}

impl Output for DrawnOutput {
    fn row(&mut self, row: &Row) -> Result<()> {
        self.drawing.row(row);
        Ok(())
    }

    fn listening(&self) -> Listening {
        Listening::Ticks
    }

    fn sound(&mut self, stretch: Stretch<'_>) -> Result<()> {
        self.drawing.sound(stretch);
        Ok(())
    }

    fn time_zero_is(&mut self, utc_s: f64) {
        self.drawing.time_zero_is(utc_s);
    }

    fn finish(self: Box<Self>) -> Result<Vec<Sealed>> {
        let svg = self.drawing.into_svg();
        self.files.into_iter().map(|file| file.write(&svg)).collect()
    }
}
