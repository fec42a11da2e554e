//! From pressures to air data: altitude, density, airspeed, energy height, and checks of
//! the tubes.

pub(crate) mod air_data;
pub(crate) mod airspeed;
pub(crate) mod altimeter;
pub(crate) mod atmosphere;
pub(crate) mod delay;
pub(crate) mod energy;
pub(crate) mod static_line;
pub(crate) mod tubes;
