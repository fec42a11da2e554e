//! A command line that cannot be used: one line with what was typed, what was expected, and the
//! command whose help explains it.

use crate::support::{chirrup, complaint, folder, path, run};

/// Every command.
const COMMANDS: [&str; 17] = [
    "demo", "replay", "watch", "fly", "inspect", "tune", "report", "compare", "abx", "response",
    "record", "device", "live", "tone", "listen", "drill", "settings",
];

#[test]
fn every_kind_of_wrong_command_line_is_one_line_that_names_what_was_expected() {
    for (args, line) in [
        // An option that does not exist, and one that is nearly right.
        (&["fly", "-x"][..], "there is no option -x; see `chirrup fly --help`"),
        (
            &["replay", "a.csv", "--wave", "a.wav"],
            "there is no option --wave; did you mean --wav?; see `chirrup replay --help`",
        ),
        (
            &["--verion"],
            "there is no option --verion; did you mean --version?; see `chirrup --help`",
        ),
        // A word too many.
        (
            &["report", "a.csv", "b.csv", "c.csv", "-o", "page.html"],
            "found c.csv, expected no more words; see `chirrup report --help`",
        ),
        // Commands.
        (
            &["device", "/dev/x", "settings", "laod"],
            "there is no command laod, expected show, load or save; did you mean load?; see \
             `chirrup device settings --help`",
        ),
        (
            &["device", "/dev/x"],
            "`chirrup device` needs a command, expected settings, selftest, check, soundcheck, \
             inertial, flights, fetch or clock; see `chirrup device --help`",
        ),
        (
            &["device", "/dev/x", "check", "--qnh", "1013"],
            "missing: --elevation <M>; see `chirrup device check --help`",
        ),
        (
            &["device", "/dev/x", "check", "--leak", "static"],
            "found static, expected no more words; did you mean --leak=static?; see \
             `chirrup device check --help`",
        ),
        (
            &["device", "/dev/x", "check", "--qnh", "29.92", "--elevation", "400"],
            "--qnh is 29.92, expected 870 to 1085 hPa; it looks like inches of \
             mercury; see `chirrup device check --help`",
        ),
        (
            &["device", "/dev/x", "check", "--qnh", "1013", "--elevation", "1400ft"],
            "--elevation is 1400ft, expected -500 to 6000 m, not feet; see \
             `chirrup device check --help`",
        ),
        // Something missing.
        (&["live"], "missing: --i2c <BUS>; see `chirrup live --help`"),
        (&["replay"], "missing: <TRACE>; see `chirrup replay --help`"),
        (&["tune"], "missing: <TRACE>...; see `chirrup tune --help`"),
        (&["report", "a.csv"], "missing: --output <FILE>; see `chirrup report --help`"),
        (
            &["device", "/dev/x", "settings", "load"],
            "missing: <FILE>; see `chirrup device settings load --help`",
        ),
        (
            &["replay", "a.csv", "--wav"],
            "--wav <FILE>: the value is missing; see `chirrup replay --help`",
        ),
        (
            &["replay", "a.csv", "--energy"],
            "--energy <SOURCE>: the value is missing, expected none, electronic, probe or auto; \
             see `chirrup replay --help`",
        ),
        // A value that is not one of the choices.
        (
            &["replay", "a.csv", "--energy", "electronik"],
            "--energy is electronik, expected none, electronic, probe or auto; did you mean \
             electronic?; see `chirrup replay --help`",
        ),
        (
            &["drill", "--kind", "song"],
            "--kind is song, expected changes, speeds, flights or threshold; see \
             `chirrup drill --help`",
        ),
        // Values that are not numbers, or out of range.
        (
            &["replay", "a.csv", "--sound-rate", "ten"],
            "--sound-rate is ten, expected 8000 to 192000, a whole number; see \
             `chirrup replay --help`",
        ),
        (
            &["fly", "ridge", "--seed", "-3"],
            "--seed is -3, expected 0 to 18446744073709551615, a whole number; see \
             `chirrup fly --help`",
        ),
        (&["tone", "--at", "99"], "--at is 99, expected -60 to 60; see `chirrup tone --help`"),
        (
            &["compare", "a=1", "b=2", "a.csv", "--fail-if-worse", "-1%"],
            "--fail-if-worse is -1%, expected a share such as 5% or 0.05, up to 1000%; see \
             `chirrup compare --help`",
        ),
        // Values that the library reads.
        (
            &["replay", "a.csv", "--from", "noon"],
            "--from noon: found \"noon\", expected seconds (90), m:ss (1:30), h:mm:ss, or a UTC \
             time (13:05Z, 13:05:00Z); see `chirrup replay --help`",
        ),
        (
            &["inspect", "a.csv", "--columns", "height=h"],
            "--columns height=h: unknown channel \"height\"; there are time, static, dynamic, \
             ias, tas, te, oat, accel_x, accel_y, accel_z, gyro_x, gyro_y, gyro_z, accel_largest, \
             accel_deviation, gyro_largest, gyro_deviation, gnss_vn, gnss_ve, gnss_vd, \
             gnss_age, lat, lon and gnss_alt; see `chirrup inspect --help`",
        ),
        (
            &["tone", "--plot", "a.jpg"],
            "--plot a.jpg: found no known ending, expected .svg or .png; see \
             `chirrup tone --help`",
        ),
        // Options that do not go together.
        (
            &["tone", "--at", "2", "--fault"],
            "--at does not go with --fault; leave one out; see `chirrup tone --help`",
        ),
        (
            &["tone", "--at", "2", "--at", "3"],
            "--at was given twice, expected once; see `chirrup tone --help`",
        ),
        (&["tone", "--json=yes"], "--json takes no value, found yes; see `chirrup tone --help`"),
        // Control characters in what was typed must not reach the terminal.
        (
            &["tone", "--p\u{1b}[2J\nlay"],
            "there is no option --p\\u{1b}[2J\\u{a}lay; see `chirrup tone --help`",
        ),
    ] {
        assert_eq!(complaint(args, 2), format!("chirrup: {line}"), "{args:?}");
    }
}

#[test]
fn an_unknown_command_is_answered_with_the_known_ones() {
    let line = complaint(&["replya", "a.csv"], 2);
    for command in COMMANDS {
        assert!(line.contains(command), "{line} lacks {command}");
    }
    assert!(line.ends_with("; did you mean replay?; see `chirrup --help`"), "{line}");
}

#[cfg(unix)]
#[test]
fn bytes_that_are_not_text_are_refused() {
    use std::ffi::OsStr;
    use std::os::unix::ffi::OsStrExt;
    let args = [OsStr::new("tone"), OsStr::new("--settings"), OsStr::from_bytes(b"a\xff")];
    let output = chirrup().args(args).output().expect("it runs");
    assert_eq!(output.status.code(), Some(2));
    assert_eq!(
        String::from_utf8_lossy(&output.stderr),
        "chirrup: found bytes that are not text (UTF-8); see `chirrup tone --help`\n"
    );
}

#[test]
fn help_is_for_every_command_and_fits_a_terminal_of_100_columns() {
    for command in COMMANDS {
        for help in ["-h", "--help"] {
            let text = run(&[command, help]);
            assert!(text.contains(&format!("Usage: chirrup {command}")), "{text}");
            for line in text.lines() {
                assert!(line.chars().count() <= 100, "{command} {help}: {line}");
            }
        }
    }
    let alone = chirrup().output().expect("it runs");
    assert_eq!(alone.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&alone.stderr).contains("Usage: chirrup <COMMAND>"));
}

#[test]
fn a_common_option_means_the_same_in_every_command() {
    let help = COMMANDS.map(|command| run(&[command, "--help"]));
    for option in ["--settings", "--columns", "--json", "--from", "--to", "--sound-rate"] {
        // From the option to the empty line after its description.
        let descriptions: Vec<String> = help
            .iter()
            .filter_map(|text| {
                let text = &text[text.find(&format!("      {option}"))?..];
                text.split("\n\n").next()
            })
            .map(|text| text.split("\n      --").next().unwrap_or(text))
            .map(|text| text.split_whitespace().collect::<Vec<_>>().join(" "))
            .collect();
        let first = descriptions.first().expect("some command has it");
        assert!(descriptions.iter().all(|text| text == first), "{option}: {descriptions:#?}");
    }
}

#[test]
fn the_former_names_of_options_still_work() {
    let folder = folder();
    let sound = |args: &[&str], name: &str| {
        let wav = path(&folder, name);
        run(&[args, &["--wav", &wav]].concat());
        std::fs::read(wav).expect("it is there")
    };
    assert!(
        sound(&["tone", "--from", "0", "--to", "4", "--over", "1", "--rate", "8000"], "a.wav")
            == sound(
                &[
                    "tone",
                    "--sweep-from",
                    "0",
                    "--sweep-to",
                    "4",
                    "--seconds",
                    "1",
                    "--sound-rate",
                    "8000"
                ],
                "b.wav"
            )
    );
    let args = ["response", "--only", "still", "--json", "--settings", "filter=fixed"];
    assert_eq!(
        run(&[&args[..], &["--seeds", "1", "--rate", "10"]].concat()),
        run(&[&args[..], &["--runs", "1", "--sensor-rate", "10"]].concat())
    );
    assert_eq!(
        run(&["fly", "pull-ups", "--rate", "1", "-o", "-"]),
        run(&["fly", "pull-ups", "--sensor-rate", "1", "--output", "-"])
    );
    for args in [&["demo", "--out", "x", "y"][..], &["record", "port", "--out", "x", "y"]] {
        assert!(complaint(args, 2).contains("found y"), "{args:?}");
    }
}
