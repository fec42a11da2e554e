//! How uncertain the states are, and together: the filter's covariance matrix.
//!
//! The errors are those of Errors: of the velocity in body axes, of the attitude as a small turn
//! about body axes. Then the way an error grows depends on what the sensor felt and not on what the
//! filter believes (Barrau and Bonnabel, "The invariant extended Kalman filter as a stable
//! observer", IEEE Transactions on Automatic Control 62, 2017; the equations are derived anew in
//! the book), with w the turn rate, f the specific force and d the direction of down, all in body
//! axes:
//!
//! ```text
//! height'   = -d . velocity
//! velocity' = -w x velocity - f x tilt - accel
//! tilt'     = -w x tilt - gyro + w gain
//! gust'     = -gust / time
//! ```
//!
//! All else wanders. The matrix of a step is nearly all zeros, so it is not written down: its rows
//! are applied to the covariance's rows, and then to its columns.

use super::errors::{Errors, GAIN, MOVED, MOVERS, STATES, WITHOUT_GROUND};
use super::symmetric::{Row, Symmetric};
use super::vector::{Vector, cross, dot, scaled, sum};

/// The covariance of all errors.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Covariance {
    cells: Symmetric,
    /// So many errors are in use.
    width: usize,
}

/// What happened to the errors over a step.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Step {
    /// How long it took, s.
    pub(crate) dt_s: f32,
    /// The turn about body axes, rad.
    pub(crate) turned: Vector,
    /// The specific force times the time, m/s.
    pub(crate) pushed: Vector,
    /// Down, as the body sees it.
    pub(crate) down: Vector,
    /// Metres of height for a metre flown up: 1 in the standard atmosphere.
    pub(crate) metre: f32,
    /// How much of a gust is left.
    pub(crate) gust_left: f32,
}

impl Step {
    /// Adds what happened over `dt_s`.
    pub(crate) fn pass(&mut self, dt_s: f32, metre: f32, turned: Vector, force: Vector) {
        self.dt_s += dt_s;
        self.metre = metre;
        self.turned = sum(self.turned, turned);
        self.pushed = sum(self.pushed, scaled(dt_s, force));
    }
}

/// What is expected of a measurement.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Expectation {
    /// The covariance of each error with it.
    together: Row,
    /// Its variance, its own noise included.
    pub(crate) variance: f32,
}

impl Covariance {
    /// Errors that know nothing of one another, with these variances; without a satellite receiver.
    pub(crate) fn of(variances: Errors) -> Self {
        let mut new = Self { cells: Symmetric::default(), width: WITHOUT_GROUND };
        new.add(variances);
        new
    }

    /// Adds to the variances.
    pub(crate) fn add(&mut self, variances: Errors) {
        for (place, variance) in variances.to_array().into_iter().enumerate() {
            if let Some(cell) = self.cells.cell(place, place) {
                *cell += variance;
            }
        }
    }

    /// The variance of a sum of errors, each times its part in `parts`.
    pub(crate) fn variance(&self, parts: Errors) -> f32 {
        let parts = parts.to_array();
        product(&self.together(&parts), &parts)
    }

    pub(crate) fn gain_variance(&self) -> f32 {
        self.cells.at(GAIN, GAIN)
    }

    /// Passes a step.
    ///
    /// The rows of what moves are worked out anew. With what does not move that is all; among
    /// themselves they move as columns too.
    pub(crate) fn advance(&mut self, step: &Step) {
        let mut rows: [Row; MOVERS] =
            core::array::from_fn(|place| self.cells.row(place, self.width));
        let width = self.width;
        carry(rows.each_mut().map(|row| row.get_mut(..width).unwrap_or_default()), step);
        let mut columns = [[0.0; MOVED]; MOVERS];
        for (place, row) in rows.iter().take(MOVED).enumerate() {
            for (column, each) in columns.iter_mut().zip(row) {
                if let Some(cell) = column.get_mut(place) {
                    *cell = *each;
                }
            }
        }
        carry(columns.each_mut().map(<[f32; MOVED]>::as_mut_slice), step);
        for (place, row) in rows.iter().take(MOVED).enumerate() {
            for (other, each) in row.iter().enumerate().take(width).skip(MOVED) {
                self.cells.set(place, other, *each);
            }
        }
        for (place, column) in columns.iter().take(MOVED).enumerate() {
            for (other, each) in column.iter().enumerate().take(place + 1) {
                self.cells.set(place, other, *each);
            }
        }
    }

    /// What is expected of a measurement that feels each error as `parts` say, with noise of
    /// `variance` of its own.
    pub(crate) fn expect(&self, parts: Errors, variance: f32) -> Expectation {
        let parts = parts.to_array();
        let together = self.together(&parts);
        let variance = product(&together, &parts) + variance;
        Expectation { together, variance }
    }

    /// Takes a measurement that came out `surprise` larger than expected; returns what to add to
    /// the states. A surprise beyond `most` deviations counts as that many: none is refused, and
    /// none moves the states further.
    pub(crate) fn correct(&mut self, of: &Expectation, surprise: f32, most: f32) -> Errors {
        let largest = most * most * of.variance;
        // The share that is believed, which narrows the covariance as much as it moves the states.
        let squared = surprise * surprise;
        let share = if squared > largest { libm::sqrtf(largest / squared) } else { 1.0 };
        let by = share / of.variance;
        self.cells.add_square(&of.together, -by, self.width);
        let gain = surprise * by;
        Errors::from_array(of.together.map(|each| gain * each))
    }

    /// Forgets what is known of the velocity, and gives it these variances.
    pub(crate) fn forget_velocity(&mut self, variances: Vector) {
        self.forget(Errors { velocity: [1.0; 3], ..Errors::default() });
        self.add(Errors { velocity: variances, ..Errors::default() });
    }

    /// Forgets what is known of errors whose part in `which` is not zero.
    fn forget(&mut self, which: Errors) {
        let which = which.to_array();
        for (place, _) in which.into_iter().enumerate().filter(|(_, part)| *part != 0.0) {
            for other in 0..STATES {
                self.cells.set(place, other, 0.0);
            }
        }
    }

    /// Takes wind and delay into use, with these variances.
    pub(crate) fn begin_ground(&mut self, variances: Errors) {
        self.forget(Errors { wind: [1.0; 2], delay: 1.0, ..Errors::default() });
        self.add(variances);
        self.width = STATES;
    }

    /// From now on nothing says where north is.
    pub(crate) fn end_ground(&mut self) {
        self.width = WITHOUT_GROUND;
    }

    /// Forgets where north is: nothing without a satellite receiver depends on it, and its error
    /// would grow for ever and take the digits of the others.
    ///
    /// A wrong heading is a turn about `down` and the velocity that turns with it: `[tilt = down,
    /// velocity = down x velocity]`. It is taken out of every error, which changes no other.
    pub(crate) fn forget_heading(&mut self, down: Vector, turned_velocity: Vector) {
        let heading =
            Errors { tilt: down, velocity: turned_velocity, ..Errors::default() }.to_array();
        let measure = Errors { tilt: down, ..Errors::default() }.to_array();
        let mut crossed = self.together(&measure);
        let half = 0.5 * product(&crossed, &measure);
        add_times(&mut crossed, -half, &heading);
        self.cells.subtract_crossed(&heading, &crossed);
    }

    /// Adds an uncertain heading, of this variance.
    pub(crate) fn doubt_heading(&mut self, down: Vector, turned_velocity: Vector, variance: f32) {
        let heading =
            Errors { tilt: down, velocity: turned_velocity, ..Errors::default() }.to_array();
        self.cells.add_square(&heading, variance, self.width);
    }

    /// The covariance of each error with a sum of errors.
    fn together(&self, parts: &Row) -> Row {
        let mut sum = [0.0; STATES];
        for (place, part) in parts.iter().enumerate().filter(|(_, part)| **part != 0.0) {
            for (other, each) in sum.iter_mut().enumerate().take(self.width) {
                *each += part * self.cells.at(place, other);
            }
        }
        sum
    }
}

fn product(one: &Row, other: &Row) -> f32 {
    one.iter().zip(other).map(|(a, b)| a * b).sum()
}

fn add_times(row: &mut [f32], by: f32, other: &[f32]) {
    for (each, with) in row.iter_mut().zip(other) {
        *each += by * with;
    }
}

/// The rows of the errors after a step, from those before; they are in the order of [`Errors`].
fn carry(rows: [&mut [f32]; MOVERS], step: &Step) {
    let [height, v1, v2, v3, t1, t2, t3, gust, g1, g2, g3, a1, a2, a3, gain] = rows;
    let dt_s = step.dt_s;
    // As the body saw them when the step began, up to the second order.
    let down = sum(step.down, cross(step.turned, step.down));
    let risen = scaled(step.metre * dt_s, down);
    for (each, ((x, y), z)) in height.iter_mut().zip(v1.iter().zip(v2.iter()).zip(v3.iter())) {
        *each -= dot(risen, [*x, *y, *z]);
    }
    let [px, py, pz] = sum(step.pushed, scaled(0.5, cross(step.turned, step.pushed)));
    add_times(v1, pz, t2);
    add_times(v1, -py, t3);
    add_times(v2, px, t3);
    add_times(v2, -pz, t1);
    add_times(v3, py, t1);
    add_times(v3, -px, t2);
    for (velocity, accel) in [(&mut *v1, a1), (&mut *v2, a2), (&mut *v3, a3)] {
        add_times(velocity, -dt_s, accel);
    }
    turn_back(step.turned, v1, v2, v3);
    turn_back(step.turned, t1, t2, t3);
    let [x, y, z] = step.turned;
    for (tilt, gyro, turned) in [(t1, g1, x), (t2, g2, y), (t3, g3, z)] {
        add_times(tilt, -dt_s, gyro);
        add_times(tilt, turned, gain);
    }
    for each in gust {
        *each *= step.gust_left;
    }
}

/// Turns three rows against the body's turn, to the second order.
fn turn_back([x, y, z]: Vector, one: &mut [f32], two: &mut [f32], three: &mut [f32]) {
    let half = 0.5 * (x * x + y * y + z * z);
    let first = [1.0 - half + 0.5 * x * x, z + 0.5 * x * y, 0.5 * x * z - y];
    let second = [0.5 * x * y - z, 1.0 - half + 0.5 * y * y, x + 0.5 * y * z];
    let third = [0.5 * x * z + y, 0.5 * y * z - x, 1.0 - half + 0.5 * z * z];
    for ((a, b), c) in one.iter_mut().zip(two).zip(three) {
        let old = [*a, *b, *c];
        *a = dot(first, old);
        *b = dot(second, old);
        *c = dot(third, old);
    }
}

#[cfg(test)]
mod tests;
