//! The documents: links, names of files and commands in them, their size, and the width of lines.

mod commands;
mod cost;
mod lines;
mod links;
mod low_pass;
mod measured;
mod pages;
mod settings;

use std::fs;
use std::path::{Path, PathBuf};

/// The folder of the project.
fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..").canonicalize().expect("the project is there")
}

fn read(path: &Path) -> String {
    fs::read_to_string(path).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

/// Folders that hold nothing of the project's own.
const NOT_OURS: [&str; 8] =
    [".git", ".venv", "target", "node_modules", "dist", "chirrup-demo", "artifacts", "corpus"];

/// Every file below `folder` whose name ends in one of `endings`, in the order of their paths.
fn files(folder: &Path, endings: &[&str]) -> Vec<PathBuf> {
    let mut found = Vec::new();
    let mut folders = vec![folder.to_owned()];
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(&folder).expect("a folder can be listed") {
            let path = entry.expect("a folder can be listed").path();
            let name = path.file_name().expect("it has a name").to_string_lossy().into_owned();
            let is_link = path.is_symlink();
            if path.is_dir() && !is_link && !NOT_OURS.contains(&name.as_str()) {
                folders.push(path);
            } else if path.is_file() && endings.iter().any(|ending| name.ends_with(ending)) {
                found.push(path);
            }
        }
    }
    found.sort();
    found
}

/// Every document: the Markdown files of the project.
fn documents() -> Vec<PathBuf> {
    files(&root(), &[".md"])
}
