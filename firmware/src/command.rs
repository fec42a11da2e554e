//! Parses a console line into a command and its arguments.
//!
//! Lines that the instrument itself writes are skipped: `#` lines, and the header and rows of the
//! log. A terminal that echoes what it receives sends them back, and answering an echo would cause
//! another echo.

use crate::recorder::utc::Utc;
use chirrup_core::decimal;

/// A command.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Command<'a> {
    /// Nothing: a blank line, or an echo of our own.
    Nothing,
    /// List the commands.
    Help,
    /// Name, version, board.
    Version,
    /// Show all settings, or those whose names begin with this.
    Settings(&'a str),
    /// Change one setting.
    Set(&'a str, &'a str),
    /// Collect the following changes, unchecked.
    Begin,
    /// Check and apply the collected changes.
    Commit,
    /// Discard the collected changes.
    Cancel,
    /// Save the settings to flash.
    Save,
    /// Apply the default settings.
    Defaults,
    /// Report sensors, their figures, and battery.
    SelfTest,
    /// Play the sound of a vertical speed in m/s.
    Tone(f32),
    /// Play the sound check.
    SoundCheck,
    /// Tell what the sound check sounds now.
    Sound,
    /// End the sound check, or a tone.
    SoundOff,
    /// Log this many rows a second; `None` logs every sample.
    Log(Option<u8>),
    /// Take the present dynamic pressure as zero.
    Zero,
    /// Show the last reading.
    Reading,
    /// Report what the inertial sensor does for the reading.
    Inertial,
    /// List the recorded flights.
    Flights,
    /// Send the rows of a recorded flight.
    Fetch(u16),
    /// Set UTC, or tell it.
    Clock(Option<Utc>),
}

/// Why a line is not a command, in one line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct NoCommand(pub &'static str);

/// Commands and what they do, for `help`.
pub const HELP: &[&str] = &[
    "help                 this list",
    "version              name, version and board",
    "settings [NAME]      all settings, or those that begin with NAME, as in a settings file",
    "NAME = VALUE         changes a setting at once, as a settings file has it; polar = none takes \
     the polar away",
    "begin                collects the changes that follow, unchecked, until",
    "commit               checks and applies them all, or",
    "cancel               discards them",
    "save                 keeps the settings for the next start",
    "defaults             applies the defaults; save keeps them",
    "selftest             sensors with noise, rate and jitter, battery, and reason for the start",
    "reading              the last reading",
    "inertial             whether the inertial sensor is trusted, and why not; vibration, \
     mounting, satellites",
    "tone V               sounds V m/s for three seconds, such as tone 2.5",
    "flights              recorded flights: number, UTC and seconds of the beginning, seconds, \
     rows, bytes",
    "fetch N              the rows of flight N, as the log has them; the next command ends it",
    "clock TIME           sets UTC, such as clock 2026-05-01T10:20:30Z; clock alone tells it",
    "sound check          a minute of the lowest sink, the fault call and the highest beeps; sound \
     tells which, sound off or any button ends it",
    "log HZ               rows a second of the log, 1 to 50; log on is log 50, log off ends it",
    "zero                 takes what the dynamic pressure reads now as zero: at rest, out of the \
     wind",
];

/// The command in a line.
///
/// # Errors
/// What is wrong with it, and what to do.
pub fn parse(line: &str) -> Result<Command<'_>, NoCommand> {
    let line = line.trim();
    if is_our_own(line) {
        return Ok(Command::Nothing);
    }
    if let Some((name, value)) = line.split_once('=') {
        return Ok(Command::Set(name.trim(), value.trim()));
    }
    let (word, rest) =
        line.split_once(char::is_whitespace).map_or((line, ""), |(word, rest)| (word, rest.trim()));
    let command = match word {
        "help" => Command::Help,
        "version" => Command::Version,
        "settings" => return Ok(Command::Settings(rest)),
        "begin" => Command::Begin,
        "commit" => Command::Commit,
        "cancel" => Command::Cancel,
        "save" => Command::Save,
        "defaults" => Command::Defaults,
        "selftest" => Command::SelfTest,
        "reading" => Command::Reading,
        "inertial" => Command::Inertial,
        "zero" => Command::Zero,
        "flights" => Command::Flights,
        "sound" => return sound(rest),
        "tone" => return tone(rest),
        "fetch" => return fetch(rest),
        "clock" => return clock(rest),
        "log" => return log(rest),
        _ => return Err(NoCommand("unknown command; help lists them")),
    };
    if rest.is_empty() {
        Ok(command)
    } else {
        Err(NoCommand("this command takes nothing after it"))
    }
}

fn is_our_own(line: &str) -> bool {
    line.is_empty()
        || line.starts_with(|first: char| first == '#' || first.is_ascii_digit())
        || line.starts_with("time_us")
}

fn tone(rest: &str) -> Result<Command<'_>, NoCommand> {
    let speed = decimal::read(rest).filter(|speed| (-60.0..=60.0).contains(speed));
    speed
        .map(Command::Tone)
        .ok_or(NoCommand("expected a vertical speed in m/s, -60 to 60, such as tone 2.5"))
}

fn sound(rest: &str) -> Result<Command<'_>, NoCommand> {
    match rest {
        "check" => Ok(Command::SoundCheck),
        "off" => Ok(Command::SoundOff),
        "" => Ok(Command::Sound),
        _ => Err(NoCommand("expected sound check, sound or sound off")),
    }
}

fn fetch(rest: &str) -> Result<Command<'_>, NoCommand> {
    let number = rest.parse().map(Command::Fetch);
    number.map_err(|_| NoCommand("expected the number of a flight; flights lists them"))
}

fn clock(rest: &str) -> Result<Command<'_>, NoCommand> {
    if rest.is_empty() {
        return Ok(Command::Clock(None));
    }
    let utc = Utc::read(rest).map(|utc| Command::Clock(Some(utc)));
    utc.ok_or(NoCommand("expected UTC, 2000 to 2099, such as clock 2026-05-01T10:20:30Z"))
}

fn log(rest: &str) -> Result<Command<'_>, NoCommand> {
    match rest {
        "off" => Ok(Command::Log(None)),
        "on" => Ok(Command::Log(Some(crate::log::MOST_HZ))),
        _ => {
            let rate = rest.parse().ok().filter(|rate| (1..=crate::log::MOST_HZ).contains(rate));
            rate.map(|rate| Command::Log(Some(rate)))
                .ok_or(NoCommand("expected log on, log off, or rows a second, 1 to 50"))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn every_command_in_the_help_is_understood() {
        for line in HELP {
            let word = line.split_whitespace().next().unwrap();
            let typed = match word {
                "tone" => "tone 2.5",
                "sound" => "sound check",
                "log" => "log on",
                "fetch" => "fetch 3",
                "NAME" => "response_s = 0.6",
                word => word,
            };
            assert!(!matches!(parse(typed), Err(_) | Ok(Command::Nothing)), "{typed}");
        }
    }

    #[test]
    fn commands_are_parsed() {
        assert_eq!(parse("  settings tone. "), Ok(Command::Settings("tone.")));
        assert_eq!(parse("response_s=0.6"), Ok(Command::Set("response_s", "0.6")));
        assert_eq!(parse("tone -2.5"), Ok(Command::Tone(-2.5)));
        assert_eq!(parse("log 10"), Ok(Command::Log(Some(10))));
        assert_eq!(parse("log off"), Ok(Command::Log(None)));
        assert_eq!(parse("sound"), Ok(Command::Sound));
        assert_eq!(parse("sound off"), Ok(Command::SoundOff));
    }

    #[test]
    fn echoes_of_our_own_lines_are_skipped() {
        for line in ["", "# ok", "#! static: no answer", "12345,99000.5,,,0,0", "time_us,static_pa"]
        {
            assert_eq!(parse(line), Ok(Command::Nothing), "{line}");
        }
    }

    #[test]
    fn an_unknown_command_gets_a_helpful_answer() {
        assert_eq!(parse("helo"), Err(NoCommand("unknown command; help lists them")));
        assert_eq!(parse("save now"), Err(NoCommand("this command takes nothing after it")));
        assert!(parse("tone").is_err() && parse("tone nan").is_err() && parse("tone 61").is_err());
        assert!(parse("sound loud").is_err());
        assert!(parse("log").is_err() && parse("log 0").is_err() && parse("log 51").is_err());
    }

    proptest! {
        #![proptest_config(ProptestConfig {
            failure_persistence: None,
            ..ProptestConfig::default()
        })]

        #[test]
        fn no_line_panics(line in "\\PC{0,80}") {
            let _ = parse(&line);
        }
    }
}
