//! `chirrup listen`: fly by hand in a terminal. The session of [`chirrup::session`] is played
//! through the sound device or recorded, and drawn thirty times a second.
//!
//! ```text
//! keys --> session --> frames --> sound device, WAV
//!             +--> report --> history --> screen
//! ```

mod history;
mod keys;
mod screen;

use super::common::OUTPUTS;
use super::say::say;
use super::values::{seed, whole};
use chirrup::error::{Error, Result};
use chirrup::output::live::Speaker;
use chirrup::output::wav::WavFile;
use chirrup::session::Session;
use chirrup::words::shown_path;
use clap::Args;
use history::History;
use keys::Wish;
use ratatui::crossterm::event;
use std::io::{self, IsTerminal};
use std::path::PathBuf;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

/// How far the sound runs ahead of the ear, s.
const AHEAD_S: f64 = 0.1;
/// Frames made at a time; few, so that a key takes effect soon.
const BLOCK: usize = 128;
/// Between two pictures.
const PICTURE: Duration = Duration::from_millis(33);
/// Frames a second without sound output.
const UNHEARD_HZ: u32 = 24_000;
/// Longest pause of the terminal, such as a suspend, that the flight catches up with.
const MOST_AT_ONCE_S: f64 = 0.5;

/// Arguments of `listen`.
#[derive(Args, Debug)]
#[command(after_help = HELP)]
pub struct ListenArgs {
    /// Begin with a lesson, 1 to 6
    #[arg(long, value_name = "N", value_parser = whole::<u32>(1, 6),
          allow_negative_numbers = true)]
    lesson: Option<u32>,
    /// Record the session as a WAV file
    #[arg(long, value_name = "FILE", help_heading = OUTPUTS)]
    wav: Option<PathBuf>,
    /// Stop after this many seconds; without it, the key q stops
    #[arg(long, alias = "for", value_name = "S",
          value_parser = whole::<u32>(1, 86_400),
          allow_negative_numbers = true)]
    seconds: Option<u32>,
    /// Random seed for the sensor noise
    #[arg(long, value_name = "N", default_value_t = 1, value_parser = seed,
          allow_negative_numbers = true)]
    seed: u64,
}

const HELP: &str = "\
Without a sound device, or in a program built without live audio, it says what to install; with
--wav it then records what you fly and shows it without sound.

The glider and its air are invented. Not certified, never a flight's primary reference.
Keep the lookout.";

/// Where the sound goes.
struct Ear<'a> {
    speaker: Option<Speaker<'a>>,
    wav: Option<(WavFile, PathBuf)>,
    sample_rate_hz: u32,
    /// Without sound output: the time up to which the session has run.
    made_until: Instant,
    /// In a few words.
    told: String,
}

/// Flies until the user quits, and prints the files written.
pub fn run(args: &ListenArgs, interrupted: &AtomicBool) -> Result<()> {
    if !(io::stdin().is_terminal() && io::stdout().is_terminal()) {
        return Err(Error::Usage(
            "listen needs a terminal; `chirrup replay` and `chirrup tone` do without one".into(),
        ));
    }
    let mut ear = Ear::open(args, interrupted)?;
    let mut session = Session::new(ear.sample_rate_hz, args.seed);
    if let Some(number) = args.lesson {
        session.play_lesson(number as usize - 1);
    }
    let mut terminal = ratatui::try_init().map_err(unusable)?;
    let outcome = fly(args, &mut session, &mut ear, &mut terminal, interrupted);
    ratatui::restore();
    outcome?;
    say(&ear.finish()?)
}

fn fly(
    args: &ListenArgs,
    session: &mut Session,
    ear: &mut Ear<'_>,
    terminal: &mut ratatui::DefaultTerminal,
    interrupted: &AtomicBool,
) -> Result<()> {
    let mut history = History::default();
    let (begun, mut drawn, mut paused) = (Instant::now(), None::<Instant>, false);
    let ends = args.seconds.map(|seconds| begun + Duration::from_secs(u64::from(seconds)));
    loop {
        if interrupted.load(Ordering::Relaxed) || ends.is_some_and(|ends| Instant::now() >= ends) {
            return Ok(());
        }
        if paused {
            ear.made_until = Instant::now();
        } else {
            ear.hear(session, &mut history)?;
        }
        if drawn.is_none_or(|drawn| drawn.elapsed() >= PICTURE) {
            drawn = Some(Instant::now());
            let view = screen::View { session, history: &history, told: &ear.told, paused };
            terminal.draw(|frame| screen::draw(frame, &view)).map_err(unusable)?;
        }
        if event::poll(Duration::from_millis(5)).map_err(unusable)? {
            match keys::wish(&event::read().map_err(unusable)?) {
                Some(Wish::End) => return Ok(()),
                Some(Wish::Pause) => paused = !paused,
                Some(wish) => keys::grant(&wish, session, &mut history),
                None => {}
            }
        }
    }
}

fn unusable(source: io::Error) -> Error {
    Error::io("cannot use", "the terminal", source)
}

impl<'a> Ear<'a> {
    fn open(args: &ListenArgs, interrupted: &'a AtomicBool) -> Result<Self> {
        let (speaker, why) = match Speaker::open(2, AHEAD_S, interrupted) {
            Ok(speaker) => (Some(speaker), None),
            // Nobody has asked for a file: a flight that leaves no sound at all is of no use.
            Err(error) if args.wav.is_none() => return Err(error),
            Err(error) => (None, Some(error.to_string())),
        };
        let sample_rate_hz = speaker.as_ref().map_or(UNHEARD_HZ, Speaker::sample_rate_hz);
        let wav = match &args.wav {
            Some(path) => Some((WavFile::create(path, sample_rate_hz, 2)?, path.clone())),
            None => None,
        };
        let recording = wav
            .as_ref()
            .map_or_else(String::new, |(_, path)| format!("recording {}; ", shown_path(path)));
        // The first half says what is wrong, the second what to do instead.
        let heard = why.as_ref().map_or("heard", |why| why.split(';').next().unwrap_or(why));
        let told = format!("{recording}{heard}");
        Ok(Self { speaker, wav, sample_rate_hz, made_until: Instant::now(), told })
    }

    /// Makes the sound that is due by now.
    fn hear(&mut self, session: &mut Session, history: &mut History) -> Result<()> {
        let mut block = [0_i16; 2 * BLOCK];
        let mut blocks = match &self.speaker {
            Some(speaker) => speaker.room() / BLOCK,
            None => {
                let due_s = self.made_until.elapsed().as_secs_f64();
                if due_s > MOST_AT_ONCE_S {
                    self.made_until = Instant::now() - Duration::from_secs_f64(MOST_AT_ONCE_S);
                }
                (due_s.min(MOST_AT_ONCE_S) * f64::from(self.sample_rate_hz)) as usize / BLOCK
            }
        };
        while blocks > 0 {
            blocks -= 1;
            session.fill(&mut block);
            history.remember(session.report());
            if let Some(speaker) = &mut self.speaker {
                speaker.push(&block)?;
            }
            if let Some((wav, _)) = &mut self.wav {
                wav.push(&block)?;
            }
            self.made_until +=
                Duration::from_secs_f64(BLOCK as f64 / f64::from(self.sample_rate_hz));
        }
        Ok(())
    }

    fn finish(self) -> Result<String> {
        // The sound still in the buffer is dropped.
        match self.wav {
            None => Ok(String::new()),
            Some((wav, path)) => {
                wav.finish()?;
                Ok(format!("written   {}\n", shown_path(&path)))
            }
        }
    }
}
