//! The instrument's settings: shown as a settings file, loaded from one all together or not at all,
//! saved in its flash.

use super::port::Port;
use super::talk;
use crate::error::{Error, Result};
use crate::settings_file;
use chirrup_core::settings::Settings;
use std::path::Path;
use std::sync::atomic::AtomicBool;
use toml::Value;

/// The settings of the instrument at `path`, as a settings file.
///
/// # Errors
/// No instrument answers.
pub fn show(path: &Path, interrupted: &AtomicBool) -> Result<String> {
    let mut port = Port::open(path)?;
    talk::greet(&mut port, interrupted)?;
    Ok(talk::demand(&mut port, "settings", interrupted)?.join("\n") + "\n")
}

/// Makes the instrument at `path` use the settings of `file`: all of the core's, those not named at
/// their defaults, and those of the device that the file names.
///
/// # Errors
/// The file cannot be used, no instrument answers, or it refuses; its settings are then as before.
pub fn load(path: &Path, file: &str, interrupted: &AtomicBool) -> Result<()> {
    if !Path::new(file).exists() {
        return Err(Error::Usage(format!("cannot read settings {file}: there is no such file")));
    }
    let (instrument, device) = settings_file::read(file)?;
    let lines = lines_of(&instrument.settings, device.as_ref())?;
    let mut port = Port::open(path)?;
    talk::greet(&mut port, interrupted)?;
    talk::demand(&mut port, "begin", interrupted)?;
    for line in lines.iter().map(String::as_str).chain(["commit"]) {
        if let Err(reason) = talk::ask(&mut port, line, interrupted)? {
            talk::demand(&mut port, "cancel", interrupted)?;
            return Err(Error::Refused(format!(
                "{}: {reason}; nothing was changed",
                path.display()
            )));
        }
    }
    Ok(())
}

/// Makes the instrument at `path` keep its settings for its next start.
///
/// # Errors
/// No instrument answers, or its flash refuses.
pub fn save(path: &Path, interrupted: &AtomicBool) -> Result<()> {
    let mut port = Port::open(path)?;
    talk::greet(&mut port, interrupted)?;
    talk::demand(&mut port, "save", interrupted).map(|_| ())
}

/// Every setting as a line of the console.
fn lines_of(settings: &Settings, device: Option<&toml::Table>) -> Result<Vec<String>> {
    let table =
        toml::Table::try_from(settings).map_err(|error| Error::Settings(error.to_string()))?;
    let mut lines = Vec::new();
    if settings.polar.is_none() {
        lines.push("polar = none".to_owned());
    }
    add_lines(&mut lines, "", &table);
    if let Some(device) = device {
        add_lines(&mut lines, "device.", device);
    }
    Ok(lines)
}

fn add_lines(lines: &mut Vec<String>, before: &str, table: &toml::Table) {
    for (name, value) in table {
        match value {
            Value::Table(inner) => add_lines(lines, &format!("{before}{name}."), inner),
            value => lines.push(format!("{before}{name} = {}", text_of(value))),
        }
    }
}

/// A value as short as it can be without another meaning: the instrument's lines have an end.
fn text_of(value: &Value) -> String {
    match value {
        // Every number is an f32 there; its shortest digits are enough.
        Value::Float(number) => (*number as f32).to_string(),
        Value::Array(entries) => {
            let entries: Vec<String> = entries.iter().map(text_of).collect();
            format!("[{}]", entries.join(","))
        }
        Value::Table(fields) => {
            let fields: Vec<String> =
                fields.iter().map(|(name, value)| format!("{name}={}", text_of(value))).collect();
            format!("{{{}}}", fields.join(","))
        }
        other => other.to_string(),
    }
}
