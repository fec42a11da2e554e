//! The result of one sample: its status and its figures.

use crate::air::air_data::AirData;
use crate::air::energy::EnergySource;
use crate::inertial::trust::Aided;
use crate::motion::climb::Climb;
use crate::rows::Kind;
use crate::sound::fault::Health;
use crate::sound::tone::Sound;
use crate::units::{Metre, MetrePerSecond, Micros};

setting_words! {
    /// Which metres vertical speeds are given in.
    pub enum VerticalScale {
        #[default]
        Standard = "standard", "the standard atmosphere's, whatever the weather, as altimeters do \
            (common practice, no source)";
        Corrected = "corrected", "true ones, where the outside temperature is known: 5 % longer \
            in air 15 K warmer than standard";
    }
}

setting_group! {
    /// How readings are given, and how long they stay valid.
    pub struct ReadingSettings = "", "The reading." {
        scale as "vertical_speed": VerticalScale = VerticalScale::Standard, "", VerticalScale::KIND,
            "In whose metres vertical speeds are given.";
        stale_after_s: f32 = 2.0, "s", Kind::number(0.5, 30.0),
            "Without a sample for this long the instrument falls silent, and 5 s later calls a \
            fault. A flight log of one sample in several seconds is not stale between them: three \
            usual intervals are allowed where that is longer.";
    }
}

/// The status of a sample.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Status {
    /// Used; the reading is good.
    Ok,
    /// Used; the reading is still settling (after the start or a gap); silent.
    Settling,
    /// Not used: the sensor repeats one value bit for bit, as no working sensor does; silent.
    Frozen,
    /// Used; it has no static pressure, so that the reading of the sample before stands. Its
    /// airspeed, probe pressure and temperature are used with the next static pressure.
    Partial,
    /// Held back: a lone spike, or the first sample of something new; the reading is the
    /// prediction.
    Suspect,
    /// Used; the source of total energy is missing, so pitch inputs show in the reading.
    NoCompensation,
    /// Used; the impact pressure shows that the tubes are swapped, blocked or off, or that the
    /// sensor was not zeroed.
    CheckTubes,
    /// Used; the height stands still while the airspeed changes as it would in sink or climb: the
    /// static line may be blocked, and then the reading is wrong.
    CheckStatic,
    /// Used; the inertial sensor is not used, because it is lost, shaken, mounted wrongly or
    /// contradicts the pressures, which sound alone.
    CheckInertial,
    /// Used; the first after a gap; the reading restarts.
    Gap,
    /// Used; the clock was set back; the reading restarts.
    ClockReset,
    /// Not used: the static pressure is not a number or outside the atmosphere.
    BadPressure,
    /// Not used: its time equals that of the sample before.
    RepeatedTime,
    /// Not used: its time is earlier than that of the sample before.
    TimeWentBack,
}

impl Status {
    /// Every status, in the order in which tables list them.
    pub const ALL: [Status; 14] = [
        Status::Ok,
        Status::Settling,
        Status::Partial,
        Status::Frozen,
        Status::Suspect,
        Status::NoCompensation,
        Status::CheckTubes,
        Status::CheckStatic,
        Status::CheckInertial,
        Status::Gap,
        Status::ClockReset,
        Status::BadPressure,
        Status::RepeatedTime,
        Status::TimeWentBack,
    ];

    /// A one-word name for tables and logs.
    pub fn name(self) -> &'static str {
        match self {
            Status::Ok => "ok",
            Status::Settling => "settling",
            Status::Partial => "partial",
            Status::Frozen => "frozen",
            Status::Suspect => "suspect",
            Status::NoCompensation => "no_compensation",
            Status::CheckTubes => "check_tubes",
            Status::CheckStatic => "check_static",
            Status::CheckInertial => "check_inertial",
            Status::Gap => "gap",
            Status::ClockReset => "clock_reset",
            Status::BadPressure => "bad_pressure",
            Status::RepeatedTime => "repeated_time",
            Status::TimeWentBack => "time_went_back",
        }
    }

    /// Whether the sample was used and the reading can be relied on, compensated or not.
    pub fn is_good(self) -> bool {
        matches!(
            self,
            Status::Ok
                | Status::NoCompensation
                | Status::CheckTubes
                | Status::CheckStatic
                | Status::CheckInertial
        )
    }

    /// What it means for the health of the instrument; `None` for what leaves it as it was.
    pub(crate) fn health(self) -> Option<Health> {
        Some(match self {
            Status::Ok
            | Status::NoCompensation
            | Status::CheckTubes
            | Status::CheckStatic
            | Status::CheckInertial => Health::Good,
            Status::Partial => return None,
            Status::Settling | Status::Gap | Status::ClockReset => Health::Unknown,
            Status::Frozen
            | Status::Suspect
            | Status::BadPressure
            | Status::RepeatedTime
            | Status::TimeWentBack => Health::Bad,
        })
    }

    /// Whether the sample was used.
    pub fn is_used(self) -> bool {
        !matches!(
            self,
            Status::Frozen | Status::BadPressure | Status::RepeatedTime | Status::TimeWentBack
        )
    }
}

/// The instrument's result for one sample.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reading {
    /// The sample's own time stamp.
    pub time: Micros,
    /// What became of the sample.
    pub status: Status,
    /// Time since the last sample used that had a static pressure; zero where this sample was not
    /// used or had none, or everything restarted.
    pub elapsed: Micros,
    /// The source of total energy in use.
    pub source: EnergySource,
    /// The figures, where the sample was used and had a static pressure.
    pub values: Option<Values>,
}

/// The figures of a reading.
///
/// Vertical speeds are in the standard atmosphere's metres, or true metres where the settings say
/// so and the air temperature is known; netto and what is derived from it are always true.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Values {
    /// Pressure altitude of the standard atmosphere, not filtered.
    pub altitude: Metre,
    /// Altimeter height with the subscale as set, not filtered: the sensor's own, steps and all.
    pub altimeter: Metre,
    /// True airspeed, where any airspeed is known.
    pub true_airspeed: Option<MetrePerSecond>,
    /// Rate of change of the altitude, filtered, not compensated; beside a compensated reading, by
    /// a fixed filter of the set response time.
    pub vertical_speed: MetrePerSecond,
    /// Rate of change of the energy height, filtered; `None` without a source of total energy.
    pub te_vertical_speed: Option<MetrePerSecond>,
    /// The filter's estimate of the standard deviation of the error of the sounding vertical speed.
    pub deviation: MetrePerSecond,
    /// What the inertial sensor says; `None` where there is none, no total energy, or the settings
    /// turn it off.
    pub inertial: Option<Aided>,
    /// Mean of the sounding vertical speed over the set time; `None` in the first 2 s.
    pub average: Option<MetrePerSecond>,
    /// The climb since it began; `None` outside climbs.
    pub climb: Option<Climb>,
    /// Figures from the polar; `None` without a polar, without total energy, or below flying speed.
    pub netto: Option<Netto>,
    /// The current sound.
    pub sound: Sound,
}

/// Figures from the polar, a compensated vertical speed and an airspeed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Netto {
    /// The air's own vertical speed: the compensated reading and the glider's own sink.
    pub air: MetrePerSecond,
    /// Climb rate if the glider circled here: that of the air less the sink in a turn at the set
    /// bank.
    pub relative: MetrePerSecond,
    /// Speed to fly (equivalent airspeed) for the expected climb, in this air.
    pub speed_to_fly: MetrePerSecond,
    /// Present equivalent airspeed.
    pub equivalent_airspeed: MetrePerSecond,
}

impl Netto {
    /// Airspeed less the speed to fly; negative is too slow.
    pub(crate) fn too_fast(&self) -> MetrePerSecond {
        MetrePerSecond(self.equivalent_airspeed.0 - self.speed_to_fly.0)
    }
}

impl VerticalScale {
    /// Its metres in one of the standard atmosphere.
    pub(crate) fn of(self, air: &AirData) -> f32 {
        match self {
            Self::Standard => 1.0,
            Self::Corrected => air.temperature_ratio,
        }
    }
}

impl Values {
    /// The vertical speed that sounds: compensated where there is a source of total energy.
    pub fn sounded(&self) -> MetrePerSecond {
        self.te_vertical_speed.unwrap_or(self.vertical_speed)
    }
}
