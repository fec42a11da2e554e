//! Just noticeable steps of pitch and cadence, for notes as short and as faint as they are.

/// Of pitch, as a share, for long and clear tones (Kollmeier, Brand and Meyer 2008)...
const PITCH: f64 = 0.006;
/// ... that last so long. A shorter one has a step larger by the root of the ratio...
const LONG_S: f64 = 0.2;
/// ... and one less than this above its threshold a step larger by `10^(5.09 (1/SL - 1/40))` with
/// the level `SL` in dB (shape: Micheyl, Xiao and Oxenham 2012; coefficients: Nelson, Stanton and
/// Freyman 1983 and Moore 1973, from memory).
const CLEAR_DB: f64 = 40.0;
const BY_LEVEL: f64 = 5.09;
/// Of cadence, as a share of the time between two beeps, and not less than 6 ms of it (Friberg and
/// Sundberg 1995).
const CADENCE: f64 = 0.025;
const CADENCE_S: f64 = 0.006;

/// The just noticeable step of pitch, as a share of it, for a note of a length and a level in dB
/// above its threshold; without an end where it is at the threshold or below.
pub fn pitch_step(note_s: f64, above_db: f64) -> f64 {
    if above_db <= 0.0 {
        return f64::INFINITY;
    }
    let fainter = BY_LEVEL * (1.0 / above_db.min(CLEAR_DB) - 1.0 / CLEAR_DB);
    PITCH * (LONG_S / note_s.min(LONG_S)).sqrt() * 10_f64.powf(fainter)
}

/// The just noticeable step of cadence, as a share of it.
pub fn cadence_step(cadence_hz: f64) -> f64 {
    CADENCE.max(CADENCE_S * cadence_hz)
}

/// How many just noticeable steps lie between two notes, in pitch and in cadence together: the ear
/// has both at once, and the squares add as those of independent observations.
pub fn together(pitch_steps: f64, cadence_steps: f64) -> f64 {
    pitch_steps.hypot(cadence_steps)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn steps_are_those_of_the_sources() {
        assert_relative_eq!(pitch_step(0.5, 60.0), 0.006);
        assert_relative_eq!(pitch_step(0.05, 40.0), 0.012);
        assert_relative_eq!(pitch_step(0.2, 10.0), 0.006 * 10_f64.powf(5.09 * 0.075));
        assert!(pitch_step(0.2, 0.0).is_infinite() && pitch_step(0.2, -5.0).is_infinite());
        assert_eq!([cadence_step(2.0), cadence_step(10.0)], [0.025, 0.06]);
        assert_relative_eq!(together(3.0, 4.0), 5.0);
    }
}
