//! Which air a round has: one in which the first circle is neither good already nor hopeless.
//!
//! Of the airs of the trials every seventh is taken: one in which a glider that keeps its first
//! circle has from a tenth to a third of the best circle's climb. There is something to hear and
//! something to gain, and holding still wins nothing. The limits are a choice, made so that holding
//! still is worth about as much as in the trials, 24 %; what pilots climb who hear and correct was
//! measured afterwards.

use chirrup_flight::centring::thermal::Thermal;
use chirrup_flight::centring::{Aloft, BestCircle, Day, LEAD_STEPS, MEASURED_STEPS, STEP_US};
use std::ops::Range;

/// Rounds of a seed, each with air of its own: 1 to this.
pub const ROUNDS: u32 = 16;
/// Shares of the best circle's climb that holding still may have.
pub const HELD: Range<f64> = 0.10..0.33;
/// Airs that a round chooses from; where none is right, the nearest.
const TRIED: u64 = 64;

/// The seed of the air of round `number` of a game's seed.
pub fn air_seed(seed: u32, number: u32) -> u64 {
    let round = u64::from(ROUNDS) * u64::from(seed) + u64::from(number - 1);
    let mut nearest = (f64::MAX, 0);
    for air in (0..TRIED).map(|each| round * TRIED + each) {
        let share = held_share(air);
        if HELD.contains(&share) {
            return air;
        }
        let away = (share - HELD.start).abs().min((share - HELD.end).abs());
        if away < nearest.0 {
            nearest = (away, air);
        }
    }
    nearest.1
}

/// Share of the best circle's climb of a glider that keeps its first circle.
fn held_share(air: u64) -> f64 {
    let mut aloft = Aloft::new(air, Day::SMOOTH);
    let circle_rad = aloft.circle_rad();
    let mut fly = |steps: i64| {
        (0..steps).for_each(|_| aloft.advance(circle_rad));
        aloft.energy_m()
    };
    let gained_m = -fly(LEAD_STEPS) + fly(MEASURED_STEPS);
    let climb_mps = gained_m / (MEASURED_STEPS as f64 * STEP_US as f64 * 1e-6);
    climb_mps / BestCircle::of(&Thermal::of_seed(air)).climb_mps
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_round_of_a_seed_has_air_of_its_own() {
        let mut airs: Vec<u64> = (1..=4).map(|number| air_seed(7, number)).collect();
        airs.push(air_seed(8, 1));
        assert_eq!(airs[0], air_seed(7, 1));
        airs.sort_unstable();
        airs.dedup();
        assert_eq!(airs.len(), 5);
    }
}
