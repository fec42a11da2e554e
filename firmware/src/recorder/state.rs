//! What the recorder says of itself: its room, and what was lost.

use core::fmt;

/// The recorder's room and its losses since the start.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct State {
    /// Pages that can be kept without erasing.
    pub pages: u32,
    /// Rows of the last full page; 0 where there was none.
    pub rows_a_page: u8,
    /// Pages lost: flash did not take them in time, or had no room.
    pub lost: u32,
    /// Places of flash that did not hold what was written.
    pub bad_places: u16,
    /// Sectors of flash that could not be erased.
    pub bad_sectors: u16,
    /// Whether there is no room.
    pub is_full: bool,
}

impl fmt::Display for State {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { pages, rows_a_page, lost, bad_places, bad_sectors, .. } = *self;
        write!(f, "room for ")?;
        if rows_a_page > 0 {
            let minutes = pages.saturating_mul(rows_a_page.into()) / (50 * 60);
            write!(f, "{minutes} minutes, ")?;
        }
        write!(f, "{pages} pages")?;
        if lost > 0 {
            write!(f, "; {lost} pages lost")?;
        }
        if bad_places.max(bad_sectors) > 0 {
            write!(f, "; flash failed at {bad_places} pages and {bad_sectors} sectors")?;
        }
        Ok(())
    }
}
