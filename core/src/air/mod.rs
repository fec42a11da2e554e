//! From pressures to the air: altitude, density, airspeed, energy height, and what looks wrong in
//! the tubes.

pub(crate) mod air_data;
pub(crate) mod airspeed;
pub(crate) mod altimeter;
pub(crate) mod atmosphere;
pub(crate) mod delay;
pub(crate) mod energy;
pub(crate) mod tubes;
