//! The instrument's settings: shown as a settings file, loaded from one all together or not at all,
//! saved in its flash.

use super::port::Port;
use super::talk;
use crate::error::{Error, Result};
use crate::settings_file::{self, Instrument};
use crate::words::shown_path;
use chirrup_core::Settings;
use chirrup_core::rows::{Groups, Kind, Row, Setting, Value};
use std::path::Path;
use std::sync::atomic::AtomicBool;

/// The settings of the instrument at `path`, as a settings file.
///
/// # Errors
/// No instrument answers.
pub fn show(path: &Path, interrupted: &AtomicBool) -> Result<String> {
    let mut port = Port::open(path)?;
    talk::greet(&mut port, interrupted)?;
    Ok(talk::demand(&mut port, "settings", interrupted)?.join("\n") + "\n")
}

/// Makes the instrument at `path` use the settings of `file`: those not named at their defaults,
/// except those of the device, which stay unchanged. Gives what the file writes as in earlier
/// versions, a line each.
///
/// # Errors
/// The file cannot be used, no instrument answers, or it refuses; its settings are then unchanged.
pub fn load(path: &Path, file: &str, interrupted: &AtomicBool) -> Result<Vec<String>> {
    if !Path::new(file).exists() {
        return Err(Error::Usage(format!("cannot read settings {file}: there is no such file")));
    }
    let instrument = settings_file::load(file, &Settings::default())?;
    let lines = lines_of(&instrument);
    let mut port = Port::open(path)?;
    talk::greet(&mut port, interrupted)?;
    talk::demand(&mut port, "begin", interrupted)?;
    for line in lines.iter().map(String::as_str).chain(["commit"]) {
        if let Err(reason) = talk::ask(&mut port, line, interrupted)? {
            talk::demand(&mut port, "cancel", interrupted)?;
            return Err(Error::Refused(format!(
                "{}: {reason}; nothing was changed",
                shown_path(path)
            )));
        }
    }
    Ok(instrument.old)
}

/// Makes the instrument at `path` save its settings for its next start.
///
/// # Errors
/// No instrument answers, or its flash refuses.
pub fn save(path: &Path, interrupted: &AtomicBool) -> Result<()> {
    let mut port = Port::open(path)?;
    talk::greet(&mut port, interrupted)?;
    talk::demand(&mut port, "save", interrupted).map(|_| ())
}

/// Every setting as a line of the console; of the device only what the file names, since a file
/// made on the bench does not know what is soldered to an instrument.
fn lines_of(instrument: &Instrument) -> Vec<String> {
    let (mut lines, settings) = (Vec::new(), &instrument.settings);
    for (place, known) in Settings::GROUPS.iter().enumerate() {
        let Some(group) = settings.group(place) else {
            lines.push(format!("{} = none", known.name));
            continue;
        };
        for (place, row) in known.rows.iter().enumerate() {
            let is_sent = !known.is_device || instrument.named.contains(&row.name);
            if let Some(setting) = group.setting(place).filter(|_| is_sent) {
                lines.push(format!("{} = {}", row.name, short(row, setting)));
            }
        }
    }
    lines
}

/// A value written as short as possible: the instrument's lines have a limited length.
fn short(row: &Row, setting: &dyn Setting) -> String {
    let (Value::Entries(count), Kind::List { fields, .. }) = (setting.value(), row.kind) else {
        return settings_file::value(row, setting);
    };
    let entry = |index| {
        let values = setting.entry(index).unwrap_or_default();
        let pairs = fields.iter().zip(values);
        let pairs: Vec<String> =
            pairs.map(|(field, value)| format!("{}={value}", field.name)).collect();
        format!("{{{}}}", pairs.join(","))
    };
    format!("[{}]", (0..count).map(entry).collect::<Vec<_>>().join(","))
}
