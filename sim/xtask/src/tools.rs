//! What the parts need on this machine, looked for before anything is built.

use crate::command::is_there;
use crate::parts::Part;
use anyhow::{Result, bail};
use std::path::{Path, PathBuf};
use std::process::Command;

/// Debian's compiler, which builds the libraries of a target itself.
const DEBIANS: &str = "rustc-web cargo-web rust-web-src lld";

/// Refuses parts for which a tool or a target of the compiler is missing, with one line for each
/// tool and one for all targets.
///
/// # Errors
/// What is missing, and how to get it.
pub fn check(parts: &[&Part]) -> Result<()> {
    let mut missing = missing_tools(parts, is_there);
    missing.extend(missing_targets(parts, |target| has_target(target) || has_debians_compiler()));
    if missing.is_empty() { Ok(()) } else { bail!("{}", missing.join("\n       ")) }
}

fn missing_tools(parts: &[&Part], is_there: impl Fn(&str) -> bool) -> Vec<String> {
    let mut missing = Vec::new();
    for part in parts {
        for tool in part.tools.iter().filter(|tool| !is_there(tool.program)) {
            missing.push(format!(
                "{} is missing, for {}: {}, or leave it out: --without {}",
                tool.program, part.what, tool.remedy, part.name
            ));
        }
    }
    missing
}

/// One line for all of them, since one command adds them all.
fn missing_targets(parts: &[&Part], is_there: impl Fn(&str) -> bool) -> Option<String> {
    let (mut targets, mut names) = (Vec::new(), Vec::new());
    for part in parts {
        let missing: Vec<&str> =
            part.targets.iter().copied().filter(|target| !is_there(target)).collect();
        if !missing.is_empty() {
            names.push(part.name);
        }
        targets.extend(missing);
    }
    (!names.is_empty()).then(|| {
        format!(
            "Rust cannot compile for {}: `rustup target add {}`, or without rustup on Debian \
             `apt-get install {DEBIANS}`; or leave it out: --without {}",
            names.join(" and "),
            targets.join(" "),
            names.join(",")
        )
    })
}

/// Whether the compiler has the libraries of `target`.
fn has_target(target: &str) -> bool {
    said(Command::new("rustc").args(["--print", "target-libdir", "--target", target]))
        .is_some_and(|folder| folder.is_dir())
}

/// What the build scripts of the boards and of the page use in place of rustup's targets.
fn has_debians_compiler() -> bool {
    let programs = ["/usr/bin/rustc", "/usr/bin/cargo"].map(Path::new);
    programs.iter().all(|program| program.exists())
        && is_there("ld.lld")
        && said(Command::new("/usr/bin/rustc").args(["--print", "sysroot"]))
            .is_some_and(|sysroot| sysroot.join("lib/rustlib/src/rust/library").is_dir())
}

/// The path that a command prints.
fn said(command: &mut Command) -> Option<PathBuf> {
    let output = command.output().ok().filter(|output| output.status.success())?;
    Some(PathBuf::from(String::from_utf8(output.stdout).ok()?.trim()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::parts::PARTS;

    fn parts() -> Vec<&'static Part> {
        PARTS.iter().collect()
    }

    #[test]
    fn all_missing_targets_are_one_line_with_what_to_type() {
        let line = missing_targets(&parts(), |_| false).expect("they are missing");
        assert_eq!(
            line,
            "Rust cannot compile for page and boards: `rustup target add wasm32-unknown-unknown \
             thumbv6m-none-eabi thumbv8m.main-none-eabihf`, or without rustup on Debian `apt-get \
             install rustc-web cargo-web rust-web-src lld`; or leave it out: --without page,boards"
        );
        assert_eq!(missing_targets(&parts(), |_| true), None);
        let one = missing_targets(&parts(), |target| target != "thumbv6m-none-eabi");
        let one = one.expect("one is missing");
        assert!(one.contains("`rustup target add thumbv6m-none-eabi`"), "{one}");
        assert!(one.ends_with("--without boards"), "{one}");
    }

    #[test]
    fn a_part_that_is_left_out_needs_nothing() {
        let kept: Vec<_> =
            parts().into_iter().filter(|part| !["page", "boards"].contains(&part.name)).collect();
        assert_eq!(missing_targets(&kept, |_| false), None);
        assert!(missing_tools(&kept, |_| false).iter().all(|line| !line.contains("node")));
    }

    #[test]
    fn the_compiler_is_asked_what_it_has() {
        let host = said(Command::new("rustc").args(["--print", "host-tuple"])).expect("a host");
        assert!(has_target(&host.to_string_lossy()));
        assert!(!has_target("no-such-target"));
    }
}
