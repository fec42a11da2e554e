//! The figures, in the shape of their JSON.

use serde::Serialize;

/// What the pilots climbed.
#[derive(Clone, Debug, Serialize)]
pub struct CentringReport {
    /// Thermals of each air.
    pub thermals: u32,
    /// One for each air, with the pressures alone.
    pub airs: Vec<AirReport>,
    /// The same with an inertial sensor.
    pub inertial: Vec<AirReport>,
    /// The same with an inertial sensor and a satellite receiver.
    pub satellites: Vec<AirReport>,
    /// The shares of all three beside each other, one row for each air.
    pub shares: Vec<ShareRow>,
}

/// The share of the climb with a perfect tone, in one air, with each set of sensors: that of
/// [`AirReport::share`].
#[derive(Clone, Copy, Debug, Serialize)]
pub struct ShareRow {
    /// The air's name.
    pub air: &'static str,
    /// With the pressures alone.
    pub pressures: f64,
    /// With the inertial sensor.
    pub inertial: f64,
    /// With a satellite receiver as well.
    pub with_satellites: f64,
    /// What the default must keep with the inertial sensor, without and with the receiver.
    pub must: f64,
    /// What is aimed at.
    pub aim: f64,
    /// Whether both are kept.
    pub holds: bool,
}

impl ShareRow {
    /// The row of an air, from the shares of the three sets of sensors and from what must be kept
    /// and is aimed at.
    pub(super) fn new(air: &'static str, shares: [f64; 3], [must, aim]: [f64; 2]) -> Self {
        let [pressures, inertial, with_satellites] = shares;
        let holds = inertial.min(with_satellites) >= must;
        Self { air, pressures, inertial, with_satellites, must, aim, holds }
    }
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
