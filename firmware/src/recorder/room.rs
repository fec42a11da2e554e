//! Room for what comes: erased ahead, as erasing a sector takes 45 to 400 ms in which the processor
//! stands still.
//!
//! ```text
//! power comes: less than half is erased?
//!   before the first sample   20 sectors, a second at most
//!   on the ground, in silence a sector at a time, until three quarters are erased
//!   in flight                 none
//! ```
//!
//! On the ground is where the glider has been seen to stand: after a restart in flight nothing is
//! erased but those first sectors, and only if power was lost. While a port has the log on, the
//! samples that an erasure costs would be missing there: then no more than the first sectors are
//! kept ready.

use super::ring::Ring;
use crate::instrument::{Instrument, ResetCause};
use chirrup_core::Micros;
use chirrup_sensors::sensor::after;
use embedded_storage_async::nor_flash::NorFlash;

/// 0.9 s at 45 ms, and 12 minutes of a barometer alone.
const FIRST_SECTORS: u32 = 20;
const FIRST_FOR: Micros = Micros(1_000_000);
/// Time between two erasures: the rest of 290 sectors takes 75 s.
const EVERY: Micros = Micros(250_000);

/// What is still to be erased.
#[derive(Clone, Copy, Debug, Default)]
pub struct Erasing {
    /// As many places as are to be erased ahead, and as few as always should; 0 for none.
    wanted: u32,
    reserve: u32,
    next: Micros,
}

impl Erasing {
    /// Looks how much is erased and erases the first sectors: when power has come, or where there
    /// is no page, as in a flash that something else had.
    pub async fn begin<F: NorFlash>(
        flash: &mut F,
        ring: &mut Ring,
        reset: ResetCause,
        clock: impl Fn() -> Micros,
    ) -> Self {
        let places = ring.places();
        if ring.erased(flash, places).await >= places / 2 {
            return Self::default();
        }
        let wanted = places / 4 * 3;
        let reserve = wanted.min(FIRST_SECTORS * ring.in_sector::<F>());
        let begun = clock();
        if reset == ResetCause::Power || ring.next() == 0 {
            for _ in 0..FIRST_SECTORS {
                let is_enough = ring.erased(flash, reserve).await >= reserve;
                if is_enough
                    || clock().since(begun) >= FIRST_FOR
                    || ring.erase_ahead(flash).await.is_err()
                {
                    break;
                }
            }
        }
        Self { wanted, reserve, next: Micros(0) }
    }

    /// Erases one sector, if it is needed and the instrument may stand still.
    pub async fn step<F: NorFlash>(
        &mut self,
        flash: &mut F,
        ring: &mut Ring,
        instrument: &mut Instrument,
        now: Micros,
    ) {
        if self.wanted == 0 || now < self.next || !instrument.may_stand_still() {
            return;
        }
        let wanted = if instrument.is_logging() { self.reserve } else { self.wanted };
        self.next = after(now, EVERY);
        if ring.erased(flash, wanted).await >= wanted {
            return;
        }
        if ring.erase_ahead(flash).await.is_err() {
            self.wanted = 0;
        }
        instrument.stood_still();
    }
}
