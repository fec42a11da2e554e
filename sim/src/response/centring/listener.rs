//! An ideal listener: hears the pitch of beeps and of the steady tone to a just noticeable step,
//! and knows the tone law by heart.

use super::law::Law;
use chirrup_core::{Meaning, TICK, ToneSettings, Voice};

/// Just noticeable steps of pitch: 0.6 %, and 3 Hz below 500 Hz (Kollmeier, Brand and Meyer 2008,
/// as commonly cited).
const STEP: f64 = 0.006;
const STEP_HZ: f64 = 3.0;
/// A gap this much longer than that of the beeps heard last is silence (a guess).
const LONGER_GAP: f64 = 1.5;
/// The steady tone has no gaps; this is one to the ear.
const STEADY_GAP_S: f64 = 0.05;

/// What has been heard so far.
#[derive(Clone, Debug)]
pub(crate) struct Listener {
    law: Law,
    heard: Option<Heard>,
    silent_s: f64,
}

/// The tone heard last.
#[derive(Clone, Copy, Debug)]
struct Heard {
    pitch_hz: f64,
    meaning: Meaning,
    climb_mps: f64,
    gap_s: f64,
}

impl Listener {
    pub(crate) fn new(settings: &ToneSettings) -> Self {
        Self { law: Law::new(settings), heard: None, silent_s: 0.0 }
    }

    /// Listens for one tick.
    pub(crate) fn listen(&mut self, voice: Voice) {
        if !voice.gate {
            self.silent_s += TICK.0 as f64 * 1e-6;
            self.heard = self.heard.filter(|heard| self.silent_s <= LONGER_GAP * heard.gap_s);
            return;
        }
        self.silent_s = 0.0;
        let pitch_hz = f64::from(voice.pitch.0);
        let is_the_same = self.heard.is_some_and(|heard| {
            let step_hz = (STEP * heard.pitch_hz).max(STEP_HZ);
            heard.meaning == voice.meaning && (pitch_hz - heard.pitch_hz).abs() < step_hz
        });
        if !is_the_same {
            self.heard = self.understood(pitch_hz, voice.meaning);
        }
    }

    fn understood(&self, pitch_hz: f64, meaning: Meaning) -> Option<Heard> {
        let (climb_mps, gap_s) = match meaning {
            Meaning::Climb => self.law.beep(pitch_hz),
            Meaning::Sink => (self.law.steady_mps(pitch_hz), STEADY_GAP_S),
            Meaning::Nothing | Meaning::Cruise | Meaning::Fault => return None,
        };
        Some(Heard { pitch_hz, meaning, climb_mps, gap_s })
    }

    /// The climb that the sound means now, m/s; `None` while nothing sounds.
    pub(crate) fn climb_mps(&self) -> Option<f64> {
        self.heard.map(|heard| heard.climb_mps)
    }
}
