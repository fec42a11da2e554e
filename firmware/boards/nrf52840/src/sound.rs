//! The speaker's pin: the bench's samples, 25 000 a second, which the PWM fetches from memory by
//! itself.
//!
//! ```text
//!   played, then set to rest       being filled
//!   +------------------------+------------------------+
//!   | sequence 0: 50 samples | sequence 1: 50 samples |  and round again
//!   +------------------------+------------------------+
//!                 the end of each calls for the next tick, every 2 ms
//! ```
//!
//! 16 MHz are 128 counts of a carrier of 125 kHz, and a sample is five of its periods, as on the
//! Pico, where there are 1000 counts; the noise of the rounding is therefore 18 dB higher.
//!
//! The interrupt sets to rest what was played, so that a task that comes late is heard as silence
//! and not as the same beep over and over.

use crate::shared::{Shared, now};
use chirrup_firmware::dac::{Carrier, Dac, TICK_SAMPLES};
use core::sync::atomic::{AtomicU16, Ordering};
use embassy_nrf::interrupt::typelevel::{Handler, Interrupt, PWM0 as PwmInterrupt};
use embassy_nrf::pac;
use embassy_nrf::peripherals::{P1_11, PWM0};
use embassy_nrf::pwm::{Config, PWM_CLK_HZ, Prescaler, SequencePwm};
use embassy_nrf::{Peri, bind_interrupts};
use embassy_sync::blocking_mutex::raw::CriticalSectionRawMutex;
use embassy_sync::signal::Signal;

bind_interrupts!(struct Interrupts {
    PWM0 => Ended;
});

/// Periods of the carrier after a sample's first.
const MORE_PERIODS: u32 = 4;
/// The polarity bit of a count: high from the start of the period until the count.
const HIGH_FIRST: u16 = 1 << 15;

type Tick = [AtomicU16; TICK_SAMPLES];

static TICKS: [Tick; 2] = [const { [const { AtomicU16::new(HIGH_FIRST) }; TICK_SAMPLES] }; 2];
static REST: AtomicU16 = AtomicU16::new(HIGH_FIRST);
/// The sequence that has been played last, to be filled.
static PLAYED: Signal<CriticalSectionRawMutex, usize> = Signal::new();

/// The end of a sequence: its last sample has left memory.
struct Ended;

impl Handler<PwmInterrupt> for Ended {
    unsafe fn on_interrupt() {
        for (sequence, tick) in TICKS.iter().enumerate() {
            if pac::PWM0.events_seqend(sequence).read() != 0 {
                pac::PWM0.events_seqend(sequence).write_value(0);
                let rest = REST.load(Ordering::Relaxed);
                tick.iter().for_each(|count| count.store(rest, Ordering::Relaxed));
                PLAYED.signal(sequence);
            }
        }
    }
}

fn carrier() -> Carrier {
    let Some(carrier) = Carrier::new(PWM_CLK_HZ) else { panic!("no clock for a sound") };
    carrier
}

/// The timer on the speaker's pin, which stays low.
pub fn output(pwm: Peri<'static, PWM0>, pin: Peri<'static, P1_11>) -> SequencePwm<'static> {
    let mut config = Config::default();
    config.max_duty = carrier().counts;
    config.prescaler = Prescaler::Div1;
    let Ok(pwm) = SequencePwm::new_1ch(pwm, pin, config) else { panic!("no timer for a sound") };
    pwm
}

/// Plays forever.
#[embassy_executor::task]
pub async fn make(instrument: Shared, _pwm: SequencePwm<'static>) {
    begin();
    let mut dac = Dac::new(carrier());
    let mut counts = [0; TICK_SAMPLES];
    loop {
        let played = PLAYED.wait().await;
        let voice = instrument.borrow_mut().tick(now());
        let is_sounding = dac.tick(voice, &mut counts);
        REST.store(dac.rest() | HIGH_FIRST, Ordering::Relaxed);
        if !is_sounding {
            counts.fill(dac.rest());
        }
        for (place, count) in TICKS.iter().skip(played).take(1).flatten().zip(counts) {
            place.store(count | HIGH_FIRST, Ordering::Relaxed);
        }
    }
}

/// Starts the two sequences, each after the other for ever.
fn begin() {
    for (sequence, tick) in TICKS.iter().enumerate() {
        let dma = pac::PWM0.dma().seq(sequence);
        dma.ptr().write_value(tick.as_ptr() as u32);
        dma.maxcnt().write(|register| register.0 = TICK_SAMPLES as u32);
        dma.refresh().write(|register| register.0 = MORE_PERIODS);
        dma.enddelay().write(|register| register.0 = 0);
    }
    pac::PWM0.loop_().write(|register| register.0 = 1);
    pac::PWM0.shorts().write(|register| register.set_loopsdone_dma_seq0_start(true));
    pac::PWM0.intenset().write(|register| {
        register.set_seqend0(true);
        register.set_seqend1(true);
    });
    pac::PWM0.enable().write(|register| register.set_enable(true));
    // SAFETY: the handler is bound above, and what it shares is atomic.
    unsafe { PwmInterrupt::enable() };
    pac::PWM0.tasks_dma().seq(0).start().write_value(1);
}
