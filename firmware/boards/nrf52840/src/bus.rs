//! The sensors' bus: carries out the instrument's transactions.

use crate::shared::{Shared, now};
use chirrup_sensors::bus::{BusFault, BusStep, run_async};
use chirrup_sensors::recovery::free_bus;
use embassy_nrf::gpio::{Flex, OutputDrive, Pull};
use embassy_nrf::peripherals::{P0_26, P0_27, TWISPI0};
use embassy_nrf::twim::{self, Frequency, Twim};
use embassy_nrf::{Peri, bind_interrupts};
use embassy_time::{Duration, Instant, Timer, with_timeout};
use embedded_hal::delay::DelayNs;

bind_interrupts!(struct Interrupts {
    TWISPI0 => twim::InterruptHandler<TWISPI0>;
});

/// 390 kHz: at 400 kHz this chip holds the clock low for less than the bus demands (its errata,
/// anomaly 219, which gives this register value).
const CLOCK: Frequency = Frequency::from_bits(0x0620_0000);
const CYCLES_PER_US: u32 = 64;
/// The longest transaction takes 2 ms; one that takes this long never ends.
const LIMIT: Duration = Duration::from_millis(5);
/// The driver reports a failure before the stop condition is on the wires; this is long enough.
const STOP: Duration = Duration::from_micros(100);

/// The bus and its two lines.
pub struct Wires {
    /// The controller.
    pub bus: Peri<'static, TWISPI0>,
    /// The clock line.
    pub scl: Peri<'static, P0_27>,
    /// The data line.
    pub sda: Peri<'static, P0_26>,
}

/// Serves the instrument's bus forever; the controller is set up again after each recovery.
#[embassy_executor::task]
pub async fn serve(instrument: Shared, mut wires: Wires) {
    loop {
        let mut config = twim::Config::default();
        config.frequency = CLOCK;
        let (bus, scl, sda) = (wires.bus.reborrow(), wires.scl.reborrow(), wires.sda.reborrow());
        // Nothing that is sent is in flash, from which this chip's DMA cannot read.
        let bus = Twim::new(bus, Interrupts, sda, scl, config, &mut []);
        if serve_until_hung(instrument, bus).await == Hung::Once {
            continue;
        }
        let mut scl = open_drain(Flex::new(wires.scl.reborrow()));
        let mut sda = open_drain(Flex::new(wires.sda.reborrow()));
        let freed = free_bus(&mut scl, &mut sda, &mut Cycles).is_ok();
        instrument.borrow_mut().bus_recovered(now(), freed);
    }
}

/// How the bus hangs.
#[derive(PartialEq)]
enum Hung {
    /// A transaction did not end; the controller is set up again.
    Once,
    /// So often that the lines have to be clocked free.
    Stuck,
}

async fn serve_until_hung(instrument: Shared, mut bus: Twim<'_>) -> Hung {
    loop {
        let step = instrument.borrow_mut().bus_step(now());
        match step {
            BusStep::Transact(transaction) => {
                let done = with_timeout(LIMIT, run_async(&mut bus, &transaction)).await;
                let ended = now();
                let Ok(result) = done else {
                    // The controller would still write into the memory that the answer had.
                    drop(bus);
                    instrument.borrow_mut().bus_done(ended, Err(BusFault::Stuck));
                    return Hung::Once;
                };
                if result.is_err() {
                    Timer::after(STOP).await;
                }
                instrument.borrow_mut().bus_done(ended, result);
            }
            BusStep::Wait(until) => {
                // A tick of this timer is 30.5 us, and not before the time is to be waited.
                let tick = Instant::from_micros(until.0.max(0) as u64);
                Timer::at(tick + Duration::from_ticks(1)).await;
            }
            BusStep::Recover => return Hung::Stuck,
        }
    }
}

fn open_drain(mut pin: Flex<'_>) -> Flex<'_> {
    pin.set_high();
    pin.set_as_input_output(Pull::None, OutputDrive::Standard0Disconnect1);
    pin
}

/// Half a clock of the bus is less than a tick of the timer.
struct Cycles;

impl DelayNs for Cycles {
    fn delay_ns(&mut self, ns: u32) {
        cortex_m::asm::delay(ns.div_ceil(1_000) * CYCLES_PER_US);
    }
}
