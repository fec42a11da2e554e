//! What each fault does to a sample.

use super::catalogue::Kind;
use super::disturbance::{Disturbance, Disturbed};
use super::motion::{MotionFault, MotionSpoiler};
use super::tubes::{self, Water, scaled, static_pa, with_dynamic};
use chirrup_core::stages::Held;
use chirrup_core::{Micros, Pascal, Sample, pressure_altitude};
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};
use rand_distr::{Distribution, StandardNormal};

/// Standard deviation of the noise that is injected: 2.5 m of height, twenty times an ordinary
/// barometer's.
const NOISE_PA: f32 = 30.0;
/// One sample in this many is a spike of this size.
const SPIKE_IN: u32 = 20;
const SPIKE_PA: f32 = 500.0;
/// One sample in this many has a bit flipped on the bus.
const TORN_IN: u32 = 50;
/// A barometer in the sun, or warming up: drift and its duration.
const DRIFT_PA: f32 = -150.0;
const DRIFT_S: f32 = 180.0;
/// Size of a clock jump.
const JUMP: Micros = Micros(60_000_000);
/// Percentage of samples missing, or late, and the greatest delay.
const MISSED_PERCENT: u32 = 30;
const LATEST_US: i64 = 15_000;
/// A timer of 32 bits that counts microseconds.
const WRAP_US: i64 = 1 << 32;

/// One fault and its state.
pub(super) struct Injector {
    kind: Kind,
    rng: ChaCha8Rng,
    /// The sample before the fault, or the first of it.
    held: Option<Sample>,
    /// What samples without a static pressure brought.
    kept: Held,
    /// The last static pressure during the fault.
    latest: Option<Pascal>,
    last_time: Option<Micros>,
    offset_us: Option<i64>,
    drift_pa: f32,
    drift_m: f32,
    water: Water,
    disturbed: Option<Disturbed>,
    motion: Option<MotionSpoiler>,
    /// The axis that fails, where it is one.
    fails: Option<&'static str>,
}

impl Injector {
    /// A fault of this kind; which axis it is of, where it is of one, `seed` says if nobody else.
    pub fn new(kind: Kind, axis: Option<usize>, seed: u64) -> Self {
        let axis = axis.unwrap_or((seed % 3) as usize);
        let fails = is_of_one_axis(kind).then_some(["x", "y", "z"][axis]);
        Self {
            fails,
            kind,
            rng: ChaCha8Rng::seed_from_u64(seed),
            held: None,
            kept: Held::default(),
            latest: None,
            last_time: None,
            offset_us: None,
            drift_pa: 0.0,
            drift_m: 0.0,
            water: Water::default(),
            disturbed: disturbance_of(kind).map(Disturbed::new),
            motion: motion_fault_of(kind, axis).map(|fault| MotionSpoiler::new(fault, seed)),
        }
    }

    /// The axis of the inertial sensor that fails, where it is a fault of one.
    pub fn axis(&self) -> Option<&'static str> {
        self.fails
    }

    /// The drift so far, in pascals and in metres.
    pub fn drifted(&self) -> Option<(f32, f32)> {
        (self.kind == Kind::Drift).then_some((self.drift_pa, self.drift_m))
    }

    /// Writes the result for `sample` into `out`; `since_s` is the time since the fault began,
    /// `None` outside it.
    pub fn pass(&mut self, since_s: Option<f64>, sample: &Sample, out: &mut Vec<Sample>) {
        if self.kind == Kind::TimerWrap {
            return out.push(self.wrapped(since_s, sample));
        }
        if let Some(motion) = &mut self.motion {
            return out.push(motion.pass(since_s.is_some(), sample));
        }
        let filled = self.kept.fill(sample);
        let is_partial = sample.static_pressure.is_none();
        let Some(since_s) = since_s else {
            self.held = if is_partial { self.held } else { Some(filled) };
            self.last_time = Some(sample.time);
            return out.push(*sample);
        };
        if is_partial && self.held.is_none() {
            // Nothing is known yet of the pressure in which its sensors are.
            return out.push(*sample);
        }
        let held = *self.held.get_or_insert(filled);
        let kind = self.kind;
        match kind {
            Kind::Missing => {}
            Kind::Missed if self.percent() < MISSED_PERCENT => {}
            Kind::Repeated => out.extend([*sample, *sample]),
            _ => {
                self.latest = sample.static_pressure.or(self.latest).or(held.static_pressure);
                let whole = Sample { static_pressure: self.latest, ..*sample };
                let spoilt = self.spoilt(since_s as f32, &held, &whole);
                out.push(with_no_more_than(sample, spoilt));
            }
        }
    }

    fn spoilt(&mut self, since_s: f32, held: &Sample, sample: &Sample) -> Sample {
        if let Some(disturbed) = &mut self.disturbed {
            return disturbed.spoil(since_s, sample);
        }
        let mut spoilt = *sample;
        match self.kind {
            Kind::Absent | Kind::Lost => spoilt.static_pressure = Some(Pascal(f32::NAN)),
            Kind::Range => {
                let pressure = if self.percent() < 50 { 0.0 } else { 250_000.0 };
                spoilt.static_pressure = Some(Pascal(pressure));
            }
            Kind::Frozen => spoilt = Sample { time: sample.time, ..*held },
            Kind::Noisy => {
                let noise =
                    [self.normal(), self.normal(), self.normal()].map(|normal| NOISE_PA * normal);
                spoilt = tubes::shifted(sample, noise);
            }
            Kind::Spikes => {
                if self.one_in(SPIKE_IN) {
                    let spike = if self.percent() < 50 { SPIKE_PA } else { -SPIKE_PA };
                    on_energy_line(&mut spoilt, |pressure| pressure + spike);
                }
            }
            Kind::Torn => {
                if self.one_in(TORN_IN) {
                    let bit = 1 << (self.rng.next_u32() % 32);
                    on_energy_line(&mut spoilt, |line| f32::from_bits(line.to_bits() ^ bit));
                }
            }
            Kind::Drift => {
                self.drift_pa = DRIFT_PA * (since_s / DRIFT_S).min(1.0);
                let drifted = |pressure: Pascal| Pascal(pressure.0 + self.drift_pa);
                spoilt.static_pressure = sample.static_pressure.map(drifted);
                let altitude = |sample: &Sample| pressure_altitude(Pascal(static_pa(sample))).0;
                self.drift_m = altitude(&spoilt) - altitude(sample);
            }
            Kind::StaticBlocked => {
                spoilt = tubes::static_blocked(held, sample, 0.5 * self.normal())
            }
            Kind::PitotBlocked => spoilt = tubes::pitot_blocked(held, sample, 0.5 * self.normal()),
            Kind::Swapped => spoilt = scaled(sample, -1.0),
            Kind::PitotLeak => spoilt = scaled(sample, 0.6),
            Kind::StaticLeak => spoilt = tubes::static_leak(since_s, sample),
            Kind::PitotOff => spoilt = with_dynamic(sample, |_| 0.0),
            Kind::AirspeedLost => spoilt.speed = None,
            Kind::ProbeLost => spoilt.te_pressure = None,
            Kind::ProbeOff => spoilt.te_pressure = sample.te_pressure.and(sample.static_pressure),
            Kind::Water => spoilt = self.water.spoil(since_s, sample),
            Kind::ClockBack => spoilt.time.0 -= JUMP.0,
            Kind::ClockAhead => spoilt.time.0 += JUMP.0,
            Kind::Late => {
                let late = i64::from(self.rng.next_u32()) % LATEST_US;
                // Time stamps stay in order: a sample is never later than the next one.
                let earliest = self.last_time.map_or(i64::MIN, |last| last.0 + 1);
                spoilt.time = Micros((sample.time.0 + late).max(earliest));
                self.last_time = Some(spoilt.time);
            }
            // Not in the pressures.
            Kind::Missed | Kind::Missing | Kind::Repeated | Kind::TimerWrap => {}
            // Done above.
            Kind::Bursts
            | Kind::Vent
            | Kind::Step
            | Kind::WrongSamples
            | Kind::Coarse
            | Kind::StaticIce
            | Kind::PitotIce
            | Kind::InertialLost
            | Kind::InertialFrozen
            | Kind::GyroReversed
            | Kind::ForceReversed
            | Kind::GyroStuck
            | Kind::ForceStuck
            | Kind::GyroBias
            | Kind::ForceBias
            | Kind::QuarterTurn
            | Kind::GyroGain
            | Kind::ForceGain
            | Kind::Clipped
            | Kind::ClippedSooner
            | Kind::Shaken
            | Kind::GroundWrong
            | Kind::GroundLate
            | Kind::GroundFrozen => {}
        }
        spoilt
    }

    /// The time of a timer of 32 bits that wraps when the fault begins.
    fn wrapped(&mut self, since_s: Option<f64>, sample: &Sample) -> Sample {
        let since_us = match since_s {
            Some(since_s) => (since_s * 1e6).round() as i64,
            None => sample.time.0 - self.offset_us.unwrap_or(0),
        };
        Sample { time: Micros(since_us.rem_euclid(WRAP_US)), ..*sample }
    }

    /// Tells a timer when it will wrap.
    pub fn begins_at(&mut self, from: Micros) {
        self.offset_us = Some(from.0);
    }

    fn percent(&mut self) -> u32 {
        self.rng.next_u32() % 100
    }

    fn one_in(&mut self, count: u32) -> bool {
        self.rng.next_u32().is_multiple_of(count)
    }

    fn normal(&mut self) -> f32 {
        StandardNormal.sample(&mut self.rng)
    }
}

/// The disturbance that a fault is, where it is one; `fault_grid` has their other sizes.
fn disturbance_of(kind: Kind) -> Option<Disturbance> {
    Some(match kind {
        Kind::Bursts => Disturbance::Bursts { pa: -10.0, lasts_s: 0.12, every_s: 1.0 },
        Kind::Vent => Disturbance::Vent { pa: 40.0, rise_s: 0.3, every_s: 8.0 },
        Kind::Step => Disturbance::Step { metres: 50.0 },
        Kind::WrongSamples => Disturbance::Wrong { metres: -600.0, samples: 2 },
        Kind::Coarse => Disturbance::Coarse { pa: 4.0 },
        Kind::StaticIce => Disturbance::StaticIce { closes_s: 10.0 },
        Kind::PitotIce => Disturbance::PitotIce { closes_s: 10.0 },
        _ => return None,
    })
}

/// Whether it is a fault of one axis of the inertial sensor.
pub fn is_of_one_axis(kind: Kind) -> bool {
    motion_fault_of(kind, 0) != motion_fault_of(kind, 1)
}

/// What a fault does to an inertial sensor or a satellite receiver, where it is one of theirs;
/// `axis` is the one that fails, 0 to 2.
fn motion_fault_of(kind: Kind, axis: usize) -> Option<MotionFault> {
    Some(match kind {
        Kind::InertialLost => MotionFault::Lost,
        Kind::InertialFrozen => MotionFault::Frozen,
        Kind::GyroReversed => MotionFault::GyroReversed(axis),
        Kind::ForceReversed => MotionFault::AccelReversed(axis),
        Kind::GyroStuck => MotionFault::GyroStuck(axis),
        Kind::ForceStuck => MotionFault::AccelStuck(axis),
        Kind::GyroBias => MotionFault::GyroBias(axis),
        Kind::ForceBias => MotionFault::AccelBias(axis),
        Kind::QuarterTurn => MotionFault::QuarterTurn,
        Kind::GyroGain => MotionFault::LowGain,
        Kind::ForceGain => MotionFault::AccelLowGain,
        Kind::Clipped => MotionFault::Clipped(20),
        Kind::ClippedSooner => MotionFault::Clipped(15),
        Kind::Shaken => MotionFault::Shaken,
        Kind::GroundWrong => MotionFault::GroundWrong,
        Kind::GroundLate => MotionFault::GroundLate,
        Kind::GroundFrozen => MotionFault::GroundFrozen,
        _ => return None,
    })
}

/// What is spoilt of a sample: nothing appears in it that it had not.
fn with_no_more_than(sample: &Sample, spoilt: Sample) -> Sample {
    Sample {
        static_pressure: sample.static_pressure.and(spoilt.static_pressure),
        speed: sample.speed.and(spoilt.speed),
        te_pressure: sample.te_pressure.and(spoilt.te_pressure),
        outside_air: sample.outside_air.and(spoilt.outside_air),
        ..spoilt
    }
}

/// Changes the pressure that the reading depends on: the probe's, where there is one.
fn on_energy_line(sample: &mut Sample, change: impl Fn(f32) -> f32) {
    let line = sample.te_pressure.as_mut().or(sample.static_pressure.as_mut());
    if let Some(pressure) = line {
        pressure.0 = change(pressure.0);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::inject::catalogue::TRACE_KINDS;
    use chirrup_core::Speed;

    /// A barometer and a pitot by turns, each with a sample of its own; `held` is before the fault.
    fn spoilt_by_turns(kind: Kind) -> Vec<Sample> {
        let mut injector = Injector::new(kind, None, 1);
        let mut out = Vec::new();
        for place in 0..200_i32 {
            let mut sample = Sample::of_static(Micros(10_000 * i64::from(place)), Pascal(90_000.0));
            sample.static_pressure = Some(Pascal(90_000.0 + place as f32));
            if place % 2 == 1 {
                sample.static_pressure = None;
                sample.speed = Some(Speed::Dynamic(Pascal(500.0)));
            }
            injector.pass((place >= 100).then(|| f64::from(place) * 0.01), &sample, &mut out);
        }
        out
    }

    #[test]
    fn a_fault_adds_nothing_to_a_sample_that_was_not_in_it() {
        for kind in TRACE_KINDS {
            for sample in spoilt_by_turns(kind) {
                let both = sample.static_pressure.is_some() && sample.speed.is_some();
                assert!(!both && sample.te_pressure.is_none(), "{kind:?}: {sample:?}");
            }
        }
    }

    #[test]
    fn a_blocked_static_line_shows_in_an_airspeed_with_a_sample_of_its_own() {
        let last = spoilt_by_turns(Kind::StaticBlocked).pop().and_then(|sample| sample.speed);
        let Some(Speed::Dynamic(Pascal(dynamic))) = last else { panic!("there is no pitot") };
        // The line holds 90 098 Pa, of the last barometer's sample before; the last is 90 198 Pa.
        assert!((dynamic - 600.0).abs() < 3.0, "{dynamic}");
    }
}
