//! What the inertial sensor measured since the sample before, as the log writes it and the core
//! takes it.
//!
//! ```text
//! specific force  whole 0.0001 m/s2    turn rate  whole 0.00001 rad/s
//! ```
//!
//! Fixed decimals with fewer than seven digits: as `f32` each is the number nearest to its decimal,
//! whether the instrument divides or a reader of the log reads its text. So a log replays to the
//! bit. A step is a twentieth of a count of either sensor, or less.
//!
//! The means are plain. Averaging turns that change direction within 20 ms is wrong by what the
//! trade calls coning, and of forces on a turning body by sculling; at 50 Hz they stay below 0.006
//! degrees a second and 0.0015 m/s2 in what a glider does (a test has the closed forms). The
//! sensor's own errors are 0.3 degrees a second and 0.15 m/s2, so nothing is corrected.

use chirrup_core::Micros;
use chirrup_core::{Axes, Inertial, MetrePerSecond2, RadianPerSecond, Spread};
use chirrup_sensors::inertial::batch::{Batch, Scale};
use chirrup_sensors::inertial::sums::{PART, Sums};
use chirrup_sensors::sensor::FRAME;

/// Steps of specific force in 1 m/s2.
pub const FORCE_STEPS: i32 = 10_000;
/// Steps of turn rate in 1 rad/s.
pub const TURN_STEPS: i32 = 100_000;
/// Scales are in steps times 2 to this power.
const SHIFT: u32 = 26;
/// Older readings belong to no sample: ten frames.
const OLDEST: Micros = Micros(10 * FRAME.0);

/// Means and spread since the sample before, in whole steps.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Averaged {
    /// Specific force along the sensor's axes, in 0.0001 m/s2.
    pub force: [i32; 3],
    /// Turn rate about them, in 0.00001 rad/s.
    pub turn: [i32; 3],
    /// Largest magnitude of a single axis, and root of the summed variances.
    pub spread: Option<SpreadSteps>,
}

/// The spread of readings about their means, in the same steps.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct SpreadSteps {
    /// The largest force of an axis.
    pub largest_force: i32,
    /// Deviation of the force.
    pub force_deviation: i32,
    /// The largest turn rate about an axis.
    pub largest_turn: i32,
    /// Deviation of the turn rate.
    pub turn_deviation: i32,
}

/// Gathers readings until a sample takes them.
#[derive(Clone, Copy, Debug, Default)]
pub struct Averager {
    since: Option<Micros>,
    force: Sums,
    turn: Sums,
}

impl Averager {
    /// Adds what was read in a frame.
    pub fn add(&mut self, batch: &Batch) {
        let is_old = self.since.is_some_and(|since| batch.time.since(since) > OLDEST);
        if is_old {
            *self = Self::default();
        }
        self.since.get_or_insert(batch.time);
        self.force.merge(&batch.force);
        self.turn.merge(&batch.turn);
    }

    /// The average of what came since it was last taken; `None` where nothing did.
    pub fn take(&mut self, scale: Scale) -> Option<Averaged> {
        let Self { force, turn, .. } = core::mem::take(self);
        Averaged::of(&force, &turn, scale)
    }
}

impl Averaged {
    /// Of sums in counts; `None` without a reading of both.
    pub fn of(force: &Sums, turn: &Sums, scale: Scale) -> Option<Self> {
        let spread = match (deviation(force, scale.force), deviation(turn, scale.turn)) {
            (Some(force_deviation), Some(turn_deviation)) => Some(SpreadSteps {
                largest_force: steps(force.largest.into(), scale.force),
                force_deviation,
                largest_turn: steps(turn.largest.into(), scale.turn),
                turn_deviation,
            }),
            _ => None,
        };
        Some(Self { force: means(force, scale.force)?, turn: means(turn, scale.turn)?, spread })
    }

    /// The same for the core.
    pub fn inertial(&self) -> Inertial {
        let [x, y, z] = self.force.map(force_of);
        let specific_force = Axes { x, y, z };
        let [x, y, z] = self.turn.map(turn_of);
        let spread = self.spread.map(|spread| Spread {
            largest_force: force_of(spread.largest_force),
            force_deviation: force_of(spread.force_deviation),
            largest_turn: turn_of(spread.largest_turn),
            turn_deviation: turn_of(spread.turn_deviation),
        });
        Inertial { specific_force, turn_rate: Axes { x, y, z }, spread }
    }
}

fn force_of(steps: i32) -> MetrePerSecond2 {
    MetrePerSecond2(steps as f32 / FORCE_STEPS as f32)
}

fn turn_of(steps: i32) -> RadianPerSecond {
    RadianPerSecond(steps as f32 / TURN_STEPS as f32)
}

/// The means in steps, rounded; `None` without a reading.
fn means(sums: &Sums, scale: u32) -> Option<[i32; 3]> {
    // One division for three axes; it is exact to a hundred-millionth.
    let of_sum = scale.checked_div(sums.readings.into())?;
    Some(sums.sum.map(|sum| steps(sum, of_sum)))
}

/// The deviation in steps.
fn deviation(sums: &Sums, scale: u32) -> Option<i32> {
    let of_sum = scale.checked_div(sums.readings.into())?;
    let parts = sums.deviation()?.checked_mul(of_sum.into())?;
    i32::try_from((parts / PART) >> SHIFT).ok()
}

/// Counts of a scale, which is in steps times 2^26, as steps, rounded.
fn steps(counts: i32, scale: u32) -> i32 {
    ((i64::from(counts) * i64::from(scale) + (1 << (SHIFT - 1))) >> SHIFT) as i32
}
