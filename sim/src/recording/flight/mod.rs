//! When a recording leaves the ground, how, when it is released and when it is back, what it climbs
//! after that, and what of it a badge could rest on.
//!
//! | module | what it finds |
//! |---|---|
//! | `evidence` | height, speed, course and engine on a grid of a second |
//! | `ground` | stays in the air between stretches on the ground |
//! | `ends` | take-off and landing |
//! | `launch` | the kind of launch: `winch`, `tow`, `engine` |
//! | `climbs` | climbs after the release, glides between |
//! | `badge` | duration, gain and loss of height |
//! | `doubts` | why nothing is said of them: `flown`, `gaps`, `stands` |
//!
//! Every moment has its confidence in a word, the time within which it is known, and what it was
//! read from. What is not known is absent.

mod badge;
mod climbs;
mod doubts;
mod ended;
mod ends;
mod engine;
mod event;
mod evidence;
mod flown;
mod free;
mod gaps;
mod ground;
mod known;
mod launch;
mod stands;
mod tow;
mod winch;

pub use badge::{Badges, Gain};
pub use climbs::{Climb, Glide};
pub use event::{Confidence, Event};
pub use launch::Launch;

use super::Recording;
use super::track::Track;
use evidence::{Evidence, extremes};
use ground::Stay;
use serde::Serialize;

/// The longest flight of a recording.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Flight {
    /// Time of take-off; absent where the recording begins in the air or never leaves the ground.
    pub take_off_s: Option<f64>,
    /// Time of release, or of the end of a launch with an engine; absent where it is not known.
    pub release_s: Option<f64>,
    /// Time of landing; absent where the recording ends in the air or never leaves the ground.
    pub landing_s: Option<f64>,
    /// How the recording begins: `on the ground`, `in the air`, or `never flies`.
    pub begins: &'static str,
    /// Take-off, with its confidence.
    pub take_off: Option<Event>,
    /// Release, with its confidence.
    pub release: Option<Event>,
    /// Landing, with its confidence.
    pub landing: Option<Event>,
    /// The launch, where there is one.
    pub launch: Option<Launch>,
    /// Lowest pressure height of the recording, m.
    pub lowest_m: f64,
    /// Highest pressure height of the recording, m.
    pub highest_m: f64,
    /// Most pressure height gained from a low point to a later high point after the launch, m.
    pub best_gain_m: f64,
    /// The climbs after the release, in plain height.
    pub climbs: Vec<Climb>,
    /// The glides between them.
    pub glides: Vec<Glide>,
    /// What a badge could rest on.
    pub badges: Badges,
    /// Shorter flights of the same recording.
    pub others: Vec<Other>,
}

/// A shorter flight of the same recording.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Other {
    /// Time of take-off; absent where the recording begins in the air.
    pub take_off_s: Option<f64>,
    /// Time of landing; absent where the recording ends in the air.
    pub landing_s: Option<f64>,
    /// Kind of launch.
    pub launch: Option<&'static str>,
}

impl Flight {
    /// Reads the flight of `recording` from its `track` and its positions.
    pub fn of(recording: &Recording, track: &Track) -> Self {
        let evidence = Evidence::of(recording, track);
        let stays = ground::stays(&evidence);
        // The longest of those that no car can be.
        let weight = |stay: &&Stay| {
            let flown = flown::of(&evidence, stay.from, stay.to);
            (flown == flown::Flown::Surely, stay.to - stay.from)
        };
        let Some(longest) = stays.iter().max_by_key(weight) else {
            return Self::none(&evidence);
        };
        let others = stays.iter().filter(|stay| *stay != longest);
        let others = others.map(|stay| Other::of(&evidence, stay)).collect();
        Self { others, ..Self::of_stay(&evidence, longest) }
    }

    fn of_stay(evidence: &Evidence, stay: &Stay) -> Self {
        let (take_off, landing) = (ends::take_off(evidence, stay), ends::landing(evidence, stay));
        let begin = take_off.as_ref().map_or(stay.from, |(place, _)| *place);
        let end = landing.as_ref().map_or(stay.to, |(place, _)| *place).max(begin);
        let (take_off, landing) = (take_off.map(|found| found.1), landing.map(|found| found.1));
        let launched = take_off.as_ref().and_then(|_| launch::of(evidence, begin, end));
        let after = launched.as_ref().map_or(begin, |(_, ended)| ended.place);
        let (launch, mut release) =
            launched.map_or((None, None), |(launch, ended)| (Some(launch), ended.release));
        let (climbs, glides) = climbs::of(evidence, after, end);
        let (lowest_m, highest_m) = extremes(&evidence.height_m);
        let free = free::of(evidence, launch.as_ref(), release.as_mut(), (after, end));
        let known = known::Known {
            evidence,
            take_off: take_off.as_ref(),
            release: release.as_ref(),
            landing: landing.as_ref(),
            begin,
            free,
        };
        Self {
            take_off_s: take_off.as_ref().map(|event| event.at_s),
            release_s: release.as_ref().map(|event| event.at_s),
            landing_s: landing.as_ref().map(|event| event.at_s),
            begins: if take_off.is_some() { "on the ground" } else { "in the air" },
            lowest_m,
            highest_m,
            best_gain_m: badge::gain(evidence, after, end).map_or(0.0, |gain| gain.gain_m),
            badges: Badges::of(&known, after, end),
            climbs,
            glides,
            take_off,
            release,
            landing,
            launch,
            others: Vec::new(),
        }
    }

    fn none(evidence: &Evidence) -> Self {
        let (lowest_m, highest_m) = extremes(&evidence.height_m);
        let last = evidence.len() - 1;
        Self {
            take_off_s: None,
            release_s: None,
            landing_s: None,
            begins: "never flies",
            take_off: None,
            release: None,
            landing: None,
            launch: None,
            lowest_m,
            highest_m,
            best_gain_m: badge::gain(evidence, 0, last).map_or(0.0, |gain| gain.gain_m),
            climbs: Vec::new(),
            glides: Vec::new(),
            badges: Badges::default(),
            others: Vec::new(),
        }
    }
}

impl Other {
    fn of(evidence: &Evidence, stay: &Stay) -> Self {
        let flight = Flight::of_stay(evidence, stay);
        Self {
            take_off_s: flight.take_off_s,
            landing_s: flight.landing_s,
            launch: flight.launch.map(|launch| launch.kind),
        }
    }
}

#[cfg(test)]
mod tests;
