//! The readings as CSV, one line a sample.
//!
//! Columns, in this order; a value that is absent is an empty field:
//!
//! | column | meaning |
//! |---|---|
//! | `time_s` | the trace's own time, to the microsecond |
//! | `altitude_m` | pressure altitude of the standard atmosphere, not filtered |
//! | `altimeter_m` | the same relative to the altimeter's subscale setting |
//! | `tas_mps` | true airspeed |
//! | `vertical_speed_mps` | filtered, not compensated |
//! | `te_vertical_speed_mps` | filtered, compensated for total energy |
//! | `average_mps` | mean of the vertical speed that sounds |
//! | `climb_average_mps` | its mean since the present climb began; empty outside climbs |
//! | `climb_gain_m` | energy height gained in it |
//! | `netto_mps` | vertical speed of the air; like the next two it needs a polar and an airspeed |
//! | `relative_netto_mps` | what the glider would climb at if it circled here |
//! | `speed_to_fly_mps` | best indicated airspeed towards the expected climb |
//! | `tone_hz` | pitch, of a cruise pair its first note's; empty in silence |
//! | `cadence_hz` | beeps or pairs a second; 0 for the steady sink tone, empty in silence |
//! | `sounding` | 1 while the gate is open at the sample's time, else 0 |
//! | `status` | status of the sample, one word |
//!
//! A trace with an inertial sensor has these as well, at the end; empty where there is none or it
//! has no reading:
//!
//! | column | meaning |
//! |---|---|
//! | `inertial_climb_mps` | what the sensor says of the compensated climb |
//! | `inertial_deviation_mps` | standard deviation of its error, as the filter has it |
//! | `inertial_vertical_speed_mps` | its vertical speed, not compensated |
//! | `load_factor` | specific force along the lift, in g |
//! | `bank_rad` | bank, right wing down positive |
//! | `inertial_trust` | whether it is trusted, and why not, one word |
//! | `inertial_weight` | how much of what sounds comes from it, 0 to 1 |
//! | `inertial_remark` | what is odd about the sensor, one word; empty where nothing is |

use super::Output;
use super::decimals::{push, push_seconds};
use super::figures::{self, FIGURES, Figure, INERTIAL_FIGURES};
use super::place::{Placed, Sealed};
use super::sizes::Sizes;
use crate::error::{Error, Result};
use crate::replay::{Listening, Row};
use crate::waiting::Waiting;
use crate::words::shown_path;
use chirrup_core::{Aided, Reading};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

/// How many of an inertial sensor's figures stand before the word of trust; the weight is after it.
const BEFORE_TRUST: usize = INERTIAL_FIGURES.len() - 1;

/// A CSV file being written; with two instruments it holds the first.
pub struct CsvOutput {
    path: PathBuf,
    /// Whether it is standard output: asked for every row, and paths compare slowly.
    is_stream: bool,
    file: Placed,
    has_inertial: bool,
    /// Rows whose inertial reading has no columns.
    left_out: u64,
    bytes: u64,
    /// The row being written.
    line: Vec<u8>,
}

impl CsvOutput {
    /// Begins the file with its header; `has_inertial` where the trace has an inertial sensor.
    ///
    /// # Errors
    /// When the folder is missing or cannot be written.
    pub fn create(path: &Path, has_inertial: bool) -> Result<Self> {
        let mut file = Placed::create(path)?;
        writeln!(file, "{}", header(has_inertial))
            .map_err(|source| Error::io("cannot write", path, source))?;
        Ok(Self {
            path: path.to_owned(),
            is_stream: path == Path::new("-"),
            file,
            has_inertial,
            left_out: 0,
            bytes: 0,
            line: Vec::new(),
        })
    }

    fn write_row(&mut self, row: &Row) -> io::Result<()> {
        let reading = &row.readings.left;
        self.line.clear();
        push_row(&mut self.line, reading, row.sounding.left);
        let aided = reading.values.as_ref().and_then(|values| values.inertial);
        if self.has_inertial {
            push_inertial(&mut self.line, aided.as_ref());
        } else {
            self.left_out += u64::from(aided.is_some());
        }
        self.line.push(b'\n');
        self.bytes += self.line.len() as u64;
        self.file.write_all(&self.line)
    }
}

impl Output for CsvOutput {
    fn row(&mut self, row: &Row) -> Result<()> {
        self.write_row(row).map_err(|source| Error::io("cannot write", &self.path, source))
    }

    fn listening(&self) -> Listening {
        Listening::Rows
    }

    fn empty_before(&self, waiting: &Waiting) {
        self.file.empty_before(waiting);
    }

    fn bytes(&self) -> Sizes {
        // What goes to standard output is on nobody's disk yet.
        Sizes { readings: if self.is_stream { 0 } else { self.bytes }, ..Sizes::default() }
    }

    fn notes(&self) -> Vec<String> {
        let note = format!(
            "{}: the trace's first header has no inertial sensor, so there are no columns for its \
             readings, which come in {} rows",
            shown_path(&self.path),
            self.left_out
        );
        if self.left_out > 0 { vec![note] } else { Vec::new() }
    }

    fn finish(self: Box<Self>) -> Result<Vec<Sealed>> {
        Ok(vec![self.file.seal()?])
    }
}

/// The header line, in the order of [`push_row`] and [`push_inertial`].
fn header(has_inertial: bool) -> String {
    let names = |figures: &[Figure]| -> String {
        figures.iter().map(|figure| format!(",{}", figure.name)).collect()
    };
    let mut header = format!("time_s{},sounding,status", names(&FIGURES));
    if has_inertial {
        let (before_trust, after) = INERTIAL_FIGURES.split_at(BEFORE_TRUST);
        header += &format!("{},inertial_trust{}", names(before_trust), names(after));
        header += ",inertial_remark";
    }
    header
}

fn push_row(line: &mut Vec<u8>, reading: &Reading, sounding: bool) {
    push_seconds(line, reading.time);
    let figures = reading.values.as_ref().map_or([None; FIGURES.len()], figures::of);
    push_figures(line, &figures, &FIGURES);
    line.extend_from_slice(&[b',', b'0' + u8::from(sounding), b',']);
    line.extend_from_slice(reading.status.name().as_bytes());
}

fn push_inertial(line: &mut Vec<u8>, aided: Option<&Aided>) {
    let figures = figures::of_inertial(aided);
    push_figures(line, &figures[..BEFORE_TRUST], &INERTIAL_FIGURES[..BEFORE_TRUST]);
    push_word(line, aided.map_or("", |aided| aided.trust.name()));
    push_figures(line, &figures[BEFORE_TRUST..], &INERTIAL_FIGURES[BEFORE_TRUST..]);
    push_word(line, aided.and_then(|aided| aided.remark).map_or("", |remark| remark.name()));
}

/// The figures with their decimals, a comma before each; an empty field for one that is absent.
fn push_figures(line: &mut Vec<u8>, figures: &[Option<f32>], columns: &[Figure]) {
    for (figure, column) in figures.iter().zip(columns) {
        line.push(b',');
        if let Some(value) = figure {
            push(line, *value, column.decimals);
        }
    }
}

fn push_word(line: &mut Vec<u8>, word: &str) {
    line.push(b',');
    line.extend_from_slice(word.as_bytes());
}
