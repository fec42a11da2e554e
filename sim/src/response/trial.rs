//! Measures all figures of the report.

use super::air::{Air, Edge, Flight};
use super::bench::{Bench, Span};
use super::fixed::FixedFilters;
use super::report::{
    EdgeReport, FlightError, FlightReport, FrontPoint, Limit, Quickness, Ramp, Report, StillAir,
    Wave, Waves,
};
use super::request::Request;
use super::series::Series;
use crate::error::{Error, Result};
use chirrup_core::stages::Estimator;
use chirrup_core::{FilterChoice, Settings};
use std::sync::atomic::{AtomicBool, Ordering};

/// The filter settles within so many seconds, samples or response times, whichever is longest; the
/// samples are for measuring the sensor's noise, which begins at a guess
/// (core/src/motion/noise.rs).
const SETTLES_S: f64 = 20.0;
const SETTLES_SAMPLES: f64 = 300.0;
const SETTLES_RESPONSES: f64 = 6.0;
/// An edge is looked at for so long or for so many response times after it; a fixed filter is then
/// within 1e-3 of the end.
const FOLLOWED_S: f64 = 20.0;
const FOLLOWED_RESPONSES: f64 = 8.0;
/// Still air, each run.
const STILL_S: f64 = 120.0;
/// The delay under a steady acceleration is the mean over so long.
const DELAY_OVER_S: f64 = 10.0;
const ACCELERATION_MPS2: f64 = 0.2;
/// Waves are averaged over whole periods, two at least and no less than this.
const LEAST_WAVE_S: f64 = 20.0;
const WAVES_HZ: [f64; 8] = [0.02, 0.05, 0.1, 0.2, 0.3, 0.5, 1.0, 2.0];
const EDGES_S: [f64; 2] = [1.0, 3.0];
const CLIMBS_MPS: [f64; 3] = [1.0, 2.0, 4.0];
/// What the settings allow, in about equal ratios.
const FRONT_S: [f64; 11] = [0.1, 0.15, 0.25, 0.4, 0.6, 1.0, 1.5, 2.5, 4.0, 6.0, 10.0];
/// Fixed filters are sought between these.
const SOUGHT_S: (f64, f64) = (0.02, 20.0);
/// Any number beyond the seeds of the other trials.
const FLIGHT_SEED: u32 = u32::MAX;
/// What the picture shows of the still air.
const STILL_SHOWN_S: f64 = 30.0;

/// What the picture shows beside the report.
#[derive(Clone, Debug, Default)]
pub struct Traces {
    /// Mean readings at edges from still air within 1 s.
    pub edges: Vec<EdgeTraces>,
    /// The settings' reading in still air.
    pub still: Series,
    /// That of the fixed filter that is as quiet.
    pub still_as_quiet: Series,
    /// That of the fixed filter that is as quick, where there is one.
    pub still_as_quick: Series,
}

/// Mean readings at one edge.
#[derive(Clone, Debug)]
pub struct EdgeTraces {
    /// What the air does.
    pub edge: Edge,
    /// The settings' mean reading.
    pub present: Series,
    /// That of the fixed filter that is as quiet.
    pub fixed: Series,
}

/// Runs the requested measurement; `interrupted` stops it between two trials.
///
/// # Errors
/// On an interruption.
pub fn run(request: &Request, interrupted: &AtomicBool) -> Result<(Report, Traces)> {
    let mut trial = Trial::new(request, interrupted);
    let still_air = trial.still_air()?;
    trial.fixed_s = still_air.equally_quiet_fixed_response_s;
    let (edges, traces) = trial.edges()?;
    let ramp = trial.ramp()?;
    let waves = trial.waves()?;
    let limit = trial.limit(&still_air, &edges, &ramp);
    let front = trial.front();
    let flight = trial.flight(&still_air)?;
    let traces = trial.with_still_air(traces, &limit);
    let report = Report {
        name: request.instrument.name.clone(),
        settings: request.instrument.settings.clone(),
        rate_hz: request.rate_hz,
        sensor_noise_m: request.noise_m,
        seeds: request.seeds,
        still_air,
        edges,
        ramp,
        waves,
        limit,
        front,
        flight,
    };
    Ok((report, traces))
}

/// What rough air is compared with: still air, and edges of 1 and 2 m/s within 1 s, for a sensor
/// of 50 Hz and 0.1 m.
///
/// # Errors
/// On an interruption.
pub fn quietness(
    settings: &Settings,
    interrupted: &AtomicBool,
) -> Result<(StillAir, Vec<EdgeReport>)> {
    let bench = Bench { rate_hz: 50.0, noise_m: 0.1, seeds: 50 };
    let mut trial = Trial::of(settings, bench, interrupted);
    let still_air = trial.still_air()?;
    trial.fixed_s = still_air.equally_quiet_fixed_response_s;
    let edge = |(from_mps, to_mps)| {
        let edge = Edge { from_mps, to_mps, lasts_s: 1.0 };
        edge_report(edge, &trial.present_at(edge), &trial.fixed_at(edge, trial.fixed_s))
    };
    let edges = [(0.0, 1.0), (1.0, 0.0), (0.0, 2.0), (2.0, 0.0)].map(edge);
    Ok((still_air, edges.to_vec()))
}

struct Trial<'a> {
    interrupted: &'a AtomicBool,
    bench: Bench,
    filters: FixedFilters,
    climb_from_mps: f64,
    present: Estimator,
    response_s: f64,
    /// Response of the fixed filter that is as quiet, once it is known.
    fixed_s: f64,
}

impl<'a> Trial<'a> {
    fn new(request: &Request, interrupted: &'a AtomicBool) -> Self {
        let Request { rate_hz, noise_m, seeds, .. } = *request;
        let bench = Bench { rate_hz, noise_m, seeds };
        Self::of(&request.instrument.settings, bench, interrupted)
    }

    fn of(settings: &Settings, bench: Bench, interrupted: &'a AtomicBool) -> Self {
        let response_s = f64::from(settings.filter.response_s);
        Self {
            interrupted,
            filters: FixedFilters { step_s: 1.0 / bench.rate_hz, noise_m: bench.noise_m },
            bench,
            climb_from_mps: f64::from(settings.tone.climb_from_mps),
            present: Estimator::of(&settings.filter).expect("the settings were checked"),
            response_s,
            fixed_s: response_s,
        }
    }

    fn still_air(&self) -> Result<StillAir> {
        let span = self.span(self.response_s, STILL_S);
        let (mut square, mut beyond) = (0.0, 0.0);
        for seed in 0..self.bench.seeds {
            self.go_on()?;
            let run = self.bench.noisy(&self.present, Air::Still, span, seed).since(0.0);
            square += run.mean(|_, value| value * value);
            beyond += run.mean(|_, value| if value > self.climb_from_mps { 1.0 } else { 0.0 });
        }
        let seeds = f64::from(self.bench.seeds);
        let noise_mps = (square / seeds).sqrt();
        Ok(StillAir {
            noise_mps,
            climb_from_mps: self.climb_from_mps,
            beyond_climb_threshold_fraction: beyond / seeds,
            equally_quiet_fixed_response_s: self.filters.response_s(noise_mps),
        })
    }

    fn edges(&self) -> Result<(Vec<EdgeReport>, Traces)> {
        let (mut reports, mut traces) = (Vec::new(), Traces::default());
        for lasts_s in EDGES_S {
            for climb_mps in CLIMBS_MPS {
                for (from_mps, to_mps) in [(0.0, climb_mps), (climb_mps, 0.0)] {
                    self.go_on()?;
                    let edge = Edge { from_mps, to_mps, lasts_s };
                    let (present, fixed) =
                        (self.present_at(edge), self.fixed_at(edge, self.fixed_s));
                    reports.push(edge_report(edge, &present, &fixed));
                    if from_mps == 0.0 && lasts_s == Edge::FRONT.lasts_s {
                        traces.edges.push(EdgeTraces { edge, present, fixed });
                    }
                }
            }
        }
        Ok((reports, traces))
    }

    /// The settings' mean reading at an edge.
    fn present_at(&self, edge: Edge) -> Series {
        let slower_s = self.response_s.max(self.fixed_s);
        self.bench.mean(
            &self.present,
            Air::Edge(edge),
            self.span(slower_s, followed_s(edge, slower_s)),
        )
    }

    /// A fixed filter's mean reading at an edge: as it is linear, that is its reading without
    /// noise.
    fn fixed_at(&self, edge: Edge, response_s: f64) -> Series {
        let slower_s = self.response_s.max(response_s);
        self.bench.noiseless(
            &fixed(response_s),
            Air::Edge(edge),
            self.span(slower_s, followed_s(edge, slower_s)),
        )
    }

    fn ramp(&self) -> Result<Ramp> {
        self.go_on()?;
        let slower_s = self.response_s.max(self.fixed_s);
        let until_s = FOLLOWED_RESPONSES * slower_s + DELAY_OVER_S;
        let (air, span) = (Air::Ramp(ACCELERATION_MPS2), self.span(slower_s, until_s));
        let delay_s = |mean: Series| {
            let late = mean.since(until_s - DELAY_OVER_S);
            late.mean(|time_s, value| (air.climb_mps(time_s) - value) / ACCELERATION_MPS2)
        };
        Ok(Ramp {
            acceleration_mps2: ACCELERATION_MPS2,
            delay_s: delay_s(self.bench.mean(&self.present, air, span)),
            fixed_delay_s: delay_s(self.bench.noiseless(&fixed(self.fixed_s), air, span)),
        })
    }

    fn waves(&self) -> Result<Waves> {
        let below_hz = 0.25 * self.bench.rate_hz;
        let points = WAVES_HZ.into_iter().filter(|frequency_hz| *frequency_hz <= below_hz);
        let points = points.map(|frequency_hz| self.wave(frequency_hz)).collect::<Result<_>>()?;
        Ok(Waves { amplitude_mps: 1.0, points })
    }

    fn wave(&self, frequency_hz: f64) -> Result<Wave> {
        self.go_on()?;
        let periods = (LEAST_WAVE_S * frequency_hz).ceil().max(2.0);
        let lasts_s = periods / frequency_hz;
        let mean = self.bench.mean(
            &self.present,
            Air::Wave(frequency_hz),
            self.span(self.response_s, lasts_s),
        );
        // The sample at the end is that at the beginning once more.
        let found = mean.between(0.0, lasts_s - 0.5 * self.filters.step_s).sinusoid(frequency_hz);
        let fixed = self.filters.sinusoid(self.fixed_s, frequency_hz);
        Ok(Wave {
            frequency_hz,
            gain: found.gain,
            phase_lag_deg: found.phase_lag_deg,
            fixed_gain: fixed.gain,
            fixed_phase_lag_deg: fixed.phase_lag_deg,
        })
    }

    fn limit(&self, still_air: &StillAir, edges: &[EdgeReport], ramp: &Ramp) -> Limit {
        let at_front = edges.iter().find(|report| report.edge() == Edge::FRONT);
        let lag_50_s = at_front.and_then(|report| report.present.lag_50_s);
        let as_quick_s = lag_50_s.and_then(|lag_s| self.fixed_of_lag(lag_s));
        let as_quick_mps = as_quick_s.map(|response_s| self.filters.noise_mps(response_s));
        let of_delay_mps = self.filters.noise_mps(ramp.delay_s);
        Limit {
            fixed_noise_of_ramp_delay_mps: of_delay_mps,
            noise_ratio_of_ramp_delay: still_air.noise_mps / of_delay_mps,
            lag_50_s,
            equally_quick_fixed_response_s: as_quick_s,
            equally_quick_fixed_noise_mps: as_quick_mps,
            noise_ratio_of_equal_lag: as_quick_mps.map(|noise_mps| still_air.noise_mps / noise_mps),
        }
    }

    /// The response of the fixed filter that has this lag to 50 % at the front's edge, where there
    /// is one.
    fn fixed_of_lag(&self, lag_s: f64) -> Option<f64> {
        let is_quicker = |response_s| {
            let reached_s = self.fixed_at(Edge::FRONT, response_s).reaches(
                Edge::FRONT.from_mps,
                Edge::FRONT.to_mps,
                0.5,
            );
            reached_s.is_some_and(|reached_s| reached_s - 0.5 * Edge::FRONT.lasts_s < lag_s)
        };
        let (mut quick, mut slow) = SOUGHT_S;
        if !is_quicker(quick) || is_quicker(slow) {
            return None;
        }
        for _ in 0..20 {
            let middle = (quick * slow).sqrt();
            if is_quicker(middle) { quick = middle } else { slow = middle }
        }
        Some((quick * slow).sqrt())
    }

    fn front(&self) -> Vec<FrontPoint> {
        // A response shorter than a time step is no different from the shortest that there is.
        let responses = FRONT_S.into_iter().filter(|response_s| *response_s >= self.filters.step_s);
        let point = |response_s| {
            let Quickness { lag_50_s, lag_90_s, .. } =
                quickness(Edge::FRONT, &self.fixed_at(Edge::FRONT, response_s));
            FrontPoint {
                response_s,
                noise_mps: self.filters.noise_mps(response_s),
                lag_50_s,
                lag_90_s,
            }
        };
        responses.map(point).collect()
    }

    fn flight(&self, still_air: &StillAir) -> Result<FlightReport> {
        let flight = Flight::new();
        let span = self.span(self.response_s, Flight::LASTS_S);
        let error_mps = |estimator: &Estimator| {
            let run =
                self.bench.noisy(estimator, Air::Flight(&flight), span, FLIGHT_SEED).since(0.0);
            run.rms(|time_s, value| value - Air::Flight(&flight).climb_mps(time_s))
        };
        let of_fixed = |response_s: f64, error_mps: f64| FlightError {
            response_s: Some(response_s),
            error_mps,
            still_air_noise_mps: self.filters.noise_mps(response_s),
        };
        let present = FlightError {
            response_s: None,
            error_mps: error_mps(&self.present),
            still_air_noise_mps: still_air.noise_mps,
        };
        self.go_on()?;
        let (best_s, best_mps) = lowest(SOUGHT_S, |response_s| error_mps(&fixed(response_s)));
        Ok(FlightReport {
            lasts_s: Flight::LASTS_S,
            present,
            best_fixed: of_fixed(best_s, best_mps),
            equally_quiet_fixed: of_fixed(self.fixed_s, error_mps(&fixed(self.fixed_s))),
        })
    }

    /// The same sensor noise through the filters that the picture compares.
    fn with_still_air(&self, traces: Traces, limit: &Limit) -> Traces {
        let span = self.span(self.response_s.max(self.fixed_s), STILL_SHOWN_S);
        let run =
            |estimator| self.bench.noisy(&estimator, Air::Still, span, FLIGHT_SEED).since(0.0);
        Traces {
            still: run(self.present),
            still_as_quiet: run(fixed(self.fixed_s)),
            still_as_quick: limit
                .equally_quick_fixed_response_s
                .map(fixed)
                .map(run)
                .unwrap_or_default(),
            ..traces
        }
    }

    fn span(&self, slower_s: f64, after_s: f64) -> Span {
        let samples_s = SETTLES_SAMPLES / self.bench.rate_hz;
        Span { before_s: SETTLES_S.max(samples_s).max(SETTLES_RESPONSES * slower_s), after_s }
    }

    fn go_on(&self) -> Result<()> {
        if self.interrupted.load(Ordering::Relaxed) { Err(Error::Interrupted) } else { Ok(()) }
    }
}

fn fixed(response_s: f64) -> Estimator {
    Estimator::new(FilterChoice::Fixed, response_s as f32, None)
}

fn followed_s(edge: Edge, slower_s: f64) -> f64 {
    FOLLOWED_S.max(edge.lasts_s + FOLLOWED_RESPONSES * slower_s)
}

fn edge_report(edge: Edge, present: &Series, fixed: &Series) -> EdgeReport {
    let (present, fixed) = (quickness(edge, present), quickness(edge, fixed));
    let ratio = |ours: Option<f64>, theirs: Option<f64>| Some(ours? / theirs?);
    EdgeReport {
        from_mps: edge.from_mps,
        to_mps: edge.to_mps,
        edge_s: edge.lasts_s,
        present,
        fixed,
        lag_50_ratio: ratio(present.lag_50_s, fixed.lag_50_s),
        lag_90_ratio: ratio(present.lag_90_s, fixed.lag_90_s),
    }
}

fn quickness(edge: Edge, mean: &Series) -> Quickness {
    let lag_s =
        |share| Some(mean.reaches(edge.from_mps, edge.to_mps, share)? - share * edge.lasts_s);
    Quickness {
        lag_50_s: lag_s(0.5),
        lag_90_s: lag_s(0.9),
        overshoot_fraction: mean.overshoot(edge.from_mps, edge.to_mps),
    }
}

/// Where between two numbers above zero `of` is lowest, to 1 %, and how low: a grid of equal
/// ratios, and finer ones about its best.
fn lowest((mut low, mut high): (f64, f64), of: impl Fn(f64) -> f64) -> (f64, f64) {
    const PLACES: i32 = 10;
    let mut best = (low, f64::INFINITY);
    for _ in 0..4 {
        let ratio = libm::pow(high / low, 1.0 / f64::from(PLACES));
        for place in 0..=PLACES {
            let at = low * libm::pow(ratio, f64::from(place));
            let value = of(at);
            if value < best.1 {
                best = (at, value);
            }
        }
        (low, high) = (best.0 / ratio, best.0 * ratio);
    }
    best
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn the_lowest_point_is_found_to_a_percent_wherever_it_lies() {
        for lowest_at in [0.021, 0.3, 1.0, 17.0_f64] {
            let (at, value) = lowest(SOUGHT_S, |place| 2.0 + (place / lowest_at).ln().abs());
            assert_relative_eq!(at, lowest_at, max_relative = 0.01);
            assert_relative_eq!(value, 2.0, max_relative = 0.01);
        }
    }
}
