//! Gives the linker the board's memory.

use std::{env, fs, path::PathBuf};

fn main() {
    let out = PathBuf::from(env::var_os("OUT_DIR").expect("cargo sets OUT_DIR"));
    fs::write(out.join("memory.x"), include_bytes!("memory.x")).expect("OUT_DIR can be written");
    println!("cargo:rustc-link-search={}", out.display());
    for argument in ["--nmagic", "-Tlink.x"] {
        println!("cargo:rustc-link-arg-bins={argument}");
    }
    println!("cargo:rerun-if-changed=memory.x");
}
