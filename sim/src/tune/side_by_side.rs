//! Many filters over one recording, side by side: what comes before the filter is worked out once,
//! and what does not enter the reading (altimeter, netto, averages, sound) not at all.

use super::taking::{Place, Places, Readings, Taking};
use crate::error::{Error, Result};
use crate::recording::Recording;
use crate::recording::series::Even;
use chirrup_core::stages::{Channel, Filters, Intake, IntakeState, Taken};
use chirrup_core::{Sample, Status};
use rayon::prelude::*;
use std::sync::atomic::{AtomicBool, Ordering};

/// So many samples at a time: half a megabyte, which stays in a processor's cache.
const BLOCK: usize = 8_192;

/// So many filters take a sample one after the other: what one waits for, another has.
const GROUP: usize = 4;

/// A sample as every filter takes it.
struct Row {
    place: Place,
    /// The status of one that brings no height.
    taken: std::result::Result<Taken, Status>,
}

/// The readings of filters behind one intake, at the moments of `grid`; without an inertial sensor.
///
/// # Errors
/// [`Error::Interrupted`] when `interrupted` is raised.
pub(super) fn readings(
    intake: &Intake,
    filters: &[&Filters],
    recording: &Recording,
    grid: &Even,
    interrupted: &AtomicBool,
) -> Result<Vec<Readings>> {
    let (mut state, mut places) = (IntakeState::default(), Places::new(grid));
    let mut row = |sample: Sample| Row {
        place: places.of(sample.time.0 as f64 * 1e-6),
        taken: intake.step(&mut state, &sample),
    };
    let mut running: Vec<(Channel, Taking)> = filters.iter().map(|_| Default::default()).collect();
    let group = filters.len().div_ceil(rayon::current_num_threads()).clamp(1, GROUP);
    let (mut samples, mut block) = (recording.all().iter(), Vec::with_capacity(BLOCK));
    loop {
        block.clear();
        block.extend(samples.by_ref().take(BLOCK).map(&mut row));
        if block.is_empty() {
            break;
        }
        if interrupted.load(Ordering::Relaxed) {
            return Err(Error::Interrupted);
        }
        running.par_chunks_mut(group).zip(filters.par_chunks(group)).for_each(|(some, filters)| {
            for row in &block {
                for ((channel, taking), filters) in some.iter_mut().zip(filters) {
                    row.read(filters, channel, taking);
                }
            }
        });
    }
    Ok(running.into_iter().map(|(_, taking)| taking.finish(&places)).collect())
}

impl Row {
    fn read(&self, filters: &Filters, channel: &mut Channel, taking: &mut Taking) {
        let (status, sounded) = match &self.taken {
            Err(status) => (*status, None),
            Ok(taken) => sounded(taken, filters, channel),
        };
        taking.take(self.place, status, sounded);
    }
}

/// The status of a height and what sounds, m/s. Which of the good ones it is does not matter: it
/// is [`Status::Ok`].
fn sounded(taken: &Taken, filters: &Filters, channel: &mut Channel) -> (Status, Option<f32>) {
    if taken.restarted.is_some() {
        channel.restart();
    }
    let estimate = channel.step(filters, &taken.due);
    if taken.frozen {
        return (Status::Frozen, None);
    }
    (taken.status(&estimate).unwrap_or(Status::Ok), Some(taken.scale * estimate.velocity.0))
}

#[cfg(test)]
mod tests;
