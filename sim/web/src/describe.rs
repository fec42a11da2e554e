//! The lessons, controls, statuses and drills as text for the page, so that none of them is written
//! twice.
//!
//! ```text
//! lesson   number  key  title  question  seconds
//! cue      lesson  number  seconds  caption
//! control  number  least  most  step  start
//! status   number  name
//! kind     number  name  questions  question  answer, answer..
//! ```
//!
//! After an answer:
//!
//! ```text
//! outcome  right  asked  given or -1 for none  seconds, or nothing where there are none  early
//! score    right  of so many  by guessing  may be luck  mean seconds or nothing  early  blank  more
//! ear      threshold, m/s  its standard error as a share  whether known  between these, m/s; for
//!          that kind of drill alone
//! row      how often each answer was given..  how often none; a row for each answer asked
//! ```
//!
//! The profile of a trace, in seconds since its beginning and metres:
//!
//! ```text
//! point  seconds  height
//! climb  begin    end     gained
//! ```
//!
//! Answers are told by their places; right, early, luck and more are 1 or 0.

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
            "lesson\t{number}\t{}\t{}\t{}\t{}",
            lesson.key, lesson.title, lesson.question, lesson.length_s
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
            "kind\t{number}\t{}\t{}\t{}\t{}",
            kind.name(),
            kind.usual_questions(),
            kind.asks(),
            kind.answers().join("\t")
        )?;
    }
    Ok(())
}

/// The result of an answer, and the score so far.
pub fn outcome(drill: &Drill, outcome: &Outcome) -> String {
    let mut text = String::new();
    write_outcome(&mut text, drill, outcome).expect("a string takes every line");
    text
}

fn write_outcome(text: &mut String, drill: &Drill, outcome: &Outcome) -> std::fmt::Result {
    let seconds =
        |seconds: Option<f64>| seconds.map_or_else(String::new, |seconds| format!("{seconds:.2}"));
    writeln!(
        text,
        "outcome\t{}\t{}\t{}\t{}\t{}",
        u8::from(outcome.right),
        outcome.question.answer,
        outcome.given.map_or(-1, |given| given as i32),
        seconds(outcome.reaction_s),
        u8::from(outcome.early),
    )?;
    let score = drill.score();
    writeln!(
        text,
        "score\t{}\t{}\t{:.1}\t{}\t{}\t{}\t{}\t{}",
        score.right(),
        score.total(),
        score.by_guessing(),
        u8::from(score.may_be_luck()),
        seconds(score.mean_reaction_s()),
        score.early(),
        score.blank(),
        u8::from(!drill.is_over()),
    )?;
    if let Some(threshold) = drill.threshold() {
        let [least_mps, most_mps] = threshold.between_mps();
        let known = u8::from(threshold.is_known());
        let (mps, error) = (threshold.mps(), threshold.error());
        writeln!(text, "ear\t{mps:.3}\t{error:.3}\t{known}\t{least_mps:.3}\t{most_mps:.3}")?;
    }
    for (_, counts) in table::rows(drill) {
        let counts: Vec<String> = counts.iter().map(u32::to_string).collect();
        writeln!(text, "row\t{}", counts.join("\t"))?;
    }
    Ok(())
}

/// Heights and climbs of the session's trace.
pub fn profile(session: &Session) -> String {
    let profile = session.profile();
    let points = profile
        .points
        .iter()
        .map(|(time_s, height_m)| format!("point\t{time_s:.2}\t{height_m:.1}"));
    let climbs = profile.climbs.iter().map(|climb| {
        format!("climb\t{:.2}\t{:.2}\t{:.0}", climb.begin_s, climb.end_s, climb.gain_m)
    });
    points.chain(climbs).collect::<Vec<_>>().join("\n")
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
                "cue" => 5,
                "lesson" | "control" => 6,
                "status" => 3,
                "kind" => {
                    assert!(fields.len() >= 7, "{line}");
                    continue;
                }
                other => panic!("{other}"),
            };
            assert_eq!(fields.len(), expected, "{line}");
            assert!(fields.iter().all(|field| !field.is_empty()), "{line}");
        }
    }
}
