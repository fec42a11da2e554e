//! What an instrument makes of the samples: its reading, and the climb sounds that are heard.

use super::flown::Flown;
use crate::ears::Ears;
use crate::replay::{Replay, Stretch};
use crate::response::with::With;
use chirrup_core::{Meaning, Pipeline, Reading};
use std::convert::Infallible;

/// The reading and the sounds of a flight.
#[derive(Clone, Debug, Default)]
pub struct Heard {
    /// The reading at each sample, m/s; `None` where there is none.
    pub reading_mps: Vec<Option<f64>>,
    /// From when to when climb sounded, in s. A sound of which no beep was heard is left out.
    pub climbs_s: Vec<(f64, f64)>,
}

/// Runs a flight's samples and the sound between them, every tick of it, through an instrument that
/// has these sensors.
pub fn hear(pipeline: &Pipeline, flown: &Flown, with: With) -> Heard {
    let mut replay = Replay::new(Ears { left: pipeline.clone(), right: None });
    let mut heard = Heard::default();
    let (mut began_s, mut beeped) = (None, false);
    for (line, (sample, time_s)) in flown.samples.iter().zip(&flown.times_s).enumerate() {
        let mut listen = |stretch: Stretch<'_>| {
            if let Stretch::Voices(voices) = stretch {
                beeped |= voices
                    .iter()
                    .any(|voice| voice.left.gate && voice.left.meaning == Meaning::Climb);
            }
            Ok::<(), Infallible>(())
        };
        let Ok(row) = replay.feed(line as u64, &with.sees(sample), &mut listen);
        let reading = row.readings.left;
        heard.reading_mps.push(reading.values.map(|values| f64::from(values.sounded().0)));
        let is_climb = sounds_climb(&reading);
        match (began_s, is_climb) {
            (None, true) => (began_s, beeped) = (Some(*time_s), false),
            (Some(from_s), false) => {
                began_s = None;
                if beeped {
                    heard.climbs_s.push((from_s, *time_s));
                }
            }
            _ => {}
        }
    }
    heard.climbs_s.extend(began_s.zip(flown.times_s.last().copied()));
    heard
}

fn sounds_climb(reading: &Reading) -> bool {
    reading.values.is_some_and(|values| values.sound.meaning() == Meaning::Climb)
}
