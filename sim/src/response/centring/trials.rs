//! Flies the pilots.

use super::ear::{Instrument, Perfect};
use super::report::{AirReport, CentringReport, PilotReport};
use crate::error::{Error, Result};
use chirrup_core::{EnergyChoice, EnergySettings, Pipeline, Settings, SoundMode, ToneSettings};
use chirrup_flight::centring::{Day, Pilot, Trial};
use rayon::prelude::*;
use std::sync::atomic::{AtomicBool, Ordering};

/// The airs, in the order of the report.
const AIRS: [(&str, Day); 3] =
    [("smooth", Day::SMOOTH), ("rough x2", Day::ROUGH), ("gusts x3", Day::GUSTY)];
/// Allowances that a pilot tries to find his own.
const ALLOWANCES_S: [f64; 6] = [0.5, 1.0, 1.5, 2.0, 2.5, 3.0];
/// The thermals in which pilots find their own allowance begin here; half as many as are measured.
const OTHER_SEEDS: u64 = 1_000_000;

/// Measures what the pilots climb with the filter and the tone of `settings`, in `thermals`
/// thermals of each air, 1 to 10 000; `interrupted` stops it between two thermals.
///
/// Everything else of the settings is the default: the simulated tubes are without fault.
///
/// # Errors
/// On an interruption.
pub fn measure(
    settings: &Settings,
    thermals: u32,
    interrupted: &AtomicBool,
) -> Result<CentringReport> {
    let flown = flown(settings);
    let pipeline = flown.build().expect("the settings were checked");
    let pilots = Pilots { pipeline: &pipeline, tone: &flown.tone, interrupted };
    let measured = 0..u64::from(thermals);
    let mut allowances_s = Vec::new();
    for pilot in Pilot::MEASURED {
        allowances_s.push(pilots.own_allowance_s(pilot, thermals)?);
    }
    let mut airs = Vec::new();
    for (air, day) in AIRS {
        let mut reports = Vec::new();
        for (pilot, own_s) in Pilot::MEASURED.into_iter().zip(&allowances_s) {
            reports.push(pilots.report(pilot, day, *own_s, measured.clone())?);
        }
        airs.push(air_report(air, day, reports));
    }
    Ok(CentringReport { thermals, airs })
}

/// The allowance that suits a pilot with a perfect tone, s: the best of [`ALLOWANCES_S`] in 120
/// smooth thermals, from [`OTHER_SEEDS`] on.
fn perfect_allowance_s(pilot: Pilot) -> f64 {
    if pilot == Pilot::Expert { 0.5 } else { 1.5 }
}

/// The allowance that suited him with the default settings of 2026-11-25 (adaptive, 1 s), found in
/// the same way. It stays as it is: it is what pilots are used to.
fn unchanged_allowance_s(pilot: Pilot) -> f64 {
    match pilot {
        Pilot::Expert => 0.5,
        Pilot::Both => 2.0,
        _ => 1.5,
    }
}

/// Filter and tone of `settings`, as they are flown here.
fn flown(settings: &Settings) -> Settings {
    let tone = ToneSettings {
        mode: SoundMode::Climb,
        silent_until_launch: false,
        ..settings.tone.clone()
    };
    let energy = EnergySettings { choice: EnergyChoice::Electronic, ..EnergySettings::default() };
    Settings { filter: settings.filter.clone(), tone, energy, ..Settings::default() }
}

fn air_report(air: &'static str, day: Day, pilots: Vec<PilotReport>) -> AirReport {
    let mean = |share: fn(&PilotReport) -> f64| {
        pilots.iter().map(share).sum::<f64>() / pilots.len() as f64
    };
    let unchanged_share = mean(|pilot| pilot.unchanged_share);
    let own_share = mean(|pilot| pilot.own_share);
    AirReport {
        air,
        turbulence_mps: day.turbulence_mps,
        gusts_mps: day.gusts_mps,
        unchanged_share,
        own_share,
        share: unchanged_share.min(own_share),
        pilots,
    }
}

/// What a pilot is called.
fn name(pilot: Pilot) -> &'static str {
    match pilot {
        Pilot::NeverCorrects => "never corrects",
        Pilot::Tightens => "steepens while it improves",
        Pilot::Flattens => "flattens while it improves",
        Pilot::BestHeading => "remembers the best heading",
        Pilot::Both => "does both",
        Pilot::Expert => "keeps a map in the head",
    }
}

/// The pilots and what they hear.
struct Pilots<'a> {
    pipeline: &'a Pipeline,
    tone: &'a ToneSettings,
    interrupted: &'a AtomicBool,
}

impl Pilots<'_> {
    fn report(
        &self,
        pilot: Pilot,
        day: Day,
        own_s: f64,
        seeds: std::ops::Range<u64>,
    ) -> Result<PilotReport> {
        let perfect_mps = self.mean_mps(seeds.clone(), |seed| {
            let mut ear = Perfect::new(self.pipeline, self.tone);
            Trial { seed, day }.climb_mps(pilot, perfect_allowance_s(pilot), &mut ear)
        })?;
        let unchanged_s = unchanged_allowance_s(pilot);
        let unchanged_mps = self.heard_mps(pilot, day, unchanged_s, seeds.clone())?;
        let own_mps = if pilot.allows_for_lag() && own_s != unchanged_s {
            self.heard_mps(pilot, day, own_s, seeds)?
        } else {
            unchanged_mps
        };
        Ok(PilotReport {
            pilot: name(pilot),
            perfect_mps,
            unchanged_mps,
            own_mps,
            own_allowance_s: pilot.allows_for_lag().then_some(own_s),
            unchanged_share: unchanged_mps / perfect_mps,
            own_share: own_mps / perfect_mps,
        })
    }

    /// The allowance that suits a pilot with these settings, on a smooth day and in other thermals.
    fn own_allowance_s(&self, pilot: Pilot, thermals: u32) -> Result<f64> {
        let mut best = (f64::MIN, unchanged_allowance_s(pilot));
        if !pilot.allows_for_lag() {
            return Ok(best.1);
        }
        let seeds = OTHER_SEEDS..OTHER_SEEDS + u64::from(thermals.div_ceil(2));
        for allowance_s in ALLOWANCES_S {
            let climb_mps = self.heard_mps(pilot, Day::SMOOTH, allowance_s, seeds.clone())?;
            if climb_mps > best.0 {
                best = (climb_mps, allowance_s);
            }
        }
        Ok(best.1)
    }

    /// Mean climb of a pilot who hears the instrument.
    fn heard_mps(
        &self,
        pilot: Pilot,
        day: Day,
        allowance_s: f64,
        seeds: std::ops::Range<u64>,
    ) -> Result<f64> {
        self.mean_mps(seeds, |seed| {
            let mut ear = Instrument::new(self.pipeline, self.tone);
            Trial { seed, day }.climb_mps(pilot, allowance_s, &mut ear)
        })
    }

    fn mean_mps(
        &self,
        seeds: std::ops::Range<u64>,
        climb_mps: impl Fn(u64) -> f64 + Sync,
    ) -> Result<f64> {
        let climbs = seeds.into_par_iter().map(|seed| {
            let is_stopped = self.interrupted.load(Ordering::Relaxed);
            if is_stopped { Err(Error::Interrupted) } else { Ok(climb_mps(seed)) }
        });
        let climbs = climbs.collect::<Result<Vec<f64>>>()?;
        Ok(climbs.iter().sum::<f64>() / climbs.len() as f64)
    }
}
