//! What each fault does to a sample.

use super::catalogue::Kind;
use super::disturbance::{Disturbance, Disturbed};
use super::tubes::{self, Water, scaled, with_dynamic};
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
    last_time: Option<Micros>,
    offset_us: Option<i64>,
    drift_pa: f32,
    drift_m: f32,
    water: Water,
    disturbed: Option<Disturbed>,
}

impl Injector {
    pub fn new(kind: Kind, seed: u64) -> Self {
        Self {
            kind,
            rng: ChaCha8Rng::seed_from_u64(seed),
            held: None,
            last_time: None,
            offset_us: None,
            drift_pa: 0.0,
            drift_m: 0.0,
            water: Water::default(),
            disturbed: disturbance_of(kind).map(Disturbed::new),
        }
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
        let Some(since_s) = since_s else {
            self.held = Some(*sample);
            self.last_time = Some(sample.time);
            return out.push(*sample);
        };
        let held = *self.held.get_or_insert(*sample);
        let kind = self.kind;
        match kind {
            Kind::Missing => {}
            Kind::Missed if self.percent() < MISSED_PERCENT => {}
            Kind::Repeated => out.extend([*sample, *sample]),
            _ => {
                let spoilt = self.spoilt(since_s as f32, &held, sample);
                out.push(spoilt);
            }
        }
    }

    fn spoilt(&mut self, since_s: f32, held: &Sample, sample: &Sample) -> Sample {
        if let Some(disturbed) = &mut self.disturbed {
            return disturbed.spoil(since_s, sample);
        }
        let mut spoilt = *sample;
        match self.kind {
            Kind::Absent | Kind::Lost => spoilt.static_pressure = Pascal(f32::NAN),
            Kind::Range => {
                spoilt.static_pressure = Pascal(if self.percent() < 50 { 0.0 } else { 250_000.0 })
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
                    *energy_line(&mut spoilt) += spike;
                }
            }
            Kind::Torn => {
                if self.one_in(TORN_IN) {
                    let bit = 1 << (self.rng.next_u32() % 32);
                    let line = energy_line(&mut spoilt);
                    *line = f32::from_bits(line.to_bits() ^ bit);
                }
            }
            Kind::Drift => {
                self.drift_pa = DRIFT_PA * (since_s / DRIFT_S).min(1.0);
                spoilt.static_pressure.0 += self.drift_pa;
                self.drift_m = pressure_altitude(spoilt.static_pressure).0
                    - pressure_altitude(sample.static_pressure).0;
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
            Kind::ProbeOff => {
                spoilt.te_pressure = sample.te_pressure.map(|_| sample.static_pressure)
            }
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
            | Kind::PitotIce => {}
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

/// The pressure that the reading depends on: the probe's, where there is one.
fn energy_line(sample: &mut Sample) -> &mut f32 {
    match &mut sample.te_pressure {
        Some(probe) => &mut probe.0,
        None => &mut sample.static_pressure.0,
    }
}
