//! See `times` in bodies.rs.
#![no_main]

#[path = "../bodies.rs"]
mod bodies;
#[path = "../memory.rs"]
mod memory;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| memory::bounded(bytes.len(), 0, || bodies::times(
    bytes
)));
