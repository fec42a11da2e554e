//! How much memory a reader may take: a hundred times its input, and buffers of a fixed size. More
//! than that ends the program, which the fuzzer reports as a crash.

// A target uses one of these.
#![allow(dead_code)]

use cap::Cap;
use std::alloc::System;

/// Buffers of a fixed size: blocks, a line, the first rows, the state of an unpacker.
const FIXED: usize = 2 << 20;
/// Rows out of order are sorted: a million of 24 bytes and 64 MiB of text at most, each twice while
/// it grows. Compressed, that may be much more than a hundred times the input.
pub const SORTED: usize = 256 << 20;
const TIMES: usize = 100;

#[global_allocator]
static MEMORY: Cap<System> = Cap::new(System, usize::MAX);

/// Runs `body`, which reads `length` bytes, with the memory that it may take and `more`.
pub fn bounded(length: usize, more: usize, body: impl FnOnce()) {
    let limit = MEMORY.allocated() + TIMES * length + FIXED + more;
    MEMORY.set_limit(limit).expect("it is more than what is taken");
    body();
    MEMORY.set_limit(usize::MAX).expect("there is no limit");
}
