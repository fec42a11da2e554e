//! The summary of a run: what was read and what was skipped, the flight, and the sound.

use crate::climbs::Climbs;
use crate::ears::Ears;
use crate::felt::FeltSummary;
use crate::range::{Range, rounded, widen};
use crate::recording::contents::Contents;
use crate::replay::Row;
use crate::segments::list::{List, Listed};
use crate::settings_file::Instrument;
use crate::so_far::{Flown, Moment, SoFar};
use crate::time::Clock;
use crate::trace::{Skipped, Trace};
use crate::truth::{AgainstTruth, Comparison, Truth};
use crate::units::Units;
use crate::words::{mostly_left_out, one_line, plural, shown, shown_path};
use chirrup_core::{
    AltimeterSettings, EnergySource, Metre, MetrePerSecond, Micros, Reading, Sample, Settings,
    Sound, Status, Values,
};
use serde::Serialize;
use std::collections::BTreeMap;
use std::fmt;
use std::path::PathBuf;

/// Number of different reasons that are counted separately.
const MOST_REASONS: usize = 64;

/// The summary of a run, in the shape of its JSON.
#[derive(Clone, Debug, Serialize)]
pub struct Summary {
    /// The trace as the user named it.
    pub trace: String,
    /// `csv` or `igc`.
    pub format: &'static str,
    /// Date of the trace, where it knows.
    pub date: Option<String>,
    /// UTC, in seconds after midnight, of the trace's time zero, where it knows.
    pub utc_at_zero_s: Option<f64>,
    /// That most of the trace is left out, where it is.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub caution: Option<String>,
    /// Samples that went into the readings.
    pub samples_used: u64,
    /// Samples without a static pressure, whose other values went into the readings after them.
    #[serde(skip_serializing_if = "is_none")]
    pub samples_partial: u64,
    /// Lines that held no usable sample, by reason.
    pub lines_skipped: Vec<Count>,
    /// Samples that were skipped or caused a restart, by status.
    pub faults: Vec<Count>,
    /// First and last time of the samples used.
    pub time_s: Option<Ends>,
    /// The segments of the trace, the first hundred, where it is cut into several.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub segments: Vec<Listed>,
    /// Mean time between samples used.
    pub mean_interval_s: Option<f64>,
    /// Lowest and highest pressure altitude.
    pub altitude_m: Option<Range>,
    /// Lowest and highest true airspeed.
    pub tas_mps: Option<Range>,
    /// The instrument, and the one it ran against.
    pub instruments: Vec<InstrumentSummary>,
    /// Things worth knowing about the trace.
    pub notes: Vec<String>,
    /// Files made.
    pub outputs: Vec<PathBuf>,
    /// Whether nothing in the trace tells a pull of the stick from lift: neither an airspeed nor a
    /// total-energy probe.
    pub follows_the_stick: bool,
    #[serde(skip)]
    contents: Contents,
    #[serde(skip)]
    units: Units,
    #[serde(skip)]
    so_far: SoFar,
    #[serde(skip)]
    skipped: BTreeMap<String, Count>,
    #[serde(skip)]
    unusable: BTreeMap<String, Count>,
    #[serde(skip)]
    interval: Interval,
    #[serde(skip)]
    list: List,
    /// Samples read, and those of them that no reading took.
    #[serde(skip)]
    taken: [u64; 2],
}

/// How often something happened, and where first.
#[derive(Clone, Debug, Serialize)]
pub struct Count {
    /// What happened.
    pub what: String,
    /// How often.
    pub count: u64,
    /// The first line on which it did.
    pub first_line: u64,
    /// The text found there, where that helps.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub found: Option<String>,
}

/// What became of the samples without a static pressure.
fn partial_note(count: u64) -> Option<String> {
    (count > 0).then(|| {
        format!(
            "{} without a static pressure: what else they have is used with the next one",
            plural(count, "sample")
        )
    })
}

/// First and last.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Ends {
    /// The first.
    pub first: f64,
    /// The last.
    pub last: f64,
}

/// The readings and the sound of one instrument.
#[derive(Clone, Debug, Serialize)]
pub struct InstrumentSummary {
    /// Its settings as the user named them.
    pub name: String,
    /// The source of total energy in use at the end.
    pub energy: &'static str,
    /// All its settings.
    #[serde(serialize_with = "crate::settings_file::as_json")]
    pub settings: Settings,
    /// The units in which it is told to people.
    #[serde(skip)]
    pub units: Units,
    /// Uncompensated vertical speed.
    pub vertical_speed_mps: Option<Range>,
    /// Compensated vertical speed.
    pub te_vertical_speed_mps: Option<Range>,
    /// Running average.
    pub average_mps: Option<Range>,
    /// Height shown by the altimeter, always in metres.
    pub altimeter_m: Option<Range>,
    /// The climbs.
    pub climbs: Climbs,
    /// How long each sound was requested.
    pub sound_s: SoundTimes,
    /// What the inertial sensor said, where the trace has one.
    #[serde(skip_serializing_if = "FeltSummary::is_empty")]
    pub inertial: FeltSummary,
    /// Its error against the truth, where the trace has it.
    #[serde(skip_serializing_if = "AgainstTruth::is_empty")]
    pub against_truth: AgainstTruth,
    #[serde(skip)]
    comparison: Comparison,
    #[serde(skip)]
    last: Sound,
    /// Whether the source of total energy gave a value at least once.
    #[serde(skip)]
    compensated: bool,
}

fn is_none(count: &u64) -> bool {
    *count == 0
}

fn is_zero(seconds: &f64) -> bool {
    *seconds == 0.0
}

/// How long each sound was requested, in seconds.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct SoundTimes {
    /// Beeps.
    pub climb: f64,
    /// Steady tone.
    pub sink: f64,
    /// Pairs of notes; absent where there were none.
    #[serde(skip_serializing_if = "is_zero")]
    pub cruise: f64,
    /// Silence.
    pub silent: f64,
}

#[derive(Clone, Copy, Debug, Default)]
struct Interval {
    count: u64,
    total_s: f64,
}

impl Summary {
    /// An empty report.
    pub fn new(trace: String, format: &'static str, instruments: &Ears<Instrument>) -> Self {
        Self {
            trace,
            format,
            date: None,
            utc_at_zero_s: None,
            caution: None,
            samples_used: 0,
            samples_partial: 0,
            lines_skipped: Vec::new(),
            faults: Vec::new(),
            time_s: None,
            segments: Vec::new(),
            mean_interval_s: None,
            altitude_m: None,
            tas_mps: None,
            instruments: instruments.iter().map(InstrumentSummary::new).collect(),
            notes: Vec::new(),
            outputs: Vec::new(),
            units: instruments.left.units,
            follows_the_stick: false,
            contents: Contents::default(),
            so_far: SoFar::default(),
            skipped: BTreeMap::new(),
            unusable: BTreeMap::new(),
            interval: Interval::default(),
            list: List::default(),
            taken: [0; 2],
        }
    }

    /// Counts a line that held no sample.
    pub fn skip(&mut self, skipped: &Skipped) {
        let full =
            self.skipped.len() >= MOST_REASONS && !self.skipped.contains_key(&skipped.reason);
        let reason = if full { "other reasons" } else { &skipped.reason };
        count(&mut self.skipped, reason, skipped.line, Some(&skipped.found));
    }

    /// Counts impossible values of a sample, such as an airspeed of a kilometre a second.
    pub fn values(&mut self, line: u64, sample: &Sample) {
        self.contents.take(sample);
        let unusable = [
            ("airspeed", sample.speed.is_some() && sample.usable_speed().is_none()),
            (
                "probe pressure",
                sample.te_pressure.is_some() && sample.usable_te_pressure().is_none(),
            ),
            (
                "outside temperature",
                sample.outside_air.is_some() && sample.usable_outside_air().is_none(),
            ),
            (
                "specific force or turn rate",
                sample.inertial.is_some() && sample.usable_inertial().is_none(),
            ),
            (
                "velocity over the ground",
                sample.ground_velocity.is_some() && sample.usable_ground_velocity().is_none(),
            ),
        ];
        for (what, _) in unusable.into_iter().filter(|(_, unusable)| *unusable) {
            count(&mut self.unusable, what, line, None);
        }
    }

    /// Takes a row into account, and what the trace says beside it.
    pub fn row(&mut self, row: &Row, trace: &dyn Trace) {
        self.list.row(row);
        let left = &row.readings.left;
        if let Some(values) = left.values.as_ref().filter(|_| left.status.is_good()) {
            self.so_far.take(Moment {
                time_s: left.time.0 as f64 * 1e-6,
                altitude_m: f64::from(values.altitude.0),
                tas_mps: values.true_airspeed.map(|speed| f64::from(speed.0)),
                position: trace.position(),
                engine: trace.engine(),
            });
        }
        let is_left_out = matches!(
            left.status,
            Status::BadPressure | Status::RepeatedTime | Status::TimeWentBack
        );
        self.taken = [self.taken[0] + 1, self.taken[1] + u64::from(is_left_out)];
        if left.status == Status::Partial {
            self.samples_partial += 1;
        } else if !matches!(left.status, Status::Ok | Status::Settling) {
            self.fault(left.status, row.line);
        }
        if let Some(values) = left.values.as_ref().filter(|_| left.status != Status::Partial) {
            self.used(left, values);
        }
        for (instrument, reading) in self.instruments.iter_mut().zip(row.readings.iter()) {
            instrument.take(reading);
        }
    }

    /// Compares a row with what was true.
    pub fn truth(&mut self, row: &Row, truth: &Truth) {
        for (instrument, reading) in self.instruments.iter_mut().zip(row.readings.iter()) {
            instrument.comparison.take(reading, truth);
        }
    }

    /// Completes the summary once the trace has been read.
    pub fn finish(&mut self, trace: &dyn Trace, notes: Vec<String>, outputs: Vec<PathBuf>) {
        self.date = trace.date();
        self.utc_at_zero_s = trace.utc_start_s();
        self.list.end();
        self.segments = self.list.listed();
        self.notes = notes;
        let flown = self.so_far.finish();
        self.instruments.iter_mut().for_each(|instrument| instrument.finish(&flown));
        self.notes
            .extend(self.unusable.values().map(|Count { what, count, first_line, .. }| {
            let samples = plural(*count, "sample");
            format!(
                "the {what} is out of range in {samples}, first at line {first_line}, and is not \
                 used there"
            )
        }));
        self.follows_the_stick = self.contents.follows_the_stick();
        self.notes.extend(self.contents.words());
        self.notes.extend(partial_note(self.samples_partial));
        self.notes.extend(self.instruments.iter().filter_map(InstrumentSummary::lacks));
        self.lines_skipped = self.skipped.values().cloned().collect();
        self.lines_skipped.sort_by_key(|skipped| skipped.first_line);
        self.caution = self.mostly_left_out();
        self.mean_interval_s = (self.interval.count > 0)
            .then(|| rounded(self.interval.total_s / self.interval.count as f64));
        self.outputs = outputs;
        for instrument in &mut self.instruments {
            instrument.against_truth = instrument.comparison.result();
        }
    }

    /// That more than half of the rows are left out.
    fn mostly_left_out(&self) -> Option<String> {
        let [samples, not_taken] = self.taken;
        let skipped = self.lines_skipped_in_all();
        let reasons = self.lines_skipped.iter().chain(&self.faults);
        let reason = reasons.max_by_key(|reason| reason.count).map(|reason| reason.what.as_str());
        mostly_left_out(skipped + not_taken, skipped + samples, reason)
    }

    /// Lines that held no sample.
    pub fn lines_skipped_in_all(&self) -> u64 {
        self.skipped.values().map(|skipped| skipped.count).sum()
    }

    /// The reason for most of them, in words.
    pub fn main_reason(&self) -> Option<&Count> {
        self.skipped.values().max_by_key(|skipped| skipped.count)
    }

    fn used(&mut self, reading: &Reading, values: &Values) {
        self.samples_used += 1;
        let seconds = reading.time.0 as f64 * 1e-6;
        self.time_s =
            Some(Ends { first: self.time_s.map_or(seconds, |time| time.first), last: seconds });
        if reading.status != Status::Suspect {
            widen(&mut self.altitude_m, values.altitude.0);
        }
        if let Some(speed) = values.true_airspeed {
            widen(&mut self.tas_mps, speed.0);
        }
        if reading.elapsed > Micros(0) && reading.status != Status::Gap {
            self.interval.count += 1;
            self.interval.total_s += reading.elapsed.0 as f64 * 1e-6;
        }
    }

    fn fault(&mut self, status: Status, line: u64) {
        match self.faults.iter_mut().find(|fault| fault.what == status.name()) {
            Some(fault) => fault.count += 1,
            None => {
                self.faults.push(Count {
                    what: status.name().into(),
                    count: 1,
                    first_line: line,
                    found: None,
                });
            }
        }
    }
}

impl InstrumentSummary {
    fn new(instrument: &Instrument) -> Self {
        Self {
            name: instrument.name.clone(),
            energy: EnergySource::None.name(),
            settings: instrument.settings.clone(),
            units: instrument.units,
            vertical_speed_mps: None,
            te_vertical_speed_mps: None,
            average_mps: None,
            altimeter_m: None,
            climbs: Climbs::default(),
            sound_s: SoundTimes::default(),
            inertial: FeltSummary::default(),
            against_truth: AgainstTruth::default(),
            comparison: Comparison::default(),
            last: Sound::Silent,
            compensated: false,
        }
    }

    fn take(&mut self, reading: &Reading) {
        let Some(values) = &reading.values else { return };
        self.energy = reading.source.name();
        let lasted = reading.elapsed.0 as f64 * 1e-6;
        match self.last {
            // The sound before a gap ended when the reading became stale.
            _ if reading.status == Status::Gap => self.sound_s.silent += lasted,
            Sound::Silent => self.sound_s.silent += lasted,
            Sound::Beeps { .. } => self.sound_s.climb += lasted,
            Sound::Steady { .. } => self.sound_s.sink += lasted,
            Sound::Pairs { .. } => self.sound_s.cruise += lasted,
            // A call is not a reading; it sounds when there is none.
            Sound::Fault { .. } => self.sound_s.silent += lasted,
        }
        self.last = values.sound;
        self.climbs.take(values.climb, reading.time.0 as f64 * 1e-6);
        self.inertial.take(reading);
        if reading.status != Status::Suspect {
            widen(&mut self.altimeter_m, values.altimeter.0);
        }
        self.compensated |= reading.source != EnergySource::None && reading.status == Status::Ok;
        if reading.status.is_good() {
            widen(&mut self.vertical_speed_mps, values.vertical_speed.0);
            widen_some(&mut self.te_vertical_speed_mps, values.te_vertical_speed);
            widen_some(&mut self.average_mps, values.average);
        }
    }

    fn finish(&mut self, flown: &[Flown]) {
        self.climbs.finish(flown);
        self.inertial.finish();
    }

    /// What the settings need and the trace does not have.
    fn lacks(&self) -> Option<String> {
        let missing = match self.energy {
            _ if self.compensated => return None,
            "electronic" => "airspeed (dynamic_pa, ias_mps or tas_mps)",
            "probe" => "total-energy probe (te_pa)",
            _ => return None,
        };
        Some(format!(
            "{}: set to {} total energy, but the trace has no {missing}; the reading is not \
             compensated",
            self.name, self.energy
        ))
    }

    /// The range of the vertical speed that sounds.
    pub fn sounded(&self) -> Option<Range> {
        self.te_vertical_speed_mps.or(self.vertical_speed_mps)
    }
}

fn count(counts: &mut BTreeMap<String, Count>, what: &str, line: u64, found: Option<&str>) {
    let new =
        || Count { what: what.into(), count: 0, first_line: line, found: found.map(Into::into) };
    counts.entry(what.into()).or_insert_with(new).count += 1;
}

fn widen_some(range: &mut Option<Range>, value: Option<MetrePerSecond>) {
    if let Some(value) = value {
        widen(range, value.0);
    }
}

/// A whole number, zero without a sign.
fn whole(value: f64) -> i64 {
    value.round() as i64
}

impl fmt::Display for Summary {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.heading(f)?;
        if let Some(height) = self.altitude_m {
            let [lowest, highest] = [height.lowest, height.highest].map(|m| self.units.height(m));
            writeln!(f, "  height        {} to {highest}", lowest.number())?;
        }
        if let Some(speed) = self.tas_mps {
            let [lowest, highest] = [speed.lowest, speed.highest].map(|mps| self.units.speed(mps));
            writeln!(f, "  airspeed      {} to {highest}", lowest.number())?;
        }
        for (place, instrument) in self.instruments.iter().enumerate() {
            if self.instruments.len() > 1 {
                writeln!(
                    f,
                    "  {} ear: {}",
                    if place == 0 { "left" } else { "right" },
                    instrument.name
                )?;
            }
            instrument.write(f, self.follows_the_stick)?;
        }
        for fault in &self.faults {
            let Count { what, count, first_line, .. } = fault;
            writeln!(f, "  {what:<13} {}, first at line {first_line}", plural(*count, "sample"))?;
        }
        for skipped in &self.lines_skipped {
            let Count { what, count, first_line, found } = skipped;
            let found = found.as_deref().map(|found| format!(": \"{}\"", shown(found)));
            let (what, found) = (one_line(what), found.unwrap_or_default());
            writeln!(
                f,
                "  not used      {}: {what}, first at line {first_line}{found}",
                plural(*count, "line")
            )?;
        }
        for note in &self.notes {
            writeln!(f, "  note          {}", one_line(note))?;
        }
        for output in &self.outputs {
            writeln!(f, "  written       {}", shown_path(output))?;
        }
        Ok(())
    }
}

impl Summary {
    fn heading(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { trace, samples_used, .. } = self;
        write!(f, "{trace}: {}", plural(*samples_used, "sample"))?;
        if self.time_s.is_some() {
            write!(f, " over {}", Clock(self.list.lasts_s()))?;
        }
        if let Some(interval) = self.mean_interval_s {
            write!(f, ", one every {}", interval_text(interval))?;
        }
        match &self.date {
            Some(date) => writeln!(f, ", {date}{}", self.utc_text()),
            None => writeln!(f),
        }?;
        self.caution.iter().try_for_each(|caution| writeln!(f, "  CAUTION       {caution}"))?;
        if self.segments.is_empty() {
            return Ok(());
        }
        writeln!(f, "  segments      {}; each is replayed on its own", self.list)
    }

    fn utc_text(&self) -> String {
        match (self.utc_at_zero_s, self.time_s) {
            (Some(zero), Some(time)) => {
                let clock = |seconds: f64| {
                    let seconds = (zero + seconds).round() as i64;
                    let (days, seconds) = (seconds.div_euclid(86_400), seconds.rem_euclid(86_400));
                    let later = match days {
                        0 => String::new(),
                        1 => " the next day".into(),
                        days => format!(" {days} days later"),
                    };
                    format!(
                        "{:02}:{:02}:{:02}{later}",
                        seconds / 3600,
                        seconds / 60 % 60,
                        seconds % 60
                    )
                };
                format!(" {} to {} UTC", clock(time.first), clock(time.last))
            }
            _ => String::new(),
        }
    }
}

fn interval_text(seconds: f64) -> String {
    if seconds < 0.5 { format!("{:.0} ms", seconds * 1e3) } else { format!("{seconds:.1} s") }
}

impl InstrumentSummary {
    /// The altimeter's range, where it shows anything but the standard atmosphere's metres.
    fn altimeter(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let AltimeterSettings { subscale_hpa, unit } = self.settings.altimeter;
        let Some(range) =
            self.altimeter_m.filter(|_| self.settings.altimeter != AltimeterSettings::default())
        else {
            return Ok(());
        };
        let shown = |height_m: f64| whole(f64::from(unit.of(Metre(height_m as f32))));
        let (lowest, highest, symbol) = (shown(range.lowest), shown(range.highest), unit.name());
        writeln!(f, "  altimeter     {lowest} to {highest} {symbol}, subscale {subscale_hpa} hPa")
    }
}

impl InstrumentSummary {
    /// Writes it in words; `follows_the_stick` where the trace has nothing that compensates it.
    fn write(&self, f: &mut fmt::Formatter<'_>, follows_the_stick: bool) -> fmt::Result {
        let Self { energy, settings, units, sound_s, .. } = self;
        let (filter, response_s) = (settings.filter.choice.name(), settings.filter.response_s);
        let average_s = settings.average.span_s;
        let energy = match *energy {
            "electronic" if follows_the_stick => {
                "electronic, of an airspeed that is none: it follows the stick"
            }
            energy => energy,
        };
        writeln!(f, "  total energy  {energy}; {filter} filter, response {response_s} s")?;
        if let Some(range) = self.sounded() {
            let [lowest, highest] = [range.lowest, range.highest].map(|mps| units.climb(mps));
            write!(f, "  reading       {} to {highest}", lowest.number())?;
            match (self.te_vertical_speed_mps, self.vertical_speed_mps) {
                (Some(_), Some(bare)) => {
                    let [lowest, highest] =
                        [bare.lowest, bare.highest].map(|mps| units.climb(mps).number());
                    writeln!(f, " (uncompensated {lowest} to {highest})")?;
                }
                _ => writeln!(f)?,
            }
        }
        if let Some(range) = self.average_mps {
            let best = units.climb(range.highest);
            writeln!(f, "  average       best {best} over {average_s} s")?;
        }
        writeln!(f, "  climbs        {}", self.climbs.in_units(*units))?;
        self.altimeter(f)?;
        let SoundTimes { climb, sink, cruise, silent } = *sound_s;
        let total = climb + sink + cruise + silent;
        if total > 0.0 {
            let part = |name, seconds| {
                format!("{name} {} ({:.0} %)", Clock(seconds), 100.0 * seconds / total)
            };
            let in_cruise =
                if cruise > 0.0 { part("cruise", cruise) + ", " } else { String::new() };
            let (climb, sink, silent) =
                (part("climb", climb), part("sink", sink), part("silent", silent));
            writeln!(f, "  sound         {climb}, {sink}, {in_cruise}{silent}")?;
        }
        write!(f, "{}", self.inertial)?;
        self.against_truth.in_units(f, *units)
    }
}
