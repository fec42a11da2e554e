//! What candidates read over a recording: at each moment of the truth's grid, and in the mean over
//! each second.

use crate::error::{Error, Result};
use crate::progress::Work;
use crate::recording::Recording;
use crate::recording::series::Even;
use chirrup_core::{Pipeline, PipelineState, Reading, Status};
use rayon::prelude::*;
use std::sync::atomic::{AtomicBool, Ordering};

/// What one instrument reads over a recording.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Readings {
    /// The sounded vertical speed, m/s, at each moment of the grid: that of the last sample before
    /// it; `None` where it is not valid.
    pub at: Vec<Option<f32>>,
    /// Its sum over each whole second of the trace.
    pub seconds: Seconds,
}

/// Sums of the sounded vertical speed over whole seconds of the trace, as `replay` compares with
/// the truth: over all samples with a reading, but those of a start ([`Status::Settling`],
/// [`Status::Gap`], [`Status::ClockReset`]).
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Seconds {
    /// The first second, in s of the trace; whole.
    pub first_s: f64,
    /// Each second from there on.
    pub each: Vec<Second>,
}

/// The samples of one second.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Second {
    /// Sum of the readings, m/s.
    pub sum_mps: f64,
    /// How many there were.
    pub count: u32,
}

impl Second {
    /// Mean of the readings, m/s; `None` without any.
    pub fn mean_mps(&self) -> Option<f64> {
        (self.count > 0).then(|| self.sum_mps / f64::from(self.count))
    }
}

impl Seconds {
    fn add(&mut self, time_s: f64, reading_mps: f32) {
        let second_s = time_s.floor();
        if self.each.is_empty() {
            self.first_s = second_s;
        }
        let place = (second_s - self.first_s) as usize;
        if place >= self.each.len() {
            self.each.resize(place + 1, Second::default());
        }
        let second = &mut self.each[place];
        second.sum_mps += f64::from(reading_mps);
        second.count += 1;
    }
}

/// The readings of every pipeline, in their order, at the moments of `grid`; all cores share the
/// work, of which `work` counts one piece for each pipeline.
///
/// # Errors
/// [`Error::Interrupted`] when `interrupted` is raised.
pub fn of_all(
    pipelines: &[&Pipeline],
    recording: &Recording,
    grid: &Even,
    work: &Work,
    interrupted: &AtomicBool,
) -> Result<Vec<Readings>> {
    pipelines
        .par_iter()
        .map(|pipeline| {
            if interrupted.load(Ordering::Relaxed) {
                return Err(Error::Interrupted);
            }
            let readings = of_one(pipeline, recording, grid);
            work.step();
            Ok(readings)
        })
        .collect()
}

/// The readings of one pipeline at the moments of `grid`.
pub fn of_one(pipeline: &Pipeline, recording: &Recording, grid: &Even) -> Readings {
    let mut state = PipelineState::default();
    let mut taking = Taking::new(grid);
    for sample in recording.all() {
        taking.take(&pipeline.step(&mut state, sample));
    }
    taking.finish()
}

/// Readings as they come.
struct Taking<'a> {
    grid: &'a Even,
    said: Option<f32>,
    readings: Readings,
}

impl<'a> Taking<'a> {
    fn new(grid: &'a Even) -> Self {
        let at = Vec::with_capacity(grid.values.len());
        Self { grid, said: None, readings: Readings { at, seconds: Seconds::default() } }
    }

    fn take(&mut self, reading: &Reading) {
        let time_s = reading.time.0 as f64 * 1e-6;
        self.fill_until(time_s);
        if reading.status == Status::Partial && reading.values.is_none() {
            // The reading before it still stands.
            return;
        }
        let sounded = reading.values.map(|values| values.sounded().0);
        self.said = sounded.filter(|_| reading.status.is_good());
        let is_beginning =
            matches!(reading.status, Status::Settling | Status::Gap | Status::ClockReset);
        if let Some(sounded) = sounded.filter(|_| !is_beginning) {
            self.readings.seconds.add(time_s, sounded);
        }
    }

    /// The moments before `time_s`.
    fn fill_until(&mut self, time_s: f64) {
        let Even { start_s, step_s, values } = self.grid;
        let at = &mut self.readings.at;
        while at.len() < values.len() && start_s + step_s * (at.len() as f64) < time_s {
            at.push(self.said);
        }
    }

    fn finish(mut self) -> Readings {
        self.readings.at.resize(self.grid.values.len(), self.said);
        self.readings
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use chirrup_core::{Metre, Micros, Sample, Settings, pressure_at};

    /// A minute at 50 Hz in a steady climb of 2 m/s, from 7.3 s of the trace on, with a second
    /// missing in its middle.
    fn climb() -> Recording {
        let time = |place: i64| Micros(7_300_000 + 20_000 * place);
        let height = |place: i64| Metre(500.0 + 0.04 * place as f32);
        let places = (0..3_000).filter(|place| !(1_500..1_550).contains(place));
        let samples =
            places.map(|place| Sample::of_static(time(place), pressure_at(height(place))));
        let mut recording = Recording::default();
        recording.samples.extend(samples);
        recording
    }

    #[test]
    fn moments_and_seconds_have_the_reading_of_their_samples() {
        let grid = Even { start_s: 7.3, step_s: 0.2, values: vec![0.0; 300] };
        let pipeline = Settings::default().build().expect("defaults are valid");
        let readings = of_one(&pipeline, &climb(), &grid);
        assert_eq!(readings.at.len(), 300);
        assert_eq!(readings.at[0], None, "nothing was read before the first sample");
        assert!(readings.at[50..].iter().flatten().all(|reading| (reading - 2.0).abs() < 0.1));
        let Seconds { first_s, each } = readings.seconds;
        // The start of the filter takes 1.5 s at least.
        assert!((8.0..=10.0).contains(&first_s), "{first_s}");
        let count = |second: usize| each[second - first_s as usize].count;
        assert_eq!(count(20), 50);
        assert_eq!((count(37), count(38)), (15, 35), "none are from 37.3 to 38.3 s");
        let mean = each[20 - first_s as usize].mean_mps().expect("there are samples");
        assert!((mean - 2.0).abs() < 0.1, "{mean}");
    }
}
