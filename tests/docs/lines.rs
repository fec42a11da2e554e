//! No line of code, of a document or of a settings file is wider than 100 columns, except tables
//! and blocks between fences, which hold data.

use super::{files, read, root};

const WIDEST: usize = 100;

/// The numbers of the lines that are too wide, with their widths.
fn too_wide(text: &str) -> Vec<(usize, usize)> {
    let mut in_fence = false;
    let mut found = Vec::new();
    for (place, line) in text.lines().enumerate() {
        // A table or a fence may stand in a comment.
        let start = line.trim_start();
        let start = ["//!", "///", "//", "#"]
            .iter()
            .find_map(|mark| start.strip_prefix(mark))
            .unwrap_or(start);
        let start = start.trim_start();
        if start.starts_with("```") {
            in_fence = !in_fence;
        }
        let width = line.chars().count();
        if width > WIDEST && !in_fence && !start.starts_with('|') {
            found.push((place + 1, width));
        }
    }
    found
}

#[test]
fn no_line_is_wider_than_a_hundred_columns() {
    let mut wide = Vec::new();
    for file in files(&root(), &[".rs", ".md", ".toml"]) {
        for (line, width) in too_wide(&read(&file)) {
            let name = file.strip_prefix(root()).expect("it is ours").display();
            wide.push(format!("{name}:{line}: {width} columns"));
        }
    }
    assert!(wide.is_empty(), "{} lines are too wide:\n{}", wide.len(), wide.join("\n"));
}

#[test]
fn wide_lines_are_found_and_tables_and_data_are_not() {
    let wide = "x".repeat(WIDEST + 1);
    assert_eq!(too_wide(&format!("short\n{wide}\n")), [(2, WIDEST + 1)]);
    assert_eq!(too_wide(&format!("//! {wide}\n")).len(), 1);
    assert_eq!(too_wide(&format!("| {wide} |\n//! | {wide} |\n")), []);
    assert_eq!(too_wide(&format!("```text\n{wide}\n```\n//! ```text\n//! {wide}\n//! ```\n")), []);
    assert_eq!(too_wide(&format!("```text\n```\n{wide}\n")).len(), 1);
}
