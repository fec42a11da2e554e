//! `chirrup drill` and `chirrup listen` from outside: the sound file for a class, answers on paper,
//! and the message without a terminal.

use crate::support::{chirrup, complaint, folder, path, run, write};
use std::fs;

/// The answers on the sheet of a recorded drill, a line each.
fn sheet(kind: &str, seed: &str) -> (String, Vec<f64>, hound::WavReader<std::io::Cursor<Vec<u8>>>) {
    let folder = folder();
    let (wav, csv) = (path(&folder, "class.wav"), path(&folder, "sheet.csv"));
    run(&[
        "drill",
        "--kind",
        kind,
        "--seed",
        seed,
        "--questions",
        "8",
        "--wav",
        &wav,
        "--csv",
        &csv,
        "--sound-rate",
        "8000",
    ]);
    let text = fs::read_to_string(csv).expect("the sheet is written");
    let rows: Vec<Vec<&str>> = text.lines().skip(1).map(|line| line.split(',').collect()).collect();
    assert_eq!(rows.len(), 8);
    let answers = rows.iter().map(|row| format!("{}\n", row[3])).collect();
    let begins = rows.iter().map(|row| row[1].parse().expect("a time")).collect();
    let sound =
        hound::WavReader::new(std::io::Cursor::new(fs::read(wav).expect("the sound is written")));
    (answers, begins, sound.expect("a WAV"))
}

#[test]
fn whoever_answers_by_the_sheet_has_all_right_and_whoever_says_one_thing_has_not() {
    for kind in ["changes", "speeds"] {
        let (answers, ..) = sheet(kind, "7");
        let folder = folder();
        let (good, constant) =
            (write(&folder, "good.txt", &answers), write(&folder, "constant.txt", "2\n".repeat(8)));
        let csv = path(&folder, "answers.csv");
        let score = |answers: &str| {
            let args = [
                "drill",
                "--kind",
                kind,
                "--seed",
                "7",
                "--questions",
                "8",
                "--answers",
                answers,
                "--csv",
                &csv,
            ];
            run(&args)
        };
        assert!(score(&good).starts_with("8 of 8 right\n"));
        let written = fs::read_to_string(&csv).expect("the answers are written");
        assert_eq!(
            written.lines().skip(1).filter(|line| line.contains(",1,0,")).count(),
            8,
            "{written}"
        );
        // Each of four, or of five, answers is right once in so many questions.
        let right: u32 =
            score(&constant).split(' ').next().and_then(|word| word.parse().ok()).expect("a score");
        assert!((1..=2).contains(&right), "{kind}: {right}");
        // Another number asks other questions.
        let (others, ..) = sheet(kind, "8");
        assert_ne!(answers, others);
    }
}

#[test]
fn every_question_of_the_class_file_sounds_where_the_sheet_says_and_is_followed_by_silence() {
    let (_, begins, mut sound) = sheet("changes", "3");
    let samples: Vec<i16> =
        sound.samples::<i16>().map(|sample| sample.expect("a sample")).collect();
    for begin in &begins {
        let at = (begin * 8_000.0) as usize;
        assert!(
            samples[at..at + 8_000].iter().any(|sample| sample.abs() > 1_000),
            "something sounds after {begin} s"
        );
        if at > 0 {
            assert!(
                samples[at - 4 * 8_000..at - 400].iter().all(|sample| *sample == 0),
                "silence before {begin} s"
            );
        }
    }
}

#[test]
fn cockpit_noise_fills_the_silences() {
    let folder = folder();
    let wav = path(&folder, "noisy.wav");
    run(&[
        "drill",
        "--questions",
        "1",
        "--cockpit-db",
        "-20",
        "--wav",
        &wav,
        "--sound-rate",
        "8000",
    ]);
    let mut sound = hound::WavReader::open(wav).expect("a WAV");
    let samples: Vec<f64> = sound
        .samples::<i16>()
        .map(|sample| f64::from(sample.expect("a sample")) / 32_768.0)
        .collect();
    let pause = &samples[samples.len() - 4 * 8_000..];
    let level_db = 10.0
        * (pause.iter().map(|sample| sample * sample).sum::<f64>() / pause.len() as f64).log10();
    assert!((level_db + 20.0).abs() < 0.3, "{level_db} dB");
}

#[test]
fn answers_that_are_none_are_told_by_line() {
    let folder = folder();
    let wrong = write(&folder, "wrong.txt", "1\n\nlouder\n");
    let message = complaint(&["drill", "--questions", "4", "--answers", &wrong], 1);
    assert!(
        message.contains(
            "wrong.txt:3: found `louder`, expected a number from 1 to 4 or one of: weaker"
        ),
        "{message}"
    );
    let few = write(&folder, "few.txt", "1\n");
    let message = complaint(&["drill", "--questions", "4", "--answers", &few], 1);
    assert!(message.contains("found 1 answer, expected 4, one a line"), "{message}");
}

#[test]
fn without_a_terminal_both_say_what_to_do_instead() {
    assert!(complaint(&["drill"], 2).contains("--wav FILE"));
    assert!(complaint(&["listen"], 2).contains("chirrup replay"));
    let output = chirrup()
        .args(["drill", "--cockpit-db", "3"])
        .output()
        .expect("the program can be started");
    assert_eq!(output.status.code(), Some(2));
}
