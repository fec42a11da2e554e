//! Vectors in the frame of the ground: east, north, up.

use std::ops::{Add, AddAssign, Mul, Neg, Sub};

/// A vector in the caller's units: metres, metres a second.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Vector {
    /// Towards the east.
    pub east: f64,
    /// Towards the north.
    pub north: f64,
    /// Up.
    pub up: f64,
}

impl Vector {
    /// Straight up, of length 1.
    pub const UP: Vector = Vector { east: 0.0, north: 0.0, up: 1.0 };

    /// A horizontal vector of length 1 on the course `course_rad`, clockwise from north.
    pub fn on_course(course_rad: f64) -> Self {
        Self { east: libm::sin(course_rad), north: libm::cos(course_rad), up: 0.0 }
    }

    /// Its horizontal part.
    pub fn level(self) -> Self {
        Self { up: 0.0, ..self }
    }

    /// Its course, clockwise from north, in radians from -pi to pi; 0 for a vertical one.
    pub fn course_rad(self) -> f64 {
        libm::atan2(self.east, self.north)
    }

    /// The inner product.
    pub fn dot(self, other: Self) -> f64 {
        self.east * other.east + self.north * other.north + self.up * other.up
    }

    /// The outer product; north by up is east.
    pub fn cross(self, other: Self) -> Self {
        Self {
            east: self.north * other.up - self.up * other.north,
            north: self.up * other.east - self.east * other.up,
            up: self.east * other.north - self.north * other.east,
        }
    }

    /// Its length. The IEEE 754 square root is exact to the last bit everywhere, so std's is as
    /// good as libm's.
    pub fn length(self) -> f64 {
        self.dot(self).sqrt()
    }

    /// The same direction at length 1; `instead` for a vector of length zero.
    pub fn unit_or(self, instead: Self) -> Self {
        let length = self.length();
        if length > 1e-9 { self * (1.0 / length) } else { instead }
    }

    /// The component at a right angle to `direction`, a vector of length 1.
    pub fn without(self, direction: Self) -> Self {
        self - direction * self.dot(direction)
    }
}

impl Add for Vector {
    type Output = Self;

    fn add(self, other: Self) -> Self {
        Self {
            east: self.east + other.east,
            north: self.north + other.north,
            up: self.up + other.up,
        }
    }
}

impl AddAssign for Vector {
    fn add_assign(&mut self, other: Self) {
        *self = *self + other;
    }
}

impl Sub for Vector {
    type Output = Self;

    fn sub(self, other: Self) -> Self {
        Self {
            east: self.east - other.east,
            north: self.north - other.north,
            up: self.up - other.up,
        }
    }
}

impl Neg for Vector {
    type Output = Self;

    fn neg(self) -> Self {
        self * -1.0
    }
}

impl Mul<f64> for Vector {
    type Output = Self;

    fn mul(self, factor: f64) -> Self {
        Self { east: self.east * factor, north: self.north * factor, up: self.up * factor }
    }
}
