//! The settings in the last four sectors of the flash.

use crate::flash::{Memory, SETTINGS};
use crate::recorder::{Lent, SharedKeeper};
use crate::shared::Shared;
use chirrup_firmware::store::{self, Loaded};
use embassy_time::Timer;

/// The saved settings, and flash erased for the saves to come, since nobody flies yet.
pub async fn load(flash: &mut Memory) -> Loaded {
    let loaded = store::load(flash, SETTINGS).await;
    // What could not be erased now will be, where a save may.
    let _ = store::prepare(flash, SETTINGS, &loaded).await;
    loaded
}

/// Saves whenever the instrument requests it.
#[embassy_executor::task]
pub async fn keep(instrument: Shared, keeper: SharedKeeper) {
    loop {
        let wanted = instrument.borrow_mut().take_save();
        if let Some(settings) = wanted {
            let may_erase = instrument.borrow().may_erase();
            let mut flash = Lent(keeper);
            let result = store::save(&mut flash, SETTINGS, &settings, may_erase).await;
            instrument.borrow_mut().saved(result);
        }
        Timer::after_millis(100).await;
    }
}
