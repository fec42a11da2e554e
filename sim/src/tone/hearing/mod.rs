//! What the ear makes of a sound, by general psychoacoustics: how loud it is, how far above the
//! noise of a cockpit, how large a just noticeable step.
//!
//! | module | what |
//! |---|---|
//! | [`loudness`] | ISO 532-1, by the core's own table |
//! | [`masking`] | level above the threshold at which noise hides a tone |
//! | [`steps`] | just noticeable steps of pitch and of cadence |
//!
//! `tests/oracle/test_ear.py` compares all three with an ear that shares no code with this one. No
//! person has listened for these figures.

pub mod loudness;
pub mod masking;
pub mod steps;

/// How loud a sine of full scale is at the ear, in dB SPL: so loud that a beep of volume 8, 10.6 dB
/// below the volume, has 70 dB. Where the sound is played louder or softer, the figures move along.
pub const FULL_SCALE_SPL: f64 = 86.6;
/// The cockpit's noise in dB SPL, from 100 Hz to 10 kHz, pink: 10 dB above such a beep.
pub const NOISE_SPL: f64 = 80.0;

/// A tone as it leaves the instrument.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tone {
    /// Pitch.
    pub pitch_hz: f64,
    /// Amplitudes of its harmonics, from the fundamental up, as shares of full scale.
    pub harmonics: [f64; 4],
    /// Length of a note; `None` if it is unbroken.
    pub note_s: Option<f64>,
}
