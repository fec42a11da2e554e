//! The figures of a reading, in the order in which tables give them: in a CSV, in Python.

use chirrup_core::{Aided, MetrePerSecond, Sound, Values};

/// A figure in a table.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Figure {
    /// Its column, with the unit.
    pub name: &'static str,
    /// As many decimals as are written.
    pub decimals: usize,
}

const fn figure(name: &'static str, decimals: usize) -> Figure {
    Figure { name, decimals }
}

/// The figures that [`of`] gives; [`super::csv`] says what they are.
pub const FIGURES: [Figure; 13] = [
    figure("altitude_m", 3),
    figure("altimeter_m", 3),
    figure("tas_mps", 4),
    figure("vertical_speed_mps", 4),
    figure("te_vertical_speed_mps", 4),
    figure("average_mps", 4),
    figure("climb_average_mps", 4),
    figure("climb_gain_m", 2),
    figure("netto_mps", 4),
    figure("relative_netto_mps", 4),
    figure("speed_to_fly_mps", 3),
    figure("tone_hz", 2),
    figure("cadence_hz", 3),
];

/// The figures of an inertial sensor that [`of_inertial`] gives.
pub const INERTIAL_FIGURES: [Figure; 6] = [
    figure("inertial_climb_mps", 4),
    figure("inertial_deviation_mps", 4),
    figure("inertial_vertical_speed_mps", 4),
    figure("load_factor", 4),
    figure("bank_rad", 4),
    figure("inertial_weight", 3),
];

/// The figures of a reading; `None` where there is none.
pub fn of(values: &Values) -> [Option<f32>; FIGURES.len()] {
    let speed = |speed: MetrePerSecond| speed.0;
    let (pitch_hz, cadence_hz) = pitch_and_cadence(&values.sound);
    [
        Some(values.altitude.0),
        Some(values.altimeter.0),
        values.true_airspeed.map(speed),
        Some(values.vertical_speed.0),
        values.te_vertical_speed.map(speed),
        values.average.map(speed),
        values.climb.map(|climb| climb.average.0),
        values.climb.map(|climb| climb.gain.0),
        values.netto.map(|netto| netto.air.0),
        values.netto.map(|netto| netto.relative.0),
        values.netto.map(|netto| netto.speed_to_fly.0),
        pitch_hz,
        cadence_hz,
    ]
}

/// The figures of an inertial sensor; `None` where there is no reading of it.
pub fn of_inertial(aided: Option<&Aided>) -> [Option<f32>; INERTIAL_FIGURES.len()] {
    let felt = aided.and_then(|aided| aided.felt);
    [
        felt.map(|felt| felt.climb.0),
        felt.map(|felt| felt.deviation.0),
        felt.map(|felt| felt.vertical_speed.0),
        felt.map(|felt| felt.load_factor),
        felt.map(|felt| felt.bank),
        aided.map(|aided| aided.weight),
    ]
}

fn pitch_and_cadence(sound: &Sound) -> (Option<f32>, Option<f32>) {
    match sound {
        Sound::Silent => (None, None),
        Sound::Beeps { pitch, cadence, .. } => (Some(pitch.0), Some(cadence.0)),
        Sound::Steady { pitch } => (Some(pitch.0), Some(0.0)),
        Sound::Pairs { first, cadence, .. } => (Some(first.0), Some(cadence.0)),
        // A call is not a reading.
        Sound::Fault { .. } => (None, None),
    }
}
