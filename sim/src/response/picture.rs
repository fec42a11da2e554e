//! The report as a picture, 1200 pixels wide: edges, waves, still air, and noise against lag; below
//! them, or alone, rough air.

use super::air::Edge;
use super::fixed::FixedFilters;
use super::report::Report;
use super::rough::{self, report::RoughReport, trial::RoughTraces};
use super::series::{Series, Sinusoid};
use super::trial::Traces;
use crate::output::plot::chart::{Chart, dot, range_of, sheet_of};
use crate::output::plot::key::{self, Key, Mark};
use crate::output::plot::layout::{KEY_TOP, LEFT, RIGHT};
use crate::output::plot::scale::Scale;
use crate::output::plot::style;
use crate::output::plot::svg::{Anchor, Area, Pen, Svg, text_width};

/// The fixed filter that is as quiet.
const AS_QUIET: Pen = style::UNCOMPENSATED;
/// The fixed filter that is as quick.
const AS_QUICK: Pen = Pen { width: 2.0, ..style::AVERAGE };
/// The front.
const FRONT: Pen = Pen { width: 2.0, ..style::THIRD };
/// A line of a closed form has so many points.
const SMOOTH: i32 = 80;

/// The inner edges of the columns.
const MIDDLE: (f32, f32) = (572.0, 676.0);
/// Upper and lower edges of the rows.
const UPPER: (f32, f32) = (130.0, 400.0);
const LOWER: (f32, f32) = (482.0, 744.0);
/// Between the panels of gain and phase.
const GAIN_BOTTOM: f32 = 246.0;
const PHASE_TOP: f32 = 278.0;

/// The height of the page for the still part, in pixels.
const STILL_HEIGHT: f32 = 800.0;
/// From the page of the still part to the key of the rough one.
const BETWEEN: f32 = 24.0;
const TITLE: &str = "How quick, how quiet";

/// The picture of what was measured.
pub fn draw(drawing: &Drawing<'_>) -> String {
    let svg = match (drawing.still, drawing.rough) {
        (Some((report, traces)), rough) => {
            let [settings, sensor] = report.what();
            let height = STILL_HEIGHT + rough.map_or(0.0, |_| BETWEEN + rough::picture::HEIGHT);
            let svg = sheet_of(height as u32, TITLE, &format!("{settings}. {sensor}"));
            let svg = draw_still(svg, report, traces);
            with_rough(svg, STILL_HEIGHT + BETWEEN, rough)
        }
        (None, rough) => {
            let height = KEY_TOP + rough::picture::HEIGHT;
            with_rough(sheet_of(height as u32, TITLE, drawing.settings), KEY_TOP, rough)
        }
    };
    svg.finish()
}

/// What is drawn.
#[derive(Clone, Copy, Debug)]
pub struct Drawing<'a> {
    /// The settings, in words.
    pub settings: &'a str,
    /// Still air and smooth thermals.
    pub still: Option<(&'a Report, &'a Traces)>,
    /// Rough air.
    pub rough: Option<(&'a RoughReport, &'a RoughTraces)>,
}

fn with_rough(mut svg: Svg, top: f32, rough: Option<(&RoughReport, &RoughTraces)>) -> Svg {
    if let Some((report, traces)) = rough {
        rough::picture::draw(&mut svg, top, report, traces);
    }
    svg
}

fn draw_still(svg: Svg, report: &Report, traces: &Traces) -> Svg {
    let mut page = Page { svg, report, traces };
    page.key();
    page.edges();
    page.waves();
    page.still_air();
    page.front();
    page.svg
}

struct Page<'a> {
    svg: Svg,
    report: &'a Report,
    traces: &'a Traces,
}

impl Page<'_> {
    /// Which line is what.
    fn key(&mut self) {
        let limit = &self.report.limit;
        let as_quiet = format!(
            "fixed, as quiet ({:.2} s)",
            self.report.still_air.equally_quiet_fixed_response_s
        );
        let mut keys = vec![
            Key::new(Mark::Line(style::THESE), "these settings"),
            Key::new(Mark::Line(AS_QUIET), as_quiet),
            Key::new(Mark::Line(style::TRUTH), "truth"),
        ];
        if let Some(response_s) = limit.equally_quick_fixed_response_s {
            keys.insert(
                2,
                Key::new(Mark::Line(AS_QUICK), format!("fixed, as quick ({response_s:.2} s)")),
            );
        }
        key::heading(&mut self.svg, KEY_TOP, "Filters", &keys);
    }

    fn edges(&mut self) {
        let until = (4.0 * self.report.still_air.equally_quiet_fixed_response_s + 1.0)
            .clamp(4.0, 30.0) as f32;
        let area = Area { left: LEFT, top: UPPER.0, right: MIDDLE.0, bottom: UPPER.1 };
        let chart =
            Chart { area, across: Scale::between(-1.0, until), up: Scale::between(-0.3, 4.7) };
        chart.ground(&mut self.svg, "Mean reading, thermals met within 1 s (m/s)", "time (s)");
        for traces in &self.traces.edges {
            let truth = [(-1.0, 0.0), (0.0, 0.0), (traces.edge.lasts_s, traces.edge.to_mps)];
            let truth = truth.into_iter().chain([(f64::from(until), traces.edge.to_mps)]);
            self.svg.path(&chart.line(truth), style::TRUTH);
            self.svg.path(&chart.line(traces.present.points()), style::THESE);
            self.svg.path(&chart.line(traces.fixed.points()), AS_QUIET);
        }
        chart.frame(&mut self.svg);
    }

    fn waves(&mut self) {
        let points = &self.report.waves.points;
        let across = Scale::logarithmic(0.02, 2.0);
        let upper = Area { left: MIDDLE.1, top: UPPER.0, right: RIGHT, bottom: GAIN_BOTTOM };
        let lower = Area { top: PHASE_TOP, bottom: UPPER.1, ..upper };
        let lags = points.iter().flat_map(|wave| [wave.phase_lag_deg, wave.fixed_phase_lag_deg]);
        let most_deg = lags.fold(180.0, f64::max) as f32;
        let gains =
            points.iter().flat_map(|wave| [wave.gain, wave.fixed_gain]).fold(1.1, f64::max) as f32;
        let amplitude = self.report.waves.amplitude_mps;
        let gain = Chart { area: upper, across, up: Scale::between(0.0, gains) };
        let phase = Chart { area: lower, across, up: Scale::between(0.0, most_deg * 1.05) };
        gain.ground(&mut self.svg, &format!("Gain for a sinusoid of {amplitude} m/s"), "");
        phase.ground(&mut self.svg, "Phase lag (degrees)", "frequency (Hz)");
        self.points(&gain, points.iter().map(|wave| (wave.frequency_hz, wave.gain)));
        self.points(&phase, points.iter().map(|wave| (wave.frequency_hz, wave.phase_lag_deg)));
        let fixed = self.fixed_waves();
        self.svg.path(&gain.line(fixed.iter().map(|(hz, wave)| (*hz, wave.gain))), AS_QUIET);
        self.svg
            .path(&phase.line(fixed.iter().map(|(hz, wave)| (*hz, wave.phase_lag_deg))), AS_QUIET);
        gain.frame(&mut self.svg);
        phase.frame(&mut self.svg);
    }

    /// What the fixed filter makes of waves between the first and the last that were measured.
    fn fixed_waves(&self) -> Vec<(f64, Sinusoid)> {
        let report = self.report;
        let filters = FixedFilters { step_s: 1.0 / report.rate_hz, noise_m: report.sensor_noise_m };
        let (Some(first), Some(last)) = (report.waves.points.first(), report.waves.points.last())
        else {
            return Vec::new();
        };
        let ratio = last.frequency_hz / first.frequency_hz;
        let frequencies = (0..=SMOOTH).map(|place| {
            first.frequency_hz * libm::pow(ratio, f64::from(place) / f64::from(SMOOTH))
        });
        let response_s = report.still_air.equally_quiet_fixed_response_s;
        frequencies.map(|hz| (hz, filters.sinusoid(response_s, hz))).collect()
    }

    fn still_air(&mut self) {
        let runs = [
            (&self.traces.still_as_quick, AS_QUICK),
            (&self.traces.still, style::THESE),
            // On top, and thin: it may be the same.
            (&self.traces.still_as_quiet, Pen { width: 1.5, ..AS_QUIET }),
        ];
        let values = runs.iter().flat_map(|(series, _)| &series.values_mps);
        let most = values.fold(0.0_f64, |most, value| most.max(value.abs())) as f32;
        let most = 1.1 * most.max(1e-3);
        let until = self.traces.still.times_s.last().copied().unwrap_or(1.0) as f32;
        let area = Area { left: LEFT, top: LOWER.0, right: MIDDLE.0, bottom: LOWER.1 };
        let chart =
            Chart { area, across: Scale::between(0.0, until), up: Scale::between(-most, most) };
        chart.ground(&mut self.svg, "Still air, one run (m/s)", "time (s)");
        let (from, to) = (chart.at(0.0, 0.0), chart.at(f64::from(until), 0.0));
        self.svg.line(from, to, style::ZERO);
        for (series, pen) in runs {
            self.svg.path(&chart.line(Series::points(series)), pen);
        }
        chart.frame(&mut self.svg);
    }

    fn front(&mut self) {
        let report = self.report;
        let (these_mps, these_s) = (report.still_air.noise_mps, report.limit.lag_50_s);
        let front: Vec<_> =
            report.front.iter().filter_map(|point| Some((point, point.lag_50_s?))).collect();
        let lags = || front.iter().map(|(_, lag_s)| *lag_s).chain(these_s);
        let noises = || front.iter().map(|(point, _)| point.noise_mps).chain([these_mps]);
        let area = Area { left: MIDDLE.1, top: LOWER.0, right: RIGHT, bottom: LOWER.1 };
        let chart = Chart { area, across: scale_of(noises()), up: scale_of(lags()) };
        let edge = Edge::FRONT;
        let heading = format!("Lag to 50 % of {} m/s within {} s (s)", edge.to_mps, edge.lasts_s);
        chart.ground(&mut self.svg, &heading, "noise in still air (m/s rms)");
        self.front_words(&chart);
        self.svg
            .path(&chart.line(front.iter().map(|(point, lag_s)| (point.noise_mps, *lag_s))), FRONT);
        for (point, lag_s) in &front {
            let at = chart.at(point.noise_mps, *lag_s);
            dot(&mut self.svg, at, 4.0, FRONT.colour);
            let words = format!("{} s", point.response_s);
            self.svg.text((at.0 + 8.0, at.1 - 6.0), Anchor::Start, style::POINT_LABEL, &words);
        }
        if let Some(these_s) = these_s {
            self.lines_to_front(&chart, these_s);
            dot(&mut self.svg, chart.at(these_mps, these_s), 7.0, style::THESE.colour);
        }
        chart.frame(&mut self.svg);
    }

    /// What the points are, and what the fixed filters cost that are as quick or as quiet; in the
    /// corner where no filter can be.
    fn front_words(&mut self, chart: &Chart) {
        let report = self.report;
        let late = report.at_front_edge().and_then(|front| front.lag_50_ratio);
        let late = late
            .map(|ratio| format!("a fixed filter as quiet is {:.1} times as late", 1.0 / ratio));
        let noisy = report.limit.noise_ratio_of_equal_lag;
        let noisy =
            noisy.map(|ratio| format!("one as quick has {:.1} times the noise", 1.0 / ratio));
        let words =
            [Some(String::from("small dots: fixed filters, by response time")), late, noisy];
        let (top, right) = (chart.area.top, chart.area.right - 8.0);
        for (line, words) in words.into_iter().flatten().enumerate() {
            let line = top + 20.0 * (line + 1) as f32;
            let left = right
                - text_width(&words, style::POINT_LABEL.size, style::POINT_LABEL.weight)
                - 4.0;
            // The lines of the grid would cross the words out.
            self.svg.rectangle(
                Area { left, top: line - 15.0, right: right + 4.0, bottom: line + 5.0 },
                style::PANEL,
            );
            self.svg.text((right, line), Anchor::End, style::POINT_LABEL, &words);
        }
    }

    /// From the settings' point to the fixed filters that are as quick and as quiet.
    fn lines_to_front(&mut self, chart: &Chart, these_s: f64) {
        let these_mps = self.report.still_air.noise_mps;
        let as_quick =
            self.report.limit.equally_quick_fixed_noise_mps.map(|noise_mps| (noise_mps, these_s));
        let as_quiet =
            self.report.at_front_edge().and_then(|front| Some((these_mps, front.fixed.lag_50_s?)));
        for (noise_mps, lag_s) in [as_quick, as_quiet].into_iter().flatten() {
            self.svg.line(chart.at(these_mps, these_s), chart.at(noise_mps, lag_s), style::LINK);
        }
    }

    fn points(&mut self, chart: &Chart, points: impl Iterator<Item = (f64, f64)> + Clone) {
        self.svg.path(&chart.line(points.clone()), style::THESE);
        for (x, y) in points {
            dot(&mut self.svg, chart.at(x, y), 4.0, style::THESE.colour);
        }
    }
}

/// A logarithmic axis for these values, with room for a label beyond the last.
fn scale_of(values: impl Iterator<Item = f64>) -> Scale {
    let (low, high) = range_of(values);
    Scale::logarithmic(low as f32, 1.5 * high as f32)
}

#[cfg(test)]
mod tests {
    use super::super::request::Request;
    use super::super::trial;
    use super::*;
    use crate::output::plot::testing::{assert_readable, texts};
    use crate::settings_file;
    use chirrup_core::Settings;
    use std::sync::atomic::AtomicBool;

    fn drawn(settings: &str, rate_hz: f64, noise_m: f64) -> String {
        let instrument = settings_file::load(settings, &Settings::default()).unwrap();
        let request = Request {
            instrument,
            rate_hz,
            noise_m,
            seeds: 2,
            rough_seeds: 1,
            flights: 2,
            thermals: 1,
            only: None,
            plot: None,
        };
        let (report, traces) = trial::run(&request, &AtomicBool::new(false)).unwrap();
        let still = Some((&report, &traces));
        draw(&Drawing { settings, still, rough: None })
    }

    #[test]
    fn pictures_of_quick_and_slow_filters_behind_good_and_bad_sensors_can_be_read() {
        for (settings, rate_hz, noise_m) in [
            ("response_s=1", 20.0, 0.1),
            ("filter=fixed,response_s=0.1", 20.0, 0.002),
            ("filter=fixed,response_s=6", 2.0, 5.0),
            ("noise_m=0.5", 1.0, 0.5),
        ] {
            let svg = drawn(settings, rate_hz, noise_m);
            assert_readable(settings, &svg);
            let words: Vec<String> = texts(&svg).into_iter().map(|(words, _)| words).collect();
            for part in ["these settings", settings, "fixed, as quiet", "Still air"] {
                assert!(
                    words.iter().any(|found| found.contains(part)),
                    "{settings}: {part} is not in {words:?}"
                );
            }
        }
    }
}
