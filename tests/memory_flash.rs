//! A NOR flash in memory, for an instrument's recorder.

use embedded_storage_async::nor_flash::{
    ErrorType, NorFlash, NorFlashError, NorFlashErrorKind, ReadNorFlash,
};

/// Its bytes; writing only clears bits.
pub struct MemoryFlash(pub Vec<u8>);

/// It is asked for bytes that it has not.
#[derive(Debug)]
pub struct OutOfBounds;

impl NorFlashError for OutOfBounds {
    fn kind(&self) -> NorFlashErrorKind {
        NorFlashErrorKind::OutOfBounds
    }
}

impl MemoryFlash {
    fn part(&mut self, from: u32, length: usize) -> Result<&mut [u8], OutOfBounds> {
        let from = from as usize;
        self.0.get_mut(from..from + length).ok_or(OutOfBounds)
    }
}

impl ErrorType for MemoryFlash {
    type Error = OutOfBounds;
}

impl ReadNorFlash for MemoryFlash {
    const READ_SIZE: usize = 1;

    async fn read(&mut self, offset: u32, bytes: &mut [u8]) -> Result<(), OutOfBounds> {
        bytes.copy_from_slice(self.part(offset, bytes.len())?);
        Ok(())
    }

    fn capacity(&self) -> usize {
        self.0.len()
    }
}

impl NorFlash for MemoryFlash {
    const WRITE_SIZE: usize = 1;
    const ERASE_SIZE: usize = 4_096;

    async fn erase(&mut self, from: u32, to: u32) -> Result<(), OutOfBounds> {
        self.part(from, (to - from) as usize)?.fill(0xFF);
        Ok(())
    }

    async fn write(&mut self, offset: u32, bytes: &[u8]) -> Result<(), OutOfBounds> {
        let place = self.part(offset, bytes.len())?;
        place.iter_mut().zip(bytes).for_each(|(place, byte)| *place &= byte);
        Ok(())
    }
}
