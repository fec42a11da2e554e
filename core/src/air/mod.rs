//! From pressures to air data: altitude, density, airspeed, energy height, and a check of the
//! tubes.

pub(crate) mod air_data;
pub(crate) mod airspeed;
pub(crate) mod altimeter;
pub(crate) mod atmosphere;
pub(crate) mod delay;
pub(crate) mod energy;
pub(crate) mod tubes;
