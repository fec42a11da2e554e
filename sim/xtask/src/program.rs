//! The program, its manual pages and its completions.

use crate::command::{command, run};
use crate::files::{copied, made};
use crate::release::Release;
use anyhow::Result;

/// Builds program and manual in one go, since both are made of the same library.
///
/// # Errors
/// When something does not build.
pub fn make(release: &Release) -> Result<()> {
    let mut cargo = command(release, "cargo");
    cargo.args(["build", "--locked", "--profile", "dist", "-p", "chirrup"]);
    cargo.args(["--features", "manual", "--bin", "chirrup", "--bin", "chirrup-manual"]);
    run(release, "program", &mut cargo)?;
    let suffix = std::env::consts::EXE_SUFFIX;
    let built = release.work.join("dist");
    copied(&built.join(format!("chirrup{suffix}")), &release.program())?;
    let share = release.folder().join("share");
    made(&share)?;
    let manual = built.join(format!("chirrup-manual{suffix}"));
    run(release, "program", command(release, manual).arg(&share))?;
    for licence in ["LICENSE-MIT", "LICENSE-APACHE", "CHANGELOG.md"] {
        copied(&release.root.join(licence), &release.folder().join(licence))?;
    }
    Ok(())
}
