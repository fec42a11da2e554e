//! The fault catalogue: the one list of what can go wrong and what the instrument makes of it.
//!
//! `docs/FAULTS.md` is made from it and held against it, `chirrup replay --inject list` prints it, and `tests/faults.rs` runs every
//! row that a trace can show: the statuses must come within the time that stands here, no beep may sound that the air does not
//! justify, and the reading must be good again within the time that stands here.

use chirrup_core::pipeline::Status;

/// A fault that can be put into a trace.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[expect(missing_docs, reason = "each is an entry of the catalogue, which says what it is")]
pub enum Kind {
    Absent,
    Lost,
    Missing,
    Frozen,
    Range,
    Noisy,
    Spikes,
    Torn,
    Drift,
    StaticBlocked,
    StaticLeak,
    PitotBlocked,
    PitotOff,
    PitotLeak,
    Swapped,
    AirspeedLost,
    ProbeLost,
    ProbeOff,
    Water,
    TimerWrap,
    ClockBack,
    ClockAhead,
    Repeated,
    Missed,
    Late,
}

/// Every fault that can be put into a trace, in the order of the catalogue.
pub const TRACE_KINDS: [Kind; 25] = [
    Kind::Absent,
    Kind::Lost,
    Kind::Missing,
    Kind::Frozen,
    Kind::Range,
    Kind::Noisy,
    Kind::Spikes,
    Kind::Torn,
    Kind::Drift,
    Kind::StaticBlocked,
    Kind::StaticLeak,
    Kind::PitotBlocked,
    Kind::PitotOff,
    Kind::PitotLeak,
    Kind::Swapped,
    Kind::AirspeedLost,
    Kind::ProbeLost,
    Kind::ProbeOff,
    Kind::Water,
    Kind::TimerWrap,
    Kind::ClockBack,
    Kind::ClockAhead,
    Kind::Repeated,
    Kind::Missed,
    Kind::Late,
];

/// Where a fault happens.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Place {
    /// In what the sensors say: a trace can show it.
    Trace(Kind),
    /// In the instrument itself: tested in the firmware's part that runs on a host.
    Board,
    /// On the bench: the program and its files.
    Bench,
}

/// What an instrument must have for a fault to matter to it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Needs {
    /// A static pressure.
    Static,
    /// Total energy from an airspeed.
    Airspeed,
    /// Total energy from a probe.
    Probe,
}

/// What is known of false lift under a fault.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Lift {
    /// No beep that the true rate of energy does not justify for longer than 0.5 s.
    Never,
    /// The compensation is gone: the same against the true rate of height, which is what the reading says it shows.
    FollowsStick,
    /// It is not told apart from lift: the longest spell that was measured, in words. It is more than 0.5 s.
    Limit(&'static str),
}

/// One fault.
#[derive(Clone, Copy, Debug)]
pub struct Entry {
    /// As typed after `--inject`.
    pub name: &'static str,
    /// Where it happens.
    pub place: Place,
    /// What it takes for it to matter.
    pub needs: Needs,
    /// What is done.
    pub injected: &'static str,
    /// How it is noticed.
    pub noticed: &'static str,
    /// One of these comes.
    pub statuses: &'static [Status],
    /// Within so many seconds; `None` where it is not noticed, or where what is in `noticed` is no status.
    pub within_s: Option<f32>,
    /// What is heard.
    pub heard: &'static str,
    /// What is shown.
    pub shown: &'static str,
    /// How it ends.
    pub recovers: &'static str,
    /// The reading is good again so many seconds after the fault; `None` where that is not this list's to say.
    pub recovers_s: Option<f32>,
    /// What is known of false lift.
    pub lift: Lift,
    /// Tests that hold it, as `file::name`.
    pub tests: &'static [&'static str],
}

const RUNS: &str = "tests/faults.rs::no_fault_sounds_like_lift";
const NOTICED: &str = "tests/faults.rs::every_fault_is_noticed_within_its_time_and_recovers_within_its_time";
const BOTH: &[&str] = &[RUNS, NOTICED];

const TRACE: Entry = Entry {
    name: "",
    place: Place::Trace(Kind::Lost),
    needs: Needs::Static,
    injected: "",
    noticed: "not noticed",
    statuses: &[],
    within_s: None,
    heard: "the reading goes on",
    shown: "nothing",
    recovers: "nothing to recover from",
    recovers_s: Some(0.5),
    lift: Lift::Never,
    tests: BOTH,
};
const SILENT: &str = "the sound holds for 2 s at most, then silence";

/// Every fault.
pub const CATALOGUE: &[Entry] = &[
    Entry {
        name: "absent",
        place: Place::Trace(Kind::Absent),
        injected: "no pressure is a number, as where a sensor was never found",
        noticed: "each sample",
        statuses: &[Status::BadPressure],
        within_s: Some(0.05),
        heard: "silence",
        shown: "bad_pressure",
        recovers: "by itself, settling like a start",
        recovers_s: Some(3.0),
        ..TRACE
    },
    Entry {
        name: "lost",
        place: Place::Trace(Kind::Lost),
        injected: "the static pressure is no number from then on",
        noticed: "each sample",
        statuses: &[Status::BadPressure],
        within_s: Some(0.05),
        heard: SILENT,
        shown: "bad_pressure",
        recovers: "by itself; after 10 s it settles like a start",
        recovers_s: Some(3.0),
        ..TRACE
    },
    Entry {
        name: "missing",
        place: Place::Trace(Kind::Missing),
        injected: "no samples come",
        noticed: "time passes without a sample",
        heard: SILENT,
        shown: "the last reading grows stale; after 10 s the next is a gap",
        recovers: "by itself; after 10 s it settles like a start",
        recovers_s: Some(3.0),
        ..TRACE
    },
    Entry {
        name: "frozen",
        place: Place::Trace(Kind::Frozen),
        injected: "every sensor repeats its last value to the bit",
        noticed: "no living sensor does that",
        statuses: &[Status::Frozen],
        within_s: Some(1.2),
        heard: "silence after a second",
        shown: "frozen",
        recovers: "with the first new value, settling like a start",
        recovers_s: Some(3.0),
        ..TRACE
    },
    Entry {
        name: "range",
        place: Place::Trace(Kind::Range),
        injected: "the static pressure is 0 or 250 000 Pa",
        noticed: "each sample: outside 5 000 to 115 000 Pa",
        statuses: &[Status::BadPressure],
        within_s: Some(0.05),
        heard: SILENT,
        shown: "bad_pressure",
        recovers: "by itself; after 10 s it settles like a start",
        recovers_s: Some(3.0),
        ..TRACE
    },
    Entry {
        name: "noisy",
        place: Place::Trace(Kind::Noisy),
        injected: "30 Pa rms of white noise on every pressure: 2.5 m of height, forty times that of a good barometer",
        noticed: "held back as spikes at first; then the claimed deviation grows",
        statuses: &[Status::Suspect],
        within_s: Some(1.0),
        heard: "the reading trembles, beeps and pauses by turns",
        shown: "suspect; a deviation of 0.5 m/s and more",
        recovers: "as the noise is measured anew, within half a minute",
        recovers_s: Some(1.0),
        lift: Lift::Limit(
            "beeps of 0.2 to 2 m/s for up to 19 s of 20 s: noise this large looks like lift to any filter of a second",
        ),
        ..TRACE
    },
    Entry {
        name: "spikes",
        place: Place::Trace(Kind::Spikes),
        injected: "one pressure in 20 is off by 500 Pa",
        noticed: "each spike is held back",
        statuses: &[Status::Suspect],
        within_s: Some(5.0),
        shown: "suspect",
        recovers: "at once",
        ..TRACE
    },
    Entry {
        name: "torn",
        place: Place::Trace(Kind::Torn),
        injected: "one pressure in 50 has one of its 32 bits turned over: a torn read",
        noticed: "held back or out of range, where the bit matters",
        statuses: &[Status::Suspect, Status::BadPressure],
        within_s: Some(10.0),
        shown: "suspect or bad_pressure",
        recovers: "at once",
        ..TRACE
    },
    Entry {
        name: "drift",
        place: Place::Trace(Kind::Drift),
        injected: "the static pressure falls by 150 Pa within 3 minutes: sun on the sensor, or its warming up",
        shown: "nothing; the altitude is 12.5 m too high at the end, and replay says so",
        recovers: "the height stays off; the reading is off by 0.07 m/s while it lasts",
        ..TRACE
    },
    Entry {
        name: "static-blocked",
        place: Place::Trace(Kind::StaticBlocked),
        injected: "the static line keeps the pressure it had; the sensor behind it lives",
        heard: "with an airspeed sink sounds like climb; with a probe nothing changes; without either it falls silent",
        shown: "an altitude that does not move",
        recovers: "at once",
        lift: Lift::Limit(
            "with an airspeed all of the 20 s: the total pressure rises as the glider sinks, and reads as energy; with a probe or without airspeed at most 0.2 s",
        ),
        ..TRACE
    },
    Entry {
        name: "static-leak",
        place: Place::Trace(Kind::StaticLeak),
        injected: "three tenths of the cockpit's pressure get into the static line, and a vent is opened and closed every 8 s (60 Pa)",
        heard: "a click of each step at most",
        recovers: "at once",
        ..TRACE
    },
    Entry {
        name: "pitot-blocked",
        place: Place::Trace(Kind::PitotBlocked),
        needs: Needs::Airspeed,
        injected: "the pitot line keeps the pressure it had",
        noticed: "not while the airspeed looks like one; the height changes by 40 m without flying speed at the latest",
        heard: "climb and sink at twice their rate, and the stick",
        shown: "check_tubes, once there is no flying speed",
        recovers: "at once",
        lift: Lift::FollowsStick,
        ..TRACE
    },
    Entry {
        name: "pitot-off",
        place: Place::Trace(Kind::PitotOff),
        needs: Needs::Airspeed,
        injected: "the pitot tube comes off: no impact pressure",
        noticed: "the height changes by 40 m without flying speed",
        heard: "the reading follows the stick",
        shown: "check_tubes, once the height has changed by 40 m",
        recovers: "with flying speed",
        lift: Lift::FollowsStick,
        ..TRACE
    },
    Entry {
        name: "pitot-leak",
        place: Place::Trace(Kind::PitotLeak),
        needs: Needs::Airspeed,
        injected: "the impact pressure is three fifths of what it should be",
        heard: "the reading follows the stick by two fifths",
        shown: "an airspeed that is a fifth too low",
        recovers: "at once",
        lift: Lift::FollowsStick,
        ..TRACE
    },
    Entry {
        name: "swapped",
        place: Place::Trace(Kind::Swapped),
        needs: Needs::Airspeed,
        injected: "pitot and static are swapped at the airspeed's sensor",
        noticed: "the impact pressure stays below zero",
        statuses: &[Status::CheckTubes],
        within_s: Some(4.0),
        heard: "the reading follows the stick",
        shown: "check_tubes",
        recovers: "with flying speed",
        lift: Lift::FollowsStick,
        ..TRACE
    },
    Entry {
        name: "airspeed-lost",
        place: Place::Trace(Kind::AirspeedLost),
        needs: Needs::Airspeed,
        injected: "no airspeed comes",
        noticed: "each sample",
        statuses: &[Status::NoCompensation],
        within_s: Some(0.05),
        heard: "the reading follows the stick",
        shown: "no_compensation",
        recovers: "at once, without a jump",
        lift: Lift::FollowsStick,
        ..TRACE
    },
    Entry {
        name: "probe-lost",
        place: Place::Trace(Kind::ProbeLost),
        needs: Needs::Probe,
        injected: "no probe pressure comes",
        noticed: "each sample",
        statuses: &[Status::NoCompensation],
        within_s: Some(0.05),
        heard: "the reading follows the stick",
        shown: "no_compensation",
        recovers: "at once, without a jump",
        lift: Lift::FollowsStick,
        ..TRACE
    },
    Entry {
        name: "probe-off",
        place: Place::Trace(Kind::ProbeOff),
        needs: Needs::Probe,
        injected: "the probe's tube comes off: its sensor shows the static pressure",
        heard: "the reading follows the stick",
        shown: "nothing: a probe at rest shows the same",
        recovers: "at once",
        lift: Lift::FollowsStick,
        ..TRACE
    },
    Entry {
        name: "water",
        place: Place::Trace(Kind::Water),
        injected: "water in the probe's line, or in the static line where there is no probe: it moves to and fro by 80 Pa in 1.3 s",
        heard: "beeps and the sink tone by turns, at the water's pace",
        shown: "nothing",
        recovers: "at once",
        lift: Lift::Limit("all of the 20 s: the water moves the pressure as a climb of 30 m/s would"),
        ..TRACE
    },
    Entry {
        name: "timer-wrap",
        place: Place::Trace(Kind::TimerWrap),
        injected: "the clock of 32 bits of microseconds wraps",
        noticed: "not a fault",
        tests: &[RUNS, "tests/faults.rs::a_timer_that_wraps_changes_no_reading"],
        ..TRACE
    },
    Entry {
        name: "clock-back",
        place: Place::Trace(Kind::ClockBack),
        injected: "the clock jumps back by a minute",
        noticed: "each sample; believed at the tenth",
        statuses: &[Status::TimeWentBack],
        within_s: Some(0.05),
        heard: "silence until it has settled",
        shown: "time_went_back, then clock_reset",
        recovers: "settling like a start",
        recovers_s: Some(3.0),
        ..TRACE
    },
    Entry {
        name: "clock-ahead",
        place: Place::Trace(Kind::ClockAhead),
        injected: "the clock jumps ahead by a minute",
        noticed: "the first sample",
        statuses: &[Status::Gap],
        within_s: Some(0.05),
        heard: "silence until it has settled",
        shown: "gap",
        recovers: "settling like a start",
        recovers_s: Some(3.5),
        ..TRACE
    },
    Entry {
        name: "repeated",
        place: Place::Trace(Kind::Repeated),
        injected: "every sample comes twice",
        noticed: "each second one",
        statuses: &[Status::RepeatedTime],
        within_s: Some(0.05),
        shown: "repeated_time",
        recovers: "at once",
        ..TRACE
    },
    Entry {
        name: "missed",
        place: Place::Trace(Kind::Missed),
        injected: "three samples in ten do not come: missed deadlines",
        recovers: "at once",
        ..TRACE
    },
    Entry {
        name: "late",
        place: Place::Trace(Kind::Late),
        injected: "samples are stamped up to 15 ms late",
        recovers: "at once",
        ..TRACE
    },
];

/// The entry of a fault that a trace can show.
pub fn entry(kind: Kind) -> &'static Entry {
    let found = CATALOGUE.iter().find(|entry| entry.place == Place::Trace(kind));
    found.unwrap_or(&TRACE)
}
