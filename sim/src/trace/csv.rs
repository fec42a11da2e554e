//! Traces in CSV: a header that names the columns, then one sample a row.
//!
//! ```text
//! # blank lines and lines that begin with # are skipped, before the header too
//! time_s;static_pa;tas_mps
//! 0,00;101325;
//! 0,02;101324,5;27,3
//! ```
//!
//! Fields are separated by commas, semicolons or tabs, whichever is most frequent in the header.
//! Numbers have a decimal point, or a decimal comma where the comma is not the separator (or in
//! quotes). A row is a line: a quoted field cannot hold a line end, so that one stray quote costs
//! one row and not the rest of the file. Columns that no channel needs are ignored. A header may
//! come again in the middle and may name other columns, as an instrument's log does once it has
//! found a further sensor: what follows is read by it.
//!
//! An empty field is no new measurement, whatever the column: a row may lack any but its time, and
//! is skipped only if it has nothing else. A row whose time or static pressure cannot be read is
//! skipped. An unreadable optional field is counted and reported in the notes.

use super::column::Column;
use super::columns::ColumnMap;
use super::header::{Header, Layout, SpeedForm};
use super::lines::{LINE_TOO_LONG, Line, Lines, excerpt};
use super::number::{self, Field, NoTime};
use super::unreadable::Unreadable;
use super::{Item, Position, Skipped, Trace};
use crate::error::{Complaint, Error, Result};
use crate::truth::Truth;
use chirrup_core::{Kelvin, MetrePerSecond, Micros, Pascal, Sample, Speed};
use csv_core::{ReadRecordResult, Reader, ReaderBuilder, Terminator};
use std::io::{self, BufRead};

/// A CSV trace that is being read.
pub struct CsvTrace {
    file: String,
    lines: Lines,
    row: Row,
    columns: ColumnMap,
    layout: Layout,
    /// Notes on rows of earlier headers.
    earlier: Vec<String>,
    unreadable: [Unreadable; 3],
    truth: Truth,
    position: Option<Position>,
    has_ended: bool,
}

/// Places in [`CsvTrace::unreadable`].
const SPEED: usize = 0;
const TE: usize = 1;
const AIR: usize = 2;

impl CsvTrace {
    /// Reads as far as the header.
    ///
    /// # Errors
    /// No header, one without time or static pressure or a column that `columns` names, or bytes
    /// that are not text.
    pub fn open(name: &str, input: Box<dyn BufRead>, columns: &ColumnMap) -> Result<Self> {
        let mut lines = Lines::new(input);
        let header = loop {
            let line = lines.next().map_err(|source| Error::io("cannot read", name, source))?;
            let line = line.ok_or_else(|| no_header(name))?;
            refuse_binary(name, &line)?;
            if !is_passed_over(line.text) {
                break line;
            }
        };
        let mut row = Row::new(delimiter_of(header.text));
        row.split(header.text);
        refuse_numbers(name, header.number, &row)?;
        let names = row.names();
        let layout = Layout::find(&Header { file: name, line: header.number, names }, columns)
            .map_err(Error::Data)?;
        Ok(Self {
            file: name.into(),
            lines,
            row,
            columns: columns.clone(),
            layout,
            earlier: Vec::new(),
            unreadable: Default::default(),
            truth: Truth::default(),
            position: None,
            has_ended: false,
        })
    }

    fn read(&mut self) -> io::Result<Option<Item>> {
        while let Some(line) = self.lines.next()? {
            if is_passed_over(line.text) {
                continue;
            }
            if line.is_cut {
                return Ok(Some(skipped(&line, LINE_TOO_LONG.into(), line.text)));
            }
            self.row.split(line.text);
            if is_header_again(&self.row, &self.layout) {
                let header =
                    Header { file: &self.file, line: line.number, names: self.row.names() };
                if let Ok(layout) = Layout::find(&header, &self.columns) {
                    self.earlier.extend(self.layout.inertial.notes());
                    self.earlier.extend(self.layout.position.notes());
                    self.layout = layout;
                    continue;
                }
            }
            let item = item(&line, &self.row, &mut self.layout, &mut self.unreadable);
            if item.is_some() {
                self.truth = truth(&self.row, &self.layout);
                let row = &self.row;
                self.position = self.layout.position.read(line.number, |index| row.field(index));
                return Ok(item);
            }
        }
        Ok(None)
    }
}

impl Trace for CsvTrace {
    fn next(&mut self) -> Option<Result<Item>> {
        if self.has_ended {
            return None;
        }
        let item =
            self.read().map_err(|source| Error::io("cannot read", &self.file, source)).transpose();
        self.has_ended = !matches!(item, Some(Ok(_)));
        item
    }

    fn has_inertial(&self) -> bool {
        self.layout.inertial.has_sensor()
    }

    fn notes(&self) -> Vec<String> {
        let optional = [
            self.layout.speed.as_ref().map(|(_, column)| column),
            self.layout.te_pressure.as_ref(),
            self.layout.outside_air.as_ref(),
        ];
        let unreadable = optional.into_iter().zip(&self.unreadable);
        let unreadable = unreadable.filter_map(|(column, tally)| tally.note(&column?.name, "row"));
        let inertial = self.earlier.iter().cloned().chain(self.layout.inertial.notes());
        let motion = inertial.chain(self.layout.position.notes());
        self.layout.notes().iter().cloned().chain(unreadable).chain(motion).collect()
    }

    fn truth(&self) -> Truth {
        self.truth
    }

    fn position(&self) -> Option<Position> {
        self.position
    }

    fn format(&self) -> &'static str {
        "csv"
    }
}

/// Whether a row names the time and the static pressure as the header did.
fn is_header_again(row: &Row, layout: &Layout) -> bool {
    [&layout.time, &layout.static_pressure].iter().all(|column| {
        let field = row.field(column.index);
        field.is_some_and(|field| field.eq_ignore_ascii_case(column.name.as_bytes()))
    })
}

/// The content of a row; `None` for an empty one, such as a spreadsheet leaves at the end.
fn item(
    line: &Line<'_>,
    row: &Row,
    layout: &mut Layout,
    unreadable: &mut [Unreadable; 3],
) -> Option<Item> {
    let skip = |reason: String, found: &[u8]| Some(skipped(line, reason, found));
    let required = (row.field(layout.time.index), row.field(layout.static_pressure.index));
    let (Some(time), Some(pressure)) = required else {
        return if row.is_empty() { None } else { skip("too few fields".into(), line.text) };
    };
    if row.fields().skip(layout.width).any(|field| !field.is_empty()) {
        return skip("more fields than the header".into(), line.text);
    }
    let time = match number::micros(time, layout.time.decimal_places()) {
        Ok(time) => Micros(time),
        Err(NoTime::OutOfRange) => {
            return skip(format!("{} beyond 1e12 s", layout.time.name), time);
        }
        Err(NoTime::NotANumber) if row.is_empty() => return None,
        Err(NoTime::NotANumber) => return skip(no_number(&layout.time), time),
    };
    let static_pressure = match number::field(pressure) {
        Field::Absent => None,
        Field::Value(value) => match layout.static_pressure.convert(value) {
            Some(pressure) => Some(Pascal(pressure)),
            None => return skip(no_number(&layout.static_pressure), pressure),
        },
        Field::Unreadable => return skip(no_number(&layout.static_pressure), pressure),
    };
    let mut optional = |column: &Column, tally: usize| {
        let field = row.field(column.index)?;
        let value = match number::field(field) {
            Field::Absent => return None,
            Field::Value(value) => column.convert(value),
            Field::Unreadable => None,
        };
        if value.is_none() {
            unreadable[tally].add(line.number, field);
        }
        value
    };
    let speed = layout.speed.as_ref().and_then(|(form, column)| {
        let value = optional(column, SPEED)?;
        Some(match form {
            SpeedForm::Dynamic => Speed::Dynamic(Pascal(value)),
            SpeedForm::True => Speed::True(MetrePerSecond(value)),
            SpeedForm::Calibrated => Speed::Calibrated(MetrePerSecond(value)),
        })
    });
    let te_pressure =
        layout.te_pressure.as_ref().and_then(|column| optional(column, TE)).map(Pascal);
    let outside_air =
        layout.outside_air.as_ref().and_then(|column| optional(column, AIR)).map(Kelvin);
    let (inertial, ground_velocity) =
        layout.inertial.read(line.number, time, |index| row.field(index));
    let sample = Sample {
        time,
        static_pressure,
        speed,
        te_pressure,
        outside_air,
        inertial,
        ground_velocity,
    };
    if is_empty(&sample) {
        return skip(no_number(&layout.static_pressure), pressure);
    }
    Some(Item::Sample { line: line.number, sample })
}

/// Whether a sample has nothing but its time.
fn is_empty(sample: &Sample) -> bool {
    let of_time = Sample::of_static(sample.time, Pascal(0.0));
    *sample == Sample { static_pressure: None, ..of_time }
}

/// The true values in the row.
fn truth(row: &Row, layout: &Layout) -> Truth {
    let [air_mps, vertical_mps, climb_mps] = layout.truth.map(|index| value(row.field(index?)?));
    Truth { air_mps, vertical_mps, climb_mps }
}

fn value(field: &[u8]) -> Option<f64> {
    match number::field(field) {
        Field::Value(value) => Some(value),
        Field::Absent | Field::Unreadable => None,
    }
}

fn no_number(column: &Column) -> String {
    format!("no number in {}", column.name)
}

fn skipped(line: &Line<'_>, reason: String, found: &[u8]) -> Item {
    Item::Skipped(Skipped { line: line.number, reason, found: excerpt(found) })
}

fn is_passed_over(line: &[u8]) -> bool {
    matches!(line.trim_ascii_start().first(), None | Some(b'#'))
}

/// The most frequent of the three in the header outside quotes; a comma if none occurs.
fn delimiter_of(header: &[u8]) -> u8 {
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
    // The last of equals is the greatest.
    [b'\t', b';', b','].into_iter().max_by_key(|delimiter| count(*delimiter)).unwrap_or(b',')
}

/// The fields of one line; where there are quotes, the splitting is csv-core's.
struct Row {
    delimiter: u8,
    splitter: Reader,
    text: Vec<u8>,
    ends: Vec<usize>,
    count: usize,
}

impl Row {
    fn new(delimiter: u8) -> Self {
        let splitter =
            ReaderBuilder::new().delimiter(delimiter).terminator(Terminator::Any(b'\n')).build();
        Self { delimiter, splitter, text: vec![0; 1024], ends: vec![0; 64], count: 0 }
    }

    fn split(&mut self, line: &[u8]) {
        if line.contains(&b'"') {
            self.split_quoted(line);
        } else {
            self.split_plain(line);
        }
    }

    fn split_plain(&mut self, line: &[u8]) {
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

    fn split_quoted(&mut self, line: &[u8]) {
        self.splitter.reset();
        let (mut rest, mut written) = (line, 0);
        self.count = 0;
        loop {
            let (text, ends) = (&mut self.text[written..], &mut self.ends[self.count..]);
            let (result, read, wrote, ended) = self.splitter.read_record(rest, text, ends);
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

    fn names(&self) -> Vec<String> {
        self.fields().map(|field| String::from_utf8_lossy(field).into_owned()).collect()
    }

    fn field(&self, index: usize) -> Option<&[u8]> {
        let end = *self.ends[..self.count].get(index)?;
        let start = if index == 0 { 0 } else { self.ends[index - 1] };
        Some(self.text[start..end].trim_ascii())
    }

    fn fields(&self) -> impl Iterator<Item = &[u8]> {
        (0..self.count).filter_map(|index| self.field(index))
    }

    fn is_empty(&self) -> bool {
        self.fields().all(<[u8]>::is_empty)
    }
}

fn no_header(file: &str) -> Complaint {
    Complaint {
        file: file.into(),
        line: None,
        column: None,
        found: "no line of text".into(),
        expected: "a line with the names of the columns, such as time_s,static_pa".into(),
        hint: None,
    }
}

fn refuse_binary(file: &str, line: &Line<'_>) -> Result<()> {
    let refusal = |found: &str, hint: &str| {
        Err(Error::from(Complaint {
            file: file.into(),
            line: Some(line.number),
            column: None,
            found: found.into(),
            expected: "plain text in UTF-8, a row on each line".into(),
            hint: Some(hint.into()),
        }))
    };
    if let Some(complaint) = line.utf16_complaint(file) {
        return Err(complaint.into());
    }
    if line.text.iter().any(|byte| byte.is_ascii_control() && !matches!(byte, b'\t' | b'\r')) {
        return refusal(
            "bytes that are not text",
            "export the recording as CSV; an IGC flight log is named .igc",
        );
    }
    if line.text.contains(&b'\r') {
        return refusal(
            "lines that end in CR alone",
            "save the file with LF or CR LF at the ends of lines",
        );
    }
    if line.is_cut {
        return refusal("a line longer than 64 KiB", "check that this is a CSV file");
    }
    Ok(())
}

fn refuse_numbers(file: &str, line: u64, row: &Row) -> Result<()> {
    let mut fields = row.fields().filter(|field| !field.is_empty());
    if row.is_empty() || !fields.all(|field| matches!(number::field(field), Field::Value(_))) {
        return Ok(());
    }
    Err(Error::from(Complaint {
        file: file.into(),
        line: Some(line),
        column: None,
        found: "numbers in the first row".into(),
        expected: "a line with the names of the columns, such as time_s,static_pa".into(),
        hint: Some(
            "add a header row; if its names are your own, give --columns time=NAME,static=NAME"
                .into(),
        ),
    }))
}

#[cfg(test)]
mod tests;
