//! Vectors of three, and the attitude as a unit quaternion.

/// Along x, y and z of some frame.
pub(crate) type Vector = [f32; 3];

pub(crate) fn dot([a, b, c]: Vector, [x, y, z]: Vector) -> f32 {
    a * x + b * y + c * z
}

pub(crate) fn cross([a, b, c]: Vector, [x, y, z]: Vector) -> Vector {
    [b * z - c * y, c * x - a * z, a * y - b * x]
}

pub(crate) fn scaled(by: f32, [x, y, z]: Vector) -> Vector {
    [by * x, by * y, by * z]
}

pub(crate) fn sum([a, b, c]: Vector, [x, y, z]: Vector) -> Vector {
    [a + x, b + y, c + z]
}

pub(crate) fn minus([a, b, c]: Vector, [x, y, z]: Vector) -> Vector {
    [a - x, b - y, c - z]
}

pub(crate) fn length(vector: Vector) -> f32 {
    libm::sqrtf(dot(vector, vector))
}

/// Whether it is shorter than `most`; needs no root.
pub(crate) fn is_within(vector: Vector, most: f32) -> bool {
    dot(vector, vector) < most * most
}

/// Up to this angle two terms of its sine and cosine are exact to an `f32`.
const SMALL_RAD: f32 = 0.1;

/// How the body stands to the earth: a unit quaternion from body axes (forward, right, down) to
/// earth axes (x level in some direction, north once that is known; y to its right; z down).
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Attitude {
    real: f32,
    imaginary: Vector,
}

/// The same as a matrix: each of the earth's axes as seen from the body.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Rotation {
    pub(crate) north: Vector,
    pub(crate) east: Vector,
    pub(crate) down: Vector,
}

impl Default for Attitude {
    fn default() -> Self {
        Self { real: 1.0, imaginary: [0.0; 3] }
    }
}

impl Attitude {
    /// Level to the specific force felt at rest or in a straight flight, with x of the body toward
    /// x of the earth.
    pub(crate) fn level([x, y, z]: Vector) -> Self {
        let roll = libm::atan2f(-y, -z);
        let pitch = libm::atan2f(x, libm::sqrtf(y * y + z * z));
        Self::default().turned([0.0, pitch, 0.0]).turned([roll, 0.0, 0.0])
    }

    /// Turned by `angle` (radians, about body axes), exactly.
    pub(crate) fn turned(self, angle: Vector) -> Self {
        self.times(Self::of(angle))
    }

    /// The turn by `angle`.
    fn of(angle: Vector) -> Self {
        let squared = dot(angle, angle);
        // sin(x/2)/x and cos(x/2), by their series where the angle is small.
        let (half_sine, cosine) = if squared > SMALL_RAD * SMALL_RAD {
            let size = libm::sqrtf(squared);
            (libm::sinf(0.5 * size) / size, libm::cosf(0.5 * size))
        } else {
            let fourth = squared * squared;
            (0.5 - squared * (1.0 / 48.0), 1.0 - squared * 0.125 + fourth * (1.0 / 384.0))
        };
        Self { real: cosine, imaginary: scaled(half_sine, angle) }
    }

    /// Turned about the earth's vertical by `angle`, clockwise from above.
    pub(crate) fn headed(self, angle: f32) -> Self {
        Self::default().turned([0.0, 0.0, angle]).times(self)
    }

    /// This attitude and, seen from there, a turn.
    fn times(self, other: Self) -> Self {
        let (a, b) = (self.real, other.real);
        let real = a * b - dot(self.imaginary, other.imaginary);
        let crossed = cross(self.imaginary, other.imaginary);
        let plain = sum(scaled(a, other.imaginary), scaled(b, self.imaginary));
        Self { real, imaginary: sum(plain, crossed) }.unit()
    }

    /// Rounding would let the length drift. It is near 1, so that its first term is enough of the
    /// series of 1/sqrt.
    fn unit(self) -> Self {
        let squared = self.real * self.real + dot(self.imaginary, self.imaginary);
        let by = 1.5 - 0.5 * squared;
        Self { real: by * self.real, imaginary: scaled(by, self.imaginary) }
    }

    pub(crate) fn rotation(self) -> Rotation {
        let (w, [x, y, z]) = (self.real, self.imaginary);
        Rotation {
            north: [1.0 - 2.0 * (y * y + z * z), 2.0 * (x * y - w * z), 2.0 * (x * z + w * y)],
            east: [2.0 * (x * y + w * z), 1.0 - 2.0 * (x * x + z * z), 2.0 * (y * z - w * x)],
            down: [2.0 * (x * z - w * y), 2.0 * (y * z + w * x), 1.0 - 2.0 * (x * x + y * y)],
        }
    }
}

impl Rotation {
    pub(crate) fn to_earth(self, body: Vector) -> Vector {
        [dot(self.north, body), dot(self.east, body), dot(self.down, body)]
    }

    pub(crate) fn to_body(self, [north, east, down]: Vector) -> Vector {
        sum(sum(scaled(north, self.north), scaled(east, self.east)), scaled(down, self.down))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    fn assert_near(one: Vector, other: Vector) {
        for (a, b) in one.into_iter().zip(other) {
            assert_abs_diff_eq!(a, b, epsilon = 2e-6);
        }
    }

    #[test]
    fn ten_thousand_small_turns_make_a_whole_one_and_stay_a_rotation() {
        let step = core::f32::consts::TAU / 10_000.0;
        let attitude = (0..10_000).fold(Attitude::default(), |a, _| a.turned([0.0, 0.0, step]));
        let rotation = attitude.rotation();
        for (a, b) in rotation.north.into_iter().zip([1.0, 0.0, 0.0]) {
            assert_abs_diff_eq!(a, b, epsilon = 1e-4);
        }
        assert_abs_diff_eq!(length(rotation.down), 1.0, epsilon = 1e-6);
    }

    #[test]
    fn a_turn_of_a_quarter_about_each_axis_is_the_right_handed_one() {
        let quarter = core::f32::consts::FRAC_PI_2;
        // Nose right: forward points east. Nose up: forward points up. Right wing down: the right
        // wing points down.
        let right = Attitude::default().turned([0.0, 0.0, quarter]).rotation();
        assert_near(right.to_earth([1.0, 0.0, 0.0]), [0.0, 1.0, 0.0]);
        let up = Attitude::default().turned([0.0, quarter, 0.0]).rotation();
        assert_near(up.to_earth([1.0, 0.0, 0.0]), [0.0, 0.0, -1.0]);
        let rolled = Attitude::default().turned([quarter, 0.0, 0.0]).rotation();
        assert_near(rolled.to_earth([0.0, 1.0, 0.0]), [0.0, 0.0, 1.0]);
        let headed = Attitude::default().turned([quarter, 0.0, 0.0]).headed(quarter).rotation();
        assert_near(headed.to_earth([1.0, 0.0, 0.0]), [0.0, 1.0, 0.0]);
        assert_near(headed.to_body(headed.to_earth([1.0, 2.0, 3.0])), [1.0, 2.0, 3.0]);
    }

    #[test]
    fn the_force_at_rest_gives_roll_and_pitch() {
        let truth = Attitude::default().turned([0.0, 0.3, 0.0]).turned([-0.5, 0.0, 0.0]);
        let force = scaled(-9.806_65, truth.rotation().down);
        assert_near(Attitude::level(force).rotation().down, truth.rotation().down);
    }
}
