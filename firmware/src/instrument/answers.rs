//! Answers on the ports: one line in, one or more lines out, the last of them "ok" or "error".

use super::changes::Refusal;
use super::{Instrument, Port};
use crate::audition::Audition;
use crate::command::{self, Command, HELP};
use crate::console::{Answer, Line};
use crate::keys::{self, Cursor};
use crate::recorder::request::Request;
use chirrup_core::MetrePerSecond;
use chirrup_core::Settings;
use chirrup_core::decimal::Rounded;

impl Instrument {
    /// Takes one line or writes one line of an answer, if there is room: no more, since the sensors
    /// wait meanwhile.
    pub(super) fn serve(&mut self, port: Port) {
        let console = self.console(port);
        if !console.has_room() {
            return;
        }
        match &console.answer {
            Answer::None => match console.next_line() {
                Some(Ok(line)) => self.obey(port, &line),
                Some(Err(why)) => console.end(Err(format_args!("{why}"))),
                None => {}
            },
            Answer::Waiting => {}
            Answer::Recorder(_) if !console.has_line() => {}
            Answer::Recorder(_) => {
                console.answer = Answer::None;
                console.end(Err(format_args!("ended by the next command")));
            }
            _ => self.go_on(port),
        }
    }

    fn obey(&mut self, port: Port, line: &str) {
        let command = match command::parse(line) {
            Ok(command) => command,
            Err(error) => return self.console(port).end(Err(format_args!("{}", error.0))),
        };
        let done = match command {
            Command::Nothing => return,
            Command::Help => return self.console(port).answer = Answer::Help(0),
            Command::SelfTest => return self.console(port).answer = Answer::SelfTest(0),
            Command::Inertial => return self.console(port).answer = Answer::Inertial(0),
            Command::Flights => return self.ask_recorder(port, Request::Flights),
            Command::Fetch(number) => return self.ask_recorder(port, Request::Fetch(number)),
            Command::Clock(utc) => self.clock(port, utc),
            Command::Settings(only) => self.show_settings(port, only),
            Command::Save => return self.ask_for_save(port),
            Command::Zero => return self.begin_zero(port),
            Command::Version => {
                let board = self.board;
                self.console(port)
                    .say(format_args!("chirrup {} on {board}", env!("CARGO_PKG_VERSION")));
                Ok(())
            }
            Command::Reading => {
                self.say_reading(port);
                Ok(())
            }
            Command::Set(name, value) => {
                let done = self.set(name, value);
                if done.is_ok() && self.draft.is_some() {
                    self.console(port).say(format_args!("collected; commit applies it"));
                }
                done
            }
            Command::Begin => {
                self.draft = Some(self.settings.clone());
                Ok(())
            }
            Command::Commit => self.commit(),
            Command::Cancel => {
                self.draft = None;
                Ok(())
            }
            Command::Defaults => self.adopt(Settings::default()),
            Command::Tone(mps) => {
                self.audition = Some(Audition::new(self.pipeline.sounder(), MetrePerSecond(mps)));
                Ok(())
            }
            Command::SoundCheck => self.begin_sound_check(),
            Command::Sound => {
                self.say_sound_check(port);
                Ok(())
            }
            Command::SoundOff => {
                self.audition = None;
                Ok(())
            }
            Command::Log(rate_hz) => {
                // Answered first, so that the header stands right above its rows.
                self.console(port).end(Ok(()));
                return self.console(port).set_log(rate_hz.unwrap_or(0));
            }
        };
        self.finish(port, done);
    }

    pub(super) fn finish(&mut self, port: Port, done: Result<(), Refusal>) {
        let console = self.console(port);
        match done {
            Ok(()) if console.answer == Answer::None => console.end(Ok(())),
            Ok(()) => {}
            Err(refusal) => console.end(Err(format_args!("{refusal}"))),
        }
    }

    /// Writes one more line of an answer.
    fn go_on(&mut self, port: Port) {
        let mut answer = core::mem::take(&mut self.console(port).answer);
        let line = self.next_line(&mut answer);
        let console = self.console(port);
        match (line, &answer) {
            (Some(line), Answer::Greeting(_)) => {
                console.tell(&line);
                console.answer = answer;
            }
            (Some(line), _) => {
                console.say(format_args!("{line}"));
                console.answer = answer;
            }
            (None, Answer::Greeting(_)) => {}
            (None, _) => console.end(Ok(())),
        }
    }

    fn next_line(&self, answer: &mut Answer) -> Option<Line> {
        let mut line = Line::new();
        match answer {
            Answer::None | Answer::Waiting | Answer::Recorder(_) => return None,
            Answer::Help(next) => {
                line.push_str(HELP.get(*next)?).ok();
                *next += 1;
            }
            Answer::Settings(cursor, only) => {
                let shown = self.draft.as_ref().unwrap_or(&self.settings);
                // A test checks that every line fits.
                if !cursor.show(shown, only, &mut line).unwrap_or(false) {
                    return None;
                }
            }
            Answer::SelfTest(next) => {
                while line.is_empty() {
                    self.report(*next, &mut line)?.ok();
                    *next += 1;
                }
            }
            Answer::Inertial(next) => {
                while line.is_empty() {
                    self.aiding(*next, &mut line)?.ok();
                    *next += 1;
                }
            }
            Answer::Greeting(next) => {
                while line.is_empty() {
                    self.greeting(*next, &mut line)?.ok();
                    *next += 1;
                }
            }
        }
        Some(line)
    }

    fn show_settings(&mut self, port: Port, only: &str) -> Result<(), Refusal> {
        let is_known = keys::is_known::<Settings>(only);
        let kept = heapless::String::try_from(only).ok().filter(|_| is_known);
        let only = kept
            .ok_or(Refusal::Words("no setting name begins with this; settings lists them all"))?;
        self.console(port).answer = Answer::Settings(Cursor::default(), only);
        Ok(())
    }

    fn say_reading(&mut self, port: Port) {
        let reading = self.reading;
        let console = self.console(port);
        let Some(reading) = reading else {
            return console.say(format_args!("no sample yet"));
        };
        let (status, source) = (reading.status.name(), reading.source.name());
        match reading.values {
            None => console.say(format_args!("status {status}")),
            Some(values) => {
                console.say(format_args!(
                    "vertical speed {} m/s, total energy {source}, altitude {} m, \
                     status {status}",
                    Rounded(values.sounded().0, 2),
                    Rounded(values.altitude.0, 1)
                ));
            }
        }
    }
}
