//! White noise, the same for the same seed.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;
use rand_distr::{Distribution, StandardNormal, StandardUniform};

/// Normal random numbers of one source, independent of those of every other source.
#[derive(Clone, Debug)]
pub struct Noise(ChaCha8Rng);

impl Noise {
    /// Source number `stream` of the flight with this `seed`.
    pub fn new(seed: u64, stream: u64) -> Self {
        let mut rng = ChaCha8Rng::seed_from_u64(seed);
        rng.set_stream(stream);
        Self(rng)
    }

    /// A number of mean 0 and standard deviation 1.
    pub fn normal(&mut self) -> f64 {
        StandardNormal.sample(&mut self.0)
    }

    /// A number evenly spread from 0 to 1.
    pub fn uniform(&mut self) -> f64 {
        StandardUniform.sample(&mut self.0)
    }
}
