//! Figures of `docs/src/measured.md` that other documents repeat: no such figure is typed by hand.
//!
//! A quote is a sentence as a document has it, with keys of that page in braces; `{key:1}` is the
//! figure with one decimal.

use super::{documents, read, root};
use crate::support::run;
use std::collections::HashMap;

const PAGE: &str = "docs/src/measured.md";

/// Where a figure is repeated, and in which words.
const QUOTES: [(&str, &str); 7] = [
    ("README.md", "gives {gusts_05.false_beeps} false beeps, {gusts_05.false_spells} spell"),
    ("README.md", "{gusts_05.false_spells} spell, and {gusts_05.error_mps:2} m/s: each the worst"),
    ("README.md", "is {tone.steps_in_quiet:1} just noticeable steps or more in quiet"),
    ("README.md", "({tone.steps_in_noise:1} from a small loudspeaker)"),
    ("docs/src/numbers.md", "{tone.steps_in_quiet:1} just noticeable steps or more in quiet"),
    ("docs/src/numbers.md", "({tone.steps_in_noise:1} from a small loudspeaker)"),
    ("docs/src/sound.md", "0.2 to 5 m/s: quiet | 1.3 | {tone.steps_in_quiet:1} |"),
];

/// The figures of the page by their keys.
fn figures() -> HashMap<String, f64> {
    let one = |line: &str| {
        let mut cells = line.strip_prefix("| `")?.split('|').map(str::trim);
        let key = cells.next()?.strip_suffix('`')?.to_owned();
        Some((key, cells.next()?.parse().ok()?))
    };
    read(&root().join(PAGE)).lines().filter_map(one).collect()
}

/// `words` with the figures in place of their keys.
fn filled(words: &str, figures: &HashMap<String, f64>) -> String {
    let mut parts = words.split('{');
    let mut text = parts.next().unwrap_or_default().to_owned();
    for part in parts {
        let (key, after) = part.split_once('}').expect("a brace is closed");
        let (key, decimals) = key.split_once(':').unwrap_or((key, "0"));
        let figure = figures.get(key).unwrap_or_else(|| panic!("{PAGE} has no figure {key}"));
        let decimals = decimals.parse().expect("decimals are a number");
        text += &format!("{figure:.decimals$}{after}");
    }
    text
}

/// Words alone, without the ends of lines.
fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn the_figures_that_documents_repeat_are_those_that_were_measured() {
    let figures = figures();
    for (document, words) in QUOTES {
        let expected = filled(words, &figures);
        let text = flat(&read(&root().join(document)));
        assert!(text.contains(&flat(&expected)), "{document} does not say '{expected}'");
    }
}

#[test]
fn the_tone_is_still_as_it_was_measured() {
    let figures = figures();
    let tone: serde_json::Value =
        serde_json::from_str(&run(&["tone", "--json"])).expect("it prints JSON");
    let rows = tone["rows"].as_array().expect("it has rows");
    for (key, column) in
        [("tone.steps_in_quiet", "steps"), ("tone.steps_in_noise", "steps_in_noise")]
    {
        let climbs = rows.iter().filter(|row| {
            row["value_mps"].as_f64().is_some_and(|mps| (0.199..5.001).contains(&mps))
        });
        let least = climbs.filter_map(|row| row[column].as_f64()).fold(f64::INFINITY, f64::min);
        let written = figures[key];
        assert!((least - written).abs() <= 0.006, "{key}: {written}, now {least}; `just numbers`");
    }
}

#[test]
fn the_instructions_of_the_page_are_those_that_ci_counts() {
    let all: serde_json::Value =
        serde_json::from_str(&read(&root().join("sim/benches/instructions.json")))
            .expect("it is JSON");
    let counted = all["instructions"].as_object().expect("it has instructions");
    let page = read(&root().join(PAGE));
    let section = page.split("\n## ").find(|section| section.starts_with("Instructions\n"));
    let section = section.expect("the page has a section Instructions");
    let rows: Vec<String> =
        section.lines().filter(|line| line.starts_with("| `")).map(str::to_owned).collect();
    let expected: Vec<String> =
        counted.iter().map(|(name, count)| format!("| `{name}` | {count} |")).collect();
    assert_eq!(rows, expected, "type: just numbers instructions");
}

#[test]
fn every_section_of_the_page_says_who_measured_it_or_that_nobody_did() {
    let page = read(&root().join(PAGE));
    let sections: Vec<&str> = page.split("\n## ").skip(1).collect();
    assert!(sections.len() >= 5, "{PAGE} has {} sections", sections.len());
    for section in sections {
        let heading = section.lines().next().unwrap_or_default();
        if section.contains("\n\nNot measured yet: `just numbers ") {
            assert!(!section.contains('|'), "'{heading}' has figures that nobody measured");
            continue;
        }
        for row in ["| commit | `", "| machine | ", "| load before and after | "] {
            assert!(section.contains(&format!("\n{row}")), "'{heading}' has no row '{row}'");
        }
    }
}

/// The first speed of the bench that `text` gives as a figure, if any. What a sensor does in a
/// second is none.
fn typed_speed(text: &str) -> Option<String> {
    const SPEEDS: [&str; 9] = [
        "MB a second",
        "MB/s",
        "GB a second",
        "million samples a second",
        "million steps a second",
        "M samples/s",
        "million readings a second",
        "samples a second on one core",
        "s of one core",
    ];
    let text = flat(text);
    let figure = |place: usize, unit: &str| {
        let before = text[..place].trim_end_matches(['m', ' ', '*']);
        let word = before.rsplit(' ').next().unwrap_or_default();
        word.ends_with(|letter: char| letter.is_ascii_digit()).then(|| format!("{word} {unit}"))
    };
    SPEEDS
        .iter()
        .find_map(|unit| text.match_indices(unit).find_map(|(place, unit)| figure(place, unit)))
}

#[test]
fn no_document_but_the_page_types_a_speed() {
    for document in documents().iter().filter(|document| !document.ends_with(PAGE)) {
        let found = typed_speed(&read(document));
        assert_eq!(found, None, "{}: link to {PAGE} instead", document.display());
    }
}

#[test]
fn a_speed_is_found_in_its_several_forms_and_the_rate_of_a_sensor_is_none() {
    for typed in [
        "writes 250 MB a second",
        "reads 1.9 million samples a\nsecond on one core",
        "takes **22** ms of one core",
        "below 1 s of one core",
        "300 MB/s",
    ] {
        assert!(typed_speed(typed).is_some(), "{typed}");
    }
    for none in ["50 samples a second", "how many MB a second", "the load of one core", "26 MB"] {
        assert_eq!(typed_speed(none), None);
    }
}

#[test]
fn a_figure_takes_the_place_of_its_key_with_its_decimals() {
    let figures = HashMap::from([("a.b".to_owned(), 2.696), ("c".to_owned(), 5.0)]);
    assert_eq!(filled("is {a.b:1}, {c} and {a.b:2}", &figures), "is 2.7, 5 and 2.70");
}
