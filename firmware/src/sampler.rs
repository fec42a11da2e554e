//! All sensors on one bus: which one is served next, and how the measurements of one frame become a
//! sample.
//!
//! ```text
//! frame          0 ms                    9.2 ms  9.8 ms           14 ms             20 ms
//! static         convert ............... read    temperature .... read              convert ..
//! second          convert ............... read    temperature .... read              convert ..
//! differential      read  read  read  read
//! inertial                                      read its memory (or: found and started)
//! sample          once every live sensor has measured; at 16 ms without the late one
//! ```
//!
//! The sensors are independent, and in step because each begins with the frame; the time of the
//! sample is the middle of the static barometer's conversion. Two barometers of a kind are
//! converted together, and kinds are at most 5 ms apart: the middles are at 4.1 ms (MS5611), 4.2
//! (DPS310), 5 (SDP3x), 6.2 (BMP581) and 8.7 (BMP390). Times are reckoned from when a command was
//! on the wire, not from when a busy program heard of it.
//! A bus that hangs twice in a row is clocked free. An inertial sensor is looked for in the first
//! second; where there is none, the bus is left to the others.

use crate::gnss::receiver::Ground;
use crate::inertial::InertialCandidate;
use crate::inertial::average::{Averaged, Averager};
use crate::slot::{Candidate, Condition, Slot};
use chirrup_core::{DeviceSettings, SecondBarometer};
use chirrup_core::{Micros, Pascal, Sample, Speed};
use chirrup_sensors::bus::{BusFault, BusStep, Reply};
use chirrup_sensors::ms4525::Scale;
use chirrup_sensors::sensor::{FRAME, Wanted, after, frame_of};
use chirrup_sensors::{bmp581, sdp3x};

/// Kinds of barometers, each of which may be at either of two addresses.
const KINDS_OF_BAROMETER: usize = 4;
/// Time in a frame after which a sample no longer waits for sensors.
const LATEST: Micros = Micros(16_000);
/// A board begins a transaction within this time of being given it, and usually knows as soon that
/// it is over (a guess with room: on the Pico both are some 50 us).
const BEGUN_WITHIN: Micros = Micros(150);
/// Hung transactions in a row after which the bus is clocked free.
const STUCK_AFTER: u8 = 2;
/// Time between two attempts to clock the bus free.
const BETWEEN_RECOVERIES: Micros = Micros(500_000);
/// A barometer that repeats one value this often is frozen: a second.
const BAROMETER_FROZEN_AFTER: u16 = 50;
/// A differential sensor at rest is quiet and coarse: five seconds.
const DIFFERENTIAL_FROZEN_AFTER: u16 = 250;
/// An inertial sensor is noisier than its counts: half a second.
const INERTIAL_FROZEN_AFTER: u16 = 25;
/// Searches for an inertial sensor, half a second apart.
const INERTIAL_SEARCHES: u8 = 2;

/// The role of a sensor.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Role {
    /// Static pressure.
    Static,
    /// A total-energy probe's or the pitot's pressure.
    Second,
    /// Pitot less static.
    Differential,
    /// Specific force and turn rate.
    Inertial,
}

impl Role {
    /// All of them.
    pub const ALL: [Role; 4] = [Role::Static, Role::Second, Role::Differential, Role::Inertial];

    /// The name for messages.
    pub fn name(self) -> &'static str {
        match self {
            Role::Static => "static",
            Role::Second => "second",
            Role::Differential => "differential",
            Role::Inertial => "inertial",
        }
    }

    /// Whether an instrument without such a sensor is whole.
    pub fn is_optional(self) -> bool {
        matches!(self, Role::Differential | Role::Inertial)
    }
}

/// One sample, in integers as measured.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Sampled {
    /// The middle of the static barometer's conversion.
    pub time: Micros,
    /// Static pressure in 1/64 Pa.
    pub static_64ths_pa: i32,
    /// Pitot less static in 1/64 Pa.
    pub dynamic_64ths_pa: Option<i32>,
    /// Pressure in a total-energy probe's line in 1/64 Pa.
    pub te_64ths_pa: Option<i32>,
    /// Specific force and turn rate since the sample before.
    pub inertial: Option<Averaged>,
    /// Velocity over the ground.
    pub ground: Option<Ground>,
}

impl Sampled {
    /// The same for the core; exact, since 1/64 Pa below 131 072 Pa fits an `f32`.
    pub fn sample(&self) -> Sample {
        let pascals = |sixty_fourths: i32| Pascal(sixty_fourths as f32 / 64.0);
        Sample {
            speed: self.dynamic_64ths_pa.map(|dynamic| Speed::Dynamic(pascals(dynamic))),
            te_pressure: self.te_64ths_pa.map(pascals),
            inertial: self.inertial.as_ref().map(Averaged::inertial),
            ground_velocity: self.ground.as_ref().map(Ground::ground_velocity),
            ..Sample::of_static(self.time, pascals(self.static_64ths_pa))
        }
    }
}

/// A transaction that the board was given.
#[derive(Clone, Copy, Debug)]
struct Awaited {
    role: Role,
    /// When it is over on the wire at the latest. A program that is busy learns it later.
    over: Micros,
}

/// The sensors and the bus.
#[derive(Clone, Debug)]
pub struct Sampler {
    static_barometer: Slot,
    second: Option<Slot>,
    second_is: SecondBarometer,
    differential: Slot,
    inertial: Slot<InertialCandidate>,
    averager: Averager,
    dynamic_zero_64ths_pa: i32,
    waiting_for: Option<Awaited>,
    stuck: u8,
    is_stuck: bool,
    next_recovery: Micros,
    /// The last frame whose sample was made.
    made: i64,
    ready: Option<Sampled>,
    /// The one that is ready was worked out, and waits for the recorder.
    is_worked_out: bool,
}

impl Sampler {
    /// Looks for the sensors in the settings.
    pub fn new(device: &DeviceSettings) -> Self {
        let scale = Scale::new(device.differential_range_pa, device.differential_output);
        let barometer =
            |first, others: &[Candidate]| Slot::new(first, others, BAROMETER_FROZEN_AFTER);
        let [first, others @ ..] = barometers(Pin::High);
        let (static_barometer, second) = match device.second_barometer {
            SecondBarometer::None => {
                let [a, b, c] = others;
                let [d, e, f, g] = barometers(Pin::Low);
                (barometer(first, &[a, b, c, d, e, f, g]), None)
            }
            SecondBarometer::Probe | SecondBarometer::Pitot => {
                let [low, low_others @ ..] = barometers(Pin::Low);
                (barometer(first, &others), Some(barometer(low, &low_others)))
            }
        };
        let [sdp_1, sdp_2, sdp_3] = sdp3x::driver::ADDRESSES.map(Candidate::Sdp3x);
        let differential =
            Slot::new(Candidate::Ms4525(scale), &[sdp_1, sdp_2, sdp_3], DIFFERENTIAL_FROZEN_AFTER);
        Self {
            static_barometer,
            second,
            second_is: device.second_barometer,
            differential,
            inertial: inertial_slot(),
            averager: Averager::default(),
            dynamic_zero_64ths_pa: (device.dynamic_zero_pa * 64.0) as i32,
            waiting_for: None,
            stuck: 0,
            is_stuck: false,
            next_recovery: Micros(i64::MIN),
            made: i64::MIN,
            ready: None,
            is_worked_out: false,
        }
    }

    /// What the bus should do next.
    pub fn step(&mut self, now: Micros) -> BusStep {
        if self.stuck >= STUCK_AFTER && now >= self.next_recovery {
            return BusStep::Recover;
        }
        let mut until = self.gather(now);
        for role in Role::ALL {
            match self.wanted(role, now) {
                None => {}
                Some(Wanted::Nothing(later)) => until = until.min(later),
                Some(Wanted::Transact(transaction)) => {
                    let over = after(after(now, transaction.on_the_wire()), BEGUN_WITHIN);
                    self.waiting_for = Some(Awaited { role, over });
                    return BusStep::Transact(transaction);
                }
            }
        }
        BusStep::Wait(until)
    }

    /// Takes the result of the transaction.
    pub fn done(&mut self, now: Micros, result: Result<Reply, BusFault>) {
        if result == Err(BusFault::Stuck) {
            self.stuck = self.stuck.saturating_add(1);
        } else {
            self.stuck = 0;
            self.is_stuck = false;
        }
        let Some(Awaited { role, over }) = self.waiting_for.take() else { return };
        let ended = if result.is_ok() { now.min(over) } else { now };
        let answer = result.as_deref().map_err(|fault| *fault);
        if role == Role::Inertial {
            let measured = self.inertial.answer(ended, answer);
            measured.into_iter().for_each(|batch| self.averager.add(&batch));
        } else if let Some(slot) = self.slot_mut(role) {
            slot.answer(ended, answer);
        }
        self.gather(now);
    }

    fn wanted(&mut self, role: Role, now: Micros) -> Option<Wanted> {
        match role {
            Role::Inertial => Some(self.inertial.wanted(now)),
            _ => self.slot_mut(role).map(|slot| slot.wanted(now)),
        }
    }

    /// Takes whether clocking freed the bus.
    pub fn recovered(&mut self, now: Micros, freed: bool) {
        self.stuck = 0;
        self.is_stuck = !freed;
        self.next_recovery = after(now, BETWEEN_RECOVERIES);
    }

    /// Whether a line of the bus is held down, and nine clocks did not help.
    pub fn is_stuck(&self) -> bool {
        self.is_stuck
    }

    /// The sample that is ready, if there is one.
    pub fn take(&mut self) -> Option<Sampled> {
        self.ready.take_if(|_| !self.is_worked_out)
    }

    /// Takes back a sample that was worked out, in the one place that there is for samples.
    pub fn put_back(&mut self, sampled: Sampled) {
        (self.ready, self.is_worked_out) = (Some(sampled), true);
    }

    /// The sample that was worked out last, once.
    pub fn take_worked_out(&mut self) -> Option<Sampled> {
        self.ready.take_if(|_| self.is_worked_out)
    }

    /// The pressure sensor in a role; `None` where the settings have none.
    pub fn slot(&self, role: Role) -> Option<&Slot> {
        match role {
            Role::Static => Some(&self.static_barometer),
            Role::Second => self.second.as_ref(),
            Role::Differential => Some(&self.differential),
            Role::Inertial => None,
        }
    }

    /// The inertial sensor's place.
    pub fn inertial(&self) -> &Slot<InertialCandidate> {
        &self.inertial
    }

    /// What the dynamic pressure would read without its zero taken off, if it is measured, in
    /// 1/64 Pa.
    pub fn raw_dynamic_64ths_pa(&self) -> Option<i32> {
        let frame = frame_of(self.static_barometer.latest()?.time);
        self.raw_dynamic(frame)
    }

    /// Takes `zero` off the dynamic pressure from now on.
    pub fn set_dynamic_zero_64ths_pa(&mut self, zero: i32) {
        self.dynamic_zero_64ths_pa = zero;
    }

    /// The processor has stood still; see [`Slot::stood_still`].
    pub fn stood_still(&mut self) {
        for role in Role::ALL {
            match self.slot_mut(role) {
                Some(slot) => slot.stood_still(),
                None if role == Role::Inertial => self.inertial.stood_still(),
                None => {}
            }
        }
    }

    fn slot_mut(&mut self, role: Role) -> Option<&mut Slot> {
        match role {
            Role::Static => Some(&mut self.static_barometer),
            Role::Second => self.second.as_mut(),
            Role::Differential => Some(&mut self.differential),
            Role::Inertial => None,
        }
    }

    /// Makes the sample of a frame once possible; returns when to check again.
    fn gather(&mut self, now: Micros) -> Micros {
        const NEVER: Micros = Micros(i64::MAX);
        let Some(measured) = self.static_barometer.latest() else { return NEVER };
        let frame = frame_of(measured.time);
        if frame == self.made {
            return NEVER;
        }
        let latest = after(Micros(frame.saturating_mul(FRAME.0)), LATEST);
        let others = [self.second.as_ref(), Some(&self.differential)];
        let is_waited_for = others.into_iter().flatten().any(|slot| slot.may_measure_in(frame))
            || self.inertial.may_measure_in(frame);
        if is_waited_for && now < latest {
            return latest;
        }
        self.made = frame;
        let probe = self.second.as_ref().filter(|_| self.second_is == SecondBarometer::Probe);
        self.is_worked_out = false;
        self.ready = Some(Sampled {
            time: measured.time,
            static_64ths_pa: measured.pressure_64ths_pa,
            dynamic_64ths_pa: self
                .raw_dynamic(frame)
                .map(|raw| raw.saturating_sub(self.dynamic_zero_64ths_pa)),
            te_64ths_pa: probe
                .and_then(|slot| slot.measured_in(frame))
                .map(|te| te.pressure_64ths_pa),
            inertial: self.take_inertial(),
            ground: None,
        });
        NEVER
    }

    /// The mean since the sample before; a sensor that is lost or frozen has none.
    fn take_inertial(&mut self) -> Option<Averaged> {
        let scale = self.inertial.latest()?.scale;
        let averaged = self.averager.take(scale);
        averaged.filter(|_| self.inertial.condition() == Condition::Live)
    }

    fn raw_dynamic(&self, frame: i64) -> Option<i32> {
        let static_pressure = self.static_barometer.measured_in(frame)?.pressure_64ths_pa;
        if let Some(difference) = self.differential.measured_in(frame) {
            let read = difference.pressure_64ths_pa;
            return Some(match self.differential.measures_a_flow() {
                true => sdp3x::at_static_64ths_pa(read, static_pressure),
                false => read,
            });
        }
        let pitot = self.second.as_ref().filter(|_| self.second_is == SecondBarometer::Pitot)?;
        Some(pitot.measured_in(frame)?.pressure_64ths_pa.saturating_sub(static_pressure))
    }

    /// The condition of the sensor in a role; `None` where the settings have none.
    pub fn condition(&self, role: Role) -> Option<Condition> {
        match role {
            Role::Inertial => Some(self.inertial.condition()),
            _ => self.slot(role).map(Slot::condition),
        }
    }

    /// Kind and address of the sensor in a role; `None` where the settings have none.
    pub fn identity(&self, role: Role) -> Option<(&'static str, u8)> {
        match role {
            Role::Inertial => Some(self.inertial.identity()),
            _ => self.slot(role).map(Slot::identity),
        }
    }
}

/// How the pin that chooses between two addresses is wired: the static barometer's high, where
/// there are two.
enum Pin {
    High,
    Low,
}

/// All barometers at one wiring of that pin. Those with an identity come first, and the MS5611,
/// which has none, last; and the DPS310 before the BMP390, whose identity is asked for where a
/// DPS310 has a pressure.
fn barometers(pin: Pin) -> [Candidate; KINDS_OF_BAROMETER] {
    let (most, bmp581) = match pin {
        Pin::High => (0x77, bmp581::driver::ADDRESS_SDO_HIGH),
        Pin::Low => (0x76, bmp581::driver::ADDRESS_SDO_LOW),
    };
    [
        Candidate::Bmp581(bmp581),
        Candidate::Dps310(most),
        Candidate::Bmp390(most),
        Candidate::Ms5611(most),
    ]
}

fn inertial_slot() -> Slot<InertialCandidate> {
    let [first, others @ ..] = InertialCandidate::ALL;
    Slot::of_the_start(first, &others, INERTIAL_FROZEN_AFTER, INERTIAL_SEARCHES)
}

#[cfg(test)]
mod tests;
