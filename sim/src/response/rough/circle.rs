//! Lag and gain of a reading in circles: the first harmonic of the reading against that of the
//! truth.

use super::flown::Flown;
use super::heard::Heard;
use std::f64::consts::TAU;

/// What a circle's first harmonic becomes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Harmonic {
    /// How far the reading is behind, in degrees of the circle.
    pub lag_deg: f64,
    /// Its amplitude as a share of the truth's.
    pub gain: f64,
}

/// The harmonic over the whole circles after `from_s`.
pub fn harmonic(flown: &Flown, heard: &Heard, from_s: f64, period_s: f64) -> Harmonic {
    let lasts_s = flown.times_s.last().copied().unwrap_or(0.0) - from_s;
    let until_s = from_s + period_s * libm::floor(lasts_s / period_s);
    let (mut truth, mut reading) = ((0.0, 0.0), (0.0, 0.0));
    for (place, time_s) in flown.times_s.iter().enumerate() {
        if *time_s < from_s || *time_s >= until_s {
            continue;
        }
        let turn = TAU * time_s / period_s;
        let (sine, cosine) = (libm::sin(turn), libm::cos(turn));
        let add = |sum: &mut (f64, f64), value: f64| {
            *sum = (sum.0 + value * sine, sum.1 + value * cosine);
        };
        add(&mut truth, flown.truth_mps[place]);
        add(&mut reading, heard.reading_mps[place].unwrap_or(0.0));
    }
    let phase = |(sine, cosine): (f64, f64)| libm::atan2(cosine, sine);
    let size = |(sine, cosine): (f64, f64)| libm::hypot(sine, cosine);
    let turn = (phase(truth) - phase(reading)) / TAU;
    Harmonic { lag_deg: 360.0 * (turn - libm::round(turn)), gain: size(reading) / size(truth) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;
    use chirrup_core::{Micros, Pascal, Sample};

    #[test]
    fn a_reading_that_is_late_and_smaller_has_that_lag_and_gain() {
        let times_s: Vec<f64> = (1..=10_000).map(|step| 0.02 * f64::from(step)).collect();
        let wave = |time_s: f64| 2.0 + (TAU * time_s / 18.0).sin();
        let flown = Flown {
            samples: vec![Sample::of_static(Micros(0), Pascal(9e4)); times_s.len()],
            truth_mps: times_s.iter().map(|time_s| wave(*time_s)).collect(),
            circles: vec![true; times_s.len()],
            times_s: times_s.clone(),
        };
        for (late_s, share) in [(0.3, 0.9), (2.0, 0.5), (0.0, 1.0)] {
            let reading = |time_s: &f64| Some(share * wave(time_s - late_s) + 0.3);
            let heard =
                Heard { reading_mps: times_s.iter().map(reading).collect(), ..Heard::default() };
            let found = harmonic(&flown, &heard, 40.0, 18.0);
            assert_abs_diff_eq!(found.lag_deg, 360.0 * late_s / 18.0, epsilon = 0.01);
            assert_abs_diff_eq!(found.gain, share, epsilon = 1e-4);
        }
    }
}
