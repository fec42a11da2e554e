//! A satellite receiver on a serial line: velocity over the ground, and the time of day once.
//!
//! ```text
//! bytes -> frame (header, checksum, in step again after rubbish) -> pvt (velocity, time)
//!       -> Receiver: which bit rate, what to send, which velocity belongs to a sample
//! ```
//!
//! The message is u-blox's UBX-NAV-PVT, in which the velocity has its vertical part, in whole
//! millimetres a second. NMEA's sentences have none, and half of a velocity is none for the filter,
//! so they are not read; the receiver is told to send the other.
//!
//! Ours and not the crate `ublox` (0.10, which is the reference in the tests): of its messages we
//! read one, and it makes floats of what the log needs whole.
//!
//! Positions are never kept.

pub mod frame;
pub mod messages;
pub mod pvt;
pub mod receiver;
#[cfg(test)]
pub(crate) mod tests;
