//! The instrument on a computer: the same library as on a board, over the computer's I2C bus and
//! clock.
//!
//! ```text
//! bus (I2C, or a simulated one) <-> chirrup-firmware's instrument --> voices, tick by tick
//!                                     ^          |
//!                    lines of a person           +--> answers, and the log as lines
//! ```
//!
//! The caller gives time, in microseconds of a clock that never goes back, and takes voices as its
//! sound device asks for them: their pace is the sound card's, that of the samples is the clock's.
//! The two differ by some millionths, which moves no pitch and no beep that an ear could notice.
//!
//! A computer stamps samples when its program runs, later than a board's timer by what its system
//! does meanwhile. The self-test's jitter says how much that is.

#![forbid(unsafe_code)]

mod lines;
#[cfg(target_os = "linux")]
pub mod linux;

use chirrup_core::{Micros, Settings, SettingsError, Voice};
use chirrup_firmware::instrument::{Boot, Instrument, Port, Pressed, ResetCause};
use chirrup_firmware::store::{Loaded, Origin, SaveError};
use chirrup_sensors::bus::{BusFault, BusStep, Reply, Transaction};
use lines::Lines;

/// Rows a second of the log: one a sample.
const LOG_HZ: u8 = 50;
/// The port that carries the log, and the one that carries a person's lines.
const LOG: Port = Port::Uart;
const PERSON: Port = Port::Usb;

/// A transaction that took longer was interrupted by the system, and when its conversion began is
/// not known: better no sample than one of another time. The longest takes 2 ms at 400 kHz, 8 at
/// 100 kHz, where an inertial sensor therefore has no values.
const LIMIT: Micros = Micros(5_000);
const UNDATED: BusFault = BusFault::Broken;

/// A bus that carries out transactions.
pub trait Bus {
    /// Carries one out, which takes at most some milliseconds.
    ///
    /// # Errors
    /// What the bus reported.
    fn run(&mut self, now: Micros, transaction: &Transaction) -> Result<Reply, BusFault>;
}

/// An instrument and its bus.
pub struct Onboard<B> {
    instrument: Instrument,
    bus: B,
    log: Lines,
    said: Lines,
}

impl<B: Bus> Onboard<B> {
    /// An instrument that starts now, with these settings; its log is on.
    ///
    /// # Errors
    /// The settings cannot be used.
    pub fn new(bus: B, mut settings: Settings, now: Micros) -> Result<Self, SettingsError> {
        settings.device.log_hz = LOG_HZ;
        let boot = Boot {
            board: "a computer",
            now,
            loaded: Loaded { settings, origin: Origin::Flash },
            reset: ResetCause::Power,
            panic: None,
        };
        // A board starts with the defaults where its flash is damaged; here a person is told.
        boot.loaded.settings.build()?;
        let mut instrument = Instrument::new(boot)?;
        instrument.receive(PERSON, b"log off\n");
        let mut own = Self { instrument, bus, log: Lines::default(), said: Lines::default() };
        // The answer to our own line is nobody's.
        own.collect();
        own.said = Lines::default();
        Ok(own)
    }

    /// Serves the bus as far as it goes; `clock` gives the time. Returns when to call it again.
    pub fn serve(&mut self, mut clock: impl FnMut() -> Micros) -> Micros {
        let until = loop {
            let now = clock();
            match self.instrument.bus_step(now) {
                BusStep::Wait(until) => break until,
                BusStep::Transact(transaction) => {
                    let answer = self.bus.run(now, &transaction);
                    let done = clock();
                    let is_dated = done.since(now) <= LIMIT;
                    let answer = answer.and_then(|reply| is_dated.then_some(reply).ok_or(UNDATED));
                    self.instrument.bus_done(done, answer);
                }
                // The kernel's driver clocks a bus free by itself, or cannot.
                BusStep::Recover => self.instrument.bus_recovered(clock(), false),
            }
        };
        self.collect();
        until
    }

    /// What to sound in the next tick of 2 ms.
    pub fn tick(&mut self, now: Micros) -> Voice {
        let voice = self.instrument.tick(now);
        if self.instrument.take_save().is_some() {
            self.instrument.saved(Err(SaveError::Flash));
        }
        voice
    }

    /// Takes a line that a person typed, one of the instrument's console.
    pub fn type_line(&mut self, line: &str) {
        self.instrument.receive(PERSON, line.as_bytes());
        self.instrument.receive(PERSON, b"\n");
        self.collect();
    }

    /// Mutes for five minutes at most, or ends that, as the button does.
    pub fn mute(&mut self, now: Micros) {
        let pressed = Pressed { mute: true, ..Pressed::default() };
        for (after_ms, pressed) in [(0, pressed), (100, pressed), (200, Pressed::default())] {
            self.instrument.buttons(Micros(now.0 + 1_000 * after_ms), pressed);
        }
        self.instrument.buttons(Micros(now.0 + 300_000), Pressed::default());
    }

    /// The next whole line of the log: a header, a row, or a message behind `#`.
    pub fn next_row(&mut self) -> Option<String> {
        self.log.next()
    }

    /// The next whole line for the person.
    pub fn next_said(&mut self) -> Option<String> {
        self.said.next()
    }

    /// The instrument itself.
    pub fn instrument(&self) -> &Instrument {
        &self.instrument
    }

    /// Takes what the ports send, so that no row is dropped.
    fn collect(&mut self) {
        let mut buffer = [0; 512];
        for (port, lines) in [(LOG, &mut self.log), (PERSON, &mut self.said)] {
            loop {
                let length = self.instrument.transmit(port, &mut buffer);
                if length == 0 {
                    break;
                }
                lines.take(&buffer[..length]);
            }
        }
    }
}

#[cfg(test)]
mod tests;
