//! A flight log while it is read: its header, and its fixes on their way to samples.

use super::altitude::Choice;
use super::record::{self, Extension, Fix, Quantity, Value};
use super::window::{Placed, Window};
use crate::trace::lines::{LINE_TOO_LONG, Line, excerpt};
use crate::trace::unreadable::Unreadable;
use crate::trace::{Item, Position, Skipped};
use chirrup_core::{Kelvin, Metre, MetrePerSecond, Micros, Sample, Speed, pressure_at};

const DAY_US: i64 = 86_400_000_000;

/// The state of the flight log so far.
pub(super) struct Log {
    date: Option<String>,
    extensions: Vec<(Extension, Unreadable)>,
    /// What was wrong with an I record or a date, and on which line; the first only.
    trouble: Option<String>,
    pub(super) window: Window<Logged>,
    altitude: Choice,
    zero_us: Option<i64>,
    last_us: i64,
    midnights: u64,
    without_fix: u64,
    speed: Option<Quantity>,
    has_air: bool,
}

/// A fix waiting for its place in time.
pub(super) struct Logged {
    line: u64,
    /// The beginning of the line.
    text: [u8; record::LENGTH],
    fix: Fix,
    speed: Option<Speed>,
    outside_air: Option<Kelvin>,
    beside: Beside,
}

/// What a fix gives beside its sample.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Beside {
    /// The reading of the recorder's own vario, m/s.
    pub recorded_te_mps: Option<f32>,
    /// Its reading without total energy, m/s.
    pub recorded_mps: Option<f32>,
    /// Whether an engine runs.
    pub engine: Option<bool>,
    /// Where it was taken.
    pub position: Option<Position>,
}

/// From this share of the full scale on the noise is an engine's: more than 700 of 999 at climb
/// power (FAI Sporting Code, section 3, Annex C, 11.2, as quoted in a forum in 2020).
const ENGINE_NOISE: f64 = 0.7;
/// From this share on another means of propulsion runs (a guess).
const PROPULSION: f64 = 0.5;
/// From so many turns on an engine runs, in whatever unit the recorder writes (a guess).
const ENGINE_TURNS: f64 = 30.0;

/// Whether any engine runs; `None` where the fix does not say.
fn engine(read: &mut impl FnMut(Quantity) -> Option<f64>) -> Option<bool> {
    let limits = [
        (Quantity::EngineNoise, ENGINE_NOISE),
        (Quantity::Propulsion, PROPULSION),
        (Quantity::EngineTurns, ENGINE_TURNS),
    ];
    limits.into_iter().filter_map(|(what, limit)| Some(read(what)? >= limit)).reduce(|a, b| a || b)
}

impl Log {
    /// Nothing known.
    pub fn new() -> Self {
        Self {
            date: None,
            extensions: Vec::new(),
            trouble: None,
            window: Window::new(),
            altitude: Choice::new(),
            zero_us: None,
            last_us: 0,
            midnights: 0,
            without_fix: 0,
            speed: None,
            has_air: false,
        }
    }

    /// Whether [`Log::next`] is ready, while there are more lines to come.
    pub fn is_ready(&self) -> bool {
        self.window.is_ready() && self.altitude.is_made()
    }

    /// No more lines will come.
    pub fn end(&mut self) {
        self.altitude.end();
    }

    /// The date, from the first line that has one.
    pub fn date(&self) -> Option<&str> {
        self.date.as_deref()
    }

    /// Seconds after UTC midnight of time zero, once there is a sample.
    pub fn utc_start_s(&self) -> Option<f64> {
        self.zero_us.map(|zero| zero.rem_euclid(DAY_US) as f64 / 1e6)
    }

    /// Takes a line; returns it if it should have been a fix and is not.
    pub fn take_in(&mut self, line: &Line<'_>) -> Option<Skipped> {
        let skip = |reason: &str, found: &[u8]| {
            Some(Skipped { line: line.number, reason: reason.into(), found: excerpt(found) })
        };
        match line.text.first()? {
            b'B' if line.is_cut => return skip(LINE_TOO_LONG, line.text),
            b'B' => match record::fix(line.text.trim_ascii_end()) {
                Ok(fix) => self.take_in_fix(line, fix),
                Err(fault) => return skip(fault.reason, &line.text[fault.columns]),
            },
            b'I' => self.take_in_extensions(line),
            _ => self.take_in_date(line),
        }
        None
    }

    fn take_in_date(&mut self, line: &Line<'_>) {
        match record::date(line.text) {
            Some(Some(date)) => {
                self.date.get_or_insert(date);
            }
            Some(None) => self.be_troubled(line, format!("no date in \"{}\"", excerpt(line.text))),
            None => {}
        }
    }

    fn take_in_extensions(&mut self, line: &Line<'_>) {
        let (extensions, wrong) = record::extensions(line.text);
        if let Some(wrong) = wrong {
            self.be_troubled(line, wrong);
        }
        let has = |quantity| extensions.iter().any(|extension| extension.quantity == quantity);
        // One form for the whole flight: a change from fix to fix would cause a step in the energy.
        self.speed = [Quantity::TrueAirspeed, Quantity::IndicatedAirspeed]
            .into_iter()
            .find(|speed| has(*speed));
        self.has_air = has(Quantity::OutsideAir);
        self.window.spread_seconds(!has(Quantity::SecondFraction));
        self.extensions =
            extensions.into_iter().map(|extension| (extension, Unreadable::default())).collect();
    }

    fn be_troubled(&mut self, line: &Line<'_>, trouble: String) {
        self.trouble.get_or_insert_with(|| format!("line {}: {trouble}", line.number));
    }

    fn take_in_fix(&mut self, line: &Line<'_>, fix: Fix) {
        let mut read = |quantity| {
            let (extension, unreadable) =
                self.extensions.iter_mut().find(|(one, _)| one.quantity == quantity)?;
            match extension.read(line.text) {
                Value::Number(number) => Some(number),
                Value::Absent => None,
                Value::Unreadable(text) => {
                    unreadable.add(line.number, text);
                    None
                }
            }
        };
        let speed = self.speed.and_then(|quantity| {
            let speed = MetrePerSecond(read(quantity)? as f32);
            Some(if quantity == Quantity::TrueAirspeed {
                Speed::True(speed)
            } else {
                Speed::Calibrated(speed)
            })
        });
        let outside_air =
            read(Quantity::OutsideAir).map(|celsius| Kelvin::from_celsius(celsius as f32));
        let beside = Beside {
            recorded_te_mps: read(Quantity::TotalEnergyVario).map(|speed| speed as f32),
            recorded_mps: read(Quantity::Vario).map(|speed| speed as f32),
            engine: engine(&mut read),
            position: record::position(line.text, &fix, &mut read),
        };
        let fraction_us =
            read(Quantity::SecondFraction).map_or(0, |seconds| (seconds * 1e6).round() as i64);
        self.altitude.look_at(line.number, &fix);
        let time_of_day_us =
            i64::from(fix.time_of_day_s) * 1_000_000 + fraction_us.clamp(0, 999_999);
        let text = line.text.first_chunk().copied().unwrap_or([b' '; record::LENGTH]);
        self.window.push(
            time_of_day_us,
            Logged { line: line.number, text, fix, speed, outside_air, beside },
        );
    }

    /// The next waiting fix, as a sample and what stood beside it, or as a skipped line.
    pub fn next(&mut self) -> Option<(Item, Beside)> {
        let skip = |logged: Logged, reason: &str| {
            Some((
                Item::Skipped(Skipped {
                    line: logged.line,
                    reason: reason.into(),
                    found: excerpt(&logged.text),
                }),
                Beside::default(),
            ))
        };
        let (time_us, logged) = match self.window.pop()? {
            Placed::At(time_us, logged) => (time_us, logged),
            Placed::OutOfOrder(logged) => return skip(logged, "time out of order"),
            Placed::Repeated(logged) => return skip(logged, "time repeated"),
        };
        let altitude = match self.altitude.altitude(logged.line, time_us, &logged.fix) {
            Ok(altitude) => altitude,
            Err(reason) => return skip(logged, reason),
        };
        let zero_us = *self.zero_us.get_or_insert(time_us);
        if time_us != zero_us && time_us.div_euclid(DAY_US) > self.last_us.div_euclid(DAY_US) {
            self.midnights += 1;
        }
        self.last_us = time_us;
        self.without_fix += u64::from(!logged.fix.is_valid);
        let sample = Sample {
            speed: logged.speed,
            outside_air: logged.outside_air,
            ..Sample::of_static(Micros(time_us - zero_us), pressure_at(Metre(altitude as f32)))
        };
        Some((Item::Sample { line: logged.line, sample }, logged.beside))
    }

    /// The notes.
    pub fn notes(&self) -> Vec<String> {
        let count = |count: u64, text: &str| {
            let records = if count == 1 { "1 record" } else { &format!("{count} records") };
            (count > 0).then(|| text.replace("{}", records))
        };
        let said = |is_so: bool, text: &str| is_so.then(|| text.to_owned());
        let notes = [
            self.trouble.clone(),
            said(
                self.speed == Some(Quantity::TrueAirspeed),
                "airspeed from the recorder's true airspeed (TAS)",
            ),
            said(
                self.speed == Some(Quantity::IndicatedAirspeed),
                "airspeed from the recorder's indicated airspeed (IAS), taken as calibrated",
            ),
            said(self.has_air, "outside air temperature from the recorder (OAT)"),
            count(
                self.altitude.from_gnss,
                "no pressure altitude in {}; GNSS altitude is used there, which is rougher and \
                 later",
            ),
            said(
                self.altitude.has_changed,
                "the pressure altitude begins in flight; the records of the change are passed \
                 over as a gap",
            ),
            count(
                self.altitude.real_zeros,
                "pressure altitude 0 in {} at the start, taken as real",
            ),
            count(self.without_fix, "{} without a GNSS fix used for the pressure altitude"),
            count(self.window.put_in_order, "{} put back in the order of time"),
            count(self.window.spread, "{} spread over the second they share"),
            match self.window.set_back {
                0 => None,
                1 => Some("the clock was set back; time goes back with it".into()),
                times => {
                    Some(format!("the clock was set back {times} times; time goes back with it"))
                }
            },
            count(self.midnights, "UTC midnight passes during the flight"),
        ];
        // What is only compared with or looked at is no input.
        let used = self.extensions.iter().filter(|(one, _)| one.quantity.is_input());
        let unreadable = used.filter_map(|(one, tally)| tally.note(one.quantity.code(), "record"));
        notes.into_iter().flatten().chain(unreadable).collect()
    }
}
