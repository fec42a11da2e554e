//! The unknowns of the fit, what is granted of them beforehand, and what each does to the rate of
//! the source; the equation is in [`super`].

use super::pieces::{Pieces, Spectra};
use super::sink::{G, Law, Sinks};
use super::waves::Waves;
use crate::recording::series::Even;
use crate::recording::track::Track;
use chirrup_core::PolarSettings;
use chirrup_core::stages::Polar;
use realfft::num_complex::Complex64;

/// How many unknowns there are.
pub(super) const UNKNOWNS: usize = 8;
/// Places of the first two: how much of the speed changes the source gives, and its lateness in s.
pub(super) const GAIN: usize = 0;
pub(super) const LATE: usize = 1;
const PARASITIC: usize = 2;
const INDUCED: usize = 3;
const BEYOND: usize = 4;
const LIFT: usize = 5;
const PULLING: usize = 6;
const SMEAR: usize = 7;

/// Means and standard deviations granted beforehand: see the table in [`super`].
const MEANS: [f64; UNKNOWNS] = [1.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0];
const DEVIATIONS: [f64; UNKNOWNS] = [0.15, 3.0, 0.2, 0.2, 1.0, 0.06, 0.06, 0.3];
const PROBE_GAIN: f64 = 0.25;
const PROBE_LATE_S: f64 = 0.3;
/// With the glider's own polar its drag is known this much better.
const OWN_POLAR: f64 = 0.5;
/// Pilots follow the air no quicker, s.
const PILOT_S: f64 = 4.0;
/// No finer grid than this; quicker samples are averaged to it.
const GRID_S: f64 = 0.1;

/// What is granted of the unknowns.
pub(super) struct Prior {
    /// Means.
    pub means: [f64; UNKNOWNS],
    /// Standard deviations.
    pub deviations: [f64; UNKNOWNS],
}

/// The channels of a recording on an even grid.
pub(super) struct Channels {
    altitude: Even,
    density_ratio: Even,
    /// Kinetic height, of a probe what its line has more than the altitude.
    pub kinetic: Even,
    waves_altitude: Waves,
    waves_kinetic: Waves,
    /// The source's own height.
    waves_source: Waves,
    law: Law,
    /// Whether the source holds the sum.
    pub is_probe: bool,
    /// What is granted of the unknowns.
    pub prior: Prior,
}

/// The equation in the frequency domain, by piece and place.
pub(super) struct Equation {
    /// The source's rate, of a probe less the altitude's.
    pub target: Spectra,
    /// What a unit of each unknown adds to it.
    pub columns: [Spectra; UNKNOWNS],
    /// The mean true airspeed, m/s.
    pub speed_mps: f64,
}

impl Channels {
    /// Of `track`, with a sample every `step_s`; `None` where there are not two of them.
    pub fn of(track: &Track, is_probe: bool, step_s: f64, polar: Option<&Polar>) -> Option<Self> {
        let usual = Polar::new(&PolarSettings::default()).ok()?;
        let law = Law::of(*polar.unwrap_or(&usual))?;
        let even = |values: &[f64]| Even::of(&track.times_s, values, step_s.max(GRID_S));
        let altitude = even(&track.altitude_m);
        let source =
            if is_probe { even(&probe_without_excess(track)) } else { even(&track.kinetic_m) };
        let kinetic = if is_probe { source.less(&altitude) } else { source.clone() };
        if altitude.values.len() < 2 {
            return None;
        }
        Some(Self {
            density_ratio: even(&track.density_ratio),
            waves_altitude: Waves::of(&altitude),
            waves_kinetic: Waves::of(&kinetic),
            waves_source: Waves::of(&source),
            altitude,
            kinetic,
            law,
            is_probe,
            prior: Prior::of(is_probe, polar.is_some()),
        })
    }

    /// The spectra of the altitude's rate.
    pub fn height(&self, pieces: &Pieces) -> Spectra {
        pieces.spectra(&self.waves_altitude.rate(0.0))
    }

    /// Those of the source's rate as it is measured `late_s` later.
    pub fn source(&self, pieces: &Pieces, late_s: f64) -> Spectra {
        pieces.spectra(&self.waves_source.rate(late_s))
    }

    /// The equation about a gain, with a source that is `late_s` late: of a probe, whose lateness
    /// hardly shows, nothing is moved.
    pub fn equation(&self, pieces: &Pieces, height: &Spectra, gain: f64, late_s: f64) -> Equation {
        let kinetic =
            if self.is_probe { self.kinetic.clone() } else { self.waves_kinetic.moved(late_s) };
        let Sinks { parasitic, induced, beyond, speed_mps } =
            self.law.sinks(&self.altitude, &kinetic, &self.density_ratio);
        let source = self.source(pieces, if self.is_probe { 0.0 } else { late_s });
        let [parasitic, induced, beyond] =
            [parasitic, induced, beyond].map(|sink| pieces.spectra(&sink));
        let of_sum = if self.is_probe { 1.0 } else { 0.0 };
        let mut equation = Equation {
            target: Vec::new(),
            columns: std::array::from_fn(|_| Vec::new()),
            speed_mps: pieces.mean(&speed_mps),
        };
        for piece in 0..pieces.count() {
            let rows = pieces.omegas.iter().enumerate().map(|(place, &omega)| {
                let x = height[piece][place];
                let own = parasitic[piece][place] + induced[piece][place];
                let expected = x * (of_sum - gain) - own * gain;
                let mut row = of_height(omega, expected, x);
                row[GAIN] = -x - own;
                row[PARASITIC] = -parasitic[piece][place] * gain;
                row[INDUCED] = -induced[piece][place] * gain;
                row[BEYOND] = -beyond[piece][place] * gain;
                (source[piece][place] - x * of_sum, row)
            });
            let (target, rows): (Vec<_>, Vec<_>) = rows.unzip();
            equation.target.push(target);
            for (unknown, column) in equation.columns.iter_mut().enumerate() {
                column.push(rows.iter().map(|row| row[unknown]).collect());
            }
        }
        equation
    }

    /// What vertical gusts of size one in the altitude's rate put into the columns at the angular
    /// frequency `omega`.
    pub fn of_gusts(&self, omega: f64, gain: f64) -> [Complex64; UNKNOWNS] {
        let one = Complex64::new(1.0, 0.0);
        let of_sum = if self.is_probe { 1.0 } else { 0.0 };
        let mut row = of_height(omega, one * (of_sum - gain), one);
        row[GAIN] = -one;
        row
    }
}

impl Prior {
    fn of(is_probe: bool, own_polar: bool) -> Self {
        let mut deviations = DEVIATIONS;
        if is_probe {
            deviations[GAIN] = PROBE_GAIN;
            deviations[LATE] = PROBE_LATE_S;
        }
        if own_polar {
            for drag in [PARASITIC, INDUCED, BEYOND] {
                deviations[drag] *= OWN_POLAR;
            }
        }
        Self { means: MEANS, deviations }
    }

    /// The same with all of the drag known.
    pub fn with_known_drag(&self) -> Self {
        let mut deviations = self.deviations;
        for drag in [PARASITIC, INDUCED, BEYOND] {
            deviations[drag] *= 1e-3;
        }
        Self { means: self.means, deviations }
    }
}

/// The columns that follow from the altitude's rate `x` and the rate expected of the source.
fn of_height(omega: f64, expected: Complex64, x: Complex64) -> [Complex64; UNKNOWNS] {
    let slow = 1.0 / (1.0 + (omega * PILOT_S).powi(2));
    let mut row = [Complex64::ZERO; UNKNOWNS];
    row[LATE] = Complex64::new(0.0, -omega) * expected;
    row[LIFT] = x / Complex64::new(0.0, omega) * slow;
    row[PULLING] = x * (PILOT_S * slow);
    row[SMEAR] = expected * (-omega * omega);
    row
}

/// The height of the probe's line, less what even an ideal probe has too much where the airspeed is
/// known, as the instrument takes it off: 0.283 M^2 of the kinetic height (from the core's `energy`
/// stage).
fn probe_without_excess(track: &Track) -> Vec<f64> {
    if track.kinetic_m.is_empty() {
        return track.probe_m.clone();
    }
    let excess = |(kinetic_m, altitude_m): (&f64, &f64)| {
        let kelvin = 288.15 - 0.0065 * altitude_m;
        0.2834 * 2.0 * G * kinetic_m * kinetic_m / (1.4 * 287.05287 * kelvin)
    };
    let excesses = track.kinetic_m.iter().zip(&track.altitude_m).map(excess);
    track.probe_m.iter().zip(excesses).map(|(height, excess)| height - excess).collect()
}
