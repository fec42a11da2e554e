//! The table: a line a disturbance, with what it must stay within.

use super::effect::{Effect, Trial};
use super::flight::Source;
use super::grid::{self, SOURCES, USUAL_S, VENT_RISES_S};
use chirrup_core::{FilterChoice, Pipeline, Settings};
use rayon::prelude::*;
use std::fmt;

/// Sizes of single wrong samples at one sample a second, at one in four seconds, and those of the
/// latter that are hard to tell from a climb.
const SPIKES_AT_1_S_M: [f32; 3] = [10.0, 20.0, 30.0];
const SPIKES_AT_4_S_M: [f32; 3] = [30.0, 50.0, 100.0];
const SMALL_SPIKES_M: [f32; 4] = [5.0, 10.0, 17.0, 25.0];

/// What one disturbance does, all its sizes taken together.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// The disturbance and its conditions.
    pub case: String,
    /// How many sizes were tried.
    pub sizes: usize,
    /// With how many a climb sounded at all.
    pub sounding: usize,
    /// Seconds of climb sound, of all sizes.
    pub sum_s: f64,
    /// In how many flights `check_static` was said, and how many there were.
    pub warned: (usize, usize),
    /// The worst single size.
    pub worst: Effect,
    /// What it must stay within.
    pub must: Must,
}

/// The most that is allowed; `None` where nothing is required.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Must {
    /// How many sizes may sound.
    pub sounding: Option<usize>,
    /// Seconds of climb sound, of all sizes.
    pub sum_s: Option<f64>,
    /// Seconds of climb sound of one size.
    pub climb_s: Option<f64>,
    /// How far the reading may move, m/s.
    pub moved_mps: Option<f64>,
    /// Within how many seconds every flight must say `check_static`; without it, none may.
    pub check_static_s: Option<f64>,
}

impl Must {
    const SILENT: Self = Self { climb_s: Some(0.0), ..Self::NOTHING };
    const NOTHING: Self =
        Self { sounding: None, sum_s: None, climb_s: None, moved_mps: None, check_static_s: None };

    /// Silent, and the reading moves by at most so many m/s.
    fn silent_within(moved_mps: f64) -> Self {
        Self { moved_mps: Some(moved_mps), ..Self::SILENT }
    }
}

impl Row {
    /// Flies every trial with `seeds` noises; the worst noise counts.
    pub fn fly(case: &str, trials: &[Trial], pipeline: &Pipeline, seeds: u64, must: Must) -> Self {
        let effects: Vec<Vec<Effect>> = trials
            .par_iter()
            .map(|trial| (0..seeds).map(|seed| trial.fly(pipeline, seed)).collect())
            .collect();
        let of_seed = |seed: usize| effects.iter().map(move |effects| effects[seed]);
        let sounding = |seed| of_seed(seed).filter(|effect| effect.climb_s > 0.0).count();
        let sum_s = |seed| of_seed(seed).map(|effect| effect.climb_s).sum::<f64>();
        Self {
            case: case.to_owned(),
            sizes: trials.len(),
            sounding: (0..seeds as usize).map(sounding).max().unwrap_or(0),
            sum_s: (0..seeds as usize).map(sum_s).fold(0.0, f64::max),
            warned: {
                let warns = |effect: &&Effect| effect.check_static_s.is_some();
                let flights = || effects.iter().flatten();
                (flights().filter(warns).count(), flights().count())
            },
            worst: effects.iter().flatten().fold(Effect::default(), |worst, one| worst.worse(*one)),
            must,
        }
    }

    /// Whether it stays within what it must.
    pub fn is_good(&self) -> bool {
        fn within<T: PartialOrd>(value: T, most: Option<T>) -> bool {
            most.is_none_or(|most| value <= most)
        }
        within(self.sounding, self.must.sounding)
            && within(self.sum_s, self.must.sum_s)
            && within(self.worst.climb_s, self.must.climb_s)
            && within(self.worst.moved_mps, self.must.moved_mps)
            && self.warns_well()
    }

    /// Whether `check_static` is said in every flight and in time, or in none.
    fn warns_well(&self) -> bool {
        let (warned, flights) = self.warned;
        match (self.must.check_static_s, self.worst.check_static_s) {
            (Some(most_s), Some(after_s)) => warned == flights && after_s <= most_s,
            (must, said) => must.is_none() && said.is_none(),
        }
    }
}

impl fmt::Display for Row {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { case, sizes, sounding, sum_s, warned, worst, must } = self;
        let Effect { climb_s, moved_mps, check_static_s } = worst;
        write!(
            f,
            "{case:<44} {sounding:>3} of {sizes:>3} sound, {sum_s:>7.1} s in all, {climb_s:>6.2} \
             s at most, moved by {moved_mps:>7.2} m/s; "
        )?;
        if let (Some(after_s), (said, flights)) = (check_static_s, warned) {
            write!(f, "check_static in {said} of {flights} flights, after {after_s:.0} s; ")?;
        }
        if *must == Must::NOTHING && self.is_good() {
            return write!(f, "no bound");
        }
        let bounds = [
            must.sounding.map(|most| format!("{most} sound")),
            must.sum_s.map(|most| format!("{most} s in all")),
            must.climb_s.map(|most| format!("{most} s")),
            must.moved_mps.map(|most| format!("{most} m/s")),
            must.check_static_s.map(|most| format!("check_static within {most} s")),
        ];
        let bounds: Vec<_> = bounds.into_iter().flatten().collect();
        let verdict = if self.is_good() { "good" } else { "NOT WITHIN" };
        write!(f, "{verdict}: {}", bounds.join(", "))
    }
}

/// The instrument with the default settings and this filter.
fn instrument(choice: FilterChoice) -> Pipeline {
    let mut settings = Settings::default();
    settings.filter.choice = choice;
    settings.build().expect("the defaults are good")
}

/// Radio bursts on an instrument without and with an airspeed.
pub fn bursts(seeds: u64) -> Vec<Row> {
    let must = Must { sounding: Some(18), sum_s: Some(7.0), ..Must::NOTHING };
    let pipeline = instrument(FilterChoice::Adaptive);
    let row = |source| {
        let case = format!("bursts, {}", name_of(source));
        Row::fly(&case, &grid::bursts(source), &pipeline, seeds, must)
    };
    SOURCES.map(row).to_vec()
}

/// Vents by their rise time.
pub fn vents(seeds: u64) -> Vec<Row> {
    let pipeline = instrument(FilterChoice::Adaptive);
    let row = |rise_s: f32| {
        let must = match rise_s {
            0.1 | 0.2 => Must { climb_s: Some(0.1), ..Must::NOTHING },
            0.3 => Must { climb_s: Some(2.0), ..Must::NOTHING },
            _ => Must::NOTHING,
        };
        let case = format!("vent, with an airspeed, rises in {rise_s} s");
        Row::fly(&case, &grid::vents(rise_s), &pipeline, seeds, must)
    };
    VENT_RISES_S.map(row).to_vec()
}

/// Steps by the time between samples.
pub fn steps(choice: FilterChoice, seeds: u64) -> Vec<Row> {
    let pipeline = instrument(choice);
    let row = |interval_s: f64| {
        let must = Must::silent_within(if interval_s < 1.0 { 0.2 } else { 0.6 });
        let name = if choice == FilterChoice::Adaptive { "adaptive" } else { "fixed" };
        let case = format!("steps, {name} filter, every {interval_s} s");
        Row::fly(&case, &grid::steps(interval_s), &pipeline, seeds, must)
    };
    [USUAL_S, 0.05, 0.25, 1.0].map(row).to_vec()
}

/// Wrong samples at the start of a slow log.
pub fn starts(seeds: u64) -> Vec<Row> {
    let pipeline = instrument(FilterChoice::Adaptive);
    let start = |interval_s: f64| {
        let case = format!("bad start, a sample every {interval_s} s");
        let must = Must::silent_within(1.0);
        Row::fly(&case, &grid::starts(interval_s), &pipeline, seeds, must)
    };
    [1.0, 2.0, 4.0].map(start).to_vec()
}

/// Single wrong samples in a slow log.
pub fn spikes(seeds: u64) -> Vec<Row> {
    let pipeline = instrument(FilterChoice::Adaptive);
    let spikes = |interval_s: f64, sizes_m: &[f32], must| {
        let (least, most) = (sizes_m[0], sizes_m[sizes_m.len() - 1]);
        let case = format!("one wrong by {least} to {most} m, every {interval_s} s");
        Row::fly(&case, &grid::spikes(interval_s, sizes_m), &pipeline, seeds, must)
    };
    vec![
        spikes(1.0, &SPIKES_AT_1_S_M, Must::SILENT),
        spikes(4.0, &SPIKES_AT_4_S_M, Must::SILENT),
        spikes(4.0, &SMALL_SPIKES_M, Must::NOTHING),
    ]
}

/// A coarse barometer.
pub fn coarse(seeds: u64) -> Vec<Row> {
    let pipeline = instrument(FilterChoice::Adaptive);
    let coarse = |interval_s: f64| {
        let case = format!("a barometer in steps of 4 Pa, every {interval_s} s");
        Row::fly(&case, &grid::coarse(interval_s), &pipeline, seeds, Must::SILENT)
    };
    [USUAL_S, 0.05, 0.25, 1.0].map(coarse).to_vec()
}

/// Ice in a line, on an instrument with an airspeed.
pub fn ice(seeds: u64) -> Vec<Row> {
    let pipeline = instrument(FilterChoice::Adaptive);
    let suspected = Must { check_static_s: Some(85.0), ..Must::NOTHING };
    [("static", grid::static_ice(), suspected), ("pitot", grid::pitot_ice(), Must::NOTHING)]
        .map(|(line, trials, must)| {
            let case = format!("ice in the {line} line");
            Row::fly(&case, &trials, &pipeline, seeds, must)
        })
        .to_vec()
}

/// The quickest of the ices in the static line.
pub fn quick_ice(seeds: u64) -> Row {
    let suspected = Must { check_static_s: Some(40.0), ..Must::NOTHING };
    let (case, trial) = ("ice in the static line, within 5 s", &grid::static_ice()[..1]);
    Row::fly(case, trial, &instrument(FilterChoice::Adaptive), seeds, suspected)
}

fn name_of(source: Source) -> &'static str {
    match source {
        Source::Static => "static pressure alone",
        Source::Airspeed => "with an airspeed",
    }
}
