//! A series as the sum of its waves, so that it can be moved in time by any fraction of a step and
//! differentiated without loss: linear interpolation would take a tenth off a wave of six samples.
//!
//! A straight line from the first value to the last is taken off before and put back after; the
//! series then meets itself at its ends but for its slope, so that some seconds there are not to be
//! used.

use crate::recording::series::Even;
use realfft::RealFftPlanner;
use realfft::num_complex::Complex64;
use std::f64::consts::TAU;

/// The spectrum of an even series.
pub(super) struct Waves {
    start_s: f64,
    step_s: f64,
    count: usize,
    first: f64,
    slope: f64,
    spectrum: Vec<Complex64>,
}

impl Waves {
    /// Of `even`, two values at least.
    pub fn of(even: &Even) -> Self {
        let count = even.values.len();
        let first = even.values[0];
        let slope = (even.values[count - 1] - first) / (count - 1) as f64;
        let mut rest: Vec<f64> = even
            .values
            .iter()
            .enumerate()
            .map(|(k, value)| value - first - slope * k as f64)
            .collect();
        let forward = RealFftPlanner::<f64>::new().plan_fft_forward(count);
        let mut spectrum = forward.make_output_vec();
        // The lengths match, and real input has no other error.
        let _ = forward.process(&mut rest, &mut spectrum);
        Self { start_s: even.start_s, step_s: even.step_s, count, first, slope, spectrum }
    }

    /// The series as it is `later_s` after each of its times.
    pub fn moved(&self, later_s: f64) -> Even {
        let line = |k: usize| self.first + self.slope * (k as f64 + later_s / self.step_s);
        self.changed(|omega| turned(omega * later_s), line)
    }

    /// Its rate of change, `later_s` after each of its times.
    pub fn rate(&self, later_s: f64) -> Even {
        let line = |_: usize| self.slope / self.step_s;
        self.changed(|omega| Complex64::new(0.0, omega) * turned(omega * later_s), line)
    }

    fn changed(&self, by: impl Fn(f64) -> Complex64, line: impl Fn(usize) -> f64) -> Even {
        let backward = RealFftPlanner::<f64>::new().plan_fft_inverse(self.count);
        let lasts_s = self.count as f64 * self.step_s;
        let omega = |bin: usize| TAU * bin as f64 / lasts_s;
        let mut spectrum: Vec<Complex64> = self
            .spectrum
            .iter()
            .enumerate()
            .map(|(bin, wave)| wave * by(omega(bin)) / self.count as f64)
            .collect();
        // What a real series has in its first and, if their number is even, its last wave.
        spectrum[0].im = 0.0;
        if let (Some(last), 0) = (spectrum.last_mut(), self.count % 2) {
            last.im = 0.0;
        }
        let mut values = backward.make_output_vec();
        let _ = backward.process(&mut spectrum, &mut values);
        for (k, value) in values.iter_mut().enumerate() {
            *value += line(k);
        }
        Even { start_s: self.start_s, step_s: self.step_s, values }
    }
}

/// A wave of size one, turned by an angle in rad.
fn turned(angle_rad: f64) -> Complex64 {
    Complex64::from_polar(1.0, angle_rad)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    #[test]
    fn a_wave_is_moved_and_differentiated_at_one_sample_a_second() {
        let omega = TAU / 6.0;
        let wave = |t: f64| 3.0 * t + (omega * t).sin();
        let values = (0..361).map(|k| wave(f64::from(k))).collect();
        let waves = Waves::of(&Even { start_s: 0.0, step_s: 1.0, values });
        let (moved, rate) = (waves.moved(0.4), waves.rate(0.4));
        for k in 40..320 {
            let t = k as f64 + 0.4;
            assert_abs_diff_eq!(moved.values[k], wave(t), epsilon = 0.01);
            let expected = 3.0 + omega * (omega * t).cos();
            assert_abs_diff_eq!(rate.values[k], expected, epsilon = 0.01);
        }
    }
}
