//! The lessons, controls, statuses and drills as text for the page, so that none of them is written
//! twice.
//!
//! ```text
//! lesson   number  title  question  seconds
//! cue      lesson  number  seconds  caption
//! control  number  least  most  step  start
//! status   number  name
//! kind     number  name  question  answer, answer..
//! ```
//!
//! After an answer:
//!
//! ```text
//! outcome  right (1 or 0)  asked  given  seconds, or nothing where it came too early
//! score    sentence        more (1 or 0)
//! row      asked  how often each answer was given..
//! ```

use chirrup::drill::Drill;
use chirrup::drill::question::Kind;
use chirrup::drill::score::Outcome;
use chirrup::drill::table;
use chirrup::session::Session;
use chirrup::session::cockpit::OFF_DB;
use chirrup::session::control::{Control, Controls};
use chirrup::session::lesson::LESSONS;
use chirrup::session::status_names;
use std::fmt::Write;

/// One record a line, with fields separated by tabs.
pub fn everything() -> String {
    let mut text = String::new();
    write_all(&mut text).expect("a string takes every line");
    text
}

fn write_all(text: &mut String) -> std::fmt::Result {
    for (number, lesson) in LESSONS.iter().enumerate() {
        writeln!(
            text,
            "lesson\t{number}\t{}\t{}\t{}",
            lesson.title, lesson.question, lesson.length_s
        )?;
        for (place, cue) in lesson.cues.iter().enumerate() {
            writeln!(text, "cue\t{number}\t{place}\t{}\t{}", cue.at_s, cue.caption)?;
        }
    }
    let start = Controls::default();
    for (number, control) in Control::ALL.into_iter().enumerate() {
        let range = control.range();
        let value = start.get(control);
        writeln!(
            text,
            "control\t{number}\t{}\t{}\t{}\t{value}",
            range.least, range.most, range.step
        )?;
    }
    for (number, name) in status_names().into_iter().enumerate() {
        writeln!(text, "status\t{number}\t{name}")?;
    }
    for (number, kind) in Kind::ALL.into_iter().enumerate() {
        writeln!(
            text,
            "kind\t{number}\t{}\t{}\t{}",
            kind.name(),
            kind.asks(),
            kind.answers().join("\t")
        )?;
    }
    Ok(())
}

/// The result of an answer, and the score so far.
pub fn outcome(drill: &Drill, outcome: &Outcome) -> String {
    let answers = drill.kind().answers();
    let seconds = outcome.reaction_s.map_or_else(String::new, |seconds| format!("{seconds:.2}"));
    let (asked, given) = (answers[outcome.question.answer], answers[outcome.given]);
    let more = u8::from(drill.outcomes().len() < drill.wanted());
    let mut text = format!("outcome\t{}\t{asked}\t{given}\t{seconds}\n", u8::from(outcome.right));
    text += &format!("score\t{}\t{more}\n", table::sentence(drill));
    for (asked, counts) in table::rows(drill) {
        let counts: Vec<String> = counts.iter().map(u32::to_string).collect();
        text += &format!("row\t{asked}\t{}\n", counts.join("\t"));
    }
    text
}

/// Every answer of the drill as CSV, with the level of the session's cockpit noise.
pub fn results(session: &Session, drill: &Drill) -> String {
    let level_db = session.controls().cockpit_db;
    let noise = (level_db > OFF_DB).then_some(level_db);
    table::csv(drill, noise)
}

#[cfg(test)]
mod tests {
    #[test]
    fn every_record_has_its_fields() {
        for line in super::everything().lines() {
            let fields: Vec<&str> = line.split('\t').collect();
            let expected = match fields[0] {
                "lesson" | "cue" => 5,
                "control" => 6,
                "status" => 3,
                "kind" => {
                    assert!(fields.len() >= 8, "{line}");
                    continue;
                }
                other => panic!("{other}"),
            };
            assert_eq!(fields.len(), expected, "{line}");
            assert!(fields.iter().all(|field| !field.is_empty()), "{line}");
        }
    }
}
