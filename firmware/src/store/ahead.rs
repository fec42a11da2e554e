//! Erasing ahead: before the first sample, when nobody is flying yet, so that saves in flight only
//! program.
//!
//! The map goes round its sectors and erases the next but one when it takes a new one. All but the
//! one in use hold what was saved before, which nobody needs: they are erased here. Then two more
//! can be filled: with settings of 250 bytes thirty saves erase nothing, and a start erases one
//! sector in some fifteen saves.

use core::ops::Range;
use embedded_storage_async::nor_flash::NorFlash;

/// Bytes that are looked at together.
const LOOK: usize = 64;

/// Whether all sectors of `range` but one are blank.
pub async fn is_ready<F: NorFlash>(flash: &mut F, range: Range<u32>) -> Result<bool, F::Error> {
    let mut taken = 0;
    for sector in sectors::<F>(range) {
        taken += usize::from(!is_blank(flash, &sector).await?);
    }
    Ok(taken <= 1)
}

/// Erases all sectors of `range` but the one in use.
pub async fn erase_others<F: NorFlash>(flash: &mut F, range: Range<u32>) -> Result<(), F::Error> {
    for sector in sectors::<F>(range) {
        if !is_in_use(flash, &sector).await? && !is_blank(flash, &sector).await? {
            flash.erase(sector.start, sector.end).await?;
        }
    }
    Ok(())
}

fn sectors<F: NorFlash>(range: Range<u32>) -> impl Iterator<Item = Range<u32>> {
    let size = F::ERASE_SIZE as u32;
    range.step_by(F::ERASE_SIZE).map(move |start| start..start.saturating_add(size))
}

/// The map marks a sector in its first byte when it takes it, and in its last when it is full
/// (sequential-storage 8.0, "page states"); half of the bits are enough.
async fn is_in_use<F: NorFlash>(flash: &mut F, sector: &Range<u32>) -> Result<bool, F::Error> {
    let first = is_marked(flash, sector.start).await?;
    Ok(first && !is_marked(flash, sector.end.saturating_sub(1)).await?)
}

async fn is_marked<F: NorFlash>(flash: &mut F, place: u32) -> Result<bool, F::Error> {
    let mut byte = [0];
    flash.read(place, &mut byte).await?;
    Ok(byte[0].count_zeros() >= 4)
}

async fn is_blank<F: NorFlash>(flash: &mut F, sector: &Range<u32>) -> Result<bool, F::Error> {
    for place in sector.clone().step_by(LOOK) {
        let mut bytes = [0; LOOK];
        flash.read(place, &mut bytes).await?;
        if bytes != [0xFF; LOOK] {
            return Ok(false);
        }
    }
    Ok(true)
}
