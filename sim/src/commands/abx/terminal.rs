//! The test by keys: A, B and X as often as wished, then the answer.

use super::super::raw::Raw;
use super::super::say::say;
use super::player::Player;
use chirrup::abx::{PASSAGE_S, Request, Round, Side, Sounds, Test};
use chirrup::error::{Error, Result};
use chirrup::time::Clock;
use ratatui::crossterm::event::KeyCode;
use std::io::{self, IsTerminal};
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

/// The sound device of a test by keys.
///
/// # Errors
/// Standard input is no terminal, or there is no sound device; the message says what to do instead.
pub fn open(interrupted: &AtomicBool) -> Result<Player<'_>> {
    if !io::stdin().is_terminal() {
        return Err(Error::Usage(
            "a blind test by keys needs a terminal; write the sounds with --wav FOLDER and give \
             the answers with --answers FILE"
                .into(),
        ));
    }
    Player::open(interrupted)
}

/// Plays round after round; the answers until the end or the key q.
///
/// # Errors
/// The sound device or the terminal is lost, or Ctrl-C.
pub fn ask(
    request: &Request,
    test: &Test,
    sounds: &Sounds,
    mut player: Player<'_>,
    interrupted: &AtomicBool,
) -> Result<Vec<Side>> {
    say(&format!(
        "A: {}\nB: {}\nX is one of them in each round. Keys: 1 plays A, 2 plays B, space plays \
         X;\na or b is your answer; q ends the test.\n\n",
        request.a.name, request.b.name
    ))?;
    let raw = Raw::new()?;
    let mut answers = Vec::new();
    for (place, round) in test.rounds.iter().enumerate() {
        let (number, rounds, from_s) = (place + 1, test.rounds.len(), test.from_s(round));
        let at = format!("{} to {}", Clock(from_s), Clock(from_s + PASSAGE_S as f64));
        say(&format!("round {number:>2} of {rounds}, {at} of the flight: "))?;
        match answer(round, sounds, &mut player, &raw, interrupted)? {
            Some(side) => {
                say(&format!("{side}\r\n"))?;
                answers.push(side);
            }
            None => break,
        }
    }
    say("\r\n\r\n")?;
    Ok(answers)
}

/// Plays what is wished until an answer; `None` when the user quits.
fn answer(
    round: &Round,
    sounds: &Sounds,
    player: &mut Player<'_>,
    raw: &Raw,
    interrupted: &AtomicBool,
) -> Result<Option<Side>> {
    let mut has_heard_x = false;
    loop {
        if interrupted.load(Ordering::Relaxed) {
            return Err(Error::Interrupted);
        }
        player.play()?;
        let side = match raw.key(Duration::from_millis(3))? {
            Some(KeyCode::Char('q') | KeyCode::Esc) => return Ok(None),
            Some(KeyCode::Char('1')) => Side::A,
            Some(KeyCode::Char('2')) => Side::B,
            Some(KeyCode::Char(' ' | 'x')) => {
                has_heard_x = true;
                round.x
            }
            Some(KeyCode::Char('a')) if has_heard_x => return Ok(Some(Side::A)),
            Some(KeyCode::Char('b')) if has_heard_x => return Ok(Some(Side::B)),
            Some(KeyCode::Char('a' | 'b')) => {
                say("(hear X first: space) ")?;
                continue;
            }
            _ => continue,
        };
        player.turn_to(sounds.samples(round.passage, side, player.sample_rate_hz()));
    }
}
