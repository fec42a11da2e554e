//! The figures of a recording and what they mean, in the shape of their JSON.

use super::gusts::Gusts;
use super::motion::{InertialSensor, SatelliteReceiver};
use super::noise::Noise;
use super::recorder::RecorderVario;
use super::steps::Steps;
use super::timing::Timing;
use crate::circling::Circling;
use crate::felt::FeltSummary;
use crate::recording::LeftOut;
use crate::recording::energy_fit::{EnergyFit, NoFit};
use crate::recording::flight::Flight;
use crate::recording::height_source::Source;
use crate::segments::Segment;
use crate::time::LocalClock;
use crate::units::Units;
use serde::{Serialize, Serializer};

/// The result of an inspection, in the shape of its JSON.
#[derive(Clone, Debug, Serialize)]
pub struct Inspection {
    /// The trace as the user named it.
    pub trace: String,
    /// The file without its folder.
    #[serde(skip)]
    pub title: String,
    /// Which segment of the trace this is, where it has several.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub segment: Option<Segment>,
    /// How regularly the samples come.
    pub timing: Timing,
    /// The static pressure, in pascals.
    pub static_pressure: Option<Noise>,
    /// The impact pressure, in pascals; absent where the trace has a speed instead.
    pub dynamic_pressure: Option<Noise>,
    /// What gusts do to the airspeed; absent where no dynamic pressure comes often enough to tell.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub gusts: Option<Gusts>,
    /// The probe's pressure, in pascals.
    pub probe_pressure: Option<Noise>,
    /// The pressure change of a metre at the recording's mean height.
    pub pascals_per_metre: f64,
    /// What was taken off the heights before the flight was read from them.
    pub steps: Steps,
    /// Take-off, launch, landing.
    pub flight: Flight,
    /// How each climb was centred, in the order of the flight's climbs.
    pub circling: Circling,
    /// What the heights are from.
    pub heights: Source,
    /// What the samples lack, in words; also the first of the findings.
    #[serde(skip)]
    pub contents: Vec<String>,
    /// What the recorder's own vario read beside ours.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub recorder: Vec<RecorderVario>,
    /// The energy fit from the speed changes, for each available source.
    #[serde(serialize_with = "fits")]
    pub energy: Vec<std::result::Result<EnergyFit, NoFit>>,
    /// An inertial sensor, where there is one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub inertial: Option<InertialSensor>,
    /// What an instrument with the given settings makes of it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub felt: Option<FeltSummary>,
    /// A satellite receiver that gives its velocity, where there is one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub gnss: Option<SatelliteReceiver>,
    /// Samples without a static pressure, used with the next one that has it.
    pub partial_samples: u64,
    /// Limits of the figures.
    pub left_out: LeftOut,
    /// All segments of the trace in order, a hundred at most, where it has several; this one, the
    /// longest with a flight, is among them.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub segments: Vec<Inspection>,
    /// The units in which people are told.
    #[serde(skip)]
    pub units: Units,
    /// What the clock shows.
    #[serde(skip)]
    pub clock: LocalClock,
    /// That half of the trace or more is left out; also the first of the findings.
    #[serde(skip)]
    pub caution: Option<String>,
    /// In plain words; the notes of the reader are the last.
    pub findings: Vec<String>,
}

/// In JSON a fit is its figures; a missing one is its reason.
fn fits<S: Serializer>(
    fits: &[std::result::Result<EnergyFit, NoFit>],
    serializer: S,
) -> std::result::Result<S::Ok, S::Error> {
    #[derive(Serialize)]
    #[serde(untagged)]
    enum Fit<'a> {
        Found(&'a EnergyFit),
        None { no_fit: NoFit },
    }
    serializer.collect_seq(fits.iter().map(|fit| match fit {
        Ok(fit) => Fit::Found(fit),
        Err(why) => Fit::None { no_fit: *why },
    }))
}
