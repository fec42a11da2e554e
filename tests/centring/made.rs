//! A pilot in a made thermal, as a logger writes it.

use chirrup_flight::centring::thermal::{Shape, Thermal};
use chirrup_flight::centring::{Day, Moment, Pilot, Seen, Trial};
use chirrup_flight::sensors::Noise;
use std::fmt::Write as _;

/// A logger writes a fix each second.
const STEPS: usize = 50;
/// The pilot's tone is so late, s; and he allows for as much together with himself.
const LATE_S: f64 = 0.7;
const ALLOWED_S: f64 = 1.5;
/// Wind, m/s.
const WIND_MPS: (f64, f64) = (0.0, 12.0);
/// Error of the receiver, m: a part that stays for some time, s, and one that is new each second.
const STAYS_M: f64 = 2.0;
const STAYS_S: f64 = 40.0;
const NEW_M: f64 = 0.5;
const LATITUDE_DEG: f64 = 48.0;
const LONGITUDE_DEG: f64 = 9.0;

/// A pilot in a thermal, and what his logger can write.
pub struct Made {
    /// The thermal.
    pub thermal: Thermal,
    /// How it was.
    pub seen: Vec<Seen>,
    /// Where the wind blows to, m/s east and north.
    pub wind_mps: [f64; 2],
    seed: u64,
}

/// What the logger has and how good it is.
#[derive(Clone, Copy, Debug)]
pub struct Logger {
    /// Whether it writes the true airspeed.
    pub airspeed: bool,
    /// How late its barometer is, s.
    pub late_s: f64,
}

impl Made {
    /// Shapes and pilots take turns.
    pub fn of_seed(seed: u64) -> Self {
        let pilots =
            [Pilot::NeverCorrects, Pilot::Flattens, Pilot::BestHeading, Pilot::Both, Pilot::Expert];
        Self::flown_by(pilots[(seed / 3 % 5) as usize], seed)
    }

    /// The thermal of a seed, with another pilot.
    pub fn flown_by(pilot: Pilot, seed: u64) -> Self {
        let trial = Trial { seed, day: Day::SMOOTH, has_motion_sensors: false };
        let mut late_mps = 0.0;
        let mut ear = |moment: &Moment| {
            late_mps += (moment.climb_mps - late_mps) * 0.02 / LATE_S;
            Some(late_mps)
        };
        let seen = trial.seen(pilot, ALLOWED_S, &mut ear);
        let mut noise = Noise::new(seed, 100);
        let speed = WIND_MPS.0 + (WIND_MPS.1 - WIND_MPS.0) * noise.uniform();
        let turn = std::f64::consts::TAU * noise.uniform();
        let wind_mps = [speed * turn.sin(), speed * turn.cos()];
        Self { thermal: Thermal::of_seed(seed), seen, wind_mps, seed }
    }

    /// Its shape.
    pub fn shape(&self) -> Shape {
        self.thermal.shape
    }

    /// Whether the logger of this one writes the airspeed: every second one does.
    pub fn logger(&self) -> Logger {
        Logger { airspeed: self.seed % 2 == 1, late_s: 0.0 }
    }

    /// The recorded airspeed at a step, m/s.
    pub fn airspeed_mps(&self, step: usize) -> f64 {
        self.seen[step].speed_mps + self.seen[step].gust_mps
    }

    /// The flight log.
    pub fn igc(&self, logger: Logger) -> String {
        let mut text = String::from("AXXX001\r\nHFDTE150626\r\n");
        if logger.airspeed {
            text.push_str("I013640TAS\r\n");
        }
        let mut noise = Noise::new(self.seed, 101);
        let kept = (-1.0 / STAYS_S).exp();
        let mut stays = [noise.normal(), noise.normal()];
        for (second, step) in (0..self.seen.len()).step_by(STEPS).enumerate() {
            let seen = &self.seen[step];
            let mut place = [seen.place_m.0, seen.place_m.1];
            for axis in 0..2 {
                stays[axis] = kept * stays[axis] + (1.0 - kept * kept).sqrt() * noise.normal();
                place[axis] += self.wind_mps[axis] * second as f64
                    + STAYS_M * stays[axis]
                    + NEW_M * noise.normal();
            }
            let late = step.saturating_sub((logger.late_s * STEPS as f64) as usize);
            let height_m = self.seen[late].height_m.round();
            let clock = 36_000 + second;
            let (hours, minutes, seconds) = (clock / 3600, clock / 60 % 60, clock % 60);
            let _ = write!(
                text,
                "B{hours:02}{minutes:02}{seconds:02}{}A{height_m:05}{:05}",
                fix(place),
                height_m + 40.0
            );
            if logger.airspeed {
                let _ = write!(text, "{:05}", (360.0 * self.airspeed_mps(step)).round());
            }
            text.push_str("\r\n");
        }
        text
    }
}

/// Latitude and longitude as an IGC record has them, at metres from the place of the day.
///
/// Lengths of a degree by the usual series for WGS 84 (from memory): 111132.954 - 559.822 cos 2x +
/// 1.175 cos 4x and 111412.84 cos x - 93.5 cos 3x + 0.118 cos 5x metres.
pub fn fix([east_m, north_m]: [f64; 2]) -> String {
    let x = LATITUDE_DEG.to_radians();
    let north = 111_132.954 - 559.822 * (2.0 * x).cos() + 1.175 * (4.0 * x).cos();
    let east = 111_412.84 * x.cos() - 93.5 * (3.0 * x).cos() + 0.118 * (5.0 * x).cos();
    let minutes = |degrees: f64| (60_000.0 * degrees).round() as u64;
    let (latitude, longitude) =
        (minutes(LATITUDE_DEG + north_m / north), minutes(LONGITUDE_DEG + east_m / east));
    format!(
        "{:02}{:05}N{:03}{:05}E",
        latitude / 60_000,
        latitude % 60_000,
        longitude / 60_000,
        longitude % 60_000
    )
}
