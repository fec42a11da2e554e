//! What the instrument says of one sample: what became of it, and the figures it gave.

use crate::air::energy::EnergySource;
use crate::motion::climb::Climb;
use crate::rows::Kind;
use crate::sound::fault::Health;
use crate::sound::tone::Sound;
use crate::units::{Metre, MetrePerSecond, Micros};

setting_words! {
    /// In whose metres vertical speeds are given.
    pub enum VerticalScale {
        #[default]
        Standard = "standard", "the standard atmosphere's, whatever the weather, as altimeters do \
            (common practice, no source)";
        Corrected = "corrected", "true ones, where the outside temperature is known: 5 % longer \
            in air 15 K warmer than standard";
    }
}

setting_group! {
    /// How readings are given, and how long they are good.
    pub struct ReadingSettings = "", "The reading." {
        scale as "vertical_speed": VerticalScale = VerticalScale::Standard, "", VerticalScale::KIND,
            "In whose metres vertical speeds are given.";
        stale_after_s: f32 = 2.0, "s", Kind::number(0.5, 30.0),
            "Without a sample for this long the instrument falls silent, and 5 s later calls a \
            fault. A flight log of one sample in several seconds is not stale between them: three \
            usual intervals are allowed where that is longer.";
    }
}

/// What became of a sample.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Status {
    /// Used, and the reading is good.
    Ok,
    /// Used, and the reading is still finding itself (after the start or a gap); silent.
    Settling,
    /// Passed over: the sensor repeats one value to the last bit, as no living sensor does; silent.
    Frozen,
    /// Held back: a lone spike, or the first sample of something new; the reading is as foretold.
    Suspect,
    /// Used; the source of total energy is missing, so that the reading follows the stick.
    NoCompensation,
    /// Used; the impact pressure says that the tubes are swapped, blocked or off, or that its
    /// sensor was not zeroed.
    CheckTubes,
    /// Used; the first after a gap, from which the reading starts afresh.
    Gap,
    /// Used; the clock was set back, and the reading starts afresh.
    ClockReset,
    /// Passed over: the static pressure is not a number or not the atmosphere's.
    BadPressure,
    /// Passed over: its time is that of the sample before.
    RepeatedTime,
    /// Passed over: its time is before that of the sample before.
    TimeWentBack,
}

impl Status {
    /// Every status, in the order in which tables list them.
    pub const ALL: [Status; 11] = [
        Status::Ok,
        Status::Settling,
        Status::Frozen,
        Status::Suspect,
        Status::NoCompensation,
        Status::CheckTubes,
        Status::Gap,
        Status::ClockReset,
        Status::BadPressure,
        Status::RepeatedTime,
        Status::TimeWentBack,
    ];

    /// One word for tables and logs.
    pub fn name(self) -> &'static str {
        match self {
            Status::Ok => "ok",
            Status::Settling => "settling",
            Status::Frozen => "frozen",
            Status::Suspect => "suspect",
            Status::NoCompensation => "no_compensation",
            Status::CheckTubes => "check_tubes",
            Status::Gap => "gap",
            Status::ClockReset => "clock_reset",
            Status::BadPressure => "bad_pressure",
            Status::RepeatedTime => "repeated_time",
            Status::TimeWentBack => "time_went_back",
        }
    }

    /// Whether the sample went into the reading and the reading is one to go by, compensated or
    /// not.
    pub fn is_good(self) -> bool {
        matches!(self, Status::Ok | Status::NoCompensation | Status::CheckTubes)
    }

    /// What it says of the instrument's health.
    pub(crate) fn health(self) -> Health {
        match self {
            Status::Ok | Status::NoCompensation | Status::CheckTubes => Health::Good,
            Status::Settling | Status::Gap | Status::ClockReset => Health::Unknown,
            Status::Frozen
            | Status::Suspect
            | Status::BadPressure
            | Status::RepeatedTime
            | Status::TimeWentBack => Health::Bad,
        }
    }

    /// Whether the sample went into the reading.
    pub fn is_used(self) -> bool {
        !matches!(
            self,
            Status::Frozen | Status::BadPressure | Status::RepeatedTime | Status::TimeWentBack
        )
    }
}

/// What the instrument says of one sample.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reading {
    /// The sample's own time stamp.
    pub time: Micros,
    /// What became of the sample.
    pub status: Status,
    /// Time since the last sample used; zero where the sample was passed over or everything started
    /// afresh.
    pub elapsed: Micros,
    /// The source of total energy in use.
    pub source: EnergySource,
    /// What the pressure says, where the sample was used.
    pub values: Option<Values>,
}

/// The figures of a reading.
///
/// Vertical speeds are in the standard atmosphere's metres, or true ones where the settings ask for
/// them and the air's temperature is known; netto and what follows from it are always true.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Values {
    /// Pressure altitude of the standard atmosphere, not filtered.
    pub altitude: Metre,
    /// What the altimeter shows with its subscale as set, not filtered.
    pub altimeter: Metre,
    /// True airspeed, where there is any airspeed.
    pub true_airspeed: Option<MetrePerSecond>,
    /// Rate of change of the altitude, filtered, not compensated.
    pub vertical_speed: MetrePerSecond,
    /// Rate of change of the energy height, filtered; `None` without a source of total energy.
    pub te_vertical_speed: Option<MetrePerSecond>,
    /// Standard deviation of the error of the vertical speed that sounds, as the filter believes.
    pub deviation: MetrePerSecond,
    /// Mean of the vertical speed that sounds over the set time; `None` until there is a mean worth
    /// showing.
    pub average: Option<MetrePerSecond>,
    /// The climb since it began; `None` outside climbs.
    pub climb: Option<Climb>,
    /// What the polar makes of it; `None` without a polar, without total energy, or below flying
    /// speed.
    pub netto: Option<Netto>,
    /// What sounds.
    pub sound: Sound,
}

/// What the polar makes of a compensated vertical speed and an airspeed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Netto {
    /// The air's own vertical speed: the compensated reading and the glider's own sink.
    pub air: MetrePerSecond,
    /// What the glider would climb at if it circled here: the air's less the sink in a turn of the
    /// set bank.
    pub relative: MetrePerSecond,
    /// Best equivalent airspeed towards the expected climb, in air such as this.
    pub speed_to_fly: MetrePerSecond,
    /// Equivalent airspeed now.
    pub equivalent_airspeed: MetrePerSecond,
}

impl Netto {
    /// How much faster than the speed to fly; negative where too slow.
    pub fn too_fast(&self) -> MetrePerSecond {
        MetrePerSecond(self.equivalent_airspeed.0 - self.speed_to_fly.0)
    }
}

impl Values {
    /// The vertical speed that sounds: compensated where there is a source of total energy.
    pub fn sounded(&self) -> MetrePerSecond {
        self.te_vertical_speed.unwrap_or(self.vertical_speed)
    }
}
