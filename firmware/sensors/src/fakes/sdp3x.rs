//! A simulated SDP31, SDP32 or SDP33: its commands, its mean until it is read, its flow.

use super::air::{Air, Trouble};
use super::die::gaussian;
use crate::bus::{BusFault, Reply, Transaction};
use chirrup_core::Micros;

/// One conversion.
const CONVERSION_US: i64 = 500;
/// From the start to the first result.
const FIRST_RESULT_US: i64 = 8_000;
/// The static pressure of its calibration.
const CALIBRATED_AT_PA: f64 = 96_600.0;

/// An SDP31, unless its scale says otherwise.
#[derive(Clone, Debug)]
pub struct FakeSdp3x {
    /// Its address.
    pub address: u8,
    /// Counts in a pascal: 60, 240 or 20.
    pub scale: i16,
    /// Its fault; spoilt means wrong checksums.
    pub trouble: Trouble,
    /// What the bus says of a stop while it does not measure.
    pub answer_to_stop_at_rest: Result<(), BusFault>,
    /// The upper half of its product number.
    pub product: u16,
    /// Which of the commands for the identity came last.
    identify: u8,
    /// White noise of a conversion in Pa rms.
    pub noise_pa: f64,
    random: u64,
    /// When it began to measure, and its last read.
    measures: Option<(Micros, Micros)>,
    counts: i16,
}

impl FakeSdp3x {
    /// A healthy SDP31 without noise.
    pub fn new(address: u8) -> Self {
        Self {
            address,
            scale: 60,
            trouble: Trouble::None,
            answer_to_stop_at_rest: Ok(()),
            product: 0x0301,
            identify: 0,
            noise_pa: 0.0,
            random: 1,
            measures: None,
            counts: 0,
        }
    }

    /// One as they are, of which an SDP33 has three times the noise: guesses that give the sheet's
    /// repeatability of the zero, 0.1 Pa, for a mean (from memory).
    pub fn real(address: u8, scale: i16, seed: u64) -> Self {
        let noise_pa = if scale == 20 { 1.0 } else { 0.3 };
        Self { scale, noise_pa, random: seed, ..Self::new(address) }
    }

    pub(super) fn answer(
        &mut self,
        now: Micros,
        transaction: &Transaction,
        air: &impl Air,
    ) -> Result<Reply, BusFault> {
        match (transaction.send.as_slice(), transaction.read) {
            ([0x3F, 0xF9], 0) if self.measures.is_none() => self.answer_to_stop_at_rest?,
            ([0x3F, 0xF9], 0) => self.measures = None,
            // While it measures it takes no other command.
            (_, 0) if self.measures.is_some() => return Err(BusFault::Broken),
            ([0x36, 0x7C], 0) => self.identify = 1,
            ([0xE1, 0x02], 0) => self.identify = if self.identify == 1 { 2 } else { 0 },
            ([0x36, 0x15], 0) => self.measures = Some((now, now)),
            ([], length) if core::mem::take(&mut self.identify) == 2 => {
                return Ok(self.words([self.product, 0x0101]).take(length).collect());
            }
            ([], length) => return self.result(now, length, air),
            _ => return Err(BusFault::Broken),
        }
        Ok(Reply::new())
    }

    /// The mean since the read before; what is asked for too early is not acknowledged.
    fn result(&mut self, now: Micros, length: usize, air: &impl Air) -> Result<Reply, BusFault> {
        let Some((began, read)) = self.measures else { return Err(BusFault::NoAnswer) };
        if now.0 - began.0 < FIRST_RESULT_US || now.0 - read.0 < CONVERSION_US {
            return Err(BusFault::NoAnswer);
        }
        self.measures = Some((began, now));
        if self.trouble != Trouble::Frozen {
            self.counts = self.mean(read, now, air);
        }
        let temperature = 25 * 200;
        let words = [self.counts as u16, temperature, self.scale as u16];
        Ok(self.words(words).take(length).collect())
    }

    fn mean(&mut self, from: Micros, to: Micros, air: &impl Air) -> i16 {
        let conversions = ((to.0 - from.0) / CONVERSION_US).clamp(1, 50);
        let sum: f64 = (0..conversions)
            .map(|back| Micros(to.0 - back * CONVERSION_US - CONVERSION_US / 2))
            .map(|time| {
                let flow = f64::from(air.static_64ths_pa(time)) / 64.0 / CALIBRATED_AT_PA;
                let noise = self.noise_pa * gaussian(&mut self.random);
                f64::from(air.dynamic_64ths_pa(time)) / 64.0 * flow + noise
            })
            .sum();
        let mean = sum / conversions as f64 * f64::from(self.scale);
        // As an `i16` it stops at its ends.
        (if mean < 0.0 { mean - 0.5 } else { mean + 0.5 }) as i16
    }

    fn words<const N: usize>(&self, words: [u16; N]) -> impl Iterator<Item = u8> + use<N> {
        let spoils = u8::from(self.trouble == Trouble::Spoilt);
        words.into_iter().flat_map(move |word| {
            let [high, low] = word.to_be_bytes();
            [high, low, checksum([high, low]) ^ spoils]
        })
    }
}

/// Bit by bit.
fn checksum(bytes: [u8; 2]) -> u8 {
    bytes.into_iter().fold(0xFF, |crc, byte| {
        (0..8).fold(crc ^ byte, |crc, _| if crc & 0x80 != 0 { crc << 1 ^ 0x31 } else { crc << 1 })
    })
}
