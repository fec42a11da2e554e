//! A scenario as a person writes it: the glider, the day, the air, the pilot's plan and the
//! sensors, with units in the names.
//!
//! Plain data, read by serde; [`super::check`] says what is wrong with it.

use serde::Deserialize;

/// A flight to be made.
#[derive(Clone, Debug, Deserialize, PartialEq)]
#[serde(deny_unknown_fields)]
pub struct Scenario {
    /// What the flight is called.
    pub name: String,
    /// What it shows, in a line or two.
    pub about: String,
    /// Seeds everything random. Default 1.
    #[serde(default = "one")]
    pub seed: u64,
    /// The glider.
    pub glider: GliderSettings,
    /// Where and how it starts.
    #[serde(default)]
    pub start: StartSettings,
    /// The air at rest.
    #[serde(default)]
    pub day: DaySettings,
    /// The wind.
    #[serde(default)]
    pub wind: WindSettings,
    /// Turbulence; none where the table is absent.
    pub turbulence: Option<TurbulenceSettings>,
    /// Thermals.
    #[serde(default)]
    pub thermal: Vec<ThermalSettings>,
    /// Streets of lift.
    #[serde(default)]
    pub street: Vec<StreetSettings>,
    /// A ridge.
    pub ridge: Option<RidgeSettings>,
    /// A lee wave.
    pub wave: Option<WaveSettings>,
    /// What the pilot does, in this order.
    pub leg: Vec<Leg>,
    /// What senses it.
    #[serde(default)]
    pub sensors: SensorSettings,
    /// What goes wrong with the sensors.
    #[serde(default)]
    pub fault: Vec<FaultSettings>,
}

fn one() -> u64 {
    1
}

/// The glider, in the keys of the instrument's own `[polar]`.
#[derive(Clone, Debug, Deserialize, PartialEq)]
#[serde(deny_unknown_fields, expecting = "a table such as [glider]")]
pub struct GliderSettings {
    /// What it is called.
    pub name: String,
    /// Equivalent airspeed at the first point of the polar, m/s. 10 to 80.
    pub speed_1_mps: f64,
    /// Sink there, positive, m/s. 0.2 to 10.
    pub sink_1_mps: f64,
    /// Speed at the second point, above the first.
    pub speed_2_mps: f64,
    /// Sink there.
    pub sink_2_mps: f64,
    /// Speed at the third point, above the second.
    pub speed_3_mps: f64,
    /// Sink there.
    pub sink_3_mps: f64,
    /// Mass at which the points were measured, kg. 100 to 1000.
    pub reference_mass_kg: f64,
    /// Water and lead beyond that, kg. -300 to 500, default 0.
    #[serde(default)]
    pub ballast_kg: f64,
    /// How much more drag dirty wings have, in percent. 0 to 50, default 0.
    #[serde(default)]
    pub contamination_percent: f64,
    /// Equivalent airspeed of the stall at the reference mass, m/s. 8 to 40.
    pub stall_mps: f64,
    /// Glide ratio with full airbrakes at the second speed. 3 to 20, default 6.
    #[serde(default = "six")]
    pub airbrake_glide_ratio: f64,
    /// No drag at all: no glider, but the plainest check of a compensation. Default false.
    #[serde(default)]
    pub frictionless: bool,
}

fn six() -> f64 {
    6.0
}

impl GliderSettings {
    /// The three points: speed and sink.
    pub fn points(&self) -> [(f64, f64); 3] {
        [
            (self.speed_1_mps, self.sink_1_mps),
            (self.speed_2_mps, self.sink_2_mps),
            (self.speed_3_mps, self.sink_3_mps),
        ]
    }

    /// Today's mass in kg.
    pub fn mass_kg(&self) -> f64 {
        self.reference_mass_kg + self.ballast_kg
    }
}

/// Where and how the flight starts.
#[derive(Clone, Debug, Deserialize, PartialEq)]
#[serde(default, deny_unknown_fields, expecting = "a table such as [start]")]
pub struct StartSettings {
    /// Height above the sea in m, at least the ground's. Default the ground's: at rest on it.
    pub height_m: Option<f64>,
    /// Height of the ground above the sea in m. -400 to 5000, default 0.
    pub ground_m: f64,
    /// Equivalent airspeed of a start in the air, m/s. 10 to 80, default 28.
    pub speed_mps: f64,
    /// Heading, degrees clockwise from north. 0 to 360, default 0.
    pub heading_deg: f64,
    /// Place east of the origin, m.
    pub east_m: f64,
    /// Place north of the origin, m.
    pub north_m: f64,
}

impl Default for StartSettings {
    fn default() -> Self {
        Self {
            height_m: None,
            ground_m: 0.0,
            speed_mps: 28.0,
            heading_deg: 0.0,
            east_m: 0.0,
            north_m: 0.0,
        }
    }
}

/// The air at rest.
#[derive(Clone, Debug, Deserialize, PartialEq)]
#[serde(default, deny_unknown_fields, expecting = "a table such as [day]")]
pub struct DaySettings {
    /// Pressure at the sea, hPa. 900 to 1080, default 1013.25.
    pub sea_level_hpa: f64,
    /// Temperature at the sea, degrees Celsius; 6.5 K less for every kilometre up. -40 to 50,
    /// default 15.
    pub sea_level_c: f64,
}

impl Default for DaySettings {
    fn default() -> Self {
        Self { sea_level_hpa: 1013.25, sea_level_c: 15.0 }
    }
}

/// The wind.
#[derive(Clone, Debug, Deserialize, PartialEq)]
#[serde(default, deny_unknown_fields, expecting = "a table such as [wind]")]
pub struct WindSettings {
    /// Where it comes from, degrees clockwise from north. 0 to 360.
    pub from_deg: f64,
    /// Its speed 300 m above the ground, m/s; less below, by the logarithmic law. 0 to 40, default
    /// 0.
    pub speed_mps: f64,
    /// How much it grows with every kilometre above that, m/s. -10 to 10, default 0.
    pub shear_mps_per_km: f64,
    /// Roughness of the ground, m. 0.001 to 2, default 0.05: fields.
    pub roughness_m: f64,
}

impl Default for WindSettings {
    fn default() -> Self {
        Self { from_deg: 270.0, speed_mps: 0.0, shear_mps_per_km: 0.0, roughness_m: 0.05 }
    }
}

/// Continuous turbulence of the Dryden spectrum.
#[derive(Clone, Debug, Deserialize, PartialEq)]
#[serde(deny_unknown_fields, expecting = "a table such as [turbulence]")]
pub struct TurbulenceSettings {
    /// Each component at 2000 ft above the ground and higher, m/s rms. 0 to 5.
    pub rms_mps: f64,
    /// The vertical component at 1000 ft and lower, m/s rms. 0 to 5, default a tenth of the wind at
    /// 20 ft.
    pub low_rms_mps: Option<f64>,
}

/// A thermal: a bell of rise with a ring of sink about it.
#[derive(Clone, Debug, Deserialize, PartialEq)]
#[serde(deny_unknown_fields, expecting = "a table such as [[thermal]]")]
pub struct ThermalSettings {
    /// What legs call it.
    pub name: String,
    /// Where it stands at time zero, m east; it drifts with the wind at 300 m.
    pub east_m: f64,
    /// Where it stands, m north.
    pub north_m: f64,
    /// Rise of its core where it is strongest, m/s. 0 to 15.
    pub strength_mps: f64,
    /// Distance from its core at which rise turns to sink, m. 20 to 2000.
    pub radius_m: f64,
    /// Height above the sea at which it ends, m.
    pub top_m: f64,
}

/// A street of lift: a band of rise with sink on both sides.
#[derive(Clone, Debug, Deserialize, PartialEq)]
#[serde(deny_unknown_fields, expecting = "a table such as [[street]]")]
pub struct StreetSettings {
    /// A point of its middle at time zero, m east; it drifts with the wind at 300 m.
    pub east_m: f64,
    /// The same, m north.
    pub north_m: f64,
    /// Which way it runs, degrees clockwise from north. 0 to 360.
    pub course_deg: f64,
    /// Mean rise of its middle where it is strongest, m/s. 0 to 15.
    pub strength_mps: f64,
    /// Distance from its middle at which rise turns to sink, m. 20 to 3000.
    pub half_width_m: f64,
    /// By how much of the mean its rise swells and fades along it, 0 to 1. Default 0.5.
    #[serde(default = "half")]
    pub swell: f64,
    /// From one swell to the next, m. 200 to 20000.
    pub spacing_m: f64,
    /// Height above the sea at which it ends, m.
    pub top_m: f64,
}

fn half() -> f64 {
    0.5
}

/// A long straight ridge across the wind.
#[derive(Clone, Debug, Deserialize, PartialEq)]
#[serde(deny_unknown_fields, expecting = "a table such as [ridge]")]
pub struct RidgeSettings {
    /// A point of its crest line, m east.
    pub east_m: f64,
    /// The same, m north.
    pub north_m: f64,
    /// Which way it runs, degrees clockwise from north. 0 to 360.
    pub course_deg: f64,
    /// How high it stands above the ground, m. 20 to 2000.
    pub height_m: f64,
}

/// A standing lee wave.
#[derive(Clone, Debug, Deserialize, PartialEq)]
#[serde(deny_unknown_fields, expecting = "a table such as [wave]")]
pub struct WaveSettings {
    /// A point where the air rises fastest, m east. The wave's fronts lie across the wind.
    pub east_m: f64,
    /// The same, m north.
    pub north_m: f64,
    /// Greatest rise, m/s. 0 to 15.
    pub strength_mps: f64,
    /// From crest to crest, m. 1000 to 50000.
    pub length_m: f64,
    /// Height above the sea at which it begins, m.
    pub base_m: f64,
    /// Height at which it ends, m; it is strongest half-way.
    pub top_m: f64,
}

/// How a leg is flown.
#[derive(Clone, Copy, Debug, Default, Deserialize, Eq, PartialEq)]
#[serde(rename_all = "lowercase")]
pub enum How {
    /// By the stick.
    #[default]
    Fly,
    /// At rest on the ground.
    Wait,
    /// On the winch's cable.
    Winch,
    /// Behind a tug.
    Aerotow,
    /// In a spin.
    Spin,
    /// A loop.
    Loop,
    /// An approach down to a stop on the ground.
    Land,
}

/// A part of the flight.
#[derive(Clone, Debug, Deserialize, PartialEq)]
#[serde(deny_unknown_fields, expecting = "a table such as [[leg]]")]
pub struct Leg {
    /// One word for `truth_phase`.
    pub phase: String,
    /// How it is flown. Default `fly`.
    #[serde(default)]
    pub how: How,
    /// It ends after so long, s. 0.1 to 36000.
    pub for_s: Option<f64>,
    /// It ends when this height above the sea is passed, up or down, m.
    pub until_height_m: Option<f64>,
    /// Equivalent airspeed to fly, m/s; that of the leg before where absent. 10 to 80.
    pub speed_mps: Option<f64>,
    /// At most so much of acceleration along the path, m/s2. 0.1 to 9, default 1.
    #[serde(default = "one_mps2")]
    pub acceleration_mps2: f64,
    /// The pilot's greatest load factor in pull-ups, on top of the turn's. 1.05 to 6, default 1.5.
    #[serde(default = "gentle_pull")]
    pub most_load: f64,
    /// The pilot's least load factor in push-overs. -2 to 0.95, default 0.5.
    #[serde(default = "gentle_push")]
    pub least_load: f64,
    /// Bank, degrees, to the right where positive. -75 to 75, default 0.
    #[serde(default)]
    pub bank_deg: f64,
    /// It ends after a turn through this angle, degrees. 1 to 3600.
    pub turn_deg: Option<f64>,
    /// Steers to this heading, degrees clockwise from north. 0 to 360.
    pub heading_deg: Option<f64>,
    /// Steers to this place against the drift, m east and m north, and ends there.
    pub towards_m: Option<[f64; 2]>,
    /// Flies to and fro between these places against the drift, each m east and m north, until the
    /// leg's other end.
    pub patrol_m: Option<Vec<[f64; 2]>>,
    /// Flies to the thermal of this name and circles in it.
    pub circle: Option<String>,
    /// So far to the north of its core, m. -1000 to 1000, default 0.
    #[serde(default)]
    pub off_centre_m: f64,
    /// How far the airbrakes are out, percent. 0 to 100, default 0.
    #[serde(default)]
    pub airbrake_percent: f64,
    /// Aerotow: how fast the tug climbs, m/s. 0 to 8, default 2.
    #[serde(default = "two")]
    pub climb_mps: f64,
    /// Winch: length of the cable laid out, m. 300 to 3000, default 1000.
    #[serde(default = "thousand")]
    pub cable_m: f64,
    /// Winch: the steepest path, degrees above the horizon. 10 to 60, default 38.
    #[serde(default = "steep")]
    pub climb_deg: f64,
    /// Spin: equivalent airspeed at which its drag carries the weight, m/s. 15 to 50, default 26.
    /// Loop: see `most_load`.
    #[serde(default = "spinning")]
    pub spin_mps: f64,
    /// Spin: time for a turn, s. 1.5 to 10, default 3.5.
    #[serde(default = "spin_turn")]
    pub spin_turn_s: f64,
}

fn one_mps2() -> f64 {
    1.0
}

fn gentle_pull() -> f64 {
    1.5
}

fn gentle_push() -> f64 {
    0.5
}

fn two() -> f64 {
    2.0
}

fn thousand() -> f64 {
    1000.0
}

fn steep() -> f64 {
    38.0
}

fn spinning() -> f64 {
    26.0
}

fn spin_turn() -> f64 {
    3.5
}

/// What senses the flight.
#[derive(Clone, Debug, Deserialize, PartialEq)]
#[serde(default, deny_unknown_fields, expecting = "a table such as [sensors]")]
pub struct SensorSettings {
    /// Samples a second, taken on a grid of 5 ms. 0.1 to 200, default 20.
    pub rate_hz: f64,
    /// By how much the time stamps are wrong, ms rms. 0 to 50, default 0.
    pub jitter_ms: f64,
    /// The static port and its sensor.
    #[serde(rename = "static")]
    pub static_port: ChannelSettings,
    /// Pitot minus static, and its sensor; absent where the table is.
    pub dynamic: Option<ChannelSettings>,
    /// A total-energy probe and its sensor.
    pub probe: Option<ChannelSettings>,
    /// A thermometer.
    pub thermometer: Option<ThermometerSettings>,
}

impl Default for SensorSettings {
    fn default() -> Self {
        Self {
            rate_hz: 20.0,
            jitter_ms: 0.0,
            static_port: ChannelSettings::default(),
            dynamic: Some(ChannelSettings::default()),
            probe: None,
            thermometer: None,
        }
    }
}

/// A pressure line and the sensor at its end.
#[derive(Clone, Debug, Default, Deserialize, PartialEq)]
#[serde(default, deny_unknown_fields, expecting = "a table such as [sensors.static]")]
pub struct ChannelSettings {
    /// White noise of the sensor, Pa rms. 0 to 100.
    pub noise_pa: f64,
    /// Step of its output, Pa; 0 for none. 0 to 100.
    pub step_pa: f64,
    /// Its error when it is switched on, Pa. -1000 to 1000.
    pub warm_up_pa: f64,
    /// Time in which that error falls to 37 %, s. 1 to 10000, default 300 where there is one.
    pub warm_up_s: Option<f64>,
    /// Time constant of the tubing, s; the pitot's, for `dynamic`. 0 to 10.
    pub lag_s: f64,
    /// How late the sensor tells, s. 0 to 2.
    pub delay_s: f64,
    /// Static port: its error in units of the dynamic pressure. -0.2 to 0.2.
    pub position_error: f64,
    /// Probe: its pressure coefficient. -2 to 0, default -1.
    pub coefficient: Option<f64>,
}

/// A thermometer for the outside air.
#[derive(Clone, Debug, Default, Deserialize, PartialEq)]
#[serde(default, deny_unknown_fields, expecting = "a table such as [sensors.thermometer]")]
pub struct ThermometerSettings {
    /// White noise, K rms. 0 to 10.
    pub noise_k: f64,
    /// How far it reads too high, K. -20 to 20.
    pub error_k: f64,
    /// Its time constant, s. 0 to 300.
    pub lag_s: f64,
}

/// A line or sensor that a fault is about.
#[derive(Clone, Copy, Debug, Deserialize, Eq, PartialEq)]
#[serde(rename_all = "lowercase")]
pub enum Line {
    /// The static port's.
    Static,
    /// The pitot's.
    Dynamic,
    /// The probe's.
    Probe,
}

/// What can go wrong.
#[derive(Clone, Copy, Debug, Deserialize, Eq, PartialEq)]
#[serde(rename_all = "lowercase")]
pub enum FaultKind {
    /// The line is shut: its pressure stays.
    Blocked,
    /// Water in the line: its pressure follows sluggishly, by `lag_s`.
    Water,
    /// One sample is wrong by `size_pa`.
    Spike,
    /// No samples at all.
    Dropout,
}

/// Something that goes wrong.
#[derive(Clone, Debug, Deserialize, PartialEq)]
#[serde(deny_unknown_fields, expecting = "a table such as [[fault]]")]
pub struct FaultSettings {
    /// What it is.
    pub kind: FaultKind,
    /// Where it is; not for a dropout.
    pub line: Option<Line>,
    /// When it begins, s.
    pub from_s: f64,
    /// How long it lasts, s. Not for a spike.
    pub for_s: Option<f64>,
    /// Water: the line's time constant, s. 0.1 to 60, default 5.
    pub lag_s: Option<f64>,
    /// Spike: how large, Pa.
    pub size_pa: Option<f64>,
}
