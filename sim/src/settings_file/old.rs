//! Settings as they were written in earlier versions: still read, and how to write them now is
//! said.

use super::wrong::{Wrong, number, wrong};
use chirrup_core::{ClimbPoint, PolarPoint, PolarSettings, Settings, ToneSettings};
use toml::de::{DeTable, DeValue};

/// Settings that were once written otherwise.
pub trait Old: Sized {
    /// Takes from a table called `name` what is written as it was in earlier versions; what it took
    /// goes into `old`, and its keys are passed over.
    fn take_old(
        &mut self,
        name: &str,
        table: &DeTable<'_>,
        old: &mut Vec<Wrong>,
    ) -> Result<&'static [&'static str], Wrong>;
}

impl Old for Settings {
    fn take_old(
        &mut self,
        name: &str,
        table: &DeTable<'_>,
        old: &mut Vec<Wrong>,
    ) -> Result<&'static [&'static str], Wrong> {
        match name {
            "polar" => polar(table, self.polar.get_or_insert_default(), old),
            "tone" => tone(table, &mut self.tone, old),
            _ => Ok(&[]),
        }
    }
}

/// Six numbers for the three points of the polar, and the mass today.
const POLAR_KEYS: [&str; 7] = [
    "speed_1_mps",
    "sink_1_mps",
    "speed_2_mps",
    "sink_2_mps",
    "speed_3_mps",
    "sink_3_mps",
    "mass_kg",
];

/// Takes the polar of `table` where it is written in the old way, and gives the keys taken.
///
/// # Errors
/// A value that is no number.
fn polar(
    table: &DeTable<'_>,
    polar: &mut PolarSettings,
    old: &mut Vec<Wrong>,
) -> Result<&'static [&'static str], Wrong> {
    let mut at = None;
    let mut find = |key: &str| -> Result<Option<f32>, Wrong> {
        let Some((key, value)) = table.get_key_value(key) else { return Ok(None) };
        at = at.or(Some(key.span().start));
        let name = key.get_ref();
        let refused = || wrong(value.span().start, &format!("polar.{name}: expected a number"));
        number(value.get_ref()).map(Some).ok_or_else(refused)
    };
    let mut values = [None; POLAR_KEYS.len()];
    for (slot, key) in values.iter_mut().zip(POLAR_KEYS) {
        *slot = find(key)?;
    }
    let Some(at) = at else { return Ok(&[]) };
    let [.., mass_kg] = values;
    for (point, pair) in polar.points.iter_mut().zip(values.chunks(2)) {
        let [speed_mps, sink_mps] = pair else { continue };
        *point = PolarPoint {
            speed_mps: speed_mps.unwrap_or(point.speed_mps),
            sink_mps: sink_mps.unwrap_or(point.sink_mps),
        };
    }
    if let Some(mass_kg) = mass_kg {
        polar.empty_mass_kg = mass_kg;
    }
    let points: Vec<String> = polar
        .points
        .iter()
        .map(|PolarPoint { speed_mps, sink_mps }| {
            format!("{{ speed_mps = {speed_mps}, sink_mps = {sink_mps} }}")
        })
        .collect();
    let what = format!(
        "the polar is written as in earlier versions; now write points = [{}], empty_mass_kg = {} \
         and ballast_kg",
        points.join(", "),
        polar.empty_mass_kg
    );
    old.push(wrong(at, &what));
    Ok(&POLAR_KEYS)
}

/// Takes the climb table of `table` where it gives the share of the time that sounds instead of the
/// length of a beep, and gives the key taken.
///
/// # Errors
/// An entry that lacks a number.
fn tone(
    table: &DeTable<'_>,
    tone: &mut ToneSettings,
    old: &mut Vec<Wrong>,
) -> Result<&'static [&'static str], Wrong> {
    let entries = table.get("climb").and_then(|list| list.get_ref().as_array());
    let is_old = |entry: &DeValue<'_>| {
        entry.as_table().is_some_and(|entry| entry.contains_key("on_fraction"))
    };
    let entries = entries.filter(|entries| entries.iter().any(|entry| is_old(entry.get_ref())));
    let Some(entries) = entries else { return Ok(&[]) };
    tone.climb.clear();
    for (index, entry) in entries.iter().enumerate() {
        let at = entry.span().start;
        let field = |name: &str| {
            let value = entry.get_ref().as_table().and_then(|entry| entry.get(name));
            value.and_then(|value| number(value.get_ref())).ok_or_else(|| {
                let place = index + 1;
                wrong(at, &format!("tone.climb, entry {place}: {name} is missing or no number"))
            })
        };
        let (cadence_hz, on_fraction) = (field("cadence_hz")?, field("on_fraction")?);
        let point = ClimbPoint {
            climb_mps: field("climb_mps")?,
            pitch_hz: field("pitch_hz")?,
            cadence_hz,
            beep_ms: 1.0e3 * on_fraction / cadence_hz,
        };
        if tone.climb.push(point).is_err() {
            let most = tone.climb.capacity();
            return Err(wrong(at, &format!("tone.climb: expected at most {most} entries")));
        }
        if index == 0 {
            let what = format!(
                "on_fraction is of earlier versions; now write the length of a beep, beep_ms = {} \
                 in this entry",
                point.beep_ms
            );
            old.push(wrong(at, &what));
        }
    }
    Ok(&["climb"])
}
