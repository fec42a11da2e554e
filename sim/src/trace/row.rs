//! One line of a CSV as its fields.

use csv_core::{ReadRecordResult, Reader, ReaderBuilder, Terminator};

/// What may separate fields, the likeliest last.
const DELIMITERS: [u8; 4] = [b'|', b'\t', b';', b','];

/// The most frequent delimiter in the header outside quotes; a comma if none occurs. In a row of
/// numbers a comma may be a decimal one, so that any other comes first.
pub(super) fn delimiter_of(header: &[u8]) -> u8 {
    let mut is_quoted = false;
    let outside: Vec<u8> = header
        .iter()
        .copied()
        .filter(|byte| {
            is_quoted ^= *byte == b'"';
            !is_quoted
        })
        .collect();
    let count = |delimiter: u8| outside.iter().filter(|byte| **byte == delimiter).count();
    if !header.iter().any(u8::is_ascii_alphabetic)
        && let Some(sure) = DELIMITERS[..3].iter().rev().find(|delimiter| count(**delimiter) > 0)
    {
        return *sure;
    }
    // The last of equals is the greatest.
    DELIMITERS.into_iter().max_by_key(|delimiter| count(*delimiter)).unwrap_or(b',')
}

/// The fields of one line; where there are quotes, the splitting is csv-core's.
pub(super) struct Row {
    delimiter: u8,
    /// Made for the first line with quotes.
    splitter: Option<Reader>,
    text: Vec<u8>,
    /// Where the splitter ended each field.
    ends: Vec<usize>,
    /// Where each field begins and ends in `text`.
    spans: Vec<(usize, usize)>,
}

impl Row {
    pub fn new(delimiter: u8) -> Self {
        Self { delimiter, splitter: None, text: Vec::new(), ends: Vec::new(), spans: Vec::new() }
    }

    pub fn split(&mut self, line: &[u8]) {
        if !self.split_plain(line) {
            self.split_quoted(line);
        }
    }

    /// Splits at every delimiter; false where there is a quote.
    pub(super) fn split_plain(&mut self, line: &[u8]) -> bool {
        self.spans.clear();
        let mut from = 0;
        // Fields are so short that a search for each would take longer.
        for (to, byte) in line.iter().enumerate() {
            if *byte == b'"' {
                return false;
            }
            if *byte == self.delimiter {
                self.spans.push((from, to));
                from = to + 1;
            }
        }
        self.spans.push((from, line.len()));
        self.text.clear();
        self.text.extend_from_slice(line);
        true
    }

    pub(super) fn split_quoted(&mut self, line: &[u8]) {
        let delimiter = self.delimiter;
        let splitter = self.splitter.get_or_insert_with(|| {
            ReaderBuilder::new().delimiter(delimiter).terminator(Terminator::Any(b'\n')).build()
        });
        splitter.reset();
        let (mut rest, mut written, mut count) = (line, 0, 0);
        // No field is longer than its line, and there are no more of them than bytes and one.
        self.text.resize(line.len() + 1, 0);
        self.ends.resize(line.len() + 2, 0);
        loop {
            let (text, ends) = (&mut self.text[written..], &mut self.ends[count..]);
            let (result, read, wrote, ended) = splitter.read_record(rest, text, ends);
            rest = &rest[read..];
            written += wrote;
            count += ended;
            // The line is complete: the empty rest marks its end for the splitter.
            if result != ReadRecordResult::InputEmpty {
                break;
            }
        }
        let ends = self.ends[..count].iter().copied();
        self.spans.clear();
        self.spans.extend(std::iter::once(0).chain(ends.clone()).zip(ends));
    }

    /// The fields as the names of columns: without what cannot be seen, in UTF-8 or else Latin-1.
    pub fn names(&self) -> Vec<String> {
        self.fields().map(name_of).collect()
    }

    pub fn field(&self, index: usize) -> Option<&[u8]> {
        let (from, to) = *self.spans.get(index)?;
        Some(self.text[from..to].trim_ascii())
    }

    pub fn fields(&self) -> impl Iterator<Item = &[u8]> {
        self.fields_from(0)
    }

    /// The fields from one on.
    pub fn fields_from(&self, index: usize) -> impl Iterator<Item = &[u8]> {
        (index..self.spans.len()).filter_map(|index| self.field(index))
    }

    pub fn is_empty(&self) -> bool {
        self.fields().all(<[u8]>::is_empty)
    }
}

fn name_of(field: &[u8]) -> String {
    match str::from_utf8(field) {
        Ok(name) => visible(name),
        Err(_) => visible(&field.iter().map(|byte| char::from(*byte)).collect::<String>()),
    }
}

/// A name without characters of no width and marks of direction, which come with copied text.
pub(super) fn visible(name: &str) -> String {
    let is_seen = |c: &char| {
        !matches!(c, '\u{ad}' | '\u{61c}' | '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}'
            | '\u{2060}'..='\u{2069}' | '\u{feff}')
    };
    name.chars().filter(is_seen).collect::<String>().trim().to_owned()
}

#[cfg(test)]
mod tests;
