//! What is told of a recording.

use crate::recording::Recording;
use crate::recording::reference::Agreement;
use crate::recording::truth::Truth;
use crate::segments::Segment;
use serde::Serialize;

/// One recording.
#[derive(Clone, Debug, Default, Serialize)]
pub struct Tuned {
    /// As the user named it.
    pub trace: String,
    /// Which segment of it, where it has several.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub segment: Option<Segment>,
    /// How long it is.
    pub lasts_s: f64,
    /// Time from one sample to the next in the mean, s.
    pub interval_s: f64,
    /// Where the truth is from: `recorded`, `estimated` or `smoothed`.
    pub truth: &'static str,
    /// Standard deviation of the truth, m/s: how well it is known. 0 where it is recorded.
    pub truth_deviation_mps: f64,
    /// How much the climb changes over the flight: its standard deviation, m/s.
    pub climb_spread_mps: f64,
    /// How the truth agrees with the recorder's own vario, where that is in the recording.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub reference: Option<Agreement>,
    /// How it was read: what was taken for what, and whether most of it is left out.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub remarks: Vec<String>,
}

impl Tuned {
    /// Of a recording and its truth.
    pub fn of(recording: &Recording, truth: &Truth) -> Self {
        Self {
            trace: recording.name.clone(),
            segment: recording.segment.if_one_of_several(),
            lasts_s: recording.duration_s(),
            interval_s: truth.interval_s,
            truth: truth.from,
            truth_deviation_mps: truth.deviation_mps,
            climb_spread_mps: truth.spread_mps(),
            reference: truth.reference,
            remarks: recording.remarks(),
        }
    }
}
