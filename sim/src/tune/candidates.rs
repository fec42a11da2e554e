//! The candidate settings.

use crate::error::{Error, Result};
use chirrup_core::{FilterChoice, Pipeline, Settings};

/// Response times tried with each filter, in seconds: equal ratios from 0.25 to 4.
const RESPONSES: usize = 12;
const QUICKEST_S: f32 = 0.25;
const SLOWEST_S: f32 = 4.0;
/// Thresholds tried with each reading, in m/s.
const CLIMB_FROM_MPS: [f32; 4] = [0.1, 0.2, 0.3, 0.5];

/// One reading and the thresholds it is judged with.
#[derive(Clone, Debug)]
pub struct Candidate {
    /// The settings, with the threshold as they came.
    pub settings: Settings,
    /// What runs by them.
    pub pipeline: Pipeline,
    /// Whether these are the present settings.
    pub is_present: bool,
}

/// The readings to try: the `present` one first, as it is, then each filter with every response
/// time, with the rest of `base`.
///
/// # Errors
/// None that a checked `base` can cause; the core's own error is returned.
pub fn of(present: &Settings, base: &Settings) -> Result<Vec<Candidate>> {
    let mut all = vec![candidate(present.clone(), true)?];
    for filter in [FilterChoice::Adaptive, FilterChoice::Fixed] {
        for place in 0..RESPONSES {
            let share = place as f32 / (RESPONSES - 1) as f32;
            let response_s = two_digits(QUICKEST_S * libm::powf(SLOWEST_S / QUICKEST_S, share));
            let mut settings = base.clone();
            (settings.filter.choice, settings.filter.response_s) = (filter, response_s);
            all.push(candidate(settings, false)?);
        }
    }
    Ok(all)
}

/// The thresholds to try with each reading: the present one first.
pub fn thresholds(base: &Settings) -> Vec<f32> {
    let present = base.tone.climb_from_mps;
    let others = CLIMB_FROM_MPS.into_iter().filter(|threshold| *threshold != present);
    let fits = |threshold: &f32| {
        let mut settings = base.clone();
        settings.tone.climb_from_mps = *threshold;
        settings.build().is_ok()
    };
    std::iter::once(present).chain(others.filter(fits)).collect()
}

fn candidate(settings: Settings, is_present: bool) -> Result<Candidate> {
    let pipeline = settings.build().map_err(|error| Error::Settings(error.to_string()))?;
    Ok(Candidate { settings, pipeline, is_present })
}

fn two_digits(value: f32) -> f32 {
    let scale = if value < 1.0 { 100.0 } else { 10.0 };
    libm::roundf(value * scale) / scale
}
