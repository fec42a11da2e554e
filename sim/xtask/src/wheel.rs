//! The Python package: a wheel for this platform, and the source.

use crate::command::{command, run};
use crate::files::made;
use crate::release::Release;
use anyhow::Result;

/// Both, by maturin.
///
/// # Errors
/// When maturin fails.
pub fn make(release: &Release) -> Result<()> {
    let folder = release.folder().join("python");
    made(&folder)?;
    let mut wheel = command(release, "maturin");
    wheel.args(["build", "--release", "--locked", "--manifest-path", "sim/python/Cargo.toml"]);
    run(release, "python", wheel.arg("--out").arg(&folder))?;
    let mut source = command(release, "maturin");
    source.args(["sdist", "--manifest-path", "sim/python/Cargo.toml"]);
    run(release, "python", source.arg("--out").arg(&folder))
}
