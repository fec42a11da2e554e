//! Gives the linker the memory of the machine that is built for.

use std::{env, fs, path::PathBuf};

/// Arm's MPS2 board with the AN386 image, as QEMU has it: a Cortex-M4F with 4 MiB of each.
const MPS2_AN386: &str = "MEMORY { FLASH : ORIGIN = 0x00000000, LENGTH = 4M\n\
    \x20RAM : ORIGIN = 0x20000000, LENGTH = 4M }\n";
/// The same board with the AN505 image: a Cortex-M33, the processor of an RP2350, in its secure
/// state.
const MPS2_AN505: &str = "MEMORY { FLASH : ORIGIN = 0x10000000, LENGTH = 4M\n\
    \x20RAM : ORIGIN = 0x38000000, LENGTH = 4M }\n";
/// An RP2040 started behind its second-stage loader, as the emulator starts it.
const RP2040: &str = "MEMORY { FLASH : ORIGIN = 0x10000100, LENGTH = 2047K\n\
    \x20RAM : ORIGIN = 0x20000000, LENGTH = 256K }\n";

fn main() {
    let out = PathBuf::from(env::var_os("OUT_DIR").expect("cargo sets OUT_DIR"));
    let target = env::var("TARGET").expect("cargo sets TARGET");
    let (memory, machine) = match target.split('-').next() {
        Some("thumbv6m") => (RP2040, "emulated_rp2040"),
        Some("thumbv8m.main") => (MPS2_AN505, "mps2_an505"),
        _ => (MPS2_AN386, "mps2_an386"),
    };
    println!("cargo:rustc-check-cfg=cfg(emulated_rp2040, mps2_an386, mps2_an505)");
    println!("cargo:rustc-cfg={machine}");
    fs::write(out.join("memory.x"), memory).expect("OUT_DIR can be written");
    println!("cargo:rustc-link-search={}", out.display());
    println!("cargo:rustc-link-arg-bins=-Tlink.x");
    println!("cargo:rustc-link-arg-bins=--nmagic");
    println!("cargo:rerun-if-changed=build.rs");
}
