//! The loop of `live`: the bus when it is due, sound when the device has room, lines when somebody
//! types one.

use super::log::Log;
use crate::commands::say::{say, say_beside};
use chirrup::ears::Ears;
use chirrup::error::{Error, Result};
use chirrup::output::live::Speaker;
use chirrup::render::Renderer;
use chirrup::replay::Stretch;
use chirrup::words::shown_path;
use chirrup_core::{Micros, Settings};
use chirrup_onboard::linux::LinuxBus;
use chirrup_onboard::{Bus, Onboard};
use std::io::stdin;
use std::path::Path;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, channel};
use std::time::{Duration, Instant};

/// How far the sound runs ahead of the ear, s.
const AHEAD_S: f64 = 0.1;
/// The longest sleep: room for sound, a typed line and Ctrl-C are looked for as often.
const NAP: Duration = Duration::from_millis(4);
/// After this long without a first sample there is no barometer.
const PATIENCE: Duration = Duration::from_secs(5);
/// Change of the volume by a key: 6 dB, as by the button.
const VOLUME_STEP: f32 = 2.0;

/// Runs until `q`, the end of what is typed, or Ctrl-C.
pub fn run(
    bus_path: &Path,
    settings: Settings,
    output: Option<&Path>,
    interrupted: &AtomicBool,
) -> Result<()> {
    let name = shown_path(bus_path).to_string();
    let bus = LinuxBus::open(bus_path)
        .map_err(|why| Error::Refused(format!("cannot use {name}: {why}")))?;
    let begun = Instant::now();
    let onboard = Onboard::new(bus, settings, clock(begun))
        .map_err(|error| Error::Settings(error.to_string()))?;
    let speaker = Speaker::open(1, AHEAD_S, interrupted)?;
    let sound = Renderer::new(speaker.sample_rate_hz(), false);
    let log = Log::create(output)?;
    let log_is_said = output == Some(Path::new("-"));
    let mut flight =
        Flight { onboard, speaker, sound, log, log_is_said, begun, typed: typed(), name };
    let ended = flight.fly(interrupted);
    // The sound still in the buffer is dropped; the log is kept whatever ended the flight.
    let file = flight.log.finish()?;
    if let Some(file) = file {
        say(&format!("written   {}\n", shown_path(&file)))?;
    }
    ended
}

struct Flight<'a, B> {
    onboard: Onboard<B>,
    speaker: Speaker<'a>,
    sound: Renderer,
    log: Log,
    /// Standard output has the log; what the console answers goes beside it.
    log_is_said: bool,
    begun: Instant,
    typed: Receiver<String>,
    name: String,
}

impl<B: Bus> Flight<'_, B> {
    fn fly(&mut self, interrupted: &AtomicBool) -> Result<()> {
        while !interrupted.load(Ordering::Relaxed) {
            let begun = self.begun;
            let until = self.onboard.serve(|| clock(begun));
            self.hear()?;
            self.write()?;
            while let Ok(line) = self.typed.try_recv() {
                if line.trim() == "q" {
                    return Ok(());
                }
                self.obey(line.trim());
            }
            if self.onboard.instrument().reading().is_none() && begun.elapsed() > PATIENCE {
                return Err(self.no_barometer());
            }
            let wait = until.since(clock(begun)).0.max(0).unsigned_abs();
            std::thread::sleep(Duration::from_micros(wait).min(NAP));
        }
        Ok(())
    }

    /// Makes the ticks for which the sound device has room.
    fn hear(&mut self) -> Result<()> {
        // A tick of 2 ms, and one sample more where it is no whole number of them.
        let tick = self.speaker.sample_rate_hz() as usize / 500 + 1;
        while self.speaker.room() >= tick {
            let left = self.onboard.tick(clock(self.begun));
            let Self { sound, speaker, .. } = self;
            let voices = [Ears { left, right: None }];
            sound.render(Stretch::Voices(&voices), &mut |samples| speaker.push(samples))?;
        }
        Ok(())
    }

    fn write(&mut self) -> Result<()> {
        while let Some(row) = self.onboard.next_row() {
            self.log.write(&row)?;
        }
        self.log.wait();
        while let Some(line) = self.onboard.next_said() {
            say_beside(&format!("{line}\n"), self.log_is_said)?;
        }
        Ok(())
    }

    fn obey(&mut self, line: &str) {
        let volume = self.onboard.instrument().settings().tone.volume;
        let changed = match line {
            "+" => Some(volume + VOLUME_STEP),
            "-" => Some(volume - VOLUME_STEP),
            _ => None,
        };
        match (line, changed) {
            ("m", _) => self.onboard.mute(clock(self.begun)),
            (_, Some(volume)) => {
                self.onboard.type_line(&format!("tone.volume = {}", volume.clamp(0.0, 10.0)));
            }
            _ => self.onboard.type_line(line),
        }
    }

    fn no_barometer(&self) -> Error {
        Error::Refused(format!(
            "no barometer answers on {}; on a Raspberry Pi check SDA on pin 3, SCL on pin 5, 3.3 V \
             on pin 1 and ground on pin 6; `i2cdetect -y 1` should show 76 or 77",
            self.name
        ))
    }
}

fn clock(begun: Instant) -> Micros {
    Micros(i64::try_from(begun.elapsed().as_micros()).unwrap_or(i64::MAX))
}

/// Lines of standard input as they are typed; where it is closed, none come.
fn typed() -> Receiver<String> {
    let (sender, receiver) = channel();
    std::thread::spawn(move || {
        for line in stdin().lines() {
            let Ok(line) = line else { return };
            if sender.send(line).is_err() {
                return;
            }
        }
    });
    receiver
}
