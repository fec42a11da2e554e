//! The mechanics of flight, the base of everything else in the crate: the air at rest, the glider's
//! drag, and the one integrator.

pub mod atmosphere;
pub mod attitude;
pub mod drag_law;
pub mod glider;
pub mod gust_response;
pub mod moment;
pub mod motion;
pub mod vector;
