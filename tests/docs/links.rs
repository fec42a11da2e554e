//! Every relative link and every `#heading` of the documents leads somewhere.
//!
//! Links of the book must stay inside it, since a page outside is not part of what mdbook builds.
//! Addresses on the network are not visited.

use super::{documents, files, read, root};
use pulldown_cmark::{Event, Options, Parser, Tag, TagEnd};
use std::collections::HashMap;
use std::fs;
use std::path::{Path, PathBuf};

/// What a document holds that matters for links.
struct Document {
    links: Vec<String>,
    /// The headings as `#` addresses, as code hosts and mdbook form them.
    anchors: Vec<String>,
}

impl Document {
    fn read(path: &Path) -> Self {
        let text = read(path);
        let (mut links, mut titles) = (Vec::new(), Vec::new());
        let mut title: Option<String> = None;
        for event in Parser::new_ext(&text, Options::ENABLE_TABLES) {
            match event {
                Event::Start(Tag::Link { dest_url, .. } | Tag::Image { dest_url, .. }) => {
                    links.push(dest_url.into_string());
                }
                Event::Start(Tag::Heading { .. }) => title = Some(String::new()),
                Event::End(TagEnd::Heading(_)) => titles.extend(title.take()),
                Event::Text(text) | Event::Code(text) => {
                    if let Some(title) = &mut title {
                        title.push_str(&text);
                    }
                }
                _ => {}
            }
        }
        Self { links, anchors: anchors(&titles) }
    }
}

/// Titles as addresses: lower case, spaces as hyphens, no other punctuation; a title that comes
/// again gets a number.
fn anchors(titles: &[String]) -> Vec<String> {
    let mut seen: HashMap<String, u32> = HashMap::new();
    let address = |title: &String| {
        let address: String = title
            .to_lowercase()
            .chars()
            .filter(|letter| letter.is_alphanumeric() || matches!(letter, ' ' | '-' | '_'))
            .map(|letter| if letter == ' ' { '-' } else { letter })
            .collect();
        let count = seen.entry(address.clone()).or_insert(0);
        *count += 1;
        if *count == 1 { address } else { format!("{address}-{}", *count - 1) }
    };
    titles.iter().map(address).collect()
}

/// What is wrong with the links of `document`, one line each; `book` is the folder that its pages
/// may not leave.
fn dead_links(document: &Path, book: &Path) -> Vec<String> {
    let folder = document.parent().expect("a document is in a folder");
    let mut dead = Vec::new();
    for link in Document::read(document).links {
        if link.contains("://") || link.starts_with("mailto:") {
            continue;
        }
        let (file, anchor) = link.split_once('#').unwrap_or((&link, ""));
        let target = if file.is_empty() { document.to_owned() } else { folder.join(file) };
        let wrong = |what: &str| format!("{}: {link}: {what}", document.display());
        match target.canonicalize() {
            Err(_) => dead.push(wrong("there is no such file")),
            Ok(target) if document.starts_with(book) && !target.starts_with(book) => {
                dead.push(wrong("a page of the book cannot link to a file outside docs/src"));
            }
            Ok(target) if !anchor.is_empty() => {
                if !Document::read(&target).anchors.iter().any(|known| known == anchor) {
                    dead.push(wrong("the file has no such heading"));
                }
            }
            Ok(_) => {}
        }
    }
    dead
}

#[test]
fn every_link_leads_somewhere() {
    let book = root().join("docs/src");
    let documents = documents();
    assert!(documents.len() > 20, "{documents:?}");
    let dead: Vec<String> =
        documents.iter().flat_map(|document| dead_links(document, &book)).collect();
    assert!(dead.is_empty(), "dead links:\n{}", dead.join("\n"));
}

#[test]
fn dead_links_are_found() {
    let folder = tempfile::tempdir().expect("there is room");
    let root = folder.path().canonicalize().expect("it is there");
    let book = root.join("docs/src");
    fs::create_dir_all(&book).expect("there is room");
    let write = |name: &str, text: &str| -> PathBuf {
        fs::write(root.join(name), text).expect("there is room");
        root.join(name)
    };
    let page =
        write("docs/src/page.md", "# How `it` works\n\n## Again\n\n## Again\n\n[x](gone.md)\n");
    let good = write(
        "good.md",
        "# Top\n[a](docs/src/page.md#how-it-works) [b](docs/src/page.md#again-1) [c](#top)\n\
         [d](https://example.org/x.md) `[e](gone.md)`\n\n```\n[f](gone.md)\n```\n",
    );
    assert_eq!(dead_links(&good, &book), Vec::<String>::new());
    assert_eq!(dead_links(&page, &book).len(), 1, "a link to a file that is not there");
    let bad =
        write("bad.md", "[a](docs/src/page.md#again-2)\n\n| t |\n|---|\n| ![p](gone.png) |\n");
    assert_eq!(dead_links(&bad, &book).len(), 2, "{:?}", dead_links(&bad, &book));
    let leaves = write("docs/src/leaves.md", "[the top](../../good.md)\n");
    assert!(dead_links(&leaves, &book)[0].contains("outside docs/src"));
}

#[test]
fn the_summary_lists_every_page_of_the_book() {
    let book = root().join("docs/src");
    let summary = Document::read(&book.join("SUMMARY.md")).links;
    for page in files(&book, &[".md"]) {
        let name = page.file_name().expect("it has a name").to_string_lossy().into_owned();
        let listed = name == "SUMMARY.md" || summary.contains(&name);
        assert!(listed, "docs/src/SUMMARY.md does not list {name}");
    }
}
