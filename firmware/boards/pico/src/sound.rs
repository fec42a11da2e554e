//! The speaker's pin, every control tick: samples through the DAC, or pulses of the timer, as
//! `device.output` says.

use crate::dac::{self, Pace, Playing, SLICE};
use crate::shared::{Shared, now};
use chirrup_core::{Pulse, PwmTimer, SpeakerOutput, Voice};
use chirrup_firmware::dac::Carrier;
use chirrup_firmware::instrument::TICK;
use chirrup_firmware::speaker::Speaker;
use embassy_rp::Peri;
use embassy_rp::clocks::clk_sys_freq;
use embassy_rp::pac;
use embassy_rp::peripherals::{PIN_14, PWM_SLICE7};
use embassy_rp::pwm::{Config, Pwm};
use embassy_time::{Duration, Instant, Timer};

const EVERY: Duration = Duration::from_micros(TICK.0 as u64);
/// After a long calculation several ticks are due: between them the bus has this time for its next
/// orders, which must not wait for all.
const APART: Duration = Duration::from_micros(500);
/// Counts of the timer in which it looks again while it is silent, a fifth of a millisecond: a
/// sound that begins waits for the end of the period, and a pitch of before, or of none, may have a
/// long one.
const SILENT_TOP: u16 = 999;
/// The prescaler's largest whole number.
const MOST_DIVIDER: u16 = 255;

/// The timer, silent, on the speaker's pin.
pub fn output(timer: Peri<'static, PWM_SLICE7>, pin: Peri<'static, PIN_14>) -> Pwm<'static> {
    Pwm::new_output_a(timer, pin, config(1, Pulse { top: SILENT_TOP, compare: 0 }))
}

/// What the pin puts out.
enum Output {
    Dac(Playing),
    Pulse(Speaker),
}

impl Output {
    fn begin(wanted: SpeakerOutput, pin: &mut Pwm<'static>, pace: &mut Pace) -> Self {
        // 125 MHz on a Pico and 150 MHz on a Pico 2 are whole multiples of the carrier, and enough
        // for the pulses.
        let clock_hz = clk_sys_freq();
        let (Some(carrier), Some(timer)) =
            (Carrier::new(clock_hz), PwmTimer::new(clock_hz, MOST_DIVIDER))
        else {
            panic!("no clock for a sound")
        };
        match wanted {
            SpeakerOutput::Dac => Output::Dac(Playing::begin(carrier, pin, pace)),
            SpeakerOutput::Pulse => {
                dac::stop();
                let silent = Pulse { top: SILENT_TOP, compare: 0 };
                pin.set_config(&config(timer.divider(), silent));
                Output::Pulse(Speaker::new(timer))
            }
        }
    }

    fn tick(&mut self, voice: Voice) {
        match self {
            Output::Dac(playing) => playing.tick(voice),
            Output::Pulse(speaker) => {
                if let Some(pulse) = speaker.change(voice) {
                    set(pulse);
                }
            }
        }
    }
}

/// Plays forever.
#[embassy_executor::task]
pub async fn make(instrument: Shared, mut pin: Pwm<'static>, mut pace: Pace) {
    let mut wanted = instrument.borrow().settings().device.output;
    let mut output = Output::begin(wanted, &mut pin, &mut pace);
    let mut due = Instant::now();
    loop {
        let (voice, setting) = {
            let mut instrument = instrument.borrow_mut();
            (instrument.tick(now()), instrument.settings().device.output)
        };
        if setting != wanted {
            wanted = setting;
            output = Output::begin(wanted, &mut pin, &mut pace);
        }
        output.tick(voice);
        due += EVERY;
        Timer::at(due.max(Instant::now() + APART)).await;
    }
}

/// Both registers wait for the end of the period, so that no period is cut short; and no interrupt
/// comes between them, so that no period has one of before and one of after. Nothing else is
/// written: control and prescaler stay as they are, and writing them now and then lost a pulse.
fn set(pulse: Pulse) {
    let channel = pac::PWM.ch(SLICE);
    cortex_m::interrupt::free(|_| {
        channel.cc().write(|register| register.set_a(pulse.compare));
        channel.top().write(|register| register.set_top(top_of(pulse)));
    });
}

fn top_of(pulse: Pulse) -> u16 {
    if pulse.compare == 0 { pulse.top.min(SILENT_TOP) } else { pulse.top }
}

fn config(divider: u16, pulse: Pulse) -> Config {
    let mut config = Config::default();
    config.divider = (divider.min(MOST_DIVIDER) as u8).into();
    config.top = top_of(pulse);
    config.compare_a = pulse.compare;
    config
}
