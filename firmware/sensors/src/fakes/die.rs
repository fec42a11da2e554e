//! The silicon of a simulated pressure sensor: its temperature, and the noise of its conversions.
//!
//! ```text
//! surroundings --lag--> die <-- its own conversions warm it, and it cools in between
//! conversion = value at the die's temperature at that time + white noise + flicker noise
//! ```
//!
//! A sensor's pressure counts depend on the die's temperature at the time of the pressure's
//! conversion; a driver that compensates with another temperature, or with a noisy one, reads a
//! pressure that is not there.
//!
//! A [`Die::quiet`] one has none of that, for tests that compare to the last bit; its temperature
//! is that of the surroundings.

use chirrup_core::Micros;

/// Time constants of the flicker noise's parts, in seconds, a decade apart. A sum of first-order
/// lags of equal variance a decade apart has a spectrum of 1/f to within 1 dB between them.
const FLICKER_S: [f64; 5] = [0.1, 1.0, 10.0, 100.0, 1_000.0];

/// What warms a die, and how much noise its conversions have.
#[derive(Clone, Copy, Debug)]
pub struct DieKind {
    /// Lag behind the temperature around it, in seconds; the same for its own heat.
    pub lag_s: f64,
    /// Kelvin for each watt that it dissipates all the time.
    pub kelvin_per_watt: f64,
    /// Dissipation while it converts, in watts.
    pub converting_w: f64,
    /// Below this frequency, in hertz, flicker is more than the white noise of conversions at 50 a
    /// second.
    pub flicker_corner_hz: f64,
}

/// A pressure sensor's die.
#[derive(Clone, Debug)]
pub struct Die {
    kind: Option<DieKind>,
    /// Pressure noise in units of what the data sheet says.
    pub noise_gain: f64,
    /// The same of the temperature.
    pub temperature_gain: f64,
    celsius: Option<f64>,
    since: Micros,
    pressure: Flicker,
    temperature: Flicker,
    random: u64,
}

/// Noise with a spectrum of 1/f, of unit spectral density at 1 Hz (one-sided).
#[derive(Clone, Debug, Default)]
struct Flicker {
    parts: Option<[f64; FLICKER_S.len()]>,
    since: Micros,
}

impl Die {
    /// Without noise and without heat of its own.
    pub fn quiet() -> Self {
        Self {
            kind: None,
            noise_gain: 1.0,
            temperature_gain: 1.0,
            celsius: None,
            since: Micros(0),
            pressure: Flicker::default(),
            temperature: Flicker::default(),
            random: 0,
        }
    }

    /// As they are; equal seeds give equal noise.
    pub fn real(kind: DieKind, seed: u32) -> Self {
        let random = u64::from(seed).wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1;
        Self { kind: Some(kind), random, ..Self::quiet() }
    }

    /// Whether it has no noise.
    pub fn is_quiet(&self) -> bool {
        self.kind.is_none()
    }

    /// Its temperature at `time`, where the surroundings have `around` degrees Celsius. Times are
    /// in order.
    pub fn celsius(&mut self, time: Micros, around: f64) -> f64 {
        let Some(kind) = self.kind else { return around };
        let celsius = self.celsius.unwrap_or(around);
        let share = share_of(time, self.since, kind.lag_s);
        self.since = self.since.max(time);
        *self.celsius.insert(celsius + share * (around - celsius))
    }

    /// It has converted for so long.
    pub fn converted_for(&mut self, time: Micros) {
        let (Some(kind), Some(celsius)) = (self.kind, self.celsius.as_mut()) else { return };
        let joules = kind.converting_w * seconds(time);
        *celsius += joules * kind.kelvin_per_watt / kind.lag_s;
    }

    /// Noise of a pressure conversion at `time` whose white noise is `rms`, in the same unit.
    pub fn pressure_noise(&mut self, time: Micros, rms: f64) -> f64 {
        let Some(kind) = self.kind else { return 0.0 };
        let flicker = self.pressure.at(time, &mut self.random);
        let white = gaussian(&mut self.random);
        self.noise_gain * rms * (white + flicker * flicker_gain(kind))
    }

    /// The same of a temperature conversion.
    pub fn temperature_noise(&mut self, time: Micros, rms: f64) -> f64 {
        let Some(kind) = self.kind else { return 0.0 };
        let flicker = self.temperature.at(time, &mut self.random);
        self.temperature_gain * rms * (gaussian(&mut self.random) + flicker * flicker_gain(kind))
    }
}

/// White noise of unit variance at 50 a second has a one-sided density of 2/50 per hertz; flicker
/// has as much at the corner.
fn flicker_gain(kind: DieKind) -> f64 {
    root(2.0 / 50.0 * kind.flicker_corner_hz)
}

impl Flicker {
    fn at(&mut self, time: Micros, random: &mut u64) -> f64 {
        // A density of 1/f has a variance of ln 10 in each decade.
        let deviation = root(core::f64::consts::LN_10);
        let mut parts = self
            .parts
            .unwrap_or_else(|| [(); FLICKER_S.len()].map(|()| deviation * gaussian(random)));
        for (part, lag_s) in parts.iter_mut().zip(FLICKER_S) {
            let share = share_of(time, self.since, lag_s);
            let kept = 1.0 - share;
            *part = kept * *part + root(1.0 - kept * kept) * deviation * gaussian(random);
        }
        self.since = self.since.max(time);
        self.parts = Some(parts);
        parts.iter().sum()
    }
}

/// How much of the way a first-order lag goes from one time to the next: 1 - exp(-t), to 1 % where
/// it is small.
fn share_of(time: Micros, since: Micros, lag_s: f64) -> f64 {
    let passed = seconds(time.since(since)).max(0.0) / lag_s;
    passed / (1.0 + passed)
}

fn seconds(time: Micros) -> f64 {
    time.0 as f64 / 1e6
}

/// The square root by Newton's method, since `core` has none.
pub(super) fn root(value: f64) -> f64 {
    (0..40).fold(value.max(1.0), |guess, _| 0.5 * (guess + value / guess))
}

/// Twelve uniform numbers less six: near enough to normal, and the same on every run.
pub(super) fn gaussian(state: &mut u64) -> f64 {
    (0..12).fold(-6.0, |sum, _| {
        *state =
            state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        sum + (*state >> 11) as f64 / (1_u64 << 53) as f64
    })
}
