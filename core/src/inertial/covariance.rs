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
//! are applied, the matrix turned over, and its rows applied again.

use super::errors::{Errors, STATES};
use super::vector::{Vector, dot, scaled, sum};
use crate::units::limited;

type Row = [f32; STATES];

/// The covariance of all errors.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Covariance {
    rows: [Row; STATES],
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

/// What came of a measurement.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Correction {
    /// What to add to the states.
    pub(crate) errors: Errors,
    /// The surprise in its own standard deviations.
    pub(crate) deviations: f32,
}

impl Covariance {
    /// Errors that know nothing of one another, with these variances.
    pub(crate) fn of(variances: Errors) -> Self {
        let mut new = Self { rows: [[0.0; STATES]; STATES] };
        new.add(variances);
        new
    }

    /// Adds to the variances.
    pub(crate) fn add(&mut self, variances: Errors) {
        for (place, (row, variance)) in self.rows.iter_mut().zip(variances.to_array()).enumerate() {
            if let Some(own) = row.get_mut(place) {
                *own += variance;
            }
        }
    }

    /// The variance of a sum of errors, each times its part in `parts`.
    pub(crate) fn variance(&self, parts: Errors) -> f32 {
        let parts = parts.to_array();
        product(&self.together(&parts), &parts)
    }

    /// Passes a step.
    pub(crate) fn advance(&mut self, step: &Step) {
        carry(&mut self.rows, step);
        self.turn_over();
        carry(&mut self.rows, step);
        self.make_even();
    }

    /// Takes a measurement that came out `surprise` larger than expected, with noise of `variance`
    /// of its own. A surprise beyond `most` deviations counts as that many: none is refused, and
    /// none moves the states further.
    pub(crate) fn correct(
        &mut self,
        parts: Errors,
        surprise: f32,
        variance: f32,
        most: f32,
    ) -> Correction {
        let parts = parts.to_array();
        let together = self.together(&parts);
        let expected = product(&together, &parts) + variance;
        let deviations = surprise / libm::sqrtf(expected);
        let counted = limited(deviations, most);
        // The share that is believed, which narrows the covariance as much as it moves the states.
        let share = if counted == deviations { 1.0 } else { counted / deviations };
        self.subtract(&together, share / expected);
        let gain = share * surprise / expected;
        Correction { errors: Errors::from_array(together.map(|each| gain * each)), deviations }
    }

    /// Forgets what is known of the velocity, and gives it these variances.
    pub(crate) fn forget_velocity(&mut self, variances: Vector) {
        let kept = Errors { velocity: [1.0; 3], ..Errors::default() }.to_array();
        for (row, own) in self.rows.iter_mut().zip(kept) {
            for (each, other) in row.iter_mut().zip(kept) {
                *each *= (1.0 - own) * (1.0 - other);
            }
        }
        self.add(Errors { velocity: variances, ..Errors::default() });
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
        let together = self.together(&measure);
        let variance = product(&together, &measure);
        let crossed: Row = zip_with(&together, &heading, |with, way| with - 0.5 * variance * way);
        // Two thirds of the heading's parts are zero.
        for ((row, way), cross) in self.rows.iter_mut().zip(heading).zip(crossed) {
            if way != 0.0 {
                add_times(row, -way, &crossed);
            }
            for (each, other_way) in row.iter_mut().zip(heading).filter(|(_, way)| *way != 0.0) {
                *each -= cross * other_way;
            }
        }
    }

    /// Adds an uncertain heading, of this variance.
    pub(crate) fn doubt_heading(&mut self, down: Vector, turned_velocity: Vector, variance: f32) {
        let heading =
            Errors { tilt: down, velocity: turned_velocity, ..Errors::default() }.to_array();
        self.subtract(&heading, -variance);
    }

    /// The covariance of each error with a sum of errors.
    fn together(&self, parts: &Row) -> Row {
        let mut sum = [0.0; STATES];
        for (row, part) in self.rows.iter().zip(parts).filter(|(_, part)| **part != 0.0) {
            add_times(&mut sum, *part, row);
        }
        sum
    }

    /// Takes off the product of a row with itself, `by` times: one half, and the other from it.
    fn subtract(&mut self, row: &Row, by: f32) {
        for (place, (own, each)) in self.rows.iter_mut().zip(row).enumerate() {
            if *each != 0.0 {
                let times = -(by * each);
                for (own, other) in own.iter_mut().zip(row).skip(place) {
                    *own += times * other;
                }
            }
        }
        self.make_even();
    }

    /// The lower half from the upper one: rounding would let the two drift apart.
    fn make_even(&mut self) {
        let old = self.rows;
        for (place, row) in self.rows.iter_mut().enumerate() {
            for (each, other) in row.iter_mut().zip(&old).take(place) {
                if let Some(value) = other.get(place) {
                    *each = *value;
                }
            }
        }
    }

    fn turn_over(&mut self) {
        let old = self.rows;
        for (place, row) in self.rows.iter_mut().enumerate() {
            for (each, other) in row.iter_mut().zip(&old) {
                if let Some(value) = other.get(place) {
                    *each = *value;
                }
            }
        }
    }
}

fn product(one: &Row, other: &Row) -> f32 {
    one.iter().zip(other).map(|(a, b)| a * b).sum()
}

fn zip_with(one: &Row, other: &Row, make: impl Fn(f32, f32) -> f32) -> Row {
    let mut made = *one;
    for (each, with) in made.iter_mut().zip(other) {
        *each = make(*each, *with);
    }
    made
}

fn add_times(row: &mut Row, by: f32, other: &Row) {
    for (each, with) in row.iter_mut().zip(other) {
        *each += by * with;
    }
}

/// The rows of the errors after a step, from those before.
fn carry(rows: &mut [Row; STATES], step: &Step) {
    let [height, v1, v2, v3, t1, t2, t3, g1, g2, g3, a1, a2, a3, gust, gain, ..] = rows;
    let dt_s = step.dt_s;
    let rise = step.metre * dt_s;
    let down = step.down;
    for (each, ((x, y), z)) in height.iter_mut().zip(v1.iter().zip(v2.iter()).zip(v3.iter())) {
        *each -= rise * dot(down, [*x, *y, *z]);
    }
    let [px, py, pz] = step.pushed;
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
fn turn_back([x, y, z]: Vector, one: &mut Row, two: &mut Row, three: &mut Row) {
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
