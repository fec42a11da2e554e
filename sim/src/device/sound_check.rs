//! The instrument's sound check, led from here: what sounds at each moment, and what to listen for.
//!
//! The instrument has the clock of it; this asks what sounds and says when that changes, so that
//! both always agree. Whatever ends this early ends the sound too, where the port still works.

use super::port::Port;
use super::{settings, talk};
use crate::error::Result;
use crate::settings_file;
use chirrup_core::ToneSettings;
use std::path::Path;
use std::sync::atomic::AtomicBool;
use std::time::Duration;

/// How often to ask: ten times in the shortest part.
const EVERY: Duration = Duration::from_millis(200);

/// Plays the sound check of the instrument at `path` to its end; `tell` gets a line about each
/// part.
///
/// # Errors
/// No instrument answers, an older one that does not tell what sounds, or Ctrl-C.
pub fn run(
    path: &Path,
    interrupted: &AtomicBool,
    mut tell: impl FnMut(&str) -> Result<()>,
) -> Result<()> {
    let text = settings::show(path, interrupted)?;
    let tone = settings_file::from_text("the instrument's settings", &text)?.settings.tone;
    let mut port = Port::open(path)?;
    talk::greet(&mut port, interrupted)?;
    talk::demand(&mut port, "sound", interrupted)?;
    tell(&beginning(&tone))?;
    talk::demand(&mut port, "sound check", interrupted)?;
    let done = follow(&mut port, &tone, interrupted, &mut tell);
    if done.is_err() {
        // Also where the port is gone: there is nowhere else to send it.
        let _ = port.send("sound off");
    }
    done?;
    tell("If one of them was not clear: a higher volume, a larger speaker, or its wiring.")
}

fn follow(
    port: &mut Port,
    tone: &ToneSettings,
    interrupted: &AtomicBool,
    tell: &mut impl FnMut(&str) -> Result<()>,
) -> Result<()> {
    let (mut before, mut left) = (String::new(), String::new());
    loop {
        let said = talk::demand(port, "sound", interrupted)?.join(" ");
        let Some((part, seconds)) = said.split_once(", ") else { return ended(&left, tell) };
        left = seconds.to_owned();
        if part != before {
            before = part.to_owned();
            if let Some(words) = words(part, tone) {
                tell(&format!("{left:>9}  {words}"))?;
            }
        }
        std::thread::sleep(EVERY);
    }
}

/// The end, which came early if more than the time between two questions was left.
fn ended(left: &str, tell: &mut impl FnMut(&str) -> Result<()>) -> Result<()> {
    if matches!(left, "0 s left" | "1 s left") {
        return Ok(());
    }
    tell(&format!("It was ended at the instrument with {left}."))
}

fn beginning(tone: &ToneSettings) -> String {
    let volume = tone.volume;
    let mute = if volume > 0.0 { "" } else { ", which is silence: set tone.volume first" };
    format!(
        "Volume {volume} of 10{mute}. A minute, four rounds; Ctrl-C or a button ends it. On the \
         ground only:\nmeanwhile the instrument sounds no climb."
    )
}

/// What sounds in a part, and what to listen for; `None` in a pause.
fn words(part: &str, tone: &ToneSettings) -> Option<String> {
    Some(match part {
        "lowest sink" => {
            let low = tone.sink.last()?;
            format!(
                "lowest sink tone, {} m/s at {} Hz: a steady hum, not a rattle or a buzz",
                low.sink_mps, low.pitch_hz
            )
        }
        "fault call" if tone.fault_every_s <= 0.0 => "the fault call is turned off: silence".into(),
        "fault call" => "fault call: three notes, each lower than the one before".into(),
        "highest beeps" => {
            let high = tone.climb.last()?;
            format!(
                "highest beeps, {} m/s at {} Hz: {} a second, each apart, clear and not painful",
                high.climb_mps, high.pitch_hz, high.cadence_hz
            )
        }
        _ => return None,
    })
}
