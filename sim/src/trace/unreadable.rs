//! Counts optional values that could not be read: the sample is used without them, and the notes
//! report it.

use super::lines::excerpt;

/// What could not be read of one column or field.
#[derive(Clone, Debug, Default)]
pub(super) struct Unreadable {
    count: u64,
    first_line: u64,
    first_text: String,
}

impl Unreadable {
    /// One more, on `line`, where `text` stood.
    pub fn add(&mut self, line: u64, text: &[u8]) {
        if self.count == 0 {
            self.first_line = line;
            self.first_text = excerpt(text);
        }
        self.count += 1;
    }

    /// The note about `name`, where `noun` is the word for a line of the trace; `None` without
    /// errors.
    pub fn note(&self, name: &str, noun: &str) -> Option<String> {
        let Self { count, first_line, first_text } = self;
        match count {
            0 => None,
            1 => Some(format!(
                "{name} could not be read in 1 {noun}, at line {first_line}: \"{first_text}\"; \
                 that {noun} is used without it"
            )),
            _ => Some(format!(
                "{name} could not be read in {count} {noun}s, first at line \
                 {first_line}: \"{first_text}\"; \
                 those {noun}s are used without it"
            )),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_note_counts_and_shows_the_first() {
        let mut tally = Unreadable::default();
        assert_eq!(tally.note("tas_mps", "row"), None);
        tally.add(17, b"abc");
        let one =
            "tas_mps could not be read in 1 row, at line 17: \"abc\"; that row is used without it";
        assert_eq!(tally.note("tas_mps", "row").as_deref(), Some(one));
        tally.add(18, b"def");
        let two = "tas_mps could not be read in 2 rows, first at line 17: \"abc\"; those rows are \
                   used without it";
        assert_eq!(tally.note("tas_mps", "row").as_deref(), Some(two));
    }
}
