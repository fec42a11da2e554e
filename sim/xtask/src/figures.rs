//! Single figures with keys: of the program, the same on every machine, and of a release.

use crate::command::command;
use crate::release::Release;
use anyhow::{Context, Result, bail};
use serde_json::Value;
use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::Instant;

/// One figure.
pub struct Figure {
    /// What other documents find it by, such as `gusts_05.error_mps`.
    pub key: String,
    /// The figure as it is printed.
    pub value: String,
    /// Its unit.
    pub unit: &'static str,
}

/// The figures of rough air and of the tone, by the program as a user builds it.
///
/// # Errors
/// When it does not build, fails or prints something else.
pub fn of_program(release: &Release) -> Result<Vec<Figure>> {
    let mut cargo = Command::new("cargo");
    cargo.args(["build", "--quiet", "--release", "--locked", "-p", "chirrup"]);
    if !cargo.current_dir(&release.root).status()?.success() {
        bail!("cargo build --release -p chirrup failed");
    }
    let rough = json(release, &["response", "--only", "rough", "--json"])?;
    let rows = rough["rough"]["rows"].as_array().context("response prints no rows")?;
    let mut figures = rows.iter().map(of_row).collect::<Result<Vec<_>>>()?;
    figures.extend(of_tone(&json(release, &["tone", "--json"])?)?);
    Ok(figures)
}

fn json(release: &Release, words: &[&str]) -> Result<Value> {
    let program = format!("release/chirrup{}", std::env::consts::EXE_SUFFIX);
    let output = Command::new(release.target.join(program)).args(words).output()?;
    if !output.status.success() {
        bail!("chirrup {} failed", words.join(" "));
    }
    Ok(serde_json::from_slice(&output.stdout)?)
}

/// A case in rough air and what was measured in it. The measure's name ends in its unit.
fn of_row(row: &Value) -> Result<Figure> {
    let text = |key: &str| row[key].as_str().with_context(|| format!("a row has no {key}"));
    let (case, measure) = (text("case")?, text("measure")?);
    let value = row["present"].as_f64();
    let unit = match measure.rsplit('_').next().unwrap_or_default() {
        "mps" => "m/s",
        "s" => "s",
        "deg" => "degrees",
        "percent" => "%",
        "beeps" | "spells" => "in 10 minutes",
        _ => "",
    };
    let whole = matches!(unit, "in 10 minutes" | "%");
    let value = match value {
        None => "none".to_owned(),
        Some(value) if whole => format!("{value:.0}"),
        Some(value) => format!("{value:.3}"),
    };
    Ok(Figure { key: format!("{case}.{measure}"), value, unit })
}

/// What the ear makes of the tone: the least over the climbs that are flown.
fn of_tone(tone: &Value) -> Result<Vec<Figure>> {
    let rows = tone["rows"].as_array().context("tone prints no rows")?;
    let least = |key: &str, to_mps: f64| {
        let of_climbs = rows.iter().filter(|row| {
            row["value_mps"].as_f64().is_some_and(|mps| (0.199..to_mps + 0.001).contains(&mps))
        });
        let least = of_climbs.filter_map(|row| row[key].as_f64()).fold(f64::INFINITY, f64::min);
        if least.is_finite() { Ok(least) } else { bail!("tone prints no {key}") }
    };
    let figure = |key: &str, value: f64, unit| Figure {
        key: format!("tone.{key}"),
        value: format!("{value:.2}"),
        unit,
    };
    Ok(vec![
        figure("steps_in_quiet", least("steps", 5.0)?, "just noticeable steps in 0.1 m/s"),
        figure("steps_in_noise", least("steps_in_noise", 5.0)?, "just noticeable steps in 0.1 m/s"),
        figure("above_noise_db", least("above_noise_db", 10.0)?, "dB"),
    ])
}

/// Sizes of the files that people take, and the time of the demonstration.
///
/// # Errors
/// When a file is missing, or the demonstration fails.
pub fn of_release(release: &Release) -> Result<Vec<Figure>> {
    let folder = release.folder();
    let files: [(&str, PathBuf); 6] = [
        ("size.archive", release.archive()),
        ("size.program", release.program()),
        ("size.page", folder.join("page/chirrup.html")),
        ("size.pico", folder.join("boards/pico.uf2")),
        ("size.pico2", folder.join("boards/pico2.uf2")),
        ("size.clips", folder.join("listening")),
    ];
    let mut figures = Vec::new();
    for (key, file) in files {
        let bytes = size(&file).with_context(|| format!("there is no {}", file.display()))?;
        let value = format!("{:.0}", bytes as f64 / 1000.0);
        figures.push(Figure { key: key.into(), value, unit: "kB" });
    }
    figures.push(demonstration(release)?);
    Ok(figures)
}

fn size(path: &Path) -> Result<u64> {
    let files = if path.is_dir() { crate::files::below(path)? } else { vec![path.to_owned()] };
    files.iter().map(|file| Ok(fs::metadata(file)?.len())).sum()
}

/// The best of three.
fn demonstration(release: &Release) -> Result<Figure> {
    let folder = release.work.join("demonstration");
    let mut best_s = f64::INFINITY;
    for _ in 0..3 {
        let begun = Instant::now();
        let mut demo = command(release, release.program());
        if !demo.arg("demo").arg("-o").arg(&folder).output()?.status.success() {
            bail!("chirrup demo failed");
        }
        best_s = best_s.min(begun.elapsed().as_secs_f64());
    }
    let value = format!("{best_s:.1}");
    Ok(Figure { key: "time.demonstration".into(), value, unit: "s, the best of three" })
}

/// Figures with their keys, by which the test finds them.
pub fn table(figures: &[Figure]) -> String {
    let mut out = String::from("| key | figure | unit |\n|---|---|---|\n");
    for Figure { key, value, unit } in figures {
        let _ = writeln!(out, "| `{key}` | {value} | {unit} |");
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn a_figure_is_a_row_with_its_key() {
        let figure = Figure { key: "a.b".into(), value: "1.5".into(), unit: "m/s" };
        assert!(table(&[figure]).ends_with("| `a.b` | 1.5 | m/s |\n"));
    }

    #[test]
    fn a_measure_has_the_unit_that_its_name_ends_in() {
        let row = json!({"case": "gusts_05", "measure": "error_mps", "present": 0.303124});
        let figure = of_row(&row).unwrap();
        assert_eq!((figure.key.as_str(), figure.value.as_str()), ("gusts_05.error_mps", "0.303"));
        assert_eq!(figure.unit, "m/s");
        let row = json!({"case": "a", "measure": "false_beeps", "present": 5.0});
        assert_eq!(of_row(&row).unwrap().value, "5");
        assert!(of_row(&json!({"case": "a"})).is_err());
    }

    #[test]
    fn the_least_step_is_that_of_the_climbs_alone() {
        let row = |mps: f64, steps: f64| {
            json!({"value_mps": mps, "steps": steps, "steps_in_noise": steps - 1.0,
                   "above_noise_db": 15.0})
        };
        let tone = json!({"rows": [row(-4.0, 0.6), row(0.2, 3.0), row(5.0, 2.7), row(7.0, 0.8)]});
        let figures = of_tone(&tone).unwrap();
        assert_eq!(figures[0].value, "2.70");
        assert_eq!(figures[1].value, "1.70");
    }
}
