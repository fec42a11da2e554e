//! The pages in flash, one behind the other in a ring of erase sectors.
//!
//! ```text
//! | newest flight .. | torn? | erased ahead ........ | oldest flight .. | .. |
//!                    ^ next page
//! ```
//!
//! Page `s` has the place `s` modulo the number of places, so a number says where a page is. A page
//! is written only where all bits are ones, and read back afterwards; where either fails the place
//! is skipped. So nothing that was written is ever written again, and power lost at any byte costs
//! the page under way. An erasure that was cut is done again, because what it left is not all ones;
//! what reads as ones but does not hold them is found by reading back. A sector that cannot be
//! erased is passed over until the next start.
//!
//! A flight whose pages say that it began in the air continues the one before, as after a restart
//! in flight. The newest flight, with all that it continues, is never erased.

use super::page::{self, CONTINUES, Head, SIZE};
use core::ops::Range;
use embedded_storage_async::nor_flash::NorFlash;
use heapless::Vec;

/// Places looked at in one go for one that is erased.
const TRIES: u32 = 64;
/// Sectors that can be passed over (a guess: flash that has more is worn out).
const BAD_SECTORS: usize = 8;

/// Where the recorder stands in its flash.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Ring {
    range: Range<u32>,
    /// The number of the next page.
    next: u32,
    /// The flight of the newest page; 0 where there is none.
    flight: u16,
    /// The number of the first page of that flight, or of the first flight that it continues.
    first: u32,
    /// What `first` is should the newest flight continue the one before.
    first_before: u32,
    /// All places before that number are known to be erased, from the next one on.
    erased_to: u32,
    /// Sectors that could not be erased.
    bad_sectors: Vec<u32, BAD_SECTORS>,
    /// Places that did not hold what was written.
    bad_places: u16,
}

/// A page could not be kept.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum KeepError {
    /// There is no erased place.
    Full,
    /// The flash refuses, or does not hold what was written.
    Flash,
}

impl Ring {
    /// Finds the newest page in `range` of `flash`, whole erase sectors, which may hold anything.
    pub async fn open<F: NorFlash>(flash: &mut F, range: Range<u32>) -> Self {
        let mut ring = Self {
            range,
            next: 0,
            flight: 0,
            first: 0,
            first_before: 0,
            erased_to: 0,
            bad_sectors: Vec::new(),
            bad_places: 0,
        };
        let mut newest = None;
        for sector in 0..ring.places() / in_sector::<F>() {
            let Some(sequence) = ring.first_in(flash, sector).await else { continue };
            if newest.is_none_or(|(newest, _)| sequence > newest) {
                newest = Some((sequence, sector));
            }
        }
        if let Some((_, sector)) = newest {
            ring.go_behind(flash, sector).await;
            ring.find_first(flash).await;
        }
        ring
    }

    /// Looks back for the first page of the newest flight and of those that it continues, sector by
    /// sector.
    async fn find_first<F: NorFlash>(&mut self, flash: &mut F) {
        self.first = self.next;
        let (mut flight, mut continues) = (self.flight, false);
        let mut begin = self.sector_of::<F>(self.next.saturating_sub(1));
        loop {
            for sequence in (begin..begin.saturating_add(in_sector::<F>())).rev() {
                let Some((head, _)) = self.page(flash, sequence).await else { continue };
                if head.flight != flight {
                    if !continues {
                        self.first_before = self.first;
                        return;
                    }
                    (flight, continues) = (head.flight, false);
                }
                self.first = sequence;
                continues |= head.flags & CONTINUES != 0;
            }
            if begin <= self.oldest() {
                self.first_before = self.first;
                return;
            }
            begin = begin.saturating_sub(in_sector::<F>());
        }
    }

    /// The number of the first page of a sector that can be read: it says how new the sector is.
    async fn first_in<F: NorFlash>(&self, flash: &mut F, sector: u32) -> Option<u32> {
        let first = sector * in_sector::<F>();
        for place in first..first + in_sector::<F>() {
            if let Some(found) = self.head_in(flash, place).await {
                return Some(found.sequence);
            }
        }
        None
    }

    /// Goes on behind the newest page of a sector, and behind what an interrupted write left.
    async fn go_behind<F: NorFlash>(&mut self, flash: &mut F, sector: u32) {
        let first = sector * in_sector::<F>();
        for place in first..first + in_sector::<F>() {
            let Some(found) = self.head_in(flash, place).await else { continue };
            if found.sequence >= self.next {
                (self.next, self.flight) = (found.sequence.wrapping_add(1), found.flight);
            }
        }
        while self.left_in_sector::<F>() > 0 && !self.is_blank(flash).await {
            self.next = self.next.wrapping_add(1);
        }
    }

    async fn is_blank<F: NorFlash>(&self, flash: &mut F) -> bool {
        let mut bytes = [0; SIZE];
        flash.read(self.address(self.next), &mut bytes).await.is_ok() && bytes == [0xFF; SIZE]
    }

    /// Pages that there is room for, erased or not.
    pub fn places(&self) -> u32 {
        (self.range.end.saturating_sub(self.range.start)) / SIZE as u32
    }

    /// The number that the next page gets, or a later one.
    pub fn next(&self) -> u32 {
        self.next
    }

    /// The number of the oldest page that there may be.
    pub fn oldest(&self) -> u32 {
        self.next.saturating_sub(self.places())
    }

    /// The flight of the newest page; 0 where there is none.
    pub fn flight(&self) -> u16 {
        self.flight
    }

    /// The number of the first page of that flight, or of the first flight that it continues, as
    /// far as it is there.
    pub fn first(&self) -> u32 {
        self.first
    }

    /// Places that did not hold what was written, and sectors that could not be erased.
    pub fn bad(&self) -> (u16, u16) {
        (self.bad_places, self.bad_sectors.len() as u16)
    }

    /// Erased places from the next one on, as far as known.
    pub fn ready<F: NorFlash>(&self) -> u32 {
        self.erased_to.saturating_sub(self.next).max(self.left_in_sector::<F>())
    }

    /// Erased places from the next one on, up to `most`; in the sector under way, which cannot be
    /// erased, those that are not count too, and so do those of sectors that are passed over.
    pub async fn erased<F: NorFlash>(&mut self, flash: &mut F, most: u32) -> u32 {
        let most = most.min(self.places());
        for ahead in self.ready::<F>().min(most)..most {
            let at = self.next.wrapping_add(ahead);
            if !self.is_bad::<F>(at) && !self.seems_erased(flash, at).await {
                return ahead;
            }
            self.erased_to = at.wrapping_add(1);
        }
        most
    }

    /// The first bytes are enough: where they deceive, the place is skipped later.
    async fn seems_erased<F: NorFlash>(&self, flash: &mut F, sequence: u32) -> bool {
        let mut bytes = [0; 16];
        let is_read = flash.read(self.address(sequence), &mut bytes).await;
        is_read.is_ok() && bytes == [0xFF; 16]
    }

    /// Erases the first sector ahead that is not erased; the oldest pages are in it. A sector that
    /// has a page of the newest flight, or of one that it continues, is left: nobody may have
    /// fetched it. A sector that does not become erased is passed over.
    ///
    /// # Errors
    /// All are that may be, or so many cannot be that the flash is broken.
    pub async fn erase_ahead<F: NorFlash>(&mut self, flash: &mut F) -> Result<(), KeepError> {
        let most = self.erasable::<F>();
        let ahead = self.erased(flash, most).await;
        if ahead >= most {
            return Err(KeepError::Full);
        }
        let at = self.next.wrapping_add(ahead);
        let sector = self.place(at) / in_sector::<F>();
        let start = self.range.start + sector * F::ERASE_SIZE as u32;
        let erased = flash.erase(start, start + F::ERASE_SIZE as u32).await;
        if erased.is_ok() && self.seems_erased(flash, at).await {
            return Ok(());
        }
        self.bad_sectors.push(sector).map_err(|_| KeepError::Flash)
    }

    /// Pages of an erase sector.
    pub fn in_sector<F: NorFlash>(&self) -> u32 {
        in_sector::<F>()
    }

    fn is_bad<F: NorFlash>(&self, sequence: u32) -> bool {
        self.bad_sectors.contains(&(self.place(sequence) / in_sector::<F>()))
    }

    /// Places ahead that may be erased.
    fn erasable<F: NorFlash>(&self) -> u32 {
        // One sector less than all: the newest pages are in the one under way.
        let most = self.places().saturating_sub(in_sector::<F>());
        let kept = self.next.saturating_sub(self.sector_of::<F>(self.first));
        self.places().saturating_sub(kept).min(most)
    }

    /// The number of the first page of the sector that a page is in.
    fn sector_of<F: NorFlash>(&self, sequence: u32) -> u32 {
        sequence.saturating_sub(self.place(sequence) % in_sector::<F>())
    }

    /// Places of the sector under way that are still to come; 0 at a sector's beginning.
    fn left_in_sector<F: NorFlash>(&self) -> u32 {
        let in_sector = in_sector::<F>();
        (in_sector - self.place(self.next) % in_sector) % in_sector
    }

    /// Writes a page into the next erased place.
    ///
    /// # Errors
    /// There is none. Or the flash refuses, or does not hold what was written: then this place is
    /// behind, and the page may be tried at the next.
    pub async fn keep<F: NorFlash>(
        &mut self,
        flash: &mut F,
        bytes: &mut [u8; SIZE],
        flight: u16,
        flags: u8,
    ) -> Result<u32, KeepError> {
        for _ in 0..TRIES {
            let (sequence, at) = (self.next, self.address(self.next));
            let mut found = [0; SIZE];
            if !self.is_bad::<F>(sequence) && flash.read(at, &mut found).await.is_ok() {
                if found == [0xFF; SIZE] {
                    self.next = self.next.wrapping_add(1);
                    page::seal(bytes, sequence, flight, flags);
                    return self.write(flash, bytes, sequence).await;
                }
                if page::head(&found).is_some() {
                    return Err(KeepError::Full);
                }
            }
            self.next = self.next.wrapping_add(1);
        }
        Err(KeepError::Flash)
    }

    async fn write<F: NorFlash>(
        &mut self,
        flash: &mut F,
        bytes: &[u8; SIZE],
        sequence: u32,
    ) -> Result<u32, KeepError> {
        let (at, mut found) = (self.address(sequence), [0; SIZE]);
        let is_written = flash.write(at, bytes).await.is_ok();
        if !is_written || flash.read(at, &mut found).await.is_err() || found != *bytes {
            self.bad_places = self.bad_places.saturating_add(1);
            return Err(KeepError::Flash);
        }
        let Head { flight, flags, .. } = page::read(bytes);
        self.note_first(sequence, flight, flags);
        Ok(sequence)
    }

    /// Notes where the newest flight begins, by a page that was kept.
    fn note_first(&mut self, sequence: u32, flight: u16, flags: u8) {
        if flight != self.flight {
            (self.flight, self.first_before, self.first) = (flight, self.first, sequence);
        }
        if flags & CONTINUES != 0 {
            self.first = self.first_before;
        }
    }

    /// The bytes of a page; `None` where it is lost, or was never written.
    pub async fn page<F: NorFlash>(
        &self,
        flash: &mut F,
        sequence: u32,
    ) -> Option<(Head, [u8; SIZE])> {
        let mut bytes = [0; SIZE];
        flash.read(self.address(sequence), &mut bytes).await.ok()?;
        let head = page::head(&bytes).filter(|head| head.sequence == sequence)?;
        Some((head, bytes))
    }

    async fn head_in<F: NorFlash>(&self, flash: &mut F, place: u32) -> Option<Head> {
        let mut bytes = [0; SIZE];
        let at = self.range.start + place * SIZE as u32;
        // Most places are erased, and their first bytes say so.
        let (first, rest) = bytes.split_first_chunk_mut::<16>()?;
        flash.read(at, first).await.ok()?;
        if *first == [0xFF; 16] {
            return None;
        }
        flash.read(at + 16, rest).await.ok()?;
        // A page in the place of another was not written by us.
        page::head(&bytes).filter(|head| self.place(head.sequence) == place)
    }

    fn place(&self, sequence: u32) -> u32 {
        sequence % self.places().max(1)
    }

    fn address(&self, sequence: u32) -> u32 {
        self.range.start + self.place(sequence) * SIZE as u32
    }
}

/// Pages of an erase sector; sectors of less than a page are none of ours.
fn in_sector<F: NorFlash>() -> u32 {
    ((F::ERASE_SIZE / SIZE) as u32).max(1)
}
