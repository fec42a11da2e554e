//! A recorder in flash: every sample that the instrument works out, without loss, compressed.
//!
//! ```text
//! row (a sample, and the vertical speed that sounded)
//!   -> coder: differences to the row before, in Rice codes as long as the values are large
//!   -> page: 256 bytes that can be read alone, with a CRC
//!   -> ring: the pages in flash, one behind the other; the oldest go first
//! ```
//!
//! A page is what flash programs at once. Each can be read without the others, so power lost at any
//! moment costs the page under way and nothing before it.

pub mod bits;
pub mod coder;
pub mod page;
pub mod ring;
pub mod row;
#[cfg(test)]
mod tests;
