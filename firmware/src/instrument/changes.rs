//! Changes of the settings, one by one or collected: checked, applied, and kept in flash.
//!
//! ```text
//! console: NAME = VALUE, commit, defaults, zero --checked--> IN USE --save--> flash
//! buttons: volume, mode ---------------------------------------^  \
//!                                   five seconds later, the volume alone --> flash
//! ```
//!
//! So a volume set in flight is kept for the next start, and settings that were only tried out are
//! not.

use super::{Instrument, Keep, Port, Save, Zeroing};
use crate::console::Answer;
use crate::keys::{self, KeyError};
use crate::sampler::{Sampled, Sampler};
use crate::store::{Origin, SaveError};
use chirrup_core::decimal::Shortest;
use chirrup_core::stages::level_of_volume;
use chirrup_core::{Micros, Settings, SettingsError};
use chirrup_sensors::sensor::after;
use core::fmt;

/// The dynamic pressure is averaged for this time.
const ZERO_FOR: Micros = Micros(2_000_000);
/// Changes by buttons are saved this long after the last press, since presses often come in a row.
const KEEP_AFTER: Micros = Micros(5_000_000);

/// Why something was not done.
pub(super) enum Refusal {
    Key(KeyError),
    Settings(SettingsError),
    Words(&'static str),
}

impl fmt::Display for Refusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Refusal::Key(error) => error.fmt(f),
            Refusal::Settings(error) => error.fmt(f),
            Refusal::Words(words) => f.write_str(words),
        }
    }
}

impl Instrument {
    pub(super) fn set(&mut self, name: &str, value: &str) -> Result<(), Refusal> {
        if let Some(draft) = &mut self.draft {
            return keys::set(draft, name, value).map_err(Refusal::Key);
        }
        let mut changed = self.settings.clone();
        keys::set(&mut changed, name, value).map_err(Refusal::Key)?;
        self.adopt(changed)
    }

    pub(super) fn commit(&mut self) -> Result<(), Refusal> {
        let draft =
            self.draft.take().ok_or(Refusal::Words("no changes collected; begin starts that"))?;
        self.adopt(draft)
    }

    /// Applies new settings, if they are usable; the state of the reading is kept.
    pub(super) fn adopt(&mut self, settings: Settings) -> Result<(), Refusal> {
        self.pipeline = settings.build().map_err(Refusal::Settings)?;
        let (old, new) = (&self.settings.device, &settings.device);
        let is_other_sensor = old.second_barometer != new.second_barometer
            || old.differential_output != new.differential_output
            || old.differential_range_pa != new.differential_range_pa;
        if is_other_sensor {
            self.sampler = Sampler::new(new);
        } else {
            self.sampler.set_dynamic_zero_64ths_pa((new.dynamic_zero_pa * 64.0) as i32);
        }
        self.notice_level = level_of_volume(settings.tone.volume);
        self.settings = settings;
        Ok(())
    }

    pub(super) fn ask_for_save(&mut self, port: Port) {
        if self.save != Save::None {
            return self.console(port).end(Err(format_args!("a save is under way")));
        }
        self.save = Save::Wanted(Some(port));
        self.console(port).answer = Answer::Waiting;
    }

    /// Answers the port that requested a save, if it still waits.
    pub(super) fn answer_save(&mut self, port: Port, result: Result<(), SaveError>) {
        let console = self.console(port);
        if console.answer != Answer::Waiting {
            return;
        }
        console.answer = Answer::None;
        match result {
            Ok(()) => console.end(Ok(())),
            Err(SaveError::Flash) => {
                console.end(Err(format_args!("the flash write failed; the old settings are kept")))
            }
            Err(SaveError::Full) => {
                console.end(Err(format_args!("no room in flash; the old settings are kept")))
            }
            Err(SaveError::NotErased) => console.end(Err(format_args!(
                "flash must be erased first, which stops the reading; save on the ground or while \
                 muted"
            ))),
        }
    }

    pub(super) fn begin_zero(&mut self, port: Port) {
        if self.zeroing.is_some() {
            return self.console(port).end(Err(format_args!("the zero is being measured already")));
        }
        self.zeroing =
            Some(Zeroing { port, until: after(self.now, ZERO_FOR), sum_64ths_pa: 0, samples: 0 });
        self.console(port).answer = Answer::Waiting;
    }

    /// Takes the average as zero, once its time is over.
    pub(super) fn finish_zero(&mut self) {
        let Some(zeroing) = self.zeroing.filter(|zeroing| self.now >= zeroing.until) else {
            return;
        };
        self.zeroing = None;
        let mean = zeroing.sum_64ths_pa.checked_div(i64::from(zeroing.samples));
        let done = match mean {
            None => Err(Refusal::Words("no dynamic pressure is measured")),
            Some(mean) => {
                let mut changed = self.settings.clone();
                changed.device.dynamic_zero_pa = mean as f32 / 64.0;
                self.adopt(changed)
            }
        };
        let zero_pa = self.settings.device.dynamic_zero_pa;
        let console = self.console(zeroing.port);
        if console.answer != Answer::Waiting {
            return;
        }
        console.answer = Answer::None;
        if done.is_ok() {
            console.say(format_args!("device.dynamic_zero_pa = {}", Shortest(zero_pa)));
        }
        self.finish(zeroing.port, done);
    }

    /// Continues averaging the dynamic pressure, if requested.
    pub(super) fn zero(&mut self, sampled: &Sampled) {
        if let (Some(zeroing), Some(_)) = (&mut self.zeroing, sampled.dynamic_64ths_pa)
            && let Some(raw) = self.sampler.raw_dynamic_64ths_pa()
        {
            zeroing.sum_64ths_pa += i64::from(raw);
            zeroing.samples += 1;
        }
    }

    /// A button changed the volume, which must be kept.
    pub(super) fn button_changed_settings(&mut self) {
        self.keep_buttons = Keep::At(after(self.now, KEEP_AFTER));
    }

    /// Requests a save of the buttons' changes, once the presses have ended.
    pub(super) fn keep_buttons(&mut self) {
        let is_due = match self.keep_buttons {
            Keep::Nothing => false,
            Keep::At(time) => self.now >= time,
            Keep::WhenItMayErase => self.may_erase(),
        };
        if !is_due || self.save != Save::None {
            return;
        }
        self.keep_buttons = Keep::Nothing;
        // Settings of another version may still be needed by the program that wrote them.
        if matches!(self.origin, Origin::Flash | Origin::FirstStart) {
            self.save = Save::Wanted(None);
        }
    }

    /// Takes the result of a save of the buttons' changes; one that would have stopped the reading
    /// is done when it may.
    pub(super) fn kept_buttons(&mut self, result: Result<(), SaveError>) {
        match result {
            Ok(()) => {}
            Err(SaveError::NotErased) => {
                self.keep_buttons = Keep::WhenItMayErase;
                self.tell(format_args!(
                    "the volume is saved on the ground or while muted: flash must be erased first"
                ));
            }
            Err(_) => self.tell(format_args!("saving the volume to flash failed")),
        }
    }

    /// The settings to write for a save requested by a port or the buttons.
    pub(super) fn settings_for_flash(&mut self, asked_by: Option<Port>) -> Settings {
        match asked_by {
            Some(_) => self.kept = self.settings.clone(),
            None => {
                self.kept.tone.volume = self.settings.tone.volume;
            }
        }
        self.kept.clone()
    }
}
