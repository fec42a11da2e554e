//! A recorder in flash: every sample that the instrument works out, without loss, compressed.
//!
//! ```text
//! row (a sample, and the vertical speed that sounded)
//!   -> coder: differences to the row before, in Rice codes as long as the values are large
//!   -> page: 256 bytes that can be read alone, with a CRC
//!   -> taking: which pages are kept, from launch or from power-on (motion)
//!   -> ring: the pages in flash, one behind the other; the oldest go first
//!   -> flights: a list of them, and their rows again
//! room: what is erased ahead, and when
//! keeper: has the flash, keeps pages while the bus is quiet, answers the ports
//! ```
//!
//! A page is what flash programs at once. Each can be read without the others, so power lost at any
//! moment costs the page under way and nothing before it.

pub mod bits;
pub mod coder;
pub mod flights;
pub mod keeper;
pub mod motion;
pub mod page;
pub mod request;
pub mod ring;
pub mod room;
pub mod row;
pub mod state;
pub mod taking;
#[cfg(test)]
pub(crate) mod tests;
pub mod utc;
