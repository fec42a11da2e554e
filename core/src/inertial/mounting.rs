//! How the sensor is mounted: which of its axes point forward and down.
//!
//! Any of 24 quarter turns will do. Down is where the force at the start comes from, or a later one
//! at rest: the instrument may have been in a hand at first. Forward is learnt from the launch, or
//! from the first turn (see [`super::turns`]); until then it is taken to be x. What is left of the
//! angle, the filter finds by itself.

use super::vector::{Vector, cross, dot, length, scaled, sum};

/// The mean force of the first moments, over this time (a guess).
const FIRST_S: f32 = 1.0;

/// Which of the sensor's axes point forward, right and down.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Mounting {
    forward: Vector,
    right: Vector,
    down: Vector,
}

impl Default for Mounting {
    fn default() -> Self {
        Self::of([1.0, 0.0, 0.0], [0.0, 0.0, 1.0])
    }
}

impl Mounting {
    /// With these axes of the sensor forward and down; they must be at right angles.
    pub(super) fn of(forward: Vector, down: Vector) -> Self {
        Self { forward, right: cross(down, forward), down }
    }

    /// With down where the mean force at the start comes from, and forward x, or the nearest to it.
    pub(super) fn hanging(force: Vector) -> Self {
        let down = nearest_axis(scaled(-1.0, force));
        let usual = Self::default();
        let forward = if dot(down, usual.forward) == 0.0 { usual.forward } else { [0.0, 0.0, 1.0] };
        let sign = if dot(down, [1.0, 0.0, 0.0]) > 0.0 { -1.0 } else { 1.0 };
        Self::of(scaled(sign, forward), down)
    }

    /// With forward where `way` (body axes, level) points, to the nearest quarter.
    pub(super) fn turned_to(self, [x, y, _]: Vector) -> Self {
        let [forward, sideways, _] = nearest_axis([x, y, 0.0]);
        Self::of(sum(scaled(forward, self.forward), scaled(sideways, self.right)), self.down)
    }

    /// The sensor's numbers along body axes.
    pub(super) fn to_body(self, sensor: Vector) -> Vector {
        [self.forward, self.right, self.down].map(|axis| along(axis, sensor))
    }
}

/// The part of `vector` along a signed axis: no product is needed.
fn along([x, y, z]: Vector, [a, b, c]: Vector) -> f32 {
    let (sign, part) = if x != 0.0 {
        (x, a)
    } else if y != 0.0 {
        (y, b)
    } else {
        (z, c)
    };
    if sign < 0.0 { -part } else { part }
}

/// The signed axis that `vector` is nearest to.
fn nearest_axis([x, y, z]: Vector) -> Vector {
    let sign = |value: f32| if value < 0.0 { -1.0 } else { 1.0 };
    let (a, b, c) = (x.abs(), y.abs(), z.abs());
    if a > b && a > c {
        [sign(x), 0.0, 0.0]
    } else if b > c {
        [0.0, sign(y), 0.0]
    } else {
        [0.0, 0.0, sign(z)]
    }
}

/// The mean force of the first moments.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct FirstForce {
    sum: Vector,
    lasted_s: f32,
}

impl FirstForce {
    /// Takes the next force; the mean once it is known.
    pub(super) fn see(&mut self, dt_s: f32, force: Vector) -> Option<Vector> {
        self.sum = sum(self.sum, scaled(dt_s, force));
        self.lasted_s += dt_s;
        (self.lasted_s >= FIRST_S && length(self.sum) > 0.0).then_some(self.sum)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::vec::Vec;

    fn axes() -> [Vector; 6] {
        let [x, y, z] = [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]];
        [x, y, z, scaled(-1.0, x), scaled(-1.0, y), scaled(-1.0, z)]
    }

    #[test]
    fn each_of_24_mountings_is_learnt_from_gravity_and_one_look_forward() {
        let body = [1.0, 2.0, 3.0];
        let mut found = Vec::new();
        for down in axes() {
            for forward in axes().into_iter().filter(|axis| dot(*axis, down) == 0.0) {
                // What a sensor so mounted reads of a vector along body axes.
                let right = cross(down, forward);
                let read = |[x, y, z]: Vector| {
                    sum(sum(scaled(x, forward), scaled(y, right)), scaled(z, down))
                };
                let at_rest = read([0.4, -0.3, -9.8]);
                let first = Mounting::hanging(at_rest);
                assert_eq!(nearest_axis(first.to_body(at_rest)), [0.0, 0.0, -1.0]);
                let learnt = first.turned_to(first.to_body(read([2.5, -0.5, 0.3])));
                assert_eq!(learnt, Mounting::of(forward, down));
                assert_eq!(learnt.to_body(read(body)), body);
                assert!(!found.contains(&learnt));
                found.push(learnt);
            }
        }
        assert_eq!(found.len(), 24);
        assert_eq!(Mounting::hanging([0.1, 0.2, -9.8]), Mounting::default());
    }

    #[test]
    fn the_first_force_is_a_mean_over_a_second() {
        let mut first = FirstForce::default();
        for step in 0..49 {
            let jolt = if step == 20 { 30.0 } else { -9.8 };
            assert_eq!(first.see(0.02, [0.0, 0.0, jolt]), None);
        }
        let mean = first.see(0.03, [0.0, 0.0, -9.8]).unwrap();
        assert_eq!(Mounting::hanging(mean), Mounting::default());
    }
}
