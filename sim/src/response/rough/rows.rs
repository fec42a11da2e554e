//! From the tallies of every seed and filter to the rows of the table.

use super::bounds::{FILTER, MUST, MUST_INERTIAL, Measure};
use super::case::{Case, ENTRY_2_GUSTS, GUSTS_05, LASTS_S};
use super::report::{InertialRow, RoughReport, Row, Trade};
use super::tally::{SETTLES_S, Tally};

/// The tallies of a case: of every seed those of these settings and then of every fixed filter.
#[derive(Clone, Debug)]
pub struct Tallies {
    /// The case.
    pub case: Case,
    /// One list a seed.
    pub of_seed: Vec<Vec<Tally>>,
    /// Of every seed that of these settings with an inertial sensor, and with a satellite receiver
    /// as well; empty where the case has none.
    pub inertial: Vec<[Tally; 2]>,
}

/// What is known of the filter alone, in still air.
#[derive(Clone, Copy, Debug)]
pub struct Alone {
    /// Noise of its reading, m/s rms.
    pub noise_mps: f64,
    /// Its lag at edges of 1 and 2 m/s as a share of the fixed filter's of the same noise.
    pub lag_ratios: [Option<f64>; 2],
}

impl Alone {
    fn row(self, measure: Measure, must: Option<f64>) -> Row {
        let present = match measure {
            Measure::NoiseMps => Some(self.noise_mps),
            Measure::LagRatioAt1 => self.lag_ratios[0],
            Measure::LagRatioAt2 => self.lag_ratios[1],
            _ => None,
        };
        Row {
            case: FILTER,
            title: "the filter alone in still air, against the fixed one as quiet",
            measure,
            present,
            best_fixed: None,
            best_fixed_response_s: None,
            must,
            holds: holds(measure, must, present),
        }
    }
}

/// The report; `responses_s` are those of the fixed filters.
pub fn report(cases: &[Tallies], alone: Alone, responses_s: &[f64]) -> RoughReport {
    let find = |name: &str| cases.iter().find(|tallies| tallies.case.name == name);
    let rows = MUST.iter().filter_map(|(name, measure, must)| match *name {
        FILTER => Some(alone.row(*measure, *must)),
        name => Some(row(find(name)?, *measure, *must, responses_s)),
    });
    let trade = |filter: usize, response_s: Option<f64>| Trade {
        response_s,
        half_late_s: find(ENTRY_2_GUSTS.name)
            .and_then(|tallies| tallies.worst(Measure::HalfLateS, filter)),
        false_spells: find(GUSTS_05.name)
            .and_then(|tallies| tallies.worst(Measure::FalseSpells, filter))
            .unwrap_or_default(),
    };
    RoughReport {
        seeds: cases.first().map_or(0, |tallies| tallies.of_seed.len() as u32),
        counted_s: LASTS_S - SETTLES_S,
        rows: rows.collect(),
        inertial: MUST_INERTIAL
            .iter()
            .filter_map(|(name, measure, must, with)| {
                inertial_row(find(name)?, *measure, [*must, *with])
            })
            .collect(),
        present: trade(0, None),
        front: (1..=responses_s.len())
            .map(|filter| trade(filter, Some(responses_s[filter - 1])))
            .collect(),
    }
}

fn row(tallies: &Tallies, measure: Measure, must: Option<f64>, responses_s: &[f64]) -> Row {
    let best = tallies.best_fixed(responses_s.len());
    let present = tallies.worst(measure, 0);
    Row {
        case: tallies.case.name,
        title: tallies.case.title,
        measure,
        present,
        best_fixed: tallies.worst(measure, best),
        best_fixed_response_s: Some(responses_s[best - 1]),
        must,
        holds: holds(measure, must, present),
    }
}

/// A row with an inertial sensor; `None` for a case without.
fn inertial_row(tallies: &Tallies, measure: Measure, must: [f64; 2]) -> Option<InertialRow> {
    if tallies.inertial.is_empty() {
        return None;
    }
    let of = |place: usize| tallies.inertial.iter().map(move |both| &both[place]);
    let found = [worst(of(0), measure), worst(of(1), measure)];
    let held = |place: usize| holds(measure, Some(must[place]), found[place]) == Some(true);
    Some(InertialRow {
        case: tallies.case.name,
        title: tallies.case.title,
        measure,
        pressures: tallies.worst(measure, 0),
        inertial: found[0],
        with_satellites: found[1],
        must: must[0],
        must_with_satellites: must[1],
        holds: held(0) && held(1),
    })
}

/// Whether a figure holds its bound; one that cannot be told does not.
fn holds(measure: Measure, must: Option<f64>, present: Option<f64>) -> Option<bool> {
    let must = must?;
    let is_held = |found: f64| {
        if measure.is_better_high() { found >= must } else { found <= must }
    };
    Some(present.is_some_and(is_held))
}

impl Tallies {
    /// The worst seed's figure of a filter, the settings being filter 0.
    fn worst(&self, measure: Measure, filter: usize) -> Option<f64> {
        worst(self.of_seed.iter().map(|filters| &filters[filter]), measure)
    }

    /// The fixed filter with the least error over all seeds.
    pub fn best_fixed(&self, filters: usize) -> usize {
        let error = |filter: usize| -> f64 {
            self.of_seed.iter().map(|filters| filters[filter].error_mps.powi(2)).sum()
        };
        (1..=filters).min_by(|a, b| error(*a).total_cmp(&error(*b))).unwrap_or(1)
    }
}

/// The worst seed's figure.
fn worst<'a>(tallies: impl Iterator<Item = &'a Tally>, measure: Measure) -> Option<f64> {
    let worse = if measure.is_better_high() { f64::min } else { f64::max };
    let figures = tallies.map(|tally| figure(tally, measure));
    figures.reduce(|one, other| Some(worse(one?, other?))).flatten()
}

fn figure(tally: &Tally, measure: Measure) -> Option<f64> {
    match measure {
        Measure::ErrorMps => Some(tally.error_mps),
        Measure::WorstMps => Some(tally.worst_mps),
        Measure::MeanMps => Some(tally.mean_mps.abs()),
        Measure::BeforeMps => tally.before_mps,
        Measure::FalseBeeps => Some(tally.false_climb.beeps),
        Measure::FalseSpells => Some(tally.false_climb.spells),
        Measure::HalfLateS => tally.entries.half_late_s(),
        Measure::MissedPercent => Some(100.0 * tally.entries.missed_share()),
        Measure::LagDeg => tally.harmonic.map(|harmonic| harmonic.lag_deg),
        Measure::Gain => tally.harmonic.map(|harmonic| harmonic.gain),
        Measure::NoiseMps | Measure::LagRatioAt1 | Measure::LagRatioAt2 => None,
    }
}
