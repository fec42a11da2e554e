//! The drill in a terminal: one question after another with the keys 1 to 5, or a sound file for a
//! class and its answers on paper.

use super::Drill;
use super::question::Kind;
use super::score::Outcome;
use super::sounded::SoundedDrill;
use super::table;
use crate::cli::{DrillArgs, KindArg};
use crate::error::{Complaint, Error, Result};
use crate::input::Input;
use crate::output::live::Speaker;
use crate::output::place::Placed;
use crate::output::wav::WavFile;
use crate::session::Session;
use crate::session::cockpit::OFF_DB;
use crate::session::control::Control;
use crate::time::Clock;
use ratatui::crossterm::event::{self, Event, KeyCode, KeyEventKind, KeyModifiers};
use ratatui::crossterm::terminal::{disable_raw_mode, enable_raw_mode};
use std::io::{self, BufRead, IsTerminal, Write, stdout};
use std::path::Path;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

/// Silence between two questions of a sound file, s: time to write the answer down.
const PAUSE_S: f64 = 5.0;
/// How far the sound runs ahead of the ear, s; it goes off the reaction time.
const AHEAD_S: f64 = 0.06;
/// Frames made at a time.
const BLOCK: usize = 128;

/// Runs the drill that was asked for, and says how it went.
///
/// # Errors
/// No sound device, no terminal, answers that cannot be read, or a file that cannot be written.
pub fn run(args: &DrillArgs, interrupted: &AtomicBool) -> Result<String> {
    if let Some(path) = &args.wav {
        return record(args, path);
    }
    let drill = match &args.answers {
        Some(path) => on_paper(args, path)?,
        None => by_keys(args, interrupted)?,
    };
    if let Some(path) = &args.csv {
        write(path, &table::csv(&drill, args.cockpit_db))?;
    }
    Ok(format!("{}\n\n{}", table::sentence(&drill), table::text(&drill)))
}

fn kind(args: &DrillArgs) -> Kind {
    match args.kind {
        KindArg::Changes => Kind::Changes,
        KindArg::Speeds => Kind::Speeds,
    }
}

/// A session for its cockpit noise, and the drill that sounds through it.
fn session(args: &DrillArgs, sample_rate_hz: u32) -> (Session, SoundedDrill) {
    let mut session = Session::new(sample_rate_hz, 0);
    session.set(Control::Cockpit, args.cockpit_db.unwrap_or(OFF_DB));
    let drill = Drill::new(kind(args), args.seed, args.questions);
    (session, SoundedDrill::new(drill, sample_rate_hz))
}

fn write(path: &Path, text: &str) -> Result<()> {
    let mut file = Placed::create(path)?;
    file.write_all(text.as_bytes()).map_err(|source| Error::io("cannot write", path, source))?;
    file.finish()?;
    Ok(())
}

/// Every question into one sound file; the text is the sheet with the answers.
fn record(args: &DrillArgs, path: &Path) -> Result<String> {
    let (mut session, mut sounded) = session(args, args.rate);
    let mut file = WavFile::create(path, args.rate, 1)?;
    let mut sheet = Vec::new();
    let mut begun_s = 0.0;
    let mut drill = Drill::new(kind(args), args.seed, args.questions);
    while let Some((question, _)) = drill.ask() {
        // The one that sounds asks the same ones.
        sounded.ask();
        sheet.push((begun_s, question));
        let frames = ((question.length_s() + PAUSE_S) * f64::from(args.rate)) as usize;
        let mut both = vec![0_i16; 2 * frames];
        sounded.fill(&mut session, &mut both);
        let one: Vec<i16> = both.iter().step_by(2).copied().collect();
        file.push(&one)?;
        begun_s += frames as f64 / f64::from(args.rate);
        drill.answer(0, None);
        sounded.answer(0, 0.0);
    }
    file.finish()?;
    let answers = kind(args).answers();
    if let Some(path) = &args.csv {
        let rows = sheet.iter().enumerate().map(|(place, (at_s, question))| {
            format!(
                "{},{at_s:.2},{:.2},{}\n",
                place + 1,
                at_s + question.moment_s,
                answers[question.answer]
            )
        });
        write(path, &("number,begins_s,moment_s,asked\n".to_owned() + &rows.collect::<String>()))?;
    }
    let mut text = format!("{} (answer with the numbers)\n", kind(args).asks());
    for (number, name) in answers.iter().enumerate() {
        text += &format!("  {}  {name}\n", number + 1);
    }
    text += "\nThe sheet, for the instructor:\n";
    for (place, (at_s, question)) in sheet.iter().enumerate() {
        let clock = Clock(*at_s).to_string();
        text += &format!(
            "  question {:>2} at {clock:>6}   {}  {}\n",
            place + 1,
            question.answer + 1,
            answers[question.answer]
        );
    }
    Ok(
        text + "\nScore an answer sheet, one number a line, with --answers FILE and the same --kind, --seed and --questions.\n"
    )
}

/// Answers from a file, one a line: the number of the answer, or its name.
fn on_paper(args: &DrillArgs, path: &Path) -> Result<Drill> {
    let input = Input::new(path);
    let mut drill = Drill::new(kind(args), args.seed, args.questions);
    let mut lines = input.open()?.reader.lines().enumerate();
    while drill.ask().is_some() {
        let (line, text) = loop {
            let Some((place, text)) = lines.next() else {
                let found = match drill.outcomes().len() {
                    1 => "1 answer".into(),
                    count => format!("{count} answers"),
                };
                return Err(wrong(&input, None, found, &drill));
            };
            let text = text.map_err(|source| Error::io("cannot read", path, source))?;
            if !text.trim().is_empty() {
                break (place as u64 + 1, text.trim().to_lowercase());
            }
        };
        let answers = drill.kind().answers();
        let by_number =
            text.parse::<usize>().ok().filter(|number| (1..=answers.len()).contains(number));
        let choice = by_number
            .map(|number| number - 1)
            .or_else(|| answers.iter().position(|name| *name == text));
        let Some(choice) = choice else {
            return Err(wrong(&input, Some(line), format!("`{text}`"), &drill));
        };
        drill.answer(choice, None);
    }
    Ok(drill)
}

fn wrong(input: &Input, line: Option<u64>, found: String, drill: &Drill) -> Error {
    let answers = drill.kind().answers();
    let expected = match line {
        Some(_) => {
            format!("a number from 1 to {} or one of: {}", answers.len(), answers.join(", "))
        }
        None => format!("{}, one a line", drill.wanted()),
    };
    let hint = line.is_none().then(|| "or say with --questions how many were asked".to_owned());
    Complaint { file: input.name(), line, column: None, found, expected, hint }.into()
}

/// One question after another, answered with a key.
fn by_keys(args: &DrillArgs, interrupted: &AtomicBool) -> Result<Drill> {
    if !io::stdin().is_terminal() {
        return Err(Error::Usage(
            "a drill by keys needs a terminal; give --answers - for answers on standard input, or --wav FILE".into(),
        ));
    }
    let mut speaker = Speaker::open(2, AHEAD_S, interrupted)?;
    let (mut session, mut drill) = session(args, speaker.sample_rate_hz());
    let answers = kind(args).answers();
    say(&format!("{}\r\n", kind(args).asks()))?;
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

/// Sounds until a key answers; `None` where the user has had enough.
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
        None => "before there was anything to hear".into(),
    };
    if outcome.right {
        format!("right, {asked} ({when})")
    } else {
        format!("you said {}, it was {asked} ({when})", answers[outcome.given])
    }
}

fn say(text: &str) -> Result<()> {
    let mut out = stdout().lock();
    out.write_all(text.as_bytes())
        .and_then(|()| out.flush())
        .map_err(|source| Error::io("cannot write", "standard output", source))
}

fn terminal(source: io::Error) -> Error {
    Error::io("cannot use", "the terminal", source)
}

/// Keys as they come; the terminal is put back however the drill ends.
struct Raw;

impl Raw {
    fn new() -> Result<Self> {
        enable_raw_mode().map_err(terminal)?;
        Ok(Self)
    }
}

impl Drop for Raw {
    fn drop(&mut self) {
        // Nothing helps where this fails.
        let _ = disable_raw_mode();
    }
}
