//! The program beside other libraries, from what `sim/benches/others/run.py` writes.

use crate::measured::Measured;
use crate::release::Release;
use anyhow::{Context, Result, bail};
use serde_json::Value;
use std::fmt::Write as _;
use std::fs;
use std::process::Command;

/// Runs it in an environment of its own, which it keeps in the folder of the builds.
///
/// # Errors
/// When something does not build, cannot be installed, or the script fails.
pub fn measured(release: &Release) -> Result<Measured> {
    let json = release.work.join("speed.json");
    fs::create_dir_all(&release.work)?;
    let status = Command::new("bash")
        .arg("sim/benches/others/speed.sh")
        .arg(release.target.join("speed-venv"))
        .arg("--json")
        .arg(&json)
        .current_dir(&release.root)
        .status()
        .context("cannot run bash")?;
    if !status.success() {
        bail!("sim/benches/others/speed.sh ended with {status}");
    }
    let table = table(&serde_json::from_str(&fs::read_to_string(&json)?)?)?;
    let wanted = fs::read_to_string(release.root.join("sim/benches/others/requirements.txt"))?;
    let libraries = wanted.lines().map(|line| line.replace("==", " ")).collect::<Vec<_>>();
    Ok(Measured { table, further: vec![("libraries".to_owned(), libraries.join(", "))] })
}

/// Their table. What a row leaves empty is as in the row above.
fn table(found: &Value) -> Result<String> {
    let rows = found["rows"].as_array().context("run.py wrote no rows")?;
    let mut out = String::from(
        "| key | Chirrup | unit | beside | theirs | ratio |\n|---|---|---|---|---|---|\n",
    );
    let (mut what, mut unit) = ("", "");
    for row in rows {
        let text = |key: &str| row[key].as_str().with_context(|| format!("a row has no {key}"));
        let number = |key: &str| row[key].as_f64().with_context(|| format!("a row has no {key}"));
        let or_above =
            |cell: &str, above| text(cell).map(|it| if it.is_empty() { above } else { it });
        (what, unit) = (or_above("what", what)?, or_above("unit", unit)?);
        let (beside, ours, theirs) = (text("beside")?, number("chirrup")?, number("theirs")?);
        let (key, ratio) = (key(what, beside), number("ratio")?);
        let _ =
            writeln!(out, "| `{key}` | {ours:.2} | {unit} | {beside} | {theirs:.2} | {ratio:.2} |");
    }
    Ok(out)
}

/// `speed.csv_to_readings.polars_numba`.
fn key(what: &str, beside: &str) -> String {
    let plain = |words: &str| {
        let letters = words.to_lowercase().replace(|letter: char| !letter.is_alphanumeric(), " ");
        letters.split_whitespace().collect::<Vec<_>>().join("_")
    };
    format!("speed.{}.{}", plain(what), plain(beside))
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn what_a_row_leaves_empty_is_as_in_the_row_above() {
        let row = |what: &str, unit: &str, beside: &str, theirs: f64| {
            json!({"what": what, "unit": unit, "chirrup": 2.0, "beside": beside, "theirs": theirs,
                   "ratio": 2.0 / theirs})
        };
        let found = json!({"rows": [row("CSV to readings", "M samples/s", "asked for", 5.0),
                                    row("", "", "polars, numba", 8.0),
                                    row("filters", "", "asked for", 1.0)]});
        let table = table(&found).unwrap();
        let lines: Vec<&str> = table.lines().skip(2).collect();
        let start = "| `speed.csv_to_readings";
        assert_eq!(
            lines,
            [
                format!("{start}.asked_for` | 2.00 | M samples/s | asked for | 5.00 | 0.40 |"),
                format!(
                    "{start}.polars_numba` | 2.00 | M samples/s | polars, numba | 8.00 | 0.25 |"
                ),
                "| `speed.filters.asked_for` | 2.00 | M samples/s | asked for | 1.00 | 2.00 |"
                    .into(),
            ]
        );
        assert!(super::table(&json!({"rows": [{}]})).is_err());
    }
}
