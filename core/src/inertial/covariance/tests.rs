//! The covariance against whole matrices in f64, written from the equations in its header.

use super::*;
use approx::assert_abs_diff_eq;
use std::vec::Vec;

type Whole = [[f64; STATES]; STATES];

/// Where the errors stand in the order of [`Errors`].
const HEIGHT: usize = 0;
const VELOCITY: usize = 1;
const TILT: usize = 4;
const GUST: usize = 7;
const GYRO: usize = 8;
const ACCEL: usize = 11;

fn whole(cell: impl Fn(usize, usize) -> f64) -> Whole {
    core::array::from_fn(|row| core::array::from_fn(|column| cell(row, column)))
}

fn times(one: &Whole, other: &Whole) -> Whole {
    whole(|row, column| (0..STATES).map(|each| one[row][each] * other[each][column]).sum())
}

fn turned_over(matrix: &Whole) -> Whole {
    whole(|row, column| matrix[column][row])
}

/// The `count`th of numbers between -1 and 1 that have nothing to do with one another.
fn any(count: usize) -> f64 {
    (count as f64 * 12.9898).sin() * 43_758.545_3 % 1.0
}

fn any_row() -> Row {
    core::array::from_fn(|place| any(1000 + place) as f32)
}

/// A covariance of `width` errors: a square of any matrix.
fn any_covariance(width: usize) -> Covariance {
    let root = whole(|row, column| if row < width { any(STATES * row + column) } else { 0.0 });
    of_whole(&times(&root, &turned_over(&root)), width)
}

fn of_whole(matrix: &Whole, width: usize) -> Covariance {
    let mut covariance = Covariance { width, ..Covariance::of(Errors::default()) };
    for (row, cells) in matrix.iter().enumerate() {
        for (column, cell) in cells.iter().enumerate() {
            covariance.cells.set(row, column, *cell as f32);
        }
    }
    covariance
}

fn to_whole(covariance: &Covariance) -> Whole {
    whole(|row, column| f64::from(covariance.cells.at(row, column)))
}

fn assert_near(found: &Covariance, expected: &Whole, epsilon: f64) {
    let found = to_whole(found);
    for row in 0..STATES {
        for column in 0..STATES {
            let (is, should) = (found[row][column], expected[row][column]);
            assert!((is - should).abs() < epsilon, "{row}, {column}: {is}, not {should}");
        }
    }
}

/// The matrix of `vector x`.
fn crossing([x, y, z]: [f64; 3]) -> [[f64; 3]; 3] {
    [[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]]
}

/// A steady turn and force, and down when they begin.
struct Motion {
    turn: [f64; 3],
    force: [f64; 3],
    down: [f64; 3],
    metre: f64,
    gust_time_s: f64,
}

impl Motion {
    /// The errors after `dt_s` from those before: the header's equations in 400 short steps. Also
    /// down in the end.
    fn exact(&self, dt_s: f64) -> (Whole, [f64; 3]) {
        let short_s = dt_s / 400.0;
        let (turning, forcing) = (crossing(self.turn), crossing(self.force));
        let mut down = self.down;
        let mut passed = whole(|row, column| if row == column { 1.0 } else { 0.0 });
        for _ in 0..400 {
            let mut rate = [[0.0; STATES]; STATES];
            for x in 0..3 {
                rate[HEIGHT][VELOCITY + x] = -self.metre * down[x];
                for y in 0..3 {
                    rate[VELOCITY + x][VELOCITY + y] = -turning[x][y];
                    rate[VELOCITY + x][TILT + y] = -forcing[x][y];
                    rate[TILT + x][TILT + y] = -turning[x][y];
                }
                rate[VELOCITY + x][ACCEL + x] = -1.0;
                rate[TILT + x][GYRO + x] = -1.0;
                rate[TILT + x][GAIN] = self.turn[x];
            }
            rate[GUST][GUST] = -1.0 / self.gust_time_s;
            let moved = times(&rate, &passed);
            passed = whole(|row, column| passed[row][column] + short_s * moved[row][column]);
            // What stands still on the earth turns backward as the body sees it.
            down = core::array::from_fn(|x| {
                let turned: f64 = (0..3).map(|y| turning[x][y] * down[y]).sum();
                down[x] - short_s * turned
            });
        }
        (passed, down)
    }

    /// Advances `matrix` by `dt_s`, and gives what it should be then.
    fn advance(&self, matrix: &Whole, width: usize, dt_s: f64) -> (Covariance, Whole) {
        let (passed, down) = self.exact(dt_s);
        let by_time = |vector: [f64; 3]| vector.map(|each| (dt_s * each) as f32);
        let mut covariance = of_whole(matrix, width);
        covariance.advance(&Step {
            dt_s: dt_s as f32,
            turned: by_time(self.turn),
            pushed: by_time(self.force),
            down: down.map(|each| each as f32),
            metre: self.metre as f32,
            gust_left: (-dt_s / self.gust_time_s).exp() as f32,
        });
        (covariance, times(&times(&passed, matrix), &turned_over(&passed)))
    }
}

#[test]
fn a_short_step_moves_every_error_as_the_equations_say() {
    let motion = Motion {
        turn: [1.0, -2.0, 1.5],
        force: [2.0, -3.0, -12.0],
        down: [0.36, -0.48, 0.8],
        metre: 0.9,
        gust_time_s: 0.5,
    };
    for width in [WITHOUT_GROUND, STATES] {
        let is_used = |row: usize, column: usize| row < width && column < width;
        let any = |row: usize, column: usize| any(STATES * row.min(column) + row.max(column));
        let matrix = whole(|row, column| if is_used(row, column) { any(row, column) } else { 0.0 });
        // In 1 ms each of the equations' terms moves a cell by a thousandth or more; those of the
        // second order, f dt2 / 2 and smaller, by 6e-6 each.
        let (found, expected) = motion.advance(&matrix, width, 1.0e-3);
        assert_near(&found, &expected, 5.0e-5);
    }
}

#[test]
fn a_step_of_a_tenth_of_a_second_is_turned_to_the_second_order() {
    let motion = Motion {
        turn: [0.5, -0.3, 0.4],
        force: [1.0, -2.0, -11.0],
        down: [0.36, -0.48, 0.8],
        metre: 1.0,
        gust_time_s: 5.0,
    };
    // Velocities and tilts alone. The third order is f dt (w dt)2 / 6 = 9e-4 at most in the matrix,
    // so about 6e-3 in the sums of three cells on either side; the second is 0.04.
    let is_used = |place: usize| (VELOCITY..GUST).contains(&place);
    let matrix = whole(|row, column| {
        let any = any(STATES * row.min(column) + row.max(column));
        if is_used(row) && is_used(column) { any } else { 0.0 }
    });
    let (found, expected) = motion.advance(&matrix, STATES, 0.1);
    let moved = to_whole(&found);
    for row in VELOCITY..GUST {
        for column in VELOCITY..GUST {
            assert_abs_diff_eq!(moved[row][column], expected[row][column], epsilon = 6.0e-3);
        }
    }
}

#[test]
fn what_stands_still_on_the_earth_turns_backward_to_the_second_order() {
    // Without a force, and with one velocity or tilt alone: the third order of a turn by 0.15 is
    // 0.15^3 / 6 = 6e-4, and what it leaves of the height is 0.1 s 0.15^2 / 2 = 1.1e-3; the second
    // order is 4e-3 a cell.
    let turn = [0.87, 0.87, -0.87];
    let down = [0.36, -0.48, 0.8];
    let motion = Motion { turn, force: [0.0; 3], down, metre: 1.0, gust_time_s: 5.0 };
    for place in VELOCITY..GUST {
        let alone = |row, column| if [row, column] == [place; 2] { 1.0 } else { 0.0 };
        let (found, expected) = motion.advance(&whole(alone), STATES, 0.1);
        assert_near(&found, &expected, 1.5e-3);
    }
}

/// The update of the textbooks, of which only `share` is believed: what to add to the states, and
/// the covariance after it.
fn textbook(
    matrix: &Whole,
    parts: &Row,
    noise: f64,
    surprise: f64,
    share: f64,
) -> (Vec<f64>, Whole) {
    let parts = parts.map(f64::from);
    let with: Vec<f64> = matrix
        .iter()
        .map(|row| row.iter().zip(parts).map(|(cell, part)| cell * part).sum())
        .collect();
    let variance: f64 = noise + with.iter().zip(parts).map(|(one, part)| one * part).sum::<f64>();
    let moved = with.iter().map(|each| share * each / variance * surprise).collect();
    let after =
        whole(|row, column| matrix[row][column] - share * with[row] * with[column] / variance);
    (moved, after)
}

#[test]
fn a_measurement_is_taken_as_in_the_textbook_and_beyond_its_bound_in_part() {
    for width in [WITHOUT_GROUND, STATES] {
        let mut parts = any_row();
        parts[width..].fill(0.0);
        let before = any_covariance(width);
        let expectation = before.expect(Errors::from_array(parts), 0.5);
        let deviation = f64::from(expectation.variance).sqrt();
        // Of a surprise of 10 deviations with 3 allowed, three tenths are believed.
        for (deviations, share) in [(2.0, 1.0), (-10.0, 0.3)] {
            let surprise = deviations * deviation;
            let mut after = before;
            let moved = after.correct(&expectation, surprise as f32, 3.0).to_array();
            let (states, matrix) = textbook(&to_whole(&before), &parts, 0.5, surprise, share);
            assert_near(&after, &matrix, 2.0e-5);
            for (is, should) in moved.into_iter().zip(states) {
                assert_abs_diff_eq!(f64::from(is), should, epsilon = 2.0e-5);
            }
        }
    }
}

#[test]
fn a_forgotten_heading_is_certain_and_changes_nothing_that_does_not_depend_on_it() {
    let down: Vector = [0.36, -0.48, 0.8];
    let turned = cross(down, [25.0, 2.0, -3.0]);
    let heading = Errors { tilt: down, velocity: turned, ..Errors::default() }.to_array();
    let compass = Errors { tilt: down, ..Errors::default() };
    let before = any_covariance(STATES);
    let mut after = before;
    after.forget_heading(down, turned);
    assert!(before.variance(compass) > 0.1);
    assert_abs_diff_eq!(after.variance(compass), 0.0, epsilon = 1.0e-5);
    let mut doubted = after;
    doubted.doubt_heading(down, turned, 0.25);
    assert_abs_diff_eq!(doubted.variance(compass), 0.25, epsilon = 1.0e-4);
    for seed in 0..20 {
        // Any sum of errors, less what of it turns with the heading.
        let any: Row = core::array::from_fn(|place| any(STATES * (60 + seed) + place) as f32);
        let share = product(&any, &heading) / product(&heading, &heading);
        let apart = core::array::from_fn(|place| any[place] - share * heading[place]);
        let apart = Errors::from_array(apart);
        let variance = before.variance(apart);
        for later in [after, doubted] {
            assert_abs_diff_eq!(later.variance(apart), variance, epsilon = 1.0e-3 * variance);
        }
    }
}
