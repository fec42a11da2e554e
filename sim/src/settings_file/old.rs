//! Settings in the format of earlier versions: still read, with a note on the new format.

use super::found::Found;
use super::wrong::{Wrong, number, shown, wrong};
use chirrup_core::{ClimbPoint, PolarPoint, PolarSettings, Settings, SinkPoint, ToneSettings};
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// Lowers the sink tone where a climb table of the user begins so low that the sink table, which is
/// not his, is no longer a fifth below it: climb tables of earlier versions began at 560 Hz.
pub fn lower_sink(settings: &mut Settings, found: &mut Found) {
    let tone = &mut settings.tone;
    let ends = tone.climb.first().zip(tone.sink.first());
    let Some((lowest_beep, highest_sink)) = ends else { return };
    let most_hz = lowest_beep.pitch_hz / FIFTH;
    let Some(at) = found.place("tone.climb") else { return };
    let is_the_users = tone.sink != ToneSettings::default().sink;
    if is_the_users || found.place("tone.sink").is_some() || highest_sink.pitch_hz <= most_hz {
        return;
    }
    let share = most_hz / highest_sink.pitch_hz;
    for point in &mut tone.sink {
        // Down, so that rounding does not undo it.
        point.pitch_hz = (share * point.pitch_hz).floor();
    }
    let points = tone.sink.iter().map(|SinkPoint { sink_mps, pitch_hz }| {
        format!("{{ sink_mps = {sink_mps}, pitch_hz = {pitch_hz} }}")
    });
    let what = format!(
        "tone.climb begins less than a fifth above the sink tone of the defaults, which is \
         lowered; to choose it write sink = [{}]",
        points.collect::<Vec<_>>().join(", ")
    );
    found.old.push(wrong(at, &what));
}

/// A musical fifth, by which the sink tone has to be lower than every beep.
const FIFTH: f32 = 1.5;

/// Settings whose format has changed.
pub trait Old: Sized {
    /// Reads settings of an earlier format from the table `name`; notes go into `found`, and the
    /// keys read are then skipped.
    fn take_old(
        &mut self,
        name: &str,
        table: &DeTable<'_>,
        found: &mut Found,
    ) -> Result<&'static [&'static str], Wrong>;
}

impl Old for Settings {
    fn take_old(
        &mut self,
        name: &str,
        table: &DeTable<'_>,
        found: &mut Found,
    ) -> Result<&'static [&'static str], Wrong> {
        match name {
            "polar" => polar(table, self.polar.get_or_insert_default(), found),
            "tone" => tone(table, &mut self.tone, found),
            _ => Ok(&[]),
        }
    }
}

/// Six numbers for the three points of the polar, and the mass today with ballast.
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
/// A value that is not a number, or a present key for the same setting.
fn polar(
    table: &DeTable<'_>,
    polar: &mut PolarSettings,
    found: &mut Found,
) -> Result<&'static [&'static str], Wrong> {
    let mut first = None;
    for (place, key) in POLAR_KEYS.into_iter().enumerate() {
        let Some((key, value)) = table.get_key_value(key) else { continue };
        let at = key.span().start;
        let number = number_of(&format!("polar.{}", key.get_ref()), value)?;
        stands_alone(table, key.get_ref(), at)?;
        if place == POLAR_KEYS.len() - 1 {
            (polar.empty_mass_kg, polar.ballast_kg) = (number, 0.0);
            found.setting("polar.empty_mass_kg", at);
        } else {
            set_point(polar, place, number);
            let field = if place % 2 == 0 { "speed_mps" } else { "sink_mps" };
            found.field("polar.points", place / 2 + 1, field, at);
            found.setting("polar.points", first.unwrap_or(at));
        }
        first = first.or(Some(at));
    }
    let Some(first) = first else { return Ok(&[]) };
    let points = polar.points.iter().map(|PolarPoint { speed_mps, sink_mps }| {
        format!("{{ speed_mps = {speed_mps}, sink_mps = {sink_mps} }}")
    });
    let what = format!(
        "the polar is written as in earlier versions; now write points = [{}], empty_mass_kg = {} \
         and ballast_kg",
        points.collect::<Vec<_>>().join(", "),
        polar.empty_mass_kg
    );
    found.old.push(wrong(first, &what));
    Ok(&POLAR_KEYS)
}

/// Sets a speed or a sink by its place in [`POLAR_KEYS`]. Polars of earlier versions had three
/// points, so that another number of them gives way to the default.
fn set_point(polar: &mut PolarSettings, place: usize, number: f32) {
    if polar.points.len() != 3 {
        polar.points = PolarSettings::default().points;
    }
    match (polar.points.get_mut(place / 2), place % 2) {
        (Some(point), 0) => point.speed_mps = number,
        (Some(point), _) => point.sink_mps = number,
        (None, _) => {}
    }
}

/// Refuses `key` of earlier versions beside a key of today that says the same.
fn stands_alone(table: &DeTable<'_>, key: &str, at: usize) -> Result<(), Wrong> {
    let today: &[&str] =
        if key == "mass_kg" { &["empty_mass_kg", "ballast_kg"] } else { &["points"] };
    let twice = today.iter().find(|today| table.contains_key(**today));
    twice.map_or(Ok(()), |twice| {
        let what = format!(
            "found polar.{key} of earlier versions beside polar.{twice}, expected one of them; \
             delete polar.{key}"
        );
        Err(wrong(at, &what))
    })
}

/// The fields of an entry of the climb table in earlier versions.
const CLIMB_FIELDS: [&str; 4] = ["climb_mps", "pitch_hz", "cadence_hz", "on_fraction"];

/// Takes the climb table of `table` where it gives the share of the time that sounds instead of the
/// length of a beep, and gives the key taken.
///
/// # Errors
/// An entry that lacks a number, or has something else.
fn tone(
    table: &DeTable<'_>,
    tone: &mut ToneSettings,
    found: &mut Found,
) -> Result<&'static [&'static str], Wrong> {
    let Some((key, list)) = table.get_key_value("climb") else { return Ok(&[]) };
    let is_old = |entry: &Spanned<DeValue<'_>>| {
        entry.get_ref().as_table().is_some_and(|entry| entry.contains_key("on_fraction"))
    };
    let entries = list.get_ref().as_array().filter(|entries| entries.iter().any(is_old));
    let Some(entries) = entries else { return Ok(&[]) };
    found.setting("tone.climb", key.span().start);
    tone.climb.clear();
    for (index, entry) in entries.iter().enumerate() {
        let at = entry.span().start;
        let point = climb_point(index + 1, entry, found)?;
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
            found.old.push(wrong(at, &what));
        }
    }
    Ok(&["climb"])
}

/// An entry of the climb table of earlier versions, the first having `place` 1.
fn climb_point(
    place: usize,
    entry: &Spanned<DeValue<'_>>,
    found: &mut Found,
) -> Result<ClimbPoint, Wrong> {
    let (at, list) = (entry.span().start, "tone.climb");
    let refuse = |at, what: &str| wrong(at, &format!("{list}, entry {place}: {what}"));
    let shape = format!("{{ {} }}", CLIMB_FIELDS.map(|field| format!("{field} = ..")).join(", "));
    let Some(table) = entry.get_ref().as_table() else {
        let what = format!("found {}, expected {shape}", shown(entry.get_ref()));
        return Err(refuse(at, &what));
    };
    if let Some(key) = table.keys().find(|key| !CLIMB_FIELDS.contains(&key.get_ref().as_ref())) {
        let what = format!("found {} beside on_fraction, expected {shape}", key.get_ref());
        return Err(refuse(key.span().start, &what));
    }
    let [climb_mps, pitch_hz, cadence_hz, on_fraction] = {
        let mut values = [0.0; CLIMB_FIELDS.len()];
        for (slot, field) in values.iter_mut().zip(CLIMB_FIELDS) {
            let missing = || refuse(at, &format!("{field} is missing"));
            let (key, value) = table.get_key_value(field).ok_or_else(missing)?;
            *slot = number_of(&format!("{list}, entry {place}: {field}"), value)?;
            let today = if field == "on_fraction" { "beep_ms" } else { field };
            found.field(list, place, today, key.span().start);
        }
        values
    };
    let beep_ms = 1.0e3 * on_fraction / cadence_hz;
    Ok(ClimbPoint { climb_mps, pitch_hz, cadence_hz, beep_ms })
}

/// The number that `value` is.
fn number_of(name: &str, value: &Spanned<DeValue<'_>>) -> Result<f32, Wrong> {
    number(value.get_ref()).ok_or_else(|| {
        let what = format!("{name}: found {}, expected a number", shown(value.get_ref()));
        wrong(value.span().start, &what)
    })
}
