//! The trace of a flight: the sensor values, and the true values beside them.
//!
//! | column | meaning |
//! |---|---|
//! | `time_s`, `static_pa`, `dynamic_pa`, `te_pa`, `oat_c` | as `replay` reads them; the last |
//! | | three where the scenario has the sensor |
//! | `accel_x_mps2` to `gyro_deviation_radps` | what the inertial sensor has felt since the row |
//! | | before, as `replay` reads it; where the scenario has one |
//! | `gnss_vn_mps` to `gnss_vd_mps`, `gnss_age_s` | the velocity that the satellite receiver has |
//! | | given since the row before; where the scenario has one |
//! | `lat_deg`, `lon_deg`, `gnss_alt_m` | the position that the satellite receiver has given since |
//! | | the row before; where the scenario has one |
//! | `truth_air_mps` | vertical speed of the air at the glider, now, with turbulence |
//! | `truth_vertical_mps` | vertical speed of the glider over the ground, now |
//! | `truth_climb_mps` | rate of the glider's energy per weight, height + v^2 / (2 g), v its |
//! | | velocity relative to the mean air mass: the mean since the row before; empty in the |
//! | | first |
//! | `truth_altitude_m` | height above the sea, geopotential metres |
//! | `truth_phase` | the leg's word |
//! | `truth_roll_rad`, `truth_pitch_rad` | bank to the right, nose up; beside an inertial sensor |
//!
//! The mean air mass is the smooth wind at that place, without turbulence and without what rises: a
//! gust changes the airspeed at once, but is no climb. Summed over the rows the climb is the
//! gain of energy height to the last digit.

use super::request::Request;
use crate::error::{Error, Result};
use crate::output::place::Placed;
use crate::output::sizes::MOST_UNASKED;
use crate::time::Seconds;
use crate::words::shown;
use chirrup_core::Micros;
use chirrup_flight::physics::moment::Moment;
use chirrup_flight::sensors::Sensed;
use chirrup_flight::sensors::inertial_settings::GnssSettings;
use chirrup_flight::sensors::settings::ChannelSettings;
use std::fmt::{self, Write as _};
use std::io::Write as _;
use std::path::{Path, PathBuf};

/// Decimals of a pressure whose sensor has no steps: a tenth of a millimetre of height is 1e-3 Pa.
const FINE: usize = 4;
/// Decimals of forces in m/s2 and turn rates in rad/s: finer than the steps of any sensor.
const MOTION_DECIMALS: usize = 5;
/// Decimals of degrees: a centimetre.
const DEGREE_DECIMALS: usize = 7;
const INERTIAL: &str = ",accel_x_mps2,accel_y_mps2,accel_z_mps2,gyro_x_radps,gyro_y_radps,\
                        gyro_z_radps,accel_largest_mps2,accel_deviation_mps2,\
                        gyro_largest_radps,gyro_deviation_radps";
const GNSS: &str = ",gnss_vn_mps,gnss_ve_mps,gnss_vd_mps";
const GNSS_AGE: &str = ",gnss_age_s";
const POSITION: &str = ",lat_deg,lon_deg,gnss_alt_m";
const ATTITUDE: &str = ",truth_roll_rad,truth_pitch_rad";
const TRUTH: &str =
    ",truth_air_mps,truth_vertical_mps,truth_climb_mps,truth_altitude_m,truth_phase";

/// A trace being made.
pub struct Table {
    file: Placed,
    line: String,
    decimals: [usize; 3],
    has_inertial: bool,
    gnss: Option<GnssSettings>,
    has_positions: bool,
    truth: bool,
    before: Option<(f64, f64)>,
    bytes: u64,
    may_be_large: bool,
}

impl Table {
    /// Begins the file with its header.
    ///
    /// # Errors
    /// When the folder is missing or cannot be written.
    pub fn create(path: &Path, request: &Request) -> Result<Self> {
        let sensors = &request.scenario.sensors;
        let optional = [
            (sensors.dynamic.is_some(), ",dynamic_pa"),
            (sensors.probe.is_some(), ",te_pa"),
            (sensors.thermometer.is_some(), ",oat_c"),
        ];
        let gnss = sensors.gnss.as_ref();
        let motion = [
            (sensors.inertial.is_some(), INERTIAL),
            (gnss.is_some(), GNSS),
            (gnss.is_some_and(|gnss| gnss.says_age), GNSS_AGE),
            (sensors.positions.is_some(), POSITION),
            (request.truth, TRUTH),
            (request.truth && sensors.inertial.is_some(), ATTITUDE),
        ];
        let columns: String = optional
            .iter()
            .chain(&motion)
            .filter(|(there, _)| *there)
            .map(|(_, name)| *name)
            .collect();
        let decimals =
            [Some(&sensors.static_port), sensors.dynamic.as_ref(), sensors.probe.as_ref()]
                .map(decimals);
        let Request { file, seed, truth: has_truth, .. } = request;
        let mut table = Self {
            file: Placed::create(path)?,
            line: String::new(),
            decimals,
            has_inertial: sensors.inertial.is_some(),
            gnss: sensors.gnss.clone(),
            has_positions: sensors.positions.is_some(),
            truth: *has_truth,
            before: None,
            bytes: 0,
            may_be_large: request.may_be_large || path == Path::new("-"),
        };
        let name = &request.scenario.name;
        table.say(&format!(
            "# {}: made by chirrup fly from the scenario {}, seed {seed}. \
             Glider, place and day are invented.\n\
             time_s,static_pa{columns}\n",
            shown(name),
            shown(&Path::new(file).file_name().map_or(file.into(), |name| name.to_string_lossy()))
        ))?;
        Ok(table)
    }

    /// Writes a row.
    ///
    /// # Errors
    /// When it cannot be written.
    pub fn row(&mut self, sensed: &Sensed, moment: &Moment<'_>) -> Result<()> {
        let mut line = std::mem::take(&mut self.line);
        line.clear();
        // Writing to a string cannot fail.
        let _ = self.write_row(&mut line, sensed, moment);
        self.before = Some((moment.time_s, moment.energy_height_m()));
        let said = self.say(&line);
        self.line = line;
        said
    }

    /// Puts the file in its place.
    ///
    /// # Errors
    /// When it cannot be completed; nothing is then under its name.
    pub fn finish(self) -> Result<Option<PathBuf>> {
        self.file.finish()
    }

    fn write_row(&self, line: &mut String, sensed: &Sensed, moment: &Moment<'_>) -> fmt::Result {
        let [static_decimals, dynamic_decimals, te_decimals] = self.decimals;
        write!(
            line,
            "{},{}",
            Seconds(Micros(sensed.stamp_us)),
            Decimal(sensed.static_pa, static_decimals)
        )?;
        let optional =
            [(sensed.dynamic_pa, dynamic_decimals), (sensed.te_pa, te_decimals), (sensed.oat_c, 2)];
        for (value, decimals) in
            optional.into_iter().filter_map(|(value, decimals)| Some((value?, decimals)))
        {
            write!(line, ",{}", Decimal(value, decimals))?;
        }
        self.write_motion(line, sensed)?;
        if self.has_positions {
            let degrees = sensed.fix.map(|fix| [fix.latitude_deg, fix.longitude_deg]);
            write_cells(line, degrees, DEGREE_DECIMALS)?;
            write_cells(line, sensed.fix.map(|fix| [fix.altitude_m]), 1)?;
        }
        if self.truth {
            self.write_truth(line, moment)?;
        }
        line.push('\n');
        Ok(())
    }

    /// Empty cells where there is nothing new.
    fn write_motion(&self, line: &mut String, sensed: &Sensed) -> fmt::Result {
        if self.has_inertial {
            let values = sensed.felt.map(|felt| {
                let [[fx, fy, fz], [wx, wy, wz]] = [felt.force_mps2, felt.turn_rps];
                let [largest, deviation] = felt.force_spread_mps2;
                let [fastest, spread] = felt.turn_spread_rps;
                [fx, fy, fz, wx, wy, wz, largest, deviation, fastest, spread]
            });
            write_cells(line, values, MOTION_DECIMALS)?;
        }
        let Some(gnss) = &self.gnss else { return Ok(()) };
        let over_ground = sensed.over_ground;
        write_cells(line, over_ground.map(|it| it.north_east_down_mps), 3)?;
        if gnss.says_age {
            write_cells(line, over_ground.and_then(|it| Some([it.age_s?])), 3)?;
        }
        Ok(())
    }

    fn write_truth(&self, line: &mut String, moment: &Moment<'_>) -> fmt::Result {
        write!(line, ",{},{},", Decimal(moment.air.up, 3), Decimal(moment.velocity.up, 3))?;
        if let Some((time_s, energy_m)) = self.before {
            write!(
                line,
                "{}",
                Decimal((moment.energy_height_m() - energy_m) / (moment.time_s - time_s), 3)
            )?;
        }
        write!(line, ",{},{}", Decimal(moment.place.up, 2), moment.phase)?;
        if self.has_inertial {
            let attitude = &moment.attitude;
            write_cells(line, Some([attitude.roll_rad(), attitude.pitch_rad()]), 4)?;
        }
        Ok(())
    }

    fn say(&mut self, text: &str) -> Result<()> {
        self.bytes += text.len() as u64;
        if self.bytes > MOST_UNASKED && !self.may_be_large {
            return Err(Error::Usage(
                "the trace is more than 1 GB; --yes writes it all, or fly it with a lower \
                 --sensor-rate"
                    .into(),
            ));
        }
        let written = self.file.write_all(text.as_bytes());
        written.map_err(|source| Error::io("cannot write", self.file.path(), source))
    }
}

/// The values in cells of their own, or as many empty ones.
fn write_cells<const N: usize>(
    line: &mut String,
    values: Option<[f64; N]>,
    decimals: usize,
) -> fmt::Result {
    let Some(values) = values else {
        line.extend([','; N]);
        return Ok(());
    };
    values.iter().try_for_each(|value| write!(line, ",{}", Decimal(*value, decimals)))
}

/// As many decimals as the sensor's steps have.
fn decimals(channel: Option<&ChannelSettings>) -> usize {
    let step = channel.map_or(0.0, |channel| channel.step_pa);
    let is_whole = |decimals: &usize| {
        let scaled = step * libm::exp10(*decimals as f64);
        (scaled - libm::round(scaled)).abs() < 1e-9
    };
    if step > 0.0 { (0..FINE).find(is_whole).unwrap_or(FINE) } else { FINE }
}

/// A number with a fixed number of decimals, rounded half away from zero, zero without a sign.
/// Computed in integers, which is several times as fast as std and matters for an hour at 50 Hz.
struct Decimal(f64, usize);

impl fmt::Display for Decimal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        const SCALES: [f64; 8] = [1.0, 10.0, 100.0, 1e3, 1e4, 1e5, 1e6, 1e7];
        let Self(value, decimals) = *self;
        let scale = SCALES[decimals];
        let scaled = libm::round(value * scale) as i64;
        if scaled < 0 {
            f.write_str("-")?;
        }
        let (whole, rest) =
            (scaled.unsigned_abs() / scale as u64, scaled.unsigned_abs() % scale as u64);
        if decimals == 0 { write!(f, "{whole}") } else { write!(f, "{whole}.{rest:0decimals$}") }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use chirrup_flight::plan::{builtin, check};

    #[test]
    fn numbers_have_their_decimals_and_zero_has_no_sign() {
        for (value, decimals, text) in [
            (101_325.0, 4, "101325.0000"),
            (-0.0004, 3, "0.000"),
            (-0.05, 2, "-0.05"),
            (-1.9996, 3, "-2.000"),
            (2.5, 0, "3"),
        ] {
            assert_eq!(Decimal(value, decimals).to_string(), text);
        }
    }

    #[test]
    fn a_pressure_has_the_decimals_of_its_sensors_steps() {
        let of =
            |step_pa| decimals(Some(&ChannelSettings { step_pa, ..ChannelSettings::default() }));
        assert_eq!([of(0.0), of(1.0), of(0.1), of(0.25), of(0.3333)], [4, 0, 1, 2, 4]);
    }

    #[test]
    fn a_trace_above_a_gigabyte_is_asked_for_first_and_leaves_nothing() {
        let folder = tempfile::tempdir().expect("there is room");
        let text = builtin::find("pull-ups").expect("it is built in").text.to_owned();
        let (scenario, glider) = check::read("pull-ups", &text).expect("it is good");
        let output = folder.path().join("trace.csv");
        let (file, truth, may_be_large) = ("pull-ups".into(), true, false);
        let request =
            Request { file, text, scenario, glider, seed: 1, truth, output, may_be_large };
        for may_be_large in [false, true] {
            let request = Request { may_be_large, ..request.clone() };
            let mut table = Table::create(&request.output, &request).expect("the folder is ours");
            table.bytes = MOST_UNASKED;
            assert_eq!(table.say("one more").is_ok(), may_be_large);
        }
        assert_eq!(std::fs::read_dir(folder.path()).expect("it is there").count(), 0);
    }
}
