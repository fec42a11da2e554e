//! The sensors' bus: carries out the instrument's transactions.

use crate::recorder::{self, SharedKeeper};
use crate::shared::{Shared, now};
use chirrup_core::Micros;
use chirrup_sensors::bus::{BusFault, BusStep, CLOCK_HZ, run_async};
use chirrup_sensors::recovery::free_bus;
use core::sync::atomic::{AtomicU32, Ordering};
use embassy_rp::gpio::{Level, OutputOpenDrain};
use embassy_rp::i2c::{self, I2c};
use embassy_rp::interrupt::typelevel::{Handler, I2C0_IRQ};
use embassy_rp::peripherals::{I2C0, PIN_4, PIN_5};
use embassy_rp::{Peri, bind_interrupts};
use embassy_time::{Delay, Duration, Instant, Timer, with_timeout};

bind_interrupts!(struct Interrupts {
    I2C0_IRQ => Stamp, i2c::InterruptHandler<I2C0>;
});

/// Low half of the timer at the bus's last interrupt. The last of a transaction is its stop.
static LAST: AtomicU32 = AtomicU32::new(0);

/// Notes the time of an interrupt, so that a transaction has the time when it ended, and not when
/// its task was served. The sampler's own bound, which serves boards that cannot know, leaves 150
/// us.
struct Stamp;

impl Handler<I2C0_IRQ> for Stamp {
    unsafe fn on_interrupt() {
        LAST.store(now().0 as u32, Ordering::Relaxed);
    }
}

/// When the transaction that began at `begun` ended: between then and now.
fn ended_since(begun: Micros) -> Micros {
    let now = now();
    let ago = (now.0 as u32).wrapping_sub(LAST.load(Ordering::Relaxed));
    let ended = Micros(now.0.saturating_sub(i64::from(ago)));
    if ended >= begun { ended } else { now }
}

/// The longest transaction takes 2 ms; one that takes this long never ends.
const LIMIT: Duration = Duration::from_millis(5);

/// The bus and its two lines.
pub struct Wires {
    /// The controller.
    pub bus: Peri<'static, I2C0>,
    /// The clock line.
    pub scl: Peri<'static, PIN_5>,
    /// The data line.
    pub sda: Peri<'static, PIN_4>,
}

/// Serves the instrument's bus forever; the controller is set up again after each recovery.
#[embassy_executor::task]
pub async fn serve(instrument: Shared, keeper: SharedKeeper, mut wires: Wires) {
    loop {
        let mut config = i2c::Config::default();
        config.frequency = CLOCK_HZ;
        let (bus, scl, sda) = (wires.bus.reborrow(), wires.scl.reborrow(), wires.sda.reborrow());
        serve_until_stuck(instrument, keeper, I2c::new_async(bus, scl, sda, Interrupts, config))
            .await;
        let mut scl = OutputOpenDrain::new(wires.scl.reborrow(), Level::High);
        let mut sda = OutputOpenDrain::new(wires.sda.reborrow(), Level::High);
        let freed = free_bus(&mut scl, &mut sda, &mut Delay).is_ok();
        instrument.borrow_mut().bus_recovered(now(), freed);
    }
}

async fn serve_until_stuck(
    instrument: Shared,
    keeper: SharedKeeper,
    mut bus: I2c<'_, I2C0, i2c::Async>,
) {
    loop {
        let step = instrument.borrow_mut().bus_step(now());
        match step {
            BusStep::Transact(transaction) => {
                let begun = now();
                let result = with_timeout(LIMIT, run_async(&mut bus, &transaction)).await;
                let ended = ended_since(begun);
                instrument.borrow_mut().bus_done(ended, result.unwrap_or(Err(BusFault::Stuck)));
            }
            BusStep::Wait(until) => {
                recorder::serve(keeper, instrument, until);
                Timer::at(Instant::from_micros(until.0.max(0) as u64)).await;
            }
            BusStep::Recover => return,
        }
    }
}
