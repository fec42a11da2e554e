//! Every driver against every device that may be at its address: none may take another for its
//! own, and none may leave another so that its own driver no longer finds it.

use crate::bmp390::driver::Bmp390;
use crate::bmp581::driver::Bmp581;
use crate::bus::{BusFault, Reply, Transaction};
use crate::dps310::driver::Dps310;
use crate::fakes::{Connected, FakeBmp390, FakeBmp581, FakeBus, FakeDps310, FakeMs5611, FakeSdp3x};
use crate::ms5611::driver::Ms5611;
use crate::sdp3x::driver::Sdp3x;
use crate::sensor::{Driver, Fault, Outcome, Wanted, after};
use chirrup_core::Micros;
use std::boxed::Box;
use std::vec::Vec;

const ADDRESS: u8 = 0x77;
/// Longer than the slowest start, and than several frames.
const LONG_US: i64 = 300_000;

#[derive(Clone, Copy, Debug, PartialEq)]
enum Kind {
    Ms5611,
    Bmp390,
    Bmp581,
    Dps310,
    Sdp3x,
}

const KINDS: [Kind; 5] = [Kind::Ms5611, Kind::Bmp390, Kind::Bmp581, Kind::Dps310, Kind::Sdp3x];

fn driver(kind: Kind) -> Box<dyn Driver> {
    match kind {
        Kind::Ms5611 => Box::new(Ms5611::new(ADDRESS)),
        Kind::Bmp390 => Box::new(Bmp390::new(ADDRESS)),
        Kind::Bmp581 => Box::new(Bmp581::new(ADDRESS)),
        Kind::Dps310 => Box::new(Dps310::new(ADDRESS)),
        Kind::Sdp3x => Box::new(Sdp3x::new(ADDRESS)),
    }
}

/// Something that answers at [`ADDRESS`].
type Device = Box<dyn FnMut(Micros, &Transaction) -> Result<Reply, BusFault>>;

fn device(kind: Kind) -> Device {
    let mut bus = FakeBus::empty(|time: Micros| 95_000 * 64 + (time.0 / 1_000 % 7) as i32);
    match kind {
        Kind::Ms5611 => bus.ms5611[0] = Some(FakeMs5611::new(ADDRESS, Connected::Static)),
        Kind::Bmp390 => bus.bmp390 = Some(FakeBmp390::new(ADDRESS, Connected::Static)),
        Kind::Bmp581 => bus.bmp581[0] = Some(FakeBmp581::new(ADDRESS, Connected::Static)),
        Kind::Dps310 => bus.dps310[0] = Some(FakeDps310::new(ADDRESS, Connected::Static)),
        Kind::Sdp3x => bus.sdp3x = Some(FakeSdp3x::new(ADDRESS)),
    }
    Box::new(move |now, transaction| bus.run(now, transaction))
}

/// Whether a driver takes what is there for its own within `LONG_US` from `now` on.
fn is_taken(driver: &mut dyn Driver, device: &mut Device, now: &mut Micros) -> bool {
    let end = after(*now, Micros(LONG_US));
    let mut is_taken = false;
    while *now < end {
        match driver.wanted(*now) {
            Wanted::Nothing(until) => *now = until.min(end),
            Wanted::Transact(transaction) => {
                let bytes = 2 + transaction.send.len() + transaction.read;
                *now = after(*now, Micros(100 + 23 * bytes as i64));
                let answer = device(*now, &transaction);
                let outcome = driver.answer(*now, answer.as_deref().map_err(|fault| *fault));
                is_taken |= matches!(outcome, Outcome::Ready | Outcome::Measured(_));
            }
        }
    }
    is_taken
}

#[test]
fn no_driver_takes_another_kind_for_its_own_nor_spoils_it() {
    for there in KINDS {
        for looking in KINDS {
            let mut there_device = device(there);
            let mut now = Micros(12_345);
            let is_first = is_taken(&mut *driver(looking), &mut there_device, &mut now);
            assert_eq!(is_first, looking == there, "{looking:?} finds {there:?}");
            let is_own = is_taken(&mut *driver(there), &mut there_device, &mut now);
            assert!(is_own, "{there:?} is found after {looking:?} looked");
            // Now that it measures, its registers hold what they may.
            let is_later = is_taken(&mut *driver(looking), &mut there_device, &mut now);
            assert_eq!(is_later, looking == there, "{looking:?} finds a measuring {there:?}");
            let is_own = is_taken(&mut *driver(there), &mut there_device, &mut now);
            assert!(is_own, "{there:?} is found again after {looking:?} looked");
        }
    }
}

/// What a device answers: by the register it was asked for, and the place of the byte.
type Answers = fn(u8, u8) -> u8;

/// Devices of no kind.
fn nobodies() -> Vec<(&'static str, Answers)> {
    std::vec![
        ("a line held low", |_, _| 0x00),
        ("a line held high", |_, _| 0xFF),
        ("registers that hold their number", |register, place| register.wrapping_add(place)),
        ("the same in seven bits", |register, place| register.wrapping_add(place) & 0x7F),
        ("every identity at once", |register, place| match register {
            0x00 => 0x60,
            0x01 => 0x50,
            0x0D => 0x10,
            _ => place,
        }),
        ("what it was last told", |register, _| register),
    ]
}

#[test]
fn no_driver_takes_a_device_of_no_kind_for_its_own() {
    for (what, answers) in nobodies() {
        // Not the BMP390, which believes an identity, and one of these has all.
        for looking in [Kind::Ms5611, Kind::Bmp581, Kind::Dps310, Kind::Sdp3x] {
            let mut nobody: Device = Box::new(move |_, transaction| {
                let register = transaction.send.first().copied().unwrap_or(0);
                Ok((0..transaction.read as u8).map(|place| answers(register, place)).collect())
            });
            let mut now = Micros(12_345);
            let is_found = is_taken(&mut *driver(looking), &mut nobody, &mut now);
            assert!(!is_found, "{looking:?} takes {what}");
        }
    }
}

#[test]
fn a_bmp390_whose_clock_shows_the_dps310s_identity_is_not_taken_for_one() {
    // A BMP390's registers 0x0C to 0x0E are its clock, by its data sheet (from memory); 0x08 is
    // part of a temperature, and 0x10 on are events, state and memory. As unkind as it can be.
    let mut registers = [0_u8; 0x80];
    registers[..0x0E].copy_from_slice(&[
        0x60, 0x01, 0x00, 0x70, 0x02, 0x9C, 0x6B, 0x80, 0xD4, 0x80, 0x00, 0x00, 0x33, 0x10,
    ]);
    registers[0x10..0x22].copy_from_slice(&crate::fakes::DPS310_REGISTERS);
    let mut writes = Vec::new();
    let mut looking = Dps310::new(ADDRESS);
    let mut bmp390: Device = Box::new(move |_, transaction| {
        if let [register, _] = transaction.send[..] {
            writes.push(register);
            assert!(!matches!(register, 0x1B..=0x1F | 0x7E), "a register that it has");
        }
        let from = usize::from(transaction.send[0]);
        Ok(registers[from..from + transaction.read].iter().copied().collect())
    });
    let mut now = Micros(0);
    assert!(!is_taken(&mut looking, &mut bmp390, &mut now));
}

#[test]
fn looking_for_the_others_never_sends_an_ms5611_a_command_that_it_knows() {
    for looking in [Kind::Bmp390, Kind::Dps310, Kind::Bmp581, Kind::Sdp3x] {
        let mut ms5611: Device = Box::new(move |_, transaction| {
            let command = transaction.send.first().copied();
            let is_known = matches!(command, Some(0x1E | 0x40..=0x58 | 0xA0..=0xAE));
            assert!(!is_known, "{looking:?} sends {command:?}");
            Ok((0..transaction.read).map(|_| 0).collect())
        });
        let mut now = Micros(0);
        assert!(!is_taken(&mut *driver(looking), &mut ms5611, &mut now));
    }
}

#[test]
fn a_fault_of_a_stranger_is_a_wrong_identity() {
    let mut now = Micros(0);
    let mut looking = Bmp581::new(ADDRESS);
    let Wanted::Transact(_) = looking.wanted(now) else { panic!("it asks at once") };
    now = Micros(200);
    assert_eq!(looking.answer(now, Ok(&[0x58])), Outcome::Failed(Fault::WrongIdentity(0x58)));
}
