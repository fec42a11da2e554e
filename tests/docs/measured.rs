//! Figures of `docs/src/measured.md` that other documents repeat: no such figure is typed by hand.
//!
//! A quote is a sentence as a document has it, with keys of that page in braces; `{key:1}` is the
//! figure with one decimal.

use super::{read, root};
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
fn a_figure_takes_the_place_of_its_key_with_its_decimals() {
    let figures = HashMap::from([("a.b".to_owned(), 2.696), ("c".to_owned(), 5.0)]);
    assert_eq!(filled("is {a.b:1}, {c} and {a.b:2}", &figures), "is 2.7, 5 and 2.70");
}
