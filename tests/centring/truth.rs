//! How a made climb was, from the model's own field.

use super::made::Made;
use chirrup_flight::centring::Seen;
use chirrup_flight::centring::thermal::Thermal;
use std::f64::consts::TAU;

/// Steps a second.
const RATE: f64 = 50.0;
/// Middles tried for the best circle: so far apart, up to so many of that on each side of the
/// thermal's middle, then of the best so far.
const TRIED: [(f64, i32); 2] = [(10.0, 20), (1.0, 10)];
const POINTS: u32 = 24;
/// Who is no further off is centred, m.
const CENTRED_M: f64 = 25.0;

/// The truth about a climb.
#[derive(Clone, Debug)]
pub struct Truth {
    /// Distance of the turns' middles from the best circle's, m: the median.
    pub off_m: f64,
    /// Climb lost by that, m/s: the mean.
    pub lost_mps: f64,
    /// Seconds to the first whole turn that is centred.
    pub centred_after_s: Option<f64>,
    /// Middles of turns, and the middle of the best circle at that time, m; from and to, s.
    pub turns: Vec<TrueTurn>,
}

/// A whole turn as it was.
#[derive(Clone, Copy, Debug)]
pub struct TrueTurn {
    /// Its time, s.
    pub from_s: f64,
    /// To, s.
    pub to_s: f64,
    /// From its middle to the best circle's, m east and north.
    pub to_best_m: [f64; 2],
}

impl Truth {
    /// The truth about a climb.
    pub fn of(made: &Made) -> Self {
        let turned = turned(&made.seen);
        let whole: Vec<usize> = (0..)
            .map_while(|turn| {
                let step = turned.partition_point(|angle| *angle < TAU * f64::from(turn));
                (step < turned.len()).then_some(step)
            })
            .collect();
        let turns = whole.len() as f64 - 1.0;
        let period_s = (whole[whole.len() - 1] - whole[0]) as f64 / RATE / turns;
        let circle_m = 25.0 * period_s / TAU;
        let best = best_middle(&made.thermal, circle_m);
        let turn = |from: usize, to: usize| TrueTurn {
            from_s: from as f64 / RATE,
            to_s: to as f64 / RATE,
            to_best_m: to_best(&made.seen[from..to], best),
        };
        let turns: Vec<TrueTurn> = whole.windows(2).map(|two| turn(two[0], two[1])).collect();
        let lost = |turn: &TrueTurn| {
            let [east, north] = turn.to_best_m;
            let off = [best[0] - east, best[1] - north];
            mean_round(&made.thermal, best, circle_m) - mean_round(&made.thermal, off, circle_m)
        };
        // A whole turn may begin at any moment.
        let centred = (0..made.seen.len()).step_by(10).find(|from| {
            let to = turned.partition_point(|angle| *angle < turned[*from] + TAU);
            to < turned.len() && turn(*from, to).off_m() <= CENTRED_M
        });
        let mut off: Vec<f64> = turns.iter().map(TrueTurn::off_m).collect();
        off.sort_by(f64::total_cmp);
        Self {
            off_m: 0.5 * (off[(off.len() - 1) / 2] + off[off.len() / 2]),
            lost_mps: turns.iter().map(lost).sum::<f64>() / turns.len() as f64,
            centred_after_s: centred.map(|step| step as f64 / RATE),
            turns,
        }
    }
}

impl TrueTurn {
    /// Distance from the best circle's middle, m.
    pub fn off_m(&self) -> f64 {
        self.to_best_m[0].hypot(self.to_best_m[1])
    }

    /// Direction of the best circle's middle, degrees from north.
    pub fn bearing_deg(&self) -> f64 {
        self.to_best_m[0].atan2(self.to_best_m[1]).to_degrees()
    }
}

/// How far the glider has turned to the right at each step, rad, never back.
fn turned(seen: &[Seen]) -> Vec<f64> {
    let (mut heading, mut total, mut most) = (None, 0.0, 0.0_f64);
    let mut all: Vec<f64> = seen
        .windows(2)
        .map(|two| {
            let east = two[1].place_m.0 - two[0].place_m.0;
            let now = east.atan2(two[1].place_m.1 - two[0].place_m.1);
            let change = now - heading.unwrap_or(now);
            total += change - TAU * (change / TAU).round();
            heading = Some(now);
            most = most.max(total);
            most
        })
        .collect();
    all.push(most);
    all
}

/// From the middle of a turn to the middle of the best circle, which moves with the thermal.
fn to_best(turn: &[Seen], best: [f64; 2]) -> [f64; 2] {
    let count = turn.len() as f64;
    let mean = |of: fn(&Seen) -> f64| turn.iter().map(of).sum::<f64>() / count;
    [
        best[0] - mean(|seen| seen.place_m.0 - seen.middle_m.0),
        best[1] - mean(|seen| seen.place_m.1 - seen.middle_m.1),
    ]
}

/// The middle of the best circle of a size, m from the thermal's, by trying them all.
fn best_middle(thermal: &Thermal, circle_m: f64) -> [f64; 2] {
    let mut best = (f64::MIN, [0.0; 2]);
    for (apart_m, reach) in TRIED {
        let about = best.1;
        for (east, north) in (-reach..=reach).flat_map(|e| (-reach..=reach).map(move |n| (e, n))) {
            let middle =
                [about[0] + f64::from(east) * apart_m, about[1] + f64::from(north) * apart_m];
            let mean = mean_round(thermal, middle, circle_m);
            if mean > best.0 {
                best = (mean, middle);
            }
        }
    }
    best.1
}

fn mean_round(thermal: &Thermal, middle: [f64; 2], circle_m: f64) -> f64 {
    let rise = |point: u32| {
        let (sine, cosine) = (TAU * f64::from(point) / f64::from(POINTS)).sin_cos();
        thermal.rise(middle[0] + circle_m * sine, middle[1] + circle_m * cosine)
    };
    (0..POINTS).map(rise).sum::<f64>() / f64::from(POINTS)
}
