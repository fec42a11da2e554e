//! CSV as found in practice, and every message that a user can get about one.

use super::*;
use crate::trace::testing::{is_finite, seeded};
use proptest::prelude::*;
use std::io;
use std::io::{BufReader, Cursor, Read};

fn open(text: impl AsRef<[u8]>, columns: &str) -> Result<CsvTrace> {
    let columns = columns.parse().expect("it names columns");
    CsvTrace::open("log.csv", Box::new(Cursor::new(text.as_ref().to_vec())), &columns)
}

/// Every item of a trace, and its notes.
fn read_all(mut trace: impl Trace) -> (Vec<Item>, Vec<String>) {
    let items =
        std::iter::from_fn(|| trace.next()).map(|item| item.expect("memory can be read")).collect();
    (items, trace.notes())
}

fn read(text: impl AsRef<[u8]>, columns: &str) -> (Vec<Item>, Vec<String>) {
    read_all(open(text, columns).expect("the header is good"))
}

/// Line, time in microseconds and static pressure in pascals of each sample.
fn samples(text: impl AsRef<[u8]>, columns: &str) -> Vec<(u64, i64, f32)> {
    let numbers = |item: Item| match item {
        Item::Sample { line, sample } => {
            (line, sample.time.0, sample.static_pressure.expect("it has one").0)
        }
        Item::Skipped(skipped) => panic!("{skipped:?}"),
    };
    read(text, columns).0.into_iter().map(numbers).collect()
}

fn skipped(text: impl AsRef<[u8]>) -> Vec<(u64, String, String)> {
    let reasons = |item| match item {
        Item::Sample { .. } => None,
        Item::Skipped(Skipped { line, reason, found }) => Some((line, reason, found)),
    };
    read(text, "").0.into_iter().filter_map(reasons).collect()
}

fn complaint(text: impl AsRef<[u8]>, columns: &str) -> String {
    open(text, columns).err().expect("the header cannot be used").to_string()
}

const TWO_ROWS: [(u64, i64, f32); 2] = [(2, 0, 101_325.0), (3, 20_000, 101_324.5)];

#[test]
fn commas_semicolons_and_tabs_part_fields_and_decimal_commas_are_read() {
    assert_eq!(samples("time_s,static_pa\n0,101325\n0.02,101324.5\n", ""), TWO_ROWS);
    assert_eq!(samples("time_s;static_pa\n0,0;101325\n0,02;101324,5\n", ""), TWO_ROWS);
    assert_eq!(samples("time_s\tstatic_pa\n0\t101325\n0,02\t101324.5\n", ""), TWO_ROWS);
    assert_eq!(samples("time_s,static_pa\n\"0,00\",101325\n\"0,02\",\"101324,5\"\n", ""), TWO_ROWS);
}

#[test]
fn bars_and_what_a_spreadsheet_says_separates_fields() {
    assert_eq!(samples("time_s|static_pa\n0|101325\n0,02|101324.5\n", ""), TWO_ROWS);
    for line in ["sep=;", "\"sep=;\"", "SEP=;\r"] {
        let found = samples(format!("{line}\ntime_s;static_pa\n0;101325\n0,02;101324,5\n"), "");
        let behind: Vec<_> = TWO_ROWS.iter().map(|(line, t, p)| (line + 1, *t, *p)).collect();
        assert_eq!(found, behind, "{line}");
    }
    assert_eq!(samples("sep=^\ntime_s^static_pa\n0^101325\n", ""), [(3, 0, 101_325.0)]);
}

#[test]
fn a_file_without_names_is_read_by_its_values_and_columns_can_be_named_by_number() {
    let rows = "0,00;101325,0\n0,02;101324,5\n";
    let (items, notes) = read(rows, "");
    assert_eq!(items.len(), 2);
    assert_eq!(notes, ["time from #1 (s) and static from #2 (Pa)"]);
    let moved = "5,0,101325\n6,0.02,101324.5\n";
    let expected: Vec<_> = TWO_ROWS.iter().map(|(line, t, p)| (line - 1, *t, *p)).collect();
    assert_eq!(samples(moved, "time=#2:s,static=#3"), expected);
    assert_eq!(samples("time_s,\x1b[2Jpa\n0,101325\n0.02,101324.5\n", "static=#2"), TWO_ROWS);
}

#[test]
fn thousands_are_read_where_marks_part_them() {
    let expected = [(2, 0, 101_325.0), (3, 1_000_000_000, 101_324.5)];
    for rows in [
        "0.0,\"101,325.0\"\n\"1,000.0\",\"101,324.5\"\n",
        "0.0,\"101,325\"\n\"1,000\",\"101,324.5\"\n",
        "0,101 325\n1 000,101 324.5\n",
        "0,101'325.0\n1'000.0,101'324.5\n",
    ] {
        assert_eq!(samples(format!("time_s,static_pa\n{rows}"), ""), expected, "{rows}");
    }
    let semicolons = "time_s;static_pa\n0,0;101.325,0\n1.000,0;101.324,5\n";
    assert_eq!(samples(semicolons, ""), expected);
}

/// Times in seconds of the samples, and the notes.
fn times(text: &str, columns: &str) -> (Vec<f64>, Vec<String>) {
    let (items, notes) = read(text, columns);
    let seconds = items.iter().map(|item| match item {
        Item::Sample { sample, .. } => sample.time.0 as f64 / 1e6,
        Item::Skipped(skipped) => panic!("{skipped:?}"),
    });
    (seconds.collect(), notes)
}

fn rows_at(times: &[&str]) -> String {
    times.iter().map(|time| format!("{time},90000\n")).collect()
}

#[test]
fn dates_and_times_of_day_begin_at_zero_and_are_told() {
    let stamps = ["2024-07-15T12:00:00Z", "2024-07-15T12:00:00.02Z", "2024-07-15T12:00:01.5Z"];
    let text = format!("time_s,static_pa\n{}", rows_at(&stamps));
    let (found, notes) = times(&text, "");
    assert_eq!(found, [0.0, 0.02, 1.5]);
    assert_eq!(notes, ["time_s holds dates and times; time 0 is 2024-07-15 12:00:00 UTC"]);
    let mut trace = open(&text, "").expect("the header is good");
    assert_eq!((trace.date(), trace.utc_start_s()), (None, None));
    assert!(trace.next().is_some());
    assert_eq!(trace.date().as_deref(), Some("2024-07-15"));
    assert_eq!(trace.utc_start_s(), Some(43_200.0));

    let stamps = ["2024-07-15,23:59:59.5", "2024-07-16,00:00:00.0", "2024-07-16,00:00:00.5"];
    let text = format!("Date,Time (UTC),Pressure (Pa)\n{}", rows_at(&stamps));
    let (found, notes) = times(&text, "");
    assert_eq!(found, [0.0, 0.5, 1.0]);
    assert!(notes[1].ends_with("time 0 is 2024-07-15 23:59:59 UTC"), "{notes:?}");
    let text = format!("Date,Time,Pressure (Pa)\n{}", rows_at(&stamps));
    let (found, notes) = times(&text, "");
    assert_eq!(found, [0.0, 0.5, 1.0]);
    assert_eq!(
        notes,
        [
            "time from Time and static from Pressure (Pa) (Pa)",
            "Time holds times of day; time 0 is 2024-07-15 23:59:59; the file does not say of \
             which zone"
        ]
    );
}

#[test]
fn a_row_whose_date_cannot_be_read_says_so() {
    let text = "time_s,static_pa\n2024-07-15T12:00:00,90000\n2024-07-15T12:00:01,90000\n\
                2024-07-35T12:00:02,90000\n";
    assert_eq!(
        skipped(text),
        [(4, "no date and time in time_s".into(), "2024-07-35T12:00:02".into())]
    );
}

#[test]
fn rows_that_share_a_second_are_spread_over_it() {
    let rows: String = (0..300).map(|row| format!("{},{}\n", row / 50, 90_000 + row)).collect();
    let (found, notes) = times(&format!("time_s,static_pa\n{rows}"), "");
    assert!(found.iter().enumerate().all(|(row, time)| (time - 0.02 * row as f64).abs() < 1e-9));
    assert_eq!(notes, ["300 rows spread over the second they share"]);
    // A clock of milliseconds, two rows each.
    let rows: String =
        (0..300).map(|row| format!("{},{}\n", row / 2 * 20 + 7, 90_000 + row)).collect();
    let (found, notes) = times(&format!("time_ms,static_pa\n{rows}"), "");
    let expected = |row: usize| 0.007 + 0.01 * row as f64;
    assert!(found.iter().enumerate().all(|(row, time)| (time - expected(row)).abs() < 1e-9));
    assert_eq!(notes[1], "300 rows spread over the time stamp they share");
}

#[test]
fn rows_of_several_sensors_at_one_moment_are_not_spread() {
    let text = "time_s,static_pa,ias_mps\n0,90000,\n0,,30\n1,90000,\n1,,30\n2,90000,\n2,,30\n";
    assert_eq!(times(text, "").0, [0.0, 0.0, 1.0, 1.0, 2.0, 2.0]);
}

#[test]
fn rows_that_run_backwards_or_anyhow_are_put_in_order() {
    let row = |place: usize| format!("{:.2},{}\n", 0.02 * place as f64, 90_000 + place);
    let expected: Vec<f64> = (0..500).map(|place| place as f64 * 0.02).collect();
    let is_expected = |found: &[f64]| {
        found.iter().zip(&expected).all(|(found, expected)| (found - expected).abs() < 1e-9)
    };
    let backwards: String = (0..500).rev().map(row).collect();
    let (found, notes) = times(&format!("time_s,static_pa\n{backwards}"), "");
    assert!(is_expected(&found) && found.len() == 500);
    assert_eq!(notes, ["the rows run backwards in time; all 500 were put in order"]);
    let anyhow: String = (0..500).map(|place| row(place * 237 % 500)).collect();
    let (found, notes) = times(&format!("time_s,static_pa\n{anyhow}"), "");
    assert!(is_expected(&found) && found.len() == 500);
    assert_eq!(notes, ["the rows are not in the order of time; all 500 were put in order"]);
}

#[test]
fn a_clock_that_is_set_back_once_does_not_sort_the_file() {
    let rows = rows_at(&["100.5", "100.6", "100.7", "20.1", "20.2", "20.3", "20.4"]);
    assert_eq!(times(&format!("time_s,static_pa\n{rows}"), "").0[2..4], [100.7, 20.1]);
}

#[test]
fn rows_that_are_there_twice_are_used_once_and_counted() {
    let rows: String =
        (0..200).map(|row| format!("{:.2},90000\n", 0.02 * f64::from(row / 2))).collect();
    let (items, _) = read(format!("time_s,static_pa\n{rows}"), "");
    let used = items.iter().filter(|item| matches!(item, Item::Sample { .. })).count();
    assert_eq!((used, items.len()), (100, 200));
    assert!(items.iter().any(|item| matches!(
        item, Item::Skipped(Skipped { reason, .. }) if reason == "the row before again"
    )));
}

#[test]
fn names_are_compared_without_what_cannot_be_seen_and_may_be_latin1() {
    assert_eq!(
        samples("time_s\u{200b},\u{202e}static_pa\n0,101325\n0.02,101324.5\n", ""),
        TWO_ROWS
    );
    let text =
        [b"time_s,static_pa,temp [\xB0C]\n", &b"0,101325,15\n0.02,101324.5,15\n"[..]].concat();
    let (items, notes) = read(text, "oat=temp [\u{b0}C]");
    assert_eq!(notes, ["oat from temp [\u{b0}C] (C)"]);
    assert!(matches!(
        items[0],
        Item::Sample { sample: Sample { outside_air: Some(Kelvin(288.15)), .. }, .. }
    ));
}

#[test]
fn marks_spaces_capitals_quotes_and_line_ends_make_no_difference() {
    assert_eq!(
        samples("\u{feff} Time_S , STATIC_PA \r\n 0 , 101325 \r\n 0.02 ,101324.5", ""),
        TWO_ROWS
    );
    assert_eq!(
        samples("\"time_s\",\"static_pa\"\n\"0\",\"101325\"\n\"0.02\",101324.5\n", ""),
        TWO_ROWS
    );
    assert_eq!(
        samples("time_us,note,static_pa\n0,\"a,\"\"b\"\"\",101325\n20000,c,101324.5\n", ""),
        TWO_ROWS
    );
}

#[test]
fn blank_lines_and_comments_are_passed_over_and_lines_are_numbered_as_in_the_file() {
    let text =
        "# made by hand\n\ntime_s,static_pa\n# begins\n0,101325\n   \n  # ends\n0.02,101324.5\n,\n";
    assert_eq!(samples(text, ""), [(5, 0, 101_325.0), (8, 20_000, 101_324.5)]);
}

#[test]
fn named_columns_and_units_are_used() {
    let text = "stamp,p,x\n0,1013.25,\n20,1013.245,\n";
    assert_eq!(samples(text, "time=stamp:ms,static=p:hPa"), TWO_ROWS);
}

#[test]
fn optional_fields_come_in_the_units_of_the_core_and_absent_is_none() {
    let text =
        "time_s,static_pa,ias_mps,te_pa,oat_c\n0,101325,30,101000,15\n1,101325,,NaN,\n2,101325\n";
    let (items, notes) = read(text, "");
    let sample = |index: usize| match &items[index] {
        Item::Sample { sample, .. } => *sample,
        other => panic!("{other:?}"),
    };
    assert_eq!(sample(0).speed, Some(Speed::Calibrated(MetrePerSecond(30.0))));
    assert_eq!(sample(0).te_pressure, Some(Pascal(101_000.0)));
    assert_eq!(sample(0).outside_air, Some(Kelvin(288.15)));
    for index in [1, 2] {
        assert_eq!(
            sample(index),
            Sample::of_static(Micros(1_000_000 * index as i64), Pascal(101_325.0))
        );
    }
    assert!(notes.is_empty(), "our own columns need no note: {notes:?}");
}

#[test]
fn an_empty_airspeed_is_not_filled_from_another_column() {
    let (items, notes) =
        read("time_s,static_pa,ias_mps,dynamic_pa\n0,101325,30,\n1,101325,30,551.25\n", "");
    let speeds: Vec<_> = items
        .iter()
        .map(|item| match item {
            Item::Sample { sample, .. } => sample.speed,
            other => panic!("{other:?}"),
        })
        .collect();
    assert_eq!(speeds, [None, Some(Speed::Dynamic(Pascal(551.25)))]);
    assert_eq!(notes[0], "ias_mps not used: dynamic_pa comes first");
}

#[test]
fn optional_values_that_cannot_be_read_are_counted_and_the_sample_is_used() {
    let text = "time_s,static_pa,tas_mps\n0,101325,abc\n1,101325,30\n2,101325,inf\n";
    let (items, notes) = read(text, "");
    assert!(items.iter().all(|item| matches!(item, Item::Sample { .. })));
    let expected = "tas_mps could not be read in 2 rows, first at line 2: \"abc\"; those rows are \
                    used without it";
    assert_eq!(notes[0], expected);
}

#[test]
fn rows_without_what_is_required_are_passed_over_and_say_why() {
    let long = "x".repeat(70_000);
    let text = format!(
        "time_s,static_pa,tas_mps\n,101325,\n1,,\n1,nan,\n1,inf,\nnoon,101325,\n\
         2\n3,101325,1,2\n1e13,101325,\n\
         4,101325,,,,\n{long}\n\"5,101325,30\n6,1e39,\n7,101325,\n"
    );
    let expected = [
        (2, "no number in time_s", ""),
        (3, "no number in static_pa", ""),
        (4, "no number in static_pa", "nan"),
        (5, "no number in static_pa", "inf"),
        (6, "no number in time_s", "noon"),
        (7, "too few fields", "2"),
        (8, "more fields than the header", "3,101325,1,2"),
        (9, "time_s beyond 1e12 s", "1e13"),
        (11, "line longer than 64 KiB", "xxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxx..."),
        (12, "too few fields", "\"5,101325,30"),
        (13, "no number in static_pa", "1e39"),
    ];
    let expected: Vec<_> = expected
        .iter()
        .map(|(line, reason, found)| (*line, (*reason).into(), (*found).into()))
        .collect();
    assert_eq!(skipped(&text), expected);
}

#[test]
fn a_row_without_a_static_pressure_is_a_sample_of_what_else_it_has() {
    let (items, notes) = read(
        "time_s,static_pa,dynamic_pa,te_pa,oat_c\n0,90000,,,\n1,,500,,\n2,nan,,89500,\n\
         3,,,,15\n4,,,,\n",
        "",
    );
    assert!(notes.is_empty(), "{notes:?}");
    let found: Vec<_> = items
        .iter()
        .map(|item| match item {
            Item::Sample { sample, .. } => {
                let Sample { static_pressure, speed, te_pressure, outside_air, .. } = sample;
                [static_pressure.is_some(), speed.is_some(), te_pressure.is_some()]
                    .into_iter()
                    .chain([outside_air.is_some()])
                    .collect()
            }
            Item::Skipped(_) => Vec::new(),
        })
        .collect();
    let (yes, no) = (true, false);
    let expected: [&[bool]; 5] =
        [&[yes, no, no, no], &[no, yes, no, no], &[no, no, yes, no], &[no, no, no, yes], &[]];
    assert_eq!(found, expected);
}

const INERTIAL: &str = "time_s,static_pa,accel_x_mps2,accel_y_mps2,accel_z_mps2,\
     gyro_x_radps,gyro_y_radps,gyro_z_radps,gnss_vn_mps,gnss_ve_mps,gnss_vd_mps,gnss_age_s\n";

fn inertial(rows: &str) -> (Vec<Sample>, Vec<String>) {
    let (items, notes) = read(format!("{INERTIAL}{rows}"), "");
    let samples = items
        .into_iter()
        .map(|item| match item {
            Item::Sample { sample, .. } => sample,
            Item::Skipped(skipped) => panic!("{skipped:?}"),
        })
        .collect();
    (samples, notes)
}

#[test]
fn force_turn_rate_and_velocity_over_the_ground_are_read_in_body_axes() {
    let (samples, notes) = inertial(
        "0,90000,1,2,-9.8,.1,.2,.3,20,-10,.5,0.12\n\
         0.01,,1.5,2,-9.8,.1,.2,.3,,,,\n0.02,90001,,,,,,,,,,\n0.03,,,,,,,,21,-10,.5,\n",
    );
    assert!(notes.is_empty(), "{notes:?}");
    let first = samples[0].inertial.expect("it is there");
    assert_eq!(first.specific_force.as_array().map(|axis| axis.0), [1.0, 2.0, -9.8]);
    assert_eq!(first.turn_rate.as_array().map(|axis| axis.0), [0.1, 0.2, 0.3]);
    assert!(first.spread.is_none());
    let velocity = samples[0].ground_velocity.expect("it is there");
    let [north, east, down] = [velocity.north, velocity.east, velocity.down].map(|speed| speed.0);
    assert_eq!([north, east, down], [20.0, -10.0, 0.5]);
    assert_eq!(velocity.age, Micros(120_000));
    assert_eq!(samples[3].ground_velocity.map(|velocity| velocity.age), Some(Micros(0)));
    let there = |sample: &Sample| {
        let Sample { static_pressure, inertial, ground_velocity, .. } = sample;
        [static_pressure.is_some(), inertial.is_some(), ground_velocity.is_some()]
    };
    let (yes, no) = (true, false);
    let expected = [[yes, yes, yes], [no, yes, no], [yes, no, no], [no, no, yes]];
    assert_eq!(samples.iter().map(there).collect::<Vec<_>>(), expected);
}

#[test]
fn the_last_force_stands_beside_turn_rates_of_their_own_for_a_quarter_of_a_second() {
    let rows = "0,90000,1,2,-9.8,,,,,,,\n0.25,90000,,,,.1,.2,.3,,,,\n\
                0.26,90000,,,,.1,.2,.4,,,,\n0.27,90000,1,2,-9.7,,,,,,,\n";
    let (samples, notes) = inertial(rows);
    assert!(notes.is_empty(), "{notes:?}");
    let found: Vec<_> = samples
        .iter()
        .map(|sample| {
            sample.inertial.map(|inertial| (inertial.specific_force.z.0, inertial.turn_rate.z.0))
        })
        .collect();
    assert_eq!(found, [None, Some((-9.8, 0.3)), None, Some((-9.7, 0.4))]);
}

#[test]
fn a_part_of_three_axes_is_one_clear_line() {
    let rows = "0,90000,1,,-9.8,.1,.2,.3,20,,,\n0.01,90000,1,2,-9.8,.1,x,.3,20,1,1,-\n";
    let (samples, notes) = inertial(rows);
    assert!(samples[0].inertial.is_none());
    let expected = [
        "accel_x_mps2 to accel_z_mps2 could not be read in 1 row, at line 2: \"only 2 of 3\"; that \
         row is used without it",
        "gyro_x_radps to gyro_z_radps could not be read in 1 row, at line 3: \"x\"; that row is \
         used without it",
        "gnss_vn_mps to gnss_vd_mps could not be read in 1 row, at line 2: \"only 1 of 3\"; that \
         row is used without it",
        "gnss_age_s could not be read in 1 row, at line 3: \"-\"; that row is used without it",
    ];
    assert_eq!(notes, expected);
    for (header, expected) in [
        (
            "accel_x_mps2,accel_z_mps2",
            "accel_x_mps2 and accel_z_mps2 not used: they need accel_y_mps2",
        ),
        (
            "gyro_x_radps,gyro_y_radps,gyro_z_radps",
            "gyro_x_radps and gyro_y_radps and gyro_z_radps not used: they need accel_x_mps2 and \
             accel_y_mps2 and accel_z_mps2",
        ),
        ("gnss_ve_mps", "gnss_ve_mps not used: it needs gnss_vn_mps and gnss_vd_mps"),
    ] {
        let (_, notes) = read(format!("time_s,static_pa,{header}\n0,90000,1,1,1\n"), "");
        let what_to_do = "; if the trace has them by other names, give those with --columns";
        assert_eq!(notes, [format!("{expected}{what_to_do}")], "{header}");
    }
}

#[test]
fn of_two_groups_that_need_each_other_only_what_is_missing_is_named() {
    let header = "accel_x_mps2,accel_y_mps2,accel_z_mps2,gx,gyro_y_radps,gyro_z_radps";
    let (_, notes) = read(format!("time_s,static_pa,{header}\n0,90000,1,1,1,1,1,1\n"), "");
    let [turn, force] = &notes[..] else { panic!("{notes:?}") };
    let begins = "gyro_y_radps and gyro_z_radps not used: they need gyro_x_radps;";
    assert!(turn.starts_with(begins), "{turn}");
    let begins = "accel_x_mps2 and accel_y_mps2 and accel_z_mps2 not used: they need gyro_x_radps;";
    assert!(force.starts_with(begins), "{force}");
}

#[test]
fn the_spread_of_what_was_averaged_is_read_where_it_is_whole() {
    let text = "time_s,static_pa,accel_x_mps2,accel_y_mps2,accel_z_mps2,\
                gyro_x_radps,gyro_y_radps,gyro_z_radps,accel_largest_mps2,accel_deviation_mps2,\
                gyro_largest_radps,gyro_deviation_radps\n\
                0,90000,0,0,-9.8,0,0,0,11,.5,.2,.1\n1,90000,0,0,-9.8,0,0,0,,,,\n";
    let (items, notes) = read(text, "");
    assert!(notes.is_empty(), "{notes:?}");
    let spreads: Vec<_> = items
        .iter()
        .map(|item| match item {
            Item::Sample { sample, .. } => sample.inertial.expect("it is there").spread,
            Item::Skipped(skipped) => panic!("{skipped:?}"),
        })
        .collect();
    let spread = spreads[0].expect("it is whole");
    assert_eq!((spread.largest_force.0, spread.force_deviation.0), (11.0, 0.5));
    assert_eq!((spread.largest_turn.0, spread.turn_deviation.0), (0.2, 0.1));
    assert!(spreads[1].is_none());
}

#[test]
fn an_altitude_column_becomes_the_pressure_there() {
    // ICAO Doc 7488/3: 89874.56 Pa at 1000 m.
    let pressure = samples("time_s,baro_alt_m\n0,1000\n", "static=baro_alt_m")[0].2;
    approx::assert_relative_eq!(pressure, 89_874.56, max_relative = 2e-6);
}

#[test]
fn a_header_that_cannot_be_used_is_answered_with_what_helps() {
    let names = "expected a line with the names of the columns, such as time_s,static_pa";
    assert_eq!(complaint("", ""), format!("log.csv: found no line of text, {names}"));
    assert_eq!(complaint("# only\n\n", ""), format!("log.csv: found no line of text, {names}"));
    assert_eq!(
        complaint("# log\n0,2000\n0.1,2001\n", ""),
        "log.csv:2: found 2000 and no unit, expected Pa, hPa, mbar, kPa, inHg, mmHg, psi, bar or \
         atm; say which, as in --columns static=#2:Pa"
    );
    assert_eq!(
        complaint("stamp_s,druck_pa\n", ""),
        "log.csv:1: found the columns stamp_s and druck_pa, expected time_s and static_pa; say \
         which they are, as in --columns time=stamp_s,static=druck_pa"
    );
    assert_eq!(
        complaint("time_s,static_pa\n", "oat=t"),
        "log.csv:1: column t: found the columns time_s and static_pa, expected one of that name; \
         correct oat=t in --columns"
    );
}

#[test]
fn bytes_that_are_no_csv_are_refused_in_one_line() {
    let expected = "expected plain text in UTF-8, a row on each line";
    let export = "export the recording as CSV; an IGC flight log is named .igc";
    assert_eq!(
        complaint(b"RIFF\x24\x00\x00\x00WAVEfmt ", ""),
        format!("log.csv:1: found bytes that are not text, {expected}; {export}")
    );
    assert_eq!(
        complaint("# joined\ntime_s,static_pa\r0,101325\r", ""),
        format!(
            "log.csv:2: found lines of which some end in CR alone, {expected}; save the file with \
             one kind of line ends"
        )
    );
    let export =
        "export the recording as CSV: a line of names, such as time_s,static_pa, then rows";
    for (text, kind) in [("<!DOCTYPE html>", "a web page or XML"), ("{\"time_s\":[1]}", "JSON")] {
        assert_eq!(complaint(text, ""), format!("log.csv:1: found {kind}, {expected}; {export}"));
    }
    assert_eq!(
        complaint("x".repeat(70_000), ""),
        format!(
            "log.csv:1: found a line longer than 64 KiB, {expected}; check that this is a CSV file"
        )
    );
}

#[test]
fn a_disk_that_fails_ends_the_trace_with_its_own_words() {
    struct Failing;
    impl Read for Failing {
        fn read(&mut self, _: &mut [u8]) -> io::Result<usize> {
            Err(io::Error::other("the disk is gone"))
        }
    }
    let input =
        Cursor::new(b"time_s,static_pa\n0,101325\n".to_vec()).chain(BufReader::new(Failing));
    let mut trace = CsvTrace::open("log.csv", Box::new(input), &ColumnMap::default())
        .expect("the header is good");
    assert!(matches!(trace.next(), Some(Ok(Item::Sample { .. }))));
    let error = trace.next().expect("something is wrong").expect_err("the disk failed");
    assert_eq!(error.to_string(), "cannot read log.csv: the disk is gone");
    assert!(trace.next().is_none());
}

/// The slow, obvious reference: the `csv` crate over the whole file, and std's parser.
#[test]
fn rows_are_split_as_the_csv_crate_splits_them() {
    let text = "time_s,a,static_pa,b\n1,\"x,y\",101325,\n2,\"q\"\"q\",101326.5,z\n 3 , w , 101327 \
                ,\n4,,101328\n";
    let mut reader =
        csv::ReaderBuilder::new().flexible(true).trim(csv::Trim::All).from_reader(text.as_bytes());
    let expected: Vec<(i64, f32)> = reader
        .records()
        .map(|record| {
            let record = record.expect("it is CSV");
            (
                record[0].parse::<i64>().expect("an integer") * 1_000_000,
                record[2].parse().expect("a number"),
            )
        })
        .collect();
    let found: Vec<_> =
        samples(text, "").into_iter().map(|(_, time, pressure)| (time, pressure)).collect();
    assert_eq!(found, expected);
}

/// A good file to be damaged.
const GOOD: &str = "# log\ntime_s;static_pa;tas_mps;te_pa;oat_c;note\n\
    0,00;101325;27,3;101000;15;\"a;b\"\n0.02;101324,5;;;;\n1e-1;101320;30;nan;-5;c\n";

fn takes_without_panic(bytes: &[u8], columns: &str) -> bool {
    let Ok(mut trace) = open(bytes, columns) else { return true };
    let is_finite = std::iter::from_fn(|| trace.next()).all(|item| match item {
        Ok(Item::Sample { sample, .. }) => is_finite(&sample),
        _ => true,
    });
    trace.notes();
    is_finite && trace.next().is_none()
}

proptest! {
    #![proptest_config(seeded())]

    /// Without quotes the quick way of splitting is csv-core's.
    #[test]
    fn rows_without_quotes_are_split_alike_in_both_ways(
        line in proptest::collection::vec(prop_oneof![Just(b';'), 0_u8..=255], 1..200),
    ) {
        let line: Vec<u8> =
            line.into_iter().filter(|byte| !matches!(byte, b'"' | b'\n')).collect();
        prop_assume!(!line.is_empty());
        let (mut quick, mut slow) = (Row::new(b';'), Row::new(b';'));
        quick.split_plain(&line);
        slow.split_quoted(&line);
        prop_assert_eq!(quick.fields().collect::<Vec<_>>(), slow.fields().collect::<Vec<_>>());
    }

    #[test]
    fn no_bytes_make_it_panic_or_yield_what_is_no_number(
        bytes in proptest::collection::vec(any::<u8>(), 0..600),
    ) {
        prop_assert!(takes_without_panic(&bytes, ""));
        let rows = [b"time_s,static_pa,te_pa,oat_c,ias_mps\n", bytes.as_slice()].concat();
        prop_assert!(takes_without_panic(&rows, ""));
        prop_assert!(takes_without_panic(&rows, "static=static_pa:ft,te=te_pa:m,oat=oat_c:F"));
    }

    #[test]
    fn rows_of_wild_numbers_yield_only_numbers(rows in "([-+0-9.,eEnaif\"; ]{0,12}[,\n]){0,60}") {
        let text = format!("time_s,static_pa,te_pa,oat_c,ias_mps\n{rows}");
        prop_assert!(takes_without_panic(text.as_bytes(), ""));
        let columns = "static=static_pa:ft,te=te_pa:m,oat=oat_c:F";
        prop_assert!(takes_without_panic(text.as_bytes(), columns));
    }

    #[test]
    fn damage_to_a_good_file_does_no_harm(
        damage in proptest::collection::vec((any::<usize>(), any::<u8>()), 1..8),
    ) {
        let mut bytes = GOOD.as_bytes().to_vec();
        for (place, byte) in damage {
            let place = place % bytes.len();
            bytes[place] = byte;
        }
        prop_assert!(takes_without_panic(&bytes, ""));
    }
}

#[test]
fn a_header_in_the_middle_is_obeyed_from_there_on() {
    let plain = "time_us,static_pa,dynamic_pa,te_pa,vertical_speed_mmps,dropped";
    let long = format!(
        "{plain},accel_x_mps2,accel_y_mps2,accel_z_mps2,gyro_x_radps,\
        gyro_y_radps,gyro_z_radps"
    );
    let text = format!(
        "{plain}\n0,95000,,,,0\n# ok\n{long}\n20000,95001,,,,0,0.1,-0.2,-9.8066,0.01,0,0\n\
         40000,95002,,,,0,,,,,,\n{plain}\n60000,95003,12,,,0\nTime_us,static_p,x\n"
    );
    let (items, _) = read(&text, "");
    let found: Vec<_> = items
        .iter()
        .map(|item| match item {
            Item::Sample { sample, .. } => (
                sample.time.0,
                sample.inertial.map(|inertial| inertial.specific_force.z.0),
                sample.speed.is_some(),
            ),
            Item::Skipped(skipped) => (-(skipped.line as i64), None, false),
        })
        .collect();
    assert_eq!(
        found,
        [
            (0, None, false),
            (20_000, Some(-9.8066), false),
            (40_000, None, false),
            (60_000, None, true),
            // Neither a row nor a header of the same kind.
            (-9, None, false),
        ]
    );
}

/// Run with `cargo test --release -p chirrup --lib speed_of_csv -- --ignored --nocapture`.
#[test]
#[ignore = "measures speed, in release only"]
#[allow(clippy::print_stderr)]
fn speed_of_csv_is_three_million_rows_a_second() {
    use std::fmt::Write;
    let rows = 3_000_000_u32;
    let mut text = String::from("time_s,static_pa,tas_mps\n");
    for row in 0..rows {
        let (time, pressure) = (f64::from(row) * 0.02, 95_000.0 + f64::from(row % 997) * 0.13);
        writeln!(text, "{time:.3},{pressure:.2},{:.2}", 25.0 + f64::from(row % 31) * 0.1)
            .expect("memory is enough");
    }
    let mut trace = open(&text, "").expect("the header is good");
    let begin = std::time::Instant::now();
    let count = std::iter::from_fn(|| trace.next())
        .filter(|item| matches!(item, Ok(Item::Sample { .. })))
        .count();
    let rate = count as f64 / begin.elapsed().as_secs_f64();
    eprintln!("{rate:.0} rows a second, {} bytes a row", text.len() / rows as usize);
    assert_eq!(count, rows as usize);
    assert!(rate > 3.0e6, "{rate:.0} rows a second");
}

/// Where each sample was taken, and the notes.
fn positions(text: &str, columns: &str) -> (Vec<Option<Position>>, Vec<String>) {
    let mut trace = open(text, columns).expect("the header is good");
    let mut positions = Vec::new();
    while let Some(item) = trace.next() {
        assert!(matches!(item, Ok(Item::Sample { .. })));
        positions.push(trace.position());
    }
    (positions, trace.notes())
}

#[test]
fn a_position_is_a_latitude_and_a_longitude_and_keeps_its_digits() {
    let at = |latitude_deg, longitude_deg, gnss_altitude_m| {
        Some(Position { latitude_deg, longitude_deg, gnss_altitude_m })
    };
    let rows = "0,90000,48.123456789,-9.5,1012.5\n1,90000,,,\n2,90000,0,0,0\n3,90000,-90,180,\n";
    let (found, notes) =
        positions(&format!("time_s,static_pa,lat_deg,lon_deg,gnss_alt_m\n{rows}"), "");
    assert!(notes.is_empty(), "{notes:?}");
    assert_eq!(found, [at(48.123_456_789, -9.5, Some(1012.5)), None, None, at(-90.0, 180.0, None)]);
    let (found, notes) = positions(
        "time_s,static_pa,a_rad,b,c\n0,90000,0.5,1,1000\n",
        "lat=a_rad,lon=b,gnss_alt=c:ft",
    );
    let latitude_deg = found[0].expect("it is there").latitude_deg;
    approx::assert_relative_eq!(latitude_deg, 0.5_f64.to_degrees(), max_relative = 1e-15);
    approx::assert_relative_eq!(
        found[0].and_then(|at| at.gnss_altitude_m).expect("it is there"),
        304.8,
        max_relative = 1e-7
    );
    assert_eq!(notes, ["lat from a_rad (rad), lon from b (deg) and gnss_alt from c (ft)"]);
}

#[test]
fn half_a_position_is_none_and_one_line_says_so() {
    let header = "time_s,static_pa,lat_deg,lon_deg,gnss_alt_m\n";
    let (found, notes) = positions(&format!("{header}0,90000,48,,500\n1,90000,91,9,\n"), "");
    assert_eq!(found, [None, None]);
    assert_eq!(
        notes,
        ["the position in lat_deg and lon_deg could not be read in 2 rows, first at line 2: \
             \"only one of 2\"; those rows are used without it"]
    );
    let (found, notes) = positions(&format!("{header}0,90000,48,9,x\n"), "");
    assert_eq!(found[0].and_then(|position| position.gnss_altitude_m), None);
    assert!(found[0].is_some() && notes[0].ends_with("\"x\"; that row is used without it"));
    let (found, notes) = positions("time_s,static_pa,lon_deg\n0,90000,9\n", "");
    assert_eq!((found, notes), (vec![None], vec!["lon_deg not used: it needs lat_deg".into()]));
}
