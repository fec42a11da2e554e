//! Energy height: the altitude to which the glider could zoom if it turned all its speed into height.
//!
//! ```text
//! h_E = h + V^2 / (2 g)
//! ```
//!
//! A pull-up trades speed for height and leaves `h_E` alone, so its rate of change shows what the air does and not
//! what the stick does. The energy is summed here, before the estimator, so that altitude and kinetic height pass
//! through one filter and cannot lag one another.
//!
//! The compensation, the part above the altitude, comes from one of
//!
//! ```text
//! none         0
//! electronic   V^2 / (2 g), V true airspeed
//! probe        H(p_te) - H(p_static): a probe of pressure coefficient -1 makes its line read p - q by itself
//! ```
//!
//! A source that comes or goes in flight would make `h_E` jump by the whole kinetic height (46 m at 30 m/s, a lift
//! that is not there). So while the source is missing the last compensation is held, and when it comes the
//! offset is taken up: `h_E` is continuous, and only its rate of change means anything.
//!
//! Source: any text on gliding or on energy methods in flight mechanics; the relation is mechanics.

use crate::atmosphere::{GRAVITY_MPS2, pressure_altitude};
use crate::units::{Metre, MetrePerSecond, Pascal};

/// Which source of total energy the settings ask for.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(rename_all = "lowercase"))]
pub enum EnergyChoice {
    /// Altitude alone: the reading follows the stick.
    None,
    /// Static pressure and airspeed, summed here.
    Electronic,
    /// A total-energy probe's own pressure line.
    Probe,
    /// The probe where there is one, else airspeed where there is one, else none.
    #[default]
    Auto,
}

/// Which source of total energy is in use.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum EnergySource {
    /// Altitude alone.
    #[default]
    None,
    /// Static pressure and airspeed.
    Electronic,
    /// A total-energy probe.
    Probe,
}

impl EnergySource {
    /// One word, as in the settings.
    pub fn name(self) -> &'static str {
        match self {
            EnergySource::None => "none",
            EnergySource::Electronic => "electronic",
            EnergySource::Probe => "probe",
        }
    }
}

/// Kinetic height `V^2 / (2 g)` of true airspeed `speed`.
pub fn kinetic_height(speed: MetrePerSecond) -> Metre {
    Metre(speed.0 * speed.0 / (2.0 * GRAVITY_MPS2))
}

/// The compensation a probe gives: how much higher the pressure in its line is than the glider.
pub fn probe_height(te_pressure: Pascal, altitude: Metre) -> Metre {
    Metre(pressure_altitude(te_pressure).0 - altitude.0)
}

/// Energy height, compensated or not, and how it was come by.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct EnergyHeight {
    /// Altitude plus compensation; only differences between samples have a meaning.
    pub height: Metre,
    /// The source in use.
    pub source: EnergySource,
    /// The source in use is missing in this sample and its last value was held.
    pub held: bool,
}

/// What is remembered of the compensation.
#[derive(Clone, Copy, Debug, Default)]
pub struct EnergyState {
    source: EnergySource,
    compensation: Metre,
    offset: Metre,
    live: bool,
}

impl EnergyState {
    /// Sums the energy of one sample.
    ///
    /// `speed` and `te_pressure` are this sample's, where it has them and they are usable. With
    /// [`EnergyChoice::Auto`] the best source seen so far stays chosen.
    pub fn step(
        &mut self,
        choice: EnergyChoice,
        altitude: Metre,
        speed: Option<MetrePerSecond>,
        te_pressure: Option<Pascal>,
    ) -> EnergyHeight {
        let source = self.choose(choice, speed.is_some(), te_pressure.is_some());
        if source != self.source {
            self.source = source;
            self.live = false;
        }
        let measured = match source {
            EnergySource::None => None,
            EnergySource::Electronic => speed.map(kinetic_height),
            EnergySource::Probe => te_pressure.map(|pressure| probe_height(pressure, altitude)),
        };
        if let Some(measured) = measured {
            if !self.live {
                self.offset = Metre(self.compensation.0 - measured.0);
            }
            self.compensation = Metre(measured.0 + self.offset.0);
        }
        self.live = measured.is_some();
        EnergyHeight {
            height: Metre(altitude.0 + self.compensation.0),
            source,
            held: source != EnergySource::None && measured.is_none(),
        }
    }

    /// The source in use.
    pub fn source(&self) -> EnergySource {
        self.source
    }

    fn choose(&self, choice: EnergyChoice, has_speed: bool, has_probe: bool) -> EnergySource {
        match choice {
            EnergyChoice::None => EnergySource::None,
            EnergyChoice::Electronic => EnergySource::Electronic,
            EnergyChoice::Probe => EnergySource::Probe,
            EnergyChoice::Auto if has_probe || self.source == EnergySource::Probe => EnergySource::Probe,
            EnergyChoice::Auto if has_speed || self.source == EnergySource::Electronic => EnergySource::Electronic,
            EnergyChoice::Auto => EnergySource::None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    fn electronic(state: &mut EnergyState, altitude: f32, speed: Option<f32>) -> EnergyHeight {
        state.step(EnergyChoice::Electronic, Metre(altitude), speed.map(MetrePerSecond), None)
    }

    #[test]
    fn a_frictionless_zoom_keeps_its_energy_height() {
        // (50^2 - 25^2) / (2 g0) = 95.60 m, g0 = 9.80665 m/s2 (published-values, section 4: mechanics).
        let mut state = EnergyState::default();
        let before = electronic(&mut state, 1000.0, Some(50.0));
        let after = electronic(&mut state, 1095.60, Some(25.0));
        assert_abs_diff_eq!(before.height.0, after.height.0, epsilon = 0.01);
    }

    #[test]
    fn a_probe_of_coefficient_minus_one_reads_the_kinetic_height() {
        // p - q at 30 m/s and sea level, against V^2 / (2 g) = 45.89 m; the rest is that p - q is not quite
        // linear in height (0.3 % here).
        let te = Pascal(101_325.0 - 0.5 * 1.225 * 30.0 * 30.0);
        assert_abs_diff_eq!(probe_height(te, Metre(0.0)).0, 45.89, epsilon = 0.15);
    }

    #[test]
    fn energy_height_does_not_jump_when_the_source_comes_or_goes() {
        let mut state = EnergyState::default();
        let heights = [
            electronic(&mut state, 1000.0, None),
            electronic(&mut state, 1000.0, Some(30.0)),
            electronic(&mut state, 1000.0, Some(30.0)),
            electronic(&mut state, 1000.0, None),
            electronic(&mut state, 1000.0, Some(45.0)),
        ];
        for energy in heights {
            assert_abs_diff_eq!(energy.height.0, 1000.0, epsilon = 1e-3);
        }
        assert_eq!(heights.map(|energy| energy.held), [true, false, false, true, false]);
    }

    #[test]
    fn auto_takes_the_best_source_seen_and_stays_with_it() {
        let mut state = EnergyState::default();
        let mut step = |speed: Option<f32>, te: Option<f32>| {
            state.step(EnergyChoice::Auto, Metre(0.0), speed.map(MetrePerSecond), te.map(Pascal)).source
        };
        assert_eq!(step(None, None), EnergySource::None);
        assert_eq!(step(Some(30.0), None), EnergySource::Electronic);
        assert_eq!(step(None, None), EnergySource::Electronic);
        assert_eq!(step(Some(30.0), Some(100_800.0)), EnergySource::Probe);
        assert_eq!(step(Some(30.0), None), EnergySource::Probe);
    }
}
