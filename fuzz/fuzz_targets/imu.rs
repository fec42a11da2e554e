//! See `imu` in firmware_bodies.rs.
#![no_main]

#[path = "../firmware_bodies.rs"]
mod bodies;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| bodies::imu(bytes));
