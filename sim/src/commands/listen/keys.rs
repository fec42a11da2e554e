//! From a key to its action.

use super::history::History;
use chirrup::session::Session;
use chirrup::session::control::Control;
use ratatui::crossterm::event::{Event, KeyCode, KeyEventKind, KeyModifiers};

/// The action of a key.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Wish {
    /// Steps of a control.
    Turn(Control, f64),
    /// The next choice of a control; after the last the first.
    Next(Control),
    /// Still air.
    Still,
    /// A lesson, from 0; the present one ends.
    Lesson(usize),
    /// A new flight.
    Afresh,
    /// Pause, or continue.
    Pause,
    /// Enough.
    End,
}

/// The action of the event; `None` for any other key.
pub fn wish(event: &Event) -> Option<Wish> {
    let Event::Key(key) = event else { return None };
    if key.kind == KeyEventKind::Release {
        return None;
    }
    if key.modifiers.contains(KeyModifiers::CONTROL) {
        return (key.code == KeyCode::Char('c')).then_some(Wish::End);
    }
    Some(match key.code {
        KeyCode::Up => Wish::Turn(Control::Air, 1.0),
        KeyCode::Down => Wish::Turn(Control::Air, -1.0),
        KeyCode::Right => Wish::Turn(Control::Speed, 1.0),
        KeyCode::Left => Wish::Turn(Control::Speed, -1.0),
        KeyCode::Char('+' | '=') => Wish::Turn(Control::Volume, 1.0),
        KeyCode::Char('-') => Wish::Turn(Control::Volume, -1.0),
        KeyCode::Char(']') => Wish::Turn(Control::Response, 2.0),
        KeyCode::Char('[') => Wish::Turn(Control::Response, -2.0),
        KeyCode::Char('n') => Wish::Turn(Control::Noise, 1.0),
        KeyCode::Char('N') => Wish::Turn(Control::Noise, -1.0),
        KeyCode::Char('c') => Wish::Next(Control::Energy),
        KeyCode::Char('f') => Wish::Next(Control::Filter),
        KeyCode::Char('x') => Wish::Next(Control::Fault),
        KeyCode::Char('t') => Wish::Next(Control::Two),
        KeyCode::Char('m') => Wish::Next(Control::Mute),
        KeyCode::Char('0') => Wish::Still,
        KeyCode::Char(digit @ '1'..='9') => Wish::Lesson(digit as usize - '1' as usize),
        KeyCode::Char('a') => Wish::Afresh,
        KeyCode::Char(' ') => Wish::Pause,
        KeyCode::Char('q') | KeyCode::Esc => Wish::End,
        _ => return None,
    })
}

/// Carries out an action of the session; ignores the others.
pub fn grant(wish: &Wish, session: &mut Session, history: &mut History) {
    match *wish {
        Wish::Turn(control, steps) => {
            let value = session.controls().get(control) + steps * control.range().step;
            session.set(control, value);
        }
        Wish::Next(control) => {
            let next = session.controls().get(control) + 1.0;
            session.set(control, if next > control.range().most { 0.0 } else { next });
        }
        Wish::Still => {
            for control in [Control::Air, Control::Bank, Control::Thermal] {
                session.set(control, 0.0);
            }
        }
        Wish::Lesson(number) => {
            history.clear();
            session.play_lesson(number);
        }
        Wish::Afresh => {
            history.clear();
            session.start_afresh();
        }
        Wish::Pause | Wish::End => {}
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use ratatui::crossterm::event::KeyEvent;

    fn press(session: &mut Session, code: KeyCode) {
        let wish =
            wish(&Event::Key(KeyEvent::new(code, KeyModifiers::NONE))).expect("a key of ours");
        grant(&wish, session, &mut History::default());
    }

    #[test]
    fn the_arrows_move_the_air_and_the_stick_and_zero_calms_the_air() {
        let mut session = Session::new(8_000, 1);
        for code in [KeyCode::Up, KeyCode::Up, KeyCode::Right, KeyCode::Left, KeyCode::Left] {
            press(&mut session, code);
        }
        assert_eq!((session.controls().air_mps, session.controls().speed_mps), (1.0, 26.0));
        press(&mut session, KeyCode::Char('0'));
        assert_eq!(session.controls().air_mps, 0.0);
    }

    #[test]
    fn a_choice_goes_round() {
        let mut session = Session::new(8_000, 1);
        let mut found = Vec::new();
        for _ in 0..4 {
            found.push(session.controls().get(Control::Energy));
            press(&mut session, KeyCode::Char('c'));
        }
        assert_eq!(found, [1.0, 2.0, 3.0, 0.0]);
    }

    #[test]
    fn a_digit_plays_its_lesson_and_one_that_is_none_ends_it() {
        let mut session = Session::new(8_000, 1);
        press(&mut session, KeyCode::Char('3'));
        assert_eq!(session.lesson().map(|lesson| lesson.title), Some("Steep sink"));
        press(&mut session, KeyCode::Char('9'));
        assert!(session.lesson().is_none());
    }
}
