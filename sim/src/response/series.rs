//! A reading over time, and the figures taken from it.

use std::f64::consts::TAU;

/// Values at times; both as long as each other.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Series {
    /// In seconds, increasing.
    pub times_s: Vec<f64>,
    /// In m/s.
    pub values_mps: Vec<f64>,
}

/// A sinusoid that came through.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sinusoid {
    /// Amplitude for an amplitude of one.
    pub gain: f64,
    /// How far it is behind, -90 to 270 degrees.
    pub phase_lag_deg: f64,
}

impl Sinusoid {
    /// From the parts that are in phase with the sine and the cosine of the truth.
    pub fn new(in_phase: f64, quadrature: f64) -> Self {
        let degrees = -libm::atan2(quadrature, in_phase) * 360.0 / TAU;
        let phase_lag_deg = if degrees < -90.0 { degrees + 360.0 } else { degrees };
        Self { gain: (in_phase * in_phase + quadrature * quadrature).sqrt(), phase_lag_deg }
    }
}

impl Series {
    /// Pairs of time and value.
    pub fn points(&self) -> impl Iterator<Item = (f64, f64)> + '_ {
        self.times_s.iter().copied().zip(self.values_mps.iter().copied())
    }

    /// The part from `from_s` on.
    pub fn since(&self, from_s: f64) -> Self {
        self.between(from_s, f64::INFINITY)
    }

    /// The part from `from_s` to `to_s`.
    pub fn between(&self, from_s: f64, to_s: f64) -> Self {
        let (times_s, values_mps) =
            self.points().filter(|(time, _)| (from_s..=to_s).contains(time)).unzip();
        Self { times_s, values_mps }
    }

    /// When, from zero on, the value has first gone `share` of the way from `from` to `to`; between
    /// samples it is linear.
    pub fn reaches(&self, from: f64, to: f64, share: f64) -> Option<f64> {
        let way = |place: usize| (self.values_mps[place] - from) / (to - from) - share;
        let first = (1..self.times_s.len())
            .find(|&place| self.times_s[place] >= 0.0 && way(place) >= 0.0)?;
        let (before, after) = (way(first - 1), way(first));
        let back = if before < 0.0 { after / (after - before) } else { 0.0 };
        Some(self.times_s[first] - back * (self.times_s[first] - self.times_s[first - 1]))
    }

    /// How far, from zero on, the value goes beyond `to`, as a share of the way from `from`.
    pub fn overshoot(&self, from: f64, to: f64) -> f64 {
        let after = self.points().filter(|(time, _)| *time >= 0.0);
        after.map(|(_, value)| (value - to) / (to - from)).fold(0.0, f64::max)
    }

    /// Mean of `of(time, value)`; zero where there is nothing.
    pub fn mean(&self, of: impl Fn(f64, f64) -> f64) -> f64 {
        let (sum, count) = self
            .points()
            .fold((0.0, 0.0), |(sum, count), (time, value)| (sum + of(time, value), count + 1.0));
        if count > 0.0 { sum / count } else { 0.0 }
    }

    /// Root of the mean square of `of(time, value)`.
    pub fn rms(&self, of: impl Fn(f64, f64) -> f64) -> f64 {
        self.mean(|time, value| of(time, value) * of(time, value)).sqrt()
    }

    /// What there is of the sine of `frequency_hz`; whole periods of it give the right answer.
    pub fn sinusoid(&self, frequency_hz: f64) -> Sinusoid {
        let phase = |time: f64| TAU * frequency_hz * time;
        Sinusoid::new(
            2.0 * self.mean(|time, value| value * libm::sin(phase(time))),
            2.0 * self.mean(|time, value| value * libm::cos(phase(time))),
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    fn series(value: impl Fn(f64) -> f64) -> Series {
        let times_s: Vec<f64> = (-200..2000).map(|step| f64::from(step) * 0.01).collect();
        let values_mps = times_s.iter().map(|&time| value(time)).collect();
        Series { times_s, values_mps }
    }

    #[test]
    fn lag_and_overshoot_of_a_known_curve_are_read_off_it() {
        // From 2 to -2 within 4 s from 1.005 s on, and beyond by half a metre a second.
        let curve = series(|time| (2.0 - (time - 1.005).max(0.0)).max(-2.5));
        assert_abs_diff_eq!(curve.reaches(2.0, -2.0, 0.5).unwrap(), 3.005, epsilon = 1e-9);
        assert_abs_diff_eq!(curve.reaches(2.0, -2.0, 0.9).unwrap(), 4.605, epsilon = 1e-9);
        assert_abs_diff_eq!(curve.overshoot(2.0, -2.0), 0.125, epsilon = 1e-9);
        assert_eq!(series(|_| 0.2).reaches(0.0, 1.0, 0.5), None);
    }

    #[test]
    fn a_sinusoid_that_is_late_and_smaller_is_found_so_among_others() {
        let through = series(|time| {
            0.4 * (TAU * 0.5 * time - 2.0).sin() + 0.7 * (TAU * 1.5 * time).cos() + 3.0
        });
        let found = through.between(0.0, 19.995).sinusoid(0.5);
        assert_abs_diff_eq!(found.gain, 0.4, epsilon = 1e-9);
        assert_abs_diff_eq!(found.phase_lag_deg, 2.0_f64.to_degrees(), epsilon = 1e-6);
        assert_abs_diff_eq!(Sinusoid::new(-0.1, 0.1).phase_lag_deg, 225.0, epsilon = 1e-9);
        assert_abs_diff_eq!(Sinusoid::new(0.1, 0.1).phase_lag_deg, -45.0, epsilon = 1e-9);
    }

    #[test]
    fn a_mean_square_is_that() {
        let sine = series(|time| (TAU * time).sin()).between(0.0, 9.995);
        assert_abs_diff_eq!(sine.rms(|_, value| value), 0.5_f64.sqrt(), epsilon = 1e-9);
        assert_eq!(Series::default().rms(|_, value| value), 0.0);
    }
}
