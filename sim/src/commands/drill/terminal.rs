//! The drill in a terminal: one question after another, answered with the keys 1 to 5.

use super::super::say::say;
use super::args::DrillArgs;
use chirrup::drill::Drill;
use chirrup::drill::score::Outcome;
use chirrup::drill::sounded::SoundedDrill;
use chirrup::error::{Error, Result};
use chirrup::output::live::Speaker;
use chirrup::session::Session;
use ratatui::crossterm::event::{self, Event, KeyCode, KeyEventKind, KeyModifiers};
use ratatui::crossterm::terminal::{disable_raw_mode, enable_raw_mode};
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
    let (mut session, mut drill) = args.sounded(speaker.sample_rate_hz());
    let answers = args.kind().answers();
    say(&format!("{}\r\n", args.kind().asks()))?;
    for (number, name) in answers.iter().enumerate() {
        say(&format!("  {}  {name}\r\n", number + 1))?;
    }
    say("  space to hear it again, q to end\r\n")?;
    let _raw = Raw::new()?;
    while drill.ask() {
        let number = drill.drill().outcomes().len() + 1;
        say(&format!("\r\n{number:>3}  listen ... "))?;
        match question(&mut drill, &mut session, &mut speaker, interrupted)? {
            Some(outcome) => say(&told(&outcome, answers))?,
            None => break,
        }
    }
    say("\r\n\r\n")?;
    Ok(drill.drill().clone())
}

/// Plays until a key answers; `None` when the user quits.
fn question(
    drill: &mut SoundedDrill,
    session: &mut Session,
    speaker: &mut Speaker<'_>,
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
        if !event::poll(Duration::from_millis(3)).map_err(terminal)? {
            continue;
        }
        let Event::Key(key) = event::read().map_err(terminal)? else { continue };
        if key.kind != KeyEventKind::Press {
            continue;
        }
        match key.code {
            KeyCode::Char('c') if key.modifiers.contains(KeyModifiers::CONTROL) => {
                return Err(Error::Interrupted);
            }
            KeyCode::Char('q') | KeyCode::Esc => return Ok(None),
            KeyCode::Char(' ') => {
                drill.ask();
            }
            KeyCode::Char(digit) => {
                let choice =
                    digit.to_digit(10).filter(|digit| *digit > 0).map(|digit| digit as usize - 1);
                if let Some(outcome) = choice.and_then(|choice| drill.answer(choice, AHEAD_S)) {
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
    if outcome.right {
        format!("right, {asked} ({when})")
    } else {
        format!("you said {}, it was {asked} ({when})", answers[outcome.given])
    }
}

fn terminal(source: io::Error) -> Error {
    Error::io("cannot use", "the terminal", source)
}

/// Keys as they are pressed; the terminal is restored however the drill ends.
struct Raw;

impl Raw {
    fn new() -> Result<Self> {
        enable_raw_mode().map_err(terminal)?;
        Ok(Self)
    }
}

impl Drop for Raw {
    fn drop(&mut self) {
        // If this fails there is nothing left to do.
        let _ = disable_raw_mode();
    }
}
