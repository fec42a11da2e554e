//! What the documents say about the project is so: sizes, commands, files and recipes.

use super::{documents, read, root};
use pulldown_cmark::{Event, Parser};

#[test]
fn the_readme_is_short_and_has_the_two_commands() {
    let readme = read(&root().join("README.md"));
    assert!(readme.len() <= 6000, "README.md has {} bytes, at most 6000 are allowed", readme.len());
    for command in ["cargo demo", "cargo test"] {
        let has = |line: &str| line.split(" #").next().is_some_and(|typed| typed.trim() == command);
        assert!(readme.lines().any(has), "README.md lacks the command {command}");
    }
}

#[test]
fn the_way_to_how_do_i_add_a_sensor_is_two_clicks() {
    let readme = read(&root().join("README.md"));
    assert!(readme.contains("(docs/src/adding.md)") && readme.contains("add a sensor"));
    let adding = read(&root().join("docs/src/adding.md"));
    assert!(adding.contains("[A sensor](#a-sensor)") && adding.contains("\n## A sensor\n"));
}

/// Everything between backticks in a document, outside blocks of code.
fn code_spans(text: &str) -> Vec<String> {
    let spans = Parser::new_ext(text, pulldown_cmark::Options::ENABLE_TABLES);
    spans
        .filter_map(|event| match event {
            Event::Code(code) => Some(code.into_string()),
            _ => None,
        })
        .collect()
}

/// The file of the project that a span names, if it looks like one: `core/src/sound/pwm.rs`, also
/// with the name of a test behind it.
fn named_file(span: &str) -> Option<&str> {
    let file = span.split("::").next().unwrap_or(span);
    let folder = file.split('/').next().unwrap_or("");
    let ours = ["core", "sim", "firmware", "tests", "fuzz", "recordings", "docs", "flight"];
    let is_path = file.contains('/')
        && ours.contains(&folder)
        && !file.contains(|letter: char| letter.is_whitespace() || letter == '*');
    is_path.then_some(file)
}

#[test]
fn every_file_that_a_document_names_is_there() {
    let mut named = 0;
    for document in documents() {
        // What changed is history, and names files as they were.
        if document.ends_with("CHANGELOG.md") {
            continue;
        }
        for span in code_spans(&read(&document)) {
            let Some(file) = named_file(&span) else { continue };
            // What a command makes is not there before.
            let is_made = file.starts_with("sim/web/dist") || file.starts_with("docs/book");
            named += 1;
            let is_there = is_made || root().join(file).exists();
            assert!(is_there, "{}: there is no {file}", document.display());
        }
    }
    assert!(named > 50, "only {named} files were found in the documents");
}

#[test]
fn every_recipe_that_a_document_or_ci_names_is_in_the_justfile() {
    let justfile = read(&root().join("justfile"));
    let is_recipe = |name: &str| {
        justfile.lines().any(|line| {
            line.strip_prefix(name)
                .is_some_and(|rest| rest.starts_with(':') || rest.starts_with(' '))
        })
    };
    let mut named = 0;
    let mut check = |place: &str, command: &str| {
        let Some(rest) = command.trim().strip_prefix("just ") else { return };
        let name = rest.split_whitespace().next().unwrap_or("");
        named += 1;
        assert!(is_recipe(name), "{place} names the recipe {name}, which the justfile lacks");
    };
    for document in documents() {
        for span in code_spans(&read(&document)) {
            check(&document.display().to_string(), &span);
        }
    }
    for line in read(&root().join(".ci/run")).lines() {
        check(".ci/run", line);
    }
    assert!(named > 20, "only {named} recipes were found");
    assert!(!is_recipe("no-such-recipe"));
}

#[test]
fn every_variable_that_rewrites_a_file_has_a_recipe_and_is_documented() {
    let (justfile, developers) =
        (read(&root().join("justfile")), read(&root().join("DEVELOPERS.md")));
    let mut found = Vec::new();
    for file in super::files(&root(), &[".rs", ".mjs", ".py", ".sh"]) {
        let text = read(&file);
        for (place, _) in text.match_indices(concat!("CHIRRUP_", "REWRITE_")) {
            let is_part = |letter: &char| letter.is_ascii_uppercase() || *letter == '_';
            found.push(text[place..].chars().take_while(is_part).collect::<String>());
        }
    }
    found.sort();
    found.dedup();
    assert!(found.len() >= 2, "{found:?}");
    for variable in found {
        assert!(justfile.contains(&variable), "the justfile has no recipe with {variable}");
        assert!(developers.contains(&variable), "DEVELOPERS.md does not name {variable}");
    }
}
