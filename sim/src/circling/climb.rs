//! All that is said of how a climb was centred.

use super::by_height;
use super::circles::Circles;
use super::figure::Said;
use super::gyro;
use super::path::Path;
use super::stretch;
use crate::recording::Recording;
use crate::recording::track::Track;
use crate::time::LocalClock;
use serde::Serialize;

/// A shorter climb has no three turns, s.
const SHORTEST_S: usize = 30;

/// What the circles of a climb are known from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum KnownFrom {
    /// Positions over the ground: everything.
    Positions,
    /// The turn rate of an inertial sensor: turns, but no directions and no distances.
    TurnRate,
    /// The height alone: no circles.
    Height,
}

/// How a climb was centred, in the shape of its JSON.
#[derive(Clone, Debug, Serialize)]
pub struct ClimbCentring {
    /// Its number among the climbs that were given, the first being 1.
    #[serde(skip)]
    pub number: usize,
    /// Where the climb begins, s of the trace.
    pub from_s: f64,
    /// Where it ends.
    pub to_s: f64,
    /// Height gained, m: pressure altitude, without kinetic energy.
    pub gain_m: f64,
    /// Mean climb, m/s.
    pub mean_climb_mps: f64,
    /// Seconds to the first 40 s whose mean climb is at least 90 % of the best.
    pub to_90_percent_s: Said,
    /// What the circles are known from.
    pub known_from: KnownFrom,
    /// The circles, or why there are none.
    pub circles: Found,
    /// What the clock shows.
    #[serde(skip)]
    pub clock: LocalClock,
    /// The climb each second, for the picture.
    #[serde(skip)]
    pub(super) path: Path,
}

/// Circles, or why there are none.
#[derive(Clone, Debug, Serialize)]
#[serde(untagged)]
pub enum Found {
    /// The circles.
    Circles(Box<Circles>),
    /// None.
    None {
        /// Why, in words that read well after "circles:".
        absent: &'static str,
    },
}

impl ClimbCentring {
    /// Analyses the climb `number` from one time to another of a recording, whose heights are
    /// `track`; `None` where it has no two samples.
    pub fn of(
        recording: &Recording,
        track: &Track,
        (number, range_s): (usize, (f64, f64)),
    ) -> Option<Self> {
        let path = Path::of(recording, track, range_s)?;
        let (known_from, circles) = circles(&path, recording, track, range_s);
        let (first, last) = (path.height_m[0], path.height_m[path.len() - 1]);
        let lasts_s = (path.len() - 1).max(1) as f64;
        Some(Self {
            number,
            from_s: path.start_s,
            to_s: path.time_s(path.len() - 1),
            gain_m: last - first,
            mean_climb_mps: (last - first) / lasts_s,
            to_90_percent_s: by_height::to_90_percent_s(&path.energy_m),
            known_from,
            circles: circles.map_or_else(
                |absent| Found::None { absent },
                |circles| Found::Circles(Box::new(circles)),
            ),
            clock: recording.clock(),
            path,
        })
    }

    /// Why there is no picture of it, in words that read well after "climb 3:".
    pub fn why_no_picture(&self) -> &'static str {
        match (&self.circles, self.known_from) {
            (Found::None { absent }, _) => absent,
            (_, KnownFrom::Positions) => "no core shows clearly enough to draw it",
            _ => "it has no positions",
        }
    }

    /// The circles, where there are any.
    pub fn circles(&self) -> Option<&Circles> {
        match &self.circles {
            Found::Circles(circles) => Some(circles),
            Found::None { .. } => None,
        }
    }
}

/// The circles of a climb and what they are known from, or why there are none.
fn circles(
    path: &Path,
    recording: &Recording,
    track: &Track,
    (from_s, to_s): (f64, f64),
) -> (KnownFrom, Result<Circles, &'static str>) {
    const NO_CIRCLES: &str = "no circling of three turns or more";
    const CONTRADICTS: &str = "the positions give another airspeed than was recorded";
    let short = if path.len() < SHORTEST_S { Err("the climb is too short") } else { Ok(()) };
    if !path.ground.is_empty() {
        let directions: Vec<Option<f64>> =
            path.ground.iter().map(|at| at.map(|[_, v]| v[0].atan2(v[1]))).collect();
        let found = Circles::of_positions(path, &stretch::all(&directions)).ok_or(NO_CIRCLES);
        let found = found.and_then(|circles| match circles.contradicts_airspeed() {
            true => Err(CONTRADICTS),
            false => Ok(circles),
        });
        return (KnownFrom::Positions, short.and(found));
    }
    let from = track.times_s.partition_point(|time| *time < from_s);
    let to = track.times_s.partition_point(|time| *time <= to_s);
    let headings = gyro::headings(recording, from..to, (path.start_s, path.len()));
    if !headings.is_empty() {
        let stretches = stretch::all(&headings);
        let found = Circles::of_gyro(path, &stretches, &headings).ok_or(NO_CIRCLES);
        return (KnownFrom::TurnRate, short.and(found));
    }
    let why = match path.is_rare {
        true => "positions come more rarely than every 3 s",
        false => "the trace has no positions",
    };
    (KnownFrom::Height, Err(why))
}
