//! A piece of a circling stretch in the frame of the air: places, headings, whole turns.

use super::path::Path;
use super::stretch::Stretch;
use super::wind::Wind;
use std::f64::consts::TAU;
use std::ops::Range;

/// A stretch is cut into pieces that are at most so long: wind and core change with height.
const LONGEST_S: usize = 240;
/// Points of a turn over which its middle is the mean.
const POINTS: u32 = 60;

/// A piece of a stretch, a value each second.
#[derive(Clone, Debug)]
pub struct Piece {
    /// Its seconds of the path.
    pub(super) seconds: Range<usize>,
    pub(super) wind: Wind,
    /// 1 where it turns right, -1 left.
    pub(super) sense: f64,
    /// Where the glider is in the air, m east and north; the air is where it is in the middle
    /// second.
    pub(super) places_m: Vec<[f64; 2]>,
    /// Heading through the air, rad from north over east, without jumps.
    pub(super) headings_rad: Vec<f64>,
    /// Whole turns from its first second on.
    pub(super) turns: Vec<Turn>,
}

/// A whole turn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Turn {
    /// Seconds after the piece's first.
    pub from: f64,
    /// And its end.
    pub to: f64,
    /// Its middle in the air, m.
    pub middle_m: [f64; 2],
}

impl Turn {
    /// Its length, s.
    pub fn lasts_s(&self) -> f64 {
        self.to - self.from
    }

    /// The second in its middle.
    pub fn middle_s(&self) -> f64 {
        0.5 * (self.from + self.to)
    }
}

/// The pieces of a stretch; those without wind or whole turns are left out.
pub(super) fn pieces(path: &Path, stretch: &Stretch) -> Vec<Piece> {
    let Range { start, end } = stretch.seconds;
    let count = (end - start).div_ceil(LONGEST_S).max(1);
    let border = |place: usize| start + (end - start) * place / count;
    let piece = |place| Piece::of(path, border(place)..border(place + 1), stretch.sense());
    (0..count).filter_map(piece).collect()
}

impl Piece {
    fn of(path: &Path, seconds: Range<usize>, sense: f64) -> Option<Self> {
        let ground: Vec<[[f64; 2]; 2]> =
            path.ground.get(seconds.clone())?.iter().copied().collect::<Option<_>>()?;
        // The wind of whole turns over the ground; a part of one leans to its side.
        let over_ground: Vec<f64> = directions(ground.iter().map(|[_, velocity]| *velocity));
        let whole = whole_turns(&over_ground, sense);
        let last = (*whole.last()? as usize + 1).min(ground.len());
        let velocities: Vec<[f64; 2]> = ground[..last].iter().map(|[_, v]| *v).collect();
        let wind = Wind::of(&velocities)?;
        let [east, north] = wind.to_mps;
        let middle_s = 0.5 * ground.len() as f64;
        let in_air = |(second, [place, _]): (usize, &[[f64; 2]; 2])| {
            let drifted_s = second as f64 - middle_s;
            [place[0] - east * drifted_s, place[1] - north * drifted_s]
        };
        let places_m: Vec<[f64; 2]> = ground.iter().enumerate().map(in_air).collect();
        let headings_rad = directions(
            ground.iter().map(|[_, velocity]| [velocity[0] - east, velocity[1] - north]),
        );
        let mut piece = Self { seconds, wind, sense, places_m, headings_rad, turns: Vec::new() };
        let borders = whole_turns(&piece.headings_rad, sense);
        piece.turns = borders.windows(2).map(|two| piece.turn(two[0], two[1])).collect();
        (!piece.turns.is_empty()).then_some(piece)
    }

    /// The place at a moment, seconds after the first.
    pub fn place_m(&self, at: f64) -> [f64; 2] {
        let last = self.places_m.len() - 1;
        let (before, share) = ((at.max(0.0) as usize).min(last), at.max(0.0).fract());
        let after = (before + 1).min(last);
        let mean = |axis: usize| {
            let [one, other] = [before, after].map(|place| self.places_m[place][axis]);
            one + share * (other - one)
        };
        [mean(0), mean(1)]
    }

    /// The turn from a moment to another.
    fn turn(&self, from: f64, to: f64) -> Turn {
        let mut middle_m = [0.0; 2];
        for point in 0..POINTS {
            let share = (f64::from(point) + 0.5) / f64::from(POINTS);
            let place = self.place_m(from + share * (to - from));
            middle_m[0] += place[0] / f64::from(POINTS);
            middle_m[1] += place[1] / f64::from(POINTS);
        }
        Turn { from, to, middle_m }
    }

    /// The turns that end at each second, where a whole one does.
    pub(super) fn sliding(&self) -> impl Iterator<Item = Turn> {
        let turned = turned(&self.headings_rad, self.sense);
        (1..turned.len()).filter_map(move |second| {
            let from = moment_of(&turned, turned[second] - TAU)?;
            Some(self.turn(from, second as f64))
        })
    }

    /// Radius of the usual turn, m.
    pub fn radius_m(&self) -> f64 {
        self.wind.airspeed_mps * self.period_s() / TAU
    }

    /// Length of the usual turn, s: the median.
    pub fn period_s(&self) -> f64 {
        let mut lengths: Vec<f64> = self.turns.iter().map(Turn::lasts_s).collect();
        lengths.sort_by(f64::total_cmp);
        lengths[lengths.len() / 2]
    }
}

/// Directions of velocities, rad from north over east, without jumps.
pub(super) fn directions(velocities: impl Iterator<Item = [f64; 2]>) -> Vec<f64> {
    let mut last = None;
    let unwrapped = velocities.map(|[east, north]| {
        let direction = east.atan2(north);
        let near = last.unwrap_or(direction);
        let direction = direction - TAU * ((direction - near) / TAU).round();
        last = Some(direction);
        direction
    });
    unwrapped.collect()
}

/// How far it has turned since the first second, never back.
fn turned(headings_rad: &[f64], sense: f64) -> Vec<f64> {
    let first = headings_rad.first().copied().unwrap_or(0.0);
    let mut most = 0.0_f64;
    let turned = headings_rad.iter().map(|heading| {
        most = most.max(sense * (heading - first));
        most
    });
    turned.collect()
}

/// The moment at which it has turned so far.
fn moment_of(turned: &[f64], angle: f64) -> Option<f64> {
    if angle < 0.0 {
        return None;
    }
    let after = turned.partition_point(|turned| *turned < angle);
    let (to, from) = (*turned.get(after)?, turned[after.saturating_sub(1)]);
    let share = if to > from { (angle - from) / (to - from) } else { 1.0 };
    Some(after.saturating_sub(1) as f64 + share * (after.min(1)) as f64)
}

/// The moments at which whole turns begin and end.
pub(super) fn whole_turns(headings_rad: &[f64], sense: f64) -> Vec<f64> {
    let turned = turned(headings_rad, sense);
    (0..).map_while(|turn| moment_of(&turned, TAU * f64::from(turn))).collect()
}
