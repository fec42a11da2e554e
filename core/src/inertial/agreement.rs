//! Whether the inertial climb adds up to the energy height that the pressures show.
//!
//! ```text
//! d' = climb - (energy height)' - d / T
//! ```
//!
//! A climb that is wrong by e for long enough gives d = e T. A gust gives no more than its own
//! kinetic height V u / g, which goes when it goes. What the sensor feels cannot be right against
//! what the pressures say over T.

/// T, s (a guess: two thirds of a circle).
const SPAN_S: f32 = 12.0;
/// Beyond this d the two contradict each other, m: gusts of 1 m/s rms at 30 m/s make 3 m (a
/// guess).
const MOST_M: f32 = 15.0;

/// State of the comparison.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Agreement {
    difference_m: f32,
    energy_m: Option<f32>,
}

impl Agreement {
    /// Passes `dt_s` of this climb.
    pub(super) fn pass(&mut self, dt_s: f32, climb: f32) {
        if self.energy_m.is_some() {
            self.difference_m += dt_s * climb;
            self.difference_m *= SPAN_S / (SPAN_S + dt_s);
        }
    }

    /// Takes an energy height, in the same metres.
    pub(super) fn see(&mut self, energy_m: f32) {
        if let Some(before_m) = self.energy_m {
            self.difference_m -= energy_m - before_m;
        }
        self.energy_m = Some(energy_m);
    }

    pub(super) fn is_broken(&self) -> bool {
        self.difference_m.abs() > MOST_M
    }
}
