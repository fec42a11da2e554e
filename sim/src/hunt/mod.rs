//! The game "Find the core": a hidden thermal, a glider that circles, and only the sound.
//!
//! ```text
//! seed --> air, glider (chirrup-flight) --> pressures --> the core's instrument --> voice --> ear
//!              ^                                                                              |
//!              +------------------------------ bank <----------- pupil or scripted pilot -----+
//! ```
//!
//! | module | what it does |
//! |---|---|
//! | [`start`] | which air a seed has, in all of its rounds |
//! | [`round`] | a round: ten seconds to listen, then three minutes that count |
//! | [`track`] | the flight as it was, five times a second |
//! | [`turns`] | whole turns, and when one was centred |
//! | [`score`] | share of the best circle's climb, seconds to centred, what the pilot did |
//! | [`field`] | the thermal as a map, for the picture afterwards |
//! | [`sounded`] | the sound of a round, through a session |
//!
//! Air, glider and first circle are those of the trials of [`chirrup_flight::centring`], of which
//! [`start`] chooses; thermals, drift, wander, turbulence, gusts and the noise of the sensors are
//! those of its smooth day. The instrument is that of a session that nobody has changed. The same
//! seed and the same banks at the same 20 ms give the same bits everywhere.
//!
//! Scripted pilots play it in the tests, and hear only what sounds. **No human was tested.**

pub mod field;
pub mod round;
pub mod score;
pub mod sounded;
pub mod start;
pub mod track;
pub mod turns;

#[cfg(test)]
mod pilots;
