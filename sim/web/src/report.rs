//! The report as an array of numbers; `page/report.js` names them in the same order.

use chirrup::session::control::Control;
use chirrup::session::lesson::LESSONS;
use chirrup::session::{Note, Session, Shown};

/// How many numbers there are.
pub const LENGTH: usize = 13 + 2 * OF_ONE + Control::ALL.len();
const OF_ONE: usize = 8;

/// The numbers.
pub fn numbers(session: &Session) -> Vec<f64> {
    let report = session.report();
    let playing = session
        .lesson()
        .and_then(|lesson| LESSONS.iter().position(|known| std::ptr::eq(known, lesson)));
    let mut numbers = vec![
        report.time_s,
        report.length_s,
        report.height_m,
        report.speed_mps,
        report.air_mps,
        report.path_rad,
        report.bank_rad,
        report.heading_rad,
        report.radius_m,
        report.offset_m,
        playing.map_or(-1.0, |place| place as f64),
        f64::from(report.caption),
        f64::from(report.restarts),
    ];
    numbers.extend(shown(&report.left));
    numbers.extend(shown(&report.right));
    numbers.extend(Control::ALL.map(|control| session.controls().get(control)));
    numbers
}

/// Four numbers a control tick: pitch in Hz, 0 in silence, and meaning, of the left and the right
/// ear; of all ticks since the last call.
pub fn notes(session: &mut Session) -> Vec<f32> {
    let of = |note: &Note| [note.pitch_hz, f32::from(note.meaning as u8)];
    let ticks = session.take_heard();
    ticks
        .iter()
        .flat_map(|ears| [of(&ears.left), of(&ears.right.unwrap_or(ears.left))].concat())
        .collect()
}

fn shown(shown: &Shown) -> [f64; OF_ONE] {
    [
        shown.reading_mps,
        f64::from(shown.good),
        shown.pitch_hz,
        shown.cadence_hz,
        f64::from(shown.sounding),
        f64::from(shown.meaning as u8),
        f64::from(shown.status),
        f64::from(shown.energy as u8),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn there_are_as_many_numbers_as_said() {
        let mut session = Session::new(8_000, 0);
        assert_eq!(numbers(&session).len(), LENGTH);
        session.play_lesson(3);
        session.fill(&mut [0; 8_000]);
        let numbers = numbers(&session);
        assert_eq!((numbers[10], numbers[11]), (3.0, 0.0));
        assert!((notes(&mut session).len() / 4).abs_diff(250) <= 1);
    }
}
