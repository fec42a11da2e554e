//! The sensors' bus: carries out the instrument's transactions.

use crate::shared::{Shared, now};
use chirrup_sensors::bus::{BusFault, BusStep, run_async};
use chirrup_sensors::recovery::free_bus;
use embassy_nrf::gpio::{Flex, OutputDrive, Pull};
use embassy_nrf::peripherals::{P0_26, P0_27, TWISPI0};
use embassy_nrf::twim::{self, Frequency, Twim};
use embassy_nrf::{Peri, bind_interrupts};
use embassy_time::{Delay, Duration, Instant, Timer, with_timeout};

bind_interrupts!(struct Interrupts {
    TWISPI0 => twim::InterruptHandler<TWISPI0>;
});

/// 390 kHz: at 400 kHz this chip holds the clock low for less than the bus demands (its errata,
/// anomaly 219, which gives this register value).
const CLOCK: Frequency = Frequency::from_bits(0x0620_0000);
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
        serve_until_stuck(instrument, bus).await;
        let mut scl = open_drain(Flex::new(wires.scl.reborrow()));
        let mut sda = open_drain(Flex::new(wires.sda.reborrow()));
        let freed = free_bus(&mut scl, &mut sda, &mut Delay).is_ok();
        instrument.borrow_mut().bus_recovered(now(), freed);
    }
}

async fn serve_until_stuck(instrument: Shared, mut bus: Twim<'_>) {
    loop {
        let step = instrument.borrow_mut().bus_step(now());
        match step {
            BusStep::Transact(transaction) => {
                let result = with_timeout(LIMIT, run_async(&mut bus, &transaction)).await;
                let ended = now();
                if matches!(result, Ok(Err(_))) {
                    Timer::after(STOP).await;
                }
                instrument.borrow_mut().bus_done(ended, result.unwrap_or(Err(BusFault::Stuck)));
            }
            BusStep::Wait(until) => {
                Timer::at(Instant::from_micros(until.0.max(0) as u64)).await;
            }
            BusStep::Recover => return,
        }
    }
}

fn open_drain(mut pin: Flex<'_>) -> Flex<'_> {
    pin.set_high();
    pin.set_as_input_output(Pull::None, OutputDrive::Standard0Disconnect1);
    pin
}
