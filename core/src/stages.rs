//! Single stages on their own, for tests and for a bench that measures one of them.
//!
//! An instrument needs none of these: [`Pipeline`](crate::Pipeline) runs them in their order. They
//! are public so that the filter's noise and lag, the energy sum, the polar or the tone law can be
//! measured without the rest.

pub use crate::air::air_data::AirData;
pub use crate::air::airspeed::{
    dynamic_from_true, equivalent_from_dynamic, true_from_calibrated, true_from_dynamic,
    true_from_equivalent,
};
pub use crate::air::atmosphere::{
    SEA_LEVEL_PRESSURE, SEA_LEVEL_TEMPERATURE, density, temperature_at,
};
pub use crate::air::energy::{
    Energy, EnergyHeight, EnergyState, FLYING_SPEED, NO_SPEED, kinetic_height, probe_height,
};
pub use crate::inertial::filter::Filter;
pub use crate::inertial::noise::Noise;
pub use crate::intake::{Intake, IntakeState, Taken};
pub use crate::motion::channel::{Channel, Due, Filters};
pub use crate::motion::estimator::{Estimate, Estimator, EstimatorState};
pub use crate::motion::polar::Polar;
pub use crate::motion::steady::SteadyGains;
pub use crate::sensing::held::Held;
pub use crate::sound::beep::BeepState;
pub use crate::sound::ear::Asked;
pub use crate::sound::fault::Health;
pub use crate::sound::sounder::{Heard, LONGEST_MUTE, Sounder, SounderState};
pub use crate::sound::tone::{Tone, ToneState};
pub use crate::sound::volume::{LOUDEST, level_of_volume};
