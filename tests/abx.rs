//! `chirrup abx` from outside: the sound files of a blind test, its key, and the score.

use crate::listen::Sound;
use crate::support::{complaint, folder, path, run, trace_of, write};
use std::fs;

/// Ten minutes; every two a climb of 2 m/s for 20 s.
fn flight() -> String {
    trace_of(10.0, 600.0, |t| {
        let (round, rest) = ((t / 120.0).floor(), t % 120.0);
        800.0 + 40.0 * round + 2.0 * (rest - 50.0).clamp(0.0, 20.0)
    })
}

/// The columns of a key: round, x, and where the passage begins.
fn key(folder: &str) -> Vec<(usize, String, f64)> {
    let text = fs::read_to_string(format!("{folder}/key.csv")).expect("there is a key");
    let mut lines = text.lines();
    assert_eq!(lines.next(), Some("round,x,from_s,seed"));
    lines
        .map(|line| {
            let fields: Vec<&str> = line.split(',').collect();
            let number = |place: usize| fields[place].parse::<f64>().expect("a number");
            (number(0) as usize, fields[1].to_owned(), number(2))
        })
        .collect()
}

#[test]
fn x_is_the_same_as_the_one_that_the_key_names_and_is_heard_where_the_two_differ() {
    let folder = folder();
    let trace = write(&folder, "flight.csv", flight());
    let blind = path(&folder, "blind");
    let (quick, slow) = ("filter=fixed,response_s=0.5", "filter=fixed,response_s=4");
    let args = ["abx", quick, slow, &trace, "--seed", "7"];
    let sheet = run(&[&args[..], &["--wav", &blind, "--sound-rate", "8000"]].concat());
    assert!(sheet.contains("--answers FILE --seed 7 --rounds 12"), "{sheet}");
    let key = key(&blind);
    assert_eq!(key.iter().map(|row| row.0).collect::<Vec<_>>(), (1..=12).collect::<Vec<_>>());
    for (round, x, from_s) in &key {
        let file = |name: &str| format!("{blind}/round-{round:02}-{name}.wav");
        let read = |name: &str| fs::read(file(name)).expect("it is there");
        assert!(read("x") == read(x) && read("a") != read("b"), "round {round}");
        let sound = Sound::read(&file("x"));
        assert!((sound.seconds() - 10.0).abs() < 0.05 && sound.peak() > 0.01, "round {round}");
        // A climb lies within the passage or a few seconds before it.
        let since = from_s % 120.0 - 50.0;
        assert!((-10.0..30.0).contains(&since), "round {round} begins at {from_s} s");
    }
    assert!(key.iter().any(|row| row.1 == "a") && key.iter().any(|row| row.1 == "b"));

    // The first two of the answers are wrong.
    let other = |x: &str| if x == "a" { "B" } else { "A" };
    let answers: String = key
        .iter()
        .map(|(round, x, _)| if *round < 3 { other(x) } else { x.as_str() })
        .map(|answer| format!("{answer}\n"))
        .collect();
    let answers = write(&folder, "anna.txt", answers);
    let scored = run(&[&args[..], &["--answers", &answers, "--json"]].concat());
    let scored: serde_json::Value = serde_json::from_str(&scored).expect("it is JSON");
    assert_eq!((&scored["right"], &scored["answered"]), (&10.into(), &12.into()));
    assert_eq!(scored["p_of_guessing"].as_f64(), Some(79.0 / 4096.0));
    assert_eq!(scored["rounds"][0]["right"], false);
    let text = run(&[&args[..], &["--answers", &answers]].concat());
    assert!(text.contains("10 of 12 right\n") && text.contains("told A from B"), "{text}");
}

#[test]
fn settings_that_sound_the_same_are_refused() {
    let folder = folder();
    let trace = write(&folder, "flight.csv", flight());
    let blind = path(&folder, "blind");
    // The unit of the altimeter makes no sound.
    let same = ["abx", "response_s=1", "response_s=1,altimeter.unit=ft", &trace, "--wav", &blind];
    let line = complaint(&same, 1);
    assert!(line.contains("sound the same everywhere in "), "{line}");
    assert!(line.contains("choose settings that differ in sound"), "{line}");
    assert!(!fs::exists(&blind).expect("the folder can be looked at"));
}

#[test]
fn answers_that_cannot_be_scored_are_one_line_and_an_early_end_is_scored() {
    let folder = folder();
    let trace = write(&folder, "flight.csv", flight());
    let args = ["abx", "tone.volume=8", "tone.volume=6", &trace, "--rounds", "6"];
    let with = |text: &str| {
        let answers = write(&folder, "answers.txt", text);
        complaint(&[&args[..], &["--seed", "1", "--answers", &answers]].concat(), 1)
    };
    let line = with("a\nc\n");
    assert!(line.contains("answers.txt:2: found `c`, expected a or b; guess"), "{line}");
    let line = with("a\nb\na\nb\na\nb\n\na\n");
    assert!(line.contains("answers.txt:8: found answer 7, expected 6 answers"), "{line}");
    assert!(with("\n").contains("no round was answered"));
    let early = write(&folder, "early.txt", "a\nb\n");
    let text = run(&[&args[..], &["--seed", "1", "--answers", &early]].concat());
    assert!(text.contains("of 2 right (ended early, 6 were planned)"), "{text}");
    // Without the seed nobody knows what X was.
    let line = complaint(&[&args[..], &["--answers", &early]].concat(), 2);
    assert!(line.contains("missing: --seed <N>"), "{line}");
    let line = complaint(&args, 2);
    assert!(line.contains("needs a terminal; write the sounds with --wav FOLDER"), "{line}");
}
