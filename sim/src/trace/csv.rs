//! Traces in CSV: a header that names the columns, then one sample a row.
//!
//! ```text
//! # blank lines and lines that begin with # are skipped, before the header too
//! time_s;static_pa;tas_mps
//! 0,00;101325;
//! 0,02;101324,5;27,3
//! ```
//!
//! Fields are separated by commas, semicolons, tabs or bars, whichever is most frequent in the
//! header, or by what a line `sep=;` before it says. Numbers have a decimal point, or a decimal
//! comma where the comma is not the separator (or in quotes). The first rows are looked at before
//! any is returned: they show how numbers are written, which unit a column has whose name does not
//! say it, what kind of clock the time is, and whether rows must be sorted or spread.
//!
//! A row is a line: a quoted field cannot hold a line end, so that one stray quote costs one row
//! and not the rest of the file. Columns that no channel needs are ignored. A header may come again
//! in the middle and may name other columns, as an instrument's log does once it has found a
//! further sensor: what follows is read by it.
//!
//! An empty field is no new measurement, whatever the column: a row may lack any but its time, and
//! is skipped only if it has nothing else. A row whose time or static pressure cannot be read is
//! skipped. An unreadable optional field is counted and reported in the notes.

use super::calendar::{self, SlashOrder};
use super::column::Column;
use super::columns::ColumnMap;
use super::feed::Feed;
use super::first::{First, Waiting, is_passed_over};
use super::header::Header;
use super::layout::{Layout, SpeedForm};
use super::lines::{LINE_TOO_LONG, Line, Lines, excerpt};
use super::number::{self, Field, NoTime, Style};
use super::order::Order;
use super::row::{Row, delimiter_of};
use super::suffice::Suffice;
use super::unreadable::Unreadable;
use super::{Item, Position, Skipped, Trace};
use crate::error::{Complaint, Error, Result};
use crate::truth::Truth;
use chirrup_core::{Kelvin, MetrePerSecond, Micros, Pascal, Sample, Speed};
use std::io::BufRead;

/// A CSV trace that is being read.
pub struct CsvTrace {
    file: String,
    feed: Feed,
    row: Row,
    layout: Layout,
    /// The row before, where every row is there twice.
    twin: Option<Vec<u8>>,
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
        let cannot = |source| Error::io("cannot read", name, source);
        let mut lines = Lines::new(input).map_err(cannot)?;
        let (header, delimiter) = header_line(name, &mut lines)?;
        let mut row = Row::new(delimiter);
        row.split(&header.text);
        let has_names = !is_of_values(&row);
        let names = names_of(&row);
        let mut suffice = Suffice::of(&names, columns, delimiter);
        let before = (!has_names).then(|| header.clone());
        let first = First::read(&mut lines, delimiter, before, |row| suffice.is_clear(row));
        let style = first.style();
        let line = header.number;
        let header = Header { file: name, line, names, has_names, first: &first, style };
        let layout = Layout::find(&header, columns).map_err(Error::Data)?;
        let order = Order::of(&first, &layout, delimiter);
        let feed = Feed::new(name, (lines, first), &layout, &mut row, order)?;
        Ok(Self {
            file: name.into(),
            feed,
            row,
            layout,
            twin: order.has_twins.then(Vec::new),
            earlier: Vec::new(),
            unreadable: Default::default(),
            truth: Truth::default(),
            position: None,
            has_ended: false,
        })
    }

    /// The next item, made where it is returned: it is large.
    fn read(&mut self) -> Option<Result<Item>> {
        loop {
            let (line, moment_us) = match self.feed.next(&mut self.row, &mut self.layout) {
                Ok(Some(row)) => row,
                Ok(None) => return None,
                Err(source) => return Some(Err(Error::io("cannot read", &self.file, source))),
            };
            if is_passed_over(line.text) {
                continue;
            }
            if line.is_cut {
                return Some(Ok(skipped(&line, LINE_TOO_LONG.into(), line.text)));
            }
            self.row.split(line.text);
            if self.layout.is_header_again(&self.row)
                && let Some(layout) = layout_again(&self.file, &line, &self.row, &self.layout)
            {
                self.earlier.extend(self.layout.inertial.notes());
                self.earlier.extend(self.layout.position.notes());
                self.layout = layout;
                continue;
            }
            if let Some(twin) = &mut self.twin {
                if *twin == line.text {
                    twin.clear();
                    return Some(Ok(skipped(&line, "the row before again".into(), line.text)));
                }
                line.text.clone_into(twin);
            }
            let row = &self.row;
            if let Some(item) = item(&line, moment_us, row, &mut self.layout, &mut self.unreadable)
            {
                self.truth = truth(row, &self.layout);
                self.position = self.layout.position.read(line.number, |index| row.field(index));
                return Some(Ok(item));
            }
        }
    }
}

/// The layout by a header in the middle of a file; `None` where it cannot be one.
fn layout_again(file: &str, line: &Line<'_>, row: &Row, before: &Layout) -> Option<Layout> {
    let header = Header {
        file,
        line: line.number,
        names: row.names(),
        has_names: true,
        first: &First::default(),
        style: before.style,
    };
    let mut layout = Layout::find(&header, &before.settled).ok()?;
    layout.clock = before.clock.clone();
    Some(layout)
}

impl Trace for CsvTrace {
    fn next(&mut self) -> Option<Result<Item>> {
        if self.has_ended {
            return None;
        }
        let item = self.read();
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
        let clock = self.layout.clock.note(&self.layout.time.name);
        let of_rows = clock.into_iter().chain(self.feed.notes()).chain(unreadable);
        self.layout.notes().iter().cloned().chain(of_rows).chain(motion).collect()
    }

    fn truth(&self) -> Truth {
        self.truth
    }

    fn position(&self) -> Option<Position> {
        self.position
    }

    /// Known once the first sample has been returned.
    fn utc_start_s(&self) -> Option<f64> {
        self.layout.clock.utc_start_s()
    }

    /// Known once the first sample has been returned.
    fn date(&self) -> Option<String> {
        self.layout.clock.date()
    }

    fn format(&self) -> &'static str {
        "csv"
    }
}

/// The content of a row; `None` for an empty one, such as a spreadsheet leaves at the end.
#[inline(always)]
fn item(
    line: &Line<'_>,
    moment_us: Option<i64>,
    row: &Row,
    layout: &mut Layout,
    unreadable: &mut [Unreadable; 3],
) -> Option<Item> {
    let skip = |reason: String, found: &[u8]| Some(skipped(line, reason, found));
    let required = (row.field(layout.time.index), row.field(layout.static_pressure.index));
    let (Some(time), Some(pressure)) = required else {
        return if row.is_empty() { None } else { skip("too few fields".into(), line.text) };
    };
    if row.fields_from(layout.width).any(|field| !field.is_empty()) {
        return skip("more fields than the header".into(), line.text);
    }
    let time = match moment_us.map_or_else(|| layout.clock.read(time), Ok) {
        Ok(moment_us) => Micros(layout.clock.on_trace(moment_us)),
        Err(NoTime::OutOfRange) => {
            return skip(format!("{} beyond 1e12 s", layout.time.name), time);
        }
        Err(NoTime::NotANumber) if row.is_empty() => return None,
        Err(NoTime::NotANumber) => return skip(layout.no_time(), time),
    };
    let static_pressure = match layout.static_pressure.number(pressure) {
        Field::Absent => None,
        Field::Value(value) => match layout.static_pressure.convert(value) {
            Some(pressure) => Some(Pascal(pressure)),
            None => return skip(no_number(&layout.static_pressure), pressure),
        },
        Field::Unreadable => return skip(no_number(&layout.static_pressure), pressure),
    };
    let mut optional = |column: &Column, tally: usize| {
        let field = row.field(column.index)?;
        let value = match column.number(field) {
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
    if static_pressure.is_none() && sample.is_empty() {
        return skip(no_number(&layout.static_pressure), pressure);
    }
    Some(Item::Sample { line: line.number, sample })
}

/// The true values in the row.
#[inline]
fn truth(row: &Row, layout: &Layout) -> Truth {
    let [air_mps, vertical_mps, climb_mps] =
        layout.truth.map(|index| value(row.field(index?)?, layout.style));
    Truth { air_mps, vertical_mps, climb_mps }
}

fn value(field: &[u8], style: Style) -> Option<f64> {
    match number::field(field, style) {
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

/// The names of the columns, for whoever is to choose among them; numbers where there are none.
///
/// # Errors
/// No header, or bytes that are not text.
pub(super) fn column_names(name: &str, input: Box<dyn BufRead>) -> Result<Vec<String>> {
    let mut lines = Lines::new(input).map_err(|source| Error::io("cannot read", name, source))?;
    let (header, delimiter) = header_line(name, &mut lines)?;
    let mut row = Row::new(delimiter);
    row.split(&header.text);
    Ok(names_of(&row))
}

/// What the columns of the first line are called.
fn names_of(first: &Row) -> Vec<String> {
    if is_of_values(first) {
        (1..=first.fields().count()).map(|number| format!("#{number}")).collect()
    } else {
        first.names()
    }
}

/// The line with the names of the columns, and what separates them.
fn header_line(name: &str, lines: &mut Lines) -> Result<(Waiting, u8)> {
    let mut said = None;
    loop {
        let line = lines.next().map_err(|source| Error::io("cannot read", name, source))?;
        let line = line.ok_or_else(|| no_header(name))?;
        refuse_binary(name, &line)?;
        if is_passed_over(line.text) {
            continue;
        }
        if said.is_none() {
            said = separator(line.text);
            if said.is_some() {
                continue;
            }
        }
        refuse_other_text(name, &line)?;
        return Ok((Waiting::of(&line), said.unwrap_or_else(|| delimiter_of(line.text))));
    }
}

/// What `sep=;` says, which spreadsheets write and read.
fn separator(line: &[u8]) -> Option<u8> {
    let line = line.strip_prefix(b"\"").unwrap_or(line);
    let (word, rest) = line.split_at_checked(4)?;
    let rest = rest.strip_suffix(b"\"").unwrap_or(rest);
    match rest {
        [separator] if word.eq_ignore_ascii_case(b"sep=") => Some(*separator),
        _ => None,
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

fn refusal(file: &str, line: &Line<'_>, found: &str, hint: &str) -> Result<()> {
    Err(Error::from(Complaint {
        file: file.into(),
        line: Some(line.number),
        column: None,
        found: found.into(),
        expected: "plain text in UTF-8, a row on each line".into(),
        hint: Some(hint.into()),
    }))
}

fn refuse_binary(file: &str, line: &Line<'_>) -> Result<()> {
    // Escape and bell are what a terminal leaves in copied text.
    let is_text = |byte: u8| !byte.is_ascii_control() || matches!(byte, b'\t' | b'\r' | 7 | 27);
    if !line.text.iter().all(|byte| is_text(*byte)) {
        return refusal(
            file,
            line,
            "bytes that are not text",
            "export the recording as CSV; an IGC flight log is named .igc",
        );
    }
    if line.text.contains(&b'\r') {
        return refusal(
            file,
            line,
            "lines of which some end in CR alone",
            "save the file with one kind of line ends",
        );
    }
    if line.is_cut {
        return refusal(file, line, "a line longer than 64 KiB", "check that this is a CSV file");
    }
    Ok(())
}

/// Refuses text of a kind that has no rows.
fn refuse_other_text(file: &str, line: &Line<'_>) -> Result<()> {
    let hint = "export the recording as CSV: a line of names, such as time_s,static_pa, then rows";
    match line.text.trim_ascii_start().first() {
        Some(b'<') => refusal(file, line, "a web page or XML", hint),
        Some(b'{' | b'[') => refusal(file, line, "JSON", hint),
        _ => Ok(()),
    }
}

/// Whether the first row is none of names: every field is a number or a time.
fn is_of_values(row: &Row) -> bool {
    let mut fields = row.fields().filter(|field| !field.is_empty());
    let is_value = |field: &[u8]| {
        matches!(number::field(field, Style::default()), Field::Value(_))
            || calendar::date_and_time(field, SlashOrder::None).is_some()
            || calendar::time_of_day(field).is_some()
    };
    !row.is_empty() && fields.all(is_value)
}

#[cfg(test)]
mod tests;
