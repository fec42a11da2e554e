//! Gives the linker the memory of the machine that is built for.

use std::{env, fs, path::PathBuf};

/// Arm's MPS2 board with the AN386 image, as QEMU has it: a Cortex-M4F with 4 MiB of each.
const MPS2_AN386: &str = "MEMORY { FLASH : ORIGIN = 0x00000000, LENGTH = 4M\n\
    \x20RAM : ORIGIN = 0x20000000, LENGTH = 4M }\n";
/// An RP2040 started behind its second-stage loader, as the emulator starts it.
const RP2040: &str = "MEMORY { FLASH : ORIGIN = 0x10000100, LENGTH = 2047K\n\
    \x20RAM : ORIGIN = 0x20000000, LENGTH = 256K }\n";

fn main() {
    let out = PathBuf::from(env::var_os("OUT_DIR").expect("cargo sets OUT_DIR"));
    let target = env::var("TARGET").expect("cargo sets TARGET");
    let emulated_rp2040 = target.starts_with("thumbv6m");
    let memory = if emulated_rp2040 { RP2040 } else { MPS2_AN386 };
    println!("cargo:rustc-check-cfg=cfg(emulated_rp2040)");
    if emulated_rp2040 {
        println!("cargo:rustc-cfg=emulated_rp2040");
    }
    fs::write(out.join("memory.x"), memory).expect("OUT_DIR can be written");
    println!("cargo:rustc-link-search={}", out.display());
    println!("cargo:rustc-link-arg-bins=-Tlink.x");
    println!("cargo:rustc-link-arg-bins=--nmagic");
    println!("cargo:rerun-if-changed=build.rs");
}
