//! What a recording keeps of a sample: all that the log writes, as whole numbers in fixed places.

use crate::gnss::pvt::Velocity;
use crate::gnss::receiver::Ground;
use crate::inertial::average::{Averaged, SpreadSteps};
use crate::sampler::Sampled;
use chirrup_core::Micros;

/// Numbers of a row besides its time.
pub const NUMBERS: usize = 18;
/// Bit of the numbers that come and go with each velocity of a satellite receiver.
pub const GROUND: u8 = 1 << 5;
const DYNAMIC: u8 = 1;
const TE: u8 = 1 << 1;
const SPEED: u8 = 1 << 2;
const INERTIAL: u8 = 1 << 3;
const SPREAD: u8 = 1 << 4;
/// Bits of [`Numbers::has`].
pub const GROUPS: u32 = 6;
/// The group of each number; the static pressure, which is always there, has none.
pub const GROUP_OF: [u8; NUMBERS] = [
    0, DYNAMIC, TE, SPEED, INERTIAL, INERTIAL, INERTIAL, INERTIAL, INERTIAL, INERTIAL, SPREAD,
    SPREAD, SPREAD, SPREAD, GROUND, GROUND, GROUND, GROUND,
];

/// A sample, and the vertical speed that sounded with it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Row {
    /// The sample.
    pub sampled: Sampled,
    /// Vertical speed in mm/s, as the log has it.
    pub vertical_speed_mmps: Option<i32>,
}

/// A row as numbers; those of a group that it has not are 0.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Numbers {
    /// Time in microseconds.
    pub time_us: i64,
    /// The groups that are there.
    pub has: u8,
    /// The numbers, in the steps of the log.
    pub values: [i32; NUMBERS],
}

impl From<&Row> for Numbers {
    fn from(row: &Row) -> Self {
        let Row { sampled, vertical_speed_mmps: speed } = row;
        let inertial = sampled.inertial.as_ref();
        let spread = inertial.and_then(|averaged| averaged.spread);
        let ground = sampled.ground;
        let there = |is_there, group| if is_there { group } else { 0 };
        let has = there(sampled.dynamic_64ths_pa.is_some(), DYNAMIC)
            | there(sampled.te_64ths_pa.is_some(), TE)
            | there(speed.is_some(), SPEED)
            | there(inertial.is_some(), INERTIAL)
            | there(spread.is_some(), SPREAD)
            | there(ground.is_some(), GROUND);
        let [fx, fy, fz] = inertial.map_or([0; 3], |averaged| averaged.force);
        let [tx, ty, tz] = inertial.map_or([0; 3], |averaged| averaged.turn);
        let [lf, df, lt, dt] = spread.map_or([0; 4], of_spread);
        let [vn, ve, vd, age] = ground.map_or([0; 4], of_ground);
        let [p, q, te] = [
            sampled.static_64ths_pa,
            sampled.dynamic_64ths_pa.unwrap_or(0),
            sampled.te_64ths_pa.unwrap_or(0),
        ];
        let values =
            [p, q, te, speed.unwrap_or(0), fx, fy, fz, tx, ty, tz, lf, df, lt, dt, vn, ve, vd, age];
        Self { time_us: sampled.time.0, has, values }
    }
}

impl From<&Numbers> for Row {
    fn from(numbers: &Numbers) -> Self {
        let Numbers { time_us, has, values } = *numbers;
        let [p, q, te, speed, fx, fy, fz, tx, ty, tz, lf, df, lt, dt, vn, ve, vd, age] = values;
        let there = |group| has & group != 0;
        let spread = SpreadSteps {
            largest_force: lf,
            force_deviation: df,
            largest_turn: lt,
            turn_deviation: dt,
        };
        let inertial = Averaged {
            force: [fx, fy, fz],
            turn: [tx, ty, tz],
            spread: there(SPREAD).then_some(spread),
        };
        let velocity = Velocity { north_mmps: vn, east_mmps: ve, down_mmps: vd };
        Self {
            sampled: Sampled {
                time: Micros(time_us),
                static_64ths_pa: p,
                dynamic_64ths_pa: there(DYNAMIC).then_some(q),
                te_64ths_pa: there(TE).then_some(te),
                inertial: there(INERTIAL).then_some(inertial),
                ground: there(GROUND).then_some(Ground { velocity, age_us: age }),
            },
            vertical_speed_mmps: there(SPEED).then_some(speed),
        }
    }
}

fn of_spread(spread: SpreadSteps) -> [i32; 4] {
    [spread.largest_force, spread.force_deviation, spread.largest_turn, spread.turn_deviation]
}

fn of_ground(ground: Ground) -> [i32; 4] {
    let Velocity { north_mmps, east_mmps, down_mmps } = ground.velocity;
    [north_mmps, east_mmps, down_mmps, ground.age_us]
}
