//! What a tuning is worth without a truth: planted flights, whose truth is known, tuned with it and
//! again with its columns removed.
//!
//! Judged by the truth: what the settings cost that were chosen without it, against those that were
//! chosen with it. And what is told of false beeps and missed climbs without the truth, against
//! what the truth says.

use crate::error::{Error, Result};
use crate::progress::Work;
use crate::recording::Recording;
use crate::rough_flight::fly_scenario;
use crate::text_table::{Column, Table};
use crate::tune::choose::{Choice, Wanted};
use crate::tune::report::Judged;
use crate::tune::run::Tried;
use crate::tune::score::{Score, Sums};
use crate::tune::table::judge;
use crate::tune::verdict::{Decision, Verdict};
use chirrup_core::Settings;
use chirrup_flight::plan::planted;
use rayon::prelude::*;
use serde::Serialize;
use std::fmt;
use std::sync::atomic::{AtomicBool, Ordering};

/// Fewer false beeps, and fewer missed climbs, say nothing of a ratio.
const FEWEST_EVENTS: f64 = 20.0;

/// What was measured.
#[derive(Clone, Debug, Serialize)]
pub struct TuningReport {
    /// Each flight.
    pub flights: Vec<Planted>,
    /// Each reading with the present threshold, over all flights.
    pub readings: Vec<Told>,
}

/// A planted flight.
#[derive(Clone, Debug, Serialize)]
pub struct Planted {
    /// Its gusts, m/s rms.
    pub gusts_mps: f64,
    /// How well the climb is known without the truth: as stated, and as measured, m/s rms.
    pub stated_mps: f64,
    /// The same, measured.
    pub off_mps: f64,
    /// What is chosen with the truth.
    pub with_truth: Judged,
    /// What is chosen without it, with its figures by the truth.
    pub without_truth: Judged,
    /// What is recommended without it.
    pub decision: Decision,
    /// What that costs more, by the truth, as a share of the choice with it.
    pub costs_more: f64,
    /// The present settings by the truth.
    pub present: Score,
    /// The present settings as told without it.
    pub present_told: Score,
}

/// What is told of a reading without the truth, beside what the truth says.
#[derive(Clone, Debug, Serialize)]
pub struct Told {
    /// `adaptive` or `fixed`.
    pub filter: &'static str,
    /// Response time, s.
    pub response_s: f32,
    /// By the truth.
    pub truth: Score,
    /// Without it.
    pub told: Score,
    /// False beeps told per true one; absent with fewer than 20.
    pub false_beeps_ratio: Option<f64>,
    /// Share of climbs missed as told, per true share; absent with fewer than 20 missed.
    pub missed_ratio: Option<f64>,
}

/// A flight with its sums, with and without its truth.
struct Flown {
    planted: Planted,
    /// Of each reading with the present threshold.
    sums: Vec<[Sums; 2]>,
}

/// Flies and tunes `count` flights under the present `settings`.
///
/// # Errors
/// An interruption.
pub fn measure(settings: &Settings, count: u32, interrupted: &AtomicBool) -> Result<TuningReport> {
    let tried = Tried::of(settings, settings, &Wanted::default().limits)?;
    let work = Work::new(u64::from(count) * 2 * tried.readings.len() as u64);
    let flown = (0..count)
        .into_par_iter()
        .map(|number| {
            if interrupted.load(Ordering::Relaxed) {
                return Err(Error::Interrupted);
            }
            one(settings, &tried, (number, count), &work, interrupted)
        })
        .collect::<Result<Vec<Flown>>>()?;
    let readings = (0..tried.readings.len()).map(|reading| {
        let of = |side: usize| Sums::all(flown.iter().map(|flown| &flown.sums[reading][side]));
        told(&tried, reading, &of(0), &of(1))
    });
    Ok(TuningReport {
        readings: readings.collect(),
        flights: flown.into_iter().map(|flown| flown.planted).collect(),
    })
}

fn one(
    settings: &Settings,
    tried: &Tried,
    (number, count): (u32, u32),
    work: &Work,
    interrupted: &AtomicBool,
) -> Result<Flown> {
    let (scenario, glider) = planted::flight(number, count)?;
    let mut recording = Recording::default();
    recording.name.clone_from(&scenario.name);
    for flown in fly_scenario(&scenario, glider, u64::from(number) + 1)? {
        recording.samples.push(flown.sample);
        recording.truth_climb_mps.push(flown.truth_mps);
    }
    let wanted = Wanted::default();
    let thresholds = &tried.thresholds_mps;
    let judged = |recording: &Recording| {
        judge(recording, &settings.energy, &tried.readings, thresholds, work, interrupted)
    };
    let with = judged(&recording)?;
    recording.truth_climb_mps.fill(f64::NAN);
    let without = judged(&recording)?;
    let off_mps = apart(&with.climb_mps, &without.climb_mps);
    let sums = (0..tried.readings.len())
        .map(|reading| {
            let of = |blocks: &[Vec<Sums>]| {
                Sums::all(blocks.iter().map(|block| &block[reading * thresholds.len()]))
            };
            [of(&with.blocks), of(&without.blocks)]
        })
        .collect();
    let choose = |blocks: Vec<Vec<Sums>>, recording| {
        let choice = Choice::of(&vec![blocks], &wanted);
        let verdict = Verdict::of(&choice, &wanted, &[recording]);
        let place = if verdict.decision == Decision::Change { choice.best } else { 0 };
        (choice, verdict.decision, place)
    };
    let stated_mps = without.recording.truth_deviation_mps;
    let (truth, _, best) = choose(with.blocks, with.recording);
    let (told, decision, chosen) = choose(without.blocks, without.recording);
    let cost_mps = |place: usize| truth.scores[place].cost_mps;
    let planted = Planted {
        gusts_mps: planted::gusts_mps(number, count),
        stated_mps,
        off_mps,
        with_truth: tried.judged(best, &truth.scores[best]),
        without_truth: tried.judged(chosen, &truth.scores[chosen]),
        decision,
        costs_more: cost_mps(chosen) / cost_mps(best) - 1.0,
        present: truth.scores[0],
        present_told: told.scores[0],
    };
    Ok(Flown { planted, sums })
}

/// How far one climb is from the other, m/s rms.
fn apart(a_mps: &[f64], b_mps: &[f64]) -> f64 {
    let squares: f64 = a_mps.iter().zip(b_mps).map(|(a, b)| (a - b).powi(2)).sum();
    (squares / a_mps.len() as f64).sqrt()
}

fn told(tried: &Tried, reading: usize, truth: &Sums, told: &Sums) -> Told {
    let weights = Wanted::default().weights;
    let (truth_score, told_score) = (truth.score(&weights), told.score(&weights));
    let place = reading * tried.thresholds_mps.len();
    let Judged { filter, response_s, .. } = tried.judged(place, &truth_score);
    let ratio =
        |events: f64, told: f64, true_one: f64| (events >= FEWEST_EVENTS).then(|| told / true_one);
    Told {
        filter,
        response_s,
        false_beeps_ratio: ratio(
            truth.false_beeps(),
            told_score.false_beeps_per_min,
            truth_score.false_beeps_per_min,
        ),
        missed_ratio: ratio(truth.missed(), told_score.missed_share, truth_score.missed_share),
        truth: truth_score,
        told: told_score,
    }
}

impl fmt::Display for TuningReport {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        writeln!(
            f,
            "Planted flights of 20 minutes, tuned with their truth and without it; figures by the \
             truth,\nwhat is told without it after the stroke\n"
        )?;
        write!(f, "{}", self.of_flights())?;
        writeln!(f, "\nEvery reading over all flights, beeps from the present threshold\n")?;
        write!(f, "{}", self.of_readings())
    }
}

fn words(judged: &Judged) -> String {
    let Judged { filter, response_s, climb_from_mps, .. } = judged;
    format!("{filter} {response_s} s, {climb_from_mps}")
}

impl TuningReport {
    fn of_flights(&self) -> Table {
        let mut table = Table::new([
            Column::right("gusts\nm/s").wide(5),
            Column::right("climb off\nm/s"),
            Column::left("chosen\nwith truth").gap(2),
            Column::left("chosen\nwithout").gap(2),
            Column::right("costs\nmore").wide(6),
            Column::right("false beeps\na minute"),
            Column::right("climbs\nmissed"),
        ]);
        for flight in &self.flights {
            let (present, told) = (&flight.present, &flight.present_told);
            let percent = |share: f64| format!("{:.0}", 100.0 * share);
            table.row([
                format!("{:.2}", flight.gusts_mps),
                format!("{:.2} / {:.2}", flight.off_mps, flight.stated_mps),
                words(&flight.with_truth),
                match flight.decision {
                    Decision::Change => words(&flight.without_truth),
                    Decision::Keep => "keep".into(),
                    Decision::CannotTell => "declined".into(),
                },
                match flight.decision {
                    Decision::CannotTell => String::new(),
                    _ => format!("{:+.0} %", 100.0 * flight.costs_more),
                },
                format!("{:.2} / {:.2}", present.false_beeps_per_min, told.false_beeps_per_min),
                format!("{} / {} %", percent(present.missed_share), percent(told.missed_share)),
            ]);
        }
        table
    }

    fn of_readings(&self) -> Table {
        let mut table = Table::new([
            Column::left("filter").wide(8),
            Column::right("response").gap(1),
            Column::right("error\nm/s rms"),
            Column::right("false beeps\na minute"),
            Column::right("told\nper true"),
            Column::right("climbs\nmissed"),
            Column::right("told\nper true"),
        ]);
        for reading in &self.readings {
            let (truth, told) = (&reading.truth, &reading.told);
            let ratio =
                |ratio: Option<f64>| ratio.map_or("few".into(), |ratio| format!("{ratio:.2}"));
            table.row([
                reading.filter.to_owned(),
                format!("{:.2} s", reading.response_s),
                format!("{:.3} / {:.3}", truth.error_mps, told.error_mps),
                format!("{:.2} / {:.2}", truth.false_beeps_per_min, told.false_beeps_per_min),
                ratio(reading.false_beeps_ratio),
                format!("{:.1} / {:.1} %", 100.0 * truth.missed_share, 100.0 * told.missed_share),
                ratio(reading.missed_ratio),
            ]);
        }
        table
    }
}
