//! The compensation and the delay estimated from several recordings together.

use crate::recording::Recording;
use crate::recording::energy_fit::{EnergyFit, Late, NoFit, fit};
use crate::recording::track::Track;
use chirrup_core::stages::Polar;
use chirrup_core::{EnergyChoice, EnergySource, Settings};
use serde::Serialize;

/// Lower bound of a fit's standard error: percent, and milliseconds.
const LEAST_PERCENT_ERROR: f64 = 0.5;
const LEAST_LATE_ERROR_MS: f64 = 3.0;

/// The energy fit of all recordings.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct Pooled {
    /// Recordings with changes of speed in air calm enough.
    pub recordings: usize,
    /// The estimated `compensation_percent`, and its standard error.
    pub percent: Option<(f64, f64)>,
    /// How late the airspeed is against the static pressure in ms, and the standard error.
    pub late_ms: Option<(f64, f64)>,
}

/// The fit of one recording with the source that `settings` would use.
///
/// # Errors
/// Why there is none.
pub fn of_recording(recording: &Recording, settings: &Settings) -> Result<EnergyFit, NoFit> {
    let track = Track::of(recording);
    let polar = settings.polar.as_ref().and_then(|polar| Polar::new(polar).ok());
    let source = match settings.energy.choice {
        EnergyChoice::None => EnergySource::None,
        EnergyChoice::Electronic => EnergySource::Electronic,
        EnergyChoice::Probe => EnergySource::Probe,
        EnergyChoice::Auto if !track.probe_m.is_empty() => EnergySource::Probe,
        EnergyChoice::Auto => EnergySource::Electronic,
    };
    fit(&track, source, polar.as_ref())
}

impl Pooled {
    /// The mean of the usable fits, weighted by their standard errors.
    pub fn of(fits: &[Result<EnergyFit, NoFit>]) -> Self {
        let believed: Vec<&EnergyFit> =
            fits.iter().flatten().filter(|fit| fit.is_telling()).collect();
        let percents: Vec<(f64, f64)> = believed
            .iter()
            .map(|fit| (fit.percent, fit.percent_error.max(LEAST_PERCENT_ERROR)))
            .collect();
        let lates = believed.iter().filter_map(|fit| fit.late);
        let lates: Vec<(f64, f64)> =
            lates.map(|Late { ms, error_ms }| (ms, error_ms.max(LEAST_LATE_ERROR_MS))).collect();
        Self { recordings: believed.len(), percent: weighted(&percents), late_ms: weighted(&lates) }
    }

    /// `settings` with the estimates that differ from them by more than twice the error, and a
    /// description of the changes.
    pub fn applied_to(&self, settings: &Settings) -> (Settings, Vec<String>) {
        let (mut changed, mut said) = (settings.clone(), Vec::new());
        let differs = |(percent, error): &(f64, f64)| {
            (percent - f64::from(settings.energy.compensation_percent)).abs() > 2.0 * error
        };
        if let Some((percent, error)) = self.percent.filter(differs) {
            changed.energy.compensation_percent = percent.round().clamp(0.0, 150.0) as f32;
            said.push(format!("compensation_percent = {percent:.0} (± {error:.1})"));
        }
        if let Some((late_ms, error)) = self.late_ms {
            let present =
                f64::from(settings.energy.airspeed_delay_ms - settings.energy.static_delay_ms);
            if (late_ms - present).abs() > 2.0 * error {
                let delay = |ms: f64| ms.round().clamp(0.0, 500.0) as f32;
                changed.energy.airspeed_delay_ms = delay(late_ms);
                changed.energy.static_delay_ms = delay(-late_ms);
                let line = if late_ms > 0.0 { "airspeed_delay_ms" } else { "static_delay_ms" };
                said.push(format!("{line} = {:.0} (± {error:.0})", late_ms.abs()));
            }
        }
        (changed, said)
    }
}

fn weighted(values: &[(f64, f64)]) -> Option<(f64, f64)> {
    if values.is_empty() {
        return None;
    }
    let total: f64 = values.iter().map(|(_, error)| error.powi(-2)).sum();
    let mean = values.iter().map(|(value, error)| value * error.powi(-2)).sum::<f64>() / total;
    Some((mean, total.powf(-0.5)))
}
