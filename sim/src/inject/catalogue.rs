//! The fault catalogue: the one list of what can go wrong and how the instrument responds.
//!
//! `docs/src/faults.md` is made from it and compared with it, `chirrup replay --inject list` prints
//! it, and `tests/faults.rs` runs every row that a trace can show: the statuses must come within
//! the time given here, no beep may sound without rising air, and the reading must be good again
//! within the time given here.

use chirrup_core::Status;

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
    Bursts,
    Vent,
    Step,
    WrongSamples,
    Coarse,
    StaticIce,
    PitotIce,
    TimerWrap,
    ClockBack,
    ClockAhead,
    Repeated,
    Missed,
    Late,
    InertialLost,
    InertialFrozen,
    GyroReversed,
    ForceReversed,
    GyroStuck,
    ForceStuck,
    GyroBias,
    ForceBias,
    QuarterTurn,
    GyroGain,
    ForceGain,
    Clipped,
    ClippedSooner,
    Shaken,
    GroundWrong,
    GroundLate,
    GroundFrozen,
}

/// Every fault that can be put into a trace, in the order of the catalogue.
pub const TRACE_KINDS: [Kind; 49] = [
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
    Kind::Bursts,
    Kind::Vent,
    Kind::Step,
    Kind::WrongSamples,
    Kind::Coarse,
    Kind::StaticIce,
    Kind::PitotIce,
    Kind::TimerWrap,
    Kind::ClockBack,
    Kind::ClockAhead,
    Kind::Repeated,
    Kind::Missed,
    Kind::Late,
    Kind::InertialLost,
    Kind::InertialFrozen,
    Kind::GyroReversed,
    Kind::ForceReversed,
    Kind::GyroStuck,
    Kind::ForceStuck,
    Kind::GyroBias,
    Kind::ForceBias,
    Kind::QuarterTurn,
    Kind::GyroGain,
    Kind::ForceGain,
    Kind::Clipped,
    Kind::ClippedSooner,
    Kind::Shaken,
    Kind::GroundWrong,
    Kind::GroundLate,
    Kind::GroundFrozen,
];

/// Where a fault happens.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Place {
    /// In the sensor values: a trace can show it.
    Trace(Kind),
    /// In the instrument itself: tested in the firmware's part that runs on a host.
    Board,
    /// On the bench: the program and its files.
    Bench,
}

/// What an instrument must have for a fault to affect it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Needs {
    /// A static pressure.
    Static,
    /// Total energy from an airspeed.
    Airspeed,
    /// Total energy from a probe.
    Probe,
    /// An inertial sensor, and for some a satellite receiver.
    Inertial,
}

/// False lift under a fault.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Lift {
    /// None: no spell of beeps that the true rate of energy does not justify is longer than without
    /// a fault.
    Never,
    /// No such spell is longer than so many seconds: what was measured, in words.
    AtMost(f64, &'static str),
    /// The compensation is gone: against the true rate of height, which the reading then shows,
    /// none is longer than this, s.
    FollowsStick(f64),
    /// It cannot be distinguished from lift: the longest spell measured, in words. It is more than
    /// 0.5 s, and CI finds one.
    Limit(&'static str),
}

/// One fault.
#[derive(Clone, Copy, Debug)]
pub struct Entry {
    /// As typed after `--inject`.
    pub name: &'static str,
    /// Where it happens.
    pub place: Place,
    /// What an instrument must have to be affected.
    pub needs: Needs,
    /// What is done.
    pub injected: &'static str,
    /// How it is noticed.
    pub noticed: &'static str,
    /// One of these comes.
    pub statuses: &'static [Status],
    /// Within so many seconds; `None` where it is not noticed, or where `noticed` is not a status.
    pub within_s: Option<f32>,
    /// What is heard.
    pub heard: &'static str,
    /// What is shown.
    pub shown: &'static str,
    /// How it ends.
    pub recovers: &'static str,
    /// The reading is good again so many seconds after the fault; `None` where this list does not
    /// define it.
    pub recovers_s: Option<f32>,
    /// False lift.
    pub lift: Lift,
    /// Tests that hold it, as `file::name`.
    pub tests: &'static [&'static str],
}

const RUNS: &str = "tests/faults.rs::no_fault_sounds_like_lift";
const NOTICED: &str =
    "tests/faults.rs::every_fault_is_noticed_within_its_time_and_recovers_within_its_time";
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
const FROM_START: &str = "tests/faults/inertial.rs::\
     with_a_fault_of_the_inertial_sensor_it_is_as_bad_as_its_row_says_at_worst";
const IN_FLIGHT: &str = "tests/faults/in_flight.rs::\
     with_a_fault_of_the_inertial_sensor_in_flight_it_is_as_bad_as_its_family_is_at_worst";
const INERTIAL: Entry = Entry {
    needs: Needs::Inertial,
    statuses: &[Status::CheckInertial],
    heard: ALONE,
    shown: "check_inertial",
    recovers: "once the sensor has agreed with the pressures again",
    recovers_s: None,
    tests: &[FROM_START],
    ..TRACE
};
/// Of one that begins in flight.
const SUDDEN: Entry = Entry {
    heard: "a wrong climb until it is noticed, then the pressures alone, without a step",
    tests: &[IN_FLIGHT],
    ..INERTIAL
};
/// Of an axis that repeats its last value.
const STUCK: Entry = Entry {
    noticed: "no working sensor's axis repeats 15 means while the others move: 0.3 s at 50 Hz",
    within_s: Some(0.4),
    heard: ALONE,
    recovers: "by itself",
    lift: Lift::AtMost(0.5, "as long as the pressures alone"),
    ..SUDDEN
};
const ALONE: &str = "the pressures alone sound, without a step";
const BOARD: Entry = Entry { place: Place::Board, recovers_s: None, ..TRACE };
const BENCH: Entry = Entry { place: Place::Bench, recovers_s: None, ..TRACE };
const SILENT: &str =
    "the sound continues for 2 s at most, then silence, and after 5 s the fault call";

/// Every fault.
pub const CATALOGUE: &[Entry] = &[
    Entry {
        name: "absent",
        place: Place::Trace(Kind::Absent),
        injected: "no pressure is a number, as if a sensor was never found",
        noticed: "each sample",
        statuses: &[Status::BadPressure],
        within_s: Some(0.05),
        heard: "silence, and after 5 s the fault call",
        shown: "bad_pressure",
        recovers: "by itself, settling as after a start",
        recovers_s: Some(3.0),
        ..TRACE
    },
    Entry {
        name: "lost",
        place: Place::Trace(Kind::Lost),
        injected: "the static pressure is not a number from then on",
        noticed: "each sample",
        statuses: &[Status::BadPressure],
        within_s: Some(0.05),
        heard: SILENT,
        shown: "bad_pressure",
        recovers: "by itself; after more than 10 s it settles as after a start",
        recovers_s: Some(3.0),
        ..TRACE
    },
    Entry {
        name: "missing",
        place: Place::Trace(Kind::Missing),
        injected: "no samples are received",
        noticed: "time passes without a sample",
        heard: SILENT,
        shown: "the last reading becomes stale; after 10 s the next is a gap",
        recovers: "by itself; after more than 10 s it settles as after a start",
        recovers_s: Some(3.0),
        ..TRACE
    },
    Entry {
        name: "frozen",
        place: Place::Trace(Kind::Frozen),
        injected: "every sensor repeats its last value exactly",
        noticed: "no working sensor does that; a coarse one that stops in a climb after 20 s, one \
                  that repeats its first value after 10 s, or 150 s if that is round",
        statuses: &[Status::Frozen],
        within_s: Some(1.2),
        heard: "silence after 1 s, and 5 s later the fault call",
        shown: "frozen",
        recovers: "with the first new value, settling as after a start",
        recovers_s: Some(3.0),
        lift: Lift::AtMost(0.4, "up to 0.3 s, as it begins"),
        ..TRACE
    },
    Entry {
        name: "range",
        place: Place::Trace(Kind::Range),
        injected: "the static pressure is 0 or 250 000 Pa",
        noticed: "each sample: not within 5 000 to 115 000 Pa",
        statuses: &[Status::BadPressure],
        within_s: Some(0.05),
        heard: SILENT,
        shown: "bad_pressure",
        recovers: "by itself; after more than 10 s it settles as after a start",
        recovers_s: Some(3.0),
        ..TRACE
    },
    Entry {
        name: "noisy",
        place: Place::Trace(Kind::Noisy),
        injected: "30 Pa rms of white noise on every pressure: 2.5 m of height, forty times that \
                   of a good barometer",
        noticed: "held back as spikes at first; then the reported standard deviation grows",
        statuses: &[Status::Suspect],
        within_s: Some(1.0),
        heard: "the reading is noisy: beeps and pauses by turns",
        shown: "suspect; a standard deviation of 0.5 m/s or more",
        recovers: "as the noise is measured again, within half a minute",
        recovers_s: Some(1.0),
        lift: Lift::Limit(
            "beeps for up to 20 s of 20 s: to a filter of 1 s noise this large looks like lift",
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
        lift: Lift::AtMost(0.6, "up to 0.51 s, in 570 flights"),
        ..TRACE
    },
    Entry {
        name: "torn",
        place: Place::Trace(Kind::Torn),
        injected: "one pressure in 50 has one of its 32 bits inverted: a torn read",
        noticed: "held back or out of range, where the bit matters",
        statuses: &[Status::Suspect, Status::BadPressure],
        within_s: Some(10.0),
        shown: "suspect or bad_pressure",
        recovers: "at once",
        lift: Lift::AtMost(
            0.4,
            "up to 0.30 s, in one flight of 570: two inverted bits worth some metres",
        ),
        ..TRACE
    },
    Entry {
        name: "drift",
        place: Place::Trace(Kind::Drift),
        injected: "the static pressure falls by 150 Pa within 3 minutes: sun on the sensor, or \
                   warming up",
        shown: "nothing; the altitude is 12.5 m too high at the end, and replay says so",
        recovers: "the height stays wrong; the reading is wrong by 0.07 m/s while it lasts",
        ..TRACE
    },
    Entry {
        name: "static-blocked",
        place: Place::Trace(Kind::StaticBlocked),
        injected: "the static line keeps its last pressure; the sensor still works",
        noticed: "with an airspeed, suspected after half a minute or more: the altitude stands \
                  still, the kinetic height changes by 10 m",
        heard: "with an airspeed, sink sounds like climb; with a probe nothing changes; without \
                either, silence",
        shown: "an altitude that does not change; with an airspeed check_static, once suspected",
        recovers: "at once",
        lift: Lift::Limit(
            "with an airspeed all of the 20 s, because the total pressure rises as the glider \
             sinks and looks like energy; without airspeed up to 1.0 s; with a probe none",
        ),
        ..TRACE
    },
    Entry {
        name: "static-leak",
        place: Place::Trace(Kind::StaticLeak),
        injected: "three tenths of the cockpit's pressure reach the static line, and a vent is \
                   opened and closed every 8 s (60 Pa)",
        heard: "at most a click at each step",
        recovers: "at once",
        lift: Lift::AtMost(3.5, "up to 3.4 s, at a step; with a probe none"),
        ..TRACE
    },
    Entry {
        name: "pitot-blocked",
        place: Place::Trace(Kind::PitotBlocked),
        needs: Needs::Airspeed,
        injected: "the pitot line keeps its last pressure",
        noticed: "not while the airspeed is plausible; at the latest when the height changes by 40 \
                  m without flying speed",
        heard: "climb and sink at twice their rate, and pitch inputs",
        shown: "check_tubes, once there is no flying speed",
        recovers: "at once",
        lift: Lift::FollowsStick(2.5),
        ..TRACE
    },
    Entry {
        name: "pitot-off",
        place: Place::Trace(Kind::PitotOff),
        needs: Needs::Airspeed,
        injected: "the pitot tube comes off: no impact pressure",
        noticed: "the height changes by 40 m without flying speed",
        heard: "pitch inputs are audible (no compensation)",
        shown: "check_tubes, once the height has changed by 40 m",
        recovers: "with flying speed",
        lift: Lift::FollowsStick(1.2),
        ..TRACE
    },
    Entry {
        name: "pitot-leak",
        place: Place::Trace(Kind::PitotLeak),
        needs: Needs::Airspeed,
        injected: "the impact pressure is three fifths of what it should be",
        heard: "two fifths of pitch inputs are audible",
        shown: "an airspeed that is a fifth too low",
        recovers: "at once",
        lift: Lift::FollowsStick(1.2),
        ..TRACE
    },
    Entry {
        name: "swapped",
        place: Place::Trace(Kind::Swapped),
        needs: Needs::Airspeed,
        injected: "pitot and static are swapped at the airspeed sensor",
        noticed: "the impact pressure stays below zero",
        statuses: &[Status::CheckTubes],
        within_s: Some(4.0),
        heard: "pitch inputs are audible (no compensation)",
        shown: "check_tubes",
        recovers: "with flying speed",
        lift: Lift::FollowsStick(1.2),
        ..TRACE
    },
    Entry {
        name: "airspeed-lost",
        place: Place::Trace(Kind::AirspeedLost),
        needs: Needs::Airspeed,
        injected: "no airspeed is received",
        noticed: "each sample",
        statuses: &[Status::NoCompensation],
        within_s: Some(0.05),
        heard: "pitch inputs are audible (no compensation)",
        shown: "no_compensation",
        recovers: "at once, without a jump",
        lift: Lift::FollowsStick(1.2),
        ..TRACE
    },
    Entry {
        name: "probe-lost",
        place: Place::Trace(Kind::ProbeLost),
        needs: Needs::Probe,
        injected: "no probe pressure is received",
        noticed: "each sample",
        statuses: &[Status::NoCompensation],
        within_s: Some(0.05),
        heard: "pitch inputs are audible (no compensation)",
        shown: "no_compensation",
        recovers: "at once, without a jump",
        lift: Lift::FollowsStick(1.2),
        ..TRACE
    },
    Entry {
        name: "probe-off",
        place: Place::Trace(Kind::ProbeOff),
        needs: Needs::Probe,
        injected: "the probe's tube comes off: its sensor shows the static pressure",
        heard: "pitch inputs are audible (no compensation)",
        shown: "nothing: a probe at rest shows the same",
        recovers: "at once",
        lift: Lift::FollowsStick(1.2),
        ..TRACE
    },
    Entry {
        name: "water",
        place: Place::Trace(Kind::Water),
        injected: "water in the probe's line, or in the static line where there is no probe: it \
                   moves back and forth by 80 Pa in 1.3 s",
        heard: "beeps and the sink tone by turns, in time with the water",
        shown: "nothing",
        recovers: "at once",
        lift: Lift::Limit(
            "all of the 20 s: the water changes the pressure as much as a climb of 30 m/s",
        ),
        ..TRACE
    },
    Entry {
        name: "bursts",
        place: Place::Trace(Kind::Bursts),
        injected: "a radio's bursts: the barometer is 10 Pa too low for 120 ms of every second",
        heard: "beeps, sometimes, and a climb that ends late",
        recovers: "at once",
        lift: Lift::Limit(
            "with an airspeed up to 10 s of the 20 s, without one up to 1.1 s; with a probe none",
        ),
        ..TRACE
    },
    Entry {
        name: "vent",
        place: Place::Trace(Kind::Vent),
        injected: "a vent, opened and closed every 8 s, shifts the pressure in the static line by \
                   40 Pa with a time constant of 0.3 s",
        heard: "with an airspeed a beep at each movement",
        recovers: "at once",
        lift: Lift::Limit(
            "with an airspeed up to 1.4 s, without it up to 1.0 s; with a probe none",
        ),
        ..TRACE
    },
    Entry {
        name: "step",
        place: Place::Trace(Kind::Step),
        injected: "the measured height steps up by 50 m and stays; at the end it steps back",
        heard: "at most a click",
        recovers: "at once",
        lift: Lift::AtMost(1.7, "in still air none; in these flights up to 1.65 s"),
        ..TRACE
    },
    Entry {
        name: "wrong-samples",
        place: Place::Trace(Kind::WrongSamples),
        injected: "the first two samples are 600 m too low",
        noticed: "both are held back",
        statuses: &[Status::Suspect],
        within_s: Some(0.05),
        shown: "suspect",
        recovers: "at once",
        lift: Lift::AtMost(
            0.16,
            "none; with one sample in 4 s, 4 s where it is wrong by less than 30 m",
        ),
        ..TRACE
    },
    Entry {
        name: "coarse",
        place: Place::Trace(Kind::Coarse),
        injected: "the barometer has steps of 4 Pa, a third of a metre",
        recovers: "at once",
        lift: Lift::AtMost(
            0.4,
            "in still air none; without an airspeed up to 0.35 s, with one none",
        ),
        ..TRACE
    },
    Entry {
        name: "static-ice",
        place: Place::Trace(Kind::StaticIce),
        injected: "ice closes the static line within 10 s",
        noticed: "with an airspeed, suspected after half a minute or more: the altitude stands \
                  still, the kinetic height changes by 10 m",
        heard: "with an airspeed, sink sounds like climb; with a probe nothing changes; without \
                either, silence",
        shown: "an altitude that no longer changes; with an airspeed check_static, once \
                suspected",
        recovers: "at once",
        lift: Lift::Limit(
            "with an airspeed nearly all of the 20 s, as with a blocked line; else none",
        ),
        ..TRACE
    },
    Entry {
        name: "pitot-ice",
        place: Place::Trace(Kind::PitotIce),
        needs: Needs::Airspeed,
        injected: "ice closes the pitot line within 10 s",
        heard: "climb and sink at twice their rate, and pitch inputs",
        shown: "an airspeed that follows the height",
        recovers: "at once",
        lift: Lift::FollowsStick(2.5),
        ..TRACE
    },
    Entry {
        name: "timer-wrap",
        place: Place::Trace(Kind::TimerWrap),
        injected: "the 32-bit microsecond clock wraps",
        noticed: "not a fault",
        tests: &[RUNS, "tests/faults.rs::a_timer_that_wraps_changes_no_reading"],
        ..TRACE
    },
    Entry {
        name: "clock-back",
        place: Place::Trace(Kind::ClockBack),
        injected: "the clock jumps back by a minute",
        noticed: "each sample; accepted at the tenth",
        statuses: &[Status::TimeWentBack],
        within_s: Some(0.05),
        heard: "silence until it has settled",
        shown: "time_went_back, then clock_reset",
        recovers: "settling as after a start",
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
        recovers: "settling as after a start",
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
        injected: "three samples in ten are missing: missed deadlines",
        recovers: "at once",
        ..TRACE
    },
    Entry {
        name: "late",
        place: Place::Trace(Kind::Late),
        injected: "time stamps are up to 15 ms late",
        recovers: "at once",
        ..TRACE
    },
    Entry {
        name: "inertial-lost",
        place: Place::Trace(Kind::InertialLost),
        injected: "the inertial sensor says nothing",
        noticed: "half a second without a value",
        within_s: Some(0.6),
        recovers: "by itself",
        recovers_s: Some(0.5),
        ..INERTIAL
    },
    Entry {
        name: "inertial-frozen",
        place: Place::Trace(Kind::InertialFrozen),
        injected: "the inertial sensor repeats its last values exactly",
        noticed: "no working sensor does that",
        within_s: Some(0.6),
        recovers: "by itself",
        recovers_s: Some(0.5),
        lift: Lift::AtMost(
            1.1,
            "as long as the pressures alone, or 0.3 s longer, until it is noticed",
        ),
        ..INERTIAL
    },
    Entry {
        name: "gyro-reversed",
        place: Place::Trace(Kind::GyroReversed),
        injected: "one of the three gyroscopes has the wrong sign",
        noticed: "from the start of a flight on: in its first circles, by name (turn_reversed or \
                  force_reversed); straight on not at all, and then it does no harm",
        within_s: Some(40.0),
        recovers: "not in this flight",
        lift: Lift::AtMost(
            0.5,
            "as long as the pressures alone; where it \
             begins in flight, in 123 of 306 up to 9.3 s longer, and the reading is worse by \
             up to 0.8 m/s rms",
        ),
        tests: &[FROM_START, IN_FLIGHT],
        ..INERTIAL
    },
    Entry {
        name: "force-reversed",
        place: Place::Trace(Kind::ForceReversed),
        injected: "one of the three accelerometers has the wrong sign",
        noticed: "within two minutes, by name (force_reversed), from how the force goes with the \
                  load and the flow; the sideways one not at all, and then it does no harm; the \
                  downward one that turns over in flight after 3 samples",
        recovers: "not in this flight",
        lift: Lift::AtMost(
            0.5,
            "as long as the pressures alone; in one flight of 102 1.2 s longer; \
             where it begins in flight, in 52 of 306 up to 6.5 s longer, and the reading is \
             worse by up to 0.8 m/s rms",
        ),
        tests: &[FROM_START, IN_FLIGHT],
        ..INERTIAL
    },
    Entry {
        name: "gyro-stuck",
        place: Place::Trace(Kind::GyroStuck),
        injected: "one of the three gyroscopes repeats its last value",
        ..STUCK
    },
    Entry {
        name: "force-stuck",
        place: Place::Trace(Kind::ForceStuck),
        injected: "one of the three accelerometers repeats its last value",
        ..STUCK
    },
    Entry {
        name: "gyro-bias",
        place: Place::Trace(Kind::GyroBias),
        injected: "one of the three gyroscopes reads 0.05 rad/s (3 degrees a second) too much",
        noticed: "by what it does to the climb: about the right wing after 4 s, along the path \
                  after 10 s, about the vertical axis after 27 s",
        lift: Lift::Limit(
            "in 165 flights of 306 up to 9.8 s longer than the pressures alone, and the \
             reading is worse by up to 0.5 m/s rms",
        ),
        ..SUDDEN
    },
    Entry {
        name: "force-bias",
        place: Place::Trace(Kind::ForceBias),
        injected: "one of the three accelerometers reads 0.5 m/s² too much",
        noticed: "the downward one and the forward one by what they do to the climb, after 10 to \
                  13 s, or when it ends; the sideways one mostly not at all",
        lift: Lift::Limit(
            "in 110 flights of 306 up to 13.6 s longer than the pressures alone, and the \
             reading is worse by up to 0.2 m/s rms",
        ),
        ..SUDDEN
    },
    Entry {
        name: "quarter-turn",
        place: Place::Trace(Kind::QuarterTurn),
        injected: "the inertial sensor is mounted a quarter turn off about its vertical axis",
        noticed: "in the first circles, or by the pitch rate that goes with the load straight on, \
                  and learnt there; the reading is then as with a sensor that is mounted right",
        within_s: Some(40.0),
        recovers: "nothing to recover from",
        lift: Lift::AtMost(0.5, "as long as the pressures alone"),
        ..INERTIAL
    },
    Entry {
        name: "gyro-gain",
        place: Place::Trace(Kind::GyroGain),
        injected: "the gyroscopes read 15 % low",
        noticed: "in turns: the filter measures the gain and allows for it",
        statuses: &[],
        heard: "the reading goes on",
        shown: "a remark, gyro_gain",
        recovers: "nothing to recover from",
        lift: Lift::AtMost(
            0.5,
            "none from the start on; where it begins in flight, in 28 of 102 up to 11.3 s \
             longer than the pressures alone, and the reading is worse by up to 0.5 m/s rms",
        ),
        tests: &[FROM_START, IN_FLIGHT],
        ..INERTIAL
    },
    Entry {
        name: "force-gain",
        place: Place::Trace(Kind::ForceGain),
        injected: "the accelerometers read 15 % low",
        noticed: "by what it does to the climb, after 4 s",
        lift: Lift::Limit(
            "in 79 flights of 102 up to 5.0 s longer than the pressures alone, and the \
             reading is worse by up to 0.3 m/s rms",
        ),
        ..SUDDEN
    },
    Entry {
        name: "clipped",
        place: Place::Trace(Kind::Clipped),
        injected: "the accelerometers end at 2 g",
        noticed: "not noticed where the load stays below",
        statuses: &[],
        heard: "the reading goes on",
        shown: "nothing",
        recovers: "nothing to recover from",
        ..INERTIAL
    },
    Entry {
        name: "clipped-1.5g",
        place: Place::Trace(Kind::ClippedSooner),
        injected: "the accelerometers end at 1.5 g",
        noticed: "not noticed where the load stays below; else in one flight of two, late",
        lift: Lift::Limit("as long as the pressures alone, or 0.3 s longer"),
        ..SUDDEN
    },
    Entry {
        name: "shaken",
        place: Place::Trace(Kind::Shaken),
        injected: "the inertial sensor vibrates by 10 m/s² along each axis",
        noticed: "by the deviation of what was averaged",
        within_s: Some(0.6),
        recovers: "within some seconds; in one flight of 102 not within 40 s",
        lift: Lift::AtMost(0.5, "as long as the pressures alone"),
        ..INERTIAL
    },
    Entry {
        name: "gnss-wrong",
        place: Place::Trace(Kind::GroundWrong),
        injected: "the satellite receiver's velocity is off by 12, -8 and 4 m/s from one moment \
                   to the next",
        noticed: "it is beyond belief and not taken; after ten such velocities the receiver is \
                  left alone for two minutes",
        statuses: &[],
        heard: "the reading goes on without the receiver",
        shown: "nothing",
        recovers: "once the receiver has been looked at again",
        ..INERTIAL
    },
    Entry {
        name: "gnss-late",
        place: Place::Trace(Kind::GroundLate),
        injected: "the satellite receiver's velocity comes a second later than it should",
        noticed: "the filter learns the delay, or leaves the receiver alone",
        statuses: &[],
        heard: "the reading goes on",
        shown: "nothing",
        recovers: "nothing to recover from",
        lift: Lift::AtMost(
            0.5,
            "as long as the pressures alone; where \
             it begins in flight, in 3 of 102 up to 2.7 s longer, and the reading is worse by \
             up to 0.7 m/s rms",
        ),
        tests: &[FROM_START, IN_FLIGHT],
        ..INERTIAL
    },
    Entry {
        name: "gnss-frozen",
        place: Place::Trace(Kind::GroundFrozen),
        injected: "the satellite receiver repeats its last velocity as if it were new",
        noticed: "the receiver is left alone; in one flight of ten the whole filter is doubted \
                  first",
        heard: "the reading goes on without the receiver",
        lift: Lift::Limit(
            "in 3 flights of 102 up to 2.1 s longer than the pressures alone, and the \
             reading is worse by up to 0.1 m/s rms",
        ),
        ..SUDDEN
    },
    Entry {
        name: "no-answer",
        injected: "a sensor does not answer, from the start or later",
        noticed: "ten failures in a row: 0.2 s",
        heard: "silence within 2.5 s, then the fault call: three falling notes, after 5 s",
        shown: "the sensor and why: absent or lost, no answer; eight blinks",
        recovers: "looked for again every half second; once found, it settles as after a start",
        tests: &[
            "firmware/src/instrument/tests.rs::\
             a_sensor_absent_at_the_start_gives_a_fault_sound_and_light_until_it_appears",
            "firmware/src/instrument/tests.rs::\
             a_sensor_lost_in_a_climb_falls_silent_then_warns_then_beeps_again",
            "firmware/src/sampler/tests.rs::\
             a_lost_sensor_is_detected_within_half_a_second_and_back_within_one",
        ],
        ..BOARD
    },
    Entry {
        name: "wrong-identity",
        injected: "a sensor answers with another identity",
        noticed: "before its first sample",
        heard: "the fault call: three falling notes, after 5 s",
        shown: "wrong identity, with the number",
        recovers: "looked for again every half second",
        tests: &["firmware/src/sampler/tests.rs::a_bad_calibration_and_a_wrong_identity_are_named"],
        ..BOARD
    },
    Entry {
        name: "bad-calibration",
        injected: "calibration data with a wrong checksum, or all zeros or ones",
        noticed: "before its first sample",
        heard: "the fault call: three falling notes, after 5 s",
        shown: "bad calibration",
        recovers: "looked for again every half second",
        tests: &[
            "firmware/src/sampler/tests.rs::a_bad_calibration_and_a_wrong_identity_are_named",
            "firmware/sensors/src/ms5611/prom.rs::a_line_held_low_or_high_gives_no_calibration",
        ],
        ..BOARD
    },
    Entry {
        name: "dead-sensor",
        injected: "a sensor repeats one value, or does not convert",
        noticed: "1 s",
        heard: "silence, then the fault call: three falling notes, after 5 s",
        shown: "frozen",
        recovers: "restarted every 5 s; with its first new value",
        tests: &[
            "firmware/src/sampler/tests.rs::\
             a_sensor_that_repeats_its_value_is_frozen_after_a_second_until_it_changes",
            "firmware/src/sampler/tests.rs::a_sensor_that_does_not_convert_gives_no_sample",
            "firmware/src/instrument/tests.rs::a_frozen_sensor_is_silent_and_warns",
        ],
        ..BOARD
    },
    Entry {
        name: "bus-stuck",
        injected: "a bus line is held low, by a device that lost count of its clocks or by a short \
                   circuit",
        noticed: "with the next transaction",
        heard: "nothing if nine clocks free it; else silence, then the fault call: three falling \
                notes, after 5 s",
        shown: "I2C bus: stuck, then free again",
        recovers: "nine clocks and a stop; with a short circuit, tried twice a second",
        tests: &[
            "firmware/src/sampler/tests.rs::a_stuck_bus_is_clocked_free",
            "firmware/src/sampler/tests.rs::a_short_circuit_is_retried_twice_a_second_and_reported",
            "firmware/src/instrument/tests.rs::a_stuck_bus_is_freed_and_a_short_is_reported",
        ],
        ..BOARD
    },
    Entry {
        name: "settings-torn",
        injected: "power is lost at any byte of a save",
        noticed: "at the next start, by the checksum",
        heard: "the usual start",
        shown: "nothing: the old settings or the new ones",
        recovers: "by itself",
        tests: &["firmware/src/store/tests.rs::\
             power_lost_at_any_byte_of_any_save_leaves_the_old_or_the_new"],
        ..BOARD
    },
    Entry {
        name: "settings-foreign",
        injected: "stored settings of another version, damaged, or out of range; a flash with \
                   arbitrary contents",
        noticed: "at the start",
        heard: "the default settings",
        shown: "which of these it was",
        recovers: "the next save",
        tests: &[
            "firmware/src/store/tests.rs::\
             another_version_damage_and_settings_out_of_range_are_distinguished",
            "firmware/src/store/tests.rs::\
             a_flash_full_of_anything_gives_the_defaults_and_can_be_saved_to",
        ],
        ..BOARD
    },
    Entry {
        name: "low-battery",
        injected: "the battery falls below its limit",
        noticed: "after some seconds; short dips are ignored",
        heard: "a falling warning once a minute, below every beep of climb",
        shown: "battery low, with the voltage",
        recovers: "only when well above the limit",
        tests: &[
            "firmware/src/instrument/tests.rs::\
             a_low_battery_warns_once_a_minute_and_not_below_half_a_volt",
            "firmware/src/battery.rs::\
             a_battery_below_its_limit_is_low_after_ten_seconds_and_not_after_a_dip",
            "firmware/src/notice.rs::warnings_fall_and_stay_below_every_beep_of_climb_by_default",
        ],
        ..BOARD
    },
    Entry {
        name: "log-link",
        injected: "nobody reads the log's port, or it is too slow for the rows",
        noticed: "at each row that does not fit",
        heard: "nothing: the sound does not wait for the port",
        shown: "rows dropped, in a column of the log",
        recovers: "with the next row that fits",
        tests: &[
            "firmware/src/console.rs::\
             a_port_that_nobody_reads_drops_rows_counts_them_and_still_answers",
            "firmware/src/console.rs::whoever_opens_the_port_gets_a_header_before_the_first_row",
        ],
        ..BOARD
    },
    Entry {
        name: "console-noise",
        injected: "arbitrary input at the console's port, too long or too fast",
        noticed: "each line",
        heard: "nothing",
        shown: "one answer for each bad line",
        recovers: "with the next line",
        tests: &[
            "firmware/src/instrument/tests.rs::\
             no_input_at_a_port_panics_or_stops_the_answers",
            "firmware/src/console.rs::\
             a_line_too_long_or_not_text_gets_one_error_and_costs_no_other_line",
            "firmware/src/console.rs::input_too_fast_is_reported_and_not_partly_executed",
        ],
        ..BOARD
    },
    Entry {
        name: "standstill",
        injected: "the bus or the sound stops",
        noticed: "the watchdog is no longer fed",
        heard: "the start sound",
        shown: "the reason for a panic, at the next start",
        recovers: "by a restart",
        tests: &[
            "firmware/src/instrument/tests.rs::\
             the_watchdog_is_fed_only_while_both_bus_and_sound_run",
            "firmware/src/panic_record.rs::a_reason_is_read_back_in_one_line",
        ],
        ..BOARD
    },
    Entry {
        name: "disk-full",
        injected: "no disk space for an output",
        noticed: "before any output gets its name",
        heard: "nothing",
        shown: "one line; every earlier file is still there",
        recovers: "when there is space",
        tests: &[
            "tests/crash.rs::\
             where_there_is_no_room_the_error_is_one_clear_line_and_every_old_file_stays",
            "tests/crash.rs::a_full_device_says_that_the_disk_is_full",
        ],
        ..BENCH
    },
    Entry {
        name: "killed",
        injected: "the program is killed at any moment, 50 times",
        noticed: "not at all",
        heard: "nothing",
        shown: "each file is old or new, and complete; the unfinished one, `.chirrup-*.part`, \
                stays and may be deleted",
        recovers: "by another run",
        tests: &[
            "tests/crash.rs::killed_at_any_moment_it_leaves_the_old_file_or_the_whole_new_one",
        ],
        ..BENCH
    },
    Entry {
        name: "years-apart",
        injected: "samples that are a year apart, or times at the ends of the clock",
        noticed: "the reading is stale after a minute at the latest",
        heard: "silence",
        shown: "gap",
        recovers: "settling as after a start",
        tests: &[
            "tests/streams.rs::samples_a_year_apart_are_passed_in_a_moment_too",
            "tests/streams.rs::a_jump_of_a_year_in_the_time_is_passed_in_a_moment",
        ],
        ..BENCH
    },
];

/// The entry of a fault that a trace can show.
pub fn entry(kind: Kind) -> &'static Entry {
    let found = CATALOGUE.iter().find(|entry| entry.place == Place::Trace(kind));
    found.unwrap_or(&TRACE)
}
