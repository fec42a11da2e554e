//! Figures of a sensor, measured while it runs: samples a second, jitter of their times, noise of
//! their pressures.
//!
//! ```text
//! noise^2 = mean (p[n] - 2 p[n-1] + p[n-2])^2 / 6        jitter^2 = mean (t[n] - t[n-1] - frame)^2
//! ```
//!
//! The second difference of white noise has six times its variance and does not respond to a steady
//! climb, so the figure is valid in flight too; an acceleration of 1 m/s2 adds 0.005 Pa at 50 Hz.
//! In integers, over windows of five seconds.

use crate::meter::Meter;
use chirrup_core::Micros;
use chirrup_sensors::sensor::{FRAME, Measurement};

/// Measurements in a window.
const WINDOW: u32 = 250;
/// Larger differences are not noise, and their squares would overflow 64 bits: 16 kPa.
const MOST_64THS_PA: i64 = 1 << 20;

/// The figures of one window.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Quality {
    /// Measurements in a thousand seconds.
    pub rate_millihz: u32,
    /// Deviation of the intervals from the frame, in microseconds rms.
    pub jitter_us: u32,
    /// Noise of the pressure, in 0.001 Pa rms.
    pub noise_millipascals: u32,
}

/// State for a [`Quality`].
#[derive(Clone, Copy, Debug, Default)]
pub struct QualityMeter {
    count: u32,
    first: Micros,
    /// Time and pressure in 1/64 Pa of the last measurement.
    last: Option<(Micros, i32)>,
    difference_64ths: Option<i64>,
    intervals: u64,
    squared_intervals: u64,
    second_differences: u64,
    squared_second_differences: u64,
    latest: Option<Quality>,
}

impl Meter<Measurement> for QualityMeter {
    type Figures = Quality;

    fn step(&mut self, measurement: Measurement) {
        let Measurement { time, pressure_64ths_pa, .. } = measurement;
        if let Some((last, pressure)) = self.last {
            self.interval(time.since(last));
            self.difference(i64::from(pressure_64ths_pa) - i64::from(pressure));
        } else {
            self.first = time;
        }
        self.last = Some((time, pressure_64ths_pa));
        self.count += 1;
        if self.count >= WINDOW {
            self.latest = self.finish();
            self.restart();
        }
    }

    fn restart(&mut self) {
        *self = Self { latest: self.latest, ..Self::default() };
    }

    fn latest(&self) -> Option<Quality> {
        self.latest
    }
}

impl QualityMeter {
    fn interval(&mut self, interval: Micros) {
        let deviation = interval.since(FRAME).0.clamp(-1_000_000, 1_000_000);
        self.intervals += 1;
        self.squared_intervals += deviation.unsigned_abs().pow(2);
    }

    fn difference(&mut self, difference: i64) {
        let difference = difference.clamp(-MOST_64THS_PA, MOST_64THS_PA);
        if let Some(before) = self.difference_64ths.replace(difference) {
            self.second_differences += 1;
            self.squared_second_differences += (difference - before).unsigned_abs().pow(2);
        }
    }

    fn finish(&self) -> Option<Quality> {
        let span_us = u64::try_from(self.last?.0.since(self.first).0).ok()?;
        let rate_millihz = (self.intervals * 1_000_000_000).checked_div(span_us)?;
        let jitter_us = self.squared_intervals.checked_div(self.intervals)?.isqrt();
        // To 0.001 Pa: a million times, by 64 squared.
        let variance = self.squared_second_differences.checked_mul(1_000_000 / 64)? / 64;
        let noise = variance.checked_div(6 * self.second_differences)?.isqrt();
        let small = |value: u64| u32::try_from(value).unwrap_or(u32::MAX);
        Some(Quality {
            rate_millihz: small(rate_millihz),
            jitter_us: small(jitter_us),
            noise_millipascals: small(noise),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::vec::Vec;

    fn quality(measurements: impl IntoIterator<Item = (i64, i32)>) -> Quality {
        let mut meter = QualityMeter::default();
        for (time, pressure_64ths_pa) in measurements {
            meter.step(Measurement {
                time: Micros(time),
                counts: 0,
                pressure_64ths_pa,
                temperature_centicelsius: 0,
            });
        }
        meter.latest().expect("a window is full")
    }

    /// Noise of a known deviation: a linear congruential generator's high bits, twelve at a time
    /// (Irwin and Hall).
    fn gaussian(count: usize) -> Vec<f64> {
        let mut state = 1_u64;
        let mut uniform = move || {
            state = state
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            (state >> 11) as f64 / (1_u64 << 53) as f64
        };
        (0..count).map(|_| (0..12).map(|_| uniform()).sum::<f64>() - 6.0).collect()
    }

    #[test]
    fn the_noise_of_a_climbing_glider_is_the_sensors() {
        // 1.2 Pa rms on 5 m/s of climb (about 58 Pa/s); 250 values give their deviation to 7 % (one
        // in twenty is further off).
        let noise = gaussian(250);
        let found = quality((0..250).map(|n| {
            let pascals = 95_000.0 - 58.0 * 0.02 * f64::from(n) + 1.2 * noise[n as usize];
            (i64::from(n) * 20_000, (pascals * 64.0).round() as i32)
        }));
        assert!((1_080..1_320).contains(&found.noise_millipascals), "{found:?}");
        assert_eq!((found.rate_millihz, found.jitter_us), (50_000, 0));
    }

    #[test]
    fn jitter_and_missing_samples_are_seen() {
        let late = quality((0..250).map(|n| (n * 20_000 + 100 * (n % 2), 0)));
        assert_eq!(late.jitter_us, 100);
        let slow = quality((0..250).map(|n| (n * 40_000, 0)));
        assert_eq!((slow.rate_millihz, slow.jitter_us), (25_000, 20_000));
    }

    #[test]
    fn extreme_values_do_not_overflow() {
        let mut meter = QualityMeter::default();
        for n in 0..1_000_i64 {
            let (time, pressure_64ths_pa) =
                if n % 2 == 0 { (i64::MAX, i32::MAX) } else { (i64::MIN, i32::MIN) };
            meter.step(Measurement {
                time: Micros(if n < 500 { time } else { n }),
                counts: 0,
                pressure_64ths_pa,
                temperature_centicelsius: 0,
            });
        }
    }
}
