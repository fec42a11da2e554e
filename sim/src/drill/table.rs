//! The score for people and programs: a confusion table, and every answer as CSV.

use super::Drill;
use super::threshold::{MOST_ASKED_MPS, Threshold};
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
            "{},{},{},{noise},{:.3},{:.3},{:.2},{},{},{},{},{}",
            place + 1,
            drill.kind().name(),
            drill.seed(),
            question.before_mps,
            question.after_mps,
            question.moment_s,
            answers[question.answer],
            outcome.given.map_or("", |given| answers[given]),
            u8::from(outcome.right),
            u8::from(outcome.early),
            outcome.reaction_s.map_or_else(String::new, |seconds| format!("{seconds:.3}")),
        )
    });
    std::iter::once(HEADER.to_owned()).chain(rows).map(|row| row + "\n").collect()
}

/// The score in a sentence: `7 of 12 right, where guessing gets 3; 1.42 s on average`.
pub fn sentence(drill: &Drill) -> String {
    let score = drill.score();
    let mut text = format!("{} of {} right", score.right(), score.total());
    if let Some(threshold) = drill.threshold() {
        text += &told_from_guessing(threshold);
    } else if score.total() > 0 {
        let luck = if score.may_be_luck() { " and may get as many" } else { "" };
        write!(text, ", where guessing gets {:.1}{luck}", score.by_guessing())
            .expect("a string takes all");
    }
    if let Some(seconds) = score.mean_reaction_s() {
        write!(text, "; {seconds:.2} s on average").expect("a string takes all");
    }
    match score.blank() {
        0 => {}
        1 => text += "; one was left blank",
        blank => write!(text, "; {blank} were left blank").expect("a string takes all"),
    }
    match score.early() {
        0 => {}
        1 => text += "; one answer came before the change could be heard",
        early => write!(text, "; {early} answers came before the change could be heard")
            .expect("a string takes all"),
    }
    text
}

fn told_from_guessing(threshold: &Threshold) -> String {
    if threshold.is_beyond() {
        return format!("; even a change of {MOST_ASKED_MPS} m/s is hardly told from guessing");
    }
    if !threshold.is_known() {
        let [least_mps, most_mps] = threshold.between_mps();
        return format!(
            "; what is told right three times out of four is not known yet: a change between \
             {least_mps:.2} and {most_mps:.2} m/s"
        );
    }
    format!(
        "; a change of {:.2} m/s is told right three times out of four (standard error {:.0} %)",
        threshold.mps(),
        100.0 * threshold.error()
    )
}

/// Rows of what was asked, with how often each answer was given, and last how often none.
pub fn rows(drill: &Drill) -> Vec<(&'static str, Vec<u32>)> {
    let (answers, score) = (drill.kind().answers(), drill.score());
    let row = |asked| {
        let given = (0..answers.len()).map(|given| score.taken(asked, given));
        given.chain([score.blank_of(asked)]).collect()
    };
    answers.iter().enumerate().map(|(asked, name)| (*name, row(asked))).collect()
}

/// The table for a terminal: right answers down, given answers across.
pub fn text(drill: &Drill) -> String {
    let answers = drill.kind().answers();
    let names = [Column::left("it was:"), Column::left("said:").gap(2)];
    let names_of_given = (1..=answers.len()).map(|number| number.to_string());
    let numbers = names_of_given
        .chain(["none".into()])
        .map(|name| Column::right(&name).wide(4).gap(usize::from(name == "none")));
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
        while let Some(question) = drill.ask() {
            // The third answer is always given.
            drill.answer(Some(2), Some(1.25)).unwrap();
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
        let luck = if right > 2 { "" } else { " and may get as many" };
        let time = if right > 0 { "; 1.25 s on average" } else { "" };
        let expected = format!("{right} of 5 right, where guessing gets 1.0{luck}{time}");
        assert_eq!(sentence(&drill), expected);
        assert_eq!(rows(&drill).iter().flat_map(|(_, counts)| counts).sum::<u32>(), 5);
    }
}
