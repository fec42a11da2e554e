//! Stack depth: fill the stack with a pattern, run, and see how much of the pattern is left.

use cortex_m::register::msp;

const PAINT: u32 = 0x5EED_BEAD;
/// Number of words filled.
const WORDS: usize = 4_096;
/// The words next to the stack pointer are skipped: they are this function's own frame.
const SPARED: usize = 64;

/// Bytes of stack that `run` uses below its caller's frame; values below 256 are not resolved.
#[inline(never)]
pub fn depth(run: impl FnOnce()) -> usize {
    let top = msp::read() as usize as *mut u32;
    // SAFETY: these 16 KiB below the stack pointer are memory in use by no one; interrupts are off
    // on both machines.
    unsafe {
        for word in SPARED..WORDS {
            top.sub(word).write_volatile(PAINT);
        }
    }
    run();
    // SAFETY: as above.
    let untouched =
        (SPARED..WORDS).rev().take_while(|&word| unsafe { top.sub(word).read_volatile() } == PAINT);
    4 * (WORDS - untouched.count())
}
