//! The instructor's page and the book.

use crate::command::{command, run};
use crate::files::{copied, made};
use crate::release::Release;
use anyhow::Result;

/// The page: one file that needs no network.
///
/// # Errors
/// When it does not build, for example without a compiler for WebAssembly.
pub fn page(release: &Release) -> Result<()> {
    // The script leaves a second file beside the page, which the release does not need.
    let built = release.work.join("page").join("chirrup.html");
    let mut script = command(release, "bash");
    script.arg("sim/web/build.sh").arg(&built);
    script.env("CARGO_TARGET_DIR", release.work.join("page"));
    run(release, "page", &mut script)?;
    copied(&built, &release.folder().join("page/chirrup.html"))
}

/// The book as web pages.
///
/// # Errors
/// When mdbook fails.
pub fn book(release: &Release) -> Result<()> {
    let folder = release.folder().join("book");
    made(&folder)?;
    let mut mdbook = command(release, "mdbook");
    mdbook.args(["build", "docs", "--dest-dir"]).arg(&folder);
    run(release, "book", &mut mdbook)
}
