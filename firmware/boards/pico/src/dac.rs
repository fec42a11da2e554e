//! The DAC: three slices of the timer and two channels of DMA, which need the processor once a
//! tick.
//!
//! ```text
//! slice 7  the carrier, on the pin
//! slice 6  counts a sample: channel 0 carries a count from the ring to slice 7
//! slice 5  counts a sample: channel 1 sets to rest what was played some samples ago
//! ```
//!
//! The three count in step, slices 5 and 6 half a carrier later, so that each sample begins with a
//! period of the carrier. Two slices pace the channels because a request goes to one channel only.

use chirrup_core::Voice;
use chirrup_firmware::dac::ring::{BEHIND, PLACES, Ring};
use chirrup_firmware::dac::{Carrier, Dac, TICK_SAMPLES};
use core::sync::atomic::{AtomicU32, Ordering};
use embassy_rp::Peri;
use embassy_rp::pac;
use embassy_rp::pac::dma::vals::{DataSize, TreqSel};
use embassy_rp::peripherals::{DMA_CH0, DMA_CH1, PWM_SLICE5, PWM_SLICE6};
use embassy_rp::pwm::{Config, Pwm, PwmBatch};

use crate::shared::now;

/// The slice of the speaker's pin.
pub const SLICE: usize = 7;
/// From the ring to the pin's slice, and from `REST` to the ring.
const PLAY: usize = 0;
const CLEAR: usize = 1;
const WORD: usize = size_of::<u32>();
/// Log2 of the ring's bytes, at which the channels' addresses wrap.
const RING_BITS: u8 = (PLACES * WORD).ilog2() as u8;
/// As often as a channel can be told to: 47 hours of samples on an RP2040, and for ever on an
/// RP2350 (its data sheet, TRANS_COUNT, mode "endless").
const VERY_OFTEN: u32 = u32::MAX;

/// Wrapping addresses need a ring that begins at a multiple of its size.
#[repr(align(1024))]
struct Counts([AtomicU32; PLACES]);

static COUNTS: Counts = Counts([const { AtomicU32::new(0) }; PLACES]);
/// The count at which the pin rests. Not a constant: those are in flash, which cannot be read while
/// it is written.
static REST: AtomicU32 = AtomicU32::new(0);

/// What paces the samples.
pub struct Pace {
    slices: [Pwm<'static>; 2],
    _channels: (Peri<'static, DMA_CH0>, Peri<'static, DMA_CH1>),
}

impl Pace {
    /// Slices and channels, which do nothing yet.
    pub fn new(
        clear: Peri<'static, PWM_SLICE5>,
        play: Peri<'static, PWM_SLICE6>,
        channels: (Peri<'static, DMA_CH0>, Peri<'static, DMA_CH1>),
    ) -> Self {
        let idle = || paced(u16::MAX);
        let slices = [Pwm::new_free(clear, idle()), Pwm::new_free(play, idle())];
        Self { slices, _channels: channels }
    }
}

/// The DAC at work.
pub struct Playing {
    dac: Dac,
    ring: Ring,
}

impl Playing {
    /// Starts the DAC with the pin low.
    pub fn begin(carrier: Carrier, pin: &mut Pwm<'static>, pace: &mut Pace) -> Self {
        stop();
        // A few cycles: what a channel has under way.
        while pac::DMA.chan_abort().read().chan_abort() != 0 {}
        PwmBatch::set_enabled(false, |batch| batch.enable(pin));
        REST.store(0, Ordering::Relaxed);
        COUNTS.0.iter().for_each(|place| place.store(0, Ordering::Relaxed));
        pin.set_config(&paced(carrier.counts - 1));
        pin.set_counter(0);
        for slice in &mut pace.slices {
            slice.set_config(&paced(carrier.sample_counts - 1));
            slice.set_counter(carrier.counts / 2);
        }
        start();
        PwmBatch::set_enabled(true, |batch| {
            batch.enable(pin);
            pace.slices.iter().for_each(|slice| batch.enable(slice));
        });
        Self { dac: Dac::new(carrier), ring: Ring::new(now(), place()) }
    }

    /// Plays a voice for a tick.
    pub fn tick(&mut self, voice: Voice) {
        go_on();
        if let Some(from) = self.ring.turn(now(), place()) {
            let mut counts = [0; TICK_SAMPLES];
            if self.dac.tick(voice, &mut counts) {
                let until_end = counts.len().min(PLACES - from % PLACES);
                let (now, wrapped) = counts.split_at(until_end);
                store(from, now);
                store(0, wrapped);
            }
        }
        REST.store(self.dac.rest().into(), Ordering::Relaxed);
    }
}

/// Puts counts into the ring, from a place on.
fn store(from: usize, counts: &[u16]) {
    for (place, count) in COUNTS.0.iter().skip(from).zip(counts) {
        place.store(u32::from(*count), Ordering::Relaxed);
    }
}

/// Stops both channels; the pin stays at its last count.
pub fn stop() {
    for channel in [PLAY, CLEAR] {
        // First this, or an aborted channel may start again (RP2040 data sheet, erratum E13).
        pac::DMA.ch(channel).al1_ctrl().write_value(0);
    }
    pac::DMA.chan_abort().write(|abort| abort.set_chan_abort(1 << PLAY | 1 << CLEAR));
}

fn start() {
    let counts = COUNTS.0.as_ptr() as u32;
    let compare = pac::PWM.ch(SLICE).cc().as_ptr() as u32;
    let play = pac::DMA.ch(PLAY);
    play.read_addr().write_value(counts);
    play.write_addr().write_value(compare);
    let clear = pac::DMA.ch(CLEAR);
    clear.read_addr().write_value(REST.as_ptr() as u32);
    clear.write_addr().write_value(counts + ((PLACES - BEHIND) * WORD) as u32);
    for (channel, of_the_ring) in [(PLAY, Of::Read), (CLEAR, Of::Write)] {
        let is_read = of_the_ring == Of::Read;
        pac::DMA.ch(channel).al1_ctrl().write_value(
            {
                let mut control = pac::dma::regs::CtrlTrig::default();
                control.set_en(true);
                control.set_high_priority(true);
                control.set_data_size(DataSize::SIZE_WORD);
                control.set_incr_read(is_read);
                control.set_incr_write(!is_read);
                control.set_ring_sel(!is_read);
                control.set_ring_size(RING_BITS);
                control.set_chain_to(channel as u8);
                control.set_treq_sel(if is_read { TreqSel::PWM_WRAP6 } else { TreqSel::PWM_WRAP5 });
                control.set_irq_quiet(true);
                control
            }
            .0,
        );
    }
    go_on();
}

/// Which of a channel's addresses goes round the ring.
#[derive(PartialEq)]
enum Of {
    Read,
    Write,
}

/// Starts the channels, or starts them again where they have done all that they were told to.
fn go_on() {
    for channel in [PLAY, CLEAR] {
        let channel = pac::DMA.ch(channel);
        if !channel.ctrl_trig().read().busy() {
            channel.al1_trans_count_trig().write_value(VERY_OFTEN);
        }
    }
}

/// The place of the ring that is played next.
fn place() -> usize {
    let read = pac::DMA.ch(PLAY).read_addr().read();
    (read as usize).wrapping_sub(COUNTS.0.as_ptr() as usize) / WORD
}

/// A slice that is not enabled yet.
fn paced(top: u16) -> Config {
    let mut config = Config::default();
    (config.top, config.enable) = (top, false);
    config
}
