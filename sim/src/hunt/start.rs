//! Which air a seed has: one in which the first circle is neither good already nor hopeless.
//!
//! Of the airs of the trials every seventh is taken: one in which a glider that keeps its first
//! circle has from a tenth to a third of the best circle's climb. There is something to hear and
//! something to gain, and holding still wins nothing. The limits are a choice, made so that holding
//! still is worth about as much as in the trials, 24 %, and with the climbs of the pilots who hear
//! and correct in view: theirs are not those of a blind choice.

use chirrup_flight::centring::thermal::Thermal;
use chirrup_flight::centring::{Aloft, BestCircle, Day, LEAD_STEPS, MEASURED_STEPS, STEP_US};
use std::ops::Range;

/// Rounds with a number: 1 to this. The number chooses the help on the screen, never the air.
pub const ROUNDS: u32 = 16;
/// Groups of [`TRIED`] airs from one seed to the next: the measured airs are those of every
/// sixteenth group.
const APART: u64 = 16;
/// Shares of the best circle's climb that holding still may have.
pub const HELD: Range<f64> = 0.10..0.33;
/// Airs that a seed chooses from; where none is right, the nearest.
const TRIED: u64 = 64;

/// The seed of the air of a game's seed: the same in all of its rounds.
pub fn air_seed(seed: u32) -> u64 {
    let group = APART * u64::from(seed);
    let mut nearest = (f64::MAX, 0);
    for air in (0..TRIED).map(|each| group * TRIED + each) {
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
    fn every_seed_has_air_of_its_own() {
        let mut airs: Vec<u64> = (5..=8).map(air_seed).collect();
        assert_eq!(airs[2], air_seed(7));
        airs.sort_unstable();
        airs.dedup();
        assert_eq!(airs.len(), 4);
    }

    #[test]
    fn a_seed_has_the_same_thermal_whatever_the_help() {
        use super::super::round::Round;
        let [coloured, dark] = [1, 4].map(|number| Round::new(77, number));
        assert_eq!(coloured.best(), dark.best());
        assert_eq!(coloured.point(), dark.point());
        assert_ne!(coloured.best(), Round::new(78, 1).best());
    }
}
