//! What senses the flight: ports, tubes, sensors, and what goes wrong with them.
//!
//! ```text
//! port     static p + e q      pitot p + q_c      probe p + C q        q = rho V^2 / 2, q_c of a pitot, C -1 for a good probe
//! tube     first-order lag; shut, or with water in it, while a fault lasts
//! sensor   (pitot minus static for `dynamic`) delay, warm-up, white noise, steps, spikes
//! ```
//!
//! Tubes are followed exactly for a pressure that is linear in time over a tick. Every sensor has
//! random numbers of its own, so that a change to one leaves the others' noise as it was.

use super::flight::Moment;
use super::motion::TICK_S;
use super::scenario::{
    ChannelSettings, FaultKind, FaultSettings, Line, SensorSettings, ThermometerSettings,
};
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;
use rand_distr::{Distribution, StandardNormal};
use std::collections::VecDeque;

const KELVIN_AT_0_C: f64 = 273.15;
const USUAL_WARM_UP_S: f64 = 300.0;
const USUAL_WATER_S: f64 = 5.0;

/// What was sensed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sensed {
    /// Time stamp, microseconds.
    pub stamp_us: i64,
    /// Static pressure, Pa.
    pub static_pa: f64,
    /// Pitot minus static, Pa.
    pub dynamic_pa: Option<f64>,
    /// Pressure in the probe's line, Pa.
    pub te_pa: Option<f64>,
    /// Outside temperature, degrees Celsius.
    pub oat_c: Option<f64>,
}

/// Every sensor of the instrument.
pub struct Sensors<'a> {
    settings: &'a SensorSettings,
    faults: &'a [FaultSettings],
    static_line: Tube,
    pitot_line: Tube,
    probe_line: Tube,
    static_sensor: Sensor<'a>,
    dynamic_sensor: Option<Sensor<'a>>,
    probe_sensor: Option<Sensor<'a>>,
    thermometer: Option<Thermometer<'a>>,
    clock: ChaCha8Rng,
    samples: u64,
    last_stamp_us: i64,
    spikes: Vec<bool>,
}

impl<'a> Sensors<'a> {
    /// Sensors that have been at the first moment's pressures for long.
    pub fn new(settings: &'a SensorSettings, faults: &'a [FaultSettings], seed: u64) -> Self {
        let sensor = |channel: &'a ChannelSettings, stream| Sensor::new(channel, rng(seed, stream));
        Self {
            static_line: Tube::default(),
            pitot_line: Tube::default(),
            probe_line: Tube::default(),
            static_sensor: sensor(&settings.static_port, 1),
            dynamic_sensor: settings.dynamic.as_ref().map(|channel| sensor(channel, 2)),
            probe_sensor: settings.probe.as_ref().map(|channel| sensor(channel, 3)),
            thermometer: settings.thermometer.as_ref().map(|it| Thermometer::new(it, rng(seed, 4))),
            clock: rng(seed, 5),
            samples: 0,
            last_stamp_us: i64::MIN,
            spikes: vec![false; faults.len()],
            settings,
            faults,
        }
    }

    /// Takes a tick's moment, and gives a sample when one is due.
    pub fn take(&mut self, moment: &Moment<'_>) -> Option<Sensed> {
        self.follow(moment);
        // The nearest tick to the sample's time.
        let due_s = self.samples as f64 / self.settings.rate_hz;
        if moment.time_s + 0.5 * TICK_S <= due_s {
            return None;
        }
        self.samples += 1;
        let stamp_us = self.stamp(moment.time_s);
        let spike =
            |line: Line, spikes: &mut Vec<bool>| spike(self.faults, line, moment.time_s, spikes);
        let sensed =
            Sensed {
                stamp_us,
                static_pa: self.static_sensor.read(moment.time_s)
                    + spike(Line::Static, &mut self.spikes),
                dynamic_pa: self.dynamic_sensor.as_mut().map(|sensor| {
                    sensor.read(moment.time_s) + spike(Line::Dynamic, &mut self.spikes)
                }),
                te_pa: self.probe_sensor.as_mut().map(|sensor| {
                    sensor.read(moment.time_s) + spike(Line::Probe, &mut self.spikes)
                }),
                oat_c: self.thermometer.as_mut().map(Thermometer::read),
            };
        let is_lost = self
            .faults
            .iter()
            .any(|fault| fault.kind == FaultKind::Dropout && lasts(fault, moment.time_s));
        (!is_lost).then_some(sensed)
    }

    /// Pressures through the tubes to the sensors.
    fn follow(&mut self, moment: &Moment<'_>) {
        let SensorSettings { static_port, dynamic, probe, .. } = self.settings;
        let (still, speed) = (&moment.still, moment.airspeed_mps);
        let bernoulli = still.dynamic_pressure_pa(speed);
        let faults = |line| Trouble::of(self.faults, line, moment.time_s);
        let port = still.pressure_pa + static_port.position_error * bernoulli;
        let in_static = self.static_line.follow(port, static_port.lag_s, faults(Line::Static));
        self.static_sensor.take(in_static);
        if let (Some(settings), Some(sensor)) = (dynamic, &mut self.dynamic_sensor) {
            let pitot = still.pressure_pa + still.impact_pressure_pa(speed);
            let in_pitot = self.pitot_line.follow(pitot, settings.lag_s, faults(Line::Dynamic));
            sensor.take(in_pitot - in_static);
        }
        if let (Some(settings), Some(sensor)) = (probe, &mut self.probe_sensor) {
            let te = still.pressure_pa + settings.coefficient.unwrap_or(-1.0) * bernoulli;
            sensor.take(self.probe_line.follow(te, settings.lag_s, faults(Line::Probe)));
        }
        if let Some(thermometer) = &mut self.thermometer {
            thermometer.take(still.temperature_k - KELVIN_AT_0_C);
        }
    }

    /// The time stamp, later than the one before.
    fn stamp(&mut self, time_s: f64) -> i64 {
        let late_s = if self.settings.jitter_ms > 0.0 {
            let normal: f64 = StandardNormal.sample(&mut self.clock);
            1e-3 * self.settings.jitter_ms * normal
        } else {
            0.0
        };
        let stamp_us = libm::round((time_s + late_s) * 1e6) as i64;
        self.last_stamp_us = stamp_us.max(self.last_stamp_us.saturating_add(1));
        self.last_stamp_us
    }
}

fn rng(seed: u64, stream: u64) -> ChaCha8Rng {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    rng.set_stream(stream);
    rng
}

fn lasts(fault: &FaultSettings, time_s: f64) -> bool {
    time_s >= fault.from_s && time_s < fault.from_s + fault.for_s.unwrap_or(f64::INFINITY)
}

/// The spikes that are due on a line, each once.
fn spike(faults: &[FaultSettings], line: Line, time_s: f64, done: &mut [bool]) -> f64 {
    let mut sum = 0.0;
    for (fault, done) in faults.iter().zip(done) {
        let is_due =
            fault.kind == FaultKind::Spike && fault.line == Some(line) && time_s >= fault.from_s;
        if is_due && !*done {
            *done = true;
            sum += fault.size_pa.unwrap_or(0.0);
        }
    }
    sum
}

/// What is wrong with a line at a moment.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Trouble {
    None,
    Shut,
    Water(f64),
}

impl Trouble {
    fn of(faults: &[FaultSettings], line: Line, time_s: f64) -> Self {
        let here = |fault: &&FaultSettings| fault.line == Some(line) && lasts(fault, time_s);
        let trouble = |fault: &FaultSettings| match fault.kind {
            FaultKind::Blocked => Some(Self::Shut),
            FaultKind::Water => Some(Self::Water(fault.lag_s.unwrap_or(USUAL_WATER_S))),
            FaultKind::Spike | FaultKind::Dropout => None,
        };
        faults.iter().filter(here).find_map(trouble).unwrap_or(Self::None)
    }
}

/// A pressure line: a first-order lag.
#[derive(Clone, Copy, Debug, Default)]
struct Tube {
    /// Pressure at the port a tick before, and at the sensor's end.
    state: Option<(f64, f64)>,
}

impl Tube {
    fn follow(&mut self, port_pa: f64, lag_s: f64, trouble: Trouble) -> f64 {
        let (before_pa, inside_pa) = self.state.unwrap_or((port_pa, port_pa));
        let inside_pa = match trouble {
            Trouble::Shut => inside_pa,
            Trouble::Water(lag_s) => lagged(before_pa, port_pa, inside_pa, lag_s),
            Trouble::None => lagged(before_pa, port_pa, inside_pa, lag_s),
        };
        self.state = Some((port_pa, inside_pa));
        inside_pa
    }
}

/// The exact answer of a first-order lag after a tick in which its input went from `before` to
/// `after` in a straight line.
fn lagged(before: f64, after: f64, inside: f64, lag_s: f64) -> f64 {
    if lag_s <= 0.0 {
        return after;
    }
    let behind = (after - before) / TICK_S * lag_s;
    after - behind + (inside - before + behind) * libm::exp(-TICK_S / lag_s)
}

/// A pressure sensor.
struct Sensor<'a> {
    settings: &'a ChannelSettings,
    /// The last pressures, the newest in front, as far back as the delay.
    past: VecDeque<f64>,
    rng: ChaCha8Rng,
}

impl<'a> Sensor<'a> {
    fn new(settings: &'a ChannelSettings, rng: ChaCha8Rng) -> Self {
        Self { settings, past: VecDeque::new(), rng }
    }

    fn take(&mut self, pressure_pa: f64) {
        let kept = (self.settings.delay_s / TICK_S) as usize + 2;
        self.past.truncate(kept - 1);
        self.past.push_front(pressure_pa);
        while self.past.len() < kept {
            self.past.push_back(pressure_pa);
        }
    }

    fn read(&mut self, time_s: f64) -> f64 {
        let ChannelSettings { noise_pa, step_pa, warm_up_pa, warm_up_s, delay_s, .. } =
            *self.settings;
        let ticks = delay_s / TICK_S;
        let (whole, part) = (ticks as usize, ticks - libm::floor(ticks));
        let mut value = self.past[whole] + part * (self.past[whole + 1] - self.past[whole]);
        if warm_up_pa != 0.0 {
            value += warm_up_pa * libm::exp(-time_s / warm_up_s.unwrap_or(USUAL_WARM_UP_S));
        }
        if noise_pa > 0.0 {
            let normal: f64 = StandardNormal.sample(&mut self.rng);
            value += noise_pa * normal;
        }
        if step_pa > 0.0 { step_pa * libm::round(value / step_pa) } else { value }
    }
}

/// A thermometer.
struct Thermometer<'a> {
    settings: &'a ThermometerSettings,
    state: Option<(f64, f64)>,
    rng: ChaCha8Rng,
}

impl<'a> Thermometer<'a> {
    fn new(settings: &'a ThermometerSettings, rng: ChaCha8Rng) -> Self {
        Self { settings, state: None, rng }
    }

    fn take(&mut self, air_c: f64) {
        let (before, inside) = self.state.unwrap_or((air_c, air_c));
        self.state = Some((air_c, lagged(before, air_c, inside, self.settings.lag_s)));
    }

    fn read(&mut self) -> f64 {
        let normal: f64 =
            if self.settings.noise_k > 0.0 { StandardNormal.sample(&mut self.rng) } else { 0.0 };
        self.state.map_or(0.0, |(_, inside)| inside)
            + self.settings.error_k
            + self.settings.noise_k * normal
    }
}
