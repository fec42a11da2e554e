//! What a tone means: the tone law backwards, from the tables of the settings.

use chirrup_core::ToneSettings;

/// A place of a table.
#[derive(Clone, Copy, Debug)]
struct Point {
    vertical_mps: f64,
    /// Natural logarithms of the pitch in Hz, of the cadence in Hz and of the beep's length in s.
    log: [f64; 3],
}

/// The tables by pitch.
#[derive(Clone, Debug)]
pub(super) struct Law {
    climb: Vec<Point>,
    sink: Vec<Point>,
}

impl Law {
    pub(super) fn new(settings: &ToneSettings) -> Self {
        let point = |vertical_mps: f32, values: [f32; 3]| Point {
            vertical_mps: f64::from(vertical_mps),
            log: values.map(|value| libm::log(f64::from(value))),
        };
        let climb = settings.climb.iter();
        let climb =
            climb.map(|at| point(at.climb_mps, [at.pitch_hz, at.cadence_hz, 1e-3 * at.beep_ms]));
        let sink = settings.sink.iter().rev();
        Self {
            climb: climb.collect(),
            sink: sink.map(|at| point(at.sink_mps, [at.pitch_hz, 1.0, 1.0])).collect(),
        }
    }

    /// The climb that a beep of this pitch means, m/s, and the gap after it, s.
    pub(super) fn beep(&self, pitch_hz: f64) -> (f64, f64) {
        let found = at_pitch(&self.climb, pitch_hz);
        let [_, cadence, length] = found.log.map(libm::exp);
        (found.vertical_mps, 1.0 / cadence - length)
    }

    /// The climb that the steady tone of this pitch means, m/s, below zero.
    pub(super) fn steady_mps(&self, pitch_hz: f64) -> f64 {
        at_pitch(&self.sink, pitch_hz).vertical_mps
    }
}

/// The place of a pitch in a table of rising pitches; the nearest end beyond it.
fn at_pitch(points: &[Point], pitch_hz: f64) -> Point {
    let log = libm::log(pitch_hz);
    let above = points.partition_point(|point| point.log[0] <= log);
    let (Some(below), Some(above)) = (above.checked_sub(1).map(|at| points[at]), points.get(above))
    else {
        return points[above.saturating_sub(1)];
    };
    let share = (log - below.log[0]) / (above.log[0] - below.log[0]);
    let mut found = below;
    found.vertical_mps += share * (above.vertical_mps - below.vertical_mps);
    for (value, other) in found.log.iter_mut().zip(above.log) {
        *value += share * (other - *value);
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;
    use chirrup_core::stages::{Tone, ToneState};
    use chirrup_core::{MetrePerSecond, Sound};

    #[test]
    fn it_is_the_tone_law_of_the_core_backwards() {
        let settings = ToneSettings::default();
        let (law, tone) = (Law::new(&settings), Tone::new(&settings).unwrap());
        for step in -100..=150 {
            let climb_mps = f64::from(step) * 0.1;
            match tone.step(&mut ToneState::default(), MetrePerSecond(climb_mps as f32)) {
                Sound::Beeps { pitch, cadence, on_fraction } => {
                    let (found_mps, gap_s) = law.beep(f64::from(pitch.0));
                    assert_abs_diff_eq!(found_mps, climb_mps, epsilon = 1e-3);
                    let gap = f64::from((1.0 - on_fraction) / cadence.0);
                    assert_abs_diff_eq!(gap_s, gap, epsilon = 1e-3);
                }
                Sound::Steady { pitch } => {
                    let found_mps = law.steady_mps(f64::from(pitch.0));
                    assert_abs_diff_eq!(found_mps, climb_mps, epsilon = 2e-3);
                }
                _ => assert!((-1.65..0.25).contains(&climb_mps), "{climb_mps} m/s is silent"),
            }
        }
    }
}
