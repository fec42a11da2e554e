//! The true reading, five times a second.

use super::Recording;
use super::series::Even;
use super::smoother::{Smoothed, smooth};
use chirrup_core::Micros;
use chirrup_core::stages::{AirData, Energy, EnergyState};

/// Spacing of everything that is compared.
pub const GRID_S: f64 = 0.2;
/// The recorded truth is averaged over this time, the glider's own length at 30 m/s: a reading is
/// not blamed for changes that none can follow.
const MEAN_S: f64 = 1.0;
/// Heights are averaged to this before they are smoothed.
const SMOOTHED_EVERY_S: f64 = 0.1;

/// The truth on an even grid from the first sample on.
#[derive(Clone, Debug)]
pub struct Truth {
    /// True climb in m/s.
    pub rate_mps: Even,
    /// Where it is from: `recorded` or `smoothed`.
    pub from: &'static str,
}

impl Truth {
    /// The recorded truth of a simulated trace, else the smoothed recording, in which slow gusts
    /// count as climb; energy heights are summed by `energy`.
    pub fn of(recording: &Recording, energy: &Energy) -> Self {
        let times_s = recording.times_s();
        if let Some(rates_mps) = recording.truth() {
            // A mean since the sample before belongs to the middle between the two.
            let middles: Vec<f64> = (0..times_s.len())
                .map(|place| 0.5 * (times_s[place.saturating_sub(1)] + times_s[place]))
                .collect();
            let even = Even::from(&middles, &rates_mps, GRID_S, times_s[0]);
            return Self { rate_mps: even.smoothed(MEAN_S), from: "recorded" };
        }
        let (heights, smoothed) = smoothed_energy(recording, energy);
        let grid: Vec<f64> = (0..heights.values.len())
            .map(|k| heights.start_s + k as f64 * heights.step_s)
            .collect();
        Self { rate_mps: Even::of(&grid, &smoothed.speed_mps, GRID_S), from: "smoothed" }
    }
}

/// The energy heights of a recording on an even grid of at most 10 a second, and those smoothed.
pub fn smoothed_energy(recording: &Recording, energy: &Energy) -> (Even, Smoothed) {
    let times_s = recording.times_s();
    let heights = energy_heights(recording, energy);
    let mean_s = recording.duration_s() / (times_s.len() - 1) as f64;
    let even = Even::of(&times_s, &heights, mean_s.max(SMOOTHED_EVERY_S));
    let grid: Vec<f64> =
        (0..even.values.len()).map(|k| even.start_s + k as f64 * even.step_s).collect();
    let smoothed = smooth(&grid, &even.values);
    (even, smoothed)
}

fn energy_heights(recording: &Recording, energy: &Energy) -> Vec<f64> {
    let mut state = EnergyState::default();
    let start = recording.samples.first().map_or(Micros(0), |sample| sample.time);
    let height = |sample: chirrup_core::Sample| {
        let (air, time) = (AirData::of(&sample)?, sample.time.since(start));
        let summed = energy.step(&mut state, time, &air, sample.usable_te_pressure());
        Some(f64::from(summed.height.0))
    };
    recording.samples.iter().filter_map(height).collect()
}
