//! Flight logs as recorders write them, and every message that a user can get about one.

use super::*;
use crate::trace::testing::{is_finite, seeded};
use chirrup_core::{Kelvin, MetrePerSecond, Sample, Speed, pressure_altitude};
use proptest::prelude::*;
use std::io::Cursor;

fn open(text: impl AsRef<[u8]>) -> Result<IgcTrace> {
    IgcTrace::open("flight.igc", Box::new(Cursor::new(text.as_ref().to_vec())))
}

struct Read {
    samples: Vec<(u64, Sample)>,
    skipped: Vec<(u64, String, String)>,
    recorded_te_mps: Vec<Option<f32>>,
    trace: IgcTrace,
}

fn read(text: impl AsRef<[u8]>) -> Read {
    let mut trace = open(text).expect("there is a first line");
    let (mut samples, mut skipped, mut recorded_te_mps) = (Vec::new(), Vec::new(), Vec::new());
    while let Some(item) = trace.next() {
        match item.expect("memory can be read") {
            Item::Sample { line, sample } => {
                samples.push((line, sample));
                recorded_te_mps.push(trace.recorded_climb_mps());
            }
            Item::Skipped(Skipped { line, reason, found }) => {
                skipped.push((line, reason, found));
                assert_eq!(trace.recorded_climb_mps(), None);
            }
        }
    }
    Read { samples, skipped, recorded_te_mps, trace }
}

impl Read {
    fn times_s(&self) -> Vec<f64> {
        self.samples.iter().map(|(_, sample)| sample.time.0 as f64 / 1e6).collect()
    }

    fn altitudes_m(&self) -> Vec<f32> {
        self.samples
            .iter()
            .map(|(_, sample)| {
                pressure_altitude(sample.static_pressure.expect("it has one")).0.round()
            })
            .collect()
    }
}

/// A B record at so many seconds after 10:00 UTC, without extensions.
fn b_record(second: u32, pressure_altitude_m: i32, gnss_altitude_m: i32) -> String {
    let (minutes, seconds) = (second / 60, second % 60);
    format!(
        "B10{minutes:02}{seconds:02}5000000N00800000EA{pressure_altitude_m:05}{gnss_altitude_m:05}"
    )
}

fn flight(records: impl IntoIterator<Item = String>) -> String {
    records
        .into_iter()
        .fold(String::from("AXXX000\r\nHFDTE040723\r\n"), |text, record| text + &record + "\r\n")
}

#[test]
fn the_pressure_altitude_becomes_the_pressure_there_and_time_begins_at_the_first_fix() {
    let read =
        read(flight([b_record(5, 1000, 1100), b_record(6, -100, 1100), b_record(8, 11_000, 1100)]));
    // ICAO Doc 7488/3: 89874.56 Pa at 1000 m, 22632.04 Pa at 11 000 m.
    approx::assert_relative_eq!(
        read.samples[0].1.static_pressure.expect("it has one").0,
        89_874.56,
        max_relative = 2e-6
    );
    approx::assert_relative_eq!(
        read.samples[2].1.static_pressure.expect("it has one").0,
        22_632.04,
        max_relative = 2e-6
    );
    assert_eq!(read.times_s(), [0.0, 1.0, 3.0]);
    assert_eq!(read.samples.iter().map(|(line, _)| *line).collect::<Vec<_>>(), [3, 4, 5]);
    assert_eq!(read.trace.utc_start_s(), Some(36_005.0));
    assert_eq!(read.trace.date().as_deref(), Some("2023-07-04"));
    assert_eq!(read.trace.format(), "igc");
    assert_eq!(read.trace.notes(), [""; 0]);
}

#[test]
fn extensions_are_read_where_the_recorder_has_them() {
    let text = "AXXX000\nI033640TAS4144OAT4549VAT\n\
                B1000005000000N00800000EA009580107510800-015-0150\n\
                B1000015000000N00800000EA00958010751x800\n";
    let read = read(text);
    let sample = read.samples[0].1;
    assert_eq!(sample.speed, Some(Speed::True(MetrePerSecond(30.0))));
    assert_eq!(sample.outside_air, Some(Kelvin::from_celsius(-1.5)));
    assert_eq!(read.recorded_te_mps, [Some(-1.5), None]);
    assert_eq!(read.samples[1].1.speed, None);
    let expected = [
        "airspeed from the recorder's true airspeed (TAS)",
        "outside air temperature from the recorder (OAT)",
        "TAS could not be read in 1 record, at line 4: \"1x800\"; that record is used without it",
    ];
    assert_eq!(read.trace.notes(), expected);
}

#[test]
fn true_airspeed_comes_before_indicated_and_alone_indicated_is_taken() {
    let both = read("AXXX000\nI023638IAS3941TAS\nB1000005000000N00800000EA0095801075090108\n");
    assert_eq!(both.samples[0].1.speed, Some(Speed::True(MetrePerSecond(30.0))));
    let one = read("AXXX000\nI013638IAS\nB1000005000000N00800000EA0095801075090\n");
    assert_eq!(one.samples[0].1.speed, Some(Speed::Calibrated(MetrePerSecond(25.0))));
    assert_eq!(
        one.trace.notes(),
        ["airspeed from the recorder's indicated airspeed (IAS), taken as calibrated"]
    );
}

#[test]
fn decimal_seconds_of_the_recorder_are_used() {
    let fixes = ["00", "25", "50", "75", "75"].map(|part| b_record(0, 100, 100) + part);
    let read = read(flight(std::iter::once("I013637TDS".to_owned()).chain(fixes)));
    assert_eq!(read.times_s(), [0.0, 0.25, 0.5, 0.75]);
    assert_eq!(read.skipped[0].1, "time repeated");
}

#[test]
fn fixes_of_one_second_are_spread_and_late_ones_put_in_order_and_both_are_told() {
    let read = read(flight([0, 0, 1, 2, 4, 3, 5, 6].map(|second| b_record(second, 100, 100))));
    assert_eq!(read.times_s(), [0.0, 0.5, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0]);
    assert_eq!(
        read.trace.notes(),
        ["1 record put back in the order of time", "2 records spread over the second they share"]
    );
}

#[test]
fn a_lone_wild_time_is_passed_over() {
    let mut records: Vec<_> = (0..30).map(|second| b_record(second, 100, 100)).collect();
    records[10].replace_range(1..3, "17");
    let read = read(flight(records));
    assert_eq!(read.samples.len(), 29);
    let found = "B1700105000000N00800000EA0010000...";
    assert_eq!(read.skipped, [(13, "time out of order".into(), found.into())]);
}

#[test]
fn a_clock_that_was_set_back_takes_the_time_with_it() {
    let text = flight((1800..1810).chain(0..12).map(|second| b_record(second, 100, 100)));
    let read = read(text);
    assert_eq!(read.samples.len(), 22);
    assert_eq!(read.times_s()[10..12], [-1800.0, -1799.0]);
    assert_eq!(read.trace.notes(), ["the clock was set back; time goes back with it"]);
}

#[test]
fn malformed_records_are_named_by_line_and_cost_nothing_else() {
    let text = flight([
        b_record(0, 100, 100),
        "B10000".into(),
        b_record(1, 100, 100).replacen("B1000", "B1060", 1),
        b_record(1, 100, 100).replacen('N', "0N", 1),
        b_record(1, 100, 100).replacen("EA00100", "EA0O100", 1),
        b_record(1, 100, 100),
        format!("B{}", "x".repeat(70_000)),
        "L\u{fffd} anything".into(),
        "G".repeat(70_000),
        b_record(2, 100, 100),
    ]);
    let read = read(text);
    assert_eq!(read.times_s(), [0.0, 1.0, 2.0]);
    let expected = [
        (4, "B record too short", "B10000"),
        (5, "time is not a time", "106001"),
        (6, "no A or V in column 25", "B10000150000000N00800000EA001000..."),
        (7, "pressure altitude is not a number", "0O100"),
        (9, "line longer than 64 KiB", "Bxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxx..."),
    ];
    let expected: Vec<_> =
        expected.map(|(line, reason, found)| (line, reason.into(), found.into())).into();
    assert_eq!(read.skipped, expected);
}

#[test]
fn a_wrong_i_record_or_date_is_told_and_the_flight_is_read() {
    let text = format!("AXXX000\nI0136x8TAS\n{}\n", b_record(0, 100, 100));
    let bad_layout = read(text);
    assert_eq!(bad_layout.samples.len(), 1);
    assert_eq!(
        bad_layout.trace.notes(),
        ["line 2: entry 1 of the I record is not SSFFCCC: \"36x8TAS\""]
    );
    let no_date = read(format!("HFDTE000000\n{}\n", b_record(0, 100, 100)));
    assert_eq!((no_date.samples.len(), no_date.trace.date()), (1, None));
    assert_eq!(no_date.trace.notes(), ["line 1: no date in \"HFDTE000000\""]);
}

#[test]
fn fixes_without_satellites_keep_their_pressure_altitude() {
    let read = read(flight([b_record(0, 100, 100), b_record(1, 101, 0).replace("EA", "EV")]));
    assert_eq!(read.altitudes_m(), [100.0, 101.0]);
    assert_eq!(read.trace.notes(), ["1 record without a GNSS fix used for the pressure altitude"]);
}

#[test]
fn without_any_pressure_altitude_the_satellites_are_used_and_it_is_said() {
    let mut records: Vec<_> = (0..20).map(|second| b_record(second, 0, 500)).collect();
    records[4] = records[4].replace("EA", "EV");
    records[5].replace_range(30..35, "-----");
    let read = read(flight(records));
    assert_eq!(read.altitudes_m(), [500.0; 18]);
    let said = "no pressure altitude in 18 records; GNSS altitude is used there, which is \
        rougher and later";
    assert_eq!(read.trace.notes(), [said]);
    assert_eq!(read.skipped[0].1, "neither pressure altitude nor GNSS fix");
    assert_eq!(read.skipped[1].1, "GNSS altitude is not a number");
}

#[test]
fn a_change_of_altitude_in_flight_is_a_gap_and_is_said() {
    let read = read(flight(
        (0..2_000).map(|second| b_record(second, if second < 1_500 { 0 } else { 300 }, 500)),
    ));
    let step = read.altitudes_m().windows(2).position(|two| two[0] != two[1]).expect("it changes");
    let elapsed = read.times_s()[step + 1] - read.times_s()[step];
    // The core takes more than 10 s for a gap (chirrup_core::clock).
    assert!(elapsed > 10.0, "{elapsed} s");
    assert!(
        read.skipped.iter().all(|(_, reason, _)| reason == "change from GNSS to pressure altitude")
    );
    assert_eq!(read.samples.len() + read.skipped.len(), 2_000);
    let said = "the pressure altitude begins in flight; the records of the change are passed \
        over as a gap";
    assert_eq!(read.trace.notes()[1], said);
}

#[test]
fn a_sensor_that_woke_late_loses_only_its_first_records() {
    let read =
        read(flight((0..30).map(|second| b_record(second, if second < 3 { 0 } else { 800 }, 850))));
    assert_eq!(read.altitudes_m(), [800.0; 27]);
    assert!(read.skipped.iter().all(|(_, reason, _)| reason == "no pressure altitude yet"));
    assert_eq!(read.trace.utc_start_s(), Some(36_003.0));
}

#[test]
fn an_empty_file_is_refused() {
    let refusal = |bytes: &[u8]| open(bytes).err().expect("it is refused").to_string();
    assert_eq!(refusal(b""), "flight.igc: found nothing in it, expected an IGC flight log");
}

#[test]
fn a_file_is_known_by_its_name_or_its_first_lines() {
    assert!(looks_like_igc("FLIGHT.IGC", b""));
    assert!(looks_like_igc("standard input", flight([]).as_bytes()));
    assert!(looks_like_igc("log.txt", format!("odd\n{}\r\n", b_record(0, 1, 1)).as_bytes()));
    // A name ending in .csv decides nothing where the first line is a recorder's.
    assert!(looks_like_igc("log.csv", flight([]).as_bytes()));
    assert!(!looks_like_igc("log.csv", b"Altitude\nB1000014800000N00900000EA0100001100\n"));
    assert!(!looks_like_igc("log.csv", b"AXXX,time\nHFDTE040723\n"));
    assert!(!looks_like_igc("standard input", b"time_s,static_pa\n0,101325\n"));
    assert!(!looks_like_igc("standard input", b"Baro,Date\n1,2\n"));
    assert!(!looks_like_igc("standard input", b""));
}

/// The whole trace, every value finite, and then nothing more.
fn takes_without_panic(bytes: &[u8]) -> bool {
    let Ok(mut trace) = open(bytes) else { return true };
    let is_finite = std::iter::from_fn(|| trace.next()).all(|item| match item {
        Ok(Item::Sample { sample, .. }) => is_finite(&sample),
        _ => true,
    });
    trace.notes();
    is_finite && trace.next().is_none()
}

fn good_file() -> Vec<u8> {
    let fixes =
        (0..24).map(|second| b_record(second, (second as i32 - 12) * 3, 100) + "10800-01550");
    let layout = "I033640TAS4144OAT4546TDS".to_owned();
    flight(std::iter::once(layout).chain(fixes)).into_bytes()
}

proptest! {
    #![proptest_config(seeded())]

    #[test]
    fn no_bytes_make_it_panic_or_yield_what_is_no_number(
        bytes in proptest::collection::vec(any::<u8>(), 0..600),
    ) {
        prop_assert!(takes_without_panic(&bytes));
        looks_like_igc("", &bytes);
    }

    #[test]
    fn damage_to_a_good_file_does_no_harm(
        damage in proptest::collection::vec(
            (any::<usize>(), prop_oneof![any::<u8>(), b'0'..=b'9', Just(b'\n')]),
            1..40,
        ),
    ) {
        let mut bytes = good_file();
        for (place, byte) in damage {
            let place = place % bytes.len();
            bytes[place] = byte;
        }
        prop_assert!(takes_without_panic(&bytes));
    }

    #[test]
    fn any_layout_of_extensions_is_taken(
        layout in "I[0-9]{2}([0-9]{4}(TAS|IAS|OAT|VAT|TDS|FXA)){0,8}",
        rest in "[-0-9x ]{0,40}",
    ) {
        let text = format!("{layout}\n{}{rest}\n", b_record(0, 100, 100));
        prop_assert!(takes_without_panic(text.as_bytes()));
    }

    #[test]
    fn every_record_comes_out_once_whatever_the_times(
        times in proptest::collection::vec(0_u32..3_600, 1..200),
    ) {
        let count = times.len();
        let read = read(flight(times.into_iter().map(|second| b_record(second, 100, 100))));
        let mut lines: Vec<u64> = read.samples.iter().map(|(line, _)| *line).collect();
        lines.extend(read.skipped.iter().map(|(line, ..)| *line));
        lines.sort_unstable();
        prop_assert_eq!(lines, (3..3 + count as u64).collect::<Vec<_>>());
        // Time goes back only where the notes say that the clock did.
        let set_back = read.times_s().windows(2).filter(|two| two[1] <= two[0]).count();
        prop_assert!(set_back as u64 <= read.trace.log.window.set_back);
    }
}

/// Where each sample was taken.
fn positions(text: &str) -> Vec<Option<Position>> {
    let mut trace = open(text).expect("there is a first line");
    let mut positions = Vec::new();
    while let Some(item) = trace.next() {
        if let Ok(Item::Sample { .. }) = item {
            positions.push(trace.position());
        }
    }
    positions
}

#[test]
fn the_position_of_a_three_dimensional_fix_is_read_with_its_further_digits() {
    let plain = "B1122544149274N00228378WA0095801075";
    let found = positions(plain)[0].expect("it is there");
    // 41 degrees 49.274 minutes north, 2 degrees 28.378 minutes west.
    approx::assert_relative_eq!(found.latitude_deg, 41.0 + 49.274 / 60.0, max_relative = 1e-14);
    approx::assert_relative_eq!(found.longitude_deg, -(2.0 + 28.378 / 60.0), max_relative = 1e-14);
    assert_eq!(found.gnss_altitude_m, Some(1075.0));

    let further = "I023637LAD3839LOD\nB1122544149274S00228378EA00958-----1234\n";
    let found = positions(further)[0].expect("it is there");
    approx::assert_relative_eq!(
        found.latitude_deg,
        -(41.0 + 49.274_12 / 60.0),
        max_relative = 1e-14
    );
    approx::assert_relative_eq!(found.longitude_deg, 2.0 + 28.378_34 / 60.0, max_relative = 1e-14);
    assert_eq!(found.gnss_altitude_m, None);
}

#[test]
fn what_is_no_position_costs_the_fix_nothing_else() {
    for record in [
        "B1122544149274N00228378WV0095801075",
        "B1122540000000N00000000EA0095801075",
        "B1122549149274N00228378WA0095801075",
        "B1122544160274N00228378WA0095801075",
        "B112254414 274N00228378WA0095801075",
        "B1122544149274X00228378WA0095801075",
        "B1122544149274N18100000WA0095801075",
    ] {
        assert_eq!(positions(record), [None], "{record}");
    }
    // A sign among digits that continue others is not one of them.
    let further = "I013637LAD\nB1122544149274N00228378WA0095801075-1\n";
    assert!(positions(further)[0].is_some());
}
