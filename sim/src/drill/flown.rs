//! A question in a flight: the air changes, and the sensors, the filter and the tone law of a whole
//! instrument make of it what is heard.

use super::question::Question;
use crate::ears::Ears;
use crate::replay::{Replay, Stretch};
use crate::sensed::sample_of;
use chirrup_core::{Micros, Settings, TICK, Voice};
use chirrup_flight::hand::{Asked, Flight, STEP_US};
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;
use rand_distr::{Distribution, StandardNormal};
use std::convert::Infallible;

/// The flight begins so long before the question, unheard: glider and filter have settled by then.
const BEFORE_S: f64 = 10.0;
/// Where it begins, m above the sea.
const START_M: f64 = 1_200.0;
/// What the glider sinks through its air in straight flight at its usual speed, m/s.
const OWN_SINK_MPS: f64 = 0.7;
/// The air is never even: the standard deviation of its vertical speed, m/s, and how long a bubble
/// of it lasts, s (guesses for a calm thermal).
const UNEVEN_MPS: f64 = 0.2;
const BUBBLE_S: f64 = 1.5;
const STEP_S: f64 = STEP_US as f64 * 1e-6;

/// A question being flown.
#[derive(Clone)]
pub struct Flown {
    flight: Flight,
    replay: Replay,
    rng: ChaCha8Rng,
    uneven_mps: f64,
    samples: u64,
    /// Until the next sample.
    left: Micros,
    voice: Voice,
}

impl Flown {
    /// Flies up to the beginning of the question.
    pub fn new(question: &Question) -> Self {
        // The core's tests build its own default.
        let pipeline = Settings::default().build().expect("the default settings are some");
        let mut flown = Self {
            flight: Flight::new(START_M, question.flight_seed),
            replay: Replay::new(Ears { left: pipeline, right: None }),
            rng: ChaCha8Rng::seed_from_u64(question.flight_seed),
            uneven_mps: 0.0,
            samples: 0,
            left: Micros(0),
            voice: Voice::default(),
        };
        for _ in 0..(BEFORE_S / (TICK.0 as f64 * 1e-6)) as usize {
            flown.tick(question.before_mps);
        }
        flown
    }

    /// What sounds until the next control tick, in air in which the glider climbs with `climb_mps`.
    pub fn tick(&mut self, climb_mps: f64) -> Voice {
        if self.left <= Micros(0) {
            self.sample(climb_mps);
        }
        self.left = Micros(self.left.0 - TICK.0);
        let voice = &mut self.voice;
        let Ok(()) = self.replay.run(TICK, &mut |stretch: Stretch<'_>| {
            *voice = match stretch {
                Stretch::Voices(voices) => voices.last().map_or(*voice, |ears| ears.left),
                Stretch::Silence(_) => Voice { gate: false, ..*voice },
            };
            Ok::<(), Infallible>(())
        });
        self.voice
    }

    fn sample(&mut self, climb_mps: f64) {
        let normal: f64 = StandardNormal.sample(&mut self.rng);
        let kept = libm::exp(-STEP_S / BUBBLE_S);
        self.uneven_mps =
            kept * self.uneven_mps + UNEVEN_MPS * libm::sqrt(1.0 - kept * kept) * normal;
        let mut asked = Asked::default();
        asked.air.rise_mps = climb_mps + OWN_SINK_MPS + self.uneven_mps;
        self.flight.step(&asked);
        let sample = sample_of(&self.flight.sense(asked.noise_m));
        self.samples += 1;
        self.replay.take(self.samples, &sample, Micros(STEP_US));
        self.left = Micros(STEP_US);
    }
}
