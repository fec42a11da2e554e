//! A line of the console, understood: which command it is, with what.
//!
//! Lines that the instrument itself writes are passed over: `#` and the rows and the header of the
//! log. A terminal that echoes what it receives sends them back, and an answer to an echo would
//! have an echo.

/// What a line asks for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Command<'a> {
    /// Nothing: blank, or an echo of our own.
    Nothing,
    /// What commands there are.
    Help,
    /// Name, version, board.
    Version,
    /// All settings, or those whose name begins so.
    Settings(&'a str),
    /// A change of one setting.
    Set(&'a str, &'a str),
    /// Changes are gathered from now on, unchecked.
    Begin,
    /// The gathered changes are checked and used.
    Commit,
    /// The gathered changes are forgotten.
    Cancel,
    /// Settings into flash.
    Save,
    /// All settings as they were made.
    Defaults,
    /// Sensors, their figures, battery.
    SelfTest,
    /// The tone of a vertical speed in m/s.
    Tone(f32),
    /// Rows a second of the log; `None` as often as there are samples.
    Log(Option<u8>),
    /// What the dynamic pressure reads now is zero.
    Zero,
    /// The last reading.
    Reading,
}

/// A line that is no command, in one line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct NoCommand(pub &'static str);

/// Commands and what they do, for `help`.
pub const HELP: &[&str] = &[
    "help                 this list",
    "version              name, version and board",
    "settings [NAME]      all settings, or those whose name begins so, as a settings file has them",
    "NAME = VALUE         changes a setting at once, as a settings file has it; polar = none takes \
     the polar away",
    "begin                gathers the changes that follow, unchecked, until",
    "commit               checks and uses them all, or",
    "cancel               forgets them",
    "save                 keeps the settings for the next start",
    "defaults             uses the defaults; save keeps them",
    "selftest             sensors with noise, rate and jitter, battery, and why it started",
    "reading              the last reading",
    "tone V               sounds V m/s for three seconds, such as tone 2.5",
    "log HZ               rows a second of the log, 1 to 50; log on is log 50, log off ends it",
    "zero                 takes what the dynamic pressure reads now as zero: at rest, out of the \
     wind",
];

/// The command in a line.
///
/// # Errors
/// What is wrong with it, and what helps.
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
        "zero" => Command::Zero,
        "tone" => return tone(rest),
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
    let speed = rest.parse().ok().filter(|speed: &f32| (-60.0..=60.0).contains(speed));
    speed
        .map(Command::Tone)
        .ok_or(NoCommand("expected a vertical speed in m/s, -60 to 60, such as tone 2.5"))
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
    fn every_command_of_the_help_is_understood() {
        for line in HELP {
            let word = line.split_whitespace().next().unwrap();
            let typed = match word {
                "tone" => "tone 2.5",
                "log" => "log on",
                "NAME" => "response_s = 0.6",
                word => word,
            };
            assert!(!matches!(parse(typed), Err(_) | Ok(Command::Nothing)), "{typed}");
        }
    }

    #[test]
    fn commands_are_taken_apart() {
        assert_eq!(parse("  settings tone. "), Ok(Command::Settings("tone.")));
        assert_eq!(parse("response_s=0.6"), Ok(Command::Set("response_s", "0.6")));
        assert_eq!(parse("tone -2.5"), Ok(Command::Tone(-2.5)));
        assert_eq!(parse("log 10"), Ok(Command::Log(Some(10))));
        assert_eq!(parse("log off"), Ok(Command::Log(None)));
    }

    #[test]
    fn echoes_of_our_own_lines_are_passed_over() {
        for line in ["", "# ok", "#! static: no answer", "12345,99000.5,,,0,0", "time_us,static_pa"]
        {
            assert_eq!(parse(line), Ok(Command::Nothing), "{line}");
        }
    }

    #[test]
    fn what_is_no_command_is_answered_with_what_helps() {
        assert_eq!(parse("helo"), Err(NoCommand("unknown command; help lists them")));
        assert_eq!(parse("save now"), Err(NoCommand("this command takes nothing after it")));
        assert!(parse("tone").is_err() && parse("tone nan").is_err() && parse("tone 61").is_err());
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
