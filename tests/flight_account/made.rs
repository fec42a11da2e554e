//! Flights made by the simulator for these tests, written as a flight recorder writes them. Nothing
//! here was looked at while the rules of the flight were chosen.

use chirrup_flight::plan::check;
use chirrup_flight::plan::flight::Flight;
use std::fmt::Write;

const GLIDER: &str = "[glider]\nname = \"Orrin 15\"\npoints = [\n\
                      { speed_mps = 20, sink_mps = 0.67 },\n\
                      { speed_mps = 27, sink_mps = 0.74 },\n\
                      { speed_mps = 42, sink_mps = 1.85 },\n]\n\
                      reference_mass_kg = 360\nstall_mps = 17.5\n";

/// A moment of a made flight.
#[derive(Clone, Copy, Debug)]
pub struct Fix {
    pub time_s: f64,
    pub height_m: f64,
    pub pressure_pa: f64,
    pub tas_mps: f64,
    pub east_m: f64,
    pub north_m: f64,
    pub engine: bool,
}

/// A made flight and the truth of it.
pub struct Made {
    pub fixes: Vec<Fix>,
    /// Of each launch: when it leaves the ground, when it ends, s.
    pub launches: Vec<(f64, f64)>,
    /// When each flight is back on the ground, s.
    pub landings: Vec<f64>,
}

/// Flies legs over ground at 140 m; `rest` has wind, turbulence and thermals before the legs.
pub fn fly(rest: &str, seed: u64) -> Made {
    let text = format!(
        "name = \"made\"\nabout = \"a test\"\n{GLIDER}[start]\nground_m = 140\nheading_deg = 240\n\
         {rest}"
    );
    let (scenario, glider) = check::read("made.toml", &text).expect("the scenario is good");
    let mut flight = Flight::new(&scenario, glider, seed);
    let mut made = Made { fixes: Vec::new(), launches: Vec::new(), landings: Vec::new() };
    let (mut off_s, mut launching, mut was_up) = (None, false, false);
    for tick in 0_u64.. {
        let moment = flight.moment();
        let is_up = moment.place.up > 140.3;
        let launches = ["winch", "aerotow", "engine"].contains(&moment.phase);
        if is_up && !was_up {
            off_s = Some(moment.time_s);
        }
        if !launches && launching {
            made.launches.push((off_s.unwrap_or(moment.time_s), moment.time_s));
        }
        if was_up && !is_up && !launches {
            made.landings.push(moment.time_s);
        }
        (launching, was_up) = (launches, is_up);
        if tick.is_multiple_of(200) {
            made.fixes.push(Fix {
                time_s: moment.time_s,
                height_m: moment.place.up,
                pressure_pa: moment.still.pressure_pa,
                tas_mps: moment.airspeed_mps,
                east_m: moment.place.east,
                north_m: moment.place.north,
                engine: moment.phase == "engine",
            });
        }
        if !flight.advance().expect("it stays clear of the ground") {
            return made;
        }
    }
    made
}

/// What a flight recorder writes beside height.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Writes {
    /// Every how many seconds.
    pub step_s: usize,
    pub airspeed: bool,
    pub positions: bool,
    pub engine: bool,
    pub barometer: bool,
}

/// The text of an IGC file, or, without positions, of a CSV of pressures.
pub fn written(fixes: &[Fix], writes: &Writes) -> String {
    let fixes = fixes.iter().step_by(writes.step_s);
    if writes.positions { igc(fixes, writes) } else { csv(fixes, writes) }
}

fn csv<'a>(fixes: impl Iterator<Item = &'a Fix>, writes: &Writes) -> String {
    let tas = if writes.airspeed { ",tas_mps" } else { "" };
    let mut text = format!("time_s,static_pa{tas}\n");
    for fix in fixes {
        let tas = if writes.airspeed { format!(",{:.1}", fix.tas_mps) } else { String::new() };
        writeln!(text, "{:.0},{:.0}{tas}", fix.time_s, fix.pressure_pa).expect("a string");
    }
    text
}

fn igc<'a>(fixes: impl Iterator<Item = &'a Fix>, writes: &Writes) -> String {
    let mut extensions = Vec::new();
    extensions.extend(writes.airspeed.then_some(("TAS", 5)));
    extensions.extend(writes.engine.then_some(("ENL", 3)));
    let mut text = String::from("AXXXMADE\nHFDTE010726\n");
    let mut column = 36;
    write!(text, "I{:02}", extensions.len()).expect("a string");
    for (code, width) in &extensions {
        write!(text, "{column:02}{:02}{code}", column + width - 1).expect("a string");
        column += width;
    }
    text += "\n";
    for fix in fixes {
        text += &record(fix, writes);
    }
    text
}

fn record(fix: &Fix, writes: &Writes) -> String {
    let seconds = fix.time_s.round() as u64 + 36_000;
    let (latitude, longitude) =
        (48.0 + fix.north_m / 111_195.0, 9.0 + fix.east_m / 111_195.0 / 48f64.to_radians().cos());
    let minutes = |degrees: f64| (60_000.0 * degrees.fract()).round() as u32;
    // The standard atmosphere's height of the pressure, by its formula and not by the core.
    let pressure_m = 44_330.77 * (1.0 - (fix.pressure_pa / 101_325.0).powf(0.190_263));
    let satellites_m = fix.height_m + 47.0;
    let height_m = if writes.barometer { pressure_m } else { satellites_m };
    let mut text = format!(
        "B{:02}{:02}{:02}{:02}{:05}N{:03}{:05}EA{height_m:05.0}{satellites_m:05.0}",
        seconds / 3600,
        seconds / 60 % 60,
        seconds % 60,
        latitude as u32,
        minutes(latitude),
        longitude as u32,
        minutes(longitude)
    );
    if writes.airspeed {
        write!(text, "{:05.0}", 360.0 * fix.tas_mps).expect("a string");
    }
    if writes.engine {
        write!(text, "{:03}", if fix.engine { 930 } else { 12 }).expect("a string");
    }
    text + "\n"
}
