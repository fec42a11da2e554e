//! The score for people and programs: a confusion table, and every answer as CSV.

use super::Drill;
use crate::text_table::{Column, Table};
use std::fmt::Write;

/// The columns of the CSV.
pub const HEADER: &str = "number,kind,seed,cockpit_db,before_mps,after_mps,moment_s,\
                          asked,answered,right,early,reaction_s";

/// Every answer as CSV; `cockpit_db` is the level of the noise, `None` where there was none.
pub fn csv(drill: &Drill, cockpit_db: Option<f64>) -> String {
    let answers = drill.kind().answers();
    let noise = cockpit_db.map_or_else(String::new, |level| format!("{level:.0}"));
    let rows = drill.outcomes().iter().enumerate().map(|(place, outcome)| {
        let question = &outcome.question;
        format!(
            "{},{},{},{noise},{:.2},{:.2},{:.2},{},{},{},{},{}",
            place + 1,
            drill.kind().name(),
            drill.seed(),
            question.before_mps,
            question.after_mps,
            question.moment_s,
            answers[question.answer],
            answers[outcome.given],
            u8::from(outcome.right),
            u8::from(outcome.early),
            outcome.reaction_s.map_or_else(String::new, |seconds| format!("{seconds:.3}")),
        )
    });
    std::iter::once(HEADER.to_owned()).chain(rows).map(|row| row + "\n").collect()
}

/// The score in a sentence: `7 of 10 right, 1.42 s on average`.
pub fn sentence(drill: &Drill) -> String {
    let score = drill.score();
    let mut text = format!("{} of {} right", score.right(), score.total());
    if let Some(seconds) = score.mean_reaction_s() {
        write!(text, ", {seconds:.2} s on average").expect("a string takes all");
    }
    match score.early() {
        0 => {}
        1 => text += "; one answer came before the change could be heard",
        early => write!(text, "; {early} answers came before the change could be heard")
            .expect("a string takes all"),
    }
    text
}

/// Rows of what was asked, with how often each answer was given.
pub fn rows(drill: &Drill) -> Vec<(&'static str, Vec<u32>)> {
    let answers = drill.kind().answers();
    let row = |asked| (0..answers.len()).map(|given| drill.score().taken(asked, given)).collect();
    answers.iter().enumerate().map(|(asked, name)| (*name, row(asked))).collect()
}

/// The table for a terminal: right answers down, given answers across.
pub fn text(drill: &Drill) -> String {
    let answers = drill.kind().answers();
    let names = [Column::left("it was:"), Column::left("said:").gap(2)];
    let numbers =
        (1..=answers.len()).map(|number| Column::right(&number.to_string()).wide(4).gap(0));
    let mut table = Table::new(names.into_iter().chain(numbers)).indented(0);
    for (place, (name, counts)) in rows(drill).into_iter().enumerate() {
        let count = |count: u32| if count == 0 { "·".into() } else { count.to_string() };
        let number = format!("{:>4}", place + 1);
        table.row([name.to_owned(), number].into_iter().chain(counts.into_iter().map(count)));
    }
    table.to_string()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drill::question::Kind;

    #[test]
    fn the_csv_holds_every_answer_and_the_table_adds_up() {
        let mut drill = Drill::new(Kind::Speeds, 9, 5);
        let mut right = 0;
        while let Some((question, _)) = drill.ask() {
            // The third answer is always given.
            drill.answer(2, Some(1.25)).unwrap();
            right += usize::from(question.answer == 2);
        }
        let text = csv(&drill, Some(-20.0));
        let lines: Vec<&str> = text.lines().collect();
        assert_eq!((lines.len(), lines[0]), (6, HEADER));
        for line in &lines[1..] {
            let fields: Vec<&str> = line.split(',').collect();
            assert_eq!(fields.len(), HEADER.split(',').count());
            assert_eq!(
                (fields[1], fields[3], fields[8], fields[11]),
                ("speeds", "-20", "weak climb", "1.250")
            );
            assert_eq!(fields[9] == "1", fields[7] == "weak climb");
        }
        assert_eq!(right, 1);
        assert_eq!(sentence(&drill), "1 of 5 right, 1.25 s on average");
        assert_eq!(rows(&drill).iter().flat_map(|(_, counts)| counts).sum::<u32>(), 5);
    }
}
