//! Flies every case with every seed, on all cores, and measures every filter on each flight.

use super::case::{CASES, Case, GUSTS_05, INERTIAL_CASES};
use super::flown::{self, Flown};
use super::heard::{Heard, hear};
use super::report::RoughReport;
use super::rows::{self, Alone, Tallies};
use super::tally::{SETTLES_S, Tally};
use crate::error::{Error, Result};
use crate::progress::Work;
use crate::response::series::Series;
use crate::response::trial;
use crate::response::with::With;
use chirrup_core::{EnergyChoice, FilterChoice, Pipeline, Settings};
use rayon::prelude::*;
use std::sync::atomic::{AtomicBool, Ordering};

/// Response times of the fixed filters, in ratios of about 1.4.
pub const RESPONSES_S: [f64; 8] = [0.35, 0.5, 0.7, 1.0, 1.4, 2.0, 2.8, 4.0];
/// How much of a flight the picture shows, s.
const SHOWN_S: f64 = 60.0;

/// What the picture shows: a stretch straight on in gusts of 0.5 m/s.
#[derive(Clone, Debug, Default)]
pub struct RoughTraces {
    /// The truth.
    pub truth: Series,
    /// The settings' reading.
    pub present: Series,
    /// The reading of the fixed filter with the least error.
    pub fixed: Series,
    /// That filter's response, s.
    pub fixed_response_s: f64,
    /// When climb sounded under these settings, s.
    pub climbs_s: Vec<(f64, f64)>,
}

/// Measures `settings` in rough air; `interrupted` stops it between two flights.
///
/// # Errors
/// On an interruption.
pub fn run(
    settings: &Settings,
    seeds: u32,
    interrupted: &AtomicBool,
) -> Result<(RoughReport, RoughTraces)> {
    let pipelines = pipelines(settings)?;
    let all = || CASES.iter().chain(&INERTIAL_CASES);
    let jobs: Vec<(&Case, u32)> =
        all().flat_map(|case| (0..seeds).map(move |seed| (case, seed))).collect();
    let work = Work::new(jobs.len() as u64);
    let tallies: Vec<(Vec<Tally>, Option<[Tally; 2]>)> = jobs
        .par_iter()
        .map(|(case, seed)| {
            if interrupted.load(Ordering::Relaxed) {
                return Err(Error::Interrupted);
            }
            let flown = flown::fly(case, u64::from(*seed) + 1);
            let tally = |pipeline, with| Tally::of(case, &flown, &hear(pipeline, &flown, with));
            let filters = if INERTIAL_CASES.contains(case) { 1 } else { pipelines.len() };
            let tally_alone = |it| tally(it, With::Pressures);
            let tallies = pipelines[..filters].iter().map(tally_alone).collect();
            let both = [With::Inertial, With::Satellites];
            let has_inertial = case.sensors.has_inertial();
            let inertial = has_inertial.then(|| both.map(|with| tally(&pipelines[0], with)));
            work.step();
            Ok((tallies, inertial))
        })
        .collect::<Result<_>>()?;
    let cases: Vec<Tallies> = all()
        .zip(tallies.chunks(seeds as usize))
        .map(|(case, of_seed)| Tallies {
            case: *case,
            of_seed: of_seed.iter().map(|(tallies, _)| tallies.clone()).collect(),
            inertial: of_seed.iter().filter_map(|(_, inertial)| *inertial).collect(),
        })
        .collect();
    let straight = cases.iter().find(|tallies| tallies.case == GUSTS_05);
    let best = straight.map_or(1, |tallies| tallies.best_fixed(RESPONSES_S.len()));
    let alone = alone(settings, interrupted)?;
    Ok((rows::report(&cases, alone, &RESPONSES_S), traces(&pipelines, best)))
}

/// The filter alone, measured as in still air, at 50 Hz and 0.1 m of noise.
fn alone(settings: &Settings, interrupted: &AtomicBool) -> Result<Alone> {
    let (still_air, edges) = trial::quietness(settings, interrupted)?;
    let ratio = |climb_mps: f64| {
        let edges = edges.iter().filter(|edge| edge.edge().rise_mps().abs() == climb_mps);
        edges.map(|edge| edge.lag_50_ratio).reduce(|a, b| Some(f64::max(a?, b?))).flatten()
    };
    Ok(Alone { noise_mps: still_air.noise_mps, lag_ratios: [ratio(1.0), ratio(2.0)] })
}

/// That of the settings, then those of the fixed filters. The source of the energy is the pitot.
fn pipelines(settings: &Settings) -> Result<Vec<Pipeline>> {
    let mut settings = settings.clone();
    settings.energy.choice = EnergyChoice::Electronic;
    settings.tone.silent_until_launch = false;
    let refused = |error: chirrup_core::SettingsError| Error::Settings(error.to_string());
    let mut pipelines = vec![settings.build().map_err(refused)?];
    settings.filter.choice = FilterChoice::Fixed;
    for response_s in RESPONSES_S {
        settings.filter.response_s = response_s as f32;
        pipelines.push(settings.build().map_err(refused)?);
    }
    Ok(pipelines)
}

fn traces(pipelines: &[Pipeline], best: usize) -> RoughTraces {
    let mut flown = flown::fly(&GUSTS_05, 1);
    let until = flown.times_s.partition_point(|time_s| *time_s <= SETTLES_S + SHOWN_S);
    flown.samples.truncate(until);
    flown.times_s.truncate(until);
    flown.truth_mps.truncate(until);
    flown.circles.truncate(until);
    let [present, fixed] = [0, best].map(|place| hear(&pipelines[place], &flown, With::Pressures));
    RoughTraces {
        truth: shown(&flown, flown.truth_mps.clone()),
        present: shown(&flown, readings(&present)),
        fixed: shown(&flown, readings(&fixed)),
        fixed_response_s: RESPONSES_S[best - 1],
        climbs_s: present.climbs_s,
    }
}

fn readings(heard: &Heard) -> Vec<f64> {
    heard.reading_mps.iter().map(|reading| reading.unwrap_or(0.0)).collect()
}

fn shown(flown: &Flown, values_mps: Vec<f64>) -> Series {
    Series { times_s: flown.times_s.clone(), values_mps }.since(SETTLES_S)
}
