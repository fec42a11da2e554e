//! A flash that is not erased: while it erases a sector, 45 to 400 ms, the processor stands still,
//! and in flight that would be heard. Between any two orders it lets the other tasks run.

use core::fmt;
use embassy_futures::yield_now;
use embedded_storage_async::nor_flash::{
    ErrorType, NorFlash, NorFlashError, NorFlashErrorKind, ReadNorFlash,
};

/// Passes everything on but erasing, which it refuses unless it is allowed.
pub struct Unerased<'a, F> {
    flash: &'a mut F,
    may_erase: bool,
    /// Whether an erasure was refused.
    pub refused: bool,
}

/// What the flash said, or that it would have had to be erased.
#[derive(Debug)]
pub enum Refusal<E> {
    /// The flash's own error.
    Flash(E),
    /// It would have had to be erased.
    Erasing,
}

impl<'a, F> Unerased<'a, F> {
    /// The flash `flash`, to be erased or not.
    pub fn new(flash: &'a mut F, may_erase: bool) -> Self {
        Self { flash, may_erase, refused: false }
    }
}

/// An executor that takes the latest first comes back here before it has run those that became
/// ready during the last order: the second time it has.
async fn let_others_run() {
    yield_now().await;
    yield_now().await;
}

impl<E: fmt::Debug + NorFlashError> NorFlashError for Refusal<E> {
    fn kind(&self) -> NorFlashErrorKind {
        match self {
            Refusal::Flash(error) => error.kind(),
            Refusal::Erasing => NorFlashErrorKind::Other,
        }
    }
}

impl<F: NorFlash> ErrorType for Unerased<'_, F> {
    type Error = Refusal<F::Error>;
}

impl<F: NorFlash> ReadNorFlash for Unerased<'_, F> {
    const READ_SIZE: usize = F::READ_SIZE;

    async fn read(&mut self, offset: u32, bytes: &mut [u8]) -> Result<(), Self::Error> {
        let_others_run().await;
        self.flash.read(offset, bytes).await.map_err(Refusal::Flash)
    }

    fn capacity(&self) -> usize {
        self.flash.capacity()
    }
}

impl<F: NorFlash> NorFlash for Unerased<'_, F> {
    const WRITE_SIZE: usize = F::WRITE_SIZE;
    const ERASE_SIZE: usize = F::ERASE_SIZE;

    async fn erase(&mut self, from: u32, to: u32) -> Result<(), Self::Error> {
        if !self.may_erase {
            self.refused = true;
            return Err(Refusal::Erasing);
        }
        self.flash.erase(from, to).await.map_err(Refusal::Flash)
    }

    async fn write(&mut self, offset: u32, bytes: &[u8]) -> Result<(), Self::Error> {
        let_others_run().await;
        self.flash.write(offset, bytes).await.map_err(Refusal::Flash)
    }
}
