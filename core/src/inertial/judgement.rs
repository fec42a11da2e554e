//! Whether the filter is trusted, and how much of the reading is therefore its own.
//!
//! ```text
//!             5 s in flight, or at rest                         1 s
//! (nothing) ---------------------------> settling, trusted ----------> weight 1: it sounds
//!     ^                                       |
//!     |  no sensor, a frozen one, a clipped   |  too rough, spinning, too uncertain, wrong axes,
//!     |  one, a gap, a new mounting, 2 s of   |  against the pressures
//!     |  contradiction, what cannot be        v
//!     +------------------------------------ not trusted -------------> weight 0: pressure alone
//! ```
//!
//! The weight moves over a second, and back over 0.4 s, so that neither way has a step. Once the
//! pressures have contradicted it, it must agree with them for a while, and each time for longer,
//! before it is trusted again. What it may be wrong by is what the pressures alone may be wrong by.

use super::agreement::Agreement;
use super::filter::Filter;
use super::trust::Trust;
use super::turns::Shown;
use super::vector::{Vector, dot};
use crate::units::{MetrePerSecond, larger, smaller};

/// In flight the filter needs this long before it is trusted, and after a doubt this long without
/// one (guesses).
const START_S: f32 = 5.0;
const AGAIN_S: f32 = 1.0;
/// The reading takes this long to pass from the pressures to the sensor, and back (guesses).
const CHANGE_S: f32 = 1.0;
const BACK_S: f32 = 0.4;
/// It is not trusted above these (guesses): a pole this slow, a deviation this large, turns this
/// quick, contradiction this long.
const SLOWEST_POLE_S: f32 = 3.0;
const DEVIATION_MPS: f32 = 2.0;
const SPINNING_RADPS: f32 = 2.5;
const CONTRADICTED_S: f32 = 3.0;
/// Turns beyond this the filter ends with: a step of the covariance of 0.1 s, of the second order,
/// would be of more than a radian. No glider rolls or spins at half of it (a guess).
const WHIRLING_RADPS: f32 = 12.0;
/// It may contradict the pressures for this long at first, while it finds its way, and by this
/// share more until much more time than the second has passed (guesses).
const FOUND_S: f32 = 20.0;
const YOUNG_S: f32 = 15.0;
/// The pressures' climb is taken to be no better than this (a guess).
const LEAST_MPS: f32 = 0.4;
/// After a contradiction it must agree for this long, each time for so many times as long, and for
/// this long at most (guesses).
const DOUBTED_S: f32 = 5.0;
const LONGER: f32 = 4.0;
const LONGEST_S: f32 = 320.0;
/// ... and the heights must not surprise it more than this, as a mean square (a guess: good sensors
/// have 0.7 at most, a reversed gyro 1.5 and more).
const MOST_STRAIN: f32 = 1.0;
/// Energies are compared after so long above this airspeed (guesses): on the ground the velocity
/// is not the one through the air.
const FAST_MPS: f32 = 10.0;
const FAST_S: f32 = 5.0;

/// State of the judgement.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Judgement {
    agreement: Agreement,
    /// Deviation of the climb that the pressures alone show, m/s.
    deviation: f32,
    /// It has contradicted the pressures, and must agree with them for so much longer, s.
    doubted_s: f32,
    /// How long it had to the last time, s.
    last_s: f32,
    /// It was trusted since it began.
    was_trusted: bool,
    /// It has sounded.
    has_sounded: bool,
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
        self.was_trusted = false;
    }

    /// After a gap: what is known of the sensor is kept.
    pub(super) fn restart(&mut self) {
        *self = Self { doubted_s: self.doubted_s, last_s: self.last_s, ..Self::default() };
    }

    /// Takes the deviation of the climb that the pressures alone show: where that is worse, the
    /// filter may be.
    pub(super) fn compare_with(&mut self, deviation: Option<MetrePerSecond>) {
        self.deviation = deviation.map_or(0.0, |deviation| deviation.0);
    }

    /// Passes `dt_s` at this airspeed, over which the measurements have added so much to the
    /// filter's energy height, and the heights surprise it by so much.
    pub(super) fn pass(&mut self, dt_s: f32, airspeed: f32, (added_m, strain): (f32, f32)) {
        self.since_start_s += dt_s;
        self.fast_s = if airspeed > FAST_MPS { self.fast_s + dt_s } else { 0.0 };
        if self.fast_s < FAST_S {
            self.agreement = Agreement::default();
        } else {
            self.agreement.pass(dt_s, added_m);
        }
        if self.fast_s > FAST_S && self.agreement.is_good(self.share()) && strain < MOST_STRAIN {
            self.doubted_s = larger(self.doubted_s - dt_s, 0.0);
        }
    }

    /// It has contradicted the pressures, and must agree with them before it is trusted again.
    pub(super) fn doubt(&mut self) {
        if self.was_trusted {
            self.last_s = smaller(larger(LONGER * self.last_s, DOUBTED_S), LONGEST_S);
        }
        self.doubted_s = self.last_s;
        self.agreement = Agreement::default();
        self.was_trusted = false;
        self.since_start_s = 0.0;
    }

    /// How wrong its climb may be, m/s: more while it is young.
    fn share(&self) -> f32 {
        let has_contradicted = self.last_s > 0.0;
        let young = if has_contradicted { 0.0 } else { YOUNG_S / larger(self.since_start_s, 1.0) };
        (1.0 + young) * larger(self.deviation, LEAST_MPS)
    }

    /// Whether it contradicts the pressures; while it finds its way at first it may.
    pub(super) fn is_broken(&self) -> bool {
        self.agreement.is_broken(self.share()) && (self.was_trusted || self.since_start_s > FOUND_S)
    }

    /// Judges the filter. `turn` is the last turn rate, and `shown` what the turns so far show of
    /// its axes.
    pub(super) fn of(&mut self, filter: &Filter, turn: Vector, shown: Shown) -> Trust {
        let trust = self.judge(filter, turn, shown);
        self.was_trusted |= trust == Trust::Trusted;
        trust
    }

    fn judge(&self, filter: &Filter, turn: Vector, shown: Shown) -> Trust {
        let is_early = self.since_start_s < START_S && !filter.is_at_rest();
        let is_early = is_early || (!self.was_trusted && !self.agreement.is_good(self.share()));
        match shown {
            Shown::TurnReversed => Trust::TurnReversed,
            Shown::ForceReversed => Trust::ForceReversed,
            Shown::Unlike => Trust::Contradicts,
            _ if self.doubted_s > 0.0 => Trust::Contradicts,
            _ if filter.pole_s() > SLOWEST_POLE_S => Trust::Shaken,
            _ if dot(turn, turn) > SPINNING_RADPS * SPINNING_RADPS => Trust::Spinning,
            Shown::Doubtful => Trust::Settling,
            _ if is_early || filter.crawls() => Trust::Settling,
            _ if filter.deviation() > self.most_deviation() => Trust::Settling,
            _ => Trust::Trusted,
        }
    }

    /// How uncertain the filter may be of its climb, m/s: before it sounds again, as the pressures
    /// alone.
    fn most_deviation(&self) -> f32 {
        if self.has_sounded && self.weight == 0.0 {
            larger(self.deviation, LEAST_MPS)
        } else {
            DEVIATION_MPS
        }
    }

    /// Whether it was trusted since it began.
    pub(super) fn was_trusted(&self) -> bool {
        self.was_trusted
    }

    /// How long it has run since it began, s.
    pub(super) fn since_start_s(&self) -> f32 {
        self.since_start_s
    }

    /// Moves the weight over `dt_s`.
    pub(super) fn weigh(&mut self, dt_s: f32, trust: Trust) -> f32 {
        let is_trusted = trust == Trust::Trusted;
        self.since_doubt_s = if is_trusted { self.since_doubt_s + dt_s } else { 0.0 };
        let is_back = self.since_doubt_s <= AGAIN_S;
        let way = if is_back { -1.0 / BACK_S } else { 1.0 / CHANGE_S };
        self.weight = larger(smaller(self.weight + dt_s * way, 1.0), 0.0);
        self.has_sounded |= self.weight > 0.0;
        self.weight
    }
}

/// Whether a turn rate is beyond what the filter's steps can hold, and any glider's.
pub(super) fn is_whirling(turn: Vector) -> bool {
    dot(turn, turn) > WHIRLING_RADPS * WHIRLING_RADPS
}

/// Whether the filter has lost its way and must start anew.
pub(super) fn is_beyond_hope(filter: &Filter) -> bool {
    filter.contradicted_s() > CONTRADICTED_S
}
