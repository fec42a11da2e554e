//! What the instrument answers on its ports: a line in, one or more lines out, the last of them "ok" or "error".

use super::{Instrument, Port, ResetCause, Save, Zeroing};
use crate::audition::Audition;
use crate::command::{self, Command, HELP};
use crate::console::{Answer, Line};
use crate::keys::{self, Cursor, KeyError};
use crate::quality::Quality;
use crate::sampler::{Role, Sampler};
use crate::sensor::after;
use crate::slot::{Condition, Slot};
use crate::store::{Origin, SaveError, Stored};
use chirrup_core::error::SettingsError;
use chirrup_core::units::{MetrePerSecond, Micros};
use core::fmt::{self, Write};

/// The dynamic pressure is averaged for so long.
const ZERO_FOR: Micros = Micros(2_000_000);
/// What a good sensor keeps to: rate, jitter, noise. Noise below the least is that of a sensor that does not measure (guesses).
const LEAST_RATE_MILLIHZ: u32 = 49_500;
const MOST_JITTER_US: u32 = 1_000;
const NOISE_MILLIPASCALS: core::ops::RangeInclusive<u32> = 5..=5_000;

/// Why something was not done.
enum Refusal {
    Key(KeyError),
    Settings(SettingsError),
    OutOfRange(&'static str, f32, f32, f32),
    Words(&'static str),
}

impl fmt::Display for Refusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Refusal::Key(error) => error.fmt(f),
            Refusal::Settings(error) => error.fmt(f),
            Refusal::OutOfRange(name, value, least, most) => {
                write!(f, "{name} is {value}, expected {least} to {most}")
            }
            Refusal::Words(words) => f.write_str(words),
        }
    }
}

/// What the self-test comes to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Verdict {
    Passed,
    Failed(&'static str),
    NotYet,
}

impl fmt::Display for Verdict {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Verdict::Passed => f.write_str("passed"),
            Verdict::Failed(why) => write!(f, "failed: {why}"),
            Verdict::NotYet => f.write_str("not yet: it takes eleven seconds from the start"),
        }
    }
}

impl Instrument {
    /// Takes lines and writes answers, as far as there is room.
    pub(super) fn serve(&mut self, port: Port) {
        loop {
            let console = self.console(port);
            if !console.has_room() {
                return;
            }
            match &console.answer {
                Answer::None => match console.next_line() {
                    Some(Ok(line)) => self.obey(port, &line),
                    Some(Err(why)) => console.end(Err(format_args!("{why}"))),
                    None => return,
                },
                Answer::Waiting => return,
                _ => self.go_on(port),
            }
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
            Command::Settings(only) => self.show_settings(port, only),
            Command::Save => return self.ask_for_save(port),
            Command::Zero => return self.begin_zero(port),
            Command::Version => {
                let board = self.board;
                self.console(port).say(format_args!("chirrup {} on {board}", env!("CARGO_PKG_VERSION")));
                Ok(())
            }
            Command::Reading => {
                self.say_reading(port);
                Ok(())
            }
            Command::Set(name, value) => self.set(name, value),
            Command::Begin => {
                self.draft = Some(self.stored.clone());
                Ok(())
            }
            Command::Commit => self.commit(),
            Command::Cancel => {
                self.draft = None;
                Ok(())
            }
            Command::Defaults => self.adopt(Stored::default()),
            Command::Tone(mps) => {
                self.audition = Audition::new(&self.stored.settings.tone, MetrePerSecond(mps));
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

    fn finish(&mut self, port: Port, done: Result<(), Refusal>) {
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
            Answer::None | Answer::Waiting => return None,
            Answer::Help(next) => {
                line.push_str(HELP.get(*next)?).ok();
                *next += 1;
            }
            Answer::Settings(cursor, only) => {
                let shown = self.draft.as_ref().unwrap_or(&self.stored);
                // A test holds every line to the length there is room for.
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
        let is_known = keys::KEYS.iter().any(|key| key.name.starts_with(only));
        let kept = heapless::String::try_from(only).ok().filter(|_| is_known);
        let only = kept.ok_or(Refusal::Words("there is no setting whose name begins so; settings lists them all"))?;
        self.console(port).answer = Answer::Settings(Cursor::default(), only);
        Ok(())
    }

    fn set(&mut self, name: &str, value: &str) -> Result<(), Refusal> {
        if let Some(draft) = &mut self.draft {
            return keys::set(draft, name, value).map_err(Refusal::Key);
        }
        let mut changed = self.stored.clone();
        keys::set(&mut changed, name, value).map_err(Refusal::Key)?;
        self.adopt(changed)
    }

    fn commit(&mut self) -> Result<(), Refusal> {
        let draft = self.draft.take().ok_or(Refusal::Words("nothing was begun; begin gathers changes"))?;
        self.adopt(draft)
    }

    /// Uses other settings, if they can be used; what is remembered of the air stays.
    fn adopt(&mut self, stored: Stored) -> Result<(), Refusal> {
        if let Some((name, value, least, most)) = stored.device.out_of_range() {
            return Err(Refusal::OutOfRange(name, value, least, most));
        }
        self.pipeline = stored.settings.build().map_err(Refusal::Settings)?;
        let (old, new) = (&self.stored.device, &stored.device);
        let is_other_sensor = old.second_barometer != new.second_barometer
            || old.differential_output != new.differential_output
            || old.differential_range_pa != new.differential_range_pa;
        if is_other_sensor {
            self.sampler = Sampler::new(new);
        } else {
            self.sampler.set_dynamic_zero_64ths_pa((new.dynamic_zero_pa * 64.0) as i32);
        }
        self.stored = stored;
        Ok(())
    }

    fn ask_for_save(&mut self, port: Port) {
        if self.save != Save::None {
            return self.console(port).end(Err(format_args!("a save is under way")));
        }
        self.save = Save::Wanted(port);
        self.console(port).answer = Answer::Waiting;
    }

    /// Answers who asked for a save, if that port still waits.
    pub(super) fn answer_save(&mut self, port: Port, result: Result<(), SaveError>) {
        let console = self.console(port);
        if console.answer != Answer::Waiting {
            return;
        }
        console.answer = Answer::None;
        match result {
            Ok(()) => console.end(Ok(())),
            Err(SaveError::Flash) => {
                console.end(Err(format_args!("the flash refused; the settings saved before are kept")))
            }
            Err(SaveError::Full) => {
                console.end(Err(format_args!("no room in flash; the settings saved before are kept")))
            }
        }
    }

    fn begin_zero(&mut self, port: Port) {
        if self.zeroing.is_some() {
            return self.console(port).end(Err(format_args!("it is being done")));
        }
        self.zeroing = Some(Zeroing { port, until: after(self.now, ZERO_FOR), sum_64ths_pa: 0, samples: 0 });
        self.console(port).answer = Answer::Waiting;
    }

    /// Takes the average as zero, once its time is over.
    pub(super) fn finish_zero(&mut self) {
        let Some(zeroing) = self.zeroing.filter(|zeroing| self.now >= zeroing.until) else { return };
        self.zeroing = None;
        let mean = zeroing.sum_64ths_pa.checked_div(zeroing.samples);
        let done = match mean {
            None => Err(Refusal::Words("no dynamic pressure is measured")),
            Some(mean) => {
                let mut changed = self.stored.clone();
                changed.device.dynamic_zero_pa = mean as f32 / 64.0;
                self.adopt(changed)
            }
        };
        let zero_pa = self.stored.device.dynamic_zero_pa;
        let console = self.console(zeroing.port);
        if console.answer != Answer::Waiting {
            return;
        }
        console.answer = Answer::None;
        if done.is_ok() {
            console.say(format_args!("device.dynamic_zero_pa = {zero_pa}"));
        }
        self.finish(zeroing.port, done);
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
                    "vertical speed {:.2} m/s, total energy {source}, altitude {:.1} m, status {status}",
                    values.sounded().0,
                    values.altitude.0
                ));
            }
        }
    }

    /// A line for whoever opens a port; an empty one where there is nothing to say, `None` after the last.
    fn greeting(&self, place: usize, line: &mut Line) -> Option<fmt::Result> {
        Some(match place {
            0 => write!(
                line,
                "chirrup {} on {}; help lists the commands. A hobby instrument, not certified; keep the lookout",
                env!("CARGO_PKG_VERSION"),
                self.board
            ),
            1 => self.say_why_it_stopped(line),
            2 => match self.origin {
                Origin::Flash => Ok(()),
                _ => self.say_origin(line),
            },
            _ => return None,
        })
    }

    fn say_why_it_stopped(&self, line: &mut Line) -> fmt::Result {
        match (&self.panic, self.reset) {
            (Some(panic), _) => write!(line, "it had stopped: {}", panic.text()),
            (None, ResetCause::Watchdog) => write!(line, "it had stopped: the watchdog was not fed"),
            (None, _) => Ok(()),
        }
    }

    fn say_origin(&self, line: &mut Line) -> fmt::Result {
        line.write_str(match self.origin {
            Origin::Flash => "settings: as they were saved",
            Origin::FirstStart => "settings: the defaults; none were ever saved",
            Origin::OtherVersion => "settings: the defaults; those that were saved are another version's",
            Origin::Damaged => "settings: the defaults; those that were saved are damaged",
            Origin::Unreadable => "settings: the defaults; the flash cannot be read",
        })
    }

    /// A line of the self-test's report; an empty one where there is nothing to say, `None` after the last.
    fn report(&self, place: usize, line: &mut Line) -> Option<fmt::Result> {
        Some(match place {
            0 => {
                let cause = match self.reset {
                    ResetCause::Power => "power",
                    ResetCause::Watchdog => "the watchdog",
                    ResetCause::Software => "itself",
                };
                let up_s = self.now.since(self.started).0 / 1_000_000;
                write!(
                    line,
                    "chirrup {} on {}, started by {cause}, up {up_s} s",
                    env!("CARGO_PKG_VERSION"),
                    self.board
                )
            }
            1 => self.say_why_it_stopped(line),
            2 => self.say_origin(line),
            3 => self.report_sensor(Role::Static, line),
            4 => self.report_sensor(Role::Second, line),
            5 => self.report_sensor(Role::Differential, line),
            6 => match self.battery.millivolts() {
                None => write!(line, "battery: none measured"),
                Some(mv) => {
                    let low = if self.battery.is_low() { ", low" } else { "" };
                    write!(line, "battery: {}.{:02} V{low}", mv / 1_000, mv % 1_000 / 10)
                }
            },
            7 => write!(line, "speaker: the start sound tells; nothing here hears it"),
            8 => write!(line, "log: {} rows dropped on USB, {} on UART", self.usb.log.dropped, self.uart.log.dropped),
            9 => write!(line, "result: {}", self.verdict()),
            _ => return None,
        })
    }

    fn report_sensor(&self, role: Role, line: &mut Line) -> fmt::Result {
        write!(line, "{}: ", role.name())?;
        let Some(slot) = self.sampler.slot(role) else {
            return write!(line, "none, as device.second_barometer says");
        };
        let (name, address) = slot.identity();
        match slot.condition() {
            Condition::Seeking => write!(line, "being looked for"),
            Condition::Absent(_) if role == Role::Differential => write!(line, "none found"),
            Condition::Absent(fault) => write!(line, "none found: {fault}"),
            Condition::Lost(fault) => write!(line, "{name} at 0x{address:02x} lost: {fault}"),
            Condition::Live => {
                write!(line, "{name} at 0x{address:02x}, ")?;
                report_figures(slot, line)
            }
        }
    }

    /// What the self-test comes to.
    pub(super) fn verdict(&self) -> Verdict {
        for role in Role::ALL {
            let Some(slot) = self.sampler.slot(role) else { continue };
            match (slot.condition(), slot.quality()) {
                (Condition::Absent(_), _) if role == Role::Differential => {}
                (Condition::Absent(_) | Condition::Lost(_), _) => {
                    return Verdict::Failed(match role {
                        Role::Static => "no static pressure",
                        Role::Second => "no second barometer",
                        Role::Differential => "the differential sensor was lost",
                    });
                }
                (Condition::Seeking, _) | (_, None) => return Verdict::NotYet,
                (Condition::Live, Some(quality)) => {
                    if let Some(why) = complaint(role, quality) {
                        return Verdict::Failed(why);
                    }
                }
            }
        }
        Verdict::Passed
    }
}

fn report_figures(slot: &Slot, line: &mut Line) -> fmt::Result {
    let Some(Quality { rate_millihz, jitter_us, noise_millipascals }) = slot.quality() else {
        return write!(line, "not measured yet: its figures take five seconds");
    };
    let pa = noise_millipascals;
    write!(line, "{}.{:02} samples/s, ", rate_millihz / 1_000, rate_millihz % 1_000 / 10)?;
    write!(line, "jitter {jitter_us} us rms, noise {}.{:03} Pa rms", pa / 1_000, pa % 1_000)?;
    match slot.latest() {
        Some(latest) => {
            let (sign, t) = (
                if latest.temperature_centicelsius < 0 { "-" } else { "" },
                latest.temperature_centicelsius.unsigned_abs(),
            );
            write!(line, ", {sign}{}.{} C", t / 100, t % 100 / 10)
        }
        None => Ok(()),
    }
}

fn complaint(role: Role, quality: Quality) -> Option<&'static str> {
    if quality.rate_millihz < LEAST_RATE_MILLIHZ {
        return Some("fewer than 50 samples a second");
    }
    if quality.jitter_us > MOST_JITTER_US {
        return Some("samples come unevenly");
    }
    // A coarse differential sensor at rest may well repeat itself.
    if role != Role::Differential && !NOISE_MILLIPASCALS.contains(&quality.noise_millipascals) {
        return Some(if quality.noise_millipascals < *NOISE_MILLIPASCALS.start() {
            "a barometer without any noise does not measure"
        } else {
            "a barometer is too noisy: wind, or light on the sensor"
        });
    }
    None
}
