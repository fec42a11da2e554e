//! The invented flight on WebAssembly: `start`, then `digest` once a sample.

#![no_std]

use chirrup_parity::fleet::Fleet;
use core::cell::RefCell;

/// One module instance runs on one thread.
struct OneThread(RefCell<Option<Fleet>>);
// SAFETY: WebAssembly without its threads proposal, which this target does not use, has one thread.
unsafe impl Sync for OneThread {}

static FLEET: OneThread = OneThread(RefCell::new(None));

/// Restarts the flight; 1 on success.
#[unsafe(no_mangle)]
pub extern "C" fn start() -> u32 {
    let fleet = Fleet::new().ok();
    let begun = u32::from(fleet.is_some());
    *FLEET.0.borrow_mut() = fleet;
    begun
}

/// Takes a sample and returns the digest of all outputs so far; 0 before `start`.
#[unsafe(no_mangle)]
pub extern "C" fn digest() -> u32 {
    FLEET.0.borrow_mut().as_mut().map_or(0, |fleet| {
        fleet.step();
        fleet.digest().value()
    })
}

#[panic_handler]
fn panic(_: &core::panic::PanicInfo<'_>) -> ! {
    core::arch::wasm32::unreachable()
}
