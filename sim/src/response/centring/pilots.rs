//! The pilots at work with one instrument.

use super::ear::{Instrument, Perfect};
use super::report::PilotReport;
use crate::error::{Error, Result};
use crate::response::with::With;
use chirrup_core::{Pipeline, ToneSettings};
use chirrup_flight::centring::{Day, Pilot, Trial};
use rayon::prelude::*;
use std::ops::Range;
use std::sync::atomic::{AtomicBool, Ordering};

/// Allowances that a pilot tries to find his own.
const ALLOWANCES_S: [f64; 6] = [0.5, 1.0, 1.5, 2.0, 2.5, 3.0];
/// The thermals in which pilots find their own allowance begin here; half as many as are measured.
const OTHER_SEEDS: u64 = 1_000_000;

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

/// The pilots, the thermals of their seeds, and the instrument that they hear.
#[derive(Clone, Copy)]
pub(super) struct Pilots<'a> {
    pub(super) pipeline: &'a Pipeline,
    pub(super) tone: &'a ToneSettings,
    pub(super) with: With,
    pub(super) thermals: u32,
    pub(super) interrupted: &'a AtomicBool,
}

impl Pilots<'_> {
    /// Mean climb of a pilot who hears a perfect tone, m/s.
    pub(super) fn perfect_mps(&self, pilot: Pilot, day: Day) -> Result<f64> {
        self.mean_mps(self.seeds(), |seed| {
            let mut ear = Perfect::new(self.pipeline, self.tone);
            let trial = Trial { seed, day, has_motion_sensors: false };
            trial.climb_mps(pilot, perfect_allowance_s(pilot), &mut ear)
        })
    }

    /// What a pilot climbs who hears the instrument; `own_s` is his own allowance.
    pub(super) fn report(
        &self,
        pilot: Pilot,
        day: Day,
        own_s: f64,
        perfect_mps: f64,
    ) -> Result<PilotReport> {
        let unchanged_s = unchanged_allowance_s(pilot);
        let unchanged_mps = self.heard_mps(pilot, day, unchanged_s, self.seeds())?;
        let own_mps = if pilot.allows_for_lag() && own_s != unchanged_s {
            self.heard_mps(pilot, day, own_s, self.seeds())?
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
    pub(super) fn own_allowance_s(&self, pilot: Pilot) -> Result<f64> {
        let mut best = (f64::MIN, unchanged_allowance_s(pilot));
        if !pilot.allows_for_lag() {
            return Ok(best.1);
        }
        let seeds = OTHER_SEEDS..OTHER_SEEDS + u64::from(self.thermals.div_ceil(2));
        for allowance_s in ALLOWANCES_S {
            let climb_mps = self.heard_mps(pilot, Day::SMOOTH, allowance_s, seeds.clone())?;
            if climb_mps > best.0 {
                best = (climb_mps, allowance_s);
            }
        }
        Ok(best.1)
    }

    fn seeds(&self) -> Range<u64> {
        0..u64::from(self.thermals)
    }

    /// Mean climb of a pilot who hears the instrument.
    fn heard_mps(
        &self,
        pilot: Pilot,
        day: Day,
        allowance_s: f64,
        seeds: Range<u64>,
    ) -> Result<f64> {
        self.mean_mps(seeds, |seed| {
            let mut ear = Instrument::new(self.pipeline, self.tone, self.with);
            let trial = Trial { seed, day, has_motion_sensors: self.with != With::Pressures };
            trial.climb_mps(pilot, allowance_s, &mut ear)
        })
    }

    fn mean_mps(&self, seeds: Range<u64>, climb_mps: impl Fn(u64) -> f64 + Sync) -> Result<f64> {
        let climbs = seeds.into_par_iter().map(|seed| {
            let is_stopped = self.interrupted.load(Ordering::Relaxed);
            if is_stopped { Err(Error::Interrupted) } else { Ok(climb_mps(seed)) }
        });
        let climbs = climbs.collect::<Result<Vec<f64>>>()?;
        Ok(climbs.iter().sum::<f64>() / climbs.len() as f64)
    }
}
