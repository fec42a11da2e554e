//! The console on USB, as a serial port that needs no driver.

use crate::shared::Shared;
use chirrup_firmware::instrument::Port;
use embassy_futures::join::join3;
use embassy_futures::yield_now;
use embassy_rp::peripherals::USB;
use embassy_rp::usb::{Driver, InterruptHandler};
use embassy_rp::{Peri, bind_interrupts};
use embassy_time::Timer;
use embassy_usb::class::cdc_acm::{CdcAcmClass, Receiver, Sender, State};
use embassy_usb::driver::EndpointError;
use embassy_usb::{Builder, Config};
use static_cell::StaticCell;

bind_interrupts!(struct Interrupts {
    USBCTRL_IRQ => InterruptHandler<USB>;
});

/// Vendor and product that pid.codes sets aside for tests (from memory): we may use them on a
/// bench, not in a product for sale.
const VENDOR: u16 = 0x1209;
const PRODUCT: u16 = 0x0001;
/// Full-speed bulk packets hold 64 bytes; a shorter one is never taken for part of a longer
/// transfer.
const PACKET: u16 = 64;
const SENT_AT_ONCE: usize = 63;
const LOOK_EVERY_MS: u64 = 5;

type Bus = Driver<'static, USB>;

/// Buffers of the USB stack for descriptors and answers.
struct Memory {
    descriptor: [u8; 128],
    control: [u8; 64],
    class: State<'static>,
}

static MEMORY: StaticCell<Memory> = StaticCell::new();

/// Carries bytes both ways forever, through any number of reconnections.
#[embassy_executor::task]
pub async fn carry(instrument: Shared, usb: Peri<'static, USB>) {
    let mut config = Config::new(VENDOR, PRODUCT);
    config.manufacturer = Some("Chirrup");
    config.product = Some("Chirrup variometer");
    let Memory { descriptor, control, class } =
        MEMORY.init(Memory { descriptor: [0; 128], control: [0; 64], class: State::new() });
    let mut builder =
        Builder::new(Bus::new(usb, Interrupts), config, descriptor, &mut [], &mut [], control);
    let (mut sender, mut receiver) = CdcAcmClass::new(&mut builder, class, PACKET).split();
    let mut device = builder.build();
    let send = async {
        loop {
            sender.wait_connection().await;
            let _ = send(instrument, &mut sender).await;
        }
    };
    let receive = async {
        loop {
            receiver.wait_connection().await;
            let _ = receive(instrument, &mut receiver).await;
        }
    };
    join3(device.run(), send, receive).await;
}

/// Sends until the cable is pulled. Nothing is sent to a port that is not open, or it would begin
/// with old lines.
async fn send(instrument: Shared, port: &mut Sender<'static, Bus>) -> Result<(), EndpointError> {
    let (mut bytes, mut open) = ([0; SENT_AT_ONCE], false);
    loop {
        if port.dtr() != open {
            open = port.dtr();
            if open {
                instrument.borrow_mut().connected(Port::Usb);
            }
        }
        let count = if open { instrument.borrow_mut().transmit(Port::Usb, &mut bytes) } else { 0 };
        match bytes.get(..count) {
            None | Some([]) => Timer::after_millis(LOOK_EVERY_MS).await,
            Some(bytes) => port.write_packet(bytes).await?,
        }
        // The sensors and the sound come first, between any two lines.
        yield_now().await;
    }
}

async fn receive(
    instrument: Shared,
    port: &mut Receiver<'static, Bus>,
) -> Result<(), EndpointError> {
    let mut bytes = [0; PACKET as usize];
    loop {
        let count = port.read_packet(&mut bytes).await?;
        instrument.borrow_mut().receive(Port::Usb, bytes.get(..count).unwrap_or_default());
    }
}
