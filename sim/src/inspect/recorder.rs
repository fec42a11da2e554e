//! What the recorder's own vario read, beside what this recording gives.

use crate::recording::Recording;
use crate::recording::reference::{Agreement, agreement};
use crate::recording::series::Even;
use crate::recording::truth::smoothed_energy;
use chirrup_core::stages::Energy;
use chirrup_core::{EnergyChoice, EnergySettings};
use serde::Serialize;
use std::fmt;

/// What goes less with ours has nothing to do with it: a broken log (a guess).
const LEAST_CORRELATION: f64 = 0.3;

/// A reading of the recorder's, beside ours.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct RecorderVario {
    /// `total_energy` or `vertical_speed`.
    pub what: &'static str,
    /// Whether ours is compensated.
    pub compensated: bool,
    /// How the two agree.
    #[serde(flatten)]
    pub agreement: Agreement,
    /// Theirs less ours on average, m/s.
    pub mean_difference_mps: f64,
}

/// The recorder's readings in `recording`; ours are compensated with `energy`.
pub(super) fn of(recording: &Recording, energy: &EnergySettings) -> Vec<RecorderVario> {
    let plain = EnergySettings { choice: EnergyChoice::None, ..energy.clone() };
    let readings = [
        ("total_energy", &recording.recorded_climb_mps, energy),
        ("vertical_speed", &recording.recorded_vertical_mps, &plain),
    ];
    let there = readings.into_iter().filter(|(_, values, _)| !values.is_empty());
    there.filter_map(|(what, values, energy)| beside(recording, what, values, energy)).collect()
}

fn beside(
    recording: &Recording,
    what: &'static str,
    theirs_mps: &[f64],
    settings: &EnergySettings,
) -> Option<RecorderVario> {
    let energy = Energy::new(settings).ok()?;
    let (heights, smoothed) = smoothed_energy(recording, &energy);
    let ours = Even { values: smoothed.speed_mps, ..heights };
    let times_s = recording.times_s();
    let agreement = agreement(&times_s, theirs_mps, &ours)?;
    if agreement.correlation < LEAST_CORRELATION {
        return None;
    }
    let apart = times_s.iter().zip(theirs_mps).filter(|(_, theirs)| theirs.is_finite());
    let apart = apart.map(|(time, theirs)| theirs - ours.at(time - agreement.delay_s));
    let (sum, count) = apart.fold((0.0, 0.0), |(sum, count), apart| (sum + apart, count + 1.0));
    let has_speed = recording.samples.iter().any(|sample| sample.usable_speed().is_some());
    let has_probe = recording.samples.iter().any(|sample| sample.usable_te_pressure().is_some());
    Some(RecorderVario {
        what,
        compensated: settings.choice != EnergyChoice::None && (has_speed || has_probe),
        agreement,
        mean_difference_mps: sum / count,
    })
}

impl fmt::Display for RecorderVario {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Agreement { correlation, slope, rms_mps, delay_s, time_constant_s } = self.agreement;
        let what = self.what.replace('_', " ");
        let ours = if self.compensated { "ours" } else { "ours without compensation" };
        // Zero added: what rounds to zero has no minus.
        let mean_mps = (self.mean_difference_mps * 100.0).round() / 100.0 + 0.0;
        write!(
            f,
            "its own {what} against {ours}: correlation {correlation:.3}, {slope:.2} of it, \
             {mean_mps:+.2} m/s on average, {rms_mps:.2} m/s rms apart, {delay_s:.1} s later and \
             a time constant of {time_constant_s:.1} s more"
        )
    }
}
