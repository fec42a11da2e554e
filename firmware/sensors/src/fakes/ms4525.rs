//! A simulated MS4525DO of type A and 1 psi: it measures by itself, and a read gives the last
//! value.

use super::air::{Air, Trouble};
use super::die::gaussian;
use crate::bus::Reply;
use chirrup_core::Micros;

/// A new value so often, in microseconds: the sheet's "response time", from memory.
const UPDATE_US: i64 = 500;
/// Noise of a value in counts rms: a guess, since the sheet only gives the total error band.
const NOISE_COUNTS: f64 = 1.5;
/// Drift of the zero: the sheet's total error band, 1 % of the span, spread over -10 to 85 degrees
/// (a guess: the sheet does not say how much of it is temperature).
const DRIFT_PA_PER_KELVIN: f64 = 1.45;

/// An MS4525DO.
#[derive(Clone, Debug, Default)]
pub struct FakeMs4525 {
    /// Its fault; spoilt means that it reports a fault of its own.
    pub trouble: Trouble,
    /// Noise in counts rms.
    noise_counts: f64,
    drift_pa_per_kelvin: f64,
    random: u64,
    last_update: Option<i64>,
    counts: u16,
}

impl FakeMs4525 {
    /// One as they are: with noise, and a zero that drifts with temperature. The default has
    /// neither.
    pub fn real(seed: u32) -> Self {
        Self {
            noise_counts: NOISE_COUNTS,
            drift_pa_per_kelvin: DRIFT_PA_PER_KELVIN,
            random: u64::from(seed) | 1,
            ..Self::default()
        }
    }

    pub(super) fn answer(&mut self, now: Micros, air: &impl Air) -> Reply {
        let update = now.0.div_euclid(UPDATE_US);
        let is_stale = self.last_update.replace(update) == Some(update);
        let at = Micros(update * UPDATE_US);
        let celsius = air.celsius(at);
        if self.trouble != Trouble::Frozen && !is_stale {
            self.counts = self.measure(at, celsius, air);
        }
        let status: u16 = match self.trouble {
            Trouble::Spoilt => 3,
            Trouble::Silent => 2,
            _ if is_stale => 2,
            _ => 0,
        };
        let [high, low] = (status << 14 | self.counts & 0x3FFF).to_be_bytes();
        let warm = ((celsius + 50.0) / 200.0 * 2_047.0) as u16;
        let [warm, rest] = (warm << 5).to_be_bytes();
        Reply::from_iter([high, low, warm, rest])
    }

    /// Type A, 1 psi: 10 % to 90 % of 16383 counts from -6895 to 6895 Pa.
    fn measure(&mut self, at: Micros, celsius: f64, air: &impl Air) -> u16 {
        let drift = self.drift_pa_per_kelvin * (celsius - 25.0);
        let noise = self.noise_counts * gaussian(&mut self.random);
        let pascals = f64::from(air.dynamic_64ths_pa(at)) / 64.0 + drift;
        ((pascals + 6_895.0) / 13_790.0 * 13_106.4 + 1_638.3 + noise + 0.5) as u16
    }
}
