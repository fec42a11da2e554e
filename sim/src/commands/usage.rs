//! Errors of the command line: one line with what was typed, what was expected, and the command
//! whose help explains it. Made from the kinds and contexts of clap's errors.

use super::Cli;
use super::values::Expected;
use chirrup::words::one_line;
use clap::CommandFactory;
use clap::error::{ContextKind, ContextValue, ErrorKind};
use std::error::Error as _;
use std::io::{Write, stderr};
use std::process::ExitCode;

/// Prints help and version unchanged, and every error of the command line as one line.
pub fn answer(error: &clap::Error) -> ExitCode {
    // If the stream is closed nobody can read it; the same holds for the line below.
    match error.kind() {
        ErrorKind::DisplayHelp | ErrorKind::DisplayVersion => {
            let _ = error.print();
            return ExitCode::SUCCESS;
        }
        // Only the name of a command was typed, and it needs arguments.
        ErrorKind::DisplayHelpOnMissingArgumentOrSubcommand => {
            let _ = error.print();
        }
        _ => {
            let words: Vec<String> =
                std::env::args_os().skip(1).map(|word| word.to_string_lossy().into()).collect();
            let line = line(error, &Called::by(&words));
            let _ = writeln!(stderr(), "chirrup: {}", one_line(&line));
        }
    }
    ExitCode::from(2)
}

/// The command that was called.
struct Called {
    /// The words that call it, such as `chirrup device settings`.
    path: String,
    command: clap::Command,
    words: Vec<String>,
}

impl Called {
    fn by(words: &[String]) -> Self {
        let mut command = Cli::command();
        let mut path = command.get_name().to_owned();
        for word in words {
            if let Some(inner) = command.find_subcommand(word) {
                path += &format!(" {word}");
                command = inner.clone();
            }
        }
        Self { path, command, words: words.to_vec() }
    }

    /// The option and the word after it, where that is its value and has no equals sign before it.
    fn with_equals(&self, error: &clap::Error) -> Option<String> {
        let found = option(error, ContextKind::InvalidArg);
        let pair = self.words.windows(2).find(|pair| pair[1] == found)?;
        let long = pair[0].strip_prefix("--")?;
        let option = self.command.get_arguments().find(|one| one.get_long() == Some(long))?;
        let is_value =
            option.get_possible_values().iter().any(|value| value.matches(&found, false));
        (option.is_require_equals_set() && is_value).then(|| format!("--{long}={found}"))
    }

    /// The commands that it has.
    fn choices(&self) -> String {
        choices(self.command.get_subcommands().map(clap::Command::get_name))
    }
}

/// The whole line about `error`.
fn line(error: &clap::Error, called: &Called) -> String {
    if cfg!(not(feature = "program")) && error.kind() == ErrorKind::InvalidSubcommand {
        return not_in_this_build(error, called);
    }
    let mut line = complaint(error, called);
    if let Some(meant) = suggestion(error).or_else(|| called.with_equals(error)) {
        line += &format!("; did you mean {meant}?");
    }
    format!("{line}; see `{} --help`", called.path)
}

/// What a build without every command says of the others.
fn not_in_this_build(error: &clap::Error, called: &Called) -> String {
    let (typed, choices) = (text(error, ContextKind::InvalidSubcommand), called.choices());
    format!(
        "this build has no command {typed}, only {choices}; type `cargo run --release -p chirrup \
         -- {typed}`, which builds the whole program"
    )
}

/// What was typed wrong, and what was expected.
fn complaint(error: &clap::Error, called: &Called) -> String {
    let option = option(error, ContextKind::InvalidArg);
    let value = text(error, ContextKind::InvalidValue);
    match error.kind() {
        ErrorKind::UnknownArgument if option.starts_with('-') => {
            format!("there is no option {option}")
        }
        ErrorKind::UnknownArgument => format!("found {option}, expected no more words"),
        ErrorKind::InvalidSubcommand => {
            let typed = text(error, ContextKind::InvalidSubcommand);
            format!("there is no command {typed}, expected {}", called.choices())
        }
        ErrorKind::MissingSubcommand => {
            format!("`{}` needs a command, expected {}", called.path, called.choices())
        }
        ErrorKind::MissingRequiredArgument => {
            format!("missing: {}", list(error, ContextKind::InvalidArg).join(", "))
        }
        ErrorKind::InvalidValue if value.is_empty() => {
            let usage = text(error, ContextKind::InvalidArg);
            format!("{usage}: the value is missing{}", possible(error))
        }
        ErrorKind::InvalidValue => format!("{option} is {value}{}", possible(error)),
        ErrorKind::ValueValidation => invalid(error, &option, &value),
        ErrorKind::ArgumentConflict => conflict(error, &option),
        // A trace too many, not a value of an option.
        ErrorKind::TooManyValues if option.starts_with('<') => {
            format!("found {value}, expected no more words")
        }
        ErrorKind::TooManyValues => format!("{option} takes no value, found {value}"),
        ErrorKind::TooFewValues | ErrorKind::WrongNumberOfValues | ErrorKind::NoEquals => {
            format!("{option} needs a value")
        }
        ErrorKind::InvalidUtf8 => "found bytes that are not text (UTF-8)".into(),
        // This command line cannot cause any other kind.
        kind => kind.as_str().unwrap_or("this cannot be used").into(),
    }
}

/// A value refused by the option's own parser.
fn invalid(error: &clap::Error, option: &str, value: &str) -> String {
    match error.source() {
        Some(source) if source.is::<Expected>() => format!("{option} is {value}, {source}"),
        Some(source) => format!("{option} {value}: {source}"),
        None => format!("{option} cannot be {value}"),
    }
}

/// Options that exclude one another, or one that was given twice.
fn conflict(error: &clap::Error, option: &str) -> String {
    let others: Vec<String> =
        list(error, ContextKind::PriorArg).iter().map(|usage| first_word(usage)).collect();
    match others.join(" or ") {
        other if other == option => format!("{option} was given twice, expected once"),
        other if other.is_empty() => format!("{option} does not go with the other options"),
        other => format!("{option} does not go with {other}; leave one out"),
    }
}

/// The possible values, where there are only a few.
fn possible(error: &clap::Error) -> String {
    match &list(error, ContextKind::ValidValue)[..] {
        [] => String::new(),
        some => format!(", expected {}", choices(some.iter().map(String::as_str))),
    }
}

/// clap's suggestion.
fn suggestion(error: &clap::Error) -> Option<String> {
    let kinds = [
        ContextKind::SuggestedSubcommand,
        ContextKind::SuggestedArg,
        ContextKind::SuggestedValue,
        ContextKind::SuggestedCommand,
    ];
    let found = kinds.into_iter().map(|kind| list(error, kind)).find(|found| !found.is_empty())?;
    // The likeliest comes last.
    found.last().cloned()
}

/// `a, b or c`.
fn choices<'a>(all: impl Iterator<Item = &'a str>) -> String {
    let all: Vec<&str> = all.filter(|name| *name != "help").collect();
    match all.split_last() {
        Some((last, rest)) if !rest.is_empty() => format!("{} or {last}", rest.join(", ")),
        _ => all.concat(),
    }
}

/// A context as a list: none, one or several texts.
fn list(error: &clap::Error, kind: ContextKind) -> Vec<String> {
    match error.get(kind) {
        Some(ContextValue::String(one)) => vec![one.clone()],
        Some(ContextValue::Strings(all)) => all.clone(),
        _ => Vec::new(),
    }
}

fn text(error: &clap::Error, kind: ContextKind) -> String {
    list(error, kind).join(", ")
}

/// An option without the name of its value: `--at` of `--at <M/S>`.
fn option(error: &clap::Error, kind: ContextKind) -> String {
    first_word(&text(error, kind))
}

fn first_word(usage: &str) -> String {
    usage.split(' ').next().unwrap_or(usage).to_owned()
}
