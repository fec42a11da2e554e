//! Text for people: paragraphs broken into lines.

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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_are_as_long_as_they_may_be_and_no_word_is_lost() {
        assert_eq!(wrapped("a bb  ccc dddd", 4), ["a bb", "ccc", "dddd"]);
        assert_eq!(wrapped("overlong a", 4), ["overlong", "a"]);
        assert!(wrapped(" ", 4).is_empty());
    }
}
