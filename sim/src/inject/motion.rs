//! What goes wrong with an inertial sensor and a satellite receiver.

use chirrup_core::{
    Axes, GroundVelocity, Inertial, MetrePerSecond, MetrePerSecond2, Micros, RadianPerSecond,
    Sample, Spread,
};
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;
use rand_distr::{Distribution, StandardNormal};
use std::collections::VecDeque;

/// A gain that is too low.
const GAIN: f32 = 0.85;
const G_MPS2: f32 = 9.806_65;
/// Steps of a bias: an axis that reads so much too much from one moment to the next (guesses; ten
/// times what a good sensor's bias is after it has been soldered).
const GYRO_BIAS_RADPS: f32 = 0.05;
const FORCE_BIAS_MPS2: f32 = 0.5;
/// Vibration along each axis, m/s2 rms, and what the gyroscopes feel of it, rad/s for each m/s2 (a
/// guess).
const SHAKEN_MPS2: f32 = 10.0;
const SHAKEN_RADPS: f32 = 0.005;
/// Readings between two samples: what a driver averages at 200 Hz. Of vibration near half of that
/// rate a quarter is left in the mean (the sum of four of a sine of 40 Hz).
const LEFT_IN_MEAN: f32 = 0.25;
/// Peaks of such noise, in its standard deviations.
const PEAKS: f32 = 2.5;
/// A wrong velocity: the receiver sees reflections.
const WRONG_MPS: [f32; 3] = [12.0, -8.0, 4.0];
/// A late one.
const LATE: Micros = Micros(1_000_000);

/// What is wrong.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MotionFault {
    /// The inertial sensor says nothing.
    Lost,
    /// It repeats its last values.
    Frozen,
    /// One of its gyroscopes, 0 to 2, has the wrong sign.
    GyroReversed(usize),
    /// One of its accelerometers has the wrong sign.
    AccelReversed(usize),
    /// It is mounted a quarter turn off: what is forward is felt to the right.
    QuarterTurn,
    /// One of its gyroscopes repeats its last value.
    GyroStuck(usize),
    /// One of its accelerometers repeats its last value.
    AccelStuck(usize),
    /// One of its gyroscopes reads 0.05 rad/s too much.
    GyroBias(usize),
    /// One of its accelerometers reads 0.5 m/s2 too much.
    AccelBias(usize),
    /// Its gyroscopes read 15 % low.
    LowGain,
    /// Its accelerometers read 15 % low.
    AccelLowGain,
    /// Its accelerometers end at so many tenths of a g.
    Clipped(u8),
    /// It vibrates by 10 m/s2 along each axis.
    Shaken,
    /// The receiver's velocity is wrong.
    GroundWrong,
    /// The receiver's velocity is a second later than before.
    GroundLate,
    /// The receiver repeats its last velocity as if it were new.
    GroundFrozen,
}

/// A fault under way.
#[derive(Clone, Debug)]
pub struct MotionSpoiler {
    fault: MotionFault,
    /// The inertial values before the fault.
    held: Option<Inertial>,
    /// The velocity before the fault.
    held_velocity: Option<GroundVelocity>,
    /// Velocities that have not yet come.
    late: VecDeque<(Micros, GroundVelocity)>,
    rng: ChaCha8Rng,
}

impl MotionSpoiler {
    /// A fault that has not begun; `seed` gives its random numbers.
    pub fn new(fault: MotionFault, seed: u64) -> Self {
        let rng = ChaCha8Rng::seed_from_u64(seed);
        Self { fault, held: None, held_velocity: None, late: VecDeque::new(), rng }
    }

    /// The result for a sample during the fault or outside it.
    pub fn pass(&mut self, is_inside: bool, sample: &Sample) -> Sample {
        if is_inside {
            return self.spoil(sample);
        }
        self.held = sample.inertial.or(self.held);
        self.held_velocity = sample.ground_velocity.or(self.held_velocity);
        *sample
    }

    fn spoil(&mut self, sample: &Sample) -> Sample {
        let mut spoilt = *sample;
        match self.fault {
            MotionFault::GroundWrong => {
                spoilt.ground_velocity = sample.ground_velocity.map(wrong);
            }
            MotionFault::GroundLate => spoilt.ground_velocity = self.later(sample),
            MotionFault::GroundFrozen => {
                spoilt.ground_velocity = sample.ground_velocity.map(|velocity| self.same(velocity));
            }
            _ => spoilt.inertial = sample.inertial.and_then(|inertial| self.inertial(&inertial)),
        }
        spoilt
    }

    fn inertial(&mut self, felt: &Inertial) -> Option<Inertial> {
        let held = *self.held.get_or_insert(*felt);
        Some(match self.fault {
            MotionFault::Lost => return None,
            MotionFault::Frozen => held,
            MotionFault::GyroReversed(axis) => with_turn(felt, axis, |rate| -rate),
            MotionFault::AccelReversed(axis) => with_force(felt, axis, |force| -force),
            MotionFault::GyroStuck(axis) => {
                let stuck = held.turn_rate.as_array()[axis].0;
                with_turn(felt, axis, |_| stuck)
            }
            MotionFault::AccelStuck(axis) => {
                let stuck = held.specific_force.as_array()[axis].0;
                with_force(felt, axis, |_| stuck)
            }
            MotionFault::GyroBias(axis) => with_turn(felt, axis, |rate| rate + GYRO_BIAS_RADPS),
            MotionFault::AccelBias(axis) => with_force(felt, axis, |force| force + FORCE_BIAS_MPS2),
            MotionFault::QuarterTurn => a_quarter_turned(felt),
            MotionFault::LowGain => {
                let low = |rate: RadianPerSecond| RadianPerSecond(GAIN * rate.0);
                Inertial { turn_rate: mapped(felt.turn_rate, low), ..*felt }
            }
            MotionFault::AccelLowGain => {
                let low = |force: MetrePerSecond2| MetrePerSecond2(GAIN * force.0);
                Inertial { specific_force: mapped(felt.specific_force, low), ..*felt }
            }
            MotionFault::Clipped(tenths) => clipped(felt, f32::from(tenths) * 0.1 * G_MPS2),
            _ => self.shaken(felt),
        })
    }

    fn shaken(&mut self, felt: &Inertial) -> Inertial {
        let mut noise = |size: f32| {
            let normal: f32 = StandardNormal.sample(&mut self.rng);
            LEFT_IN_MEAN * size * normal
        };
        let turn_size = SHAKEN_RADPS * SHAKEN_MPS2;
        let specific_force =
            mapped(felt.specific_force, |axis| MetrePerSecond2(axis.0 + noise(SHAKEN_MPS2)));
        let turn_rate = mapped(felt.turn_rate, |axis| RadianPerSecond(axis.0 + noise(turn_size)));
        let spread = felt.spread.map(|spread| Spread {
            largest_force: MetrePerSecond2(spread.largest_force.0 + PEAKS * SHAKEN_MPS2),
            force_deviation: MetrePerSecond2(root_sum(spread.force_deviation.0, SHAKEN_MPS2)),
            largest_turn: RadianPerSecond(spread.largest_turn.0 + PEAKS * turn_size),
            turn_deviation: RadianPerSecond(root_sum(spread.turn_deviation.0, turn_size)),
        });
        Inertial { specific_force, turn_rate, spread }
    }

    /// The last velocity before the fault, as old as this one.
    fn same(&mut self, velocity: GroundVelocity) -> GroundVelocity {
        let held = *self.held_velocity.get_or_insert(velocity);
        GroundVelocity { age: velocity.age, ..held }
    }

    /// The velocity of a second ago, if one came then.
    fn later(&mut self, sample: &Sample) -> Option<GroundVelocity> {
        self.late.extend(sample.ground_velocity.map(|velocity| (sample.time, velocity)));
        let (came, _) = self.late.front()?;
        let is_due = sample.time.since(*came) >= LATE;
        if is_due { self.late.pop_front().map(|(_, velocity)| velocity) } else { None }
    }
}

/// Of one axis's deviation, and three more of vibration.
fn root_sum(deviation: f32, more: f32) -> f32 {
    libm::sqrtf(deviation * deviation + 3.0 * more * more)
}

fn clipped(felt: &Inertial, range_mps2: f32) -> Inertial {
    let end = |axis: MetrePerSecond2| MetrePerSecond2(axis.0.clamp(-range_mps2, range_mps2));
    let spread =
        felt.spread.map(|spread| Spread { largest_force: end(spread.largest_force), ..spread });
    Inertial { specific_force: mapped(felt.specific_force, end), spread, ..*felt }
}

fn a_quarter_turned(felt: &Inertial) -> Inertial {
    let Inertial { specific_force: force, turn_rate: turn, spread } = *felt;
    Inertial {
        specific_force: Axes { x: MetrePerSecond2(-force.y.0), y: force.x, z: force.z },
        turn_rate: Axes { x: RadianPerSecond(-turn.y.0), y: turn.x, z: turn.z },
        spread,
    }
}

/// With the turn rate about one axis changed.
fn with_turn(felt: &Inertial, axis: usize, change: impl Fn(f32) -> f32) -> Inertial {
    let turn_rate = on_axis(felt.turn_rate, axis, |rate| RadianPerSecond(change(rate.0)));
    Inertial { turn_rate, ..*felt }
}

/// With the force along one axis changed.
fn with_force(felt: &Inertial, axis: usize, change: impl Fn(f32) -> f32) -> Inertial {
    let specific_force =
        on_axis(felt.specific_force, axis, |force| MetrePerSecond2(change(force.0)));
    Inertial { specific_force, ..*felt }
}

fn wrong(velocity: GroundVelocity) -> GroundVelocity {
    let [north, east, down] = WRONG_MPS;
    let off = |speed: MetrePerSecond, by: f32| MetrePerSecond(speed.0 + by);
    GroundVelocity {
        north: off(velocity.north, north),
        east: off(velocity.east, east),
        down: off(velocity.down, down),
        ..velocity
    }
}

fn mapped<T: Copy>(axes: Axes<T>, mut change: impl FnMut(T) -> T) -> Axes<T> {
    let [x, y, z] = axes.as_array().map(&mut change);
    Axes { x, y, z }
}

fn on_axis<T: Copy>(axes: Axes<T>, which: usize, change: impl Fn(T) -> T) -> Axes<T> {
    let mut place = 0;
    mapped(axes, |axis| {
        place += 1;
        if place == which + 1 { change(axis) } else { axis }
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use chirrup_core::Pascal;

    fn sample(place: i64) -> Sample {
        let force = [1.0, 2.0, -30.0].map(MetrePerSecond2);
        let turn = [0.1, 0.2, 0.3].map(RadianPerSecond);
        let axes = |[x, y, z]: [MetrePerSecond2; 3]| Axes { x, y, z };
        let [x, y, z] = turn;
        let spread = Spread {
            largest_force: MetrePerSecond2(40.0),
            force_deviation: MetrePerSecond2(0.1),
            largest_turn: RadianPerSecond(0.4),
            turn_deviation: RadianPerSecond(0.01),
        };
        let inertial = Inertial {
            specific_force: axes(force),
            turn_rate: Axes { x, y, z },
            spread: Some(spread),
        };
        let [north, east, down] = [place as f32, 20.0, 1.0].map(MetrePerSecond);
        Sample {
            inertial: Some(inertial),
            ground_velocity: (place % 10 == 0).then_some(GroundVelocity {
                north,
                east,
                down,
                age: Micros(0),
            }),
            ..Sample::of_static(Micros(20_000 * place), Pascal(90_000.0))
        }
    }

    fn spoilt(fault: MotionFault) -> Inertial {
        MotionSpoiler::new(fault, 1).spoil(&sample(0)).inertial.expect("it is there")
    }

    fn forces(inertial: &Inertial) -> [f32; 3] {
        inertial.specific_force.as_array().map(|axis| axis.0)
    }

    fn turns(inertial: &Inertial) -> [f32; 3] {
        inertial.turn_rate.as_array().map(|axis| axis.0)
    }

    #[test]
    fn each_fault_does_what_it_says_and_nothing_else() {
        use MotionFault::*;
        let (force, turn) = ([1.0, 2.0, -30.0], [0.1, 0.2, 0.3]);
        for (fault, expected) in [
            (GyroReversed(0), (force, [-0.1, 0.2, 0.3])),
            (GyroReversed(2), (force, [0.1, 0.2, -0.3])),
            (AccelReversed(1), ([1.0, -2.0, -30.0], turn)),
            // A sensor turned to the left by a quarter: forward is felt to its right.
            (QuarterTurn, ([-2.0, 1.0, -30.0], [-0.2, 0.1, 0.3])),
            (LowGain, (force, turn.map(|rate| 0.85 * rate))),
            (AccelLowGain, (force.map(|force| 0.85 * force), turn)),
            (GyroBias(1), (force, [0.1, 0.25, 0.3])),
            (AccelBias(0), ([1.5, 2.0, -30.0], turn)),
            (Clipped(20), ([1.0, 2.0, -2.0 * G_MPS2], turn)),
            (Clipped(15), ([1.0, 2.0, -1.5 * G_MPS2], turn)),
        ] {
            let found = spoilt(fault);
            assert_eq!((forces(&found), turns(&found)), expected, "{fault:?}");
        }
        assert_eq!(MotionSpoiler::new(Lost, 1).spoil(&sample(0)).inertial, None);
    }

    #[test]
    fn what_is_stuck_keeps_the_value_before_the_fault_and_the_rest_moves_on() {
        use MotionFault::*;
        let mut other = sample(1);
        other.inertial = Some(spoilt(QuarterTurn));
        for (fault, expected) in [
            (Frozen, ([1.0, 2.0, -30.0], [0.1, 0.2, 0.3])),
            (GyroStuck(0), ([-2.0, 1.0, -30.0], [0.1, 0.1, 0.3])),
            (AccelStuck(1), ([-2.0, 2.0, -30.0], [-0.2, 0.1, 0.3])),
        ] {
            let mut stuck = MotionSpoiler::new(fault, 1);
            stuck.pass(false, &sample(0));
            let found = stuck.spoil(&other).inertial.expect("it is there");
            assert_eq!((forces(&found), turns(&found)), expected, "{fault:?}");
        }
    }

    #[test]
    fn a_frozen_receiver_repeats_its_velocity_when_a_new_one_is_due_and_calls_it_new() {
        let mut frozen = MotionSpoiler::new(MotionFault::GroundFrozen, 1);
        frozen.pass(false, &sample(10));
        for place in 11..100 {
            let found = frozen.spoil(&sample(place)).ground_velocity;
            let expected = (place % 10 == 0).then_some((10.0, Micros(0)));
            assert_eq!(found.map(|it| (it.north.0, it.age)), expected, "{place}");
        }
    }

    #[test]
    fn vibration_is_in_the_spread_and_a_quarter_of_it_in_the_means() {
        let mut shaken = MotionSpoiler::new(MotionFault::Shaken, 1);
        let all: Vec<Inertial> =
            (0..4000).filter_map(|place| shaken.spoil(&sample(place)).inertial).collect();
        let square: f32 = all.iter().map(|it| (it.specific_force.x.0 - 1.0).powi(2)).sum();
        let rms = (square / all.len() as f32).sqrt();
        assert!((rms / 2.5 - 1.0).abs() < 0.05, "{rms}");
        let spread = all[0].spread.expect("it is there");
        assert!((spread.force_deviation.0 / (10.0 * 3.0_f32.sqrt()) - 1.0).abs() < 0.01);
        assert!(spread.largest_force.0 > 60.0);
    }

    #[test]
    fn a_late_velocity_comes_a_second_later_and_a_wrong_one_at_once() {
        let mut late = MotionSpoiler::new(MotionFault::GroundLate, 1);
        for place in 0..500 {
            let found = late.spoil(&sample(place)).ground_velocity.map(|it| it.north.0);
            let due = place >= 50 && place % 10 == 0;
            assert_eq!(found, due.then_some((place - 50) as f32), "{place}");
        }
        let found = MotionSpoiler::new(MotionFault::GroundWrong, 1).spoil(&sample(10));
        let velocity = found.ground_velocity.expect("it is there");
        assert_eq!((velocity.north.0, velocity.east.0, velocity.down.0), (22.0, 12.0, 5.0));
        assert_eq!(found.inertial, sample(10).inertial);
    }
}
