//! The report as an array of numbers; `page/report.js` names them in the same order.

use chirrup::session::control::Control;
use chirrup::session::lesson::LESSONS;
use chirrup::session::{Session, Shown};

/// How many numbers there are.
pub const LENGTH: usize = 13 + 2 * OF_ONE + Control::ALL.len();
const OF_ONE: usize = 7;

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

fn shown(shown: &Shown) -> [f64; OF_ONE] {
    [
        shown.reading_mps,
        f64::from(shown.good),
        shown.pitch_hz,
        shown.cadence_hz,
        f64::from(shown.sounding),
        f64::from(shown.meaning as u8),
        f64::from(shown.status),
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
    }
}
