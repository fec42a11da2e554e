//! The ring of counts between a processor that comes every 2 ms, or late, and a timer that takes a
//! count every 40 us.
//!
//! ```text
//!   played: set to rest by the board       waiting to be played              rests
//!   ------------------------------+------------------------------------+-----------
//!                                 ^ the timer takes here               ^ the tick's counts go here
//! ```
//!
//! A tick's counts are played [`LEAD`] samples, 4 ms, after it: so late the processor may be, while
//! it works out a sample or flash is written with its interrupts off. If it is later, the pin rests
//! until it is back, and what was due meanwhile is not played. For that the board sets each place
//! to rest [`BEHIND`] samples after it has been played, without the processor.

use super::{SOUND_HZ, TICK_SAMPLES};
use chirrup_core::Micros;

/// Places of the ring, 10 ms.
pub const PLACES: usize = 256;
/// Samples from a tick to its sound.
pub const LEAD: usize = 100;
/// So many samples after a place was played, it is set to rest.
pub const BEHIND: usize = 16;
/// More than this are never waiting: the processor makes up for ticks that it missed, and these are
/// no longer needed.
const MOST: usize = LEAD + 2 * TICK_SAMPLES;
const SAMPLE_US: i64 = 1_000_000 / SOUND_HZ as i64;

/// Where to write.
#[derive(Clone, Copy, Debug)]
pub struct Ring {
    write: usize,
    /// When the last of what has been written will have been played.
    until: Micros,
}

impl Ring {
    /// A ring at rest, of which the timer takes place `read` at `now`.
    pub fn new(now: Micros, read: usize) -> Self {
        Self { write: (read + LEAD) % PLACES, until: after(now, LEAD) }
    }

    /// The first place for a tick's counts, wrapping, while the timer takes place `read`; `None`
    /// drops the tick.
    pub fn turn(&mut self, now: Micros, read: usize) -> Option<usize> {
        let read = read % PLACES;
        if now >= self.until {
            self.write = (read + LEAD) % PLACES;
        }
        let waiting = distance(read, self.write) + TICK_SAMPLES;
        if waiting > MOST {
            return None;
        }
        self.until = after(now, waiting);
        let write = self.write;
        self.write = (write + TICK_SAMPLES) % PLACES;
        Some(write)
    }
}

/// The time when so many samples have been played.
fn after(now: Micros, samples: usize) -> Micros {
    Micros(now.0.saturating_add(samples as i64 * SAMPLE_US))
}

/// Places from one to another, in the direction of play.
fn distance(from: usize, to: usize) -> usize {
    (to + PLACES - from) % PLACES
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::vec::Vec;

    /// Plays ticks at the given times in samples: what each place of time sounded, the number of
    /// the tick, or 0 for rest.
    fn played(at: &[usize], samples: usize) -> Vec<usize> {
        let mut places = [0; PLACES];
        let mut ring = Ring::new(Micros(0), 0);
        let mut all = Vec::new();
        for sample in 0..samples {
            let now = Micros(sample as i64 * SAMPLE_US);
            for (tick, _) in at.iter().enumerate().filter(|(_, at)| **at == sample) {
                if let Some(write) = ring.turn(now, sample) {
                    for place in 0..TICK_SAMPLES {
                        places[(write + place) % PLACES] = tick + 1;
                    }
                }
            }
            places[(sample + PLACES - BEHIND) % PLACES] = 0;
            all.push(places[sample % PLACES]);
        }
        all
    }

    #[test]
    fn each_tick_is_played_4_ms_after_it_however_late_the_processor_came_within_that() {
        // Late by up to 3.5 ms, and the missed ticks made up for at once.
        let late = [0, 80, 10, 87, 37, 0, 49, 60, 10];
        let at: Vec<usize> = (0..200)
            .scan(0, |last, tick: usize| {
                *last = (tick * TICK_SAMPLES + late[tick % late.len()]).max(*last);
                Some(*last)
            })
            .collect();
        let sound = played(&at, 200 * TICK_SAMPLES);
        for (sample, tick) in sound.iter().enumerate().skip(LEAD) {
            assert_eq!(*tick, (sample - LEAD) / TICK_SAMPLES + 1, "sample {sample}");
        }
        assert!(sound[..LEAD].iter().all(|tick| *tick == 0));
    }

    #[test]
    fn after_a_long_stop_it_rests_and_then_plays_on_with_the_same_delay() {
        for stop in [120, 151, 300, 1_000, 10_007] {
            let mut at: Vec<usize> = (0..20).map(|tick| tick * TICK_SAMPLES).collect();
            let back = 19 * TICK_SAMPLES + stop;
            // Missed ticks come at once.
            at.extend((20..).map(|tick| (tick * TICK_SAMPLES).max(back)).take(stop / 50 + 40));
            let sound = played(&at, back + 1_500);
            let played_out = 19 * TICK_SAMPLES + LEAD + TICK_SAMPLES;
            let resting = sound.get(played_out..back).unwrap_or_default();
            assert!(resting.iter().all(|tick| *tick == 0), "{stop}: {resting:?}");
            let tail = &sound[sound.len() - 200..];
            assert!(tail.iter().all(|tick| *tick > 0), "{stop}: {tail:?}");
            assert!(tail.is_sorted());
        }
    }
}
