//! Estimates the compensation of total energy and the lateness of the channels from a recording's
//! own speed changes.
//!
//! In a pull-up height and kinetic height are exchanged; the rest is the motion of the air:
//!
//! ```text
//! dh/dt + S(V, n) = -a dK/dt + w          K(t) = K_measured(t + late) + gusts
//! ```
//!
//! S, the glider's own sink, is taken from a polar (at load factor n the sink is n^1.5 S(V / sqrt
//! n)); it is small, but in a pull-up it grows just when a late channel would show. The estimated
//! compensation is 100 a percent.
//!
//! Both sides have noise: the vertical speed w of the air on the left, and on the right gusts along
//! the path, which change the airspeed without any height. A plain regression of either on the
//! other has an error as large as this noise (0.6 and 1.3 were found in one real flight).
//! Turbulence is about equal in all directions, so that at the angular frequency `omega` the second
//! is `(V omega / g)^2` of the first, which is all that Deming's regression needs. It is therefore
//! done in the frequency domain: spectra of 40 s pieces (Welch), at each frequency the slope
//!
//! ```text
//! a = (D + sqrt(D^2 + 4 l C^2)) / (2 C)          late = phase / omega
//! D = Syy - l Sxx,  C = |Sxy|,  l = (g / (V omega))^2
//! ```
//!
//! then the mean over periods of 8 to 22 s, in which pilots pull and push, weighted by coherence.
//!
//! Standard error: a bootstrap over the pieces (200 samples, seeded), and the spread between the
//! frequencies. A pilot who pulls up in every thermal correlates w with the stick and biases the
//! fit; it needs calm air.
//!
//! Source: Welch 1967; Deming 1943; Efron 1979 (all from memory). Isotropic turbulence is the usual
//! first model in textbooks.

use super::series::Even;
use super::track::Track;
use chirrup_core::stages::Polar;
use chirrup_core::{EnergySource, MetrePerSecond, PolarSettings};
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};
use realfft::RealFftPlanner;
use realfft::num_complex::Complex64;
use serde::Serialize;
use std::f64::consts::TAU;

const G: f64 = 9.80665;
/// Length of a piece.
const PIECE_S: f64 = 40.0;
/// Periods that count.
const LONGEST_PERIOD_S: f64 = 22.0;
const SHORTEST_PERIOD_S: f64 = 8.0;
/// Width of the smoothing where load factors are worked out.
const SMOOTH_S: f64 = 0.9;
/// A piece counts as having a speed change when its kinetic height, smoothed over this time,
/// changes by this much (8 m/s at 30 m/s is 27 m).
const SPEED_SMOOTH_S: f64 = 3.0;
const LEAST_CHANGE_M: f64 = 20.0;
/// Fewer such pieces are not enough.
const FEWEST: usize = 4;
const DRAWS: usize = 200;
/// How often the delay is removed and estimated again; the remainder is then below a millisecond.
const ROUNDS: usize = 3;

/// The energy fit of a recording.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct EnergyFit {
    /// The source: `electronic` or `probe`.
    pub source: &'static str,
    /// Number of pieces of 40 s, overlapping by half, with a sufficient speed change.
    pub manoeuvres: usize,
    /// The `compensation_percent` that leaves the least of the speed changes in the reading.
    pub percent: f64,
    /// Its standard error.
    pub percent_error: f64,
    /// How late the airspeed is against the static pressure; absent for a probe, whose line already
    /// holds the sum: in calm air it hardly changes, so its lateness can neither be seen nor
    /// matter.
    pub late: Option<Late>,
    /// Share of the uncompensated reading's variance, at the periods that count, that the speed
    /// explains.
    pub explained: f64,
}

impl EnergyFit {
    /// Whether it is good enough for a setting: speed explains 98 % of the changes of height.
    /// Otherwise the air moved, and a pilot who pulls up in lift biases the fit (dolphin flight
    /// along a street gave 105 %).
    pub fn is_telling(&self) -> bool {
        self.explained >= 0.98
    }
}

/// How late a source is against the static pressure.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Late {
    /// In milliseconds; negative where the static pressure is later.
    pub ms: f64,
    /// Its standard error.
    pub error_ms: f64,
}

/// Why there is no fit.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum NoFit {
    /// The recording has neither airspeed nor probe.
    NoSource,
    /// Fewer than four pieces with a speed change.
    TooFewManoeuvres,
    /// Less than one sample in two seconds.
    TooSlow,
}

/// Fits the speed changes of `track`. The polar is the glider's, or a typical one.
///
/// # Errors
/// The reason why there is no fit.
pub fn fit(track: &Track, source: EnergySource, polar: Option<&Polar>) -> Result<EnergyFit, NoFit> {
    let ordinary = Polar::new(&PolarSettings::default()).map_err(|_| NoFit::NoSource)?;
    let polar = polar.unwrap_or(&ordinary);
    let mut late_s = 0.0;
    let mut rates = Rates::of(track, source, polar, late_s)?;
    let mut pieces = rates.pieces();
    if pieces.len() < FEWEST {
        return Err(NoFit::TooFewManoeuvres);
    }
    let mut all = rates.answer(pieces.iter());
    // A window of 40 s mixes the phases of neighbouring frequencies, so the estimate is removed and
    // made again.
    for _ in 0..if rates.is_probe { 0 } else { ROUNDS } {
        late_s += all.late_s;
        rates = Rates::of(track, source, polar, late_s)?;
        pieces = rates.pieces();
        all = rates.answer(pieces.iter());
    }
    let mut rng = ChaCha8Rng::seed_from_u64(1);
    let draws: Vec<Answer> = (0..DRAWS)
        .map(|_| {
            let drawn: Vec<&Piece> =
                (0..pieces.len()).map(|_| &pieces[below(&mut rng, pieces.len())]).collect();
            rates.answer(drawn.into_iter())
        })
        .collect();
    let of_draws = |value: fn(&Answer) -> f64| deviation(draws.iter().map(value));
    Ok(EnergyFit {
        source: source.name(),
        manoeuvres: pieces.len(),
        percent: 100.0 * all.slope,
        percent_error: 100.0 * of_draws(|draw| draw.slope).hypot(all.slope_spread),
        late: (!rates.is_probe).then(|| Late {
            ms: 1e3 * (late_s + all.late_s),
            error_ms: 1e3 * of_draws(|draw| draw.late_s).hypot(all.late_spread_s),
        }),
        explained: all.explained,
    })
}

fn below(rng: &mut ChaCha8Rng, count: usize) -> usize {
    (rng.next_u32() as usize) % count
}

fn deviation(values: impl Iterator<Item = f64> + Clone) -> f64 {
    let count = values.clone().count() as f64;
    let mean = values.clone().sum::<f64>() / count;
    (values.map(|value| (value - mean).powi(2)).sum::<f64>() / (count - 1.0)).sqrt()
}

/// Rates on an even grid, and the frequencies that count.
struct Rates {
    /// dh/dt and the glider's own sink.
    rise: Even,
    /// Rate of the source's own height: kinetic height, or for a probe its line's.
    source: Even,
    /// Rate of the altitude, which a probe's line must be taken against.
    altitude: Even,
    /// Kinetic height without gusts.
    kinetic_m: Even,
    is_probe: bool,
    piece: usize,
    /// Places in the spectrum, with the angular frequency of each.
    bins: Vec<(usize, f64)>,
}

/// Spectra of one piece at the frequencies that count.
#[derive(Clone, Debug)]
struct Piece {
    speed_mps: f64,
    /// Of the left side, the source's rate and the altitude's.
    spectra: Vec<[Complex64; 3]>,
}

/// The estimate from all pieces.
#[derive(Clone, Copy, Debug, Default)]
struct Answer {
    slope: f64,
    slope_spread: f64,
    late_s: f64,
    late_spread_s: f64,
    explained: f64,
}

impl Rates {
    /// The rates, with the source's channel brought forward by `late_s`.
    fn of(track: &Track, source: EnergySource, polar: &Polar, late_s: f64) -> Result<Self, NoFit> {
        let is_probe = source == EnergySource::Probe;
        let heights = if is_probe { &track.probe_m } else { &track.kinetic_m };
        if heights.is_empty() || source == EnergySource::None {
            return Err(NoFit::NoSource);
        }
        let count = track.times_s.len();
        let step_s = ((track.times_s[count - 1] - track.times_s[0]) / (count - 1) as f64).max(0.05);
        if step_s > 2.0 {
            return Err(NoFit::TooSlow);
        }
        let even = |values: &[f64]| Even::of(&track.times_s, values, step_s);
        let altitude = even(&track.altitude_m);
        let earlier: Vec<f64> = track.times_s.iter().map(|time| time - late_s).collect();
        let source = Even::from(&earlier, heights, step_s, altitude.start_s);
        let kinetic = if is_probe { source.less(&altitude) } else { source.clone() };
        let sink = own_sink(&altitude, &kinetic, &even(&track.density_ratio), polar);
        let piece = (PIECE_S / step_s).round() as usize;
        let omega = |bin: usize| TAU * bin as f64 / (piece as f64 * step_s);
        let counts =
            |omega: f64| (TAU / LONGEST_PERIOD_S..=TAU / SHORTEST_PERIOD_S).contains(&omega);
        let bins = (1..piece / 2)
            .map(|bin| (bin, omega(bin)))
            .filter(|(_, omega)| counts(*omega))
            .collect();
        let altitude = altitude.rate();
        Ok(Self {
            rise: altitude.plus(&sink),
            source: source.rate(),
            altitude,
            kinetic_m: kinetic.smoothed(SPEED_SMOOTH_S),
            is_probe,
            piece,
            bins,
        })
    }

    /// The pieces with a change of speed, half overlapping.
    fn pieces(&self) -> Vec<Piece> {
        let count = self.rise.values.len();
        let mut planner = RealFftPlanner::<f64>::new();
        let fft = planner.plan_fft_forward(self.piece);
        let starts = (0..count.saturating_sub(self.piece)).step_by((self.piece / 2).max(1));
        starts
            .filter(|&start| self.change_m(start) > LEAST_CHANGE_M)
            .map(|start| {
                let spectrum = |rate: &Even| {
                    let mut windowed = windowed(&rate.values[start..start + self.piece]);
                    let mut spectrum = fft.make_output_vec();
                    // The lengths match, and real input has no other error.
                    let _ = fft.process(&mut windowed, &mut spectrum);
                    spectrum
                };
                let all = [spectrum(&self.rise), spectrum(&self.source), spectrum(&self.altitude)];
                let spectra = self
                    .bins
                    .iter()
                    .map(|(bin, _)| [all[0][*bin], all[1][*bin], all[2][*bin]])
                    .collect();
                let heights = &self.kinetic_m.values[start..start + self.piece];
                let mean_m = heights.iter().sum::<f64>() / heights.len() as f64;
                Piece { speed_mps: (2.0 * G * mean_m.max(10.0)).sqrt(), spectra }
            })
            .collect()
    }

    fn change_m(&self, start: usize) -> f64 {
        let heights = &self.kinetic_m.values[start..start + self.piece];
        let (least, most) = heights
            .iter()
            .fold((f64::MAX, f64::MIN), |(a, b), height| (a.min(*height), b.max(*height)));
        most - least
    }

    fn answer<'a>(&self, pieces: impl Iterator<Item = &'a Piece> + Clone) -> Answer {
        let count = pieces.clone().count() as f64;
        let speed_mps = pieces.clone().map(|piece| piece.speed_mps).sum::<f64>() / count;
        let points = self.points(pieces, speed_mps);
        let (slope, slope_spread) = mean(&points, |point| point.slope);
        let (late_s, late_spread_s) = mean(&points, |point| point.late_s);
        let explained = mean(&points, |point| point.coherence).0;
        Answer { slope, slope_spread, late_s, late_spread_s, explained }
    }

    fn points<'a>(
        &self,
        pieces: impl Iterator<Item = &'a Piece> + Clone,
        speed_mps: f64,
    ) -> Vec<Point> {
        let point = |(place, (_, omega)): (usize, &(usize, f64))| {
            let (mut xx, mut yy, mut xy) = (0.0, 0.0, Complex64::ZERO);
            for piece in pieces.clone() {
                let [y, source, altitude] = piece.spectra[place];
                let x = if self.is_probe { source - altitude } else { source };
                xx += x.norm_sqr();
                yy += y.norm_sqr();
                xy += y * x.conj();
            }
            let ratio = (G / (speed_mps * omega)).powi(2);
            let (d, c) = (yy - ratio * xx, xy.norm());
            let slope = (d + (d * d + 4.0 * ratio * c * c).sqrt()) / (2.0 * c);
            Point { slope, late_s: (-xy).arg() / omega, coherence: c * c / (xx * yy) }
        };
        self.bins.iter().enumerate().map(point).collect()
    }
}

/// The estimate at one frequency.
#[derive(Clone, Copy, Debug)]
struct Point {
    slope: f64,
    late_s: f64,
    coherence: f64,
}

/// The mean over frequencies, weighted by coherence, and its error from their spread.
fn mean(points: &[Point], value: fn(&Point) -> f64) -> (f64, f64) {
    // The variance of a transfer function is (1 - coherence) / coherence of its square, and never
    // quite zero.
    let weight = |point: &Point| point.coherence / (1.02 - point.coherence);
    let total: f64 = points.iter().map(weight).sum();
    let mean = points.iter().map(|point| weight(point) * value(point)).sum::<f64>() / total;
    let variance =
        points.iter().map(|point| weight(point) * (value(point) - mean).powi(2)).sum::<f64>()
            / total;
    (mean, (variance / points.len() as f64).sqrt())
}

/// A piece without its straight line, faded in and out (Hann).
fn windowed(values: &[f64]) -> Vec<f64> {
    let count = values.len() as f64;
    let middle = 0.5 * (count - 1.0);
    let mean = values.iter().sum::<f64>() / count;
    let (sxy, sxx) = values.iter().enumerate().fold((0.0, 0.0), |(sxy, sxx), (place, value)| {
        let x = place as f64 - middle;
        (sxy + x * (value - mean), sxx + x * x)
    });
    let slope = sxy / sxx;
    let fade = |place: usize| 0.5 - 0.5 * (TAU * (place as f64 + 0.5) / count).cos();
    let value = |(place, value): (usize, &f64)| {
        fade(place) * (value - mean - slope * (place as f64 - middle))
    };
    values.iter().enumerate().map(value).collect()
}

/// The glider's own sink along the way, from its speed and its load factor.
fn own_sink(altitude: &Even, kinetic: &Even, density_ratio: &Even, polar: &Polar) -> Even {
    let rate = altitude.smoothed(SMOOTH_S).rate();
    let speeds: Vec<f64> = kinetic
        .smoothed(SMOOTH_S)
        .values
        .iter()
        .map(|height| (2.0 * G * height.max(0.0)).sqrt())
        .collect();
    let angles = rate
        .values
        .iter()
        .zip(&speeds)
        .map(|(rate, speed)| (rate / speed.max(10.0)).clamp(-1.0, 1.0).asin());
    let angle = Even { values: angles.collect(), ..*altitude };
    let turn = angle.smoothed(SMOOTH_S).rate();
    let sink = |place: usize| {
        let load =
            (angle.values[place].cos() + speeds[place] * turn.values[place] / G).clamp(0.1, 4.0);
        let speed = MetrePerSecond((speeds[place] / load.sqrt()) as f32);
        polar
            .sink(speed, density_ratio.values[place] as f32)
            .map_or(0.0, |sink| load.powf(1.5) * f64::from(sink.0))
    };
    Even { values: (0..speeds.len()).map(sink).collect(), ..*altitude }
}
