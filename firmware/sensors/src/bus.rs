//! An I2C transaction as data: a driver requests it, a board carries it out and returns the answer.
//!
//! So a driver is a state machine without a bus, a wait or a HAL, tested with plain values;
//! [`run_blocking`] and [`run_async`] serve both kinds of board with the same drivers.

use chirrup_core::Micros;
use embedded_hal::i2c::{Error as _, ErrorKind, NoAcknowledgeSource};
use heapless::Vec;

/// Longest run of bytes that a driver sends.
pub const LONGEST_WRITE: usize = 4;
/// Longest run of bytes that a driver reads: twelve words of an inertial sensor's memory.
pub const LONGEST_READ: usize = 84;

/// Clock of the bus. Boards set it, and times of transfers are reckoned with it.
pub const CLOCK_HZ: u32 = 400_000;

/// A device's answer; empty after a plain write.
pub type Reply = Vec<u8, LONGEST_READ>;

/// Something to send to one device, and how many bytes to read from it after that.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Transaction {
    /// The device, 7 bits.
    pub address: u8,
    /// Bytes to send; empty for a plain read.
    pub send: Vec<u8, LONGEST_WRITE>,
    /// Bytes to read after a repeated start; 0 for a plain write. At most [`LONGEST_READ`].
    pub read: usize,
}

impl Transaction {
    /// Bytes to a device.
    pub fn write<const N: usize>(address: u8, bytes: [u8; N]) -> Self {
        Self::write_read(address, bytes, 0)
    }

    /// Bytes from a device.
    pub fn read(address: u8, length: usize) -> Self {
        Self::write_read(address, [], length)
    }

    /// Bytes to a device, then bytes from it.
    pub fn write_read<const N: usize>(address: u8, bytes: [u8; N], length: usize) -> Self {
        const { assert!(N <= LONGEST_WRITE) };
        Self { address, send: bytes.into_iter().collect(), read: length.min(LONGEST_READ) }
    }

    /// Its time on the wire: nine bits for each byte and each address, and some bits for start and
    /// stop.
    pub fn on_the_wire(&self) -> Micros {
        let addresses =
            usize::from(!self.send.is_empty() || self.read == 0) + usize::from(self.read > 0);
        let bits = 9 * (addresses + self.send.len() + self.read) + 4;
        Micros((bits as i64 * 1_000_000).div_euclid(i64::from(CLOCK_HZ)) + 1)
    }
}

/// Why a transaction failed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum BusFault {
    /// No device acknowledged the address.
    NoAnswer,
    /// The bus did not move: a line is held down, arbitration was lost, or the board's time limit
    /// passed.
    Stuck,
    /// Anything else, such as a device that stopped acknowledging in the middle.
    Broken,
}

impl BusFault {
    /// The fault behind an error of the HAL.
    pub fn of(kind: ErrorKind) -> Self {
        match kind {
            ErrorKind::NoAcknowledge(NoAcknowledgeSource::Data) => BusFault::Broken,
            ErrorKind::NoAcknowledge(_) => BusFault::NoAnswer,
            ErrorKind::Bus | ErrorKind::ArbitrationLoss => BusFault::Stuck,
            _ => BusFault::Broken,
        }
    }
}

/// What the bus should do next.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum BusStep {
    /// Carry this out and return the answer.
    Transact(Transaction),
    /// Nothing before this time.
    Wait(Micros),
    /// Clock the bus free, see [`crate::recovery`], and report the result.
    Recover,
}

/// Carries out a transaction on a blocking bus; at 400 kHz the longest takes 2 ms.
///
/// # Errors
/// The fault that the bus reported.
pub fn run_blocking(
    bus: &mut impl embedded_hal::i2c::I2c,
    transaction: &Transaction,
) -> Result<Reply, BusFault> {
    let mut reply = room_for(transaction);
    let done = match (transaction.send.as_slice(), reply.as_mut_slice()) {
        (send, []) => bus.write(transaction.address, send),
        ([], read) => bus.read(transaction.address, read),
        (send, read) => bus.write_read(transaction.address, send, read),
    };
    done.map(|()| reply).map_err(|error| BusFault::of(error.kind()))
}

/// Carries out a transaction on an async bus. A board adds a time limit of some milliseconds and
/// reports [`BusFault::Stuck`] when it passes.
///
/// # Errors
/// The fault that the bus reported.
pub async fn run_async(
    bus: &mut impl embedded_hal_async::i2c::I2c,
    transaction: &Transaction,
) -> Result<Reply, BusFault> {
    let mut reply = room_for(transaction);
    let done = match (transaction.send.as_slice(), reply.as_mut_slice()) {
        (send, []) => bus.write(transaction.address, send).await,
        ([], read) => bus.read(transaction.address, read).await,
        (send, read) => bus.write_read(transaction.address, send, read).await,
    };
    done.map(|()| reply).map_err(|error| BusFault::of(error.kind()))
}

fn room_for(transaction: &Transaction) -> Reply {
    (0..transaction.read.min(LONGEST_READ)).map(|_| 0).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use embedded_hal_mock::eh1::i2c::{Mock, Transaction as Expected};
    use std::vec;

    #[test]
    fn writes_reads_and_both_reach_a_blocking_bus_unchanged() {
        let mut bus = Mock::new(&[
            Expected::write(0x77, vec![0x1E]),
            Expected::read(0x28, vec![1, 2, 3, 4]),
            Expected::write_read(0x77, vec![0x00], vec![7, 8, 9]),
        ]);
        let run = |bus: &mut Mock, transaction| run_blocking(bus, &transaction).unwrap();
        assert!(run(&mut bus, Transaction::write(0x77, [0x1E])).is_empty());
        assert_eq!(run(&mut bus, Transaction::read(0x28, 4)), [1, 2, 3, 4]);
        assert_eq!(run(&mut bus, Transaction::write_read(0x77, [0x00], 3)), [7, 8, 9]);
        bus.done();
    }

    #[test]
    fn a_transaction_takes_its_bits_at_400_khz() {
        // Counted by hand, 2.5 us a bit: address and command; two addresses, command, three bytes.
        let command = Transaction::write(0x77, [0x48]).on_the_wire();
        let read = Transaction::write_read(0x77, [0x00], 3).on_the_wire();
        assert!((45..60).contains(&command.0), "{command:?}");
        assert!((135..150).contains(&read.0), "{read:?}");
        assert!((112..125).contains(&Transaction::read(0x28, 4).on_the_wire().0));
    }

    #[test]
    fn an_async_bus_gets_the_same() {
        let mut bus = Mock::new(&[
            Expected::write(0x77, vec![0x1E]),
            Expected::read(0x28, vec![1, 2, 3, 4]),
            Expected::write_read(0x77, vec![0x00], vec![7, 8, 9]),
        ]);
        let run = |bus: &mut Mock, transaction| {
            embassy_futures::block_on(run_async(bus, &transaction)).unwrap()
        };
        assert!(run(&mut bus, Transaction::write(0x77, [0x1E])).is_empty());
        assert_eq!(run(&mut bus, Transaction::read(0x28, 4)), [1, 2, 3, 4]);
        assert_eq!(run(&mut bus, Transaction::write_read(0x77, [0x00], 3)), [7, 8, 9]);
        bus.done();
    }

    #[test]
    fn a_missing_device_and_a_held_bus_give_different_faults() {
        let fault = |kind| {
            let mut bus = Mock::new(&[Expected::write(0x77, vec![0x1E]).with_error(kind)]);
            let found = run_blocking(&mut bus, &Transaction::write(0x77, [0x1E])).unwrap_err();
            bus.done();
            found
        };
        assert_eq!(
            fault(ErrorKind::NoAcknowledge(NoAcknowledgeSource::Address)),
            BusFault::NoAnswer
        );
        assert_eq!(
            fault(ErrorKind::NoAcknowledge(NoAcknowledgeSource::Unknown)),
            BusFault::NoAnswer
        );
        assert_eq!(fault(ErrorKind::NoAcknowledge(NoAcknowledgeSource::Data)), BusFault::Broken);
        assert_eq!(fault(ErrorKind::ArbitrationLoss), BusFault::Stuck);
        assert_eq!(fault(ErrorKind::Bus), BusFault::Stuck);
        assert_eq!(fault(ErrorKind::Overrun), BusFault::Broken);
    }
}
