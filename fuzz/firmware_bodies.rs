//! What the fuzz targets of the instrument's library do with their bytes;
//! `firmware/tests/corpus.rs` does the same with the corpus on a stable compiler.

// Every target uses one of these.
#![allow(dead_code)]

use chirrup_core::{Micros, Settings};
use chirrup_firmware::command::{self, Command};
use chirrup_firmware::console::Console;
use chirrup_firmware::gnss::receiver::Receiver;
use chirrup_firmware::inertial::average::Averager;
use chirrup_firmware::keys;
use chirrup_firmware::store::{self, BUFFER};
use chirrup_sensors::inertial::driver::Imu;
use chirrup_sensors::inertial::{icm42688, lsm6dso};
use chirrup_sensors::sensor::{Driver, Outcome, Wanted};

/// The name of a target and what it does.
pub type Target = (&'static str, fn(&[u8]));

/// Every target by its name.
pub const TARGETS: [Target; 4] =
    [("console", console), ("imu", imu), ("satellites", satellites), ("stored", stored)];

/// Bytes at the console's port, in pieces; each line is parsed, and settings are set.
pub fn console(bytes: &[u8]) {
    let (mut console, mut settings) = (Console::default(), Settings::default());
    for piece in bytes.chunks(23) {
        console.receive(piece);
        while let Some(input) = console.next_line() {
            match input {
                Ok(line) => obey(&line, &mut console, &mut settings),
                Err(why) => console.end(Err(format_args!("{why}"))),
            }
            let mut sent = [0; 4096];
            while console.transmit(&mut sent) > 0 {}
        }
    }
}

fn obey(line: &str, console: &mut Console, settings: &mut Settings) {
    match command::parse(line) {
        Ok(Command::Set(name, value)) => {
            let before = settings.clone();
            match keys::set(settings, name, value) {
                Ok(()) => console.end(Ok(())),
                Err(_) => assert_eq!(*settings, before, "what cannot be set changes nothing"),
            }
        }
        Ok(Command::Tone(speed)) => assert!(speed.is_finite()),
        Ok(_) => console.end(Ok(())),
        Err(why) => console.end(Err(format_args!("{}", why.0))),
    }
}

/// A record of the settings: the bytes as they are, and also patched into a good record with a
/// correct checksum.
pub fn stored(bytes: &[u8]) {
    let _ = store::decode(bytes);
    let mut buffer = [0; BUFFER];
    let good = store::encode(&Settings::default(), &mut buffer).expect("the defaults have room");
    let (head, tail) = (6, 4);
    // The first byte is the place of the others in the record.
    let Some((place, changed)) = bytes.split_first() else { return };
    let mut record = good[..good.len() - tail].to_vec();
    let from = head + usize::from(*place) % (record.len() - head);
    record.truncate(from.max(head));
    record.extend_from_slice(changed);
    record.truncate(BUFFER - tail);
    record.extend_from_slice(&crc32(&record).to_le_bytes());
    if let Ok(found) = store::decode(&record) {
        let mut again = [0; BUFFER];
        let again = store::encode(&found, &mut again).expect("what was settings has room");
        assert_eq!(store::decode(again).as_ref(), Ok(&found));
    }
}

/// CRC-32 as in ISO HDLC, bit by bit.
fn crc32(bytes: &[u8]) -> u32 {
    !bytes.iter().fold(!0, |crc, byte| {
        (0..8).fold(crc ^ u32::from(*byte), |crc, _| {
            if crc & 1 == 0 { crc >> 1 } else { crc >> 1 ^ 0xEDB8_8320 }
        })
    })
}

/// Bytes of a satellite receiver, in pieces: whatever velocity comes of them is possible.
pub fn satellites(bytes: &[u8]) {
    let mut receiver = Receiver::new(Micros(0));
    for (n, piece) in bytes.chunks(23).enumerate() {
        let now = Micros(n as i64 * 20_000);
        receiver.receive(now, piece);
        receiver.bits_per_second(now);
        if let Some(ground) = receiver.take(now) {
            let velocity = ground.ground_velocity();
            assert!(velocity.is_usable() && velocity.age >= Micros(0), "{velocity:?}");
        }
    }
}

/// Answers of an inertial sensor that says anything at any time: whatever comes of them is
/// possible, and no wait is for the past. The first byte chooses the sensor.
pub fn imu(bytes: &[u8]) {
    let Some((first, mut rest)) = bytes.split_first() else { return };
    let chip = if first % 2 == 0 { &lsm6dso::CHIP } else { &icm42688::CHIP };
    let mut driver = Imu::new(chip, 0x6A);
    let (mut now, mut averager) = (Micros(0), Averager::default());
    while !rest.is_empty() {
        match driver.wanted(now) {
            Wanted::Nothing(until) => {
                assert!(until > now, "a wait for the past is a busy loop");
                now = until;
            }
            Wanted::Transact(transaction) => {
                now = Micros(now.0 + 300);
                // A good identity, or the start would end with the first byte.
                let is_identity = transaction.send.first() == Some(&chip.identity.0);
                let (answer, left) = rest.split_at(transaction.read.max(1).min(rest.len()));
                rest = left;
                let identity = [chip.identity.1];
                let answer = match transaction.read {
                    1 if is_identity => &identity[..],
                    length => &answer[..length.min(answer.len())],
                };
                if let Outcome::Measured(batch) = driver.answer(now, Ok(answer)) {
                    averager.add(&batch);
                    let averaged = averager.take(batch.scale).expect("it was measured");
                    assert!(averaged.inertial().is_usable(), "{averaged:?}");
                }
            }
        }
    }
}
