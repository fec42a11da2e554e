//! Artificial readings through the core's own sounder: a sweep, one value, a dead sensor.

use chirrup_core::stages::{Health, Heard, Sounder, SounderState};
use chirrup_core::{MetrePerSecond, TICKS_PER_SECOND, Voice};

/// A reading comes every so many ticks, 50 times a second as from a quick sensor.
const TICKS_A_READING: u64 = TICKS_PER_SECOND as u64 / 50;

/// A reading that moves evenly.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sweep {
    /// The first value in m/s.
    pub from_mps: f64,
    /// The last value in m/s.
    pub to_mps: f64,
    /// From the first to the last.
    pub seconds: f64,
}

impl Sweep {
    /// How many control ticks it lasts.
    pub fn ticks(&self) -> u64 {
        ticks(self.seconds)
    }

    /// The reading at a tick.
    pub fn at(&self, tick: u64) -> f64 {
        let share = tick as f64 / self.ticks().max(1) as f64;
        self.from_mps + share * (self.to_mps - self.from_mps)
    }
}

/// What is heard.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum What {
    /// A reading that moves evenly.
    Sweep(Sweep),
    /// One value.
    One {
        /// The value in m/s.
        value_mps: f64,
        /// How long.
        seconds: f64,
    },
    /// A dead sensor.
    Fault {
        /// How long.
        seconds: f64,
    },
}

impl What {
    /// The voices of what is heard, tick by tick.
    pub fn voices(self, sounder: &Sounder) -> Box<dyn Iterator<Item = Voice> + '_> {
        match self {
            What::Sweep(sweep) => Box::new(voices(sounder, sweep)),
            What::One { value_mps, seconds } => {
                Box::new(voices(sounder, Sweep { from_mps: value_mps, to_mps: value_mps, seconds }))
            }
            What::Fault { seconds } => Box::new(fault(sounder, seconds)),
        }
    }
}

/// The voices of a sweep, tick by tick; the value is what the settings' mode is about.
pub fn voices(sounder: &Sounder, sweep: Sweep) -> impl Iterator<Item = Voice> + '_ {
    let mut state = SounderState::default();
    (0..sweep.ticks()).map(move |tick| {
        if tick % TICKS_A_READING == 0 {
            state.note(Health::Good);
            sounder.read(&mut state, heard(sweep.at(tick)));
        }
        sounder.tick(&mut state, false)
    })
}

/// The voices of a sensor that failed long enough ago for the fault call.
pub fn fault(sounder: &Sounder, seconds: f64) -> impl Iterator<Item = Voice> + '_ {
    let mut state = SounderState::default();
    // The seconds before the call are left out.
    let mut patience = 60 * TICKS_PER_SECOND;
    while patience > 0 && sounder.may_call(&state) && !sounder.tick(&mut state, true).gate {
        patience -= 1;
    }
    (0..ticks(seconds)).map(move |_| sounder.tick(&mut state, true))
}

/// One value, whatever the mode is about.
pub fn heard(value_mps: f64) -> Heard {
    let value = MetrePerSecond(value_mps as f32);
    Heard { climb: value, netto: Some(value), speed_error: Some(value), airspeed: None }
}

fn ticks(seconds: f64) -> u64 {
    (seconds * f64::from(TICKS_PER_SECOND)).round() as u64
}
