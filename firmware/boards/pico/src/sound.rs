//! The speaker: a square wave of the timer, set every control tick.

use crate::{Shared, now};
use chirrup_firmware::instrument::TICK;
use embassy_rp::Peri;
use embassy_rp::clocks::clk_sys_freq;
use embassy_rp::peripherals::{PIN_14, PWM_SLICE7};
use embassy_rp::pwm::{Config, Pwm};
use embassy_time::{Duration, Ticker};

/// The timer counts at this rate: 16 bits reach down to 76 Hz, and at 4000 Hz a count is 1.4 cents. Both boards' clocks, 125 and
/// 150 MHz, are whole multiples of it.
const COUNTER_HZ: u32 = 5_000_000;

/// The timer, silent, on the speaker's pin.
pub fn speaker(timer: Peri<'static, PWM_SLICE7>, pin: Peri<'static, PIN_14>) -> Pwm<'static> {
    Pwm::new_output_a(timer, pin, config(0xFFFF, 0))
}

fn config(top: u16, compare: u16) -> Config {
    let mut config = Config::default();
    config.divider = ((clk_sys_freq() / COUNTER_HZ) as u8).into();
    config.top = top;
    config.compare_a = compare;
    config
}

/// Sounds for ever.
#[embassy_executor::task]
pub async fn make(instrument: Shared, mut speaker: Pwm<'static>) {
    let mut ticker = Ticker::every(Duration::from_micros(TICK.0 as u64));
    let mut last = None;
    loop {
        let pwm = instrument.borrow_mut().tick(now()).pwm(COUNTER_HZ);
        // Both registers wait for the end of the period, so that no period is cut short.
        if last.replace(pwm) != Some(pwm) {
            speaker.set_config(&config(pwm.top, pwm.compare));
        }
        ticker.next().await;
    }
}
