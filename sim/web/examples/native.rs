//! The page's sound without a browser: runs a script of calls through the same session on this
//! machine, and writes the frames to standard output, 16 bits little-endian, left and right
//! interleaved. The page's tests compare it with the output of the audio thread.
//!
//! ```text
//! native RATE SEED FRAMES < script
//!     a line of the script: FRAME CALL [NUMBER..], in the order of the frames
//! ```
//!
//! Calls are `turn CONTROL VALUE`, `lesson NUMBER`, `afresh`, `load FILE`, and of the game
//! `hunt_open SEED ROUND`, `hunt_begin` and `hunt_bank DEGREES`. As in the page, a call is made
//! before the first block of 128 frames that begins at or after its frame. The score of a game is
//! the one line on standard error.

use chirrup::hunt::round::Round;
use chirrup::session::Session;
use chirrup::session::control::Control;
use chirrup::trace::columns::ColumnMap;
use std::io::{self, Read, Write};

const BLOCK: usize = 128;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let numbers: Vec<u64> =
        std::env::args().skip(1).map(|text| text.parse()).collect::<Result<_, _>>()?;
    let [rate_hz, seed, frames] = numbers[..] else {
        return Err("native RATE SEED FRAMES < script".into());
    };
    let mut script = String::new();
    io::stdin().read_to_string(&mut script)?;
    let mut calls =
        script.lines().map(|line| line.split_whitespace().collect::<Vec<_>>()).peekable();
    let mut session = Session::new(rate_hz as u32, seed);
    let mut hunt = None;
    let mut out = io::stdout().lock();
    let mut done = 0;
    while done < frames {
        while let Some(call) =
            calls.next_if(|call| call[0].parse::<u64>().is_ok_and(|frame| frame <= done))
        {
            make(&mut session, &mut hunt, &call)?;
        }
        let mut block = [0_i16; 2 * BLOCK];
        match &mut hunt {
            Some(round) => round.fill(&mut session, &mut block),
            None => session.fill(&mut block),
        }
        out.write_all(&block.map(i16::to_le_bytes).concat())?;
        done += BLOCK as u64;
    }
    if let Some(score) = hunt.as_ref().map(chirrup_page::hunt::result) {
        eprintln!("{}", score.lines().next().unwrap_or_default());
    }
    Ok(())
}

fn make(
    session: &mut Session,
    hunt: &mut Option<Round>,
    call: &[&str],
) -> Result<(), Box<dyn std::error::Error>> {
    match call[1..] {
        ["turn", control, value] => {
            session.set(Control::ALL[control.parse::<usize>()?], value.parse()?)
        }
        ["lesson", number] => session.play_lesson(number.parse()?),
        ["afresh"] => session.start_afresh(),
        ["load", file] => {
            session.load_trace(file, std::fs::read(file)?, &ColumnMap::default())?;
        }
        ["hunt_open", seed, round] => *hunt = Some(Round::new(seed.parse()?, round.parse()?)),
        ["hunt_begin"] => hunt.iter_mut().for_each(Round::begin),
        ["hunt_bank", bank] => {
            let bank_deg = bank.parse()?;
            hunt.iter_mut().for_each(|round| round.set_bank_deg(bank_deg));
        }
        _ => return Err(format!("{call:?} is no call").into()),
    }
    Ok(())
}
