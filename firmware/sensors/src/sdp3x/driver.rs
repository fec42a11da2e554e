//! An SDP31, SDP32 or SDP33 on its bus: it measures continuously and averages until it is read.
//!
//! ```text
//! STOP --2 ms--> IDENTITY (two commands, then a read) --0x03......--> START --10 ms--> READY
//! READY, in every frame: read at 1 ms, which begins a mean; read at 9 ms, which ends it
//! ```
//!
//! ```text
//! time in frame   0      1 ms                     9 ms                    20 ms
//!                        | mean of 16 conversions |
//!                                    ^ time of the measurement, with the barometers'
//! ```
//!
//! | command | what |
//! |---|---|
//! | 0x3FF9 | stop: while it measures it takes no other command, and it may measure from before a restart |
//! | 0x367C, 0xE102 | the next read is the product number: 0x03 and not 0x02, which is an SDP8xx, model, revision; then a serial number |
//! | 0x3615 | measure continuously, as differential pressure, mean until read (0x3603 would be mass flow) |
//!
//! A conversion takes 0.5 ms, the first result 8 ms. A read gives [nine bytes](super). Three
//! addresses, by the pin ADDR: to ground, or through resistors.
//!
//! Nothing is believed without its checksum. The reset that other drivers use is a general call,
//! which every device on the bus may take for its own; it is not used here.
//!
//! Sources, from memory: data sheet SDP3x-Digital, "command table" and "read product identifier";
//! the commands also in crate `sdp8xx` 0.3 and PX4's driver `sdp3x`.

use super::{RESULT_BYTES, Reading, Wrong, word};
use crate::bus::{BusFault, Transaction};
use crate::sensor::{Driver, FRAME, Fault, Measurement, Outcome, Wanted, after, frame_of};
use chirrup_core::Micros;

/// The addresses, by the pin ADDR; the first with the pin at ground.
pub const ADDRESSES: [u8; 3] = [0x21, 0x22, 0x23];

const STOP: [u8; 2] = [0x3F, 0xF9];
const IDENTIFY_FIRST: [u8; 2] = [0x36, 0x7C];
const IDENTIFY: [[u8; 2]; 2] = [IDENTIFY_FIRST, [0xE1, 0x02]];
const START: [u8; 2] = [0x36, 0x15];
const IDENTITY_BYTES: usize = 6;
/// The upper byte of the product numbers of the family and its relatives.
const FAMILY: u8 = 0x03;
/// The upper half of an SDP8xx's product numbers, whose ranges are others.
const SDP8XX: u16 = 0x0302;

const TO_STOP: Micros = Micros(2_000);
const TO_START: Micros = Micros(10_000);
const BEGIN_OF_MEAN: Micros = Micros(1_000);
const END_OF_MEAN: Micros = Micros(9_000);

/// One SDP31, SDP32 or SDP33.
#[derive(Clone, Debug)]
pub struct Sdp3x {
    address: u8,
    name: &'static str,
    phase: Phase,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Phase {
    Stop,
    Stopping(Micros),
    Identify(usize),
    Identity,
    Start,
    FirstResult(Micros),
    /// A mean begins at or after this time.
    Waiting(Micros),
    Averaging {
        since: Micros,
        until: Micros,
    },
}

impl Sdp3x {
    /// A sensor that has not been found yet.
    pub fn new(address: u8) -> Self {
        Self { address, name: "sdp3x", phase: Phase::Stop }
    }

    fn is_ready(&self) -> bool {
        matches!(self.phase, Phase::Waiting(_) | Phase::Averaging { .. })
    }

    fn fail(&mut self, now: Micros, fault: Fault) -> Outcome {
        self.phase = if self.is_ready() { Phase::Waiting(next_mean(now)) } else { Phase::Stop };
        Outcome::Failed(fault)
    }

    fn identity(&mut self, now: Micros, bytes: &[u8]) -> Outcome {
        let Ok([f1, f0, f, m, r, c]) = <[u8; IDENTITY_BYTES]>::try_from(bytes) else {
            return self.fail(now, Fault::Broken);
        };
        match (word([f1, f0, f]), word([m, r, c])) {
            (Some(product), Some(_)) if is_of_the_family(product) => self.phase = Phase::Start,
            (Some(other), Some(_)) => {
                return self.fail(now, Fault::WrongIdentity(other.to_be_bytes()[1]));
            }
            _ => return self.fail(now, Fault::Broken),
        }
        Outcome::Going
    }

    fn result(&mut self, now: Micros, bytes: &[u8]) -> Outcome {
        let Ok(bytes) = <[u8; RESULT_BYTES]>::try_from(bytes) else {
            return self.fail(now, Fault::Broken);
        };
        let reading = match Reading::from_bytes(bytes) {
            Ok(reading) => reading,
            Err(Wrong::Checksum) => return self.fail(now, Fault::Broken),
            Err(Wrong::Scale(scale)) => {
                return self.fail(now, Fault::WrongIdentity(scale.to_be_bytes()[1]));
            }
        };
        match self.phase {
            Phase::Averaging { since, .. } => self.mean(now, since, reading),
            Phase::Waiting(_) => {
                let frame = frame_of(now).saturating_mul(FRAME.0);
                self.phase =
                    Phase::Averaging { since: now, until: after(Micros(frame), END_OF_MEAN) };
                Outcome::Going
            }
            _ => {
                self.name = reading.model.name();
                self.phase = Phase::Waiting(next_mean(now));
                Outcome::Ready
            }
        }
    }

    fn mean(&mut self, now: Micros, since: Micros, reading: Reading) -> Outcome {
        let Some(pressure_64ths_pa) = reading.pressure_64ths_pa() else {
            return self.fail(now, Fault::BeyondRange);
        };
        self.phase = Phase::Waiting(next_mean(now));
        Outcome::Measured(Measurement {
            time: after(since, Micros(now.since(since).0 / 2)),
            counts: u32::from(reading.counts as u16),
            pressure_64ths_pa,
            temperature_centicelsius: reading.temperature_centicelsius(),
        })
    }
}

impl Driver for Sdp3x {
    fn wanted(&mut self, now: Micros) -> Wanted {
        let write = |bytes| Wanted::Transact(Transaction::write(self.address, bytes));
        match self.phase {
            Phase::Stopping(until)
            | Phase::FirstResult(until)
            | Phase::Waiting(until)
            | Phase::Averaging { until, .. }
                if now < until =>
            {
                Wanted::Nothing(until)
            }
            // The bus was late: a mean that begins now would end in the middle of the next frame.
            Phase::Waiting(_) if now.0.rem_euclid(FRAME.0) >= END_OF_MEAN.0 => {
                let until = next_mean(now);
                self.phase = Phase::Waiting(until);
                Wanted::Nothing(until)
            }
            Phase::Stop => write(STOP),
            Phase::Stopping(_) => {
                self.phase = Phase::Identify(0);
                write(IDENTIFY_FIRST)
            }
            Phase::Identify(step) => write(IDENTIFY.get(step).copied().unwrap_or_default()),
            Phase::Identity => Wanted::Transact(Transaction::read(self.address, IDENTITY_BYTES)),
            Phase::Start => write(START),
            Phase::FirstResult(_) | Phase::Waiting(_) | Phase::Averaging { .. } => {
                Wanted::Transact(Transaction::read(self.address, RESULT_BYTES))
            }
        }
    }

    fn answer(&mut self, now: Micros, answer: Result<&[u8], BusFault>) -> Outcome {
        let bytes = match (answer, self.phase) {
            (Ok(bytes), _) => bytes,
            // One that does not measure may refuse to stop, which some boards, such as a Raspberry
            // Pi, cannot tell from no answer; the identity decides.
            (Err(BusFault::Broken | BusFault::NoAnswer), Phase::Stop) => &[],
            (Err(fault), _) => return self.fail(now, Fault::of_bus(fault)),
        };
        match self.phase {
            Phase::Stop => self.phase = Phase::Stopping(after(now, TO_STOP)),
            Phase::Identify(step) if step + 1 < IDENTIFY.len() => {
                self.phase = Phase::Identify(step + 1);
            }
            Phase::Identify(_) => self.phase = Phase::Identity,
            Phase::Identity => return self.identity(now, bytes),
            Phase::Start => self.phase = Phase::FirstResult(after(now, TO_START)),
            Phase::FirstResult(_) | Phase::Waiting(_) | Phase::Averaging { .. } => {
                return self.result(now, bytes);
            }
            Phase::Stopping(_) => {}
        }
        Outcome::Going
    }

    fn name(&self) -> &'static str {
        self.name
    }

    fn address(&self) -> u8 {
        self.address
    }
}

/// Whether it may be an SDP3x, by the upper half of its product number; its scale then says which.
fn is_of_the_family(product: u16) -> bool {
    let [upper, _] = product.to_be_bytes();
    upper == FAMILY && product != SDP8XX
}

/// When the next mean begins: in the frame after the one that `now` is in.
fn next_mean(now: Micros) -> Micros {
    after(crate::sensor::next_frame(now), BEGIN_OF_MEAN)
}
