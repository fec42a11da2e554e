//! The air motion as written in a scenario, with units in the names.

use serde::Deserialize;

/// The wind.
#[derive(Clone, Debug, Deserialize, PartialEq)]
#[serde(default, deny_unknown_fields, expecting = "a table such as [wind]")]
pub struct WindSettings {
    /// Where it comes from, degrees clockwise from north. 0 to 360.
    pub from_deg: f64,
    /// Its speed 300 m above the ground, m/s; less below, by the logarithmic law. 0 to 40, default
    /// 0.
    pub speed_mps: f64,
    /// Its increase with every kilometre above that, m/s. -10 to 10, default 0.
    pub shear_mps_per_km: f64,
    /// Roughness of the ground, m. 0.001 to 2, default 0.05: fields.
    pub roughness_m: f64,
}

impl Default for WindSettings {
    fn default() -> Self {
        Self { from_deg: 270.0, speed_mps: 0.0, shear_mps_per_km: 0.0, roughness_m: 0.05 }
    }
}

/// Continuous turbulence of the Dryden spectrum: by height, or the same at every height, or one
/// component so and the other so. At least one of `rms_mps`, `gust_rms_mps` and `up_rms_mps` is
/// given.
#[derive(Clone, Debug, Default, Deserialize, PartialEq)]
#[serde(default, deny_unknown_fields, expecting = "a table such as [turbulence]")]
pub struct TurbulenceSettings {
    /// Each component at 2000 ft above the ground and higher, m/s rms. 0 to 5. Absent: no
    /// turbulence by height.
    pub rms_mps: Option<f64>,
    /// The vertical component at 1000 ft and lower, m/s rms. 0 to 5, default a tenth of the wind at
    /// 20 ft. Needs `rms_mps`.
    pub low_rms_mps: Option<f64>,
    /// Horizontal gusts, along and across each, m/s rms, at every height, in place of those by
    /// height. 0 to 5.
    pub gust_rms_mps: Option<f64>,
    /// Their scale length, m. 10 to 2000, default 150.
    pub gust_length_m: Option<f64>,
    /// Vertical gusts, m/s rms, at every height, in place of those by height. 0 to 5.
    pub up_rms_mps: Option<f64>,
    /// Their scale length, m. 10 to 2000, default 150.
    pub up_length_m: Option<f64>,
}

/// A thermal: a bell of lift with a ring of sink around it.
#[derive(Clone, Debug, Deserialize, PartialEq)]
#[serde(deny_unknown_fields, expecting = "a table such as [[thermal]]")]
pub struct ThermalSettings {
    /// Its name, used by legs.
    pub name: String,
    /// Where it stands at time zero, m east; it drifts with the wind at 300 m.
    pub east_m: f64,
    /// Where it stands, m north.
    pub north_m: f64,
    /// Vertical speed of the air in its core at its strongest height, m/s. 0 to 15.
    pub strength_mps: f64,
    /// Distance from its core at which lift turns to sink, m. 20 to 2000.
    pub radius_m: f64,
    /// Height above the sea at which it ends, m.
    pub top_m: f64,
    /// Width of its edge, m: a column that rises equally fast across and at every height, with no
    /// sink around it, and ends within this width about its radius. 1 to twice the radius. Default
    /// none: a bell.
    pub edge_m: Option<f64>,
}

/// A street of lift: a band of lift with sink on both sides.
#[derive(Clone, Debug, Deserialize, PartialEq)]
#[serde(deny_unknown_fields, expecting = "a table such as [[street]]")]
pub struct StreetSettings {
    /// A point of its middle at time zero, m east; it drifts with the wind at 300 m.
    pub east_m: f64,
    /// The same, m north.
    pub north_m: f64,
    /// Which way it runs, degrees clockwise from north. 0 to 360.
    pub course_deg: f64,
    /// Mean vertical speed of the air in its middle at its strongest height, m/s. 0 to 15.
    pub strength_mps: f64,
    /// Distance from its middle at which lift turns to sink, m. 20 to 3000.
    pub half_width_m: f64,
    /// Variation of its lift along it, as a share of the mean, 0 to 1. Default 0.5.
    #[serde(default = "half")]
    pub swell: f64,
    /// Distance from one peak to the next, m. 200 to 20000.
    pub spacing_m: f64,
    /// Height above the sea at which it ends, m.
    pub top_m: f64,
}

fn half() -> f64 {
    0.5
}

/// A long straight ridge across the wind.
#[derive(Clone, Debug, Deserialize, PartialEq)]
#[serde(deny_unknown_fields, expecting = "a table such as [ridge]")]
pub struct RidgeSettings {
    /// A point of its crest line, m east.
    pub east_m: f64,
    /// The same, m north.
    pub north_m: f64,
    /// Which way it runs, degrees clockwise from north. 0 to 360.
    pub course_deg: f64,
    /// How high it stands above the ground, m. 20 to 2000.
    pub height_m: f64,
}

/// A standing lee wave.
#[derive(Clone, Debug, Deserialize, PartialEq)]
#[serde(deny_unknown_fields, expecting = "a table such as [wave]")]
pub struct WaveSettings {
    /// A point where the air rises fastest, m east. The wave's fronts lie across the wind.
    pub east_m: f64,
    /// The same, m north.
    pub north_m: f64,
    /// Greatest vertical speed of the air, m/s. 0 to 15.
    pub strength_mps: f64,
    /// From crest to crest, m. 1000 to 50000.
    pub length_m: f64,
    /// Height above the sea at which it begins, m.
    pub base_m: f64,
    /// Height at which it ends, m; it is strongest half-way.
    pub top_m: f64,
}
