//! Whether an axis of the sensor repeats its value while the others move on, or the whole force
//! turns over as no glider can turn it.
//!
//! A mean of readings repeats bit for bit by chance only: at 50 Hz a good sensor without any
//! vibration repeats one sample of seven on an axis, and 15 in a row in three million hours. In a
//! flight computed without noise axes stand still, but then at times half of them do, or all: of
//! such a sensor, and of one too coarse for its noise, nothing is said.

use super::vector::{Vector, dot};

/// Force and turn rate along the sensor's axes.
pub(super) type Read = (Vector, Vector);

/// So many samples in a row with the same value on the same axis, or the same two, are no chance (a
/// guess).
const REPEATS: u8 = 15;
/// This many axes or more so often in a row, and it has no noise (a guess: with one axis stuck, two
/// others of a good sensor do that by chance once in two thousand million samples).
const MANY: u32 = 3;
const NOISELESS_REPEATS: u8 = 12;
const ALL: u8 = 0b11_1111;
const FORCES: u8 = 0b00_0111;
const TURNS: u8 = ALL - FORCES;
/// The force turns over where it points down by this much, m/s2, and its product with the one
/// before, at most so much earlier, s, is below this, m2/s4: from 1 g to -1 g is -96. A bump does
/// not last for so many samples. Until it points up by so much again, or below this airspeed, m/s,
/// where it may have been dropped (guesses).
const DOWN_MPS2: f32 = 5.0;
const AGAINST_M2PS4: f32 = -40.0;
const SOON_S: f32 = 0.05;
const LASTS: u8 = 3;
const UP_MPS2: f32 = 7.0;
const FAST_MPS: f32 = 10.0;

/// State of the look-out.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Stuck {
    /// The axes that repeat, a bit for each, and for how many samples.
    axes: u8,
    repeats: u8,
    /// For how many samples many axes have repeated; stays at its end.
    many: u8,
    /// For how many samples the force has been turned over; stays at its end.
    over: u8,
}

impl Stuck {
    /// Takes what is read and what was read before.
    pub(super) fn see(&mut self, read: &Read, before: Option<&Read>) {
        let Some(before) = before else { return };
        let same = repeating(&read.0, &before.0) | repeating(&read.1, &before.1) << 3;
        // Nothing is new: it is slower than the samples, or dead.
        if same == ALL {
            return;
        }
        let are_many = same.count_ones() >= MANY;
        let is_kind = same == FORCES || same == TURNS;
        if self.many < NOISELESS_REPEATS {
            self.many = if are_many && !is_kind { self.many + 1 } else { 0 };
        }
        let still = self.axes & same;
        if still == 0 || still != self.axes {
            self.axes = if still == 0 { same } else { still };
            self.repeats = 0;
        }
        self.repeats = self.repeats.saturating_add(u8::from(same != 0));
    }

    /// Whether an axis is stuck.
    pub(super) fn is(&self) -> bool {
        let is_it = self.axes != 0 && self.axes.count_ones() < MANY;
        is_it && self.repeats >= REPEATS && self.many < NOISELESS_REPEATS
    }

    /// Takes the force along body axes at this airspeed, `dt_s` after the one before; both as read
    /// too. Whether the force has turned over.
    pub(super) fn turns_over(
        &mut self,
        ([.., down], airspeed): (Vector, Option<f32>),
        dt_s: f32,
        (read, before): (&Read, Option<&Read>),
    ) -> bool {
        if airspeed.is_none_or(|airspeed| airspeed < FAST_MPS) {
            self.over = 0;
            return false;
        }
        let has_turned = self.over >= LASTS;
        if has_turned && down > -UP_MPS2 {
            return true;
        }
        let is_down = !has_turned && down > DOWN_MPS2;
        let goes_on = self.over > 0
            || (dt_s < SOON_S
                && before.is_some_and(|before| dot(before.0, read.0) < AGAINST_M2PS4));
        self.over = if is_down && goes_on { self.over + 1 } else { 0 };
        self.over >= LASTS
    }
}

/// A bit for each axis that has not changed.
fn repeating([x, y, z]: &Vector, [a, b, c]: &Vector) -> u8 {
    let is = |now: &f32, before: &f32| u8::from(now.to_bits() == before.to_bits());
    is(x, a) | is(y, b) << 1 | is(z, c) << 2
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::air::atmosphere::GRAVITY_MPS2;

    const AXES: [&[usize]; 7] = [&[0], &[1], &[2], &[3], &[4], &[5], &[1, 2]];

    /// A reading of noise: each axis has one of `steps` values, by a plain generator of numbers.
    fn noise(seed: &mut u32, steps: u32) -> [f32; 6] {
        core::array::from_fn(|_| {
            *seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            ((*seed >> 16) % steps) as f32
        })
    }

    fn read([a, b, c, x, y, z]: [f32; 6]) -> Read {
        ([a, b, c], [x, y, z])
    }

    /// Takes so many samples, of which these axes repeat the first.
    fn see(stuck: &mut Stuck, samples: u32, steps: u32, axes: &[usize]) {
        let mut seed = 1;
        let first = noise(&mut seed, steps);
        let mut before = read(first);
        for _ in 0..samples {
            let mut now = noise(&mut seed, steps);
            axes.iter().for_each(|axis| now[*axis] = first[*axis]);
            let now = read(now);
            stuck.see(&now, Some(&before));
            before = now;
        }
    }

    #[test]
    fn an_axis_that_repeats_while_the_others_move_is_stuck_until_it_moves() {
        for axes in AXES {
            let mut stuck = Stuck::default();
            see(&mut stuck, u32::from(REPEATS) - 1, 1_000, axes);
            assert!(!stuck.is(), "{axes:?}");
            see(&mut stuck, 5_000, 1_000, axes);
            assert!(stuck.is(), "{axes:?}");
            see(&mut stuck, 3, 1_000, &[]);
            assert!(!stuck.is(), "{axes:?}");
        }
    }

    #[test]
    fn noise_that_repeats_one_sample_of_six_is_not_stuck_and_hides_no_axis_that_is() {
        let mut stuck = Stuck::default();
        for _ in 0..100 {
            see(&mut stuck, 10_000, 6, &[]);
            assert!(!stuck.is());
        }
        see(&mut stuck, 40, 6, &[4]);
        assert!(stuck.is());
    }

    #[test]
    fn of_a_sensor_without_noise_nothing_is_said() {
        let mut stuck = Stuck::default();
        // Straight on: no side slip, no roll, no yaw. Then a turn without slip.
        see(&mut stuck, 20, 1_000, &[1, 3, 5]);
        see(&mut stuck, 100, 1_000, &[1]);
        assert!(!stuck.is());
        // A kind that comes less often than the samples, or has no noise.
        let mut kind = Stuck::default();
        see(&mut kind, 100, 1_000, &[3, 4, 5]);
        assert!(!kind.is());
        // One that comes less often than the samples does not move at all meanwhile.
        let mut slow = Stuck::default();
        let same = ([1.0; 3], [1.0; 3]);
        (0..100).for_each(|_| slow.see(&same, Some(&same)));
        assert!(!slow.is());
    }

    /// Feels these downward forces one after the other, and says after which it has turned over.
    fn turned(airspeed: f32, dt_s: f32, down: &[f32]) -> std::vec::Vec<bool> {
        let mut stuck = Stuck::default();
        let mut before = None;
        let mut feel = |down: &f32| {
            let force = [1.0, -0.5, *down];
            let now = (force, [0.0; 3]);
            let is_over = stuck.turns_over((force, Some(airspeed)), dt_s, (&now, before.as_ref()));
            before = Some(now);
            is_over
        };
        down.iter().map(&mut feel).collect()
    }

    #[test]
    fn a_force_that_turns_over_at_once_and_stays_is_reversed_until_it_turns_back() {
        let g = GRAVITY_MPS2;
        let felt = turned(25.0, 0.02, &[-g, g, g, g, 3.0, -3.0, g, -g, -g]);
        assert_eq!(felt, [false, false, false, true, true, true, true, false, false]);
        // A bump, weightlessness, and what a glider can do: in half a second.
        assert!(
            !turned(25.0, 0.02, &[-g, -44.0, 12.6, -10.8, 13.7, -17.6, 9.5, -10.9]).contains(&true)
        );
        assert!(!turned(25.0, 0.02, &[-g, 0.0, 0.0, g, g, g, g]).contains(&true));
        assert!(!turned(25.0, 0.25, &[-g, g, g, g, g, g]).contains(&true));
        // Dropped on the ground.
        assert!(!turned(5.0, 0.02, &[-g, g, g, g, g, g]).contains(&true));
    }
}
