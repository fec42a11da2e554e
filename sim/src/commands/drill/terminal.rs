//! The drill in a terminal: one question after another, answered with the keys 1 to 5, or 0 by
//! whoever does not know.

use super::super::raw::Raw;
use super::super::say::say;
use super::args::DrillArgs;
use chirrup::drill::Drill;
use chirrup::drill::score::Outcome;
use chirrup::drill::sounded::SoundedDrill;
use chirrup::error::{Error, Result};
use chirrup::output::live::Speaker;
use chirrup::session::Session;
use ratatui::crossterm::event::KeyCode;
use std::io::{self, IsTerminal};
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

/// How far the sound is buffered ahead of the ear, s; subtracted from the reaction time.
const AHEAD_S: f64 = 0.06;
/// Frames made at a time.
const BLOCK: usize = 128;

/// Asks one question after another, each answered with a key.
///
/// # Errors
/// No sound device, or no terminal.
pub fn ask(args: &DrillArgs, interrupted: &AtomicBool) -> Result<Drill> {
    if !io::stdin().is_terminal() {
        return Err(Error::Usage(
            "a drill by keys needs a terminal; give --answers - for answers on standard input, or \
             --wav FILE"
                .into(),
        ));
    }
    let mut speaker = Speaker::open(2, AHEAD_S, interrupted)?;
    let mut session = args.session(speaker.sample_rate_hz());
    let mut drill = SoundedDrill::new(args.drill(), speaker.sample_rate_hz());
    let answers = args.kind().answers();
    say(&format!("{}\r\n", args.kind().asks()))?;
    for (number, name) in answers.iter().enumerate() {
        say(&format!("  {}  {name}\r\n", number + 1))?;
    }
    say("  0  I do not know\r\n  space to hear it again, then for the next; q to end\r\n")?;
    let raw = Raw::new()?;
    while drill.ask().is_some() {
        let number = drill.drill().outcomes().len() + 1;
        say(&format!("\r\n{number:>3} of {}  listen ... ", drill.drill().wanted()))?;
        match question(&mut drill, &mut session, &mut speaker, &raw, interrupted)? {
            Some(outcome) => say(&told(&outcome, answers))?,
            None => break,
        }
        if !drill.drill().is_over() && !wants_the_next(&raw, interrupted)? {
            break;
        }
    }
    say("\r\n\r\n")?;
    Ok(drill.drill().clone())
}

/// Waits for a key: false for those that end the drill.
fn wants_the_next(raw: &Raw, interrupted: &AtomicBool) -> Result<bool> {
    loop {
        if interrupted.load(Ordering::Relaxed) {
            return Err(Error::Interrupted);
        }
        if let Some(key) = raw.key(Duration::from_millis(50))? {
            return Ok(!is_end(key));
        }
    }
}

fn is_end(key: KeyCode) -> bool {
    matches!(key, KeyCode::Char('q') | KeyCode::Esc)
}

/// Plays until a key answers; `None` when the user quits.
fn question(
    drill: &mut SoundedDrill,
    session: &mut Session,
    speaker: &mut Speaker<'_>,
    raw: &Raw,
    interrupted: &AtomicBool,
) -> Result<Option<Outcome>> {
    let mut block = [0_i16; 2 * BLOCK];
    loop {
        if interrupted.load(Ordering::Relaxed) {
            return Err(Error::Interrupted);
        }
        while speaker.room() >= BLOCK {
            drill.fill(session, &mut block);
            speaker.push(&block)?;
        }
        let Some(key) = raw.key(Duration::from_millis(3))? else { continue };
        match key {
            key if is_end(key) => return Ok(None),
            KeyCode::Char(' ') => {
                drill.ask();
            }
            KeyCode::Char(typed) => {
                let answer = |digit: u32| drill.answer((digit as usize).checked_sub(1), AHEAD_S);
                if let Some(outcome) = typed.to_digit(10).and_then(answer) {
                    return Ok(Some(outcome));
                }
            }
            _ => {}
        }
    }
}

fn told(outcome: &Outcome, answers: &[&str]) -> String {
    let asked = answers[outcome.question.answer];
    let when = match outcome.reaction_s {
        Some(seconds) => format!("{seconds:.2} s"),
        None => "before the change could be heard".into(),
    };
    match outcome.given {
        None => format!("it was {asked}"),
        Some(_) if outcome.right => format!("right, {asked} ({when})"),
        Some(given) => format!("you said {}, it was {asked} ({when})", answers[given]),
    }
}
