//! What the fuzz targets of the instrument's library do with their bytes;
//! `firmware/tests/corpus.rs` does the same with the corpus on a stable compiler.

// Every target uses one of these.
#![allow(dead_code)]

use chirrup_core::Settings;
use chirrup_firmware::command::{self, Command};
use chirrup_firmware::console::Console;
use chirrup_firmware::keys;
use chirrup_firmware::store::{self, BUFFER};

/// The name of a target and what it does.
pub type Target = (&'static str, fn(&[u8]));

/// Every target by its name.
pub const TARGETS: [Target; 2] = [("console", console), ("stored", stored)];

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
