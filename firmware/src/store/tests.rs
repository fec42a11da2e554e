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
/// As many as a board has.
const BOARD_SECTORS: usize = 4;
const BOARD: Range<u32> = 0..(SECTOR * BOARD_SECTORS) as u32;
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
    /// Sectors that were erased.
    erased: usize,
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
        Self { bytes: vec![0xFF; SECTOR * BOARD_SECTORS], power: usize::MAX, torn: 0, erased: 0 }
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
        self.erased += (to - from) as usize / SECTOR;
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
    block_on(save(flash, RANGE, settings, true))
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
        block_on(save(&mut flash, 1..SECTOR as u32, &Settings::default(), true)),
        Err(SaveError::Full)
    );
}

/// Saves on a board, in flight, where nothing may be erased.
fn save_in_flight(flash: &mut Flash, settings: &Settings) -> Result<(), SaveError> {
    block_on(save(flash, BOARD, settings, false))
}

/// What a board does when power comes.
fn start(flash: &mut Flash) -> Result<Loaded, SaveError> {
    let loaded = block_on(load(flash, BOARD));
    block_on(prepare(flash, BOARD, &loaded)).map(|()| loaded)
}

/// Changes of the volume and saves of a long day: a guess.
const SAVES_OF_A_DAY: u16 = 20;

#[test]
fn the_saves_of_a_day_after_any_start_erase_nothing() {
    let mut flash = Flash::new();
    let (mut number, mut erased_at_starts) = (0, 0);
    for _ in 0..40 {
        let before = flash.erased;
        start(&mut flash).unwrap();
        erased_at_starts += flash.erased - before;
        let ready = flash.erased;
        for _ in 0..SAVES_OF_A_DAY {
            number += 1;
            save_in_flight(&mut flash, &numbered(number % 200)).unwrap();
        }
        assert_eq!(flash.erased, ready, "save {number}");
        assert_eq!(block_on(load(&mut flash, BOARD)).settings, numbered(number % 200));
    }
    // A sector holds 12 to 16 of these settings: 800 saves fill 50 to 67, and little is wasted.
    assert!((40..100).contains(&erased_at_starts), "{erased_at_starts} sectors erased");
}

#[test]
fn a_save_that_needs_erasing_is_refused_and_done_later_where_it_may() {
    let mut flash = Flash::new();
    let mut number = 0;
    let refused = loop {
        match save_in_flight(&mut flash, &numbered(number)) {
            Ok(()) => number += 1,
            Err(why) => break why,
        }
    };
    assert_eq!((refused, flash.erased), (SaveError::NotErased, 0));
    assert!(number > SAVES_OF_A_DAY, "{number} saves");
    // Refused again, and the last one is still there.
    assert_eq!(save_in_flight(&mut flash, &numbered(251)), Err(SaveError::NotErased));
    assert_eq!(flash.erased, 0);
    assert_eq!(block_on(load(&mut flash.clone(), BOARD)).settings, numbered(number - 1));
    // On the ground, or after the next start, it is saved.
    let mut landed = flash.clone();
    block_on(save(&mut landed, BOARD, &numbered(251), true)).unwrap();
    assert_eq!(block_on(load(&mut landed, BOARD)).settings, numbered(251));
    assert_eq!(start(&mut flash).unwrap().settings, numbered(number - 1));
    save_in_flight(&mut flash, &numbered(251)).unwrap();
    assert_eq!(block_on(load(&mut flash, BOARD)).settings, numbered(251));
}

#[test]
fn power_lost_at_any_byte_of_the_erasing_ahead_leaves_the_settings() {
    let mut cuts = 0;
    // One old sector, two, and a save that was refused in the middle.
    for saves in [20, 33, 60] {
        let mut flash = Flash::new();
        let mut last = 0;
        for number in 0..saves {
            if save_in_flight(&mut flash, &numbered(number)).is_ok() {
                last = number;
            }
        }
        let cost = {
            let mut tried = Flash { power: 1 << 20, ..flash.clone() };
            start(&mut tried).unwrap();
            (1 << 20) - tried.power
        };
        assert!(cost > SECTOR, "{saves} saves: nothing to erase");
        for cut in (0..cost).filter(|cut| *cut < 400 || cut % 31 == 0 || *cut + 100 > cost) {
            let torn = [0x00, 0x0F, 0xAA, 0xFF][cut % 4];
            let mut cut_off = Flash { power: cut, torn, ..flash.clone() };
            let _ = start(&mut cut_off);
            cut_off.power = usize::MAX;
            let found = start(&mut cut_off).unwrap();
            assert_eq!(found.settings, numbered(last), "{saves} saves, cut at {cut}");
            let ready = cut_off.erased;
            (0..SAVES_OF_A_DAY).for_each(|number| {
                save_in_flight(&mut cut_off, &numbered(number)).unwrap();
            });
            assert_eq!(cut_off.erased, ready, "{saves} saves, cut at {cut}");
            cuts += 1;
        }
    }
    assert!(cuts > 1_500, "{cuts} cuts");
}

#[test]
fn settings_of_another_version_are_left_alone_at_the_start() {
    let mut buffer = [0; BUFFER];
    let mut other = encode(&numbered(3), &mut buffer).unwrap().to_vec();
    other[0] ^= 1;
    let body = other.len() - TAIL;
    let crc = CRC.checksum(&other[..body]);
    other[body..].copy_from_slice(&crc.to_le_bytes());
    let mut flash = with_item(&other);
    let before = flash.bytes.clone();
    assert_eq!(start(&mut flash).unwrap(), Loaded::defaults(Origin::OtherVersion));
    assert!(flash.bytes == before);
}
