//! Text for people: paragraphs broken into lines, and text from outside made harmless.
//!
//! Names of files and columns, cells, notes and settings come from outside. Printed as they are,
//! they could move the cursor, colour the terminal, change its title, or show another name than
//! they have. Characters that are not seen are therefore written as `\u{1b}`:
//!
//! | function | for | bound |
//! |---|---|---|
//! | [`shown`] | a name or a cell within a sentence | 200 characters |
//! | [`one_line`] | a sentence: an error, a note | 4000 characters |
//! | [`printed`] | whole outputs, on their way out: line ends stay | none |
//! | [`printed_json`] | the same for JSON, with the escapes of JSON | none |

use std::borrow::Cow;
use std::fmt::Write;
use std::path::Path;

/// The most characters of a name or a cell that are shown; what is left out is at its middle.
const MOST_OF_A_NAME: usize = 200;
/// The most characters of a sentence.
const MOST_OF_A_LINE: usize = 4_000;

/// Whether a character is not seen, or changes how others are: control characters, line separators,
/// directions of writing, spaces without a width, and tags.
pub fn is_unseen(character: char) -> bool {
    character.is_control()
        || matches!(
            character,
            '\u{ad}'
                | '\u{61c}'
                | '\u{180e}'
                | '\u{200b}'..='\u{200f}'
                | '\u{2028}'..='\u{202e}'
                | '\u{2060}'..='\u{206f}'
                | '\u{feff}'
                | '\u{fff9}'..='\u{fffb}'
                | '\u{e0000}'..='\u{e007f}'
        )
}

fn escaped(text: &str, stays: impl Fn(char) -> bool) -> Cow<'_, str> {
    let is_harmless = |character: char| stays(character) || !is_unseen(character);
    if text.chars().all(is_harmless) {
        return Cow::Borrowed(text);
    }
    let mut escaped = String::with_capacity(text.len() + 16);
    for character in text.chars() {
        if is_harmless(character) {
            escaped.push(character);
        } else {
            escaped.extend(character.escape_unicode());
        }
    }
    Cow::Owned(escaped)
}

/// At most so many characters of `text`; beyond that its beginning and its end.
fn bounded(text: Cow<'_, str>, most: usize) -> String {
    let count = text.chars().count();
    if count <= most {
        return text.into_owned();
    }
    let last = most / 4;
    let beginning: String = text.chars().take(most - last - 1).collect();
    let end: String = text.chars().skip(count - last).collect();
    beginning + "\u{2026}" + &end
}

/// A name or a cell from outside, for the middle of a sentence.
pub fn shown(text: &str) -> String {
    // What is far beyond the bound needs no escapes.
    let most = MOST_OF_A_NAME;
    if text.len() > 8 * most {
        return bounded(escaped(&bounded(Cow::Borrowed(text), 2 * most), |_| false), most);
    }
    bounded(escaped(text, |_| false), most)
}

/// The name of a file, for the middle of a sentence.
pub fn shown_path(path: &Path) -> String {
    shown(&path.to_string_lossy())
}

/// A sentence with parts from outside, on one line.
pub fn one_line(text: &str) -> String {
    bounded(escaped(text, |_| false), MOST_OF_A_LINE)
}

/// A whole output for people: only line ends of all that is not seen stay as they are.
pub fn printed(text: &str) -> Cow<'_, str> {
    escaped(text, |character| character == '\n')
}

/// The text of a JSON value, in which only strings can hold what is not seen.
pub fn printed_json(text: &str) -> Cow<'_, str> {
    if !text.chars().any(|character| character != '\n' && is_unseen(character)) {
        return Cow::Borrowed(text);
    }
    let mut escaped = String::with_capacity(text.len() + 16);
    for character in text.chars() {
        if character == '\n' || !is_unseen(character) {
            escaped.push(character);
        } else {
            for unit in character.encode_utf16(&mut [0; 2]) {
                // Writing to a string cannot fail.
                let _ = write!(escaped, "\\u{unit:04x}");
            }
        }
    }
    Cow::Owned(escaped)
}

/// `text` in lines of at most `width` characters, broken between words; a longer word has a line of
/// its own.
pub fn wrapped(text: &str, width: usize) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        match lines.last_mut() {
            Some(line) if line.chars().count() + 1 + word.chars().count() <= width => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}

/// `1 sample`, `2 samples`.
pub fn plural(count: u64, what: &str) -> String {
    if count == 1 { format!("1 {what}") } else { format!("{count} {what}s") }
}

/// That half of a trace or more is left out, for the top of an account: `left_out` of `all` rows,
/// mostly for `reason`.
pub fn mostly_left_out(left_out: u64, all: u64, reason: Option<&str>) -> Option<String> {
    let mostly = reason.map(|reason| format!(", mostly: {reason}")).unwrap_or_default();
    let share = if 2 * left_out == all { "HALF" } else { "MOST" };
    (left_out > 0 && 2 * left_out >= all).then(|| {
        format!(
            "{share} OF THE TRACE IS LEFT OUT: {left_out} of {all} rows ({:.0} %){mostly}; what \
             follows is of the rest alone",
            (100.0 * left_out as f64 / all as f64).floor()
        )
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_are_as_long_as_they_may_be_and_no_word_is_lost() {
        assert_eq!(wrapped("a bb  ccc dddd", 4), ["a bb", "ccc", "dddd"]);
        assert_eq!(wrapped("overlong a", 4), ["overlong", "a"]);
        assert!(wrapped(" ", 4).is_empty());
    }

    /// Escape, bell, delete, a control character of eight bits, directions of writing, and spaces
    /// without a width.
    const UNSEEN: [char; 12] = [
        '\u{1b}', '\u{7}', '\u{7f}', '\u{9b}', '\u{202e}', '\u{2066}', '\u{200b}', '\u{feff}',
        '\u{61c}', '\u{2028}', '\t', '\n',
    ];

    #[test]
    fn what_is_not_seen_is_written_out_and_all_else_stays() {
        for character in UNSEEN {
            let name = format!("a{character}b");
            let code = format!("a\\u{{{:x}}}b", character as u32);
            assert_eq!(shown(&name), code);
            assert_eq!(one_line(&name), code);
            let whole = if character == '\n' { &name } else { &code };
            assert_eq!(printed(&name), whole.as_str());
        }
        for name in ["flight.igc", "Größe 3 \u{2212} μ", "飛行", "a b"] {
            assert_eq!(shown(name), name);
            assert!(matches!(printed(name), Cow::Borrowed(_)));
        }
    }

    #[test]
    fn json_keeps_its_strings_and_shows_nothing_unseen() {
        let text: String = UNSEEN.iter().chain(&['\u{e0041}', 'ä']).collect();
        let json = serde_json::to_string_pretty(&[&text]).expect("it is text");
        let printed = printed_json(&json);
        assert!(printed.chars().all(|character| character == '\n' || !is_unseen(character)));
        let read: Vec<String> = serde_json::from_str(&printed).expect("it is JSON");
        assert_eq!(read, [text]);
    }

    #[test]
    fn long_names_keep_their_ends_and_any_length_is_quick() {
        let name = "x".repeat(10_000_000) + ".igc";
        let shown = shown(&name);
        assert_eq!(shown.chars().count(), 200);
        assert!(
            shown.starts_with("xxxx") && shown.ends_with("x.igc") && shown.contains('\u{2026}')
        );
        assert_eq!(one_line(&"\u{1b}".repeat(5_000)).chars().count(), 4_000);
    }
}
