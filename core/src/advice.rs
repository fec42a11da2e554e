//! What the states of the inertial sensor mean for whoever reads of them, and what to do.

use crate::inertial::trust::{Remark, Trust};

impl Trust {
    /// What it means and what to do, in a few words.
    pub fn advice(self) -> &'static str {
        match self {
            Trust::Settling => "it needs an airspeed of 8 m/s or more, and 5 s in flight",
            Trust::Trusted => "it sounds",
            Trust::Lost => "it, or one of its axes, gives no new values; look at its wires",
            Trust::Shaken => {
                "it vibrates too much; put something soft under it, and let nothing rattle"
            }
            Trust::Clipped => {
                "the force is beyond its range; set a wider range, or mount it softer"
            }
            Trust::Spinning => "it turns quicker than a glider does",
            Trust::Contradicts => {
                "it disagrees with height and airspeed; fasten it well, and check the tubes"
            }
            Trust::Turned => {
                "it is not mounted as inertial_forward and inertial_down say; correct them"
            }
            Trust::TurnReversed => "a turn rate is reversed or on another axis; replace the sensor",
            Trust::ForceReversed => {
                "a force is reversed or on another axis; turn it, set inertial_forward, replace it"
            }
        }
    }
}

impl Remark {
    /// What it means and what to do, in a few words.
    pub fn advice(self) -> &'static str {
        match self {
            Remark::GyroGain => {
                "its turn rates are wrong by more than 8 %; allowed for, but a better sensor helps"
            }
            Remark::ForceGain => {
                "its force is wrong by more than 0.6 m/s2; allowed for, but a better sensor helps"
            }
        }
    }
}
