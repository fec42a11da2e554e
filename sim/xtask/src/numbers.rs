//! `cargo xtask numbers`: the page of measured numbers, `docs/src/measured.md`. Nothing in that
//! page is typed by hand.
//!
//! Each source is a section with a table that says who measured it. What is not measured again
//! stays as it is, with the commit that it was measured at.

use crate::commit::Commit;
use crate::release::Release;
use crate::sources::{SOURCES, Source};
use crate::{counts, machine, whole};
use anyhow::{Context, Result, bail};
use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

/// Where it stands in the book.
const PAGE: &str = "docs/src/measured.md";

const BEGINNING: &str = "\
# Measured numbers

`just numbers` writes this page and nobody types into it; `just numbers speed` measures one section
again and keeps the others, each of which says at which commit and on which machine it was measured.
Where another document repeats a figure, the test `docs::measured` compares the two. What must hold,
and the test that asserts it, is in [Accuracy](numbers.md); the processors of the instrument are in
[What it costs](cost.md).
";

/// Measures the sources named, or all, and writes the page after each.
///
/// # Errors
/// When there is no such source, a command fails, or the release in `out` is not whole or of
/// another commit.
pub fn write(out: &Path, names: &[String]) -> Result<()> {
    let release = Release::of_this_commit(out)?;
    let chosen = chosen(names)?;
    // Before anything is measured, because that takes minutes.
    if chosen.iter().any(|source| source.of_release) {
        whole::check(&release)?;
    }
    let path = release.root.join(PAGE);
    let mut kept = sections(&fs::read_to_string(&path).unwrap_or_default());
    for (number, source) in (1..).zip(&chosen) {
        println!("{number}/{} {:<12} {}", chosen.len(), source.name, source.what);
        kept.insert(source.heading.to_owned(), section(&release, source)?);
        fs::write(&path, page(&kept))
            .with_context(|| format!("cannot write {}", path.display()))?;
    }
    println!("{} is written", path.display());
    let commit = release.commit.as_ref().map(|commit| &commit.hash[..12]).unwrap_or_default();
    for source in SOURCES.iter().filter(|source| !chosen.iter().any(|one| one.name == source.name))
    {
        if !kept.get(source.heading).is_some_and(|text| text.contains(commit)) {
            println!("not of this commit: just numbers {}", source.name);
        }
    }
    Ok(())
}

/// The sources of these names; all if there is none.
fn chosen(names: &[String]) -> Result<Vec<&'static Source>> {
    for name in names {
        if !SOURCES.iter().any(|source| source.name == name) {
            let all: Vec<&str> = SOURCES.iter().map(|source| source.name).collect();
            bail!("no source '{name}'; there are {}", all.join(", "));
        }
    }
    let is_chosen = |source: &&Source| names.is_empty() || names.iter().any(|n| n == source.name);
    Ok(SOURCES.iter().filter(is_chosen).collect())
}

/// The sections of a page by their headings, each from its heading on.
fn sections(page: &str) -> BTreeMap<String, String> {
    let parts = page.split("\n## ").skip(1);
    parts
        .map(|part| {
            let heading = part.lines().next().unwrap_or_default().to_owned();
            (heading, format!("## {}\n", part.trim_end()))
        })
        .collect()
}

/// A section, measured now.
fn section(release: &Release, source: &Source) -> Result<String> {
    let before = machine::load();
    let measured = (source.measure)(release)?;
    // What measuring itself writes is no change of what is measured.
    let commit = Commit::checked_out(&release.root, &[PAGE, counts::FILE]);
    let machine = machine::table(release, commit.as_ref(), before, &measured.further)?;
    let Source { heading, words, .. } = source;
    Ok(format!("## {heading}\n\n{words}\n\n{machine}\n{}", measured.table))
}

/// The page, its sections in the order of the sources.
fn page(sections: &BTreeMap<String, String>) -> String {
    let mut page = String::from(BEGINNING);
    for Source { heading, name, .. } in &SOURCES {
        let missing = || format!("## {heading}\n\nNot measured yet: `just numbers {name}`.\n");
        page += "\n";
        page += &sections.get(*heading).cloned().unwrap_or_else(missing);
    }
    page
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_line_of_the_page_is_wider_than_a_hundred_columns() {
        for text in SOURCES.iter().map(|source| source.words).chain([BEGINNING]) {
            assert!(text.lines().all(|line| line.chars().count() <= 100), "{text}");
        }
    }

    #[test]
    fn what_is_not_measured_again_stays_to_the_letter() {
        let mut kept = sections("");
        assert!(page(&kept).contains("Not measured yet: `just numbers speed`."));
        for source in &SOURCES {
            let text = format!("## {}\n\nof commit {}\n\n| a | b |\n", source.heading, source.name);
            kept.insert(source.heading.to_owned(), text);
        }
        let before = page(&kept);
        assert_eq!(page(&sections(&before)), before);
        let mut again = sections(&before);
        let speed = SOURCES.iter().find(|source| source.name == "speed").unwrap();
        again.insert(speed.heading.to_owned(), format!("## {}\n\nnew\n", speed.heading));
        let after = page(&again);
        assert_eq!(after.replace("\n\nnew\n", "\n\nof commit speed\n\n| a | b |\n"), before);
    }

    #[test]
    fn a_name_that_is_no_source_is_refused_with_those_that_are() {
        let text = chosen(&["sped".into()]).err().unwrap().to_string();
        assert!(
            text.starts_with("no source 'sped'; there are ") && text.contains("speed"),
            "{text}"
        );
        assert_eq!(chosen(&[]).unwrap().len(), SOURCES.len());
        assert_eq!(chosen(&["speed".into()]).unwrap()[0].name, "speed");
    }
}
