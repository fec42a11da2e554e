//! The whole instrument: the one file that knows every part, and the only one a board must know.
//!
//! A board has a few small tasks that share one `Instrument`. None of its methods waits; each is called with the time, in
//! microseconds from any origin that never goes back (64 bits: a 32-bit timer wraps after 71.6 minutes).
//!
//! ```text
//! bus     loop { match bus_step(now) { Transact(t) => bus_done(now, run(t)), Wait(t) => sleep until t, Recover => bus_recovered(now, freed) } }
//! sound   every 2 ms: set the PWM to tick(now)
//! inputs  every 10 ms: buttons(now, pressed), led(now); every 100 ms: battery(now, millivolts), if may_feed_watchdog(now) feed
//! ports   bytes in: receive(port, ..); bytes out: while transmit(port, ..) > 0; a port that is opened: connected(port)
//! flash   if let Some(stored) = take_save() { saved(store::save(flash, range, &stored).await) }
//! ```

use crate::bus::{BusFault, BusStep, Reply};
use crate::panic_record::PanicRecord;
use crate::speaker::Drive;
use crate::store::{Loaded, SaveError, Stored};
use chirrup_core::pipeline::{Pipeline, PipelineState};
use chirrup_core::settings::Settings;
use chirrup_core::units::Micros;

/// How long a board may wait between two calls of [`Instrument::tick`]; it is the core's control tick.
pub const TICK: Micros = chirrup_core::beep::TICK;

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

/// What a board knows when it starts.
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
    /// Why it stopped before, if it did and memory kept it.
    pub panic: Option<PanicRecord>,
}

/// Which buttons are down.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Pressed {
    /// Short: louder, and from the loudest to the quietest. Held: quieter, a step every half second.
    pub volume: bool,
    /// Short: mute, and again to hear. Held: the start-up sound, to prove the speaker.
    pub mute: bool,
    /// Short: with or without the sink tone. Held: log on or off.
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
    stored: Stored,
    pipeline: Pipeline,
    state: PipelineState,
}

impl Instrument {
    /// The instrument as it starts: it sounds its start-up sound, looks for its sensors and begins to measure.
    pub fn new(boot: Boot) -> Self {
        let stored = boot.loaded.stored;
        // `load` gives settings that build.
        let pipeline = stored.settings.build().or_else(|_| Settings::default().build());
        let Ok(pipeline) = pipeline else { unreachable!() };
        Self { stored, pipeline, state: PipelineState::default() }
    }

    /// What the bus is wanted for next; to be asked again after it is done, or at the time given.
    pub fn bus_step(&mut self, now: Micros) -> BusStep {
        BusStep::Wait(Micros(now.0 + 20_000))
    }

    /// How the transaction of the last [`Instrument::bus_step`] went.
    pub fn bus_done(&mut self, now: Micros, result: Result<Reply, BusFault>) {
        let _ = (now, result);
    }

    /// Whether the bus was freed when [`Instrument::bus_step`] asked for it.
    pub fn bus_recovered(&mut self, now: Micros, freed: bool) {
        let _ = (now, freed);
    }

    /// What to sound until the next tick; to be called every [`TICK`].
    pub fn tick(&mut self, now: Micros) -> Drive {
        let _ = now;
        Drive { voice: self.pipeline.tick(&mut self.state), volume: self.stored.device.volume }
    }

    /// Which buttons are down; to be called every 5 to 20 ms. They need no debouncing before.
    pub fn buttons(&mut self, now: Micros, pressed: Pressed) {
        let _ = (now, pressed);
    }

    /// The battery's voltage; to be called ten times a second. A board without a battery never calls it.
    pub fn battery(&mut self, now: Micros, millivolts: u32) {
        let _ = (now, millivolts);
    }

    /// Whether the LED is lit now.
    pub fn led(&self, now: Micros) -> bool {
        now.0 < 0
    }

    /// Whether the watchdog may be fed: the bus is being served and the sound is being made.
    pub fn may_feed_watchdog(&self, now: Micros) -> bool {
        now.0 >= 0
    }

    /// Bytes came in at a port.
    pub fn receive(&mut self, port: Port, bytes: &[u8]) {
        let _ = (port, bytes);
    }

    /// Takes bytes to send at a port; 0 when there is nothing.
    pub fn transmit(&mut self, port: Port, buffer: &mut [u8]) -> usize {
        let _ = (port, buffer);
        0
    }

    /// Somebody opened the port: what was waiting is dropped, and a log that is on begins with its header.
    pub fn connected(&mut self, port: Port) {
        let _ = port;
    }

    /// The settings to be saved now, if a save is wanted; to be asked every 100 ms or so.
    pub fn take_save(&mut self) -> Option<Stored> {
        None
    }

    /// How the save went.
    pub fn saved(&mut self, result: Result<(), SaveError>) {
        let _ = result;
    }
}
