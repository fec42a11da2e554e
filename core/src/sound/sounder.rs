//! From the reading to the voice: decides which sound is on, and how loud.
//!
//! ```text
//!   climb, netto, speed error --(mode)--> tone or cruise --+
//!   not launched yet, muted ---------------> silence ------+--> gate --> level --> Voice
//!   trouble for 5 s --------------------> fault call ------+      (for samples or PWM)
//! ```
//!
//! A cruise mode that lacks its value (no polar, no airspeed) sounds climb instead: the two cannot
//! be confused, and silence would be worse.

use crate::error::SettingsError;
use crate::sound::beep::{BeepState, TICK, Voice};
use crate::sound::cruise::{Cruise, CruiseState, PAIRS};
use crate::sound::fault::{FaultState, FaultWatch, Health};
use crate::sound::settings::{SoundMode, ToneSettings};
use crate::sound::shade::{Shade, Shades};
use crate::sound::tone::{Meaning, Sound, Tone, ToneState};
use crate::sound::transposed::transposed;
use crate::sound::volume::{Volume, VolumeState};
use crate::units::{MetrePerSecond, Micros};

/// A mute ends by itself after this time at the latest.
pub const LONGEST_MUTE: Micros = Micros(300_000_000);

/// The values from which a sound is made.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Heard {
    /// The vertical speed, compensated where possible.
    pub climb: MetrePerSecond,
    /// The air's own vertical speed, where it is known.
    pub netto: Option<MetrePerSecond>,
    /// Indicated airspeed less the speed to fly, where both are known; above zero is too fast.
    pub speed_error: Option<MetrePerSecond>,
    /// Equivalent airspeed, where it is known: slow flight is softer.
    pub airspeed: Option<MetrePerSecond>,
}

/// The sound with its settings.
#[derive(Clone, Debug, PartialEq)]
pub struct Sounder {
    mode: SoundMode,
    tone: Tone,
    netto: Cruise,
    speed: Cruise,
    fault: FaultWatch,
    volume: Volume,
    shades: Shades,
    /// The shade of the fault call, at any airspeed.
    call: Shade,
}

/// State of the sound.
#[derive(Clone, Copy, Debug, Default)]
pub struct SounderState {
    tone: ToneState,
    cruise: CruiseState,
    sound: Sound,
    fault: FaultState,
    beep: BeepState,
    muted: Micros,
    volume: VolumeState,
    /// The shade of `sound`.
    shade: Shade,
}

impl Sounder {
    /// Checks the settings and prepares every sound.
    ///
    /// # Errors
    /// The first setting out of range or out of order.
    pub fn new(settings: &ToneSettings) -> Result<Self, SettingsError> {
        let tone = Tone::new(settings)?;
        let fault = FaultWatch::new(settings.fault_every_s, tone.lowest_beep());
        let volume = Volume::new(settings.volume, settings.softer_when_slow_db);
        let call = fault.asked();
        let shades = Shades::new(settings, &tone, call);
        Ok(Self {
            mode: settings.mode,
            netto: Cruise::of_netto(settings.netto_band_mps),
            speed: Cruise::of_speed(settings.speed_band_mps),
            call: shades.of(Meaning::Fault, call, volume.full()),
            volume,
            shades,
            fault,
            tone,
        })
    }

    /// The sound from now until the next reading.
    pub fn read(&self, state: &mut SounderState, heard: Heard) -> Sound {
        let cruise = match self.mode {
            SoundMode::Climb => None,
            SoundMode::Netto => heard.netto.map(|netto| (self.netto, netto)),
            SoundMode::Speed => heard.speed_error.map(|error| (self.speed, error)),
        };
        let (sound, asked) = match cruise {
            Some((cruise, value)) => {
                state.tone = ToneState::default();
                (cruise.step(&mut state.cruise, value), PAIRS)
            }
            None => {
                state.cruise = CruiseState::default();
                self.tone.step_asked(&mut state.tone, heard.climb)
            }
        };
        let sound = transposed(self.shades.speaker(), sound);
        state.sound = sound;
        if sound != Sound::Silent {
            let volume = self.volume.level(&mut state.volume, heard.airspeed);
            state.shade = self.shades.of(sound.meaning(), asked, volume);
        }
        sound
    }

    /// Advances by one control tick; `stale` while the reading is too old to use.
    pub fn tick(&self, state: &mut SounderState, stale: bool) -> Voice {
        if stale {
            state.fall_silent();
        }
        let call = self.fault.tick(&mut state.fault, stale);
        state.muted = Micros((state.muted.0 - TICK.0).max(0));
        let (sound, Shade { level, timbre }) = match call {
            _ if state.muted.0 > 0 => (Sound::Silent, state.shade),
            Some(call) => (transposed(self.shades.speaker(), call), self.call),
            None => (state.sound, state.shade),
        };
        state.beep.run_shaded(&sound, level, timbre, 1);
        state.voice()
    }

    /// As so many calls of [`Sounder::tick`] with readings that are not stale, quicker.
    pub(crate) fn run(&self, state: &mut SounderState, ticks: u32) {
        if state.fault.is_in_trouble() || state.muted.0 > 0 {
            (0..ticks).for_each(|_| _ = self.tick(state, false));
        } else {
            let Shade { level, timbre } = state.shade;
            state.beep.run_shaded(&state.sound, level, timbre, ticks);
        }
    }

    /// Whether a fault call sounds, or will unless the readings recover.
    pub fn may_call(&self, state: &SounderState) -> bool {
        self.fault.may_call(&state.fault)
    }
}

impl SounderState {
    /// The present state of the gate.
    pub fn voice(&self) -> Voice {
        self.beep.voice()
    }

    /// No reading is available.
    pub fn fall_silent(&mut self) {
        (self.sound, self.tone, self.cruise) =
            (Sound::Silent, ToneState::default(), CruiseState::default());
    }

    /// Records the health of a sample.
    pub fn note(&mut self, health: Health) {
        self.fault.note(health);
    }

    /// Mutes the sound for `time`, [`LONGEST_MUTE`] at most; zero ends a mute.
    pub fn mute_for(&mut self, time: Micros) {
        self.muted = time.clamp(Micros(0), LONGEST_MUTE);
    }

    /// Remaining time of the mute.
    pub fn muted_for(&self) -> Micros {
        self.muted
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sound::tone::Meaning;
    use std::vec::Vec;

    fn sounder(change: impl Fn(&mut ToneSettings)) -> Sounder {
        let mut settings = ToneSettings::default();
        change(&mut settings);
        Sounder::new(&settings).unwrap()
    }

    fn climbing(climb_mps: f32) -> Heard {
        Heard { climb: MetrePerSecond(climb_mps), ..Heard::default() }
    }

    #[test]
    fn each_mode_sounds_its_own_value_or_climb_where_it_is_missing() {
        let all = Heard {
            climb: MetrePerSecond(2.0),
            netto: Some(MetrePerSecond(2.0)),
            speed_error: Some(MetrePerSecond(5.0)),
            airspeed: None,
        };
        for (mode, meaning) in [
            (SoundMode::Climb, Meaning::Climb),
            (SoundMode::Netto, Meaning::Cruise),
            (SoundMode::Speed, Meaning::Cruise),
        ] {
            let sounder = sounder(|tone| tone.mode = mode);
            let mut state = SounderState::default();
            assert_eq!(sounder.read(&mut state, all).meaning(), meaning);
            assert_eq!(sounder.read(&mut state, climbing(2.0)).meaning(), Meaning::Climb);
        }
    }

    #[test]
    fn a_mute_lasts_for_its_time_and_ends_by_itself() {
        let (sounder, mut state) = (sounder(|_| ()), SounderState::default());
        sounder.read(&mut state, climbing(3.0));
        state.mute_for(Micros(2_000_000));
        let gates: Vec<bool> = (0..2_000).map(|_| sounder.tick(&mut state, false).gate).collect();
        assert_eq!(gates.iter().position(|gate| *gate), Some(999));
        state.mute_for(Micros(i64::MAX));
        assert_eq!(state.muted_for(), LONGEST_MUTE);
        state.mute_for(Micros(0));
        assert!((0..500).any(|_| sounder.tick(&mut state, false).gate));
    }

    #[test]
    fn a_dead_sensor_gives_the_fault_call_and_nothing_else() {
        let (sounder, mut state) = (sounder(|_| ()), SounderState::default());
        sounder.read(&mut state, climbing(3.0));
        let mut meanings = Vec::new();
        for _ in 0..500 * 40 {
            state.note(Health::Bad);
            let voice = sounder.tick(&mut state, true);
            if voice.gate && meanings.last() != Some(&voice.meaning) {
                meanings.push(voice.meaning);
            }
        }
        assert_eq!(meanings, [Meaning::Fault]);
    }

    #[test]
    fn a_setting_out_of_range_is_rejected_by_name() {
        let refused = |change: &dyn Fn(&mut ToneSettings)| {
            let mut settings = ToneSettings::default();
            change(&mut settings);
            Sounder::new(&settings).unwrap_err().parameter
        };
        assert_eq!(refused(&|tone| tone.volume = 11.0), "tone.volume");
        assert_eq!(refused(&|tone| tone.netto_band_mps = f32::NAN), "tone.netto_band_mps");
        assert_eq!(refused(&|tone| tone.speed_band_mps = 0.0), "tone.speed_band_mps");
        assert_eq!(refused(&|tone| tone.fault_every_s = 1.0), "tone.fault_every_s");
    }
}
