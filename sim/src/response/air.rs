//! The motion of the air: its vertical speed over time, and the resulting height of a glider, both
//! exact.
//!
//! Times are in seconds; the change begins at zero, and before it the air is steady.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;
use rand_distr::{Distribution, StandardNormal};
use std::f64::consts::{PI, TAU};

/// Height of the glider before the change, in metres.
const BASE_M: f64 = 600.0;

/// Vertical speed over time.
#[derive(Clone, Copy, Debug)]
pub enum Air<'a> {
    /// None.
    Still,
    /// From one climb to another within a time.
    Edge(Edge),
    /// From zero a steady acceleration, in m/s2.
    Ramp(f64),
    /// A sinusoid of 1 m/s amplitude, without beginning or end, of so many hertz.
    Wave(f64),
    /// A flight made in advance.
    Flight(&'a Flight),
}

/// A climb that changes evenly.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Edge {
    /// Until zero, in m/s.
    pub from_mps: f64,
    /// After the edge, in m/s.
    pub to_mps: f64,
    /// How long the change takes, in seconds.
    pub lasts_s: f64,
}

impl Air<'_> {
    /// Vertical speed in m/s.
    pub fn climb_mps(&self, time_s: f64) -> f64 {
        match self {
            Air::Still => 0.0,
            Air::Edge(edge) => {
                edge.from_mps + edge.rise_mps() * (time_s / edge.lasts_s).clamp(0.0, 1.0)
            }
            Air::Ramp(acceleration_mps2) => acceleration_mps2 * time_s.max(0.0),
            Air::Wave(frequency_hz) => libm::sin(TAU * frequency_hz * time_s),
            Air::Flight(flight) => flight.climb_mps(time_s),
        }
    }

    /// Height in metres, the integral of the vertical speed.
    pub fn height_m(&self, time_s: f64) -> f64 {
        let after_s = time_s.max(0.0);
        let risen_m = match self {
            Air::Still => 0.0,
            Air::Edge(edge) => {
                let (during_s, since_s) =
                    (after_s.min(edge.lasts_s), (after_s - edge.lasts_s).max(0.0));
                let changed_m =
                    edge.rise_mps() * (0.5 * during_s * during_s / edge.lasts_s + since_s);
                edge.from_mps * time_s + changed_m
            }
            Air::Ramp(acceleration_mps2) => 0.5 * acceleration_mps2 * after_s * after_s,
            Air::Wave(frequency_hz) => {
                -libm::cos(TAU * frequency_hz * time_s) / (TAU * frequency_hz)
            }
            Air::Flight(flight) => flight.height_m(time_s),
        };
        BASE_M + risen_m
    }
}

impl Edge {
    /// The edge at which the front of the fixed filters is measured.
    pub const FRONT: Edge = Edge { from_mps: 0.0, to_mps: 2.0, lasts_s: 1.0 };

    /// By how much the climb changes, in m/s.
    pub fn rise_mps(&self) -> f64 {
        self.to_mps - self.from_mps
    }
}

/// A flight through still air and thermals in turn, always the same.
///
/// A thermal is a box with edges of half a cosine. Inside it there is turbulence: a vertical speed
/// with exponentially decaying correlation (a first-order Gauss-Markov process). A model of our
/// own; its figures are guesses at usual values.
#[derive(Clone, Debug)]
pub struct Flight {
    climb_mps: Vec<f64>,
    risen_m: Vec<f64>,
}

/// Where the flight is known; linear between these.
const GRID_HZ: f64 = 100.0;
/// Still air, then a thermal, each for so long (between the middles of the edges).
const HALF_CYCLE_S: f64 = 40.0;
/// Strengths of the thermals in their order, in m/s, and how often the order is flown.
const STRENGTHS_MPS: [f64; 5] = [2.0, 4.0, 1.0, 5.0, 3.0];
const ROUNDS: usize = 3;
const EDGE_S: f64 = 2.0;
const TURBULENCE_MPS: f64 = 0.5;
const CORRELATION_S: f64 = 3.0;
/// Any number would do.
const FLIGHT_SEED: u64 = 1;

impl Flight {
    /// How long it lasts, in seconds.
    pub const LASTS_S: f64 = 2.0 * HALF_CYCLE_S * (STRENGTHS_MPS.len() * ROUNDS) as f64;

    /// The flight.
    pub fn new() -> Self {
        let mut rng = ChaCha8Rng::seed_from_u64(FLIGHT_SEED);
        let kept = libm::exp(-1.0 / (GRID_HZ * CORRELATION_S));
        let renewed = (1.0 - kept * kept).sqrt();
        let mut gust = 0.0;
        let climb_mps: Vec<f64> = (0..=(Self::LASTS_S * GRID_HZ) as usize)
            .map(|place| {
                let new: f64 = StandardNormal.sample(&mut rng);
                gust = kept * gust + renewed * new;
                let (share, strength_mps) = thermal(place as f64 / GRID_HZ);
                share * (strength_mps + TURBULENCE_MPS * gust)
            })
            .collect();
        let mut risen_m = vec![0.0];
        for pair in climb_mps.windows(2) {
            risen_m.push(risen_m[risen_m.len() - 1] + 0.5 * (pair[0] + pair[1]) / GRID_HZ);
        }
        Self { climb_mps, risen_m }
    }

    fn climb_mps(&self, time_s: f64) -> f64 {
        let (place, after_s) = self.place(time_s);
        self.climb_mps[place] + self.slope_mps2(place) * after_s
    }

    fn height_m(&self, time_s: f64) -> f64 {
        let (place, after_s) = self.place(time_s);
        self.risen_m[place]
            + after_s * (self.climb_mps[place] + 0.5 * self.slope_mps2(place) * after_s)
    }

    fn slope_mps2(&self, place: usize) -> f64 {
        (self.climb_mps[place + 1] - self.climb_mps[place]) * GRID_HZ
    }

    /// The point of the grid before `time_s`, and the time since; both ends are still air.
    fn place(&self, time_s: f64) -> (usize, f64) {
        let time_s = time_s.clamp(0.0, Self::LASTS_S);
        let place = ((time_s * GRID_HZ) as usize).min(self.climb_mps.len() - 2);
        (place, time_s - place as f64 / GRID_HZ)
    }
}

impl Default for Flight {
    fn default() -> Self {
        Self::new()
    }
}

/// How far inside a thermal, 0 to 1, and its strength in m/s: a quarter of a cycle of still air at
/// both ends.
fn thermal(time_s: f64) -> (f64, f64) {
    let cycle = time_s / (2.0 * HALF_CYCLE_S);
    let strength_mps = STRENGTHS_MPS[cycle as usize % STRENGTHS_MPS.len()];
    let from_middle_s = ((cycle - cycle.floor()) - 0.5).abs() * 2.0 * HALF_CYCLE_S;
    let outward = ((from_middle_s - 0.5 * HALF_CYCLE_S) / EDGE_S).clamp(-0.5, 0.5);
    (0.5 - 0.5 * libm::sin(PI * outward), strength_mps)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    #[test]
    fn heights_are_the_integral_of_the_climb() {
        let flight = Flight::new();
        let edge = Edge { from_mps: 2.0, to_mps: -1.0, lasts_s: 3.0 };
        for air in
            [Air::Still, Air::Edge(edge), Air::Ramp(0.2), Air::Wave(0.3), Air::Flight(&flight)]
        {
            // The midpoint rule in steps of 2.5 ms, four to a point of the flight's grid.
            let mut height_m = air.height_m(-5.0);
            for step in 0..24_000 {
                let time_s = -5.0 + 0.0025 * f64::from(step);
                height_m += 0.0025 * air.climb_mps(time_s + 0.00125);
                assert_abs_diff_eq!(height_m, air.height_m(time_s + 0.0025), epsilon = 1e-4);
            }
        }
    }

    #[test]
    fn the_flight_lasts_twenty_minutes_half_still_and_half_in_thermals_of_1_to_5_mps() {
        assert_eq!(Flight::LASTS_S, 1200.0);
        let flight = Flight::new();
        let still = flight.climb_mps.iter().filter(|climb| **climb == 0.0).count() as f64;
        assert_abs_diff_eq!(still / flight.climb_mps.len() as f64, 0.5, epsilon = 0.03);
        for (cycle, strength_mps) in [(0, 2.0), (1, 4.0), (2, 1.0), (3, 5.0), (4, 3.0), (5, 2.0)] {
            // Mean of 30 s of turbulence correlated over 3 s: 0.5 sqrt(2 x 3 / 30) = 0.22 m/s rms;
            // held to three times that.
            let places = (cycle * 8000 + 2500)..(cycle * 8000 + 5500);
            let mean = flight.climb_mps[places].iter().sum::<f64>() / 3000.0;
            assert_abs_diff_eq!(mean, strength_mps, epsilon = 0.67);
        }
    }

    #[test]
    fn turbulence_has_the_strength_and_the_memory_it_is_said_to_have() {
        let flight = Flight::new();
        let gusts = |place: usize| {
            let (share, strength_mps) = thermal(place as f64 / GRID_HZ);
            (share == 1.0).then(|| flight.climb_mps[place] - strength_mps)
        };
        let product = |apart: usize| {
            let pairs = (0..flight.climb_mps.len() - apart)
                .filter_map(|at| Some((gusts(at)?, gusts(at + apart)?)));
            let (sum, count) =
                pairs.fold((0.0, 0.0), |(sum, count), (a, b)| (sum + a * b, count + 1.0));
            sum / count
        };
        // 570 s hold some 190 correlation times of 3 s: the variance is known to sqrt(2 / 190), a
        // tenth.
        assert_abs_diff_eq!(product(0).sqrt(), 0.5, epsilon = 0.08);
        assert_abs_diff_eq!(product(300) / product(0), (-1.0_f64).exp(), epsilon = 0.15);
    }
}
