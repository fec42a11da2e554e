//! The law for people: 100 columns at most.

use super::law::{Law, LawRow};
use crate::text_table::{Column, Table};
use std::fmt::{self, Display, Formatter};

/// Of the rows every fifth is printed: each half of a metre per second.
const PRINTED: usize = 5;

impl Display for Law {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        writeln!(f, "Settings  {}: {}", self.name, self.what())?;
        writeln!(f, "{}\n", self.meaning())?;
        let mut table = Table::new([
            Column::right("m/s").wide(5),
            Column::left("sound").gap(2).wide(12),
            Column::right("pitch\nHz").gap(1).wide(9),
            Column::right("beeps\na second").gap(1),
            Column::right("beep\nms").gap(1).wide(6),
            Column::right("level\ndB").gap(1).wide(6),
            Column::right("loudness\nsone").gap(2),
            Column::right("above\nnoise, dB").gap(2),
            Column::right("quiet").gap(2),
            Column::right("in noise").gap(2),
        ])
        .group(8, "steps in 0.1 m/s");
        let every = if self.rows.len() == 1 { 1 } else { PRINTED };
        self.rows.iter().step_by(every).for_each(|row| table.row(cells(row)));
        write!(f, "{table}")
    }
}

impl Law {
    /// The settings that matter for the sound, in a line.
    pub(super) fn what(&self) -> String {
        let tone = &self.settings.tone;
        let even = if tone.even_loudness { "evened to the ear" } else { "not evened" };
        let timbre = tone.timbre.name();
        let speaker = tone.speaker.name();
        format!("{timbre} timbre, {even}, volume {}, {speaker} speaker", tone.volume)
    }

    /// What the values are and where the silence lies.
    pub(super) fn meaning(&self) -> String {
        use chirrup_core::SoundMode;
        let tone = &self.settings.tone;
        match tone.mode {
            SoundMode::Climb => format!(
                "Climb     beeps from {:+} m/s, a steady tone from {:+} m/s, silence between",
                tone.climb_from_mps, tone.sink_from_mps
            ),
            SoundMode::Netto => {
                format!(
                    "Netto     pairs of notes beyond {} m/s, rising where the air rises",
                    tone.netto_band_mps
                )
            }
            SoundMode::Speed => format!(
                "Speed     pairs of notes beyond {} m/s too fast (+) or too slow (-), rising \
                 where more is wanted",
                tone.speed_band_mps
            ),
        }
    }
}

/// A row of the table.
fn cells(row: &LawRow) -> [String; 10] {
    let field = |value: Option<f64>, decimals: usize| {
        value.map_or("-".to_owned(), |value| format!("{value:.decimals$}"))
    };
    let pitch = match row.second_hz {
        Some(second) => format!("{}-{second:.0}", field(row.pitch_hz, 0)),
        None => field(row.pitch_hz, 0),
    };
    [
        format!("{:+.1}", row.value_mps),
        row.sound.replace('_', " "),
        pitch,
        field(row.cadence_hz, 2),
        field(row.beep_s.map(|seconds| seconds * 1e3), 0),
        field(row.level_db, 1),
        field(row.loudness_sone, 1),
        field(row.above_noise_db, 1),
        field(row.steps, 1),
        field(row.steps_in_noise, 1),
    ]
}
