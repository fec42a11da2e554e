//! Whether it stands still for certain, or may have stood, somewhere in a stretch.
//!
//! ```text
//! stands          below 2 m/s for a minute, through the air or over the ground
//! may have stood  below 3 m/s for 10 s and within 2.5 m of height; without a speed within 2.5 m
//!                 for a minute; below 8 m/s for 5 s within 30 m of the height of take-off or
//!                 landing
//! ```
//!
//! The figures are guesses.

use super::evidence::{Evidence, beginnings};

const STANDS_MPS: f64 = 2.0;
const STANDS_FOR_S: usize = 60;
const MAY_STAND_MPS: f64 = 3.0;
const MAY_STAND_FOR_S: usize = 10;
const MAY_STAND_UNSEEN_S: usize = 60;
const ROLLS_MPS: f64 = 8.0;
const ROLLS_FOR_S: usize = 5;
const NEAR_GROUND_M: f64 = 30.0;

/// Whether it surely stands for a minute between the places `from` and `to`.
pub(super) fn surely(evidence: &Evidence, from: usize, to: usize) -> bool {
    let all_slow = |some: &[f64]| some.iter().all(|speed| *speed < STANDS_MPS);
    speeds(evidence).any(|speeds| {
        let to = to.min(speeds.len() - 1);
        speeds[from.min(to)..=to].windows(STANDS_FOR_S).any(all_slow)
    })
}

/// The first place between `from` and `to` where it may have stood, or rolled on the ground at one
/// of the heights `grounds_m`.
pub(super) fn perhaps(
    evidence: &Evidence,
    from: usize,
    to: usize,
    grounds_m: &[f64],
) -> Option<usize> {
    let gaps = evidence.in_gaps();
    let is_level = |place: usize, for_s: usize| evidence.is_level(&gaps, place, place + for_s);
    let is_slow = |place: usize, mps: f64, for_s: usize| {
        let slow = |speed: &f64| *speed < mps;
        speeds(evidence).any(|speeds| speeds[place..=place + for_s].iter().all(slow))
    };
    let is_near = |place: usize| {
        grounds_m.iter().any(|ground| (evidence.height_m[place] - ground).abs() < NEAR_GROUND_M)
    };
    let is_unseen = evidence.speed_mps().is_none();
    let stands = |place: &usize| {
        if is_unseen {
            return *place + MAY_STAND_UNSEEN_S <= to && is_level(*place, MAY_STAND_UNSEEN_S);
        }
        let stood = || {
            *place + MAY_STAND_FOR_S <= to
                && is_slow(*place, MAY_STAND_MPS, MAY_STAND_FOR_S)
                && is_level(*place, MAY_STAND_FOR_S)
        };
        let rolled = || {
            is_near(*place)
                && is_slow(*place, ROLLS_MPS, ROLLS_FOR_S)
                && is_level(*place, ROLLS_FOR_S)
        };
        stood() || rolled()
    };
    beginnings(from, to, ROLLS_FOR_S).find(stands)
}

/// The speeds that are known: through the air, over the ground.
fn speeds(evidence: &Evidence) -> impl Iterator<Item = &[f64]> {
    let air = evidence.air_mps.as_deref();
    air.into_iter().chain(evidence.ground.as_ref().map(|ground| ground.speed_mps.as_slice()))
}
