//! The receiver at the end of the line: finds its bit rate, makes it send velocities, and gives
//! each velocity to one sample.
//!
//! ```text
//! LISTENING at 38400 --3 s without a message--> 9600 --3 s--> 115200 --3 s--> 38400 ..
//!    a second after each change: the messages that make it send velocities
//! HEARD --5 s without a message--> LISTENING
//! ```
//!
//! The age of a velocity is counted from the arrival of its first byte. How long the receiver
//! needed before that it does not say (0.05 to 0.3 s); the core's filter learns it.

use super::frame::{Frames, LONGEST};
use super::messages::{self, COUNT};
use super::pvt::{Pvt, Utc, Velocity};
use chirrup_core::{GroundVelocity, MetrePerSecond, Micros};
use chirrup_sensors::sensor::after;

/// Rates that receivers have from the factory, the one that they are told to use first.
const BITS_PER_SECOND: [u32; 3] = [messages::BITS_PER_SECOND, 9_600, 115_200];
/// Time at a rate without a message.
const LISTEN: Micros = Micros(3_000_000);
/// Time at a rate before the messages are sent.
const HESITATE: Micros = Micros(1_000_000);
/// Time without a message after which a receiver that was heard is lost.
const LOST_AFTER: Micros = Micros(5_000_000);
/// Older velocities belong to no sample.
const OLDEST: Micros = Micros(1_000_000);
/// Bits of a byte on the line.
const BITS: i64 = 10;

/// Bytes to send to the receiver.
pub type Message = heapless::Vec<u8, { messages::LONGEST }>;

/// A velocity over the ground, and how long before a sample its first byte came.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Ground {
    /// The velocity.
    pub velocity: Velocity,
    /// Its age in microseconds, 0 to a million.
    pub age_us: i32,
}

/// The receiver, or the place for one.
#[derive(Clone, Debug)]
pub struct Receiver {
    frames: Frames,
    rate: usize,
    /// When the line was set to this rate.
    since: Micros,
    /// The next of the messages to be sent at this rate.
    next_message: usize,
    /// When the last message came.
    heard: Option<Micros>,
    was_heard: bool,
    pending: Option<(Velocity, Micros)>,
    utc: Option<Utc>,
    velocities: u32,
}

impl Receiver {
    /// Nothing heard yet.
    pub fn new(now: Micros) -> Self {
        Self {
            frames: Frames::default(),
            rate: 0,
            since: now,
            next_message: 0,
            heard: None,
            was_heard: false,
            pending: None,
            utc: None,
            velocities: 0,
        }
    }

    /// Takes bytes that have just come.
    pub fn receive(&mut self, now: Micros, bytes: &[u8]) {
        for byte in bytes {
            let Some(payload) = self.frames.step(*byte) else { continue };
            let Some(pvt) = Pvt::of(&payload) else { continue };
            self.heard = Some(now);
            self.was_heard = true;
            self.utc = self.utc.or(pvt.utc);
            if let Some(velocity) = pvt.velocity {
                let on_the_line = LONGEST as i64 * BITS * 1_000_000 / self.line_rate();
                self.pending = Some((velocity, Micros(now.0.saturating_sub(on_the_line))));
                self.velocities = self.velocities.saturating_add(1);
            }
        }
    }

    /// Bits a second at which the line is to be now.
    pub fn bits_per_second(&mut self, now: Micros) -> u32 {
        let (last, patience) = match self.heard {
            Some(heard) => (heard, LOST_AFTER),
            None => (self.since, LISTEN),
        };
        if now.since(last) > patience {
            self.heard = None;
            self.since = now;
            self.next_message = 0;
            self.rate = (self.rate + 1) % BITS_PER_SECOND.len();
        }
        self.line_rate() as u32
    }

    /// What to send now, if anything.
    pub fn to_send(&mut self, now: Micros) -> Option<Message> {
        let is_time = self.heard.is_none() && now >= after(self.since, HESITATE);
        if !is_time || self.next_message >= COUNT {
            return None;
        }
        self.next_message += 1;
        messages::message(self.next_message - 1)
    }

    /// The velocity that belongs to a sample at `time` and to none before it.
    pub fn take(&mut self, time: Micros) -> Option<Ground> {
        let (velocity, came) = self.pending?;
        let age = time.since(came);
        if age < Micros(0) {
            return None;
        }
        self.pending = None;
        (age <= OLDEST).then_some(Ground { velocity, age_us: age.0 as i32 })
    }

    /// Whether messages come now.
    pub fn is_heard(&self) -> bool {
        self.heard.is_some()
    }

    /// Whether any ever came.
    pub fn was_heard(&self) -> bool {
        self.was_heard
    }

    /// The time of day, once: with the first message that knows it.
    pub fn utc(&self) -> Option<Utc> {
        self.utc
    }

    /// Usable velocities since the start.
    pub fn velocities(&self) -> u32 {
        self.velocities
    }

    fn line_rate(&self) -> i64 {
        i64::from(BITS_PER_SECOND.get(self.rate).copied().unwrap_or(messages::BITS_PER_SECOND))
    }
}

impl Ground {
    /// The same for the core.
    pub fn ground_velocity(&self) -> GroundVelocity {
        let [north, east, down] =
            [self.velocity.north_mmps, self.velocity.east_mmps, self.velocity.down_mmps]
                .map(|mmps| MetrePerSecond(mmps as f32 / 1_000.0));
        GroundVelocity { north, east, down, age: Micros(i64::from(self.age_us)) }
    }
}
