//! The layout that a header gives.

use super::*;
use crate::trace::first::First;
use crate::trace::lines::Lines;
use approx::assert_relative_eq;
use std::io::Cursor;

/// The layout of a file with these names and, below them, these rows.
fn find_in(option: &str, names: &str, rows: &str) -> Result<Layout, Box<Complaint>> {
    let input = Box::new(Cursor::new(format!("{names}\n{rows}").into_bytes()));
    let mut lines = Lines::new(input).expect("memory can be read");
    lines.next().expect("memory can be read");
    let first = First::read(&mut lines, b',', None, |_| false);
    let header = Header {
        file: "log.csv",
        line: 1,
        names: names.split(',').map(str::to_owned).collect(),
        has_names: true,
        style: first.style(),
        first: &first,
    };
    Layout::find(&header, &option.parse().expect("it names columns"))
}

fn find(option: &str, names: &str) -> Result<Layout, Box<Complaint>> {
    find_in(option, names, "")
}

fn complaint(option: &str, names: &str) -> String {
    find(option, names).expect_err("a column is missing").to_string()
}

#[test]
fn our_own_names_are_found_in_any_order_and_in_capitals() {
    let layout = find("", "x,OAT_C,Static_Pa,time_us,te_pa").expect("all are there");
    assert_eq!((layout.time.index, layout.static_pressure.index, layout.width), (3, 2, 5));
    assert_eq!(layout.clock.form(), Form::Count(0));
    assert_eq!(layout.te_pressure.map(|column| column.index), Some(4));
    let outside_air = layout.outside_air.expect("it is there");
    assert_relative_eq!(outside_air.convert(15.0).expect("it is finite"), 288.15);
    assert_eq!(layout.speed, None);
    assert!(layout.notes.is_empty(), "our own names need no note: {:?}", layout.notes);
}

#[test]
fn foreign_names_are_told_with_the_unit_they_were_taken_in() {
    let layout =
        find("static=baro_hpa,ias=speed:km/h", "time_s,baro_hpa,speed").expect("all are there");
    assert_eq!(layout.notes, ["static from baro_hpa (hPa) and ias from speed (km/h)"]);
}

#[test]
fn a_named_column_takes_the_place_of_ours_and_the_others_are_still_found() {
    let layout = find("static=p:hPa", "time_s,static_pa,p,tas_mps").expect("all are there");
    assert_eq!((layout.time.index, layout.static_pressure.index), (0, 2));
    assert_relative_eq!(layout.static_pressure.convert(1013.25).expect("it is finite"), 101_325.0);
    assert_eq!(layout.speed.map(|(form, column)| (form, column.index)), Some((SpeedForm::True, 3)));
}

#[test]
fn an_altitude_stands_for_the_pressure_of_the_standard_atmosphere() {
    // ICAO Doc 7488/3: 70108.53 Pa at 3000 m; 10 000 ft are 3048 m, 69681.7 Pa.
    let layout = find("static=alt_ft,te=h:m", "time_s,alt_ft,h").expect("all are there");
    assert_relative_eq!(
        layout.static_pressure.convert(3000.0 / 0.3048).expect("finite"),
        70_108.53,
        max_relative = 2e-6
    );
    assert_relative_eq!(
        layout.te_pressure.expect("there").convert(3000.0).expect("finite"),
        70_108.53,
        max_relative = 2e-6
    );
    let said = "static is a pressure altitude, taken as the standard atmosphere's pressure there";
    assert!(layout.notes.iter().any(|note| note == said), "{:?}", layout.notes);
    assert_eq!(layout.static_pressure.convert(-1e38), None);
}

#[test]
fn one_airspeed_is_used_and_the_others_are_said_to_be_not() {
    let names = "time_s,static_pa,ias_mps,tas_mps,dynamic_pa,x";
    let speed = |option: &str| {
        let layout = find(option, names).expect("all are there");
        (
            layout.speed.expect("there are three").0,
            layout.notes.last().cloned().expect("it is said"),
        )
    };
    assert_eq!(
        speed(""),
        (SpeedForm::Dynamic, "tas_mps and ias_mps not used: dynamic_pa comes first".into())
    );
    assert_eq!(
        speed("ias=x:m/s"),
        (SpeedForm::Calibrated, "dynamic_pa and tas_mps not used: x comes first".into())
    );
}

#[test]
fn a_name_that_occurs_twice_is_taken_from_the_left_and_told() {
    let layout = find("", "time_s,static_pa,STATIC_PA").expect("all are there");
    assert_eq!(layout.static_pressure.index, 1);
    assert_eq!(layout.notes[0], "the header has 2 columns static_pa; the first is used");
}

#[test]
fn the_gusty_energy_of_earlier_versions_is_no_truth_and_is_told() {
    let old = find("", "time_s,static_pa,truth_air_mps,truth_energy_mps").expect("all there");
    assert_eq!(old.truth, [Some(2), None, None]);
    let said = "truth_energy_mps counts every gust as a climb and is not taken for the truth; \
                simulate the flight again for truth_climb_mps";
    assert_eq!(old.notes, [said]);
    let new = find("", "time_s,static_pa,truth_climb_mps,truth_energy_mps").expect("all there");
    assert_eq!(new.truth, [None, None, Some(2)]);
    assert!(new.notes.is_empty(), "{:?}", new.notes);
}

#[test]
fn a_missing_column_is_answered_with_those_there_are() {
    assert_eq!(
        complaint("static=p", "time_s,pressure"),
        "log.csv:1: column p: found the columns time_s and pressure, expected one of that \
         name; correct static=p in --columns"
    );
    assert_eq!(
        complaint("", "stamp_s,druck_pa,eas_mps"),
        "log.csv:1: found the columns stamp_s, druck_pa and eas_mps, expected time_s and \
         static_pa; say which they are, as in --columns time=stamp_s,static=druck_pa"
    );
    assert_eq!(
        complaint("time=t", "Altitude,t,Druck"),
        "log.csv:1: found the columns Altitude, t and Druck, expected static_pa; \
         say which they are, as in --columns time=t,static=Altitude:m"
    );
    assert_eq!(
        complaint("", "x"),
        "log.csv:1: found only the column x, expected time_s and static_pa; \
         say which they are, as in --columns time=x,static=NAME"
    );
    let many = (0..20).map(|index| format!("c{index}")).collect::<Vec<_>>().join(",");
    assert!(complaint("", &many).contains("c11 and 8 more, expected"));
}

#[test]
fn names_of_other_loggers_are_taken_where_one_column_fits() {
    let rows = "0.00,900.00,5\n0.02,900.01,5\n0.04,900.02,5\n";
    let layout = find_in("", "time,pressure_hPa,x", rows).expect("both are known");
    assert_eq!(layout.notes, ["time from time (s) and static from pressure_hPa (hPa)"]);
    let layout = find_in("", "t,Baro,x", rows).expect("both are known");
    assert_eq!(
        layout.notes,
        [
            "time from t (s) and static from Baro (hPa)",
            "Baro looks like hPa (900.00 at line 2): read as hPa; --columns static=Baro:Pa says \
             otherwise"
        ]
    );
    // Of two that are so named, the one that can be a pressure.
    let layout = find_in("", "t,pressure,p", rows).expect("one of them fits");
    assert_eq!(layout.static_pressure.index, 1);
    assert_eq!(
        find_in("", "t,pressure,p", "0.0,900,901\n0.1,900,901\n")
            .expect_err("both fit")
            .to_string(),
        "log.csv:1: found pressure and p columns that may be the static, expected one; say which, \
         as in --columns static=pressure:hPa"
    );
}

#[test]
fn values_that_can_only_be_one_unit_say_so_against_the_name() {
    for (value, unit, pascals) in [
        ("900.25", "hPa", 90_025.0),
        ("90.025", "kPa", 90_025.0),
        ("26.5769", "inHg", 90_000.0),
        ("90025", "Pa", 90_025.0),
    ] {
        let rows = format!("0.0,{value}\n0.1,{value}\n");
        let layout = find_in("", "time_s,static_pa", &rows).expect("it is read");
        let converted = layout.static_pressure.convert(value.parse().expect("it is a number"));
        assert_relative_eq!(converted.expect("finite"), pascals, max_relative = 1e-5);
        let said = format!(
            "static_pa looks like {unit} ({value} at line 2): read as {unit}; --columns \
             static=static_pa:Pa says otherwise"
        );
        let expected = if unit == "Pa" { vec![] } else { vec![said] };
        assert_eq!(layout.notes, expected, "{value}");
        // What was printed is obeyed.
        let layout = find_in("static=static_pa:Pa", "time_s,static_pa", &rows).expect("it is read");
        assert_eq!(layout.static_pressure.unit.name(), "Pa");
    }
    // One cell decides nothing, and neither does a range that two units share.
    for rows in ["0.0,900.25\n0.1,90000\n", "0.0,31\n0.1,31\n", "0.0,0\n0.1,0\n"] {
        let layout = find_in("", "time_s,static_pa", rows).expect("it is read");
        assert_eq!(layout.static_pressure.unit.name(), "Pa", "{rows}");
    }
}

#[test]
fn what_cannot_be_decided_names_the_cell_and_what_to_type() {
    let complaint = |names: &str, rows: &str| {
        find_in("", names, rows).expect_err("it cannot be decided").to_string()
    };
    assert_eq!(
        complaint("time (s),pressure [furlong]", "0.00,90000.00\n0.02,90000.10\n"),
        "log.csv:2: column pressure [furlong]: found 90000.00 in \"furlong\", expected Pa, hPa, \
         mbar, kPa, inHg, mmHg, psi, bar or atm; it looks like Pa: type --columns \
         'static=pressure [furlong]:Pa'"
    );
    assert_eq!(
        complaint("t,p", "0,31\n1,31\n"),
        "log.csv:2: column p: found 31 and no unit, expected Pa, hPa, mbar, kPa, inHg, mmHg, psi, \
         bar or atm; it looks like kPa or inHg: say which, as in --columns static=p:kPa"
    );
    assert_eq!(
        complaint("t,p", "0,900\n5,900\n10,900\n"),
        "log.csv:2: column t: found steps of 5 and no unit, expected s, ms, us, ns, min, h or \
         days; it looks like s or ms: say which, as in --columns time=t:s"
    );
    assert_eq!(
        complaint("time_s,altitude", "0.00,90000.00\n0.02,90000.10\n"),
        "log.csv:1: found the columns time_s and altitude, expected static_pa; say which they are, \
         as in --columns static=altitude:Pa"
    );
}

#[test]
fn a_count_from_1970_and_a_spreadsheets_days_are_known_by_their_values() {
    let form = |names: &str, rows: [&str; 2]| {
        let rows: String = rows.iter().map(|time| format!("{time},90000\n")).collect();
        let layout = find_in("", names, &rows).expect("it is read");
        (layout.clock.form(), layout.notes)
    };
    let s = ["1721044800.00", "1721044800.02"];
    assert_eq!(form("time_s,static_pa", s), (Form::Epoch(6), vec![]));
    let ms = ["1721044800000", "1721044800020"];
    assert_eq!(form("time_ms,static_pa", ms).0, Form::Epoch(3));
    let (found, notes) = form("time_s,static_pa", ms);
    assert_eq!(found, Form::Epoch(3));
    let said = "time_s looks like ms (1721044800000 at line 2): read as ms; --columns \
                time=time_s:s says otherwise";
    assert_eq!(notes, [said]);
    assert_eq!(form("time,static_pa", ["1721044800000000", "1721044800020000"]).0, Form::Epoch(0));
    assert_eq!(
        form("t,static_pa", ["1721044800000000000", "1721044800020000000"]).0,
        Form::Epoch(-3)
    );
    let days = ["45488.500000000", "45488.500000231"];
    assert_eq!(form("time_s,static_pa", days).0, Form::Days);
    // Half past twelve in seconds after midnight.
    assert_eq!(form("time_s,static_pa", ["45488.50", "45488.52"]).0, Form::Count(6));
    // A clock that starts at 1970 and is set later.
    assert_eq!(form("time_s,static_pa", ["0.5", "1721044800.02"]).0, Form::Count(6));
    // An autopilot's microseconds since it was switched on.
    assert_eq!(form("timestamp,static_pa", ["1721044800", "1721064800"]).0, Form::Count(0));
}

#[test]
fn a_height_is_offered_as_a_height_and_not_as_a_pressure() {
    let rows = "0.0,988.0\n0.5,989.4\n1.0,990.7\n1.5,992.0\n2.0,993.2\n";
    let said = |names: &str| find_in("", names, rows).expect_err("it is asked for").to_string();
    for (names, typed) in [
        ("time_s,baro_alt", "static=baro_alt:m"),
        ("time_s,alt_ft", "static=alt_ft"),
        ("time_s,baroAlt (cm)", "'static=baroAlt (cm)'"),
    ] {
        assert!(said(names).ends_with(&format!("as in --columns {typed}")), "{}", said(names));
    }
    // A name that leaves it open, and a sink of 20 m/s in hectopascals.
    let said = said("time_s,baro");
    assert!(said.contains("found 988.0 and no unit, which in hPa would change by -2"), "{said}");
    assert!(said.contains("a height in metres is --columns static=baro:m;"), "{said}");
    let layout = find_in("static=baro:m", "time_s,baro", rows).expect("what was printed is read");
    assert!(layout.static_pressure.is_altitude());
}

#[test]
fn a_unit_in_a_name_is_the_columns_or_is_asked_for() {
    let unit = |names: &str, rows: &str| {
        let layout = find_in("", names, rows).expect("it is read");
        (layout.time.unit.name(), layout.static_pressure.unit.name())
    };
    let of = |value: &str| format!("0.0,{value}\n0.5,{value}\n");
    assert_eq!(unit("time_s,pressure_mmHg", &of("675.1")).1, "mmHg");
    assert_eq!(unit("time_s,p_torr", &of("675.1")).1, "mmHg");
    assert_eq!(unit("time_s,pressure [psi]", &of("13.05")).1, "psi");
    assert_eq!(unit("time_s,pressure_atm", &of("0.888")).1, "atm");
    assert_eq!(unit("time_min,p_hpa", "0.00000,900.05\n0.00833,899.91\n").0, "min");
    assert_eq!(unit("time (h),p_hpa", "0.0000,900.05\n0.0002,899.91\n").0, "h");
    let said = |names: &str, rows: &str| {
        find_in("", names, rows).expect_err("it is asked for").to_string()
    };
    let psi = said("time_s,pressure", &of("13.05"));
    assert!(psi.contains("found 13.05 and no unit") && !psi.contains("looks like"), "{psi}");
    let unknown = said("time_s,pressure (furlong)", &of("900.1"));
    assert!(!unknown.contains("looks like") && unknown.contains(":UNIT"), "{unknown}");
    // Pascals by the name, at 17 km: nobody flies there without being asked.
    assert!(said("time_s,static_pa", &of("9000.5")).contains("9000.5"));
    let layout = find_in("static=static_pa:Pa", "time_s,static_pa", &of("9000.5"));
    assert_eq!(layout.expect("it is obeyed").static_pressure.unit.name(), "Pa");
}

#[test]
fn a_temperature_is_no_time() {
    let time = |names: &str, rows: &str| find_in("", names, rows).map(|found| found.time.index);
    let rows = "0.0,900.05,22.50\n0.5,899.91,22.51\n1.0,899.80,22.52\n";
    assert_eq!(time("sec,P,T", rows).expect("it is known"), 0);
    assert_eq!(time("tick,P,T", rows).expect("it is known"), 0);
    assert_eq!(time("T,P,millis", "22.5,90005,0\n22.5,90001,500\n").expect("it is known"), 2);
    let constant = "0.0,900.05,22.50\n0.5,899.91,22.50\n";
    let said = time("count,P,T", constant).expect_err("it is asked for").to_string();
    assert!(said.contains("expected time_s;") && !said.contains("time=T"), "{said}");
    assert_eq!(time("P,T", "90000,0.0\n90000,0.5\n").expect("it increases"), 1);
}

#[test]
fn minutes_and_seconds_are_no_hours_and_minutes() {
    let form = |rows: &str| find_in("", "time,static_pa", rows).expect("it is read").clock.form();
    assert_eq!(form("00:00.0,90000\n00:00.5,90001\n01:30.0,90002\n"), Form::OfHour);
    assert_eq!(form("00:00,90000\n00:00,90001\n00:01,90002\n00:01,90002\n"), Form::OfHour);
    assert_eq!(form("12:00:00,90000\n12:00:01,90001\n"), Form::OfDay);
    let minutes: String = (0..10).map(|row| format!("12:0{},90000\n", row / 5)).collect();
    assert_eq!(form(&minutes), Form::OfDay);
}

#[test]
fn the_name_of_a_column_of_dates_may_promise_utc() {
    let rows = "2024-07-15,12:00:00,90000\n2024-07-15,12:00:01,90001\n";
    let mut layout = find_in("", "Date (UTC),Time,static_pa", rows).expect("it is read");
    let moment = layout.clock.read(b"12:00:00").expect("it is a time");
    layout.clock.on_trace(moment);
    assert_eq!(layout.clock.date().as_deref(), Some("2024-07-15"));
    assert_eq!(layout.clock.utc_start_s(), Some(43_200.0));
}

#[test]
fn an_airspeed_without_a_unit_is_told_and_not_guessed() {
    let rows = "0.0,90000,55\n0.5,89990,56\n";
    let layout = find_in("", "time_s,static_pa,IAS", rows).expect("it is read");
    let said = "IAS is not used: it says no unit; --columns ias=IAS:kt (or km/h, m/s) uses it";
    assert_eq!(layout.notes, [said]);
    let layout = find_in("ias=IAS:kt", "time_s,static_pa,IAS", rows).expect("it is read");
    assert_eq!(layout.speed.expect("it has one").1.unit.name(), "kt");
    assert_eq!(
        complaint("ias=IAS", "time_s,static_pa,IAS"),
        "log.csv:1: column IAS: found an airspeed without a unit, expected m/s, kt, km/h or mph; \
         say which, as in --columns ias=IAS:kt"
    );
}

#[test]
fn rows_that_are_minutes_apart_by_the_name_of_the_time_are_asked_about() {
    let layout = find_in("", "time_s,static_pa", "0,90000\n500,90001\n1000,90002\n");
    assert_eq!(layout.expect("it is read").notes, ["one row every 500 s: is time_s in ms?"]);
}
