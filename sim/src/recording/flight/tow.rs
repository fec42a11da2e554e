//! A launch behind a tug: a steady climb at tow speed that ends with the release.
//!
//! ```text
//! energy   the rate of energy height (height, without airspeed) over the 20 s after is less than
//!          that over the 20 s before, or than the tow's until then, by 0.75 of the tow's
//! speed    the mean of 4 to 14 s after is less than that of the 15 s before by 9 %; over the
//!          ground only on the same course
//! circle   300 degrees within 30 s, or 400 within 50 s, begin within 35 s; tugs turn wider
//! descent  50 m lower than the highest before, or 20 m for 40 s
//! ```
//!
//! The release is the best of the first moments with two signs; of one sign, where it is strong.
//! It is at latest where the first circle or the first descent begins. What behaves like a tow may
//! be an engine of the glider's own that the recorder does not hear. From the height alone a tow
//! that ends in a thermal goes on to its top: the release is then a guess. The figures are guesses.

use super::ended::Ended;
use super::event::{Confidence, Event};
use super::evidence::{Evidence, mean};

const AFTER_S: usize = 20;
const ENERGY_SHARE: f64 = 0.75;
const SLOWER_SHARE: f64 = 0.09;
const SAME_COURSE_RAD: f64 = 0.44;
const CIRCLE_WITHIN_S: usize = 35;
const CIRCLES: [(f64, usize); 2] = [(300.0, 30), (400.0, 50)];
const TURNING_DPS: f64 = 6.0;
const DESCENTS: [(f64, usize); 2] = [(50.0, 0), (20.0, 40)];
/// It climbs at least so high, and so fast on average.
const LEAST_M: f64 = 60.0;
const LEAST_MPS: f64 = 0.5;
const LONGEST_S: usize = 1_800;
/// After take-off no release shows for so long, s.
const NONE_BEFORE_S: usize = 15;
/// The best of the first moments is looked for so long, s.
const BEST_WITHIN_S: usize = 20;
/// One sign alone: how long there is no climb, s, as a share of the tow's.
const LULL_S: usize = 60;
const LULL_SHARE: f64 = 0.15;
const SINKS_FOR_S: usize = 40;
const SINKS_MPS: f64 = 0.3;

/// The launch from `from` on; `None` where nothing climbs.
pub(super) fn launch(evidence: &Evidence, from: usize, to: usize) -> Option<Ended> {
    let circle = first_circle(evidence, from, to);
    let descent = first_descent(evidence, from, to);
    let ends = circle.into_iter().chain(descent).min();
    let until = ends.unwrap_or(to).min(from + LONGEST_S);
    let gain_m = evidence.height_m[until] - evidence.height_m[from];
    if gain_m < LEAST_M || gain_m < LEAST_MPS * (until - from) as f64 {
        return None;
    }
    let tow = Tow { evidence, from, until, circle };
    let found = tow.release().or_else(|| ends.map(|_| tow.at_latest()));
    let is_silent = evidence.engine.is_some();
    let confidence = if is_silent { Confidence::Sure } else { Confidence::Likely };
    let why = match is_silent {
        true => "a steady climb, and the recorder's engine sensor is quiet".into(),
        false => "a steady climb; an engine of its own would look the same".into(),
    };
    let (place, release) = match found {
        Some((place, release)) => (place, Some(release)),
        None => (until, None),
    };
    Some(Ended { kind: "tow", confidence, why, place, release })
}

/// Where the first circle begins that no tug flies.
fn first_circle(evidence: &Evidence, from: usize, to: usize) -> Option<usize> {
    let course = &evidence.ground.as_ref()?.course_rad;
    let turned = |place: usize, for_s: usize| {
        (course[(place + for_s).min(to)] - course[place]).to_degrees().abs()
    };
    let circles = |place: &usize| CIRCLES.iter().any(|(deg, s)| turned(*place, *s) >= *deg);
    let place = (from..=to).find(circles)?;
    // It begins where it turns fast for the first time from there.
    (place..=to).find(|place| turned(*place, 3) >= 3.0 * TURNING_DPS)
}

/// Where it is highest before the first descent.
fn first_descent(evidence: &Evidence, from: usize, to: usize) -> Option<usize> {
    let heights = &evidence.height_m;
    let mut highest = from;
    for place in from..=to {
        if heights[place] >= heights[highest] {
            highest = place;
        }
        let lost_m = heights[highest] - heights[place];
        let descends = |(loss_m, s): &(f64, usize)| lost_m > *loss_m && place - highest >= *s;
        if DESCENTS.iter().any(descends) {
            return Some(highest);
        }
    }
    None
}

/// A tow whose release is looked for.
struct Tow<'a> {
    evidence: &'a Evidence,
    from: usize,
    /// It is over by then.
    until: usize,
    circle: Option<usize>,
}

/// The signs of a release at a place.
#[derive(Clone, Copy)]
struct Signs {
    /// How much the rate of energy after it falls short of that before it or of the whole tow's, as
    /// a share of the tow's.
    energy: f64,
    /// Fall of the rate of energy there, as a share of the tow's.
    corner: f64,
    /// Fall of the speed, as a share; `None` where it is not known.
    slower: Option<f64>,
    circles: bool,
}

impl Signs {
    fn count(&self) -> usize {
        let is_slower = self.slower.is_some_and(|share| share >= SLOWER_SHARE);
        usize::from(self.energy >= ENERGY_SHARE)
            + usize::from(is_slower)
            + usize::from(self.circles)
    }

    fn score(&self) -> f64 {
        self.corner / ENERGY_SHARE + 1.5 * self.slower.unwrap_or(0.0) / SLOWER_SHARE
    }

    fn words(&self) -> String {
        let said = [
            (self.energy >= ENERGY_SHARE, "the climb ends"),
            (self.slower.is_some_and(|share| share >= SLOWER_SHARE), "the speed falls"),
            (self.circles, "circles begin"),
        ];
        let said: Vec<&str> = said.iter().filter(|(is, _)| *is).map(|(_, word)| *word).collect();
        said.join(", ")
    }
}

impl Tow<'_> {
    /// The first release that shows.
    fn release(&self) -> Option<(usize, Event)> {
        let first = self.from + NONE_BEFORE_S;
        let last = (self.until + 5).min(self.evidence.len() - 1);
        let is_one = |place: &usize| {
            let signs = self.signs(*place);
            let changes = signs.energy >= ENERGY_SHARE
                || signs.slower.is_some_and(|share| share >= SLOWER_SHARE);
            changes && (signs.count() >= 2 || self.is_over_alone(*place, &signs))
        };
        let begin = (first..=last).find(is_one)?;
        let end = (begin + BEST_WITHIN_S).min(last);
        let score = |place: &usize| self.signs(*place).score();
        let best = (begin..=end).max_by(|a, b| score(a).total_cmp(&score(b)))?;
        let signs = self.signs(best);
        let has_loss = self.evidence.height_m[best] - self.lowest_after(best) > DESCENTS[0].0;
        let (confidence, within) = match (signs.count(), has_loss) {
            (2.., _) => (Confidence::Sure, 10),
            (_, true) if signs.slower.is_some() || self.evidence.ground.is_some() => {
                (Confidence::Likely, 20)
            }
            _ => (Confidence::Guess, 30),
        };
        let (earliest, latest) = match confidence {
            Confidence::Guess => (self.from + NONE_BEFORE_S, self.until.max(best + within)),
            _ => (best.saturating_sub(within), best + within),
        };
        Some((best, self.event(best, (earliest, latest), confidence, signs.words())))
    }

    /// Where nothing but the end of what a tow can be is known.
    fn at_latest(&self) -> (usize, Event) {
        let place = self.until;
        let (earliest, confidence, why) = match self.circle {
            Some(circle) if circle <= place => {
                (place.saturating_sub(40), Confidence::Likely, "circles begin")
            }
            _ => (self.from + NONE_BEFORE_S, Confidence::Guess, "it is highest"),
        };
        (place, self.event(place, (earliest, place + 5), confidence, why.into()))
    }

    fn event(
        &self,
        place: usize,
        (earliest, latest): (usize, usize),
        confidence: Confidence,
        why: String,
    ) -> Event {
        let coarse_s = self.evidence.interval_s.max(1.0) - 1.0;
        Event {
            at_s: self.evidence.time_s(place),
            earliest_s: self.evidence.time_s(earliest.max(self.from)) - coarse_s,
            latest_s: self.evidence.time_s(latest) + coarse_s,
            height_m: self.evidence.height_m[place],
            confidence,
            why,
        }
    }

    fn signs(&self, place: usize) -> Signs {
        let evidence = self.evidence;
        let end = evidence.len() - 1;
        let rate = |from: usize, to: usize| {
            (evidence.energy_m(to) - evidence.energy_m(from)) / (to - from).max(1) as f64
        };
        let before = place.saturating_sub(AFTER_S).max(self.from);
        let after = (place + AFTER_S).min(end);
        let tow_mps = rate(self.from, place).max(1.0);
        let is_long = after > place + AFTER_S / 2;
        let share = |before_mps: f64| {
            if is_long { (before_mps - rate(place, after)) / tow_mps } else { 0.0 }
        };
        let near = |circle: usize| circle + 5 >= place && circle <= place + CIRCLE_WITHIN_S;
        Signs {
            energy: share(tow_mps.max(rate(before, place))),
            corner: share(rate(before, place)),
            slower: self.slower(place),
            circles: self.circle.is_some_and(near),
        }
    }

    fn slower(&self, place: usize) -> Option<f64> {
        let evidence = self.evidence;
        let before = place.saturating_sub(15).max(self.from);
        let (first, last) = (place + 4, place + 14);
        if last >= evidence.len() {
            return None;
        }
        let fall = |speeds: &[f64]| 1.0 - mean(speeds, first, last) / mean(speeds, before, place);
        match (&evidence.air_mps, &evidence.ground) {
            (Some(speeds), _) => Some(fall(speeds)),
            (None, Some(ground)) => {
                let course = |from, to| mean(&ground.course_rad, from, to);
                let turns = (course(first, last) - course(before, place)).abs();
                (turns < SAME_COURSE_RAD).then(|| fall(&ground.speed_mps))
            }
            (None, None) => None,
        }
    }

    /// Whether the climb is over for so long that no lull explains it.
    fn is_over_alone(&self, place: usize, signs: &Signs) -> bool {
        let evidence = self.evidence;
        let gain = |for_s: usize| {
            let to = (place + for_s).min(evidence.len() - 1);
            (evidence.energy_m(to) - evidence.energy_m(place)) / (to - place).max(1) as f64
        };
        let tow_mps = evidence.climb_mps(self.from, place).max(1.0);
        if signs.energy < ENERGY_SHARE {
            return false;
        }
        match signs.slower {
            None => gain(LULL_S) < LULL_SHARE * tow_mps,
            Some(_) => gain(SINKS_FOR_S) < -SINKS_MPS,
        }
    }

    fn lowest_after(&self, place: usize) -> f64 {
        let until = (place + 2 * LULL_S).min(self.evidence.len() - 1);
        self.evidence.height_m[place..=until].iter().fold(f64::MAX, |low, height| low.min(*height))
    }
}
