//! What is measured of each case, and the bound that the default settings must hold.
//!
//! The bounds are requirements of our own, chosen for what a pilot can bear; no source.

use serde::Serialize;

/// What is measured.
#[derive(Clone, Copy, Debug, Eq, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Measure {
    /// Error of the reading against the truth, m/s rms.
    ErrorMps,
    /// The largest error of the reading, m/s.
    WorstMps,
    /// The mean error of the reading, of either sign, m/s.
    MeanMps,
    /// Error of the reading in the glides before the entries, m/s rms.
    BeforeMps,
    /// Climb sounds that begin while the truth is below zero, in ten minutes.
    FalseBeeps,
    /// Those of them that a pilot would take for a call, in ten minutes.
    FalseSpells,
    /// Time from when the truth is half-way up an entry to when the reading is, s.
    HalfLateS,
    /// Share of the entries at which the reading is not half-way up within 8 s, percent.
    MissedPercent,
    /// How far the reading of a circle is behind, degrees of the circle.
    LagDeg,
    /// Amplitude of the reading of a circle as a share of the truth's.
    Gain,
    /// Noise of the filter's reading in still air, m/s rms.
    NoiseMps,
    /// Its lag to half-way at an edge of 1 m/s within 1 s, up or down, the longer, as a share of
    /// that of the fixed filter of the same noise.
    LagRatioAt1,
    /// The same at 2 m/s.
    LagRatioAt2,
}

impl Measure {
    /// What it is called in the table.
    pub fn title(self) -> &'static str {
        match self {
            Self::ErrorMps => "error, m/s rms",
            Self::WorstMps => "largest error, m/s",
            Self::MeanMps => "mean error, m/s",
            Self::BeforeMps => "error before, m/s rms",
            Self::FalseBeeps => "false beeps in 10 min",
            Self::FalseSpells => "false spells in 10 min",
            Self::HalfLateS => "half-way late by, s",
            Self::MissedPercent => "missed, percent",
            Self::LagDeg => "lag, degrees",
            Self::Gain => "gain",
            Self::NoiseMps => "noise of the reading, m/s rms",
            Self::LagRatioAt1 => "lag ratio at 1 m/s",
            Self::LagRatioAt2 => "lag ratio at 2 m/s",
        }
    }

    /// How many decimals it is printed with.
    pub fn decimals(self) -> usize {
        match self {
            Self::ErrorMps | Self::MeanMps | Self::BeforeMps | Self::Gain | Self::NoiseMps => 3,
            Self::WorstMps | Self::HalfLateS | Self::LagRatioAt1 | Self::LagRatioAt2 => 2,
            Self::FalseBeeps | Self::FalseSpells | Self::MissedPercent | Self::LagDeg => 1,
        }
    }

    /// Whether the larger value is the better one.
    pub fn is_better_high(self) -> bool {
        self == Self::Gain
    }
}

use Measure::{
    BeforeMps, ErrorMps, FalseBeeps, FalseSpells, Gain, HalfLateS, LagDeg, LagRatioAt1,
    LagRatioAt2, MeanMps, MissedPercent, NoiseMps, WorstMps,
};

/// The case of what is measured of the filter alone, in still air.
pub const FILTER: &str = "filter";

/// Every row of the table: the case, the measure, and what the default must hold, where it must
/// hold anything.
pub const MUST: [(&str, Measure, Option<f64>); 39] = [
    (FILTER, NoiseMps, Some(0.016)),
    (FILTER, LagRatioAt1, Some(0.36)),
    (FILTER, LagRatioAt2, Some(0.28)),
    ("still", ErrorMps, Some(0.025)),
    ("pull_ups", ErrorMps, Some(0.085)),
    ("gusts_025", ErrorMps, Some(0.22)),
    ("gusts_025", FalseBeeps, None),
    ("gusts_025", FalseSpells, Some(0.0)),
    ("gusts_05", ErrorMps, Some(0.38)),
    ("gusts_05", FalseBeeps, None),
    ("gusts_05", FalseSpells, Some(1.0)),
    ("gusts_05_10_hz", ErrorMps, Some(0.38)),
    ("gusts_05_10_hz", FalseSpells, Some(1.0)),
    ("gusts_05_uneven", ErrorMps, Some(0.38)),
    ("gusts_05_uneven", FalseSpells, Some(1.0)),
    ("gusts_1", ErrorMps, Some(0.50)),
    ("gusts_1", FalseBeeps, None),
    ("gusts_1", FalseSpells, Some(2.0)),
    ("thermals_gusts", ErrorMps, Some(0.82)),
    ("thermals_gusts", FalseBeeps, None),
    ("thermals_gusts", FalseSpells, Some(6.0)),
    ("thermals", ErrorMps, Some(0.20)),
    ("thermals", FalseBeeps, None),
    ("thermals", FalseSpells, Some(4.0)),
    ("thermals_4_hz", ErrorMps, Some(0.22)),
    ("thermals_1_hz", ErrorMps, Some(0.29)),
    ("entry_1", HalfLateS, Some(0.42)),
    ("entry_1", MissedPercent, None),
    ("entry_2", HalfLateS, Some(0.30)),
    ("entry_1_gusts", HalfLateS, Some(1.5)),
    ("entry_1_gusts", MissedPercent, Some(6.0)),
    ("entry_2_gusts", HalfLateS, Some(1.5)),
    ("entry_2_gusts", MissedPercent, None),
    ("entry_1_rare", HalfLateS, None),
    ("entry_1_rare", MissedPercent, Some(6.0)),
    ("after_thermal", FalseBeeps, None),
    ("after_thermal", FalseSpells, Some(5.0)),
    ("circles", LagDeg, Some(6.0)),
    ("circles", Gain, Some(0.93)),
];

/// What must hold with an inertial sensor, without and with a satellite receiver beside it.
pub const MUST_INERTIAL: [(&str, Measure, f64, f64); 17] = [
    ("still", ErrorMps, 0.05, 0.05),
    ("pull_ups", WorstMps, 0.35, 0.35),
    ("gusts_05", ErrorMps, 0.18, 0.10),
    ("gusts_05", FalseBeeps, 0.0, 0.0),
    ("gusts_1", ErrorMps, 0.25, 0.10),
    ("gusts_1", FalseBeeps, 0.0, 0.0),
    ("thermals_gusts", ErrorMps, 0.33, 0.28),
    ("thermals_gusts", FalseBeeps, 5.0, 5.0),
    ("entry_2_gusts", HalfLateS, 0.15, 0.15),
    ("entry_2_gusts", BeforeMps, 0.18, 0.18),
    ("circles", LagDeg, 10.0, 7.0),
    ("circles_gusts", LagDeg, 10.0, 7.0),
    ("circles_long", ErrorMps, 0.36, 0.25),
    ("circles_long", MeanMps, 0.10, 0.10),
    ("inertial_askew", ErrorMps, 0.36, 0.33),
    ("inertial_lever", ErrorMps, 0.36, 0.33),
    ("inertial_doubled", ErrorMps, 0.36, 0.33),
];
