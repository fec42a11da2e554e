//! When the program cannot continue: silence at once, keep the reason, and restart.

use crate::halt;
use chirrup_firmware::panic_record::{PanicRecord, SIZE};
use core::fmt::Display;
use core::mem::MaybeUninit;
use core::panic::PanicInfo;
use core::ptr::{addr_of, addr_of_mut};
use cortex_m_rt::{ExceptionFrame, exception};

/// Memory that the start-up code does not touch, so that it survives a reset.
#[unsafe(link_section = ".uninit.panic")]
static mut KEPT: MaybeUninit<[u8; SIZE]> = MaybeUninit::uninit();

/// The reason of the last stop, if there was one; it is returned once.
pub fn take_record() -> Option<PanicRecord> {
    // SAFETY: called once, before anything else runs; any bytes are bytes, and the record knows its
    // own by a checksum.
    let bytes = unsafe { addr_of!(KEPT).cast::<[u8; SIZE]>().read_volatile() };
    // SAFETY: as above.
    unsafe { addr_of_mut!(KEPT).cast::<[u8; SIZE]>().write_volatile([0; SIZE]) };
    PanicRecord::from_bytes(&bytes)
}

fn stop(reason: impl Display) -> ! {
    cortex_m::interrupt::disable();
    halt::silence();
    // SAFETY: nothing else runs any more.
    unsafe {
        addr_of_mut!(KEPT).cast::<[u8; SIZE]>().write_volatile(PanicRecord::of(reason).to_bytes())
    };
    halt::restart()
}

#[panic_handler]
fn panic(info: &PanicInfo<'_>) -> ! {
    stop(info)
}

#[exception]
unsafe fn HardFault(frame: &ExceptionFrame) -> ! {
    stop(format_args!("hard fault at {:#010x}, called from {:#010x}", frame.pc(), frame.lr()))
}
