//! The clock of each machine: work done so far, in instructions, and on the Cortex-M0+ in processor
//! cycles.

/// Work between two readings of the clock.
#[derive(Clone, Copy, Default)]
pub struct Work {
    /// Instructions.
    pub instructions: u32,
    /// Cycles of the processor; zero where the machine does not count them.
    pub cycles: u32,
}

impl Work {
    /// The work from `earlier` to `self`.
    pub fn since(self, earlier: Work) -> Work {
        Work {
            instructions: self.instructions.wrapping_sub(earlier.instructions),
            cycles: self.cycles.wrapping_sub(earlier.cycles),
        }
    }
}

#[cfg(emulated_rp2040)]
mod clock {
    use super::Work;
    use core::arch::asm;

    pub const NAME: &str = "m0plus";
    /// Samples measured: limited by the time, 3 ms each.
    pub const MEASURED: u32 = 600;

    pub fn start() {}

    /// The emulator answers this breakpoint with what it has counted.
    pub fn now() -> Work {
        let (instructions, cycles);
        // SAFETY: the breakpoint changes these two registers and nothing else.
        unsafe {
            asm!("bkpt 0xC0", out("r0") instructions, out("r1") cycles, options(nomem, nostack))
        };
        Work { instructions, cycles }
    }
}

/// QEMU's `-icount shift=0` makes an instruction last a nanosecond, and the board's first CMSDK
/// timer counts down. Registers: Arm, CMSDK APB timer, CTRL 0,
/// VALUE 4, RELOAD 8.
#[cfg(not(emulated_rp2040))]
mod clock {
    use super::Work;

    pub const NAME: &str = if cfg!(mps2_an505) { "m33" } else { "m4f" };
    /// Samples that are measured: forty seconds of climbs and sinks.
    pub const MEASURED: u32 = 2_000;

    /// The same timer is elsewhere in the secure state of the Cortex-M33.
    const TIMER: *mut u32 = if cfg!(mps2_an505) { 0x5000_0000 } else { 0x4000_0000 } as *mut u32;
    /// The boards' clocks are 25 and 20 MHz.
    const INSTRUCTIONS_A_TICK: u32 = if cfg!(mps2_an505) { 50 } else { 40 };

    pub fn start() {
        // SAFETY: the timer's own registers, which nothing else here uses.
        unsafe {
            TIMER.write_volatile(0);
            TIMER.add(2).write_volatile(u32::MAX);
            TIMER.add(1).write_volatile(u32::MAX);
            TIMER.write_volatile(1);
        }
    }

    pub fn now() -> Work {
        // SAFETY: reading VALUE changes nothing.
        let left = unsafe { TIMER.add(1).read_volatile() };
        Work { instructions: (u32::MAX - left).wrapping_mul(INSTRUCTIONS_A_TICK), cycles: 0 }
    }
}

pub use clock::{MEASURED, NAME, now, start};
