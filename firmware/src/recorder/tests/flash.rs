//! A NOR flash whose power can be cut at any byte, and that is as unkind as a real one: a byte
//! under way is a mixture of both, an erasure under way leaves any bits of its sector anyhow, and
//! nothing but an erasure sets a bit.

use core::ops::Range;
use embedded_storage_async::nor_flash::{
    ErrorType, NorFlash, NorFlashError, NorFlashErrorKind, ReadNorFlash,
};
use rand_core::Next;
use std::vec;
use std::vec::Vec;

pub const SECTOR: usize = 4_096;

/// A generator of numbers that look random (xorshift64, Marsaglia 2003).
pub mod rand_core {
    #[derive(Clone, Debug)]
    pub struct Next(pub u64);

    impl Next {
        pub fn next(&mut self) -> u64 {
            self.0 ^= self.0 << 13;
            self.0 ^= self.0 >> 7;
            self.0 ^= self.0 << 17;
            self.0.wrapping_mul(0x2545_F491_4F6C_DD1D)
        }

        /// Nearly normal, of deviation 1.
        pub fn normal(&mut self) -> f64 {
            let mut sum = 0.0;
            for _ in 0..12 {
                sum += (self.next() >> 11) as f64 / (1_u64 << 53) as f64;
            }
            sum - 6.0
        }
    }
}

#[derive(Clone, Debug)]
pub struct Flash {
    pub bytes: Vec<u8>,
    /// Bytes that may still be programmed before the power goes; an erasure counts 1000.
    pub power: usize,
    pub chance: Next,
    pub erasures: usize,
    /// Bytes that neither programming nor erasing changes any more, without a word.
    pub stuck: Range<usize>,
}

#[derive(Debug)]
pub struct PowerLost;

impl NorFlashError for PowerLost {
    fn kind(&self) -> NorFlashErrorKind {
        NorFlashErrorKind::Other
    }
}

impl Flash {
    pub fn new(sectors: usize, seed: u64) -> Self {
        Self {
            bytes: vec![0xFF; SECTOR * sectors],
            power: usize::MAX,
            chance: Next(seed | 1),
            erasures: 0,
            stuck: 0..0,
        }
    }

    fn uses(&mut self, bytes: usize) -> bool {
        let is_enough = self.power >= bytes;
        self.power = self.power.saturating_sub(bytes);
        is_enough
    }
}

impl ErrorType for Flash {
    type Error = PowerLost;
}

impl ReadNorFlash for Flash {
    const READ_SIZE: usize = 1;

    async fn read(&mut self, offset: u32, bytes: &mut [u8]) -> Result<(), PowerLost> {
        let start = offset as usize;
        bytes.copy_from_slice(&self.bytes[start..start + bytes.len()]);
        Ok(())
    }

    fn capacity(&self) -> usize {
        self.bytes.len()
    }
}

impl NorFlash for Flash {
    const WRITE_SIZE: usize = 1;
    const ERASE_SIZE: usize = SECTOR;

    async fn erase(&mut self, from: u32, to: u32) -> Result<(), PowerLost> {
        assert!([from, to].iter().all(|end| (*end as usize).is_multiple_of(SECTOR)));
        self.erasures += 1;
        let is_done = self.uses(1_000);
        for place in from as usize..to as usize {
            let set = if is_done { 0xFF } else { self.chance.next() as u8 };
            if !self.stuck.contains(&place) {
                self.bytes[place] |= set;
            }
        }
        if is_done { Ok(()) } else { Err(PowerLost) }
    }

    async fn write(&mut self, offset: u32, bytes: &[u8]) -> Result<(), PowerLost> {
        for (place, byte) in bytes.iter().enumerate() {
            let place = offset as usize + place;
            let is_written = self.uses(1);
            let kept = if is_written { 0 } else { self.chance.next() as u8 };
            assert_eq!(self.bytes[place] & byte, *byte, "a bit that is 0 cannot be written as 1");
            if !self.stuck.contains(&place) {
                self.bytes[place] &= byte | kept;
            }
            if !is_written {
                return Err(PowerLost);
            }
        }
        Ok(())
    }
}
