//! Erasing ahead: before the first sample, when nobody is flying yet, so that saves in flight only
//! program.
//!
//! The map goes round its sectors and erases the next but one when it takes a new one. All of them
//! but the one in use hold what was saved before, which nobody needs: they are erased here. Then two
//! more sectors can be filled: with settings of 250 bytes thirty saves erase nothing, and a start
//! erases one sector in some fifteen saves.

use super::{Loaded, Origin, SaveError, save};
use core::ops::Range;
use embedded_storage_async::nor_flash::NorFlash;

/// Bytes that are looked at together.
const LOOK: usize = 64;

/// Erases what old settings took in `range` of `flash`, if that is needed, where `loaded` is what
/// [`super::load`] found there; power lost at any byte leaves the settings.
///
/// # Errors
/// As [`save`]; the settings are still there.
pub async fn prepare<F: NorFlash>(
    flash: &mut F,
    range: Range<u32>,
    loaded: &Loaded,
) -> Result<(), SaveError> {
    // What another version saved is not ours to tidy up.
    if loaded.origin != Origin::Flash || is_ready(flash, range.clone()).await? {
        return Ok(());
    }
    // Then the newest are in the sector in use, wherever the power was lost before.
    save(flash, range.clone(), &loaded.settings, true).await?;
    for sector in sectors::<F>(range) {
        if !is_in_use(flash, &sector).await? && !is_blank(flash, &sector).await? {
            flash.erase(sector.start, sector.end).await.map_err(|_| SaveError::Flash)?;
        }
    }
    Ok(())
}

fn sectors<F: NorFlash>(range: Range<u32>) -> impl Iterator<Item = Range<u32>> {
    let size = F::ERASE_SIZE as u32;
    range.step_by(F::ERASE_SIZE).map(move |start| start..start.saturating_add(size))
}

/// Whether all sectors but one are blank.
async fn is_ready<F: NorFlash>(flash: &mut F, range: Range<u32>) -> Result<bool, SaveError> {
    let mut taken = 0;
    for sector in sectors::<F>(range) {
        taken += usize::from(!is_blank(flash, &sector).await?);
    }
    Ok(taken <= 1)
}

/// The map marks a sector in its first byte when it takes it, and in its last when it is full
/// (sequential-storage 8.0, "page states"); half of the bits are enough.
async fn is_in_use<F: NorFlash>(flash: &mut F, sector: &Range<u32>) -> Result<bool, SaveError> {
    let first = is_marked(flash, sector.start).await?;
    Ok(first && !is_marked(flash, sector.end.saturating_sub(1)).await?)
}

async fn is_marked<F: NorFlash>(flash: &mut F, place: u32) -> Result<bool, SaveError> {
    let mut byte = [0];
    flash.read(place, &mut byte).await.map_err(|_| SaveError::Flash)?;
    Ok(byte[0].count_zeros() >= 4)
}

async fn is_blank<F: NorFlash>(flash: &mut F, sector: &Range<u32>) -> Result<bool, SaveError> {
    for place in sector.clone().step_by(LOOK) {
        let mut bytes = [0; LOOK];
        flash.read(place, &mut bytes).await.map_err(|_| SaveError::Flash)?;
        if bytes != [0xFF; LOOK] {
            return Ok(false);
        }
    }
    Ok(true)
}
