//! The settings of the inertial sensor.

use super::mounting::Mounting;
use super::vector::{Vector, dot};
use crate::error::{Expected, SettingsError};
use crate::rows::Group;

setting_words! {
    /// Whether the inertial sensor is used.
    pub enum InertialChoice {
        Off = "off", "never";
        #[default]
        Auto = "auto", "where samples have specific force, turn rate and airspeed, and they agree";
    }
}

setting_words! {
    /// An axis of the inertial sensor.
    pub enum SensorAxis {
        #[default]
        Learn = "learn", "found out: from gravity, the launch and the first turn";
        X = "x", "its x axis";
        Y = "y", "its y axis";
        Z = "z", "its z axis";
        MinusX = "-x", "against its x axis";
        MinusY = "-y", "against its y axis";
        MinusZ = "-z", "against its z axis";
    }
}

setting_group! {
    /// The inertial sensor.
    pub struct InertialSettings = "", "The inertial sensor, where there is one." {
        choice as "inertial": InertialChoice = InertialChoice::Auto, "", InertialChoice::KIND,
            "Whether it tells gusts from climb. It needs an airspeed. While it cannot be trusted, \
            the pressures alone sound, as without it.";
        forward as "inertial_forward": SensorAxis = SensorAxis::Learn, "", SensorAxis::KIND,
            "Which of the sensor's axes points to the nose, or nearest to it.";
        down as "inertial_down": SensorAxis = SensorAxis::Learn, "", SensorAxis::KIND,
            "Which of the sensor's axes points down, or nearest to it.";
    }
}

impl SensorAxis {
    fn vector(self) -> Option<Vector> {
        match self {
            SensorAxis::Learn => None,
            SensorAxis::X => Some([1.0, 0.0, 0.0]),
            SensorAxis::Y => Some([0.0, 1.0, 0.0]),
            SensorAxis::Z => Some([0.0, 0.0, 1.0]),
            SensorAxis::MinusX => Some([-1.0, 0.0, 0.0]),
            SensorAxis::MinusY => Some([0.0, -1.0, 0.0]),
            SensorAxis::MinusZ => Some([0.0, 0.0, -1.0]),
        }
    }

    /// The axes at right angles to it, as a list for people.
    fn across(self) -> &'static str {
        match self {
            SensorAxis::Learn => "x, y, z, -x, -y or -z",
            SensorAxis::X | SensorAxis::MinusX => "y, z, -y or -z",
            SensorAxis::Y | SensorAxis::MinusY => "x, z, -x or -z",
            SensorAxis::Z | SensorAxis::MinusZ => "x, y, -x or -y",
        }
    }
}

impl InertialSettings {
    /// The mounting, where both axes are given.
    ///
    /// # Errors
    /// Two axes that are not at right angles, or one without the other.
    pub(super) fn mounting(&self) -> Result<Option<Mounting>, SettingsError> {
        self.check_ranges()?;
        let wrong = |accepted, reason| SettingsError {
            parameter: "inertial_down",
            entry: None,
            value: 0.0,
            expected: Expected::Word { found: self.down.name(), accepted, reason },
        };
        let across = self.forward.across();
        match (self.forward.vector(), self.down.vector()) {
            (None, None) => Ok(None),
            (Some(forward), Some(down)) if dot(forward, down) == 0.0 => {
                Ok(Some(Mounting::of(forward, down)))
            }
            (Some(_), Some(_)) => Err(wrong(across, "at right angles to inertial_forward")),
            (Some(_), None) => {
                Err(wrong(across, "at right angles to inertial_forward; or learn for both"))
            }
            (None, Some(_)) => {
                Err(wrong("learn", "as inertial_forward is; or give inertial_forward an axis too"))
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::string::ToString;

    #[test]
    fn a_mounting_is_given_whole_and_at_right_angles_or_not_at_all() {
        let mounting = |forward, down| {
            InertialSettings { forward, down, ..InertialSettings::default() }.mounting()
        };
        assert_eq!(mounting(SensorAxis::Learn, SensorAxis::Learn), Ok(None));
        assert!(mounting(SensorAxis::MinusY, SensorAxis::X).unwrap().is_some());
        for (forward, down) in [
            (SensorAxis::X, SensorAxis::MinusX),
            (SensorAxis::Learn, SensorAxis::Z),
            (SensorAxis::X, SensorAxis::Learn),
        ] {
            assert_eq!(mounting(forward, down).unwrap_err().parameter, "inertial_down");
        }
        for (forward, down, message) in [
            (
                SensorAxis::MinusX,
                SensorAxis::X,
                "inertial_down is x, expected y, z, -y or -z (at right angles to inertial_forward)",
            ),
            (
                SensorAxis::Z,
                SensorAxis::Learn,
                "inertial_down is learn, expected x, y, -x or -y (at right angles to \
                 inertial_forward; or learn for both)",
            ),
            (
                SensorAxis::Learn,
                SensorAxis::MinusZ,
                "inertial_down is -z, expected learn (as inertial_forward is; or give \
                 inertial_forward an axis too)",
            ),
        ] {
            assert_eq!(mounting(forward, down).unwrap_err().to_string(), message);
        }
    }
}
