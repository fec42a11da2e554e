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
//! what reads as ones but does not hold them is found by reading back.

use super::page::{self, Head, SIZE};
use core::ops::Range;
use embedded_storage_async::nor_flash::NorFlash;

/// Places skipped for one page before the flash is taken for broken.
const TRIES: u32 = 64;

/// Where the recorder stands in its flash.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Ring {
    range: Range<u32>,
    /// The number of the next page.
    next: u32,
    /// The flight of the newest page; 0 where there is none.
    flight: u16,
    /// The number of that flight's first page.
    first: u32,
    /// All places before that number are known to be erased, from the next one on.
    erased_to: u32,
}

/// A page could not be kept.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum KeepError {
    /// No erased place was found.
    Full,
    /// The flash refuses.
    Flash,
}

impl Ring {
    /// Finds the newest page in `range` of `flash`, whole erase sectors, which may hold anything.
    pub async fn open<F: NorFlash>(flash: &mut F, range: Range<u32>) -> Self {
        let mut ring = Self { range, next: 0, flight: 0, first: 0, erased_to: 0 };
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

    /// Looks back for the first page of the newest flight, sector by sector.
    async fn find_first<F: NorFlash>(&mut self, flash: &mut F) {
        self.first = self.next;
        let mut begin = self.sector_of::<F>(self.next.saturating_sub(1));
        loop {
            let mut is_older = false;
            for sequence in begin..begin.saturating_add(in_sector::<F>()) {
                let Some((head, _)) = self.page(flash, sequence).await else { continue };
                if head.flight == self.flight {
                    self.first = sequence;
                    break;
                }
                is_older = true;
            }
            if is_older || begin <= self.oldest() {
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

    /// The number of the first page of that flight, as far as it is there.
    pub fn first(&self) -> u32 {
        self.first
    }

    /// Erased places from the next one on, up to `most`; in the sector under way, which cannot be
    /// erased, those that are not count too.
    pub async fn erased<F: NorFlash>(&mut self, flash: &mut F, most: u32) -> u32 {
        let most = most.min(self.places());
        let known = self.erased_to.saturating_sub(self.next).max(self.left_in_sector::<F>());
        for ahead in known.min(most)..most {
            let (at, mut bytes) = (self.next.wrapping_add(ahead), [0; 16]);
            let is_read = flash.read(self.address(at), &mut bytes).await;
            // The first bytes are enough: where they deceive, the place is skipped later.
            if is_read.is_err() || bytes != [0xFF; 16] {
                return ahead;
            }
            self.erased_to = at.wrapping_add(1);
        }
        most
    }

    /// Erases the first sector ahead that is not erased; the oldest pages are in it. A sector that
    /// has a page of the newest flight is left: nobody may have fetched it.
    ///
    /// # Errors
    /// All are that may be, or the flash refuses.
    pub async fn erase_ahead<F: NorFlash>(&mut self, flash: &mut F) -> Result<(), KeepError> {
        let most = self.erasable::<F>();
        let ahead = self.erased(flash, most).await;
        if ahead >= most {
            return Err(KeepError::Full);
        }
        let sector = self.place(self.next.wrapping_add(ahead)) / in_sector::<F>();
        let start = self.range.start + sector * F::ERASE_SIZE as u32;
        let erased = flash.erase(start, start + F::ERASE_SIZE as u32).await;
        erased.map_err(|_| KeepError::Flash)
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
    /// There is none, or the flash refuses.
    pub async fn keep<F: NorFlash>(
        &mut self,
        flash: &mut F,
        bytes: &mut [u8; SIZE],
        flight: u16,
        flags: u8,
    ) -> Result<u32, KeepError> {
        for _ in 0..TRIES {
            let mut found = [0; SIZE];
            let at = self.address(self.next);
            flash.read(at, &mut found).await.map_err(|_| KeepError::Flash)?;
            if found == [0xFF; SIZE] {
                let sequence = self.next;
                page::seal(bytes, sequence, flight, flags);
                self.next = self.next.wrapping_add(1);
                flash.write(at, bytes).await.map_err(|_| KeepError::Flash)?;
                flash.read(at, &mut found).await.map_err(|_| KeepError::Flash)?;
                if found == *bytes {
                    if flight != self.flight {
                        (self.flight, self.first) = (flight, sequence);
                    }
                    return Ok(sequence);
                }
            } else if page::head(&found).is_some() {
                return Err(KeepError::Full);
            } else {
                self.next = self.next.wrapping_add(1);
            }
        }
        Err(KeepError::Full)
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
