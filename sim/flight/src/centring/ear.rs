//! What there is to hear, and who hears it.

use crate::sensors::{Felt, OverGround};

/// Time between two samples, microseconds.
pub const STEP_US: i64 = 20_000;
/// The same in s.
pub(super) const STEP_S: f64 = STEP_US as f64 * 1e-6;
/// What there is to hear at a moment.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Moment {
    /// Time of the sample, microseconds.
    pub time_us: i64,
    /// Static pressure as its sensor gives it, Pa.
    pub static_pa: f64,
    /// Pitot less static pressure as its sensor gives it, Pa.
    pub dynamic_pa: f64,
    /// What the inertial sensor has felt since the sample before, where there is one.
    pub felt: Option<Felt>,
    /// The velocity over the ground that has arrived since the sample before.
    pub over_ground: Option<OverGround>,
    /// The truth: rate of the glider's inertial energy per weight, m/s.
    pub climb_mps: f64,
}

/// Whatever turns pressures into something heard.
pub trait Ear {
    /// Called every [`STEP_US`]; returns the climb that the sound of this moment means, in m/s, or
    /// `None` where nothing sounds.
    fn hear(&mut self, moment: &Moment) -> Option<f64>;
}

impl<F: FnMut(&Moment) -> Option<f64>> Ear for F {
    fn hear(&mut self, moment: &Moment) -> Option<f64> {
        self(moment)
    }
}
