//! What candidates read over a recording: at each moment of the truth's grid, and in the mean over
//! each second.

use super::side_by_side;
use super::taking::{Places, Taking};
use crate::error::{Error, Result};
use crate::progress::Work;
use crate::recording::Recording;
use crate::recording::series::Even;
use chirrup_core::stages::Filters;
use chirrup_core::{Pipeline, PipelineState};
use rayon::prelude::*;
use std::sync::atomic::{AtomicBool, Ordering};

pub use super::taking::{Readings, Second, Seconds};

/// Samples between two looks at whether to stop.
const STRIDE: usize = 8_192;

/// The readings of every pipeline, in their order, at the moments of `grid`; all cores share the
/// work, of which `work` counts one piece for each pipeline.
///
/// Pipelines that differ in nothing before the filter go side by side (`side_by_side`); where
/// there is an inertial sensor, each runs whole.
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
    if recording.all().has_inertial() {
        let readings = |pipeline: &&Pipeline| {
            let readings = whole(pipeline, recording, grid, interrupted)?;
            work.step();
            Ok(readings)
        };
        return pipelines.par_iter().map(readings).collect();
    }
    let mut all = vec![Readings::default(); pipelines.len()];
    for alike in alike(pipelines) {
        let filters: Vec<&Filters> =
            alike.iter().map(|place| pipelines[*place].filters()).collect();
        let intake = pipelines[alike[0]].intake();
        let readings = side_by_side::readings(intake, &filters, recording, grid, interrupted)?;
        for (place, readings) in alike.into_iter().zip(readings) {
            all[place] = readings;
            work.step();
        }
    }
    Ok(all)
}

/// The places of the pipelines that have the same stages before the filter, each group in order.
fn alike(pipelines: &[&Pipeline]) -> Vec<Vec<usize>> {
    let mut groups: Vec<Vec<usize>> = Vec::new();
    for (place, pipeline) in pipelines.iter().enumerate() {
        let is_alike = |group: &&mut Vec<usize>| pipelines[group[0]].intake() == pipeline.intake();
        match groups.iter_mut().find(is_alike) {
            Some(group) => group.push(place),
            None => groups.push(vec![place]),
        }
    }
    groups
}

/// The readings of one whole pipeline at the moments of `grid`.
///
/// # Errors
/// [`Error::Interrupted`] when `interrupted` is raised.
fn whole(
    pipeline: &Pipeline,
    recording: &Recording,
    grid: &Even,
    interrupted: &AtomicBool,
) -> Result<Readings> {
    let (mut state, mut places) = (PipelineState::default(), Places::new(grid));
    let mut taking = Taking::default();
    for (count, sample) in recording.all().iter().enumerate() {
        if count % STRIDE == 0 && interrupted.load(Ordering::Relaxed) {
            return Err(Error::Interrupted);
        }
        let reading = pipeline.step(&mut state, &sample);
        let sounded = reading.values.map(|values| values.sounded().0);
        taking.take(places.of(sample.time.0 as f64 * 1e-6), reading.status, sounded);
    }
    Ok(taking.finish(&places))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tune::candidates;
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

    /// The readings of all candidates over `recording`, on a grid of so many moments.
    fn all_of(settings: &Settings, recording: &Recording, moments: usize) -> Vec<Readings> {
        let candidates = candidates::of(settings, settings).expect("they can be built");
        let pipelines: Vec<&Pipeline> = candidates.iter().map(|one| &one.pipeline).collect();
        let grid = Even { start_s: 7.3, step_s: 0.2, values: vec![0.0; moments] };
        let (work, go_on) = (Work::new(25), AtomicBool::new(false));
        let all = of_all(&pipelines, recording, &grid, &work, &go_on).expect("it goes on");
        for (pipeline, side) in pipelines.iter().zip(&all) {
            let whole = whole(pipeline, recording, &grid, &go_on).expect("it goes on");
            assert_eq!(*side, whole, "{pipeline:?}");
        }
        all
    }

    #[test]
    fn moments_and_seconds_have_the_reading_of_their_samples() {
        let Readings { at, seconds } = all_of(&Settings::default(), &climb(), 300).remove(0);
        assert_eq!(at.len(), 300);
        assert_eq!(at[0], None, "nothing was read before the first sample");
        assert!(at[50..].iter().flatten().all(|reading| (reading - 2.0).abs() < 0.1));
        assert_eq!(seconds.first_s, 7.0);
        let count = |second: usize| seconds.each[second - 7].count;
        assert_eq!((count(7), count(20)), (0, 50), "the filter takes 1.5 s to start");
        assert_eq!((count(37), count(38)), (15, 35), "none are from 37.3 to 38.3 s");
        let mean = seconds.each[20 - 7].mean_mps().expect("there are samples");
        assert!((mean - 2.0).abs() < 0.1, "{mean}");
        assert_eq!(Second::default().mean_mps(), None);
    }

    #[test]
    fn an_interruption_stops_it() {
        let pipeline = Settings::default().build().expect("defaults are valid");
        let grid = Even { start_s: 7.3, step_s: 0.2, values: vec![0.0; 300] };
        let stop = AtomicBool::new(true);
        let stopped = of_all(&[&pipeline], &climb(), &grid, &Work::new(1), &stop);
        assert!(matches!(stopped, Err(Error::Interrupted)));
    }
}
