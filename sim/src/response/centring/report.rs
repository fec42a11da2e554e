//! The figures, in the shape of their JSON.

use serde::Serialize;

/// What the pilots climbed.
#[derive(Clone, Debug, Serialize)]
pub struct CentringReport {
    /// Thermals of each air.
    pub thermals: u32,
    /// One for each air.
    pub airs: Vec<AirReport>,
}

/// In one air.
#[derive(Clone, Debug, Serialize)]
pub struct AirReport {
    /// Its name.
    pub air: &'static str,
    /// Vertical turbulence, rms.
    pub turbulence_mps: f64,
    /// Horizontal gusts, rms.
    pub gusts_mps: f64,
    /// One for each pilot.
    pub pilots: Vec<PilotReport>,
    /// Mean of the pilots' shares with the habits of the default of November 2026.
    pub unchanged_share: f64,
    /// Mean of their shares with habits of their own.
    pub own_share: f64,
    /// The lower of the two.
    pub share: f64,
}

/// One pilot.
#[derive(Clone, Copy, Debug, Serialize)]
pub struct PilotReport {
    /// Who he is.
    pub pilot: &'static str,
    /// Mean climb with a perfect tone.
    pub perfect_mps: f64,
    /// Mean climb with the settings, as used to the default settings.
    pub unchanged_mps: f64,
    /// Mean climb with the settings, as used to them.
    pub own_mps: f64,
    /// How long before he takes the climb to have been what he knows now, as used to the settings;
    /// `None` for who does not allow for it.
    pub own_allowance_s: Option<f64>,
    /// `unchanged_mps` over `perfect_mps`.
    pub unchanged_share: f64,
    /// `own_mps` over `perfect_mps`.
    pub own_share: f64,
}
