//! What there is to choose, as text for the page: no lesson and no range is written twice.
//!
//! ```text
//! lesson   number  title  question  seconds
//! cue      lesson  number  seconds  caption
//! control  number  least  most  step  start
//! status   number  name
//! ```

use chirrup::session::control::{Control, Controls};
use chirrup::session::lesson::LESSONS;
use chirrup::session::status_names;
use std::fmt::Write;

/// One record a line, its fields parted by tabs.
pub fn everything() -> String {
    let mut text = String::new();
    write_all(&mut text).expect("a string takes every line");
    text
}

fn write_all(text: &mut String) -> std::fmt::Result {
    for (number, lesson) in LESSONS.iter().enumerate() {
        writeln!(text, "lesson\t{number}\t{}\t{}\t{}", lesson.title, lesson.question, lesson.length_s)?;
        for (place, cue) in lesson.cues.iter().enumerate() {
            writeln!(text, "cue\t{number}\t{place}\t{}\t{}", cue.at_s, cue.caption)?;
        }
    }
    let start = Controls::default();
    for (number, control) in Control::ALL.into_iter().enumerate() {
        let range = control.range();
        let value = start.get(control);
        writeln!(text, "control\t{number}\t{}\t{}\t{}\t{value}", range.least, range.most, range.step)?;
    }
    for (number, name) in status_names().into_iter().enumerate() {
        writeln!(text, "status\t{number}\t{name}")?;
    }
    Ok(())
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
                other => panic!("{other}"),
            };
            assert_eq!(fields.len(), expected, "{line}");
            assert!(fields.iter().all(|field| !field.is_empty()), "{line}");
        }
    }
}
