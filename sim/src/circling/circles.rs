//! The circles of a climb in figures.

use super::air::{self, Piece};
use super::centre::{self, CENTRED_M, Core, FAR_M, Off};
use super::figure::Said;
use super::path::Path;
use super::stretch::Stretch;
use super::turns::{self, TurnFigures};
use crate::technique::{Pairs, Technique};
use serde::Serialize;

/// Errors measured on made thermals (`tests/centring`): of the wind, m/s; of the airspeed, a share;
/// of the direction of the better side, degrees; of the time to centred, s.
const WIND_MPS: f64 = 0.4;
const AIRSPEED: f64 = 0.02;
const SIDE_DEG: f64 = 22.0;
const CENTRED_S: f64 = 10.0;
/// Less is no loss: where the circle is as wide as the core, its middle is not the best place, m/s.
const NO_LOSS_MPS: f64 = 0.02;
/// A turn is as long as the heading says, within this, s; by a gyro, with its bias and its gain,
/// within this share (`tests/centring/gyro`).
const PERIOD_S: f64 = 0.5;
const PERIOD_BY_GYRO: f64 = 0.05;

/// Where the circles' airspeed is further from the recorded one, as a share, the positions or that
/// are wrong: latitude and longitude in each other's place make a quarter in the middle of Europe.
const CONTRADICTS: f64 = 0.15;

const NO_POSITIONS: Said = Said::absent("no positions");
const NO_CORE: Said = Said::absent("no core shows clearly enough");
const EVEN: Said = Said::absent("the climb does not show where the middle of the lift is");
const CENTRED: Said = Said::absent("centred already");

/// Which way it circles.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Way {
    /// To the left.
    Left,
    /// To the right.
    Right,
    /// Some turns each way.
    Both,
}

/// The wind during the circles.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct WindFigures {
    /// Where it comes from, degrees from north; by chance where it hardly blows.
    pub from_deg: f64,
    /// Its speed, m/s.
    pub speed_mps: Said,
}

impl WindFigures {
    /// Whether it blows by more than twice the error of its speed: else its direction is by chance.
    pub fn has_direction(&self) -> bool {
        matches!(self.speed_mps, Said::Known { value, error, .. } if value > 2.0 * error)
    }
}

/// The circles of a climb in figures.
#[derive(Clone, Debug, Serialize)]
pub struct Circles {
    /// Where the first begins, s of the trace.
    pub from_s: f64,
    /// Where the last ends.
    pub to_s: f64,
    /// Which way.
    pub way: Way,
    /// Seconds a turn, the median.
    pub period_s: Said,
    /// The wind; only with positions.
    pub wind: Option<WindFigures>,
    /// True airspeed from the ground speeds round the circles, m/s.
    pub airspeed_mps: Said,
    /// The same as a ratio to the recorded airspeed.
    pub airspeed_ratio: Said,
    /// Distance of the circles' middles from the core's, m: the median over the turns.
    pub off_centre_m: Said,
    /// Climb lost by that, m/s: the mean over the turns.
    pub lost_mps: Said,
    /// Seconds from the first circle to the first whole turn within 25 m.
    pub centred_after_s: Said,
    /// Direction in which the climb was better over all turns, degrees from north.
    pub better_side_deg: Said,
    /// Flattened or tightened while it improved; absent for fewer than three turns.
    pub technique: Option<Technique>,
    /// The turns.
    pub turns: Vec<TurnFigures>,
    /// The pieces in the air's frame, with their cores.
    #[serde(skip)]
    pub(super) pieces: Vec<(Piece, Option<Core>)>,
}

impl Circles {
    /// From positions; `None` where no stretch has a whole turn.
    pub(super) fn of_positions(path: &Path, stretches: &[Stretch]) -> Option<Self> {
        let pieces = stretches.iter().flat_map(|stretch| air::pieces(path, stretch));
        let mut pieces: Vec<(Piece, Option<Core>)> = pieces
            .map(|piece| {
                let core = Core::of(&piece, &path.energy_m);
                (piece, core)
            })
            .collect();
        let nothing = without_even(&mut pieces);
        let (mut turns, mut pairs) = (Vec::new(), Pairs::default());
        for (piece, core) in &pieces {
            turns.extend(turns::of_piece(path, piece, core.as_ref()));
            let energy_m = &path.energy_m[piece.seconds.clone()];
            pairs.take(&piece.headings_rad, energy_m, piece.sense);
        }
        let mut circles = Self::of_turns(path, stretches, turns, &pairs)?;
        (circles.wind, circles.airspeed_mps, circles.airspeed_ratio) = wind(path, &pieces)?;
        circles.centred_after_s = centred_after(path, circles.from_s, &pieces, nothing);
        let cores: Vec<Core> = pieces.iter().filter_map(|(_, core)| core.clone()).collect();
        (circles.off_centre_m, circles.lost_mps) = off(&cores, nothing);
        circles.better_side_deg = better_side(&circles);
        circles.pieces = pieces;
        Some(circles)
    }

    /// Whether the positions give another airspeed than was recorded.
    pub(super) fn contradicts_airspeed(&self) -> bool {
        self.airspeed_ratio.value().is_some_and(|ratio| (ratio - 1.0).abs() > CONTRADICTS)
    }

    /// From the relative headings of a gyro, one each second of the path.
    pub(super) fn of_gyro(
        path: &Path,
        stretches: &[Stretch],
        headings: &[Option<f64>],
    ) -> Option<Self> {
        let (mut turns, mut pairs) = (Vec::new(), Pairs::default());
        for stretch in stretches {
            let known = headings[stretch.seconds.clone()].iter().copied();
            let headings_rad: Vec<f64> = known.flatten().collect();
            turns.extend(turns::of_gyro(path, stretch, &headings_rad));
            let energy_m = &path.energy_m[stretch.seconds.clone()];
            pairs.take(&headings_rad, energy_m, stretch.sense());
        }
        let mut circles = Self::of_turns(path, stretches, turns, &pairs)?;
        let period_s = circles.period_s.value()?;
        circles.period_s = Said::measured(period_s, PERIOD_BY_GYRO * period_s);
        Some(circles)
    }

    fn of_turns(
        path: &Path,
        stretches: &[Stretch],
        turns: Vec<TurnFigures>,
        pairs: &Pairs,
    ) -> Option<Self> {
        let (first, last) = (stretches.first()?, stretches.last()?);
        let period_s = median(turns.iter().map(|turn| turn.to_s - turn.from_s))?;
        let way = match stretches.iter().filter(|stretch| stretch.is_right).count() {
            0 => Way::Left,
            right if right == stretches.len() => Way::Right,
            _ => Way::Both,
        };
        Some(Self {
            from_s: path.time_s(first.seconds.start),
            to_s: path.time_s(last.seconds.end - 1),
            way,
            period_s: Said::measured(period_s, PERIOD_S),
            wind: None,
            airspeed_mps: NO_POSITIONS,
            airspeed_ratio: NO_POSITIONS,
            off_centre_m: NO_POSITIONS,
            lost_mps: NO_POSITIONS,
            centred_after_s: NO_POSITIONS,
            better_side_deg: NO_POSITIONS,
            technique: pairs.technique(),
            turns,
            pieces: Vec::new(),
        })
    }
}

/// The wind, the airspeed, and that over the recorded one: means over the pieces.
fn wind(
    path: &Path,
    pieces: &[(Piece, Option<Core>)],
) -> Option<(Option<WindFigures>, Said, Said)> {
    let (mut to_mps, mut airspeed_mps, mut recorded_mps, mut total_s) = ([0.0; 2], 0.0, 0.0, 0.0);
    for (piece, _) in pieces {
        let lasts_s = piece.seconds.len() as f64;
        total_s += lasts_s;
        to_mps[0] += lasts_s * piece.wind.to_mps[0];
        to_mps[1] += lasts_s * piece.wind.to_mps[1];
        airspeed_mps += lasts_s * piece.wind.airspeed_mps;
        let recorded = path.airspeed_mps.get(piece.seconds.clone());
        recorded_mps += recorded.map_or(0.0, |speeds| speeds.iter().sum());
    }
    if total_s == 0.0 {
        return None;
    }
    let mean = super::wind::Wind {
        to_mps: to_mps.map(|sum| sum / total_s),
        airspeed_mps: airspeed_mps / total_s,
        error_mps: 0.0,
    };
    let wind = WindFigures {
        from_deg: mean.comes_from_deg(),
        speed_mps: Said::measured(mean.speed_mps(), WIND_MPS),
    };
    let ratio = if recorded_mps > 0.0 {
        Said::measured(airspeed_mps / recorded_mps, AIRSPEED)
    } else {
        Said::absent("no recorded airspeed")
    };
    let airspeed = Said::measured(mean.airspeed_mps, AIRSPEED * mean.airspeed_mps);
    Some((Some(wind), airspeed, ratio))
}

/// Takes the cores away where none of them explains the climb better than lift that is the same
/// everywhere: their middles would be where the fit expects them beforehand. One that does shows
/// that the lift has a middle, and its even pieces were flown round it. Returns what is said
/// without a core.
fn without_even(pieces: &mut [(Piece, Option<Core>)]) -> Said {
    let cores = || pieces.iter().filter_map(|(_, core)| core.as_ref());
    let (has_cores, shows) = (cores().count() > 0, cores().any(Core::is_uneven));
    if has_cores && !shows {
        pieces.iter_mut().for_each(|(_, core)| *core = None);
        return EVEN;
    }
    NO_CORE
}

/// Distance off centre and climb lost, or `nothing` without a core.
fn off(cores: &[Core], nothing: Said) -> (Said, Said) {
    let offs = || cores.iter().flat_map(|core| &core.off);
    let Some(off_m) = median(offs().map(|off: &Off| off.off_m)) else { return (nothing, nothing) };
    let [error_m, lost_error_mps] = centre::errors(cores);
    let lost = |of: fn(&Off) -> f64| offs().map(of).sum::<f64>() / offs().count() as f64;
    let lost_mps = lost(|off| off.lost_mps);
    let lost_mps = if off_m <= CENTRED_M {
        CENTRED
    } else if lost_mps < NO_LOSS_MPS {
        Said::absent("no loss shows")
    } else if off_m <= FAR_M {
        Said::fitted(lost_mps, lost_error_mps)
    } else {
        Said::MoreThan { more_than: 0.5 * lost_mps }
    };
    (Said::fitted(off_m, error_m), lost_mps)
}

fn centred_after(
    path: &Path,
    from_s: f64,
    pieces: &[(Piece, Option<Core>)],
    nothing: Said,
) -> Said {
    for (_, core) in pieces {
        let Some(core) = core.as_ref().filter(|core| core.is_certain()) else { return nothing };
        if let Some(second) = core.centred_from() {
            let after_s = path.start_s + second - from_s;
            return Said::measured(after_s.max(0.0), CENTRED_S);
        }
    }
    Said::absent("never within 25 m")
}

/// Where the climb was better over all turns, unless they were centred.
fn better_side(circles: &Circles) -> Said {
    if circles.off_centre_m.value().is_some_and(|off_m| off_m <= CENTRED_M) {
        return CENTRED;
    }
    let count = circles.turns.len().max(1) as f64;
    let mean =
        |axis: usize| circles.turns.iter().map(|turn| turn.towards_mps[axis]).sum::<f64>() / count;
    let absent = Said::absent("the climb swings by less than 1 m/s to one side");
    turns::bearing_deg([mean(0), mean(1)]).map_or(absent, |deg| Said::measured(deg, SIDE_DEG))
}

/// The middle one of some values.
fn median(values: impl Iterator<Item = f64>) -> Option<f64> {
    let mut values: Vec<f64> = values.collect();
    values.sort_by(f64::total_cmp);
    let last = values.len().checked_sub(1)?;
    Some(0.5 * (values[last / 2] + values[last.div_ceil(2)]))
}
