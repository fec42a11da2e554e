//! Recordings of real flights and sensors made by others: see `shared/real-flights/README.md`
//! beside the project.
//!
//! They are not part of the project. Where they are absent the tests say that they were skipped,
//! and fail instead where `REQUIRE_REAL_FLIGHTS=1` is set.
//!
//! The expected counts come from other tools, with `LC_ALL=C` and the file's name last:
//! `grep -ac '^B'` for all B records, `grep -acE '^B[0-9]{6}.{17}[AV](-[0-9]{4}|[0-9]{5})'` for the
//! well-formed ones.

use super::*;
use crate::trace::columns::ColumnMap;
use chirrup_core::{Kelvin, MetrePerSecond, Micros, Sample, Speed, pressure_altitude};
use std::collections::BTreeMap;
use std::fs::File;
use std::io::BufReader;
use std::path::Path;

fn input(name: &str) -> Option<Box<dyn BufRead>> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../shared/real-flights").join(name);
    match File::open(&path) {
        Ok(file) => Some(Box::new(BufReader::new(file))),
        Err(error) => {
            let is_required = std::env::var("REQUIRE_REAL_FLIGHTS").is_ok_and(|value| value == "1");
            assert!(!is_required, "{name} cannot be read: {error}");
            skipped_notice(name);
            None
        }
    }
}

#[allow(clippy::print_stderr)]
fn skipped_notice(name: &str) {
    eprintln!(
        "SKIPPED: shared/real-flights/{name} is not here; set REQUIRE_REAL_FLIGHTS=1 to make \
         this a failure"
    );
}

#[derive(Default)]
struct Read {
    samples: Vec<Sample>,
    recorded_te_mps: Vec<f32>,
    skipped: BTreeMap<String, Vec<u64>>,
    notes: Vec<String>,
    utc_start_s: Option<f64>,
    date: Option<String>,
}

impl Read {
    fn add(&mut self, item: Result<Item>) {
        match item.expect("the file can be read") {
            Item::Sample { sample, .. } => self.samples.push(sample),
            Item::Skipped(skipped) => {
                self.skipped.entry(skipped.reason).or_default().push(skipped.line)
            }
        }
    }

    fn times_s(&self) -> Vec<f64> {
        self.samples.iter().map(|sample| sample.time.0 as f64 / 1e6).collect()
    }

    fn altitudes_m(&self) -> Vec<i32> {
        let altitude = |sample: &Sample| {
            pressure_altitude(sample.static_pressure.expect("it has one")).0.round() as i32
        };
        self.samples.iter().map(altitude).collect()
    }
}

fn flight(name: &str) -> Option<Read> {
    let mut trace = IgcTrace::open(name, input(name)?).expect("there is a first line");
    let mut read = Read::default();
    while let Some(item) = trace.next() {
        read.add(item);
        read.recorded_te_mps.extend(trace.recorded_climb_mps());
    }
    (read.notes, read.utc_start_s, read.date) = (trace.notes(), trace.utc_start_s(), trace.date());
    Some(read)
}

fn table(name: &str, columns: &str) -> Option<Read> {
    let columns: ColumnMap = columns.parse().expect("it names columns");
    let mut trace =
        crate::trace::open(name, input(name)?, &columns).expect("the columns are there");
    let mut read = Read::default();
    while let Some(item) = trace.next() {
        read.add(item);
    }
    read.notes = trace.notes();
    Some(read)
}

#[test]
fn the_sailplane_flight_is_read_whole_with_airspeed_and_the_recorders_own_vario() {
    let Some(read) = flight("sailplane-1hz-tas-vat.igc") else { return };
    // grep: 19448 of 19448 B records. The first is 11:22:54, the last 16:47:10.
    assert_eq!((read.samples.len(), read.skipped.len()), (19_448, 0));
    assert_eq!(
        (read.utc_start_s, read.times_s().last().copied()),
        (Some(40_974.0), Some(19_456.0))
    );
    assert_eq!(read.date.as_deref(), Some("2023-07-04"));
    let altitudes = read.altitudes_m();
    assert_eq!((altitudes.iter().min(), altitudes.iter().max()), (Some(&957), Some(&3_083)));
    // Sums by awk of substr($0,42,5), substr($0,55,5) and substr($0,60,4) over the B records.
    let speeds = read.samples.iter().map(|sample| match sample.speed {
        Some(Speed::True(speed)) => f64::from(speed.0),
        other => panic!("{other:?}"),
    });
    let sum_of_tas = speeds.sum::<f64>() * 360.0;
    let sum_of_vat =
        read.recorded_te_mps.iter().map(|speed| f64::from(*speed)).sum::<f64>() * 100.0;
    let air =
        read.samples.iter().map(|sample| sample.outside_air.expect("it is recorded").0 - 273.15);
    let sum_of_oat = air.map(f64::from).sum::<f64>() * 10.0;
    approx::assert_relative_eq!(sum_of_tas, 290_116_973.0, max_relative = 1e-6);
    approx::assert_abs_diff_eq!(sum_of_vat, 835.0, epsilon = 1.0);
    approx::assert_relative_eq!(sum_of_oat, 1_657_034.0, max_relative = 1e-5);
}

#[test]
fn corrupt_records_are_counted_by_line_and_nothing_else_is_lost() {
    let Some(read) = flight("corrupt-records.igc") else { return };
    // grep: 831 of 891 B records; the other 60 are lines 197 to 256, a letter too far to the right
    // (grep -n, -v).
    assert_eq!(read.samples.len(), 831);
    let expected =
        BTreeMap::from([("no A or V in column 25".to_owned(), (197..=256).collect::<Vec<u64>>())]);
    assert_eq!(read.skipped, expected);
    assert_eq!(read.times_s().last(), Some(&890.0));
    // grep -acE '^B.{23}V' gives 164.
    assert_eq!(read.notes, ["164 records without a GNSS fix used for the pressure altitude"]);
}

#[test]
fn time_runs_on_over_midnight() {
    let Some(read) = flight("midnight-mixed-rate.igc") else { return };
    // grep: 6752 of 6752 B records, from 22:43:17 to 04:43:01: 5 h 59 min 44 s.
    assert_eq!((read.samples.len(), read.skipped.len()), (6_752, 0));
    assert!(read.times_s().windows(2).all(|two| two[1] > two[0]));
    assert_eq!(
        (read.utc_start_s, read.times_s().last().copied()),
        (Some(81_797.0), Some(21_584.0))
    );
    assert_eq!(read.notes, ["UTC midnight passes during the flight"]);
}

#[test]
fn zeros_in_the_winch_launch_are_altitudes() {
    let Some(read) = flight("winch-launch-2s.igc") else { return };
    // grep: 3334 of 3334 B records; two with '^B.{23}A00000'.
    assert_eq!((read.samples.len(), read.skipped.len()), (3_334, 0));
    let altitudes = read.altitudes_m();
    assert_eq!(altitudes.iter().filter(|altitude| **altitude == 0).count(), 2);
    // awk over substr($0,26,5): the greatest difference over 15 records, from -40 m to 404 m at
    // 11:34:38.
    let launch = altitudes.windows(16).map(|some| some[15] - some[0]).max();
    assert_eq!(launch, Some(444));
}

#[test]
fn a_pressure_and_airspeed_log_is_read_by_its_own_columns() {
    let Some(read) = table("fixedwing-72hz-pressure-eas.csv", "time=t_s,static=p_pa,ias=eas_mps")
    else {
        return;
    };
    // wc -l: 10870 lines, 10869 under the header.
    assert_eq!((read.samples.len(), read.skipped.len()), (10_869, 0));
    assert_eq!(read.samples[1].time, Micros(8_211));
    assert_eq!(read.samples[1].speed, Some(Speed::Calibrated(MetrePerSecond(5.4672))));
    assert_eq!(read.notes, ["time from t_s (s), static from p_pa (Pa) and ias from eas_mps (m/s)"]);
}

#[test]
fn a_barometer_at_rest_is_read_by_its_own_columns() {
    let Some(read) = table("static-88hz.csv", "time=t_s,static=p_pa,oat=temp_c") else { return };
    // wc -l: 2296 lines, 2295 under the header.
    assert_eq!((read.samples.len(), read.skipped.len()), (2_295, 0));
    assert_eq!(read.samples[0].static_pressure, Some(chirrup_core::Pascal(100_983.71)));
    assert_eq!(read.samples[0].outside_air, Some(Kelvin::from_celsius(32.0)));
}
