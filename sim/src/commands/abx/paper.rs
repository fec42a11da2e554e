//! The test without keys: three sound files a round and the key, and answers from a file.

use chirrup::abx::{Request, Side, Sounds, Test};
use chirrup::error::{Complaint, Error, Result};
use chirrup::input::Input;
use chirrup::output::place::{Placed, Sealed, place_all};
use chirrup::output::wav::WavFile;
use chirrup::text_file;
use chirrup::words::shown_path;
use std::fs;
use std::io::{BufRead, Read};
use std::path::Path;

/// The name of the key.
const KEY: &str = "key.csv";

/// Writes every round and the key into `folder`; returns what to do with them.
///
/// # Errors
/// A file that cannot be written; none is then under its name.
pub fn write(
    request: &Request,
    test: &Test,
    sounds: &Sounds,
    folder: &Path,
    sample_rate_hz: u32,
) -> Result<String> {
    fs::create_dir_all(folder)
        .map_err(|source| Error::io("cannot make the folder", folder, source))?;
    let mut sealed = Vec::new();
    let mut key = String::from("round,x,from_s,seed\n");
    for (place, round) in test.rounds.iter().enumerate() {
        let number = place + 1;
        for (name, side) in [("a", Side::A), ("b", Side::B), ("x", round.x)] {
            let samples = sounds.samples(round.passage, side, sample_rate_hz);
            let path = folder.join(format!("round-{number:02}-{name}.wav"));
            sealed.push(wav(&path, &samples, sample_rate_hz)?);
        }
        let from_s = test.from_s(round);
        key += &format!("{number},{},{from_s:.2},{}\n", round.x, request.seed);
    }
    sealed.push(Placed::create(&folder.join(KEY))?.seal_with(key.as_bytes())?);
    place_all(sealed)?;
    Ok(sheet(request, test, folder))
}

fn wav(path: &Path, samples: &[i16], sample_rate_hz: u32) -> Result<Sealed> {
    let mut file = WavFile::create(path, sample_rate_hz, 1)?;
    file.push(samples)?;
    file.seal()
}

fn sheet(request: &Request, test: &Test, folder: &Path) -> String {
    let (folder, rounds, seed) = (shown_path(folder), test.rounds.len(), request.seed);
    format!(
        "{rounds} rounds in {folder}; the files of the first are round-01-a.wav, round-01-b.wav \
         and round-01-x.wav.\nListen as often as you wish, and write for each round, on a line of \
         its own, whether X is a or b;\nguess where you do not know. {KEY} has the right answers: \
         open it afterwards.\nScore yours with --answers FILE --seed {seed} --rounds {rounds} and \
         the same A, B and trace.\n"
    )
}

/// Reads answers, one a line; fewer than `most` are those of the first rounds.
///
/// # Errors
/// A file that cannot be read, a line that is no answer, or more answers than rounds.
pub fn read(path: &Path, most: usize) -> Result<Vec<Side>> {
    let input = Input::new(path);
    let mut answers = Vec::new();
    // Answers are short; a file without an end is none.
    let reader = input.open()?.reader.take(text_file::MOST_BYTES);
    for (line, text) in (1..).zip(reader.lines()) {
        let text = text.map_err(|source| Error::io("cannot read", path, source))?;
        let text = text.trim();
        match Side::read(text) {
            _ if text.is_empty() => {}
            Some(side) if answers.len() < most => answers.push(side),
            Some(_) => {
                let found = format!("answer {}", answers.len() + 1);
                let hint = "say with --rounds how many there were";
                return Err(wrong(&input, line, found, &format!("{most} answers"), hint));
            }
            None => {
                let shown = text.chars().filter(|letter| !letter.is_control()).take(40);
                let found = format!("`{}`", shown.collect::<String>());
                return Err(wrong(&input, line, found, "a or b", "guess where you do not know"));
            }
        }
    }
    Ok(answers)
}

fn wrong(input: &Input, line: u64, found: String, expected: &str, hint: &str) -> Error {
    let (file, line, column) = (input.name(), Some(line), None);
    let (expected, hint) = (expected.to_owned(), Some(hint.to_owned()));
    Complaint { file, line, column, found, expected, hint }.into()
}
