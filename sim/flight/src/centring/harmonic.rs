//! Climb against heading over the last turn: `mean + a cos(heading) + b sin(heading)`.

use super::hearing::{EVERY, Hearing};
use std::f64::consts::TAU;

/// The first harmonic.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Harmonic {
    /// Half of the difference between the best and the worst heading, m/s.
    pub(super) amplitude_mps: f64,
    /// The best heading, rad.
    pub(super) best_rad: f64,
}

/// The first harmonic over the last turn, where what was heard is laid on the heading `late_s`
/// earlier; `None` before a whole turn has been heard.
pub(super) fn over_last_turn(hearing: &Hearing, late_s: f64) -> Option<Harmonic> {
    let late = hearing.steps(late_s);
    let (_, newest_rad) = hearing.steps_ago(late);
    let mut sums = Sums::default();
    let mut steps = 0;
    while steps + late <= hearing.oldest() {
        let (climb_mps, _) = hearing.steps_ago(steps);
        let (_, heading_rad) = hearing.steps_ago(steps + late);
        if newest_rad - heading_rad > TAU {
            return sums.solved();
        }
        sums.add(climb_mps, heading_rad);
        steps += EVERY;
    }
    None
}

/// Normal equations of the least squares for mean, cosine and sine.
#[derive(Default)]
struct Sums {
    of_squares: [[f64; 3]; 3],
    of_climb: [f64; 3],
}

impl Sums {
    fn add(&mut self, climb_mps: f64, heading_rad: f64) {
        let terms = [1.0, libm::cos(heading_rad), libm::sin(heading_rad)];
        for (row, one) in terms.iter().enumerate() {
            self.of_climb[row] += one * climb_mps;
            for (column, other) in terms.iter().enumerate() {
                self.of_squares[row][column] += one * other;
            }
        }
    }

    /// By Cramer's rule; `None` where the headings do not tell cosine and sine apart.
    fn solved(&self) -> Option<Harmonic> {
        let whole = determinant(self.of_squares);
        let replaced = |column: usize| {
            let mut matrix = self.of_squares;
            for (row, sum) in matrix.iter_mut().zip(self.of_climb) {
                row[column] = sum;
            }
            determinant(matrix) / whole
        };
        let (cosine, sine) = (replaced(1), replaced(2));
        let found = Harmonic {
            amplitude_mps: libm::hypot(cosine, sine),
            best_rad: libm::atan2(sine, cosine),
        };
        (whole > 1.0).then_some(found)
    }
}

fn determinant(m: [[f64; 3]; 3]) -> f64 {
    m[0][0] * (m[1][1] * m[2][2] - m[1][2] * m[2][1])
        - m[0][1] * (m[1][0] * m[2][2] - m[1][2] * m[2][0])
        + m[0][2] * (m[1][0] * m[2][1] - m[1][1] * m[2][0])
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    #[test]
    fn a_late_harmonic_is_found_with_the_allowance_for_its_lateness() {
        let mut hearing = Hearing::new(0.02);
        let heading = |step: i32| 0.3 * 0.02 * f64::from(step);
        for step in 0..2_000 {
            let climb = 1.0 + 0.7 * (heading(step - 50) - 2.0).cos();
            hearing.note(Some(climb), heading(step));
        }
        let found = over_last_turn(&hearing, 1.0).unwrap();
        assert_abs_diff_eq!(found.amplitude_mps, 0.7, epsilon = 1e-9);
        assert_abs_diff_eq!(found.best_rad, 2.0, epsilon = 1e-9);
        let not_allowed = over_last_turn(&hearing, 0.0).unwrap();
        assert_abs_diff_eq!(not_allowed.best_rad, 2.3, epsilon = 1e-9);
    }

    #[test]
    fn before_a_whole_turn_there_is_none() {
        let mut hearing = Hearing::new(0.02);
        (0..800).for_each(|step| hearing.note(Some(1.0), 0.3 * 0.02 * f64::from(step)));
        assert_eq!(over_last_turn(&hearing, 1.0), None);
    }
}
