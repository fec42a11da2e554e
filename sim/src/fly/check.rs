//! What is wrong with a scenario, in one line: the file, the line, the key, its value and what was
//! expected.

use super::glider::Glider;
use super::scenario::{ChannelSettings, FaultKind, How, Leg, Scenario};
use crate::error::{Error, Result};
use crate::settings_file::{line_at, one_line, position_of_key};
use std::fmt::Display;

/// What is shown after what the parser says.
const HELP: &str = "`chirrup fly pull-ups --show` prints a scenario to start from";

/// Reads and checks the scenario in `text`, called `file` in messages.
///
/// # Errors
/// The first thing that is wrong, with its line.
pub fn read(file: &str, text: &str) -> Result<(Scenario, Glider)> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let scenario: Scenario = toml::from_str(text).map_err(|error| {
        let line = error.span().map_or(1, |span| line_at(text, span.start));
        Error::Settings(format!("{file}:{line}: {}; {HELP}", one_line(error.message())))
    })?;
    let page = Page { file, text };
    let glider = page.check(&scenario)?;
    Ok((scenario, glider))
}

/// The line of a leg's header, for messages about the flight.
pub fn line_of_leg(text: &str, leg: usize) -> usize {
    let place = Place { table: "leg", entry: Some(leg) };
    line_at(text, place.extent(text).0)
}

/// A table of the file, or an entry of a list of tables, the first being 0.
#[derive(Clone, Copy)]
struct Place {
    table: &'static str,
    entry: Option<usize>,
}

impl Place {
    const ROOT: Place = Place::table("");

    const fn table(table: &'static str) -> Self {
        Self { table, entry: None }
    }

    /// From its header to the next; all of the file where there is none.
    fn extent(self, text: &str) -> (usize, usize) {
        let header = match self.entry {
            Some(_) => format!("[[{}]]", self.table),
            None => format!("[{}]", self.table),
        };
        let starts = text.split_inclusive('\n').scan(0, |offset, line| {
            *offset += line.len();
            Some((*offset - line.len(), line.trim_start()))
        });
        let mut headers = starts.filter(|(_, line)| line.starts_with('['));
        let wanted = |(_, line): &(usize, &str)| line.starts_with(&header);
        match headers.by_ref().filter(wanted).nth(self.entry.unwrap_or(0)) {
            Some((start, _)) => (start, headers.next().map_or(text.len(), |(end, _)| end)),
            None => (0, text.len()),
        }
    }
}

/// The text that is checked.
struct Page<'a> {
    file: &'a str,
    text: &'a str,
}

impl Page<'_> {
    fn check(&self, scenario: &Scenario) -> Result<Glider> {
        self.words(scenario)?;
        let glider = self.glider(scenario)?;
        self.surroundings(scenario)?;
        self.lift(scenario)?;
        self.legs(scenario)?;
        self.sensors(scenario)?;
        Ok(glider)
    }

    fn wrong<T>(
        &self,
        place: Place,
        key: &str,
        found: impl Display,
        expected: impl Display,
    ) -> Result<T> {
        let (start, end) = place.extent(self.text);
        let written = position_of_key(&self.text[..end], key, start, 1).unwrap_or(start);
        let line = line_at(self.text, written);
        let within = match place {
            Place { table: "", .. } => String::new(),
            Place { table, entry: None } => format!("{table}."),
            Place { table, entry: Some(entry) } => format!("{table} {}: ", entry + 1),
        };
        Err(Error::Settings(format!(
            "{}:{line}: {within}{key} is {found}, expected {expected}",
            self.file
        )))
    }

    /// Each of `values` a number in its range.
    fn ranges(&self, place: Place, values: &[(&str, f64, f64, f64)]) -> Result<()> {
        let wrong = values.iter().find(|(_, value, least, most)| !(least..=most).contains(&value));
        match wrong {
            Some((key, value, least, most)) => {
                self.wrong(place, key, value, format!("{least} to {most}"))
            }
            None => Ok(()),
        }
    }

    /// Those of `values` that are there, each in its range.
    fn optional(&self, place: Place, values: &[(&str, Option<f64>, f64, f64)]) -> Result<()> {
        let there =
            values.iter().filter_map(|&(key, value, least, most)| Some((key, value?, least, most)));
        self.ranges(place, &there.collect::<Vec<_>>())
    }

    /// Places on the map, each a number and within a thousand kilometres.
    fn places(&self, place: Place, key: &str, places: &[[f64; 2]]) -> Result<()> {
        let values: Vec<_> =
            places.iter().flatten().map(|value| (key, *value, -1e6, 1e6)).collect();
        self.ranges(place, &values)
    }

    fn above(&self, place: Place, key: &str, value: f64, least: f64, what: &str) -> Result<()> {
        if value > least {
            Ok(())
        } else {
            self.wrong(place, key, value, format!("more than {least}, {what}"))
        }
    }

    fn words(&self, scenario: &Scenario) -> Result<()> {
        for (key, words) in [("name", &scenario.name), ("about", &scenario.about)] {
            if words.trim().is_empty() || words.contains(char::is_control) {
                return self.wrong(Place::ROOT, key, format!("{words:?}"), "words in one line");
            }
        }
        Ok(())
    }

    fn glider(&self, scenario: &Scenario) -> Result<Glider> {
        let place = Place::table("glider");
        let glider = &scenario.glider;
        let [speeds, sinks] = [
            ["speed_1_mps", "speed_2_mps", "speed_3_mps"],
            ["sink_1_mps", "sink_2_mps", "sink_3_mps"],
        ];
        for (index, (speed, sink)) in glider.points().into_iter().enumerate() {
            self.ranges(
                place,
                &[(speeds[index], speed, 10.0, 80.0), (sinks[index], sink, 0.2, 10.0)],
            )?;
        }
        self.above(place, "speed_2_mps", glider.speed_2_mps, glider.speed_1_mps, "speed_1_mps")?;
        self.above(place, "speed_3_mps", glider.speed_3_mps, glider.speed_2_mps, "speed_2_mps")?;
        self.ranges(
            place,
            &[
                ("reference_mass_kg", glider.reference_mass_kg, 100.0, 1000.0),
                ("ballast_kg", glider.ballast_kg, -300.0, 500.0),
                ("contamination_percent", glider.contamination_percent, 0.0, 50.0),
                ("stall_mps", glider.stall_mps, 8.0, 40.0),
                ("airbrake_glide_ratio", glider.airbrake_glide_ratio, 3.0, 20.0),
            ],
        )?;
        self.above(
            place,
            "ballast_kg",
            glider.ballast_kg,
            80.0 - glider.reference_mass_kg,
            "80 kg in all",
        )?;
        match Glider::new(glider) {
            Some(made) => Ok(made),
            None => self.wrong(
                place,
                "sink_3_mps",
                glider.sink_3_mps,
                "one with which the three points bend as a polar does",
            ),
        }
    }

    fn surroundings(&self, scenario: &Scenario) -> Result<()> {
        let (start, day, wind) = (&scenario.start, &scenario.day, &scenario.wind);
        self.ranges(
            Place::table("start"),
            &[
                ("ground_m", start.ground_m, -400.0, 5000.0),
                ("speed_mps", start.speed_mps, 10.0, 80.0),
                ("heading_deg", start.heading_deg, 0.0, 360.0),
                ("east_m", start.east_m, -1e6, 1e6),
                ("north_m", start.north_m, -1e6, 1e6),
            ],
        )?;
        let lowest_m = start.ground_m + 20.0;
        self.optional(Place::table("start"), &[("height_m", start.height_m, lowest_m, 12_000.0)])?;
        self.ranges(
            Place::table("day"),
            &[
                ("sea_level_hpa", day.sea_level_hpa, 900.0, 1080.0),
                ("sea_level_c", day.sea_level_c, -40.0, 50.0),
            ],
        )?;
        self.ranges(
            Place::table("wind"),
            &[
                ("from_deg", wind.from_deg, 0.0, 360.0),
                ("speed_mps", wind.speed_mps, 0.0, 40.0),
                ("shear_mps_per_km", wind.shear_mps_per_km, -10.0, 10.0),
                ("roughness_m", wind.roughness_m, 0.001, 2.0),
            ],
        )?;
        if let Some(turbulence) = &scenario.turbulence {
            let place = Place::table("turbulence");
            self.ranges(place, &[("rms_mps", turbulence.rms_mps, 0.0, 5.0)])?;
            self.optional(place, &[("low_rms_mps", turbulence.low_rms_mps, 0.0, 5.0)])?;
        }
        Ok(())
    }

    fn lift(&self, scenario: &Scenario) -> Result<()> {
        let above_ground = (scenario.start.ground_m + 100.0, 15_000.0);
        for (entry, thermal) in scenario.thermal.iter().enumerate() {
            let place = Place { table: "thermal", entry: Some(entry) };
            self.ranges(
                place,
                &[
                    ("strength_mps", thermal.strength_mps, 0.0, 15.0),
                    ("radius_m", thermal.radius_m, 20.0, 2000.0),
                    ("top_m", thermal.top_m, above_ground.0, above_ground.1),
                ],
            )?;
            self.places(place, "east_m or north_m", &[[thermal.east_m, thermal.north_m]])?;
        }
        for (entry, street) in scenario.street.iter().enumerate() {
            let place = Place { table: "street", entry: Some(entry) };
            self.ranges(
                place,
                &[
                    ("course_deg", street.course_deg, 0.0, 360.0),
                    ("strength_mps", street.strength_mps, 0.0, 15.0),
                    ("half_width_m", street.half_width_m, 20.0, 3000.0),
                    ("swell", street.swell, 0.0, 1.0),
                    ("spacing_m", street.spacing_m, 200.0, 20_000.0),
                    ("top_m", street.top_m, above_ground.0, above_ground.1),
                ],
            )?;
            self.places(place, "east_m or north_m", &[[street.east_m, street.north_m]])?;
        }
        if let Some(ridge) = &scenario.ridge {
            let values = [
                ("course_deg", ridge.course_deg, 0.0, 360.0),
                ("height_m", ridge.height_m, 20.0, 2000.0),
            ];
            self.ranges(Place::table("ridge"), &values)?;
            self.places(
                Place::table("ridge"),
                "east_m or north_m",
                &[[ridge.east_m, ridge.north_m]],
            )?;
        }
        if let Some(wave) = &scenario.wave {
            let place = Place::table("wave");
            self.ranges(
                place,
                &[
                    ("strength_mps", wave.strength_mps, 0.0, 15.0),
                    ("length_m", wave.length_m, 1000.0, 50_000.0),
                    ("base_m", wave.base_m, scenario.start.ground_m, 12_000.0),
                ],
            )?;
            self.places(place, "east_m or north_m", &[[wave.east_m, wave.north_m]])?;
            self.ranges(place, &[("top_m", wave.top_m, 0.0, 20_000.0)])?;
            self.above(place, "top_m", wave.top_m, wave.base_m + 500.0, "500 m above base_m")?;
        }
        Ok(())
    }

    fn legs(&self, scenario: &Scenario) -> Result<()> {
        if scenario.leg.is_empty() {
            return self.wrong(Place::ROOT, "leg", "an empty list", "at least one [[leg]]");
        }
        let mut before = if scenario.start.height_m.is_some() { How::Fly } else { How::Wait };
        for (entry, leg) in scenario.leg.iter().enumerate() {
            let place = Place { table: "leg", entry: Some(entry) };
            self.leg(place, leg, scenario)?;
            self.how(place, leg, before)?;
            before = leg.how;
        }
        Ok(())
    }

    fn leg(&self, place: Place, leg: &Leg, scenario: &Scenario) -> Result<()> {
        let is_word = |text: &str| {
            !text.is_empty()
                && text
                    .bytes()
                    .all(|byte| byte.is_ascii_alphanumeric() || matches!(byte, b'_' | b'-'))
        };
        if !is_word(&leg.phase) {
            return self.wrong(
                place,
                "phase",
                format!("{:?}", leg.phase),
                "one word of letters, digits, - and _",
            );
        }
        self.ranges(
            place,
            &[
                ("acceleration_mps2", leg.acceleration_mps2, 0.1, 9.0),
                ("most_load", leg.most_load, 1.05, 6.0),
                ("least_load", leg.least_load, -2.0, 0.95),
                ("bank_deg", leg.bank_deg, -75.0, 75.0),
                ("off_centre_m", leg.off_centre_m, -1000.0, 1000.0),
                ("airbrake_percent", leg.airbrake_percent, 0.0, 100.0),
                ("climb_mps", leg.climb_mps, 0.0, 8.0),
                ("cable_m", leg.cable_m, 300.0, 3000.0),
                ("climb_deg", leg.climb_deg, 10.0, 60.0),
                ("spin_mps", leg.spin_mps, 15.0, 50.0),
                ("spin_turn_s", leg.spin_turn_s, 1.5, 10.0),
            ],
        )?;
        self.optional(
            place,
            &[
                ("for_s", leg.for_s, 0.1, 36_000.0),
                ("until_height_m", leg.until_height_m, scenario.start.ground_m, 15_000.0),
                ("speed_mps", leg.speed_mps, 10.0, 80.0),
                ("turn_deg", leg.turn_deg, 1.0, 3600.0),
                ("heading_deg", leg.heading_deg, 0.0, 360.0),
            ],
        )?;
        if leg.turn_deg.is_some() && leg.bank_deg == 0.0 {
            return self.wrong(place, "bank_deg", 0, "a bank to turn with, positive to the right");
        }
        self.places(place, "towards_m", leg.towards_m.as_slice())?;
        self.places(place, "patrol_m", leg.patrol_m.as_deref().unwrap_or_default())?;
        if leg.patrol_m.as_ref().is_some_and(|places| places.len() < 2) {
            return self.wrong(
                place,
                "patrol_m",
                "less than two places",
                "two or more, such as [[0, 900], [0, -900]]",
            );
        }
        if let Some(name) = &leg.circle {
            if !scenario.thermal.iter().any(|thermal| thermal.name == *name) {
                return self.wrong(
                    place,
                    "circle",
                    format!("{name:?}"),
                    "the name of a [[thermal]]",
                );
            }
            if leg.bank_deg.abs() < 5.0 {
                return self.wrong(
                    place,
                    "bank_deg",
                    leg.bank_deg,
                    "5 to 75 or -75 to -5 to circle with",
                );
            }
        }
        Ok(())
    }

    fn how(&self, place: Place, leg: &Leg, before: How) -> Result<()> {
        let is_flying = !matches!(before, How::Wait | How::Land);
        let on_ground = matches!(leg.how, How::Wait | How::Winch | How::Aerotow);
        let still_towed = before == How::Aerotow && leg.how == How::Aerotow;
        if is_flying == on_ground && !still_towed {
            let how = format!("{:?}", leg.how).to_lowercase();
            let (where_to, expected) = if is_flying {
                ("in the air", "fly, spin, loop or land")
            } else {
                ("on the ground", "wait, winch or aerotow first")
            };
            return self.wrong(place, "how", format!("{how:?} {where_to}"), expected);
        }
        let ends = leg.for_s.is_some()
            || leg.until_height_m.is_some()
            || leg.turn_deg.is_some()
            || leg.towards_m.is_some()
            || matches!(leg.how, How::Winch | How::Loop | How::Land);
        if ends {
            Ok(())
        } else {
            self.wrong(
                place,
                "for_s",
                "absent",
                "an end: for_s, until_height_m, turn_deg or towards_m",
            )
        }
    }

    fn sensors(&self, scenario: &Scenario) -> Result<()> {
        let sensors = &scenario.sensors;
        self.ranges(
            Place::table("sensors"),
            &[
                ("rate_hz", sensors.rate_hz, 0.1, 200.0),
                ("jitter_ms", sensors.jitter_ms, 0.0, 50.0),
            ],
        )?;
        self.channel("sensors.static", &sensors.static_port)?;
        for (table, channel) in
            [("sensors.dynamic", &sensors.dynamic), ("sensors.probe", &sensors.probe)]
        {
            channel.as_ref().map_or(Ok(()), |channel| self.channel(table, channel))?;
        }
        if let Some(thermometer) = &sensors.thermometer {
            self.ranges(
                Place::table("sensors.thermometer"),
                &[
                    ("noise_k", thermometer.noise_k, 0.0, 10.0),
                    ("error_k", thermometer.error_k, -20.0, 20.0),
                    ("lag_s", thermometer.lag_s, 0.0, 300.0),
                ],
            )?;
        }
        self.faults(scenario)
    }

    fn channel(&self, table: &'static str, channel: &ChannelSettings) -> Result<()> {
        let place = Place::table(table);
        self.ranges(
            place,
            &[
                ("noise_pa", channel.noise_pa, 0.0, 100.0),
                ("step_pa", channel.step_pa, 0.0, 100.0),
                ("warm_up_pa", channel.warm_up_pa, -1000.0, 1000.0),
                ("lag_s", channel.lag_s, 0.0, 10.0),
                ("delay_s", channel.delay_s, 0.0, 2.0),
                ("position_error", channel.position_error, -0.2, 0.2),
            ],
        )?;
        self.optional(
            place,
            &[
                ("warm_up_s", channel.warm_up_s, 1.0, 10_000.0),
                ("coefficient", channel.coefficient, -2.0, 0.0),
            ],
        )?;
        if channel.position_error != 0.0 && table != "sensors.static" {
            return self.wrong(
                place,
                "position_error",
                channel.position_error,
                "none: it is the static port's",
            );
        }
        match channel.coefficient {
            Some(coefficient) if table != "sensors.probe" => {
                self.wrong(place, "coefficient", coefficient, "none: it is the probe's")
            }
            _ => Ok(()),
        }
    }

    fn faults(&self, scenario: &Scenario) -> Result<()> {
        for (entry, fault) in scenario.fault.iter().enumerate() {
            let place = Place { table: "fault", entry: Some(entry) };
            self.ranges(place, &[("from_s", fault.from_s, 0.0, 1e6)])?;
            self.optional(
                place,
                &[
                    ("for_s", fault.for_s, 0.0, 1e6),
                    ("lag_s", fault.lag_s, 0.1, 60.0),
                    ("size_pa", fault.size_pa, -100_000.0, 100_000.0),
                ],
            )?;
            let needs_line = fault.kind != FaultKind::Dropout;
            if needs_line && fault.line.is_none() {
                return self.wrong(place, "line", "absent", "static, dynamic or probe");
            }
            if fault.kind == FaultKind::Spike && fault.size_pa.is_none() {
                return self.wrong(place, "size_pa", "absent", "how large the spike is");
            }
            if fault.kind != FaultKind::Spike && fault.for_s.is_none() {
                return self.wrong(place, "for_s", "absent", "how long it lasts");
            }
        }
        Ok(())
    }
}
