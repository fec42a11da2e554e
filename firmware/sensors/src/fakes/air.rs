//! What simulated sensors measure, and their faults.

use chirrup_core::Micros;

/// Pressures at a moment, in 1/64 Pa.
pub trait Air {
    /// At the static port.
    fn static_64ths_pa(&self, time: Micros) -> i32;
    /// At the second barometer.
    fn second_64ths_pa(&self, time: Micros) -> i32 {
        self.static_64ths_pa(time)
    }
    /// Pitot less static.
    fn dynamic_64ths_pa(&self, _time: Micros) -> i32 {
        0
    }
    /// Temperature around the sensors, in degrees Celsius.
    fn celsius(&self, _time: Micros) -> f64 {
        20.08
    }
    /// Specific force in m/s2 and turn rate in rad/s, along the inertial sensor's axes.
    fn felt(&self, _time: Micros) -> ([f64; 3], [f64; 3]) {
        ([0.0, 0.0, 9.806_65], [0.0; 3])
    }
}

/// Air from a function of time, with the glider at rest.
impl<F: Fn(Micros) -> i32> Air for F {
    fn static_64ths_pa(&self, time: Micros) -> i32 {
        self(time)
    }
}

/// A simulated fault of a device.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Trouble {
    /// Nothing.
    #[default]
    None,
    /// It is missing.
    Gone,
    /// Its calibration or its identity is wrong.
    Spoilt,
    /// It repeats its last result.
    Frozen,
    /// Its results are zero.
    Silent,
}

/// Which port a barometer is connected to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Connected {
    /// The static port.
    Static,
    /// The probe or the pitot.
    Second,
}

impl Connected {
    /// The pressure at this port in 1/64 Pa.
    pub(super) fn pressure_64ths_pa(self, air: &impl Air, time: Micros) -> i32 {
        match self {
            Connected::Static => air.static_64ths_pa(time),
            Connected::Second => air.second_64ths_pa(time),
        }
    }
}
