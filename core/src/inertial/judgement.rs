//! Whether the filter is trusted, and how much of the reading is therefore its own.
//!
//! ```text
//!             5 s in flight, or at rest                      1 s each
//! (nothing) ---------------------------> settling, trusted ----------> weight 1: it sounds
//!     ^                                       |
//!     |  no sensor, a frozen one, a gap,      |  too rough, spinning, too uncertain, wrong axes,
//!     |  2 s of contradiction                 v  against the pressures
//!     +------------------------------------ not trusted -------------> weight 0: pressure alone
//! ```
//!
//! The weight moves over a second, so that neither way has a step. Once the pressures have
//! contradicted it, it is not trusted again until a turn has shown that its axes are right.

use super::agreement::Agreement;
use super::filter::Filter;
use super::trust::Trust;
use super::turns::Shown;
use super::vector::{Vector, length};
use crate::units::{larger, smaller};

/// In flight the filter needs this long before it is trusted, and after a doubt this long without
/// one (guesses).
const START_S: f32 = 5.0;
const AGAIN_S: f32 = 1.0;
/// The reading takes this long to pass from one source to the other (a guess).
const CHANGE_S: f32 = 1.0;
/// It is not trusted above these (guesses): a pole this slow, a deviation this large, turns this
/// quick, contradiction this long.
const SLOWEST_POLE_S: f32 = 3.0;
const DEVIATION_MPS: f32 = 2.0;
const SPINNING_RADPS: f32 = 2.5;
const CONTRADICTED_S: f32 = 2.0;
/// Energies are compared after so long above this airspeed (guesses): on the ground the velocity
/// is not the one through the air.
const FAST_MPS: f32 = 10.0;
const FAST_S: f32 = 5.0;

/// State of the judgement.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Judgement {
    agreement: Agreement,
    /// The pressures have contradicted it, and its axes were not checked since.
    is_doubted: bool,
    since_start_s: f32,
    since_doubt_s: f32,
    fast_s: f32,
    weight: f32,
}

impl Judgement {
    /// The filter starts anew.
    pub(super) fn start(&mut self) {
        self.agreement = Agreement::default();
        self.since_start_s = 0.0;
        self.fast_s = 0.0;
    }

    /// After a gap: what is known of the sensor is kept.
    pub(super) fn restart(&mut self) {
        *self = Self { is_doubted: self.is_doubted, ..Self::default() };
    }

    /// Passes `dt_s` of the filter's climb at this airspeed; `energy_m` is the energy height of the
    /// pressures, where both are new.
    pub(super) fn pass(&mut self, dt_s: f32, climb: f32, airspeed: f32, energy_m: Option<f32>) {
        self.since_start_s += dt_s;
        self.fast_s = if airspeed > FAST_MPS { self.fast_s + dt_s } else { 0.0 };
        if self.fast_s < FAST_S {
            self.agreement = Agreement::default();
            return;
        }
        self.agreement.pass(dt_s, climb);
        if let Some(energy_m) = energy_m {
            self.agreement.see(energy_m);
        }
    }

    /// Judges the filter. `turn` is the last turn rate, and `shown` what the turns so far show of
    /// its axes.
    pub(super) fn of(&mut self, filter: &Filter, turn: Vector, shown: Shown) -> Trust {
        let is_refused = matches!(shown, Shown::TurnReversed | Shown::ForceReversed);
        let is_contradicted = is_refused || self.agreement.is_broken() || is_beyond_hope(filter);
        self.is_doubted |= is_contradicted;
        self.is_doubted &= is_contradicted || shown != Shown::Right;
        let is_early = self.since_start_s < START_S && !filter.is_at_rest();
        match shown {
            Shown::TurnReversed => Trust::TurnReversed,
            Shown::ForceReversed => Trust::ForceReversed,
            _ if self.is_doubted => Trust::Contradicts,
            _ if filter.pole_s() > SLOWEST_POLE_S => Trust::Shaken,
            _ if length(turn) > SPINNING_RADPS => Trust::Spinning,
            _ if is_early || filter.crawls() => Trust::Settling,
            _ if filter.deviation() > DEVIATION_MPS => Trust::Settling,
            _ => Trust::Trusted,
        }
    }

    /// How long it has run since it began, s.
    pub(super) fn since_start_s(&self) -> f32 {
        self.since_start_s
    }

    /// Moves the weight over `dt_s`.
    pub(super) fn weigh(&mut self, dt_s: f32, trust: Trust) -> f32 {
        let is_trusted = trust == Trust::Trusted;
        self.since_doubt_s = if is_trusted { self.since_doubt_s + dt_s } else { 0.0 };
        let way = if self.since_doubt_s > AGAIN_S { dt_s } else { -dt_s };
        self.weight = larger(smaller(self.weight + way / CHANGE_S, 1.0), 0.0);
        self.weight
    }
}

/// Whether the filter has lost its way and must start anew.
pub(super) fn is_beyond_hope(filter: &Filter) -> bool {
    filter.contradicted_s() > CONTRADICTED_S
}
