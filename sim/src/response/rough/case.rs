//! The cases: the air, what the pilot does, and the sensors.

use super::rise::Rise;

/// A flight through rough air, or through still air beside it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Case {
    /// What it is called, one word in the JSON.
    pub name: &'static str,
    /// What it is called in the table.
    pub title: &'static str,
    /// What the pilot does.
    pub plan: Plan,
    /// The gusts; none in still air.
    pub gusts: Option<Gusts>,
    /// A rise of the whole air on top.
    pub rise: Rise,
    /// Its sensors.
    pub sensors: Sensors,
    /// Keys of its inertial sensor, as in a scenario.
    pub inertial: &'static str,
    /// How long it is, s.
    pub lasts_s: f64,
}

/// What the pilot does.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
pub enum Plan {
    /// Glides straight on.
    Glide,
    /// Glides straight on, pushes over and pulls up.
    PullUps,
    /// Glides, pushes over and pulls up, circles in a thermal, and on to the next.
    Thermals,
    /// Circles in a thermal for half a minute, then glides straight on for a minute, in turn.
    Leaves,
    /// Circles all the time, 18 s a turn.
    Circles,
}

/// Turbulence of the Dryden spectrum.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Gusts {
    /// Along and across, m/s rms.
    pub level_mps: f64,
    /// Up and down, m/s rms.
    pub up_mps: f64,
    /// Scale length, m.
    pub scale_m: f64,
}

/// Sensors with white noise.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sensors {
    /// Samples a second.
    pub rate_hz: f64,
    /// Noise of the static pressure, as a height, m rms.
    pub static_m: f64,
    /// Noise of the dynamic pressure, Pa rms.
    pub dynamic_pa: f64,
    /// Of each so many samples, so many in a row are lost.
    pub lost: (usize, usize),
}

impl Sensors {
    /// Whether an inertial sensor and a satellite receiver are beside them: not in slow logs.
    pub fn has_inertial(&self) -> bool {
        self.rate_hz >= 20.0
    }
}

/// How long a flight is, in s: forty seconds to settle, and ten minutes that count.
pub const LASTS_S: f64 = 640.0;
/// Of the common grade, 1.5 degrees askew.
const ASKEW: &str = "mounted_deg = [1, -1, 0.5]";

/// 50 Hz, 0.1 m and 1 Pa.
const USUAL: Sensors = Sensors { rate_hz: 50.0, static_m: 0.1, dynamic_pa: 1.0, lost: (1, 0) };
/// Of a slow log, with less noise.
const fn slow(rate_hz: f64) -> Sensors {
    Sensors { rate_hz, static_m: 0.03, ..USUAL }
}

const fn gusts(level_mps: f64, up_mps: f64, scale_m: f64) -> Option<Gusts> {
    Some(Gusts { level_mps, up_mps, scale_m })
}

/// Thermals of one strength, met straight on every 40 s.
const fn entries(climb_mps: f64) -> Rise {
    Rise::Entries { climb_mps, every_s: 40.0 }
}

/// Gliding straight on through still air.
const STILL: Case = Case {
    name: "still",
    title: "still air",
    plan: Plan::Glide,
    gusts: None,
    rise: Rise::None,
    sensors: USUAL,
    inertial: ASKEW,
    lasts_s: LASTS_S,
};

/// Every case, in the order of the table.
pub const CASES: [Case; 18] = [
    STILL,
    Case { name: "pull_ups", title: "still air, pull-ups", plan: Plan::PullUps, ..STILL },
    Case {
        name: "gusts_025",
        title: "straight, gusts of 0.25 m/s, 150 m",
        gusts: gusts(0.25, 0.0, 150.0),
        ..STILL
    },
    GUSTS_05,
    Case {
        name: "gusts_05_10_hz",
        title: "the same at 10 Hz",
        sensors: Sensors { rate_hz: 10.0, ..USUAL },
        ..GUSTS_05
    },
    Case {
        name: "gusts_05_uneven",
        title: "the same, 6 of each 16 samples lost in a row",
        sensors: Sensors { lost: (16, 6), ..USUAL },
        ..GUSTS_05
    },
    Case {
        name: "gusts_1",
        title: "straight, gusts of 1 m/s, 500 m",
        gusts: gusts(1.0, 0.0, 500.0),
        ..STILL
    },
    THERMALS_GUSTS,
    THERMALS,
    Case {
        name: "thermals_4_hz",
        title: "the same without gusts, 4 Hz, 0.03 m",
        sensors: slow(4.0),
        ..THERMALS
    },
    Case {
        name: "thermals_1_hz",
        title: "the same without gusts, 1 Hz, 0.03 m",
        sensors: slow(1.0),
        ..THERMALS
    },
    Case { name: "entry_1", title: "entries of 1 m/s in still air", rise: entries(1.0), ..STILL },
    Case { name: "entry_2", title: "entries of 2 m/s in still air", rise: entries(2.0), ..STILL },
    Case {
        name: "entry_1_gusts",
        title: "entries of 1 m/s, gusts of 0.5 m/s, turbulence 0.15 m/s",
        rise: entries(1.0),
        gusts: gusts(0.5, 0.15, 150.0),
        ..STILL
    },
    ENTRY_2_GUSTS,
    Case {
        name: "entry_1_rare",
        title: "the same of 1 m/s, after two minutes of gliding",
        rise: Rise::Entries { climb_mps: 1.0, every_s: 130.0 },
        ..ENTRY_2_GUSTS
    },
    Case {
        name: "after_thermal",
        title: "the minute after a thermal, gusts of 0.5 m/s",
        plan: Plan::Leaves,
        gusts: gusts(0.5, 0.0, 150.0),
        ..STILL
    },
    Case {
        name: "circles",
        title: "circles of 18 s, lift swings by 3 m/s either way",
        plan: Plan::Circles,
        rise: Rise::Wave { mean_mps: 3.0, swing_mps: 3.0, period_s: 18.0 },
        ..STILL
    },
];

/// Cases that only an instrument with an inertial sensor is asked for.
pub const INERTIAL_CASES: [Case; 5] = [
    Case {
        name: "inertial_askew",
        title: "the thermals with gusts, mounted 6 degrees askew",
        inertial: "mounted_deg = [4, -4, 2]",
        ..THERMALS_GUSTS
    },
    Case {
        name: "inertial_lever",
        title: "the same, 1.5 m ahead of the centre of mass",
        inertial: "mounted_deg = [1, -1, 0.5]\nlever_m = [1.5, 0, 0]",
        ..THERMALS_GUSTS
    },
    Case {
        name: "inertial_doubled",
        title: "the same, the sensor's errors doubled",
        inertial: "mounted_deg = [1, -1, 0.5]\nerrors = 2",
        ..THERMALS_GUSTS
    },
    Case {
        name: "circles_gusts",
        title: "the same circles, gusts of 0.5 m/s, turbulence 0.3 m/s",
        plan: Plan::Circles,
        gusts: gusts(0.5, 0.3, 150.0),
        rise: Rise::Wave { mean_mps: 3.0, swing_mps: 3.0, period_s: 18.0 },
        ..STILL
    },
    Case {
        name: "circles_long",
        title: "the same for 25 minutes, lift swings by 1 m/s",
        plan: Plan::Circles,
        gusts: gusts(0.5, 0.3, 150.0),
        rise: Rise::Wave { mean_mps: 1.5, swing_mps: 1.0, period_s: 18.0 },
        lasts_s: 40.0 + 1500.0,
        ..STILL
    },
];

/// Thermals and the stick in gusts.
const THERMALS_GUSTS: Case = Case {
    name: "thermals_gusts",
    title: "thermals, stick, gusts of 0.5 m/s, turbulence 0.3 m/s",
    plan: Plan::Thermals,
    gusts: gusts(0.5, 0.3, 150.0),
    ..STILL
};

/// The straight flight of the picture and of the trade-off.
pub const GUSTS_05: Case = Case {
    name: "gusts_05",
    title: "straight, gusts of 0.5 m/s, 150 m",
    gusts: gusts(0.5, 0.0, 150.0),
    ..STILL
};

/// The entries of the trade-off.
pub const ENTRY_2_GUSTS: Case = Case {
    name: "entry_2_gusts",
    title: "entries of 2 m/s, gusts of 0.5 m/s, turbulence 0.15 m/s",
    rise: entries(2.0),
    gusts: gusts(0.5, 0.15, 150.0),
    ..STILL
};

const THERMALS: Case =
    Case { name: "thermals", title: "the same without gusts", plan: Plan::Thermals, ..STILL };
