//! A flight as its part of the page shows it: words, tables, pictures, and the figures of the
//! script.

use super::facts;
use super::flown::{Flown, best};
use super::link::{Link, link};
use super::overview::Overview;
use super::player;
use super::request::Request;
use crate::circling::climb::KnownFrom;
use crate::circling::{self, ClimbCentring, text};
use crate::error::Result;
use crate::inspect::picture;
use crate::recording::flight::Climb;
use crate::units::{Shown, Units};
use serde::Serialize;

/// A flight on the page.
pub struct View {
    /// The file without its folder.
    pub title: String,
    /// Which segment of several, in a line.
    pub which: Option<String>,
    /// Names and values of the facts.
    pub facts: Vec<facts::Fact>,
    /// What a badge would ask for, and what is not known.
    pub badges: Vec<String>,
    /// Every climb.
    pub climbs: Vec<ClimbRow>,
    /// How each was centred, where something can be said.
    pub centring: Vec<Centring>,
    /// Whether the recording has positions.
    pub has_path: bool,
    /// What follows a time: ` UTC`.
    pub utc: &'static str,
    /// Units of the table's columns.
    pub climb_unit: &'static str,
    /// Of heights.
    pub height_unit: &'static str,
    /// The whole flight, as SVG.
    pub overview: String,
    /// The best climb as it was heard, as SVG.
    pub close_up: Option<String>,
    /// Intervals and noise, as SVG.
    pub sensors_picture: String,
    /// What is to be said of the sensors.
    pub sensors: Vec<String>,
    /// The sound beside the page.
    pub sound: Option<Link>,
    /// What the script needs, as JSON.
    pub data: String,
    /// Settings and samples, packed.
    pub samples: String,
}

/// A climb in the table.
pub struct ClimbRow {
    /// From 1.
    pub number: usize,
    /// When it begins, as a clock.
    pub from: String,
    /// When it is highest.
    pub to: String,
    /// Plain height gained.
    pub gain: String,
    /// Its mean.
    pub mean: String,
    /// Best over 30 s.
    pub best: String,
    /// Whether it is the best of the flight.
    pub is_best: bool,
}

/// How a climb was centred.
pub struct Centring {
    /// The number of the climb, from 1.
    pub number: usize,
    /// Its account, a thought each.
    pub lines: Vec<String>,
    /// Path and core in the air's frame, as SVG.
    pub picture: Option<String>,
    /// Whether it is the best of the flight.
    pub is_best: bool,
}

/// What the script needs to draw and to say.
#[derive(Serialize)]
struct Data<'a> {
    title: &'a str,
    /// Time of the first sample, s.
    start_s: f64,
    /// What the clock shows then, s.
    clock_s: f64,
    /// Whether that is a time of day.
    is_utc: bool,
    climb: UnitData,
    height: UnitData,
    climbs: Vec<[f64; 3]>,
}

/// A unit: what to multiply by, how many digits, what to call it.
#[derive(Serialize)]
struct UnitData {
    factor: f64,
    decimals: usize,
    name: &'static str,
}

impl From<Shown> for UnitData {
    /// Of the quantity one.
    fn from(one: Shown) -> Self {
        Self { factor: one.value, decimals: one.decimals, name: one.unit }
    }
}

impl View {
    /// The flight `place` of the page.
    ///
    /// # Errors
    /// More samples than a page can hold.
    pub fn of(request: &Request, flown: &Flown, place: usize) -> Result<Self> {
        let Flown { recording, track, inspection, .. } = flown;
        let units = request.instrument.units;
        let flight = &inspection.flight;
        let clock = |time_s: f64| flown.clock(time_s);
        let best = best_number(flown);
        let row = |(place, climb): (usize, &Climb)| ClimbRow {
            number: place + 1,
            from: clock(climb.from_s),
            to: clock(climb.to_s),
            gain: units.height(climb.gain_m).number(),
            mean: units.climb(climb.mean_mps).number(),
            best: climb.best_30_s_mps.map_or_else(String::new, |best| units.climb(best).number()),
            is_best: best == Some(place + 1),
        };
        let overview = Overview {
            title: &recording.title,
            subtitle: &facts::subtitle(flown, units),
            track,
            climbs: &flight.climbs,
            glides: &flight.glides,
            utc_at_zero_s: recording.utc_at_zero_s,
            units,
        };
        let sound = request.wav.as_deref().filter(|_| place == 0);
        Ok(Self {
            title: recording.title.clone(),
            which: recording.which(),
            facts: facts::facts(flown, units),
            badges: facts::badges(flown),
            climbs: flight.climbs.iter().enumerate().map(row).collect(),
            centring: centring(flown, units),
            has_path: !recording.positions.is_empty(),
            utc: recording.clock().kind(),
            climb_unit: units.climb.name(),
            height_unit: units.height.name(),
            overview: inline(&overview.draw()),
            close_up: flown.close_up.as_deref().map(inline),
            sensors_picture: inline(&picture::draw(inspection, track)),
            sensors: facts::sensors(flown),
            sound: sound.and_then(|wav| link(&request.output, wav)),
            data: data(flown, units),
            samples: player::recording(request, flown)?,
        })
    }
}

/// The number of the best climb, the first being 1.
fn best_number(flown: &Flown) -> Option<usize> {
    let climbs = &flown.inspection.flight.climbs;
    let best = best(climbs)?;
    Some(1 + climbs.iter().position(|climb| climb == best)?)
}

/// Of every climb of which something can be said; where there are positions, of those with circles.
fn centring(flown: &Flown, units: Units) -> Vec<Centring> {
    let best = best_number(flown);
    let of = |centred: &ClimbCentring| {
        let has_nothing = centred.known_from == KnownFrom::Positions && centred.circles().is_none();
        let lines = if has_nothing { Vec::new() } else { text::lines(centred, &units) };
        let picture = circling::picture::draw(centred, &units).map(|svg| inline(&svg));
        let (number, is_best) = (centred.number, best == Some(centred.number));
        (!lines.is_empty()).then_some(Centring { number, lines, picture, is_best })
    };
    flown.inspection.circling.climbs.iter().filter_map(of).collect()
}

fn data(flown: &Flown, units: Units) -> String {
    let recording = &flown.recording;
    let climbs = &flown.inspection.flight.climbs;
    let start_s = recording.all().first().map_or(0.0, |first| first.time.0 as f64 * 1e-6);
    let data = Data {
        title: &recording.title,
        start_s,
        is_utc: recording.utc_at_zero_s.is_some(),
        clock_s: recording.clock().seconds_at(start_s),
        climb: units.climb(1.0).into(),
        height: units.height(1.0).into(),
        climbs: climbs.iter().map(|climb| [climb.from_s, climb.to_s, climb.mean_mps]).collect(),
    };
    // Numbers and a title: there is nothing in it that JSON cannot hold.
    let json = serde_json::to_string(&data).unwrap_or_default();
    // Inside a script's text, `<` could begin its end.
    json.replace('<', "\\u003c")
}

/// Inside a page an SVG has no XML declaration.
pub fn inline(svg: &str) -> String {
    svg.find("<svg").map_or(svg, |start| &svg[start..]).to_owned()
}
