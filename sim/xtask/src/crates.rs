//! What each program of a release is built from, as cargo resolves it: normal dependencies with the
//! features of that program, for its platform.

use crate::release::Release;
use anyhow::{Context, Result, bail};
use cargo_metadata::{Metadata, MetadataCommand, Package, PackageId};
use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::process::Command;

/// A program or library of the release that is made of crates.
pub struct Built {
    /// What its bill of materials is called.
    pub name: &'static str,
    /// The folder in the release that it is in; a folder that is not there was left out.
    pub folder: &'static str,
    /// Its folder in the project, and its package.
    pub package: (&'static str, &'static str),
    /// Its target; the release's platform without one.
    pub target: Option<&'static str>,
    /// Whether it runs on a board.
    pub firmware: bool,
}

/// All of them.
const ALL: [Built; 5] = [
    built("chirrup", "bin", ("", "chirrup"), None),
    built("page", "page", ("sim/web", "chirrup-page"), Some("wasm32-unknown-unknown")),
    built("pico", "boards", ("firmware/boards/pico", "chirrup-pico"), Some("thumbv6m-none-eabi")),
    built(
        "pico2",
        "boards",
        ("firmware/boards/pico2", "chirrup-pico2"),
        Some("thumbv8m.main-none-eabihf"),
    ),
    built("python", "python", ("sim/python", "chirrup-python"), None),
];

const fn built(
    name: &'static str,
    folder: &'static str,
    package: (&'static str, &'static str),
    target: Option<&'static str>,
) -> Built {
    Built { name, folder, package, target, firmware: matches!(folder.as_bytes(), b"boards") }
}

/// Those that this release has.
pub fn in_release(release: &Release) -> Vec<&'static Built> {
    let folder = release.folder();
    ALL.iter().filter(|built| folder.join(built.folder).is_dir()).collect()
}

/// A program's crates, with what each of them needs.
pub struct Crates {
    /// The program's own package.
    pub root: PackageId,
    /// Every crate in it, itself too.
    pub packages: BTreeMap<PackageId, Package>,
    /// What each needs directly.
    pub needs: BTreeMap<PackageId, BTreeSet<PackageId>>,
    /// SHA-256 of what the registry delivered, by name and version.
    pub checksums: BTreeMap<(String, String), String>,
}

/// The crates of `built`.
///
/// # Errors
/// When cargo cannot resolve them, or `Cargo.lock` is behind.
pub fn of(release: &Release, built: &Built) -> Result<Crates> {
    let target = built.target.unwrap_or(&release.platform);
    let (folder, package) = built.package;
    let manifest = release.root.join(folder).join("Cargo.toml");
    let metadata = MetadataCommand::new()
        .manifest_path(&manifest)
        .other_options(["--locked", "--filter-platform", target].map(str::to_owned))
        .exec()
        .with_context(|| format!("cannot resolve {}", manifest.display()))?;
    let used = names_and_versions(&manifest, package, target)?;
    let packages: BTreeMap<PackageId, Package> = metadata
        .packages
        .iter()
        .filter(|package| used.contains(&key(package)))
        .map(|package| (package.id.clone(), package.clone()))
        .collect();
    let root = packages.values().find(|found| found.name == package);
    Ok(Crates {
        root: root
            .with_context(|| format!("{} has no package {package}", manifest.display()))?
            .id
            .clone(),
        needs: needs(&metadata, &packages),
        checksums: checksums(&fs::read_to_string(metadata.workspace_root.join("Cargo.lock"))?)?,
        packages,
    })
}

/// What identifies a crate in a lock file and in a tree.
pub fn key(package: &Package) -> (String, String) {
    (package.name.to_string(), package.version.to_string())
}

/// The crates that are compiled into `package`. Cargo's metadata would have those of all members
/// and of the tests.
fn names_and_versions(
    manifest: &std::path::Path,
    package: &str,
    target: &str,
) -> Result<BTreeSet<(String, String)>> {
    let output = Command::new("cargo")
        .args(["tree", "--locked", "--edges", "normal", "--prefix", "none", "--format", "{p}"])
        .args(["--package", package, "--target", target, "--manifest-path"])
        .arg(manifest)
        .output()
        .context("cannot run cargo tree")?;
    if !output.status.success() {
        let said = String::from_utf8_lossy(&output.stderr);
        bail!("cargo tree of {package}: {}", said.lines().next().unwrap_or("no reason given"));
    }
    Ok(from_tree(&String::from_utf8(output.stdout)?))
}

/// Lines as `serde v1.0.228 (proc-macro)`, some of them twice.
fn from_tree(tree: &str) -> BTreeSet<(String, String)> {
    let one = |line: &str| {
        let mut words = line.split(' ');
        let (name, version) = (words.next()?, words.next()?);
        Some((name.to_owned(), version.strip_prefix('v')?.to_owned()))
    };
    tree.lines().filter_map(one).collect()
}

fn needs(
    metadata: &Metadata,
    packages: &BTreeMap<PackageId, Package>,
) -> BTreeMap<PackageId, BTreeSet<PackageId>> {
    let nodes = metadata.resolve.iter().flat_map(|resolve| &resolve.nodes);
    nodes
        .filter(|node| packages.contains_key(&node.id))
        .map(|node| {
            let of_this = node.dependencies.iter().filter(|id| packages.contains_key(*id));
            (node.id.clone(), of_this.cloned().collect())
        })
        .collect()
}

/// The checksums of a lock file.
fn checksums(lock: &str) -> Result<BTreeMap<(String, String), String>> {
    let lock: toml::Table = lock.parse()?;
    let packages = lock.get("package").and_then(toml::Value::as_array);
    let text = |package: &toml::Value, key: &str| {
        package.get(key).and_then(toml::Value::as_str).map(str::to_owned)
    };
    let one = |package: &toml::Value| {
        let key = (text(package, "name")?, text(package, "version")?);
        Some((key, text(package, "checksum")?))
    };
    Ok(packages.into_iter().flatten().filter_map(one).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_tree_gives_each_crate_once() {
        let tree = "a v1.2.3 (/some where/a)\nb v0.1.0 (proc-macro)\n\nb v0.1.0 (*)\nc v2.0.0+x\n";
        let pair = |name: &str, version: &str| (name.to_owned(), version.to_owned());
        let expected = [pair("a", "1.2.3"), pair("b", "0.1.0"), pair("c", "2.0.0+x")];
        assert_eq!(from_tree(tree), BTreeSet::from(expected));
    }

    #[test]
    fn a_lock_file_gives_checksums_of_what_came_from_the_registry() {
        let lock = "[[package]]\nname = \"a\"\nversion = \"1.0.0\"\nchecksum = \"12\"\n\
                    [[package]]\nname = \"ours\"\nversion = \"0.1.0\"\n";
        let found = checksums(lock).unwrap();
        assert_eq!(found.len(), 1);
        assert_eq!(found[&("a".to_owned(), "1.0.0".to_owned())], "12");
    }
}
