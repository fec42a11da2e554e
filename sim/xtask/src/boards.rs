//! The instrument for the boards, as files that are dropped on them.

use crate::command::{command, run};
use crate::files::copied;
use crate::release::Release;
use anyhow::Result;

/// Name of the board and the processor's target, which is also the folder of its build.
const BOARDS: [(&str, &str); 2] =
    [("pico", "thumbv6m-none-eabi"), ("pico2", "thumbv8m.main-none-eabihf")];

/// The processors' targets.
pub const TARGETS: [&str; 2] = [BOARDS[0].1, BOARDS[1].1];

/// Builds each board with `firmware/build.sh`.
///
/// # Errors
/// When one does not build, for example without a compiler for its processor.
pub fn make(release: &Release) -> Result<()> {
    let mut script = command(release, "bash");
    script.arg("firmware/build.sh").args(BOARDS.map(|(board, _)| board));
    run(release, "boards", &mut script)?;
    for (board, target) in BOARDS {
        let file = format!("{board}.uf2");
        let built = release.work.join("boards").join(target).join("release").join(&file);
        copied(&built, &release.folder().join("boards").join(file))?;
    }
    Ok(())
}
