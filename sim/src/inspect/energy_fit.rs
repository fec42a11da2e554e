//! How much of the total energy's compensation a recording's own speed changes ask for, and how late its channels are.
//!
//! In a pull-up height and kinetic height change against one another, and what the air does meanwhile is the rest:
//!
//! ```text
//! dh/dt + S(V, n) = -a dK/dt + rest          K(t) = K_measured(t + late)
//! ```
//!
//! S, the glider's own sink, is taken from a polar (at load factor n the sink is n^1.5 S(V / sqrt n)); it is small, but in a pull-up it grows just
//! when a late channel would show. The compensation asked for is 100 a percent, what the source gives by itself 100 / a percent. Both
//! rates are band-passed alike (0.05 to about 0.7 Hz), only manoeuvres count, and of each its mean is taken off, since the air
//! is not the same from one to the next.
//!
//! `late` is the delay with the least rest, between -0.5 and +0.5 s, by a parabola through the neighbours of the best on a grid of 20 ms.
//! How sure both are comes from a bootstrap over manoeuvres: as many as there are, drawn with replacement, 200 times, seeded.
//!
//! Source: linear regression and the bootstrap (Efron 1979); the equation is the energy balance of [`chirrup_core::energy`].

use super::series::Even;
use super::track::Track;
use chirrup_core::energy::EnergySource;
use chirrup_core::polar::Polar;
use chirrup_core::settings::PolarSettings;
use chirrup_core::units::MetrePerSecond;
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};
use serde::Serialize;
use std::ops::Range;

/// Delays tried.
const LATEST_MS: i32 = 500;
const DELAY_STEP_MS: i32 = 20;
/// The band: running means of these widths.
const SHORT_S: f64 = 0.9;
const LONG_S: f64 = 14.0;
/// A manoeuvre is where the kinetic height changes faster than this, and around it.
const BRISK_MPS: f64 = 1.5;
const AROUND_S: f64 = 3.0;
/// It counts when kinetic height goes up and down by this much in all (a speed change of 3 m/s at 30 m/s is 9 m).
const LEAST_CHANGE_M: f64 = 8.0;
/// Fewer say nothing.
const FEWEST: usize = 4;
const DRAWS: usize = 200;

/// What the speed changes of a recording say.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct EnergyFit {
    /// Which source was looked at: `electronic` or `probe`.
    pub source: &'static str,
    /// Manoeuvres that counted.
    pub manoeuvres: usize,
    /// `compensation_percent` that leaves least of them in the reading.
    pub percent: f64,
    /// Its standard error.
    pub percent_error: f64,
    /// How late the source is against the static pressure, in milliseconds; negative where the static pressure is.
    pub late_ms: f64,
    /// Its standard error.
    pub late_error_ms: f64,
    /// Share of the uncompensated reading's variance in manoeuvres that the fit explains.
    pub explained: f64,
}

/// Why there is no fit.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum NoFit {
    /// The recording has neither airspeed nor probe.
    NoSource,
    /// Fewer than four speed changes.
    TooFewManoeuvres,
    /// Less than one sample in two seconds.
    TooSlow,
}

/// Looks at the manoeuvres of `track`. The polar is the glider's, or an ordinary one's.
///
/// # Errors
/// Why nothing can be said.
pub fn fit(track: &Track, source: EnergySource, polar: Option<&Polar>) -> Result<EnergyFit, NoFit> {
    let ordinary = Polar::new(&PolarSettings::default()).map_err(|_| NoFit::NoSource)?;
    let rates = Rates::of(track, source, polar.unwrap_or(&ordinary))?;
    let manoeuvres = rates.manoeuvres();
    if manoeuvres.len() < FEWEST {
        return Err(NoFit::TooFewManoeuvres);
    }
    let all: Vec<Vec<Sums>> = manoeuvres.iter().map(|manoeuvre| rates.sums(manoeuvre.clone())).collect();
    let (percent, late_ms, explained) = best(all.iter());
    let mut rng = ChaCha8Rng::seed_from_u64(1);
    let draws: Vec<(f64, f64)> = (0..DRAWS)
        .map(|_| {
            let drawn: Vec<&Vec<Sums>> = (0..all.len()).map(|_| &all[below(&mut rng, all.len())]).collect();
            let (percent, late_ms, _) = best(drawn.into_iter());
            (percent, late_ms)
        })
        .collect();
    Ok(EnergyFit {
        source: source.name(),
        manoeuvres: manoeuvres.len(),
        percent,
        percent_error: deviation(draws.iter().map(|draw| draw.0)),
        late_ms,
        late_error_ms: deviation(draws.iter().map(|draw| draw.1)),
        explained,
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

/// Band-passed rates on an even grid.
struct Rates {
    /// dh/dt plus the glider's own sink.
    rise: Even,
    /// Rate of the source's own height: kinetic height, or for a probe its line's.
    source: Even,
    /// Rate of the altitude, which a probe's line must be taken against.
    altitude: Even,
    is_probe: bool,
}

impl Rates {
    fn of(track: &Track, source: EnergySource, polar: &Polar) -> Result<Self, NoFit> {
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
        let source = even(heights);
        let kinetic = if is_probe { source.less(&altitude) } else { source.clone() };
        let sink = own_sink(&altitude, &kinetic, &even(&track.density_ratio), polar);
        let rate = altitude.smoothed(SHORT_S).rate();
        let with_sink =
            Even { values: rate.values.iter().zip(&sink.values).map(|(rate, sink)| rate + sink).collect(), ..rate };
        Ok(Self {
            rise: high_passed(&with_sink),
            source: high_passed(&source.smoothed(SHORT_S).rate()),
            altitude: high_passed(&rate),
            is_probe,
        })
    }

    /// Rate of the kinetic height at `place`, were the source `late_s` late.
    fn kinetic(&self, place: usize, late_s: f64) -> f64 {
        let source = self.source.at(place, late_s);
        if self.is_probe { source - self.altitude.values[place] } else { source }
    }

    fn manoeuvres(&self) -> Vec<Range<usize>> {
        let count = self.rise.values.len();
        let around = (AROUND_S / self.rise.step_s).ceil() as usize;
        let mut ranges: Vec<Range<usize>> = Vec::new();
        for place in (0..count).filter(|&place| self.kinetic(place, 0.0).abs() > BRISK_MPS) {
            let (from, to) = (place.saturating_sub(around), (place + around).min(count));
            match ranges.last_mut() {
                Some(last) if last.end >= from => last.end = to,
                _ => ranges.push(from..to),
            }
        }
        let change = |range: &Range<usize>| {
            range.clone().map(|place| self.kinetic(place, 0.0).abs()).sum::<f64>() * self.rise.step_s
        };
        ranges.retain(|range| change(range) > LEAST_CHANGE_M);
        ranges
    }

    /// The sums of one manoeuvre for every delay.
    fn sums(&self, manoeuvre: Range<usize>) -> Vec<Sums> {
        delays_ms()
            .map(|late_ms| {
                let late_s = f64::from(late_ms) * 1e-3;
                Sums::of(manoeuvre.clone().map(|place| (self.kinetic(place, late_s), self.rise.values[place])))
            })
            .collect()
    }
}

fn delays_ms() -> impl Iterator<Item = i32> {
    (-LATEST_MS..=LATEST_MS).step_by(DELAY_STEP_MS as usize)
}

fn high_passed(rate: &Even) -> Even {
    rate.less(&rate.smoothed(LONG_S))
}

/// The glider's own sink along the way, from its speed and its load factor.
fn own_sink(altitude: &Even, kinetic: &Even, density_ratio: &Even, polar: &Polar) -> Even {
    let rate = altitude.smoothed(SHORT_S).rate();
    let speeds: Vec<f64> =
        kinetic.smoothed(SHORT_S).values.iter().map(|height| (2.0 * 9.80665 * height.max(0.0)).sqrt()).collect();
    let angles =
        rate.values.iter().zip(&speeds).map(|(rate, speed)| (rate / speed.max(10.0)).clamp(-1.0, 1.0).asin());
    let angle = Even { values: angles.collect(), ..*altitude };
    let turn = angle.smoothed(SHORT_S).rate();
    let sink = |place: usize| {
        let load = (angle.values[place].cos() + speeds[place] * turn.values[place] / 9.80665).clamp(0.1, 4.0);
        let speed = MetrePerSecond((speeds[place] / load.sqrt()) as f32);
        polar.sink(speed, density_ratio.values[place] as f32).map_or(0.0, |sink| load.powf(1.5) * f64::from(sink.0))
    };
    Even { values: (0..speeds.len()).map(sink).collect(), ..*altitude }
}

/// Sums of a regression.
#[derive(Clone, Copy, Debug, Default)]
struct Sums {
    xx: f64,
    xy: f64,
    yy: f64,
}

impl Sums {
    /// About the means of the pairs.
    fn of(pairs: impl Iterator<Item = (f64, f64)> + Clone) -> Self {
        let count = pairs.clone().count() as f64;
        let (x, y) = pairs.clone().fold((0.0, 0.0), |(x, y), pair| (x + pair.0 / count, y + pair.1 / count));
        pairs.fold(Self::default(), |sums, pair| {
            let (dx, dy) = (pair.0 - x, pair.1 - y);
            Self { xx: sums.xx + dx * dx, xy: sums.xy + dx * dy, yy: sums.yy + dy * dy }
        })
    }

    fn and(self, other: &Self) -> Self {
        Self { xx: self.xx + other.xx, xy: self.xy + other.xy, yy: self.yy + other.yy }
    }

    /// Share of y's variance that remains.
    fn rest(&self) -> f64 {
        1.0 - self.xy * self.xy / (self.xx * self.yy)
    }
}

/// Percentage, lateness in milliseconds, and the share explained.
fn best<'a>(manoeuvres: impl Iterator<Item = &'a Vec<Sums>>) -> (f64, f64, f64) {
    let count = delays_ms().count();
    let total = manoeuvres.fold(vec![Sums::default(); count], |total, manoeuvre| {
        total.iter().zip(manoeuvre).map(|(a, b)| a.and(b)).collect()
    });
    let least = (0..count).min_by(|a, b| total[*a].rest().total_cmp(&total[*b].rest())).unwrap_or(count / 2);
    let middle = least.clamp(1, count - 2);
    let (before, at, after) = (total[middle - 1].rest(), total[middle].rest(), total[middle + 1].rest());
    let bend = before - 2.0 * at + after;
    let share = if bend > 0.0 { (0.5 * (before - after) / bend).clamp(-1.0, 1.0) } else { 0.0 };
    let late_ms = f64::from(DELAY_STEP_MS) * (middle as f64 + share) - f64::from(LATEST_MS);
    let slope = |sums: &Sums| -sums.xy / sums.xx;
    let neighbour = if share >= 0.0 { middle + 1 } else { middle - 1 };
    let slope = slope(&total[middle]) * (1.0 - share.abs()) + slope(&total[neighbour]) * share.abs();
    (100.0 * slope, late_ms, 1.0 - at)
}
