//! The store on a flash whose power can be cut at any byte of a write or an erasure.

use super::*;
use chirrup_core::{ClimbPoint, PolarSettings, SinkPoint};
use embassy_futures::block_on;
use embedded_storage_async::nor_flash::{
    ErrorType, NorFlashError, NorFlashErrorKind, ReadNorFlash,
};
use std::vec;
use std::vec::Vec;

const SECTOR: usize = 4_096;
const SECTORS: usize = 2;
const RANGE: Range<u32> = 0..(SECTOR * SECTORS) as u32;

/// A NOR flash as a small board has: bytes are written singly and only lose bits, sectors are
/// erased whole.
#[derive(Clone)]
struct Flash {
    bytes: Vec<u8>,
    /// Bytes that may still be written or erased before the power goes.
    power: usize,
    /// Which bits of the byte under way are still changed when the power goes.
    torn: u8,
}

#[derive(Debug)]
struct PowerLost;

impl NorFlashError for PowerLost {
    fn kind(&self) -> NorFlashErrorKind {
        NorFlashErrorKind::Other
    }
}

impl Flash {
    fn new() -> Self {
        Self { bytes: vec![0xFF; SECTOR * SECTORS], power: usize::MAX, torn: 0 }
    }

    fn change(&mut self, place: usize, to: u8) -> Result<(), PowerLost> {
        let from = self.bytes[place];
        if self.power == 0 {
            self.bytes[place] = from & !self.torn | to & self.torn;
            return Err(PowerLost);
        }
        self.power -= 1;
        self.bytes[place] = to;
        Ok(())
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
        (from as usize..to as usize).try_for_each(|place| self.change(place, 0xFF))
    }

    async fn write(&mut self, offset: u32, bytes: &[u8]) -> Result<(), PowerLost> {
        for (place, byte) in bytes.iter().enumerate() {
            let place = offset as usize + place;
            let merged = self.bytes[place] & byte;
            self.change(place, merged)?;
        }
        Ok(())
    }
}

/// Settings that differ from one another.
fn numbered(number: u16) -> Settings {
    let mut settings = Settings::default();
    settings.average.span_s = 5.0 + f32::from(number);
    settings.polar = (number % 2 == 1).then(PolarSettings::default);
    settings.device.log_hz = (number % 50) as u8;
    settings
}

fn load_now(flash: &mut Flash) -> Loaded {
    block_on(load(flash, RANGE))
}

fn save_now(flash: &mut Flash, settings: &Settings) -> Result<(), SaveError> {
    block_on(save(flash, RANGE, settings))
}

#[test]
fn the_last_save_is_loaded_after_any_number_of_saves() {
    let mut flash = Flash::new();
    assert_eq!(load_now(&mut flash), Loaded::defaults(Origin::FirstStart));
    for number in 0..100 {
        save_now(&mut flash, &numbered(number)).unwrap();
        assert_eq!(
            load_now(&mut flash),
            Loaded { settings: numbered(number), origin: Origin::Flash }
        );
    }
}

#[test]
fn power_lost_at_any_byte_of_any_save_leaves_the_old_or_the_new() {
    let mut flash = Flash::new();
    let (mut before, mut cuts, mut erasures) = (Loaded::defaults(Origin::FirstStart), 0, 0);
    // Enough saves that both sectors are filled, left and erased.
    for number in 0..24 {
        let after = Loaded { settings: numbered(number), origin: Origin::Flash };
        let cost = {
            let mut tried = Flash { power: 1 << 20, ..flash.clone() };
            save_now(&mut tried, &after.settings).unwrap();
            (1 << 20) - tried.power
        };
        erasures += usize::from(cost > SECTOR);
        // Every byte; where a whole sector is erased, every byte of the save beside it and every
        // 61st of the erasure.
        let all = (0..cost)
            .filter(|cut| cost < SECTOR || *cut < 700 || cut % 61 == 0 || *cut + 700 > cost);
        for cut in all {
            let torn = [0x00, 0x0F, 0xAA, 0xFF][cut % 4];
            let mut cut_off = Flash { power: cut, torn, ..flash.clone() };
            assert!(save_now(&mut cut_off, &after.settings).is_err());
            cut_off.power = usize::MAX;
            let found = load_now(&mut cut_off);
            assert!(found == before || found == after, "save {number} cut at {cut}: {found:?}");
            // And the next save works normally.
            if cut % 23 == 0 {
                save_now(&mut cut_off, &numbered(250)).unwrap();
                assert_eq!(
                    load_now(&mut cut_off).settings,
                    numbered(250),
                    "save {number} cut at {cut}"
                );
            }
            cuts += 1;
        }
        save_now(&mut flash, &after.settings).unwrap();
        before = after;
    }
    assert!(cuts > 6_000 && erasures >= 1, "{cuts} cuts, {erasures} erasures");
}

#[test]
fn a_flash_full_of_anything_gives_the_defaults_and_can_be_saved_to() {
    let mut state = 12_345_u32;
    for _ in 0..50 {
        let mut flash = Flash::new();
        flash.bytes.fill_with(|| {
            state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            (state >> 24) as u8
        });
        let found = load_now(&mut flash);
        assert_eq!(found.settings, Settings::default());
        save_now(&mut flash, &numbered(7)).unwrap();
        assert_eq!(load_now(&mut flash).settings, numbered(7));
    }
}

/// Puts bytes where the settings are.
fn with_item(item: &[u8]) -> Flash {
    let mut flash = Flash::new();
    let mut map = open(&mut flash, RANGE).unwrap();
    block_on(map.store_item(&mut [0; BUFFER], &KEY, &item)).unwrap();
    flash
}

#[test]
fn another_version_damage_and_settings_out_of_range_are_distinguished() {
    let mut buffer = [0; BUFFER];
    let good = encode(&numbered(3), &mut buffer).unwrap().to_vec();
    assert_eq!(load_now(&mut with_item(&good)).origin, Origin::Flash);
    // A format and a set of keys that are not ours, with a checksum that is right.
    for place in [0, 2] {
        let mut other = good.clone();
        other[place] ^= 1;
        let body = other.len() - TAIL;
        let crc = CRC.checksum(&other[..body]);
        other[body..].copy_from_slice(&crc.to_le_bytes());
        assert_eq!(load_now(&mut with_item(&other)), Loaded::defaults(Origin::OtherVersion));
    }
    let mut damaged = good.clone();
    damaged[HEAD + 3] ^= 1;
    assert_eq!(load_now(&mut with_item(&damaged)), Loaded::defaults(Origin::Damaged));
    assert_eq!(load_now(&mut with_item(&[])), Loaded::defaults(Origin::Damaged));
    let mut absurd = Settings::default();
    absurd.filter.response_s = -1.0;
    let absurd = encode(&absurd, &mut buffer).unwrap().to_vec();
    assert_eq!(load_now(&mut with_item(&absurd)), Loaded::defaults(Origin::Damaged));
}

#[test]
fn the_largest_settings_fit() {
    let mut settings = numbered(1);
    let climb = ClimbPoint { climb_mps: 1.0, pitch_hz: 500.0, cadence_hz: 2.0, beep_ms: 250.0 };
    settings.tone.climb = (0..15).map(|_| climb).collect();
    let sink = SinkPoint { sink_mps: -1.0, pitch_hz: 300.0 };
    settings.tone.sink = (0..15).map(|_| sink).collect();
    let mut buffer = [0; BUFFER];
    let length = encode(&settings, &mut buffer).unwrap().len();
    assert!(length < BUFFER - 64, "{length} bytes");
}

#[test]
fn a_range_too_small_for_a_store_is_rejected() {
    let mut flash = Flash::new();
    assert_eq!(block_on(load(&mut flash, 0..SECTOR as u32)).origin, Origin::Unreadable);
    assert_eq!(
        block_on(save(&mut flash, 1..SECTOR as u32, &Settings::default())),
        Err(SaveError::Full)
    );
}
