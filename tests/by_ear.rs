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
    for (kind, chance) in [("changes", "2.0"), ("speeds", "1.6"), ("flights", "2.0")] {
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
        let told = format!("8 of 8 right, where guessing gets {chance}\n");
        assert!(score(&good).starts_with(&told), "{}", score(&good));
        let written = fs::read_to_string(&csv).expect("the answers are written");
        assert_eq!(
            written.lines().skip(1).filter(|line| line.contains(",1,0,")).count(),
            8,
            "{written}"
        );
        let right: usize =
            score(&constant).split(' ').next().and_then(|word| word.parse().ok()).expect("a score");
        let second = answers.lines().filter(|line| *line == second_of(kind)).count();
        assert_eq!(right, second, "{kind}");
        // Another number asks other questions.
        let (others, ..) = sheet(kind, "8");
        assert_ne!(answers, others);
    }
}

/// The answer that the number 2 stands for.
fn second_of(kind: &str) -> &'static str {
    if kind == "speeds" { "nothing to tell" } else { "the same" }
}

#[test]
fn every_question_of_the_class_file_sounds_where_the_sheet_says_after_as_many_ticks_as_its_number()
{
    let (_, begins, mut sound) = sheet("changes", "3");
    let samples: Vec<i16> =
        sound.samples::<i16>().map(|sample| sample.expect("a sample")).collect();
    for (place, begin) in begins.iter().enumerate() {
        let at = (begin * 8_000.0) as usize;
        assert!(
            samples[at..at + 8_000].iter().any(|sample| sample.abs() > 1_000),
            "something sounds after {begin} s"
        );
        // Blocks of 10 ms in which something sounds, back to the silence after the question before.
        let sounds: Vec<bool> = samples[at.saturating_sub(4 * 8_000)..at - 400]
            .chunks(80)
            .map(|block| block.iter().any(|sample| sample.abs() > 500))
            .collect();
        let first = usize::from(sounds[0]);
        let ticks = first + sounds.windows(2).filter(|pair| !pair[0] && pair[1]).count();
        assert_eq!(ticks, place + 1, "before {begin} s");
    }
}

/// Markers by the format's description, read without the program's code.
#[test]
fn the_class_file_has_a_marker_at_the_ticks_of_each_question() {
    let folder = folder();
    let wav = path(&folder, "marked.wav");
    run(&["drill", "--questions", "3", "--wav", &wav, "--sound-rate", "8000"]);
    let bytes = fs::read(wav).expect("the sound is written");
    let number =
        |at: usize| u32::from_le_bytes(bytes[at..at + 4].try_into().expect("4 bytes")) as usize;
    assert_eq!(number(4) + 8, bytes.len());
    let mut chunks = std::collections::BTreeMap::new();
    let mut at = 12;
    while at < bytes.len() {
        chunks.insert(bytes[at..at + 4].to_vec(), at + 8);
        at += 8 + number(at + 4).next_multiple_of(2);
    }
    let (sound, cue) = (chunks[&b"data"[..]], chunks[&b"cue "[..]]);
    assert_eq!(number(cue), 3);
    for place in 0..3 {
        let frame = number(cue + 4 + 24 * place + 20);
        let samples = &bytes[sound + 2 * frame..sound + 2 * (frame + 160)];
        let loudest = samples.chunks(2).map(|two| i16::from_le_bytes([two[0], two[1]]).abs()).max();
        assert!(loudest > Some(500), "a tick at the marker of question {}", place + 1);
    }
    let names = String::from_utf8_lossy(&bytes[chunks[&b"LIST"[..]]..]).into_owned();
    for name in ["question 1\0", "question 2\0", "question 3\0"] {
        assert!(names.contains(name), "{names:?}");
    }
}

#[test]
fn blanks_count_as_asked_and_answers_after_the_last_question_are_refused() {
    let folder = folder();
    let blanks = write(&folder, "blanks.txt", "\u{feff}-\n\n?\n0\n\n\n");
    let told = run(&["drill", "--questions", "4", "--answers", &blanks]);
    assert!(told.starts_with("0 of 4 right"), "{told}");
    assert!(told.contains("4 were left blank"), "{told}");
    let many = write(&folder, "many.txt", "1\n1\n1\n1\n2\n");
    let message = complaint(&["drill", "--questions", "4", "--answers", &many], 1);
    assert!(message.contains("many.txt:5: found an answer more than the 4 questions"), "{message}");
}

#[test]
fn a_drill_that_adapts_is_neither_recorded_nor_scored_on_paper() {
    for option in ["--wav", "--answers"] {
        let message = complaint(&["drill", "--kind", "threshold", option, "x.wav"], 2);
        assert!(message.contains("depend on the answers"), "{message}");
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
    let wrong = write(&folder, "wrong.txt", "1\n1\nlouder\n");
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
