//! The drill on paper: a sound file of questions for a class, and answers from a file.

use super::args::DrillArgs;
use chirrup::drill::Drill;
use chirrup::drill::question::Kind;
use chirrup::drill::sounded::SoundedDrill;
use chirrup::error::{Complaint, Error, Result};
use chirrup::input::Input;
use chirrup::output::place::write_text;
use chirrup::output::wav::WavFile;
use chirrup::time::Clock;
use std::io::BufRead;
use std::path::Path;

/// The last line of the sheet.
const SCORE_IT: &str = "
Before each question its number is told: a low knock for each ten, a tick for each one. The sound
file has markers with the numbers, for players that show them.
Score an answer sheet, one number a line and an empty line for a blank, with --answers FILE and the
same --kind, --seed and --questions.
";
/// What a line without an answer may hold, besides nothing.
const BLANKS: [&str; 4] = ["", "-", "0", "?"];
/// Silence between two questions of a sound file, s: time to write the answer down.
const PAUSE_S: f64 = 5.0;

/// Writes every question into one sound file; returns the text of the answer sheet.
///
/// # Errors
/// A file that cannot be written.
pub fn record(args: &DrillArgs, path: &Path) -> Result<String> {
    refuse_what_adapts(args, "--wav")?;
    let mut session = args.session(args.sound_rate.hz);
    let mut drill = SoundedDrill::numbered(args.drill(), args.sound_rate.hz);
    let mut file = WavFile::create(path, args.sound_rate.hz, 1)?;
    let mut sheet = Vec::new();
    let mut begun_s = 0.0;
    while let Some(question) = drill.ask() {
        let lead_s = drill.lead_s();
        sheet.push((begun_s + lead_s, question));
        file.mark(&format!("question {}", sheet.len()));
        let length_s = lead_s + question.length_s() + PAUSE_S;
        let frames = (length_s * f64::from(args.sound_rate.hz)) as usize;
        let mut both = vec![0_i16; 2 * frames];
        drill.fill(&mut session, &mut both);
        let one: Vec<i16> = both.iter().step_by(2).copied().collect();
        file.push(&one)?;
        begun_s += frames as f64 / f64::from(args.sound_rate.hz);
        drill.answer(None, 0.0);
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

/// The next question of a drill that adapts depends on the answers, so that nothing can be recorded
/// before, or scored after.
fn refuse_what_adapts(args: &DrillArgs, option: &str) -> Result<()> {
    if args.kind() != Kind::Threshold {
        return Ok(());
    }
    Err(Error::Usage(format!(
        "{option} cannot be used with --kind threshold, whose questions depend on the answers; \
         use --kind changes, or leave {option} out"
    )))
}

/// Scores answers from a file, one a line: the number of the answer, or its name, or a blank.
///
/// # Errors
/// A file that cannot be read, or a line that is not an answer.
pub fn score(args: &DrillArgs, path: &Path) -> Result<Drill> {
    refuse_what_adapts(args, "--answers")?;
    let input = Input::new(path);
    let mut drill = args.drill();
    let mut lines = input.open()?.reader.lines().enumerate();
    while drill.ask().is_some() {
        let Some((place, text)) = lines.next() else {
            let found = match drill.outcomes().len() {
                1 => "1 answer".into(),
                count => format!("{count} answers"),
            };
            return Err(wrong(&input, None, found, &drill));
        };
        let text = text.map_err(|source| Error::io("cannot read", path, source))?;
        // Some editors begin a file with a mark of its encoding.
        let text = text.trim_start_matches('\u{feff}').trim().to_lowercase();
        let line = place as u64 + 1;
        if BLANKS.contains(&text.as_str()) {
            drill.answer(None, None);
            continue;
        }
        let answers = drill.kind().answers();
        let by_number =
            text.parse::<usize>().ok().filter(|number| (1..=answers.len()).contains(number));
        let choice = by_number
            .map(|number| number - 1)
            .or_else(|| answers.iter().position(|name| *name == text));
        let Some(choice) = choice else {
            return Err(wrong(&input, Some(line), format!("`{text}`"), &drill));
        };
        drill.answer(Some(choice), None);
    }
    refuse_more(lines, path, &input, &drill)?;
    Ok(drill)
}

/// More lines than questions are answers to something else; empty ones at the end are none.
fn refuse_more(
    lines: impl Iterator<Item = (usize, std::io::Result<String>)>,
    path: &Path,
    input: &Input,
    drill: &Drill,
) -> Result<()> {
    let wanted = drill.wanted();
    for (place, text) in lines {
        let text = text.map_err(|source| Error::io("cannot read", path, source))?;
        if !text.trim().is_empty() {
            let found = format!("an answer more than the {wanted} questions (`{}`)", text.trim());
            return Err(wrong(input, Some(place as u64 + 1), found, drill));
        }
    }
    Ok(())
}

fn wrong(input: &Input, line: Option<u64>, found: String, drill: &Drill) -> Error {
    let answers = drill.kind().answers();
    let expected = match line {
        Some(_) => {
            format!(
                "a number from 1 to {} or one of: {}; an empty line or - is a blank",
                answers.len(),
                answers.join(", ")
            )
        }
        None => format!("{}, one a line", drill.wanted()),
    };
    let hint = line.is_none().then(|| {
        "an editor may have cut off empty last lines, write - for a blank; or say with --questions \
         how many were asked"
            .to_owned()
    });
    Complaint { file: input.name(), line, column: None, found, expected, hint }.into()
}
