//! The glider as a point mass with the drag of its polar, its bank, and the air that carries it.
//!
//! ```text
//! dV/dt     = -g sin(gamma) - D / m
//! dgamma/dt = g (n cos(bank) - cos(gamma)) / V
//! dh/dt     = V sin(gamma) + w
//! D / m     = g n^1.5 S(V / sqrt(n)) / V
//! ```
//!
//! V is true airspeed, gamma the path's angle to the air, n the load factor, w the air's rise. The
//! drag is what makes a steady glide sink as the polar S says, and a steady turn by the turn's law
//! of [`chirrup_core::polar`]; a load below 1 costs as much as straight flight. The equations are
//! those of any text on flight mechanics. They are integrated by the midpoint rule; over a pull-up
//! from 50 to 25 m/s the energy is right within 2 cm.
//!
//! The air carries the glider at once. That it takes a glider some tenths of a second to be carried
//! along is in [`super::air`].

use chirrup_core::atmosphere::{
    GRAVITY_MPS2, SEA_LEVEL_DENSITY, density, pressure_at, temperature_at,
};
use chirrup_core::polar::Polar;
use chirrup_core::units::{Metre, MetrePerSecond};

const G: f64 = GRAVITY_MPS2 as f64;
/// Below this the polar says nothing; drag there is taken as here. Only the cable sees such speeds.
const SLOWEST_MPS: f64 = 16.0;

/// What the pilot, or the winch, makes of the next moment.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Command {
    /// Free flight: load factor in g, and bank in radians.
    Fly {
        /// Load factor.
        load: f64,
        /// Bank.
        bank_rad: f64,
    },
    /// On a cable: it pulls as hard as it takes for these.
    Pulled {
        /// Change of speed, m/s2.
        acceleration_mps2: f64,
        /// Change of the path's angle, rad/s.
        turn_up_rad_per_s: f64,
    },
    /// It stands.
    Stand,
}

/// The glider.
#[derive(Clone, Debug)]
pub struct Glider {
    polar: Polar,
    height_m: f64,
    speed_mps: f64,
    path_rad: f64,
    bank_rad: f64,
    load: f64,
    /// Where in its circle, 0 to 2 pi.
    heading_rad: f64,
    rise_mps: f64,
    climb_mps: f64,
}

/// A turn: its radius, and where in it the glider is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Turn {
    /// Radius in metres; infinite in straight flight.
    pub radius_m: f64,
    /// Where in the circle, 0 to 2 pi.
    pub heading_rad: f64,
}

impl Glider {
    /// In a steady glide at an indicated airspeed.
    pub fn gliding(polar: Polar, height_m: f64, indicated_mps: f64) -> Self {
        let mut glider = Self {
            polar,
            height_m,
            speed_mps: 0.0,
            path_rad: 0.0,
            bank_rad: 0.0,
            load: 1.0,
            heading_rad: 0.0,
            rise_mps: 0.0,
            climb_mps: 0.0,
        };
        glider.speed_mps = indicated_mps * glider.density_ratio();
        glider.path_rad = -libm::asin(glider.sink_at(glider.speed_mps, 1.0) / glider.speed_mps);
        glider
    }

    /// Goes on by `seconds` in air that rises by `rise_mps`.
    pub fn step(&mut self, command: &Command, rise_mps: f64, seconds: f64) {
        let before_m = self.height_m;
        match *command {
            Command::Fly { load, bank_rad } => {
                (self.load, self.bank_rad) = (load, bank_rad);
                self.fly(rise_mps, seconds);
            }
            Command::Pulled { acceleration_mps2, turn_up_rad_per_s } => {
                (self.load, self.bank_rad) = (1.0, 0.0);
                self.speed_mps += acceleration_mps2 * seconds;
                self.path_rad += turn_up_rad_per_s * seconds;
                self.height_m += (self.speed_mps * libm::sin(self.path_rad) + rise_mps) * seconds;
            }
            Command::Stand => {
                (self.speed_mps, self.path_rad, self.bank_rad, self.load) = (0.0, 0.0, 0.0, 1.0);
            }
        }
        self.rise_mps = rise_mps;
        self.climb_mps = (self.height_m - before_m) / seconds;
        let rate = G * libm::tan(self.bank_rad) / self.speed_mps.max(SLOWEST_MPS);
        self.heading_rad = (self.heading_rad + rate * seconds) % core::f64::consts::TAU;
    }

    fn fly(&mut self, rise_mps: f64, seconds: f64) {
        let half = 0.5 * seconds;
        let (dv, dpath, _) = self.slope(self.speed_mps, self.path_rad);
        let (v, path) = (self.speed_mps + half * dv, self.path_rad + half * dpath);
        let (dv, dpath, dh) = self.slope(v, path);
        self.speed_mps += seconds * dv;
        self.path_rad += seconds * dpath;
        self.height_m += seconds * (dh + rise_mps);
    }

    fn slope(&self, v: f64, path_rad: f64) -> (f64, f64, f64) {
        let (sine, cosine) = (libm::sin(path_rad), libm::cos(path_rad));
        let drag_mps2 = G * self.sink_at(v, self.load) / v;
        (-G * sine - drag_mps2, G * (self.load * libm::cos(self.bank_rad) - cosine) / v, v * sine)
    }

    /// Energy height lost a second at true airspeed `v` under a load, m/s.
    fn sink_at(&self, v: f64, load: f64) -> f64 {
        let load = load.max(1.0);
        let alike = (v / libm::sqrt(load)).max(SLOWEST_MPS * self.density_ratio());
        let straight = self.polar.sink(MetrePerSecond(alike as f32), self.density_ratio() as f32);
        straight.map_or(0.0, |sink| f64::from(sink.0)) * load * libm::sqrt(load)
    }

    /// Sink in a steady straight glide at the speed it has, m/s.
    pub fn own_sink_mps(&self) -> f64 {
        self.sink_at(self.speed_mps, 1.0)
    }

    /// sqrt(rho0 / rho) of the standard atmosphere, by which true airspeeds are larger than
    /// indicated ones.
    pub fn density_ratio(&self) -> f64 {
        let altitude = Metre(self.height_m as f32);
        let rho = density(pressure_at(altitude), temperature_at(altitude));
        libm::sqrt(f64::from(SEA_LEVEL_DENSITY.0 / rho.0))
    }

    /// Height, m.
    pub fn height_m(&self) -> f64 {
        self.height_m
    }

    /// True airspeed, m/s.
    pub fn speed_mps(&self) -> f64 {
        self.speed_mps
    }

    /// Indicated airspeed, m/s.
    pub fn indicated_mps(&self) -> f64 {
        self.speed_mps / self.density_ratio()
    }

    /// The path's angle to the air, rad; up is positive.
    pub fn path_rad(&self) -> f64 {
        self.path_rad
    }

    /// Bank, rad.
    pub fn bank_rad(&self) -> f64 {
        self.bank_rad
    }

    /// Load factor.
    pub fn load(&self) -> f64 {
        self.load
    }

    /// What its height changes by, m/s.
    pub fn climb_mps(&self) -> f64 {
        self.climb_mps
    }

    /// Its turn.
    pub fn turn(&self) -> Turn {
        let tangent = libm::tan(self.bank_rad);
        let radius_m = if tangent > 0.01 {
            self.speed_mps * self.speed_mps / (G * tangent)
        } else {
            f64::INFINITY
        };
        Turn { radius_m, heading_rad: self.heading_rad }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;
    use chirrup_core::settings::PolarSettings;

    const DT: f64 = 0.002;

    fn polar() -> Polar {
        Polar::new(&PolarSettings::default()).unwrap()
    }

    fn at(speed_mps: f64) -> Glider {
        Glider::gliding(polar(), 0.0, speed_mps)
    }

    fn kinetic_m(v: f64) -> f64 {
        v * v / (2.0 * 9.80665)
    }

    #[test]
    fn a_steady_glide_sinks_as_the_polar_says_and_the_air_carries_it() {
        for (speed, sink) in [(20.0, 0.67), (27.0, 0.74), (42.0, 1.85)] {
            for rise in [0.0, 3.0, -2.0] {
                let mut glider = Glider { height_m: 100.0, ..at(speed) };
                for _ in 0..5_000 {
                    let load = libm::cos(glider.path_rad);
                    glider.step(&Command::Fly { load, bank_rad: 0.0 }, rise, DT);
                }
                // 100 m up the air is thinner by 1 %, so true speeds and sinks are larger by half a
                // percent.
                assert_abs_diff_eq!(glider.climb_mps, rise - sink, epsilon = 0.015);
            }
        }
    }

    #[test]
    fn a_pull_up_trades_speed_for_height_and_pays_the_polars_price() {
        // Published mechanics: 50 to 25 m/s is 95.60 m. What is lacking is the drag's work, summed
        // here from the three points' parabola alone, with its own arithmetic.
        let parabola = |v: f64| {
            let (first, second) = ((0.74 - 0.67) / 7.0, (1.85 - 0.74) / 15.0);
            0.67 + (v - 20.0) * first + (v - 20.0) * (v - 27.0) * (second - first) / 22.0
        };
        let mut glider = at(50.0);
        let (start, mut lost) = (kinetic_m(glider.speed_mps), 0.0);
        while glider.speed_mps > 25.0 {
            let load: f64 = if glider.path_rad < 0.6 { 2.0 } else { 1.0 };
            let k = glider.density_ratio();
            let alike = glider.speed_mps / load.sqrt() / k;
            lost += k * parabola(alike.max(16.0)) * load.powf(1.5) * DT;
            glider.step(&Command::Fly { load, bank_rad: 0.0 }, 0.0, DT);
        }
        let gained = glider.height_m;
        assert_abs_diff_eq!(gained + lost, start - kinetic_m(glider.speed_mps), epsilon = 0.02);
        assert!((70.0..95.6).contains(&gained), "gained {gained} m");
    }

    #[test]
    fn a_push_gives_the_height_back_as_speed() {
        let mut glider = at(25.0);
        while glider.speed_mps < 40.0 {
            let load = if glider.path_rad > -0.3 { 0.3 } else { libm::cos(glider.path_rad) };
            glider.step(&Command::Fly { load, bank_rad: 0.0 }, 0.0, DT);
        }
        // (1600 - 625) / 2 g = 49.7 m for nothing, and some metres for the drag.
        assert!((-60.0..-49.7).contains(&glider.height_m), "{} m", glider.height_m);
    }

    #[test]
    fn a_turn_of_45_degrees_has_the_radius_and_the_sink_of_the_books() {
        // r = V^2 / (g tan(bank)); at n = sqrt 2 the sink is 1.68 times that of straight flight at
        // V / n^0.5.
        let bank = core::f64::consts::FRAC_PI_4;
        let speed = 22.0 * 2.0_f64.sqrt().sqrt();
        let mut glider = at(speed);
        glider.path_rad =
            -1.6818 * f64::from(polar().sink(MetrePerSecond(22.0), 1.0).unwrap().0) / speed;
        let before = glider.clone();
        for _ in 0..500 {
            let load = libm::cos(glider.path_rad) / libm::cos(bank);
            glider.step(&Command::Fly { load, bank_rad: bank }, 0.0, DT);
        }
        assert_abs_diff_eq!(
            glider.turn().radius_m,
            glider.speed_mps.powi(2) / 9.80665,
            epsilon = 0.1
        );
        let sink = before.height_m - glider.height_m;
        let straight = f64::from(polar().sink(MetrePerSecond(22.0), 1.0).unwrap().0);
        assert_abs_diff_eq!(sink, 1.6818 * straight, epsilon = 0.02);
        // Once round takes 2 pi V / (g tan(bank)), 16.8 s at 26.2 m/s; in one second so much of it.
        assert_abs_diff_eq!(glider.heading_rad, 9.80665 / speed, epsilon = 0.01);
    }
}
