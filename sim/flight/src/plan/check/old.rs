//! Scenarios in the format of earlier versions: refused, with the new way to write them.

use super::page::Page;
use crate::plan::Wrong;
use toml::de::DeTable;

/// The old keys of the three points.
const POINTS: [[&str; 2]; 3] =
    [["speed_1_mps", "sink_1_mps"], ["speed_2_mps", "sink_2_mps"], ["speed_3_mps", "sink_3_mps"]];

impl Page<'_> {
    /// Refuses the formats of earlier versions.
    pub(super) fn is_of_today(&self) -> Result<(), Wrong> {
        // The reader itself reports what cannot be parsed.
        let Ok(document) = DeTable::parse(self.text) else { return Ok(()) };
        let glider = document.get_ref().get("glider").and_then(|table| table.get_ref().as_table());
        let Some(glider) = glider else { return Ok(()) };
        let old = |key: &str| glider.iter().find(|(written, _)| written.get_ref() == key);
        let Some((key, _)) = POINTS.as_flattened().iter().find_map(|key| old(key)) else {
            return Ok(());
        };
        // The numbers exactly as in the file, so that the line can be pasted there.
        let value = |key: &str| {
            let span = old(key).map(|(_, value)| value.span());
            span.and_then(|span| self.text.get(span)).unwrap_or("..")
        };
        let points = POINTS.map(|[speed, sink]| {
            format!("{{ speed_mps = {}, sink_mps = {} }}", value(speed), value(sink))
        });
        Err(self.at(
            key.span().start,
            &format!(
                "glider.{} is of an earlier version; now write points = [{}]",
                key.get_ref(),
                points.join(", ")
            ),
        ))
    }
}
