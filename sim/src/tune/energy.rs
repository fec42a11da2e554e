//! The compensation and the delay estimated from several recordings together.

use crate::recording::Recording;
use crate::recording::energy_fit::{
    COVERS_95, EnergyFit, Late, MOST_DELAY_MS, NoFit, fit, too_late,
};
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
        let percents: Vec<Value> = believed
            .iter()
            .map(|fit| Value {
                of: fit.percent,
                error: fit.percent_error.max(LEAST_PERCENT_ERROR),
                shared: fit.percent_shared,
            })
            .collect();
        let lates: Vec<Value> = believed
            .iter()
            .filter_map(|fit| fit.late)
            .map(|Late { ms, error_ms, shared_ms }| Value {
                of: ms,
                error: error_ms.max(LEAST_LATE_ERROR_MS),
                shared: shared_ms,
            })
            .collect();
        Self { recordings: believed.len(), percent: weighted(&percents), late_ms: weighted(&lates) }
    }

    /// `settings` with the estimates that differ from them by more than the interval that covers
    /// 95 %, and a description of the changes. A lateness that no setting can hold changes nothing.
    pub fn applied_to(&self, settings: &Settings) -> (Settings, Vec<String>) {
        let (mut changed, mut said) = (settings.clone(), Vec::new());
        let differs = |(percent, error): &(f64, f64)| {
            (percent - f64::from(settings.energy.compensation_percent)).abs() > COVERS_95 * error
        };
        if let Some((percent, error)) = self.percent.filter(differs) {
            changed.energy.compensation_percent = percent.round().clamp(0.0, 150.0) as f32;
            let within = COVERS_95 * error;
            said.push(format!("compensation_percent = {percent:.0} (± {within:.1}, 95 % sure)"));
        }
        let held = self.late_ms.filter(|(late_ms, _)| late_ms.abs() <= MOST_DELAY_MS);
        if let Some((late_ms, error)) = held {
            let present =
                f64::from(settings.energy.airspeed_delay_ms - settings.energy.static_delay_ms);
            if (late_ms - present).abs() > COVERS_95 * error {
                let delay = |ms: f64| ms.round().clamp(0.0, MOST_DELAY_MS) as f32;
                changed.energy.airspeed_delay_ms = delay(late_ms);
                changed.energy.static_delay_ms = delay(-late_ms);
                let line = if late_ms > 0.0 { "airspeed_delay_ms" } else { "static_delay_ms" };
                let (ms, within) = (late_ms.abs(), COVERS_95 * error);
                said.push(format!("{line} = {ms:.0} (± {within:.0}, 95 % sure)"));
            }
        }
        (changed, said)
    }

    /// What to do about a lateness that no setting can hold.
    pub fn too_late(&self) -> Option<String> {
        let (late_ms, error) = self.late_ms?;
        (late_ms.abs() > MOST_DELAY_MS).then(|| too_late(late_ms, error))
    }
}

/// A value with its standard error, and the part of that which all recordings have in common.
struct Value {
    of: f64,
    error: f64,
    shared: f64,
}

/// The mean weighted by the errors, and its error: what the recordings have in common does not
/// average out.
fn weighted(values: &[Value]) -> Option<(f64, f64)> {
    if values.is_empty() {
        return None;
    }
    let total: f64 = values.iter().map(|value| value.error.powi(-2)).sum();
    let mean = |of: &dyn Fn(&Value) -> f64| {
        values.iter().map(|value| of(value) * value.error.powi(-2)).sum::<f64>() / total
    };
    let own = |value: &Value| {
        (value.error.powi(2) - value.shared.powi(2)).max(0.0) * value.error.powi(-2)
    };
    let own_error = (mean(&own) / total).sqrt();
    Some((mean(&|value| value.of), own_error.hypot(mean(&|value| value.shared))))
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn recordings_of_one_glider_average_out_but_for_what_they_have_in_common() {
        let of = |shared| (0..4).map(move |_| Value { of: 7.0, error: 10.0, shared });
        let error = |shared| weighted(&of(shared).collect::<Vec<_>>()).map_or(0.0, |all| all.1);
        assert_relative_eq!(error(0.0), 5.0);
        assert_relative_eq!(error(10.0), 10.0);
        assert_relative_eq!(error(6.0), (36.0 + 64.0 / 4.0_f64).sqrt());
    }

    #[test]
    fn a_lateness_beyond_the_setting_is_told_and_nothing_is_applied() {
        let settings = Settings::default();
        for (late_ms, key) in [(900.0, "airspeed_delay_ms"), (-700.0, "static_delay_ms")] {
            let pooled =
                Pooled { recordings: 1, late_ms: Some((late_ms, 20.0)), ..Pooled::default() };
            let (changed, said) = pooled.applied_to(&settings);
            assert!(changed == settings && said.is_empty());
            assert!(pooled.too_late().is_some_and(|text| text.contains(key)));
        }
        let mut beyond = settings;
        beyond.energy.airspeed_delay_ms = MOST_DELAY_MS as f32 + 1.0;
        assert!(beyond.build().is_err(), "the setting ends there");
        beyond.energy.airspeed_delay_ms = MOST_DELAY_MS as f32;
        assert!(beyond.build().is_ok());
    }
}
