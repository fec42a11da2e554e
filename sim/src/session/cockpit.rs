//! Cockpit noise: wind over the canopy, as low-passed white noise at a set level.
//!
//! `y += a (x - y)` with x white and uniform in [-1, 1), variance 1/3; the variance of y is
//! `a / (2 - a)` times that. The corner frequency of 500 Hz is a guess at what a canopy lets
//! through; no source.

/// Below this there is none, dB.
pub const OFF_DB: f64 = -60.0;
const CORNER_HZ: f32 = 500.0;

/// The noise.
#[derive(Clone, Debug)]
pub(super) struct Cockpit {
    state: u32,
    low: f32,
    share: f32,
    /// Scales y to an rms of 1.
    to_unit: f32,
}

impl Cockpit {
    pub(super) fn new(sample_rate_hz: u32) -> Self {
        let turns = core::f32::consts::TAU * CORNER_HZ / sample_rate_hz as f32;
        let share = turns / (1.0 + turns);
        Self {
            state: 0x9e37_79b9,
            low: 0.0,
            share,
            to_unit: libm::sqrtf(3.0 * (2.0 - share) / share),
        }
    }

    /// Adds noise of `level_db`, rms in dB below full scale, to frames of left and right.
    pub(super) fn add(&mut self, level_db: f64, frames: &mut [i16]) {
        if level_db <= OFF_DB {
            return;
        }
        let gain = 32_767.0 * self.to_unit * libm::powf(10.0, level_db as f32 / 20.0);
        for frame in frames.chunks_exact_mut(2) {
            let noise = (gain * self.next()) as i16;
            frame[0] = frame[0].saturating_add(noise);
            frame[1] = frame[1].saturating_add(noise);
        }
    }

    fn next(&mut self) -> f32 {
        // Marsaglia's xorshift, "Xorshift RNGs", J. Stat. Soft. 8 (2003); from memory.
        self.state ^= self.state << 13;
        self.state ^= self.state >> 17;
        self.state ^= self.state << 5;
        let white = self.state as i32 as f32 / 2_147_483_648.0;
        self.low += self.share * (white - self.low);
        self.low
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_is_as_loud_as_said_at_every_rate_and_nothing_when_off() {
        for rate_hz in [24_000, 48_000] {
            for level_db in [-40.0, -20.0] {
                let mut frames = vec![0; 2 * 200_000];
                Cockpit::new(rate_hz).add(level_db, &mut frames);
                let mean_square =
                    frames.iter().map(|s| (f64::from(*s) / 32_767.0).powi(2)).sum::<f64>()
                        / 400_000.0;
                let found_db = 10.0 * mean_square.log10();
                assert!(
                    (found_db - level_db).abs() < 0.2,
                    "{found_db} dB for {level_db} dB at {rate_hz} Hz"
                );
            }
        }
        let mut frames = [0; 1000];
        Cockpit::new(24_000).add(OFF_DB, &mut frames);
        assert_eq!(frames, [0; 1000]);
    }
}
