//! `cargo xtask dist`: every part in its order, one line each; then the archive.

use crate::parts::{PARTS, Part};
use crate::release::Release;
use crate::{archive, files, readme, sums, tools};
use anyhow::{Context, Result, bail};
use std::collections::BTreeSet;
use std::fs;
use std::io::{Write, stdout};
use std::path::Path;
use std::time::Instant;

/// Makes the release in `out`, without some parts.
///
/// # Errors
/// When a tool or a target of the compiler is missing, a part cannot be made, or a file cannot be
/// written.
pub fn make(out: &Path, without: BTreeSet<String>) -> Result<()> {
    let release = Release::of_this_commit(out)?;
    let parts = chosen(&without)?;
    tools::check(&parts)?;
    // What an earlier run made must not pass for this one's, should this one fail.
    sums::forget(&release.out)?;
    files::emptied(&release.folder())?;
    if release.work.join("log").exists() {
        fs::remove_dir_all(release.work.join("log"))?;
    }
    println!("{} into {}", release.name(), release.out.display());
    let steps = parts.len() + 1;
    for (number, part) in (1..).zip(&parts) {
        told(number, steps, part.name, part.what, || (part.make)(&release))?;
    }
    told(steps, steps, "archive", "the archive, single files, SHA256SUMS", || pack(&release))
}

/// The parts that are not left out.
fn chosen(without: &BTreeSet<String>) -> Result<Vec<&'static Part>> {
    let names: Vec<&str> = PARTS.iter().map(|part| part.name).skip(1).collect();
    for name in without {
        if !names.contains(&name.as_str()) {
            bail!("--without {name}: no such part; there are {}", names.join(", "));
        }
    }
    Ok(PARTS.iter().filter(|part| !without.contains(part.name)).collect())
}

/// Runs one step and prints its line: which, how long, what.
fn told(
    number: usize,
    steps: usize,
    name: &str,
    what: &str,
    step: impl FnOnce() -> Result<()>,
) -> Result<()> {
    let begun = Instant::now();
    print!("{number:>2}/{steps} {name:<10}");
    stdout().flush()?;
    if let Err(error) = step() {
        println!(" FAILED");
        return Err(error);
    }
    println!(" {:>5.0} s  {what}", begun.elapsed().as_secs_f64());
    Ok(())
}

/// Ends the folder and makes the archive and the files beside it.
fn pack(release: &Release) -> Result<()> {
    let folder = release.folder();
    readme::write(release)?;
    sums::write(&folder, &files::below(&folder)?)?;
    let archive = release.archive();
    archive::write(&folder, &release.name(), release.epoch_s, &archive)?;
    let mut single = vec![archive];
    for part in ["page", "boards", "python"] {
        for file in files::below(&folder.join(part))? {
            let to = release.out.join(file.file_name().context("a file has a name")?);
            fs::copy(&file, &to).with_context(|| format!("cannot copy {}", file.display()))?;
            single.push(to);
        }
    }
    single.sort();
    sums::write(&release.out, &single)
}
