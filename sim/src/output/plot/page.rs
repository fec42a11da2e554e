//! Draws the page: height, vertical speed, pitch, faults, and a close-up of the beeps.
//!
//! How vertical speed and pitch are drawn depends on how much time falls on a pixel: every beep as
//! a stroke, then lines, then bands from the lowest to the highest value, with the average as a
//! line on top.

use super::bins::Channel;
use super::history::{Ear, History};
use super::key::{self, Key, Mark, heading};
use super::labels::PictureLabels;
use super::layout::{self, Layout};
use super::panel::Panel;
use super::pieces::Pieces;
use super::pulses::{CloseUp, Kind};
use super::scale::{Limits, Scale, label};
use super::style;
use super::svg::{Anchor, Area, Pen, Svg, fit, text_width};
use crate::units::Shown;
use chirrup_core::{Status, TICK};

/// In a trace no longer than this the quickest beep (40 ms) is a pixel wide, and each is drawn.
const EACH_BEEP_BELOW_US: i64 = 40_000_000;
/// Where a column is at least so long (a trace of more than 17 minutes), a line would fill all
/// between its extremes.
const BANDS_FROM_COLUMN_US: i64 = 1_000_000;
/// Vertical speeds beyond this are no glider's (the end of the core's tone tables).
const POSSIBLE_MPS: f32 = 60.0;
/// A trace that has no length is drawn as if it were so long.
const LEAST_SPAN_US: i64 = 1_000_000;
/// Smallest width of a fault's mark, in pixels.
const LEAST_MARK: f32 = 3.0;
/// Smallest width of the close-up's marker, in pixels.
const LEAST_MARKER: f32 = 4.0;

/// The picture of `history`, 1200 by 800 pixels; `utc_start_us` is the time of day at the trace's
/// time zero.
pub fn draw(history: &History, labels: &PictureLabels, utc_start_us: Option<i64>) -> String {
    let mut page = Page::new(history, labels, utc_start_us);
    page.title();
    page.ground();
    page.height();
    page.speed();
    page.pitch();
    page.say_where_nothing_is();
    page.faults();
    page.breaks();
    page.time();
    page.close_up();
    page.svg.finish()
}

struct Page<'a> {
    history: &'a History,
    labels: &'a PictureLabels,
    svg: Svg,
    layout: Layout,
    time: Pieces,
    span_us: i64,
    detail: Detail,
    close_up: Option<&'a CloseUp>,
}

/// How much of the sound can be seen.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Detail {
    EachBeep,
    Lines,
    Bands,
}

/// A quantity, and how it is drawn and named.
struct Trace<'a> {
    channel: &'a Channel,
    look: Look,
    words: String,
}

#[derive(Clone, Copy)]
enum Look {
    Line(Pen),
    LastValues(Pen),
    Band(&'static str),
    /// A band that shows what is behind it.
    Veil(&'static str),
}

impl<'a> Page<'a> {
    fn new(history: &'a History, labels: &'a PictureLabels, utc_start_us: Option<i64>) -> Self {
        let span_us =
            Some(history.span_us()).filter(|&span_us| span_us > 0).unwrap_or(LEAST_SPAN_US);
        let few_beeps = history.ears.iter().all(|ear| ear.pulses.all().is_some());
        let detail = match span_us {
            ..=EACH_BEEP_BELOW_US if few_beeps => Detail::EachBeep,
            _ if history.columns.width_us() < BANDS_FROM_COLUMN_US => Detail::Lines,
            _ => Detail::Bands,
        };
        let time = Pieces::of(history, span_us, utc_start_us);
        let close_up = history.close_up().filter(|_| detail != Detail::EachBeep);
        Self {
            history,
            labels,
            svg: Svg::new(layout::WIDTH, layout::HEIGHT, &labels.title, &labels.subtitle),
            layout: Layout::new(history.faults.lanes().count(), close_up.is_some()),
            time,
            span_us,
            detail,
            close_up,
        }
    }

    fn title(&mut self) {
        let page = Area {
            left: 0.0,
            top: 0.0,
            right: layout::WIDTH as f32,
            bottom: layout::HEIGHT as f32,
        };
        self.svg.rectangle(page, style::PAPER);
        for (line, kind, words) in [
            (layout::TITLE_LINE, style::TITLE, &self.labels.title),
            (layout::SUBTITLE_LINE, style::SUBTITLE, &self.labels.subtitle),
        ] {
            let words = fit(words, kind.size, kind.weight, layout::RIGHT - layout::LEFT);
            self.svg.text((layout::LEFT, line), Anchor::Start, kind, &words);
        }
    }

    /// What lies behind the lines: panels, gaps, the marker of the close-up, the lines of the time
    /// axis.
    fn ground(&mut self) {
        let gaps = self.gaps();
        let marker = self.close_up.map(|close_up| self.marker(close_up));
        let (ticks, _) = self.time.ticks();
        for area in self.layout.panels().into_iter().chain(self.layout.lanes.clone()) {
            self.svg.rectangle(area, style::PANEL);
            for &(left, right) in &gaps {
                self.svg.rectangle(Area { left, right, ..area }, style::GAP);
            }
            if let Some((left, right)) = marker {
                self.svg.rectangle(Area { left, right, ..area }, style::MARKER);
            }
            for (x, _) in &ticks {
                self.svg.line((*x, area.top), (*x, area.bottom), style::GRID);
            }
        }
        if let (Some((left, right)), Some(to)) = (marker, self.layout.close_up) {
            let from = self.layout.time_axis();
            let cone = format!(
                "M{left:.1},{from:.1}H{right:.1}L{:.1},{:.1}H{:.1}Z",
                to.right, to.top, to.left
            );
            self.svg.shape(&cone, style::CONE);
        }
    }

    fn say_where_nothing_is(&mut self) {
        let kind = style::TICK_LABEL;
        let area = self.layout.height;
        let words = "no reading";
        for (left, right) in self.gaps() {
            if right - left > text_width(words, kind.size, kind.weight) + 8.0 {
                self.svg.text(
                    (0.5 * (left + right), area.bottom - 8.0),
                    Anchor::Middle,
                    kind,
                    words,
                );
            }
        }
        if self.history.altitude_m.is_empty() {
            let words =
                if self.history.first().is_some() { "no usable samples" } else { "no samples" };
            for area in self.layout.panels() {
                let at = (0.5 * (area.left + area.right), 0.5 * (area.top + area.bottom) - 9.0);
                self.svg.text(at, Anchor::Middle, style::SUBTITLE, words);
            }
        }
    }

    fn height(&mut self) {
        let channel = &self.history.altitude_m;
        let traces = [Trace { channel, look: Look::Line(style::HEIGHT), words: String::new() }];
        let (low, high) = (f32::INFINITY, f32::NEG_INFINITY);
        let nowhere = Limits { low, high, width: 20.0, ordinary: 1000.0, possible: f32::INFINITY };
        let limits =
            if channel.is_empty() { Limits { low: 0.0, high: 1000.0, ..nowhere } } else { nowhere };
        let panel = self.panel(self.layout.height, scale_of(&traces, limits));
        let units = self.labels.units;
        let shown = |height_m: f64| units.height(height_m);
        self.axis_in(&panel, 5, shown(1.0).value);
        let keys = self.traces(&panel, &traces, &shown);
        let unit = units.height.name();
        self.finish_panel(&panel, &format!("Pressure altitude ({unit})"), &keys);
    }

    fn speed(&mut self) {
        let traces = self.speeds();
        let limits =
            Limits { low: -2.0, high: 2.0, width: 4.0, ordinary: 20.0, possible: POSSIBLE_MPS };
        let panel = self.panel(self.layout.speed, scale_of(&traces, limits));
        let units = self.labels.units;
        let shown = |climb_mps: f64| units.climb(climb_mps).finer(-1);
        self.axis_in(&panel, 7, shown(1.0).value);
        let zero = panel.y(0.0);
        self.svg.line((panel.area.left, zero), (panel.area.right, zero), style::ZERO);
        let keys = self.traces(&panel, &traces, &shown);
        let unit = units.climb.name();
        self.finish_panel(&panel, &format!("Vertical speed ({unit})"), &keys);
    }

    /// The quantities of the panel of vertical speed, from the hindmost to the foremost.
    fn speeds(&self) -> Vec<Trace<'a>> {
        let ears = &self.history.ears;
        let bands = self.detail == Detail::Bands;
        match &ears.right {
            None if bands => bands_of_one(&ears.left),
            None => lines_of_one(&ears.left),
            Some(right) => {
                let second = self.labels.right.as_deref().unwrap_or("second instrument");
                let looks = if bands {
                    [Look::Band(style::LEFT.colour), Look::Veil(style::RIGHT.colour)]
                } else {
                    [Look::Line(style::LEFT), Look::Line(style::RIGHT)]
                };
                let trace =
                    |ear: &'a Ear, look, words| Trace { channel: &ear.heard_mps, look, words };
                vec![
                    trace(&ears.left, looks[0], format!("left: {}", self.labels.left)),
                    trace(right, looks[1], format!("right: {second}")),
                ]
            }
        }
    }

    fn pitch(&mut self) {
        let history = self.history;
        let channels =
            history.ears.iter().flat_map(|ear| [&ear.pulses.beep_hz, &ear.pulses.steady_hz]);
        let (low, high) = channels
            .flat_map(Channel::spans)
            .fold((250.0_f32, 1000.0_f32), |(low, high), (_, span)| {
                (low.min(span.low), high.max(span.high))
            });
        let panel = self.panel(self.layout.pitch, Scale::logarithmic(low, high));
        self.axis(&panel, 6);
        let (mut beeps, mut steady) = (Vec::new(), Vec::new());
        for (ear, look) in history.ears.iter().zip(self.sound_looks()) {
            beeps.push(self.beeps(&panel, ear, look));
            steady.push(self.steady(&panel, ear, look));
        }
        let keys = [
            Key { marks: beeps, words: String::from("climb: beeps") },
            Key { marks: steady, words: String::from("sink: steady tone") },
        ];
        self.finish_panel(&panel, "Pitch of the sound (Hz)", &keys);
    }

    /// Pens for the beeps and the steady tone of each instrument.
    fn sound_looks(&self) -> Vec<(Pen, Pen)> {
        match self.history.ears.right {
            None => vec![(style::BEEPS, style::STEADY)],
            Some(_) => vec![(style::LEFT_BEEPS, style::LEFT), (style::RIGHT_BEEPS, style::RIGHT)],
        }
    }

    /// Draws the beeps of one instrument and returns what they look like.
    fn beeps(&mut self, panel: &Panel, ear: &Ear, (pen, _): (Pen, Pen)) -> Mark {
        let channel = &ear.pulses.beep_hz;
        match self.detail {
            Detail::EachBeep => {
                self.svg.strokes(&panel.beeps(&ear.pulses.all().unwrap_or_default()), pen);
                Mark::Beeps(pen)
            }
            Detail::Lines => {
                let pen = Pen { width: 0.5 * pen.width, dash: Some((5.0, 3.0)), ..pen };
                self.svg.path(&panel.line(channel), pen);
                Mark::Line(pen)
            }
            Detail::Bands => {
                let is_thin = pen == style::RIGHT_BEEPS;
                let width = if is_thin { 1.2 } else { 2.4 };
                self.svg.shape(&panel.stripes(channel, width), pen.colour);
                Mark::Stripes(pen.colour, width)
            }
        }
    }

    /// Draws the steady tone of one instrument and returns what it looks like.
    fn steady(&mut self, panel: &Panel, ear: &Ear, (_, pen): (Pen, Pen)) -> Mark {
        let channel = &ear.pulses.steady_hz;
        if self.detail == Detail::Bands && pen != style::RIGHT {
            self.svg.shape(&panel.band(channel), pen.colour);
            return Mark::Band(pen.colour);
        }
        self.svg.path(&panel.line(channel), pen);
        Mark::Line(pen)
    }

    fn faults(&mut self) {
        let Some(first) = self.layout.lanes.first().copied() else { return };
        let lanes: Vec<_> = self.history.faults.lanes().collect();
        let counts: Vec<String> = lanes
            .iter()
            .map(|(status, count, _)| format!("{} {count}", words_of(*status)))
            .collect();
        let x = heading(&mut self.svg, first.top, "Faults (samples)", &[]);
        let kind = style::KEY;
        let words = fit(&counts.join("  \u{b7}  "), kind.size, kind.weight, layout::RIGHT - x);
        self.svg.text((x, first.top - key::ABOVE), Anchor::Start, kind, &words);
        for ((status, _, places), area) in lanes.iter().zip(self.layout.lanes.clone()) {
            self.svg.line((area.left, area.bottom), (area.right, area.bottom), style::GRID);
            let at = (area.left - 8.0, area.bottom - 4.0);
            self.svg.text(at, Anchor::End, style::LANE, short_name(*status));
            let panel = self.panel(area, Scale::logarithmic(1.0, 10.0));
            for (left, right) in runs_of(places) {
                let (left, right) = (panel.column_x(left), panel.column_x(right + 1));
                let left = left.min(area.right - LEAST_MARK);
                let right = right.max(left + LEAST_MARK);
                let mark = Area { left, top: area.top + 3.0, right, bottom: area.bottom - 3.0 };
                self.svg.rectangle(mark, style::FAULT);
            }
        }
        let bottom = self.layout.time_axis();
        self.frame(Area { bottom, ..first });
    }

    fn time(&mut self) {
        let bottom = self.layout.time_axis();
        let area = Area { bottom, ..self.layout.pitch };
        let (ticks, unit) = self.time.ticks();
        self.time_labels(area, &ticks);
        let title = format!("{} ({unit})", self.time.title());
        self.svg.text((area.right, bottom + 42.0), Anchor::End, style::TICK_LABEL, &title);
    }

    fn breaks(&mut self) {
        let areas = self.layout.panels();
        self.time.draw_breaks(&mut self.svg, &self.history.breaks, &areas);
    }

    fn close_up(&mut self) {
        let (Some(close_up), Some(area)) = (self.close_up, self.layout.close_up) else { return };
        let times_us = (tick_us(close_up.from), tick_us(close_up.to));
        let pitches =
            close_up.pulses.iter().flatten().flat_map(|pulse| [pulse.first_hz, pulse.last_hz]);
        let (low, high) =
            pitches.fold((f32::INFINITY, 0.0_f32), |(low, high), hz| (low.min(hz), high.max(hz)));
        let widen = (1.6 * low / high).max(1.2).sqrt();
        let panel =
            Panel { times_us, ..self.panel(area, Scale::logarithmic(low / widen, high * widen)) };
        self.svg.rectangle(area, style::PANEL);
        self.axis(&panel, 4);
        for (pulses, (beeps, steady)) in close_up.pulses.iter().zip(self.sound_looks()) {
            self.svg.strokes(&panel.steady(pulses), Pen { width: beeps.width, ..steady });
            self.svg.strokes(&panel.beeps(pulses), beeps);
        }
        let found = self.time.part(times_us.0, times_us.1);
        let found = found.ticks(area.width(), style::TICK_LABEL.size).ticks;
        let at = |(place, words): (f32, String)| (area.left + place * area.width(), words);
        self.time_labels(area, &found.into_iter().map(at).collect::<Vec<_>>());
        self.frame(area);
        self.close_up_heading(area, close_up);
    }

    fn close_up_heading(&mut self, area: Area, close_up: &CloseUp) {
        let seconds = tick_us(close_up.to - close_up.from) / 1_000_000;
        let is_beep = |pulse: &&_| {
            matches!(pulse, super::pulses::Pulse { kind: Kind::Beep, continued: false, .. })
        };
        let beeps = close_up.pulses.as_ref().map(|pulses| pulses.iter().filter(is_beep).count());
        let counted = match beeps.right {
            None => format!("{} beeps", beeps.left),
            Some(right) => format!("{} beeps left, {right} right", beeps.left),
        };
        let climb = self.labels.units.climb(f64::from(close_up.climb_mps)).to_string();
        let climb = climb.replace('-', "\u{2212}");
        let words = format!("the {seconds} s of the strongest climb, about {climb}: {counted}");
        let name = "Close-up (Hz)";
        let x = heading(&mut self.svg, area.top, name, &[]);
        self.svg.text((x, area.top - key::ABOVE), Anchor::Start, style::KEY, &words);
    }

    /// Draws the traces of a panel and returns the entries of its key.
    fn traces(
        &mut self,
        panel: &Panel,
        traces: &[Trace<'_>],
        shown: &dyn Fn(f64) -> Shown,
    ) -> Vec<Key> {
        let mut keys = Vec::new();
        for trace in traces.iter().filter(|trace| !trace.channel.is_empty()) {
            let mark = self.trace(panel, trace);
            if !trace.words.is_empty() {
                keys.push(Key::new(mark, trace.words.as_str()));
            }
        }
        if self.history.ears.right.is_none() {
            keys.reverse(); // what is foremost comes first
        }
        if let Some((arrows, furthest)) = panel.arrows(traces.iter().map(|trace| trace.channel)) {
            self.svg.shape(&arrows, style::FAULT);
            let furthest = shown(f64::from(furthest)).unsigned();
            let words = format!("off the scale: {furthest}").replace('-', "\u{2212}");
            keys.push(Key::new(Mark::Arrow, words));
        }
        keys
    }

    fn trace(&mut self, panel: &Panel, trace: &Trace<'_>) -> Mark {
        match trace.look {
            Look::Line(pen) => {
                self.svg.path(&panel.line(trace.channel), pen);
                Mark::Line(pen)
            }
            Look::LastValues(pen) => {
                self.svg.path(&panel.last_values(trace.channel), pen);
                Mark::Line(pen)
            }
            Look::Band(colour) => {
                self.svg.shape(&panel.band(trace.channel), colour);
                Mark::Band(colour)
            }
            Look::Veil(colour) => {
                self.svg.veil(&panel.band(trace.channel), colour);
                Mark::Veil(colour)
            }
        }
    }

    /// Lines and labels of a value axis.
    fn axis(&mut self, panel: &Panel, most: usize) {
        self.axis_in(panel, most, 1.0);
    }

    /// The same in a unit of which `a_unit` make one of the panel's.
    fn axis_in(&mut self, panel: &Panel, most: usize, a_unit: f64) {
        let a_unit = a_unit as f32;
        let Area { left, top, right, bottom } = panel.area;
        let fitting = (panel.area.height() / 20.0) as usize;
        let ticks = panel.scale.times(a_unit).ticks(most.min(fitting).max(2));
        for &tick in &ticks {
            let y = panel.y(tick / a_unit);
            self.svg.line((left, y), (right, y), style::GRID);
            let at = (left - 8.0, (y + 5.0).clamp(top + 11.0, bottom));
            self.svg.text(at, Anchor::End, style::TICK_LABEL, &label(tick, &ticks));
        }
    }

    fn time_labels(&mut self, area: Area, ticks: &[(f32, String)]) {
        for (x, words) in ticks {
            self.svg.line((*x, area.bottom), (*x, area.bottom + 4.0), style::FRAME);
            // The last label may not leave the page.
            let half = 0.5 * text_width(words, style::TICK_LABEL.size, style::TICK_LABEL.weight);
            let x = x.min(layout::WIDTH as f32 - 4.0 - half);
            self.svg.text((x, area.bottom + 19.0), Anchor::Middle, style::TICK_LABEL, words);
        }
    }

    fn finish_panel(&mut self, panel: &Panel, name: &str, keys: &[Key]) {
        heading(&mut self.svg, panel.area.top, name, keys);
        self.frame(panel.area);
    }

    fn frame(&mut self, area: Area) {
        self.svg.line((area.left, area.top), (area.left, area.bottom), style::FRAME);
        self.svg.line((area.left, area.bottom), (area.right, area.bottom), style::FRAME);
    }

    /// A panel with the long time axis.
    fn panel(&self, area: Area, scale: Scale) -> Panel {
        Panel {
            area,
            scale,
            times_us: (0, self.span_us),
            column_us: self.history.columns.width_us(),
        }
    }

    /// Where lines have holes, from left to right, in pixels.
    fn gaps(&self) -> Vec<(f32, f32)> {
        let panel = self.panel(self.layout.height, Scale::logarithmic(1.0, 10.0));
        let runs = self.history.altitude_m.runs();
        let ends = runs.windows(2).filter_map(|pair| Some((pair[0].last()?.0, pair[1].first()?.0)));
        ends.map(|(last, next)| (panel.column_x(last + 1), panel.column_x(next))).collect()
    }

    /// Where the close-up is taken from; wide enough to be seen.
    fn marker(&self, close_up: &CloseUp) -> (f32, f32) {
        let panel = self.panel(self.layout.height, Scale::logarithmic(1.0, 10.0));
        let (left, right) = (panel.x(tick_us(close_up.from)), panel.x(tick_us(close_up.to)));
        let missing = 0.5 * (LEAST_MARKER - (right - left)).max(0.0);
        (left - missing, right + missing)
    }
}

fn lines_of_one(ear: &Ear) -> Vec<Trace<'_>> {
    let line = |channel, pen, words: &str| Trace {
        channel,
        look: Look::Line(pen),
        words: words.to_owned(),
    };
    let average = line(&ear.average_mps, style::AVERAGE, "average");
    if ear.compensated_mps.is_empty() {
        return vec![
            average,
            line(&ear.uncompensated_mps, style::UNCOMPENSATED_ALONE, "uncompensated (heard)"),
        ];
    }
    vec![
        average,
        line(&ear.uncompensated_mps, style::UNCOMPENSATED, "uncompensated"),
        line(&ear.compensated_mps, style::COMPENSATED, "compensated (heard)"),
    ]
}

fn bands_of_one(ear: &Ear) -> Vec<Trace<'_>> {
    let trace = |channel, look, words: &str| Trace { channel, look, words: words.to_owned() };
    let average = trace(&ear.average_mps, Look::LastValues(style::AVERAGE_ON_BANDS), "average");
    if ear.compensated_mps.is_empty() {
        let band = Look::Band(style::UNCOMPENSATED_BAND_ALONE);
        return vec![trace(&ear.uncompensated_mps, band, "uncompensated (heard)"), average];
    }
    vec![
        trace(&ear.uncompensated_mps, Look::Band(style::UNCOMPENSATED_BAND), "uncompensated"),
        trace(&ear.compensated_mps, Look::Band(style::COMPENSATED_BAND), "compensated (heard)"),
        average,
    ]
}

fn scale_of(traces: &[Trace<'_>], limits: Limits) -> Scale {
    let spans = || traces.iter().flat_map(|trace| trace.channel.spans());
    Scale::linear(
        spans().map(|(_, span)| span.low).collect(),
        spans().map(|(_, span)| span.high).collect(),
        limits,
    )
}

/// First and last of each run of neighbouring columns.
fn runs_of(places: &[usize]) -> Vec<(usize, usize)> {
    places.chunk_by(|a, b| a + 1 == *b).map(|run| (run[0], run[run.len() - 1])).collect()
}

fn words_of(status: Status) -> String {
    status.name().replace('_', " ")
}

/// A name that fits beside a lane.
fn short_name(status: Status) -> &'static str {
    match status {
        Status::Ok | Status::Settling | Status::Partial => "",
        Status::Frozen => "frozen",
        Status::Suspect => "",
        Status::NoCompensation => "no comp.",
        Status::CheckTubes => "tubes",
        Status::CheckStatic => "static",
        Status::CheckInertial => "inertial",
        Status::Gap => "gap",
        Status::ClockReset => "clock",
        Status::BadPressure => "pressure",
        Status::RepeatedTime => "repeated",
        Status::TimeWentBack => "backward",
    }
}

fn tick_us(ticks: u64) -> i64 {
    (ticks as i64).saturating_mul(TICK.0)
}
