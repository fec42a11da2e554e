//! Settings in flash: all together, so that a save happens completely or not at all.
//!
//! ```text
//! one item of a sequential-storage map, little-endian:
//! format u16 | keys u32 | settings row by row | CRC-32 of all before
//! ```
//!
//! `format` is raised when the meaning of a byte changes; `keys` is a fingerprint of the names of
//! all settings, so that a setting that was added or taken away changes it by itself. Both must be
//! ours, and the CRC right, else the defaults are used and the console reports why.
//! sequential-storage writes a new item before it removes the old one, and marks an item by its own
//! CRC, so that power lost at any byte leaves the old or the new.
//!
//! Erasing stops the processor for 45 to 400 ms. [`prepare`] does it before the first sample, and
//! [`save`] only where it is allowed to.

mod ahead;
mod unerased;

use crate::keys;
use chirrup_core::Settings;
use chirrup_core::rows::{pack, unpack};
use core::ops::Range;
use crc::{CRC_32_ISO_HDLC, Crc};
use embedded_storage_async::nor_flash::NorFlash;
use sequential_storage::cache::Cache;
use sequential_storage::map::{MapConfig, MapStorage};
use unerased::Unerased;

/// Raised when the stored bytes change their meaning without a setting changing its name.
const FORMAT: u16 = 2;
/// The one key of the map.
const KEY: u8 = 1;
const HEAD: usize = 6;
const TAIL: usize = 4;
/// Room for the largest settings, with every list full; a test checks it.
pub const BUFFER: usize = 1_024;
const CRC: Crc<u32> = Crc::<u32>::new(&CRC_32_ISO_HDLC);

/// Where the settings came from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Origin {
    /// As they were saved.
    Flash,
    /// The defaults: nothing was ever saved.
    FirstStart,
    /// The defaults: the saved ones are from another version.
    OtherVersion,
    /// The defaults: the saved ones are damaged, or out of range.
    Damaged,
    /// The defaults: the flash cannot be read.
    Unreadable,
}

/// What [`load`] found.
#[derive(Clone, Debug, PartialEq)]
pub struct Loaded {
    /// The settings to use.
    pub settings: Settings,
    /// Where they came from.
    pub origin: Origin,
}

/// A failed save; the settings saved before are still there.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SaveError {
    /// Writing to flash failed.
    Flash,
    /// There is no room.
    Full,
    /// A sector would have had to be erased, which was not allowed.
    NotErased,
}

impl Loaded {
    /// The defaults, and why they are used.
    pub fn defaults(origin: Origin) -> Self {
        Self { settings: Settings::default(), origin }
    }
}

/// Reads the settings from `range` of `flash`, two or more of its erase sectors.
pub async fn load<F: NorFlash>(flash: &mut F, range: Range<u32>) -> Loaded {
    let Some(mut map) = open(flash, range) else {
        return Loaded::defaults(Origin::Unreadable);
    };
    let mut buffer = [0; BUFFER];
    match map.fetch_item::<&[u8]>(&mut buffer, &KEY).await {
        Ok(Some(bytes)) => match decode(bytes) {
            Ok(settings) => Loaded { settings, origin: Origin::Flash },
            Err(origin) => Loaded::defaults(origin),
        },
        Ok(None) => Loaded::defaults(Origin::FirstStart),
        Err(sequential_storage::Error::Storage { .. }) => Loaded::defaults(Origin::Unreadable),
        Err(_) => Loaded::defaults(Origin::Damaged),
    }
}

/// Writes the settings to `range` of `flash`; once this has begun, power lost at any byte leaves
/// the old or the new. Unless `may_erase`, it erases nothing.
///
/// # Errors
/// Writing failed, the range is too small, or a sector would have had to be erased; the old
/// settings are still there.
pub async fn save<F: NorFlash>(
    flash: &mut F,
    range: Range<u32>,
    settings: &Settings,
    may_erase: bool,
) -> Result<(), SaveError> {
    let mut flash = Unerased::new(flash, may_erase);
    let done = put_or_begin_again(&mut flash, range, settings).await;
    if flash.refused { done.map_err(|_| SaveError::NotErased) } else { done }
}

/// Erases what old settings took in `range` of `flash`, if that is needed, where `loaded` is what
/// [`load`] found there; power lost at any byte leaves the settings. To be called before the first
/// sample.
///
/// # Errors
/// As [`save`]; the settings are still there.
pub async fn prepare<F: NorFlash>(
    flash: &mut F,
    range: Range<u32>,
    loaded: &Loaded,
) -> Result<(), SaveError> {
    let failed = |_| SaveError::Flash;
    // What another version saved is not ours to tidy up.
    if loaded.origin != Origin::Flash
        || ahead::is_ready(flash, range.clone()).await.map_err(failed)?
    {
        return Ok(());
    }
    // Then the newest are in the sector in use, wherever the power was lost before.
    save(flash, range.clone(), &loaded.settings, true).await?;
    ahead::erase_others(flash, range).await.map_err(failed)
}

async fn put_or_begin_again<F: NorFlash>(
    flash: &mut F,
    range: Range<u32>,
    settings: &Settings,
) -> Result<(), SaveError> {
    match put(flash, range.clone(), settings).await {
        Ok(()) => Ok(()),
        Err(error) => {
            let found = load(flash, range.clone()).await.origin;
            if matches!(found, Origin::Flash | Origin::OtherVersion | Origin::Unreadable) {
                return Err(error);
            }
            // Nothing in it can be read, so nothing is lost by starting over.
            let mut map = open(flash, range.clone()).ok_or(SaveError::Full)?;
            map.erase_all().await.map_err(|_| SaveError::Flash)?;
            put(flash, range, settings).await
        }
    }
}

async fn put<F: NorFlash>(
    flash: &mut F,
    range: Range<u32>,
    settings: &Settings,
) -> Result<(), SaveError> {
    let mut map = open(flash, range).ok_or(SaveError::Full)?;
    let (mut item, mut buffer) = ([0; BUFFER], [0; BUFFER]);
    let item = encode(settings, &mut item).ok_or(SaveError::Full)?;
    map.store_item(&mut buffer, &KEY, &item).await.map_err(|error| match error {
        sequential_storage::Error::FullStorage | sequential_storage::Error::ItemTooBig => {
            SaveError::Full
        }
        _ => SaveError::Flash,
    })
}

type Map<'a, F> = MapStorage<
    u8,
    &'a mut F,
    Cache<
        sequential_storage::cache::Uncached,
        sequential_storage::cache::Uncached,
        sequential_storage::cache::Uncached,
        u8,
    >,
>;

fn open<F: NorFlash>(flash: &mut F, range: Range<u32>) -> Option<Map<'_, F>> {
    let config = MapConfig::try_new(range).ok()?;
    Some(MapStorage::new(flash, config, Cache::new_uncached()))
}

/// The bytes of `stored`, as they are kept; `None` where the buffer is too small.
pub fn encode<'a>(settings: &Settings, buffer: &'a mut [u8; BUFFER]) -> Option<&'a [u8]> {
    let (head, rest) = buffer.split_at_mut_checked(HEAD)?;
    head.get_mut(..2)?.copy_from_slice(&FORMAT.to_le_bytes());
    head.get_mut(2..)?.copy_from_slice(&keys::fingerprint::<Settings>().to_le_bytes());
    let body = pack(settings, rest)?;
    let crc = CRC.checksum(buffer.get(..HEAD + body)?);
    buffer.get_mut(HEAD + body..HEAD + body + TAIL)?.copy_from_slice(&crc.to_le_bytes());
    buffer.get(..HEAD + body + TAIL)
}

/// The settings in `bytes`.
///
/// # Errors
/// [`Origin::Damaged`] or [`Origin::OtherVersion`].
pub fn decode(bytes: &[u8]) -> Result<Settings, Origin> {
    let (rest, crc) = bytes.split_last_chunk::<TAIL>().ok_or(Origin::Damaged)?;
    if CRC.checksum(rest) != u32::from_le_bytes(*crc) {
        return Err(Origin::Damaged);
    }
    let (head, body) = rest.split_at_checked(HEAD).ok_or(Origin::Damaged)?;
    let ours =
        FORMAT.to_le_bytes().into_iter().chain(keys::fingerprint::<Settings>().to_le_bytes());
    if !head.iter().copied().eq(ours) {
        return Err(Origin::OtherVersion);
    }
    let settings: Settings = unpack(body).ok_or(Origin::Damaged)?;
    if settings.build().is_ok() { Ok(settings) } else { Err(Origin::Damaged) }
}

#[cfg(test)]
mod tests;
