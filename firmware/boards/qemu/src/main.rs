//! The Chirrup core on a simulated small processor: checks for equal bits, and measures the cost.
//!
//! One program, three machines: a Cortex-M4F (`mps2-an386`) and a Cortex-M33 (`mps2-an505`), the
//! processor of a Pico 2, in QEMU; and the Cortex-M0+ of an RP2040 in `firmware/emulator`, which
//! answers the same semihosting calls. The command line selects:
//!
//! ```text
//! parity SAMPLES     digests of the invented flight into the file digests.bin, four bytes a sample
//! cost               cost of a sample and of a control tick, one line each
//! ```

#![no_std]
#![no_main]

mod cost;
mod host;
mod machine;
mod stack;

use chirrup_parity::fleet::Fleet;
use core::fmt::Write;
use cortex_m_rt::entry;

// The board's own sums and products, as boards/pico has them.
#[cfg(not(target_abi = "eabihf"))]
chirrup_softfloat::routines!();

/// Digests are written in blocks of this many samples.
const BLOCK: usize = 256;

#[entry]
fn main() -> ! {
    let mut words = [0; 128];
    let done = match host::command_line(&mut words) {
        Some(line) => run(line),
        None => Err("no command line"),
    };
    if let Err(what) = done {
        let _ = writeln!(host::Console, "bench: {what}");
    }
    host::exit(done.is_ok())
}

fn run(line: &str) -> Result<(), &'static str> {
    let mut words = line.split_ascii_whitespace().skip(1);
    match words.next() {
        Some("parity") => {
            let count = words
                .next()
                .and_then(|word| word.parse().ok())
                .ok_or("parity: how many samples?")?;
            parity(count)
        }
        Some("cost") => cost::report().map_err(|_| "the settings here are out of range"),
        _ => Err("say parity SAMPLES, or cost"),
    }
}

fn parity(count: u32) -> Result<(), &'static str> {
    let mut file = host::File::create(b"digests.bin\0").ok_or("digests.bin cannot be made")?;
    let mut fleet = Fleet::new().map_err(|_| "the settings here are out of range")?;
    let mut block = [0; 4 * BLOCK];
    let mut rest = count as usize;
    while rest > 0 {
        let now = rest.min(BLOCK);
        for bytes in block[..4 * now].chunks_exact_mut(4) {
            fleet.step();
            bytes.copy_from_slice(&fleet.digest().value().to_le_bytes());
        }
        if !file.write(&block[..4 * now]) {
            return Err("digests.bin cannot be written");
        }
        rest -= now;
    }
    file.close();
    Ok(())
}

#[panic_handler]
fn panic(info: &core::panic::PanicInfo<'_>) -> ! {
    let _ = writeln!(host::Console, "bench: {info}");
    host::exit(false)
}
