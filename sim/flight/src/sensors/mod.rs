//! The sensors of the flight: ports, tubes, sensors, and their faults.
//!
//! ```text
//! port     static p + e q      pitot p + q_c      probe p + C q
//!          q = rho V^2 / 2, q_c of a pitot, C -1 for a good probe
//! tube     first-order lag; blocked, or with water in it, during a fault
//! sensor   (pitot minus static for `dynamic`) delay, warm-up, white noise, steps, spikes
//! motion   inertial sensor, satellite receiver with velocities or positions
//! ```
//!
//! Tubes are solved exactly for a pressure that is linear in time over a tick. Every sensor has its
//! own random numbers, so that a change to one leaves the noise of the others unchanged.

mod gnss;
mod inertial;
pub mod inertial_settings;
mod noise;
mod ports;
pub mod positions;
mod sensor;
pub mod settings;
mod tube;

use crate::physics::moment::Moment;
use crate::physics::motion::TICK_S;
use sensor::{Sensor, Thermometer};

use gnss::Gnss;
use inertial::Inertial;
use positions::{Fix, Positions};

pub use gnss::OverGround;
pub use inertial::Felt;
pub use noise::Noise;
pub use ports::Ports;
use settings::{ChannelSettings, FaultKind, FaultSettings, Line, SensorSettings};
use tube::{Trouble, Tube, lasts};

const KELVIN_AT_0_C: f64 = 273.15;

/// One sample of the sensors.
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
    /// What the inertial sensor has felt since the sample before.
    pub felt: Option<Felt>,
    /// The velocity over the ground that has arrived since the sample before.
    pub over_ground: Option<OverGround>,
    /// The position that has come since the sample before.
    pub fix: Option<Fix>,
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
    inertial: Option<Inertial<'a>>,
    gnss: Option<Gnss<'a>>,
    positions: Option<Positions<'a>>,
    clock: Noise,
    samples: u64,
    last_stamp_us: i64,
    spikes: Vec<bool>,
}

impl<'a> Sensors<'a> {
    /// Sensors settled at the pressures of the first moment.
    pub fn new(settings: &'a SensorSettings, faults: &'a [FaultSettings], seed: u64) -> Self {
        let sensor =
            |channel: &'a ChannelSettings, stream| Sensor::new(channel, Noise::new(seed, stream));
        Self {
            static_line: Tube::default(),
            pitot_line: Tube::default(),
            probe_line: Tube::default(),
            static_sensor: sensor(&settings.static_port, 1),
            dynamic_sensor: settings.dynamic.as_ref().map(|channel| sensor(channel, 2)),
            probe_sensor: settings.probe.as_ref().map(|channel| sensor(channel, 3)),
            thermometer: settings
                .thermometer
                .as_ref()
                .map(|it| Thermometer::new(it, Noise::new(seed, 4))),
            inertial: settings.inertial.as_ref().map(|it| Inertial::new(it, seed)),
            gnss: settings.gnss.as_ref().map(|it| Gnss::new(it, seed)),
            positions: settings.positions.as_ref().map(|it| Positions::new(it, seed)),
            clock: Noise::new(seed, 5),
            samples: 0,
            last_stamp_us: i64::MIN,
            spikes: vec![false; faults.len()],
            settings,
            faults,
        }
    }

    /// Takes the moment of a tick, and returns a sample when one is due.
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
                felt: self.inertial.as_mut().and_then(Inertial::read),
                over_ground: self.gnss.as_mut().and_then(|gnss| gnss.read(moment.time_s)),
                fix: self.positions.as_mut().and_then(Positions::read),
            };
        let is_lost = self
            .faults
            .iter()
            .any(|fault| fault.kind == FaultKind::Dropout && lasts(fault, moment.time_s));
        (!is_lost).then_some(sensed)
    }

    /// Pressures through the tubes to the sensors, and motion to theirs.
    fn follow(&mut self, moment: &Moment<'_>) {
        let SensorSettings { static_port, dynamic, probe, .. } = self.settings;
        let (still, speed) = (&moment.still, moment.airspeed_mps);
        let coefficient = probe.as_ref().and_then(|probe| probe.coefficient).unwrap_or(-1.0);
        let ports = Ports::at(still, speed, static_port.position_error, coefficient);
        let faults = |line| Trouble::of(self.faults, line, moment.time_s);
        let in_static =
            self.static_line.follow(ports.static_pa, static_port.lag_s, faults(Line::Static));
        self.static_sensor.take(in_static);
        if let (Some(settings), Some(sensor)) = (dynamic, &mut self.dynamic_sensor) {
            let in_pitot =
                self.pitot_line.follow(ports.pitot_pa, settings.lag_s, faults(Line::Dynamic));
            sensor.take(in_pitot - in_static);
        }
        if let (Some(settings), Some(sensor)) = (probe, &mut self.probe_sensor) {
            sensor.take(self.probe_line.follow(
                ports.probe_pa,
                settings.lag_s,
                faults(Line::Probe),
            ));
        }
        if let Some(thermometer) = &mut self.thermometer {
            thermometer.take(still.temperature_k - KELVIN_AT_0_C);
        }
        if let Some(inertial) = &mut self.inertial {
            inertial.take(moment);
        }
        if let Some(gnss) = &mut self.gnss {
            gnss.take(moment);
        }
        if let Some(positions) = &mut self.positions {
            positions.take(moment);
        }
    }

    /// The time stamp, later than the one before.
    fn stamp(&mut self, time_s: f64) -> i64 {
        let late_s = if self.settings.jitter_ms > 0.0 {
            1e-3 * self.settings.jitter_ms * self.clock.normal()
        } else {
            0.0
        };
        let stamp_us = libm::round((time_s + late_s) * 1e6) as i64;
        self.last_stamp_us = stamp_us.max(self.last_stamp_us.saturating_add(1));
        self.last_stamp_us
    }
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
