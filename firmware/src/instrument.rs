//! The whole instrument: the one file that uses every part, and the only one that a board needs.
//!
//! A board has a few small tasks that share one `Instrument`. None of its methods waits; each is
//! called with the time, in microseconds from any origin that never goes back (64 bits: a 32-bit
//! timer wraps after 71.6 minutes).
//!
//! ```text
//! bus     loop { match bus_step(now) { Transact(t) => bus_done(now, run(t)),
//!                                      Wait(t) => sleep until t,
//!                                      Recover => bus_recovered(now, freed) } }
//! sound   every 2 ms: if let Some(pulse) = speaker.change(tick(now)) { set the PWM }
//! inputs  every 10 ms: buttons(now, pressed), led(now)
//!         every 100 ms: battery(now, millivolts), if may_feed_watchdog(now) feed
//! ports   bytes in: receive(port, ..); bytes out: while transmit(port, ..) > 0
//! sky     a satellite receiver's line, if the board has one: satellites(now) is its bit rate and
//!         what to send; bytes in: satellites_say(now, ..)
//!         a port that is opened: connected(port)
//! flash   store::load and store::prepare before the first sample; then
//!         if let Some(settings) = take_save() { saved(store::save(.., may_erase()).await) }
//! record  a recorder::keeper::Keeper: serve(..) wherever the bus waits, answer(..) now and then
//! ```
//!
//! What sounds; later entries override earlier ones:
//!
//! ```text
//! the pipeline's voice with its fault call  <  a tone being tried out  <  a notice
//! (all silent while muted)
//! ```

mod answers;
mod auditions;
mod changes;
mod health;
mod look_after;
mod recording;
mod report;
#[cfg(test)]
mod still_air;
#[cfg(test)]
mod tests;

use crate::audition::Audition;
use crate::battery::Battery;
use crate::buttons::{Button, Press};
use crate::console::Console;
use crate::gnss::receiver::{Message, Receiver};
use crate::inertial::shaking::Shaking;
use crate::led::Light;
use crate::log::MOST_HZ;
use crate::notice::{Notice, Player};
use crate::panic_record::PanicRecord;
use crate::recorder::motion::Motion;
use crate::recorder::state::State as RecorderState;
use crate::sampler::Sampler;
use crate::store::{Loaded, Origin, SaveError};
use crate::watchdog::Watchdog;
use chirrup_core::stages::{LONGEST_MUTE, LOUDEST, level_of_volume};
use chirrup_core::{
    Micros, Pipeline, PipelineState, Reading, Settings, SettingsError, SoundMode, ToneSettings,
    Voice,
};
use chirrup_sensors::bus::{BusFault, BusStep, Reply};
use health::Health;

/// How long a board may wait between two calls of [`Instrument::tick`]; it is the core's control
/// tick.
pub const TICK: Micros = chirrup_core::TICK;

/// Change of the volume per press: two of the core's steps, 6 dB.
const VOLUME_STEP: f32 = 2.0;
/// A save begins this long after it was wanted, 30 ms: the sound has faded by then, 15 ms at most,
/// and what a board has of it ahead has been played. While flash is written nothing can play on.
const HUSH_TICKS: u16 = 15;
/// A save that takes longer than this does not silence the sound any more.
const LONGEST_HUSH_TICKS: u16 = 500;
/// The lowest volume that the buttons set; for silence there is mute.
const QUIETEST: f32 = 2.0;

/// Why the instrument started.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum ResetCause {
    /// Power came, or the reset pin.
    #[default]
    Power,
    /// The watchdog was not fed.
    Watchdog,
    /// The program reset itself, as after a panic.
    Software,
}

/// What a board provides at the start.
#[derive(Clone, Debug)]
pub struct Boot {
    /// The board's name, for the console.
    pub board: &'static str,
    /// The time now.
    pub now: Micros,
    /// The settings; see [`crate::store::load`].
    pub loaded: Loaded,
    /// Why it started.
    pub reset: ResetCause,
    /// Why it stopped before, if it did and the record survived in memory.
    pub panic: Option<PanicRecord>,
}

/// A start whose settings have been checked.
#[derive(Clone, Debug)]
pub struct Checked {
    boot: Boot,
    pipeline: Pipeline,
}

impl Boot {
    /// Checks the settings; unusable ones, which [`crate::store::load`] never returns, are replaced
    /// by the defaults.
    ///
    /// # Errors
    /// Only if the core's own defaults cannot be used, which a test excludes.
    pub fn check(self) -> Result<Checked, SettingsError> {
        match self.loaded.settings.build() {
            Ok(pipeline) => Ok(Checked { boot: self, pipeline }),
            Err(_) => {
                let pipeline = Settings::default().build()?;
                Ok(Checked {
                    boot: Boot { loaded: Loaded::defaults(Origin::Damaged), ..self },
                    pipeline,
                })
            }
        }
    }
}

/// Which buttons are down.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Pressed {
    /// Short: louder by 6 dB, and from the loudest back to the quietest. Held: quieter, a step
    /// every half second.
    pub volume: bool,
    /// Short: mute for five minutes at most, or end the mute. Held, on the ground: the sound check,
    /// a minute that any press ends.
    pub mute: bool,
    /// Short: the next mode, climb, netto or speed. Held: log on or off.
    pub mode: bool,
}

/// A port that carries the console.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Port {
    /// USB serial.
    Usb,
    /// UART.
    Uart,
}

impl Port {
    /// Both.
    pub const ALL: [Port; 2] = [Port::Usb, Port::Uart];
}

/// The instrument.
pub struct Instrument {
    board: &'static str,
    reset: ResetCause,
    panic: Option<PanicRecord>,
    origin: Origin,
    started: Micros,
    now: Micros,
    settings: Settings,
    /// Changes being collected.
    draft: Option<Settings>,
    pipeline: Pipeline,
    state: PipelineState,
    reading: Option<Reading>,
    sampler: Sampler,
    receiver: Receiver,
    shaking: Shaking,
    health: Health,
    watchdog: Watchdog,
    battery: Battery,
    volume_button: Button,
    mute_button: Button,
    mode_button: Button,
    notice_level: f32,
    player: Player,
    audition: Option<Audition>,
    usb: Console,
    uart: Console,
    save: Save,
    /// Ticks since a save was wanted.
    hushed: u16,
    /// The settings in flash, as far as known.
    kept: Settings,
    keep_buttons: Keep,
    zeroing: Option<Zeroing>,
    /// UTC less the time of samples, in microseconds, once known.
    clock_us: Option<i64>,
    /// The recorder's, where the board has one.
    recorder: Option<RecorderState>,
    motion: Motion,
    /// Ticks since something sounded, and since a port was typed at.
    silent_ticks: u16,
    untouched_ticks: u16,
    /// Requests so far.
    asked_of_recorder: u32,
}

/// Progress of a save.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Save {
    None,
    /// Requested at a port, or by the buttons.
    Wanted(Option<Port>),
    /// The board is writing.
    Writing(Option<Port>),
}

/// When the buttons' changes are to be saved.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Keep {
    Nothing,
    /// At this time.
    At(Micros),
    /// When flash may be erased.
    WhenItMayErase,
}

/// The dynamic pressure being averaged for a new zero.
#[derive(Clone, Copy, Debug)]
struct Zeroing {
    port: Port,
    until: Micros,
    sum_64ths_pa: i64,
    samples: i32,
}

impl Instrument {
    /// The instrument at the start: it plays its start-up sound, looks for its sensors and begins
    /// to measure.
    ///
    /// # Errors
    /// As [`Boot::check`].
    pub fn new(boot: Boot) -> Result<Self, SettingsError> {
        boot.check().map(Self::begin)
    }

    /// The same without errors, so that a board can build it in place: it is large, and a stack is
    /// small. Nothing is changed after it is built, or there would be two of it on the stack.
    pub fn begin(checked: Checked) -> Self {
        let Checked { boot, pipeline } = checked;
        let loaded = boot.loaded;
        let notice_level = level_of_volume(loaded.settings.tone.volume);
        let mut player = Player::default();
        player.play(Notice::Start);
        let log_hz = loaded.settings.device.log_hz;
        Self {
            board: boot.board,
            reset: boot.reset,
            panic: boot.panic,
            origin: loaded.origin,
            started: boot.now,
            now: boot.now,
            sampler: Sampler::new(&loaded.settings.device),
            receiver: Receiver::new(boot.now),
            shaking: Shaking::default(),
            kept: loaded.settings.clone(),
            settings: loaded.settings,
            draft: None,
            pipeline,
            state: PipelineState::default(),
            reading: None,
            health: Health::new(boot.now),
            watchdog: Watchdog::new(boot.now),
            battery: Battery::default(),
            volume_button: Button::default(),
            mute_button: Button::default(),
            mode_button: Button::default(),
            notice_level,
            player,
            audition: None,
            usb: Console::opened(log_hz),
            uart: Console::opened(log_hz),
            save: Save::None,
            hushed: 0,
            keep_buttons: Keep::Nothing,
            zeroing: None,
            clock_us: None,
            recorder: None,
            motion: Motion::default(),
            silent_ticks: 0,
            untouched_ticks: 0,
            asked_of_recorder: 0,
        }
    }

    /// What the bus should do next; call it again when that is done, or at the time given.
    ///
    /// A sample that is ready is worked out while the bus waits, not before its next transaction: a
    /// conversion that begins late ends late, and delays the next sample.
    pub fn bus_step(&mut self, now: Micros) -> BusStep {
        self.now = now;
        self.watchdog.bus(now);
        let step = self.sampler.step(now);
        if !matches!(step, BusStep::Transact(_)) {
            self.take_sample();
        }
        step
    }

    /// Takes the result of the transaction of the last [`Instrument::bus_step`], and when it ended
    /// on the wires: the time of a sample is reckoned from that, whatever delayed this call.
    pub fn bus_done(&mut self, ended: Micros, result: Result<Reply, BusFault>) {
        self.now = self.now.max(ended);
        self.sampler.done(ended, result);
    }

    /// Takes whether the bus was freed when [`Instrument::bus_step`] requested it.
    pub fn bus_recovered(&mut self, now: Micros, freed: bool) {
        self.now = now;
        self.sampler.recovered(now, freed);
    }

    /// What to sound until the next tick; call it every [`TICK`].
    pub fn tick(&mut self, now: Micros) -> Voice {
        self.now = now;
        self.watchdog.sound(now);
        if self.health.is_due(now) {
            self.look_after();
        }
        let mut voice = self.pipeline.tick(&mut self.state);
        if let Some(tried) = self
            .audition
            .as_mut()
            .map(|tried| tried.tick(self.pipeline.sounder(), &self.settings.tone))
        {
            match tried {
                Some(tried) => voice = tried,
                None => self.audition = None,
            }
        }
        voice = self.player.tick(self.notice_level).unwrap_or(voice);
        // Counted while muted as well.
        let is_hushed = self.is_hushed();
        voice.gate &= !self.is_muted() && !is_hushed;
        self.untouched_ticks = self.untouched_ticks.saturating_add(1);
        self.silent_ticks = if voice.gate { 0 } else { self.silent_ticks.saturating_add(1) };
        voice
    }

    /// Takes which buttons are down; call it every 5 to 20 ms. They need not be debounced.
    pub fn buttons(&mut self, now: Micros, pressed: Pressed) {
        self.now = now;
        let volume = self.volume_button.step(now, pressed.volume);
        let mute = self.mute_button.step(now, pressed.mute);
        let mode = self.mode_button.step(now, pressed.mode);
        if matches!(self.audition, Some(Audition::Check(_))) {
            // The press that began it is still held.
            if volume.or(mode).is_some() || mute == Some(Press::Short) {
                self.audition = None;
            }
            return;
        }
        if let Some(press) = volume {
            self.change_volume(press);
        }
        match mute {
            Some(Press::Short) => {
                self.state.mute_for(if self.is_muted() { Micros(0) } else { LONGEST_MUTE })
            }
            Some(Press::Held) => self.hold_for_sound_check(),
            Some(Press::StillHeld) | None => {}
        }
        match mode {
            Some(Press::Short) => self.next_mode(),
            Some(Press::Held) => self.turn_log(),
            Some(Press::StillHeld) | None => {}
        }
    }

    /// Takes the battery voltage; call it ten times a second. A board without a battery never calls
    /// it.
    pub fn battery(&mut self, now: Micros, millivolts: u32) {
        self.now = now;
        self.battery.step(now, millivolts, (self.settings.device.battery_low_v * 1_000.0) as u32);
    }

    /// Whether the LED should be lit now.
    pub fn led(&self, now: Micros) -> bool {
        self.light().is_lit(now)
    }

    /// Whether the watchdog may be fed: the bus is being served and the sound is being made.
    pub fn may_feed_watchdog(&self, now: Micros) -> bool {
        self.watchdog.may_feed(now)
    }

    /// Takes bytes received at a port.
    pub fn receive(&mut self, port: Port, bytes: &[u8]) {
        self.untouched_ticks = 0;
        self.console(port).receive(bytes);
    }

    /// Takes bytes to send at a port, after reading a line or writing a line of an answer; 0 when
    /// there is nothing. A board lets its other tasks run between two calls.
    pub fn transmit(&mut self, port: Port, buffer: &mut [u8]) -> usize {
        self.serve(port);
        self.console(port).transmit(buffer)
    }

    /// Takes bytes of a satellite receiver, which have just come.
    pub fn satellites_say(&mut self, now: Micros, bytes: &[u8]) {
        self.now = now;
        self.receiver.receive(now, bytes);
    }

    /// Bits a second of the satellite receiver's line, to be set before the message is sent, if
    /// there is one; call it about ten times a second.
    pub fn satellites(&mut self, now: Micros) -> (u32, Option<Message>) {
        self.now = now;
        (self.receiver.bits_per_second(now), self.receiver.to_send(now))
    }

    /// Somebody opened the port: waiting output is dropped, and a log that is on restarts with its
    /// header.
    pub fn connected(&mut self, port: Port) {
        self.console(port).open();
    }

    /// The settings to save now, if a save is due; call it about every 100 ms. The sound pauses
    /// until they are saved.
    pub fn take_save(&mut self) -> Option<Settings> {
        let Save::Wanted(asked_by) = self.save else { return None };
        if self.hushed < HUSH_TICKS {
            return None;
        }
        self.save = Save::Writing(asked_by);
        Some(self.settings_for_flash(asked_by))
    }

    /// Takes the result of the save.
    pub fn saved(&mut self, result: Result<(), SaveError>) {
        let Save::Writing(asked_by) = self.save else { return };
        self.save = Save::None;
        match asked_by {
            Some(port) => self.answer_save(port, result),
            None => self.kept_buttons(result),
        }
    }

    /// Whether flash may be erased now, which stops everything, the sound too, for 45 to 400 ms: on
    /// the ground, or while the pilot has muted the sound.
    pub fn may_erase(&self) -> bool {
        self.is_muted() || self.is_on_the_ground()
    }

    /// Whether the glider is seen to stand: in the first half minute it may be in flight, after a
    /// brown-out.
    fn is_on_the_ground(&self) -> bool {
        self.motion.stands() && !self.state.is_flying()
    }

    /// The last reading, for a board with a display.
    pub fn reading(&self) -> Option<Reading> {
        self.reading
    }

    /// The settings in use.
    pub fn settings(&self) -> &Settings {
        &self.settings
    }

    fn take_sample(&mut self) {
        let Some(mut sampled) = self.sampler.take() else { return };
        sampled.ground = self.receiver.take(sampled.time);
        if let Some(averaged) = &sampled.inertial {
            self.shaking.take(averaged);
        }
        let reading = self.pipeline.step(&mut self.state, &sampled.sample());
        self.reading = Some(reading);
        self.health.reading(self.now, reading.status);
        if self.motion.step(&sampled) {
            self.end_sound_check();
        }
        let mmps = mmps(&reading);
        self.usb.log(&sampled, mmps);
        self.uart.log(&sampled, mmps);
        self.zero(&sampled);
        self.sampler.put_back(sampled);
    }

    /// A save is due or under way, and has not been for long; a tick later each time.
    fn is_hushed(&mut self) -> bool {
        let is_saving = self.save != Save::None;
        self.hushed = if is_saving { self.hushed.saturating_add(1) } else { 0 };
        is_saving && self.hushed < LONGEST_HUSH_TICKS
    }

    fn is_muted(&self) -> bool {
        self.state.muted_for() > Micros(0)
    }

    fn change_volume(&mut self, press: Press) {
        let volume = self.settings.tone.volume;
        let changed = match press {
            Press::Short if volume >= LOUDEST => QUIETEST,
            Press::Short => (volume + VOLUME_STEP).min(LOUDEST),
            Press::Held | Press::StillHeld => (volume - VOLUME_STEP).max(QUIETEST),
        };
        self.state.mute_for(Micros(0));
        self.change_tone(|tone| tone.volume = changed);
        self.button_changed_settings();
        self.player.play(Notice::Button);
    }

    fn next_mode(&mut self) {
        let (mode, notice) = match self.settings.tone.mode {
            SoundMode::Climb => (SoundMode::Netto, Notice::TwoTicks),
            SoundMode::Netto => (SoundMode::Speed, Notice::ThreeTicks),
            SoundMode::Speed => (SoundMode::Climb, Notice::Button),
        };
        self.change_tone(|tone| tone.mode = mode);
        self.player.play(notice);
    }

    fn change_tone(&mut self, change: impl FnOnce(&mut ToneSettings)) {
        let mut changed = self.settings.clone();
        change(&mut changed.tone);
        // Changes by buttons are always in range.
        let _ = self.adopt(changed);
    }

    fn turn_log(&mut self) {
        let is_on = self.usb.log.is_on() || self.uart.log.is_on();
        let usual =
            if self.settings.device.log_hz > 0 { self.settings.device.log_hz } else { MOST_HZ };
        self.set_logs(if is_on { 0 } else { usual });
        self.player.play(Notice::Button);
    }

    fn set_logs(&mut self, rate_hz: u8) {
        self.usb.set_log(rate_hz);
        self.uart.set_log(rate_hz);
    }

    fn light(&self) -> Light {
        match () {
            () if self.health.is_fault() => Light::Fault,
            () if !self.health.has_reading() => Light::Settling,
            () if self.battery.is_low() => Light::BatteryLow,
            () if self.is_muted() || self.settings.tone.volume <= 0.0 => Light::Muted,
            () => Light::Good,
        }
    }

    fn console(&mut self, port: Port) -> &mut Console {
        match port {
            Port::Usb => &mut self.usb,
            Port::Uart => &mut self.uart,
        }
    }
}

/// The vertical speed that sounds, as log and recorder have it.
fn mmps(reading: &Reading) -> Option<i32> {
    reading.values.map(|values| rounded(values.sounded().0 * 1_000.0))
}

/// Rounds to the nearest integer, halves away from zero.
fn rounded(value: f32) -> i32 {
    (value + if value < 0.0 { -0.5 } else { 0.5 }) as i32
}
