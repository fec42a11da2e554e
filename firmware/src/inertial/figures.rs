//! Figures of an inertial sensor, measured while it runs: readings a second, and how it is shaken.
//!
//! In integers, over windows of five seconds.

use super::average::Averaged;
use crate::meter::Meter;
use chirrup_core::Micros;
use chirrup_sensors::inertial::batch::Batch;
use chirrup_sensors::inertial::sums::Sums;
use chirrup_sensors::sensor::FRAME;

/// Frames in a window.
const WINDOW: u32 = 250;

/// The figures of one window.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct InertialFigures {
    /// Readings in a thousand seconds.
    pub rate_millihz: u32,
    /// Means and deviations over the window.
    pub averaged: Averaged,
}

/// State for [`InertialFigures`].
#[derive(Clone, Copy, Debug, Default)]
pub struct InertialMeter {
    frames: u32,
    begun: Micros,
    force: Sums,
    turn: Sums,
    latest: Option<InertialFigures>,
}

impl Meter<Batch> for InertialMeter {
    type Figures = InertialFigures;

    fn step(&mut self, batch: Batch) {
        if self.frames == 0 {
            self.begun = Micros(batch.time.0.saturating_sub(FRAME.0));
        }
        self.frames += 1;
        self.force.merge(&batch.force);
        self.turn.merge(&batch.turn);
        if self.frames >= WINDOW {
            self.latest = self.finish(&batch);
            self.restart();
        }
    }

    fn restart(&mut self) {
        *self = Self { latest: self.latest, ..Self::default() };
    }

    fn latest(&self) -> Option<InertialFigures> {
        self.latest
    }
}

impl InertialMeter {
    fn finish(&self, last: &Batch) -> Option<InertialFigures> {
        let span_us = u64::try_from(last.time.since(self.begun).0).ok()?;
        let millihz = (u64::from(self.force.readings) * 1_000_000_000).checked_div(span_us)?;
        Some(InertialFigures {
            rate_millihz: u32::try_from(millihz).ok()?,
            averaged: Averaged::of(&self.force, &self.turn, last.scale)?,
        })
    }
}
