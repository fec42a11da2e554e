//! The drill on paper: a sound file of questions for a class, and answers from a file.

use super::args::DrillArgs;
use chirrup::drill::Drill;
use chirrup::error::{Complaint, Error, Result};
use chirrup::input::Input;
use chirrup::output::place::write_text;
use chirrup::output::wav::WavFile;
use chirrup::time::Clock;
use std::io::BufRead;
use std::path::Path;

/// The last line of the sheet.
const SCORE_IT: &str = "
Score an answer sheet, one number a line, with --answers FILE and the same --kind, --seed and \
--questions.
";
/// Silence between two questions of a sound file, s: time to write the answer down.
const PAUSE_S: f64 = 5.0;

/// Writes every question into one sound file; returns the text of the answer sheet.
///
/// # Errors
/// A file that cannot be written.
pub fn record(args: &DrillArgs, path: &Path) -> Result<String> {
    let (mut session, mut sounded) = args.sounded(args.sound_rate.hz);
    let mut file = WavFile::create(path, args.sound_rate.hz, 1)?;
    let mut sheet = Vec::new();
    let mut begun_s = 0.0;
    let mut drill = args.drill();
    while let Some((question, _)) = drill.ask() {
        // The sounded drill asks the same questions.
        sounded.ask();
        sheet.push((begun_s, question));
        let frames = ((question.length_s() + PAUSE_S) * f64::from(args.sound_rate.hz)) as usize;
        let mut both = vec![0_i16; 2 * frames];
        sounded.fill(&mut session, &mut both);
        let one: Vec<i16> = both.iter().step_by(2).copied().collect();
        file.push(&one)?;
        begun_s += frames as f64 / f64::from(args.sound_rate.hz);
        drill.answer(0, None);
        sounded.answer(0, 0.0);
    }
    file.finish()?;
    let answers = args.kind().answers();
    if let Some(path) = &args.csv {
        let rows = sheet.iter().enumerate().map(|(place, (at_s, question))| {
            format!(
                "{},{at_s:.2},{:.2},{}\n",
                place + 1,
                at_s + question.moment_s,
                answers[question.answer]
            )
        });
        write_text(
            path,
            &("number,begins_s,moment_s,asked\n".to_owned() + &rows.collect::<String>()),
        )?;
    }
    let mut text = format!("{} (answer with the numbers)\n", args.kind().asks());
    for (number, name) in answers.iter().enumerate() {
        text += &format!("  {}  {name}\n", number + 1);
    }
    text += "\nThe sheet, for the instructor:\n";
    for (place, (at_s, question)) in sheet.iter().enumerate() {
        let clock = Clock(*at_s).to_string();
        text += &format!(
            "  question {:>2} at {clock:>6}   {}  {}\n",
            place + 1,
            question.answer + 1,
            answers[question.answer]
        );
    }
    Ok(text + SCORE_IT)
}

/// Scores answers from a file, one a line: the number of the answer, or its name.
///
/// # Errors
/// A file that cannot be read, or a line that is not an answer.
pub fn score(args: &DrillArgs, path: &Path) -> Result<Drill> {
    let input = Input::new(path);
    let mut drill = args.drill();
    let mut lines = input.open()?.reader.lines().enumerate();
    while drill.ask().is_some() {
        let (line, text) = loop {
            let Some((place, text)) = lines.next() else {
                let found = match drill.outcomes().len() {
                    1 => "1 answer".into(),
                    count => format!("{count} answers"),
                };
                return Err(wrong(&input, None, found, &drill));
            };
            let text = text.map_err(|source| Error::io("cannot read", path, source))?;
            if !text.trim().is_empty() {
                break (place as u64 + 1, text.trim().to_lowercase());
            }
        };
        let answers = drill.kind().answers();
        let by_number =
            text.parse::<usize>().ok().filter(|number| (1..=answers.len()).contains(number));
        let choice = by_number
            .map(|number| number - 1)
            .or_else(|| answers.iter().position(|name| *name == text));
        let Some(choice) = choice else {
            return Err(wrong(&input, Some(line), format!("`{text}`"), &drill));
        };
        drill.answer(choice, None);
    }
    Ok(drill)
}

fn wrong(input: &Input, line: Option<u64>, found: String, drill: &Drill) -> Error {
    let answers = drill.kind().answers();
    let expected = match line {
        Some(_) => {
            format!("a number from 1 to {} or one of: {}", answers.len(), answers.join(", "))
        }
        None => format!("{}, one a line", drill.wanted()),
    };
    let hint = line.is_none().then(|| "or say with --questions how many were asked".to_owned());
    Complaint { file: input.name(), line, column: None, found, expected, hint }.into()
}
