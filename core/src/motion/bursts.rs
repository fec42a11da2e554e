//! Bends of the energy height that no glider flies: a radio at work near a sensor, a canopy vent
//! opened, a gust so sharp that the air cannot have lifted the glider.
//!
//! A glider's energy comes from the air that lifts it. Even at the edge of a strong thermal it
//! changes its rate by a few metres per second in a second, so three means of the energy height a
//! quarter of a second apart lie within decimetres of a line. Where they do not, the vertical speed
//! goes back to what it was before the bend began, and for a while the height may wander as far as
//! the bend was.
//!
//! ```text
//! |b| > 2.6 m/s2 D^2 + 3 deviations of noise and gusts         D = 0.24 s
//! ```
//!
//! Without a source of total energy this does not hold: a winch bends the height harder.
//!
//! A vent may go on pushing at the static ports for seconds after the bend. Such a push moves
//! static and impact pressure by as much in opposite directions, so that altitude and kinetic
//! height change alike, each by half of the energy height. A gust of the wind changes the kinetic
//! height alone, and a pull-up moves them against each other. An updraft may move them alike, too,
//! but does not begin with an impossible bend: only after one the speed stays put back for as long
//! as both change alike, 3 s at most.

use crate::motion::gusts::ShortBend;
use crate::motion::models::ModelsState;
use crate::units::{larger, smaller};

const POSSIBLE_MPS2: f32 = 2.6;
const DEVIATIONS: f32 = 3.0;
/// Short means that the memory reaches back: a bend is seen two or three of them after it began.
const MEMORY: usize = 4;
/// While bends follow each other this closely, the memory keeps what was before the first.
const TOGETHER_S: f32 = 0.5;
/// No burst and no step lets the height wander more than this, m2/s.
const MOST_WALK_M2PS: f32 = 30.0;
/// How long a burst or a step is felt.
const FADES_S: f32 = 0.8;
/// A push at the static ports lasts no longer than this.
const LONGEST_PUSH_S: f32 = 3.0;
/// Where bends go on for longer, the speed from before them fades by this at each short mean: to a
/// third in 3 s.
const FADE: f32 = 0.96;
/// What is left of a burst ends here, far below the walk that is always allowed for: numbers near
/// the end of an `f32` would cost a processor many times as long.
const LEAST_WALK_M2PS: f32 = 1.0e-20;
/// It moves the energy height by at least this.
const LEAST_PUSH_M: f32 = 0.8;
/// Altitude and kinetic height change alike if the kinetic height has half of the energy's change
/// to within this share of it.
const ALIKE: f32 = 0.2;

/// What was known at a short mean.
#[derive(Clone, Copy, Debug, Default)]
struct Known {
    models: ModelsState,
    /// Means of the energy height and of the kinetic height in it.
    height_m: f32,
    kinetic_m: f32,
}

/// State of the watch for bursts.
#[derive(Clone, Copy, Debug)]
pub(super) struct BurstState {
    memory: [Known; MEMORY],
    /// Time since the last bend, and since the memory was last renewed.
    since_s: f32,
    lasted_s: f32,
    walk_m2ps: f32,
}

impl Default for BurstState {
    fn default() -> Self {
        let memory = [Known::default(); MEMORY];
        Self { memory, since_s: TOGETHER_S, lasted_s: 0.0, walk_m2ps: 0.0 }
    }
}

impl BurstState {
    /// The state at the start of the pair.
    pub(super) fn start(models: ModelsState) -> Self {
        let known = Known { models, ..Known::default() };
        Self { memory: [known; MEMORY], ..Self::default() }
    }

    /// `dt_s` later.
    pub(super) fn pass(&mut self, dt_s: f32) {
        self.since_s += dt_s;
        self.lasted_s += dt_s;
        let left_m2ps = self.walk_m2ps - self.walk_m2ps * dt_s / (FADES_S + dt_s);
        self.walk_m2ps = if left_m2ps < LEAST_WALK_M2PS { 0.0 } else { left_m2ps };
    }

    /// How far the height wanders because of a burst or a step, m2/s.
    pub(super) fn walk_m2ps(&self) -> f32 {
        self.walk_m2ps
    }

    /// Lets the height wander by `walk_m2ps` for a while, 30 m2/s at most.
    pub(super) fn disturb(&mut self, walk_m2ps: f32) {
        self.walk_m2ps = larger(smaller(walk_m2ps, MOST_WALK_M2PS), self.walk_m2ps);
    }

    /// Takes a bend of short means; puts `models` back to before it, at the present height, where
    /// no glider flies it.
    pub(super) fn see(&mut self, bend: &ShortBend, models: &mut ModelsState, height_m: f32) {
        let is_impossible = is_impossible(bend);
        if is_impossible {
            self.disturb(bend.bend_m * bend.bend_m / (4.0 * bend.apart_s));
        }
        if self.lasted_s > LONGEST_PUSH_S {
            // Bends without end: what was before the first is no longer known, and no climb is
            // better than a stale one.
            self.memory.iter_mut().for_each(|known| known.models.fade(FADE));
        }
        let [.., before] = self.memory;
        if is_impossible || self.is_pushed(&before, bend) {
            *models = before.models.moved_to(height_m, bend.bend_m / bend.apart_s);
            self.since_s = 0.0;
        }
        if self.since_s > TOGETHER_S {
            self.memory.rotate_right(1);
            let [newest, ..] = &mut self.memory;
            let ShortBend { height_m, kinetic_m, .. } = *bend;
            *newest = Known { models: *models, height_m, kinetic_m };
            self.lasted_s = 0.0;
        }
    }

    /// Whether something still pushes at the static ports, just after a bend.
    fn is_pushed(&self, before: &Known, bend: &ShortBend) -> bool {
        let climbed_m = before.models.mixed().velocity_mps * self.lasted_s;
        let pushed_m = bend.height_m - before.height_m - climbed_m;
        let kinetic_m = bend.kinetic_m - before.kinetic_m;
        self.since_s <= TOGETHER_S
            && self.lasted_s <= LONGEST_PUSH_S
            && libm::fabsf(pushed_m) >= LEAST_PUSH_M
            && libm::fabsf(kinetic_m - 0.5 * pushed_m) <= ALIKE * libm::fabsf(pushed_m)
    }

    /// Measures heights from a new origin, `by_m` higher.
    pub(super) fn shift(&mut self, by_m: f32) {
        for known in &mut self.memory {
            known.models.shift(by_m);
            known.height_m -= by_m;
        }
    }
}

fn is_impossible(bend: &ShortBend) -> bool {
    let ShortBend { bend_m, apart_s, usual_m2, .. } = *bend;
    let over_m = libm::fabsf(bend_m) - POSSIBLE_MPS2 * apart_s * apart_s;
    over_m > 0.0 && over_m * over_m > DEVIATIONS * DEVIATIONS * usual_m2
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    fn bend(bend_m: f32) -> ShortBend {
        // Noise of 0.13 m at 50 Hz: 6 s^2 / 6.
        ShortBend { bend_m, apart_s: 0.24, usual_m2: 0.017, height_m: 100.0, kinetic_m: 40.0 }
    }

    #[test]
    fn the_edge_of_a_strong_thermal_is_possible_and_a_burst_is_not() {
        // 5 m/s within 1 s bends by 5 x 0.24^2 = 0.29 m; 20 Pa at 1500 m are 1.9 m.
        assert!(!is_impossible(&bend(0.29)));
        assert!(is_impossible(&bend(1.9)) && is_impossible(&bend(-1.9)));
    }

    #[test]
    fn a_burst_puts_the_speed_back_to_before_it_and_lets_the_height_wander_for_a_while() {
        let before = ModelsState::start(100.0, 0.01);
        let mut state = BurstState::start(before);
        state.pass(1.0);
        let mut models = ModelsState::start(140.0, 0.01);
        state.see(&bend(1.9), &mut models, 103.0);
        assert_abs_diff_eq!(models.mixed().height_m, 103.0, epsilon = 1e-4);
        let walk_m2ps = state.walk_m2ps();
        assert!(walk_m2ps > 3.0, "{walk_m2ps}");
        (0..200).for_each(|_| state.pass(0.02));
        assert!(state.walk_m2ps() < 0.02 * walk_m2ps);
    }

    #[test]
    fn after_a_bend_the_speed_stays_back_while_altitude_and_speed_change_alike() {
        let back_after = |kinetic_share: f32| {
            let mut state = BurstState::start(ModelsState::start(100.0, 0.01));
            let mut models = ModelsState::start(100.0, 0.01);
            for _ in 0..10 {
                state.pass(1.0);
                state.see(&bend(0.0), &mut models, 100.0);
            }
            state.see(&bend(1.9), &mut models, 101.0);
            state.pass(0.12);
            let mut models = ModelsState::start(140.0, 0.01);
            let later =
                ShortBend { height_m: 102.0, kinetic_m: 40.0 + kinetic_share * 2.0, ..bend(0.0) };
            state.see(&later, &mut models, 102.0);
            models.mixed().height_m < 110.0
        };
        // A push at the static ports; a gust; a pull-up with an updraft.
        assert_eq!([0.5, 1.0, -0.5].map(back_after), [true, false, false]);
    }

    /// Subnormal numbers, which a processor may take a hundred times as long for, never stay.
    #[test]
    fn what_is_left_of_a_burst_ends() {
        for dt_s in [0.005, 0.02, 0.3] {
            let mut state = BurstState::default();
            state.disturb(30.0);
            let mut walks = (0..2_000_000).map(|_| {
                state.pass(dt_s);
                state.walk_m2ps()
            });
            assert!(walks.all(|walk_m2ps| walk_m2ps == 0.0 || walk_m2ps.is_normal()));
            assert_eq!(state.walk_m2ps(), 0.0, "{dt_s} s");
        }
    }
}
