//! The glider's own sink along the way, from its speed and its load factor, and the parts of it
//! that are not known.
//!
//! ```text
//! polar       n^1.5 S(V / sqrt n)                    a polar, of the glider or a usual one
//! parasitic   V (V / V*)^2 / (2 E)                   half of the drag at the best glide E at V*,
//! induced     V n^2 (V* / V)^2 / (2 E)               and the other half
//! beyond      polar - parasitic - induced            what one law has and the other has not
//! ```
//!
//! A polar is measured straight on between its points; a pull-up leaves them. There the two laws
//! differ by some tenths of a m/s, and neither is known to be the glider's: the difference is an
//! unknown of its own. Source: any text on flight mechanics.

use crate::recording::series::Even;
use chirrup_core::MetrePerSecond;
use chirrup_core::stages::Polar;

/// Acceleration of gravity, m/s2.
pub(super) const G: f64 = 9.80665;
/// Width of the smoothing where load factors are worked out.
const SMOOTH_S: f64 = 0.9;
/// Load factors outside are not believed.
const LOADS: (f64, f64) = (0.1, 4.0);
/// Speeds below are not flown, m/s.
const LEAST_MPS: f64 = 10.0;

/// A glider's two laws.
pub(super) struct Law {
    polar: Polar,
    /// The slowest equivalent airspeed of the polar, and that of the best glide, m/s.
    slowest_mps: f64,
    best_mps: f64,
    best_glide: f64,
}

/// Sinks over time, m/s.
pub(super) struct Sinks {
    /// By half the drag of the best glide that grows with the square of the speed.
    pub parasitic: Even,
    /// By the other half, which falls with it and grows with the square of the load.
    pub induced: Even,
    /// What the polar has beyond them.
    pub beyond: Even,
    /// True airspeed, m/s.
    pub speed_mps: Even,
}

impl Law {
    /// Of `polar`; `None` where it gives no sink at any speed.
    pub fn of(polar: Polar) -> Option<Self> {
        let sinks = (40..160).filter_map(|quarter| {
            let speed = f64::from(quarter) * 0.5;
            let sink = polar.sink(MetrePerSecond(speed as f32), 1.0)?;
            Some((speed, f64::from(sink.0)))
        });
        let (slowest_mps, _) = sinks.clone().next()?;
        let better = |a: (f64, f64), b: (f64, f64)| if b.0 / b.1 > a.0 / a.1 { b } else { a };
        let (best_mps, sink) = sinks.reduce(better)?;
        Some(Self { polar, slowest_mps, best_mps, best_glide: best_mps / sink })
    }

    /// The sinks at these heights: altitude, and kinetic height at the same times.
    pub fn sinks(&self, altitude: &Even, kinetic: &Even, density_ratio: &Even) -> Sinks {
        let speeds: Vec<f64> = kinetic
            .smoothed(SMOOTH_S)
            .values
            .iter()
            .map(|height| (2.0 * G * height.max(5.0)).sqrt())
            .collect();
        let loads = loads(altitude, &speeds);
        let all: Vec<[f64; 3]> = speeds
            .iter()
            .zip(&loads)
            .zip(&density_ratio.values)
            .map(|((speed, load), ratio)| self.at(*speed, *load, *ratio))
            .collect();
        let part = |k: usize| Even { values: all.iter().map(|of| of[k]).collect(), ..*altitude };
        let (parasitic, induced, beyond) = (part(0), part(1), part(2));
        Sinks { parasitic, induced, beyond, speed_mps: Even { values: speeds, ..*altitude } }
    }

    /// Parasitic, induced, beyond, at a true airspeed in m/s, a load and sqrt(rho0 / rho).
    fn at(&self, speed: f64, load: f64, density_ratio: f64) -> [f64; 3] {
        let equivalent = speed / density_ratio;
        let square = (equivalent / self.best_mps).powi(2);
        let half = 0.5 * speed / self.best_glide;
        let (parasitic, induced) = (half * square, half * load * load / square);
        let straight = (equivalent / load.sqrt()).max(self.slowest_mps);
        let polar = self
            .polar
            .sink(MetrePerSecond(straight as f32), 1.0)
            .map_or(parasitic + induced, |sink| load.powf(1.5) * density_ratio * f64::from(sink.0));
        [parasitic, induced, polar - parasitic - induced]
    }
}

/// Load factors along the way, from the turning of the path through the air at these true airspeeds
/// in m/s.
fn loads(altitude: &Even, speeds: &[f64]) -> Vec<f64> {
    let rate = altitude.smoothed(SMOOTH_S).rate();
    let angles = rate
        .values
        .iter()
        .zip(speeds)
        .map(|(rate, speed)| (rate / speed.max(LEAST_MPS)).clamp(-1.0, 1.0).asin());
    let angle = Even { values: angles.collect(), ..*altitude };
    let turn = angle.smoothed(SMOOTH_S).rate();
    let load = |(place, speed): (usize, &f64)| {
        (angle.values[place].cos() + speed * turn.values[place] / G).clamp(LOADS.0, LOADS.1)
    };
    speeds.iter().enumerate().map(load).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use chirrup_core::PolarSettings;

    #[test]
    fn the_parts_make_the_polar_and_the_induced_one_grows_with_the_square_of_the_load() {
        let polar = Polar::new(&PolarSettings::default()).unwrap();
        let law = Law::of(polar).unwrap();
        for speed in [22.0, 27.0, 35.0] {
            let of_polar = f64::from(polar.sink(MetrePerSecond(speed as f32), 1.0).unwrap().0);
            assert_relative_eq!(law.at(speed, 1.0, 1.0).iter().sum::<f64>(), of_polar);
        }
        let [one, two] = [1.0, 2.0].map(|load| law.at(27.0, load, 1.1)[1]);
        assert_relative_eq!(two, 4.0 * one);
        // Both halves are equal at the best glide.
        let [parasitic, induced, _] = law.at(law.best_mps, 1.0, 1.0);
        assert_relative_eq!(parasitic, induced);
    }
}
