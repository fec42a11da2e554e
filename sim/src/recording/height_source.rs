//! Whether the heights of a recording are a barometer's or a satellite receiver's.

use super::Recording;
use chirrup_core::pressure_altitude;
use serde::Serialize;

/// Heights that differ by less are copies: both are written in whole metres.
const SAME_M: f64 = 1.0;
/// So large a share of the samples agrees where one is a copy of the other.
const COPY_SHARE: f64 = 0.98;
/// With fewer samples nothing is said.
const FEWEST: usize = 30;
/// Where the heights change by less, two sensors can agree by chance.
const CHANGES_M: f64 = 30.0;

/// What the heights are from.
#[derive(Clone, Copy, Debug, Eq, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Source {
    /// Nothing else is known: a pressure.
    Pressure,
    /// The same as the satellite receiver's altitude all through.
    Satellites,
}

/// What the heights of `recording` are from.
///
/// The pressure altitude and the altitude from satellites differ by the day's pressure and
/// temperature, by tens of metres that change with height; where they agree all through, one is a
/// copy of the other.
pub fn height_source(recording: &Recording) -> Source {
    let pairs = recording.samples.iter().zip(&recording.positions);
    let (mut count, mut same) = (0, 0);
    let (mut low_m, mut high_m) = (f64::MAX, f64::MIN);
    for (sample, position) in pairs {
        let satellites_m = position.and_then(|position| position.gnss_altitude_m);
        let Some((pressure, satellites_m)) = sample.usable_static_pressure().zip(satellites_m)
        else {
            continue;
        };
        let height_m = f64::from(pressure_altitude(pressure).0);
        (low_m, high_m) = (low_m.min(height_m), high_m.max(height_m));
        count += 1;
        same += usize::from((height_m - satellites_m).abs() <= SAME_M);
    }
    let is_copy =
        count >= FEWEST && high_m - low_m > CHANGES_M && same as f64 >= COPY_SHARE * count as f64;
    if is_copy { Source::Satellites } else { Source::Pressure }
}
