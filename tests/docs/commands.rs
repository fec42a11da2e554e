//! The commands and options that the documents show are those of the program.

use super::{documents, read};
use crate::support::run;
use pulldown_cmark::{Event, Options, Parser, Tag, TagEnd};
use std::collections::HashMap;

/// Every line of the blocks of code in a document, and everything between backticks.
fn typed(text: &str) -> Vec<String> {
    let (mut lines, mut in_block) = (Vec::new(), false);
    for event in Parser::new_ext(text, Options::ENABLE_TABLES) {
        match event {
            Event::Start(Tag::CodeBlock(_)) => in_block = true,
            Event::End(TagEnd::CodeBlock) => in_block = false,
            Event::Text(text) if in_block => lines.extend(text.lines().map(str::to_owned)),
            Event::Code(code) => lines.push(code.into_string()),
            _ => {}
        }
    }
    lines
}

/// The command after `chirrup` and the long options, of each `chirrup` in a pipe.
fn commands(line: &str) -> Vec<(String, Vec<String>)> {
    let line = line.split(" #").next().unwrap_or(line);
    let line = line.replace("cargo run --release -p chirrup --", "chirrup");
    let of_part = |part: &str| {
        let rest = part.trim().strip_prefix("chirrup ")?;
        let mut words = rest.split_whitespace();
        let command = words.next()?.to_owned();
        let is_command = command.chars().all(|letter| letter.is_ascii_lowercase());
        let options = words
            .filter(|word| word.starts_with("--"))
            .map(|word| word.split('=').next().unwrap_or(word).to_owned())
            .collect();
        is_command.then_some((command, options))
    };
    line.split(" | ").filter_map(of_part).collect()
}

#[test]
fn every_command_and_option_that_a_document_shows_is_in_the_help() {
    let mut helps: HashMap<String, String> = HashMap::new();
    let (mut shown, mut wrong) = (0, Vec::new());
    for document in documents() {
        for line in typed(&read(&document)) {
            for (command, options) in commands(&line) {
                let help =
                    helps.entry(command.clone()).or_insert_with(|| run(&[&command, "--help"]));
                shown += 1;
                for option in options {
                    let ends = [' ', ',', '\n', '[', '.', '`', '='];
                    let is_there = option == "--help"
                        || ends.iter().any(|end| help.contains(&format!("{option}{end}")));
                    if !is_there {
                        wrong.push(format!("{}: {line}: no {option}", document.display()));
                    }
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(shown > 60, "only {shown} commands were found");
}

#[test]
fn commands_are_found_in_pipes_and_without_their_comments() {
    let found = commands("chirrup fly x --ideal -o - | chirrup replay - --json    # all --of it");
    let expected = |command: &str, option: &str| (command.to_owned(), vec![option.to_owned()]);
    assert_eq!(found, [expected("fly", "--ideal"), expected("replay", "--json")]);
    assert_eq!(commands("cargo run --release -p chirrup -- demo").len(), 1);
    assert_eq!(commands("chirrup COMMAND --help").len(), 0);
}
