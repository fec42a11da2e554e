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
    ends: Vec<usize>,
    count: usize,
}

impl Row {
    pub fn new(delimiter: u8) -> Self {
        Self { delimiter, splitter: None, text: vec![0; 1024], ends: vec![0; 64], count: 0 }
    }

    pub fn split(&mut self, line: &[u8]) {
        if line.contains(&b'"') {
            self.split_quoted(line);
        } else {
            self.split_plain(line);
        }
    }

    pub(super) fn split_plain(&mut self, line: &[u8]) {
        self.count = 0;
        if self.text.len() < line.len() {
            self.text.resize(line.len(), 0);
        }
        let mut written = 0;
        for field in line.split(|byte| *byte == self.delimiter) {
            self.text[written..written + field.len()].copy_from_slice(field);
            written += field.len();
            if self.count == self.ends.len() {
                self.ends.resize(2 * self.ends.len(), 0);
            }
            self.ends[self.count] = written;
            self.count += 1;
        }
    }

    pub(super) fn split_quoted(&mut self, line: &[u8]) {
        let delimiter = self.delimiter;
        let splitter = self.splitter.get_or_insert_with(|| {
            ReaderBuilder::new().delimiter(delimiter).terminator(Terminator::Any(b'\n')).build()
        });
        splitter.reset();
        let (mut rest, mut written) = (line, 0);
        self.count = 0;
        loop {
            let (text, ends) = (&mut self.text[written..], &mut self.ends[self.count..]);
            let (result, read, wrote, ended) = splitter.read_record(rest, text, ends);
            rest = &rest[read..];
            written += wrote;
            self.count += ended;
            match result {
                // The line is complete: the empty rest marks its end for the splitter.
                ReadRecordResult::InputEmpty => {}
                // No line is longer than the limit, so that these stop growing.
                ReadRecordResult::OutputFull => self.text.resize(2 * self.text.len(), 0),
                ReadRecordResult::OutputEndsFull => self.ends.resize(2 * self.ends.len(), 0),
                ReadRecordResult::Record | ReadRecordResult::End => break,
            }
        }
    }

    /// The fields as the names of columns: without what cannot be seen, in UTF-8 or else Latin-1.
    pub fn names(&self) -> Vec<String> {
        self.fields().map(name_of).collect()
    }

    pub fn field(&self, index: usize) -> Option<&[u8]> {
        let end = *self.ends[..self.count].get(index)?;
        let start = if index == 0 { 0 } else { self.ends[index - 1] };
        Some(self.text[start..end].trim_ascii())
    }

    pub fn fields(&self) -> impl Iterator<Item = &[u8]> {
        (0..self.count).filter_map(|index| self.field(index))
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
