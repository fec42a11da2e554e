//! Circles among the files of a crate: a file that imports another which, directly or through
//! others, imports it again. [`super::imports`] says what counts as an import.

use super::imports::{Imports, Source};
use super::root;
use std::collections::{BTreeMap, BTreeSet, VecDeque};
use std::fs;
use std::path::{Path, PathBuf};

/// The crates in which no file may import one that imports it again.
const WITHOUT_CIRCLES: [&str; 15] = [
    "core/src",
    "firmware/src",
    "firmware/sensors/src",
    "sim/src",
    "sim/flight/src",
    "sim/gusts/src",
    "sim/onboard/src",
    "sim/python/src",
    "sim/web/src",
    "sim/xtask/src",
    "firmware/parity/src",
    "firmware/softfloat/src",
    "firmware/uf2/src",
    "firmware/boards/pico/src",
    "firmware/boards/qemu/src",
];

#[test]
fn no_files_import_one_another_in_a_circle() {
    for folder in WITHOUT_CIRCLES {
        let found = circles(&sources(&root().join(folder), ""));
        assert!(found.is_empty(), "{folder} has circles of files:\n{}", found.join("\n\n"));
    }
}

/// All Rust files in `below`, a folder of `src`, by their paths in `src`.
fn sources(src: &Path, below: &str) -> Vec<Source> {
    let mut found = Vec::new();
    let mut entries: Vec<PathBuf> = fs::read_dir(src.join(below))
        .unwrap_or_else(|error| panic!("{}: {error}", src.display()))
        .map(|entry| entry.expect("a folder can be listed").path())
        .collect();
    entries.sort();
    for path in entries {
        let name = path.file_name().expect("files have names").to_string_lossy();
        let name = if below.is_empty() { name.into_owned() } else { format!("{below}/{name}") };
        if path.is_dir() {
            found.extend(sources(src, &name));
        } else if name.ends_with(".rs") {
            found.push((name, fs::read_to_string(&path).expect("a source is text")));
        }
    }
    found
}

/// One shortest circle of each group of files that import one another, a line for each import:
/// `a.rs -> b.rs (b::Thing)`.
pub fn circles(sources: &[Source]) -> Vec<String> {
    let imports = Imports::of(sources);
    let edges = imports.edges();
    let mut targets: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
    for (from, to) in edges.keys() {
        targets.entry(from).or_default().push(to);
    }
    let mut seen = BTreeSet::new();
    let mut found = Vec::new();
    for start in targets.keys() {
        if seen.contains(start) {
            continue;
        }
        let Some(circle) = back_to(start, &targets) else { continue };
        let reached = reached_from(start, &targets);
        // All files that import one another with it are reported with this one circle.
        seen.extend(
            reached.into_iter().filter(|file| reached_from(file, &targets).contains(start)),
        );
        let steps = circle.iter().zip(circle.iter().cycle().skip(1));
        let lines: Vec<String> =
            steps.map(|(from, to)| format!("{from} -> {to} ({})", edges[&(*from, *to)])).collect();
        found.push(lines.join("\n"));
    }
    found
}

/// The files of a shortest way from `start` back to it, beginning with it.
fn back_to<'a>(start: &'a str, targets: &BTreeMap<&'a str, Vec<&'a str>>) -> Option<Vec<&'a str>> {
    let mut came_from: BTreeMap<&str, &str> = BTreeMap::new();
    let mut waiting = VecDeque::from([start]);
    while let Some(file) = waiting.pop_front() {
        for target in targets.get(file).into_iter().flatten() {
            if *target == start {
                let mut circle = vec![file];
                while let Some(before) = came_from.get(circle[circle.len() - 1]) {
                    circle.push(before);
                }
                circle.reverse();
                return Some(circle);
            }
            if !came_from.contains_key(target) {
                came_from.insert(target, file);
                waiting.push_back(target);
            }
        }
    }
    None
}

fn reached_from<'a>(
    start: &'a str,
    targets: &BTreeMap<&'a str, Vec<&'a str>>,
) -> BTreeSet<&'a str> {
    let mut reached = BTreeSet::new();
    let mut waiting = vec![start];
    while let Some(file) = waiting.pop() {
        for target in targets.get(file).into_iter().flatten() {
            if reached.insert(*target) {
                waiting.push(target);
            }
        }
    }
    reached
}

#[cfg(test)]
mod tests {
    use super::*;

    fn found(files: &[(&str, &str)]) -> Vec<String> {
        let sources: Vec<Source> =
            files.iter().map(|(name, text)| ((*name).into(), (*text).into())).collect();
        circles(&sources)
    }

    #[test]
    fn a_planted_circle_is_found_through_every_way_of_naming_a_file() {
        for back in [
            "use crate::a::A; pub struct C(A);",
            "use super::a::A; pub struct C(A);",
            "use super::{b, a::A}; pub struct C(A);",
            "use super::a; pub struct C(a::A);",
            "pub struct C(crate::a::A);",
            "pub fn c() { let _ = super::a::A::default(); }",
            "pub fn c() { use crate::a::A; let _ = A; }",
            "pub fn c() { println!(\"{}\", crate::a::A::NAME); }",
            "pub fn c() { assert!(matches!(1, n if { crate::a::f(n) })); }",
            "pub use crate::a::A; pub struct C;",
            "pub struct C; mod inner { use crate::a::A; }",
            "pub struct C; mod inner { use super::super::a::A; }",
            "use crate::a::*; pub struct C;",
            "use crate::*; pub struct C(a::A);",
            "pub struct C { #[serde(serialize_with = \"crate::a::f\")] c: u8 }",
            "use crate::a as z; pub struct C(z::A);",
            "pub struct C; fn f() { <crate::a::A>::g(); }",
            "pub struct C; impl From<crate::a::A> for C {}",
        ] {
            let circles = found(&[
                ("lib.rs", "pub mod a; pub mod b; pub mod c;"),
                ("a.rs", "use crate::b::B; pub struct A(B);"),
                ("b.rs", "use crate::c::C; pub struct B(C);"),
                ("c.rs", back),
            ]);
            assert_eq!(circles.len(), 1, "{back}: {circles:?}");
            assert!(circles[0].starts_with("a.rs -> b.rs (b::B)\nb.rs -> c.rs"), "{}", circles[0]);
        }
    }

    #[test]
    fn one_direction_is_no_circle() {
        for a in [
            "pub struct A;",
            "/// See [`crate::c::C`].\npub struct A; // use crate::c::C;",
            "pub struct A; pub const TEXT: &str = \"use crate::c::C;\";",
            "pub struct A; pub(in crate::c) fn f() {}",
            "pub struct A; #[cfg(test)] mod tests { use crate::c::C; }",
            "use std::c::C; pub struct A;",
        ] {
            let circles = found(&[
                ("lib.rs", "pub mod a; pub mod b; pub mod c; pub use c::C;"),
                ("a.rs", a),
                ("b.rs", "use crate::a::A; pub struct B(A);"),
                ("c.rs", "use crate::{a::A, b::B}; pub struct C(A, B);"),
            ]);
            assert_eq!(circles, Vec::<String>::new(), "{a}");
        }
    }

    #[test]
    fn a_folder_that_only_shows_its_files_is_seen_through() {
        let facade = "mod low; mod high; pub use low::Low; pub use high::High;";
        let high = "use crate::part::Low; pub struct High(Low);";
        let clean = [("part/mod.rs", facade), ("part/low.rs", "pub struct Low;")];
        assert!(found(&[clean[0], clean[1], ("part/high.rs", high)]).is_empty());
        let circles = found(&[
            clean[0],
            ("part/low.rs", "use crate::part::High; pub struct Low;"),
            ("part/high.rs", high),
        ]);
        assert_eq!(circles.len(), 1);
        assert!(circles[0].contains("part/high.rs -> part/low.rs"), "{}", circles[0]);
        assert!(!circles[0].contains("mod.rs"), "{}", circles[0]);
    }

    #[test]
    fn a_parent_and_a_child_that_import_one_another_are_a_circle() {
        for parent in ["use child::Child;", "pub use child::Child;", "fn f() { child::f() }"] {
            let parent = format!("mod child; {parent} pub struct Thing;");
            let circles = found(&[
                ("part/mod.rs", &parent),
                ("part/child.rs", "use super::Thing; pub struct Child(Thing); pub fn f() {}"),
            ]);
            assert_eq!(circles.len(), 1, "{parent}");
        }
        let declared = "mod child; pub struct Thing;";
        let child = "use super::Thing; pub struct Child(Thing);";
        assert!(found(&[("part/mod.rs", declared), ("part/child.rs", child)]).is_empty());
    }

    #[test]
    fn a_glob_re_export_and_a_file_elsewhere_are_followed() {
        let circles = found(&[
            ("lib.rs", "mod x; #[path = \"other.rs\"] mod y;"),
            ("x/mod.rs", "mod deep; pub use deep::*;"),
            ("x/deep.rs", "use crate::y::Y; pub struct Deep(Y);"),
            ("other.rs", "use crate::x::Deep; pub struct Y;"),
        ]);
        let expected = "other.rs -> x/deep.rs (x::Deep)\nx/deep.rs -> other.rs (y::Y)";
        assert_eq!(circles, [expected]);
    }
}
