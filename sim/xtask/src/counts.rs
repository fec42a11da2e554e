//! Instructions for each sample, as `sim/benches/instructions.py` counted them.

use crate::measured::Measured;
use crate::release::Release;
use anyhow::{Context, Result};
use serde_json::Value;
use std::fmt::Write as _;
use std::fs;

/// Where they are, below the project's folder.
pub const FILE: &str = "sim/benches/instructions.json";

/// The counts and who counted them.
///
/// # Errors
/// When the file is not there or is something else.
pub fn measured(release: &Release) -> Result<Measured> {
    let path = release.root.join(FILE);
    let text = fs::read_to_string(&path)
        .with_context(|| format!("no {FILE}; count first: just rewrite-instructions"))?;
    read(&text)
        .with_context(|| format!("{FILE} is damaged; count again: just rewrite-instructions"))
}

fn read(text: &str) -> Result<Measured> {
    let all: Value = serde_json::from_str(text)?;
    let counts = all["instructions"].as_object().context("it has no instructions")?;
    let by = all["counted_by"].as_object().context("it does not say who counted")?;
    let mut table = String::from("| key | instructions |\n|---|---|\n");
    for (name, count) in counts {
        let count = count.as_u64().with_context(|| format!("{name} is no count"))?;
        let _ = writeln!(table, "| `{name}` | {count} |");
    }
    let words = |(what, value): (&String, &Value)| {
        let value = value.as_str().with_context(|| format!("{what} is no text"))?;
        Ok((format!("counted by: {what}"), value.to_owned()))
    };
    Ok(Measured { table, further: by.iter().map(words).collect::<Result<_>>()? })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn counts_and_who_counted_are_read() {
        let found = read(
            r#"{"counted_by": {"valgrind": "valgrind-3.19.0"}, "instructions": {"a sample": 42}}"#,
        )
        .unwrap();
        assert!(found.table.ends_with("| `a sample` | 42 |\n"), "{}", found.table);
        assert_eq!(found.further, [("counted by: valgrind".into(), "valgrind-3.19.0".into())]);
        assert!(read(r#"{"a sample": 42}"#).is_err());
        assert!(read(r#"{"counted_by": {}, "instructions": {"a": "b"}}"#).is_err());
    }
}
