//! What an inertial sensor said in a run: for the summary.

use crate::range::{Range, rounded, widen};
use chirrup_core::{Reading, Remark, Status, Trust};
use serde::Serialize;
use std::fmt;

/// A trust that lasted for less than this share of the time needs no advice.
const WORTH_A_WORD: f64 = 0.005;

/// What an inertial sensor said in a run, in the shape of its JSON.
#[derive(Clone, Debug, Default, Serialize)]
pub struct FeltSummary {
    /// Its compensated climb.
    pub inertial_climb_mps: Option<Range>,
    /// Its vertical speed, not compensated.
    pub inertial_vertical_speed_mps: Option<Range>,
    /// Specific force along the lift, in g.
    pub load_factor: Option<Range>,
    /// Bank, right wing down positive.
    pub bank_rad: Option<Range>,
    /// How long it was trusted or why not, in seconds, in the order in which it first happened.
    pub inertial_trust_s: Vec<TrustTime>,
    /// What was odd about it at the end.
    pub inertial_remark: Option<&'static str>,
    #[serde(skip)]
    remark: Option<Remark>,
    #[serde(skip)]
    samples: u64,
}

/// How long a trust lasted.
#[derive(Clone, Copy, Debug, Serialize)]
pub struct TrustTime {
    /// Which.
    pub trust: &'static str,
    /// How long, s.
    pub lasted_s: f64,
    #[serde(skip)]
    of: Trust,
}

impl FeltSummary {
    /// Takes a reading into account.
    pub fn take(&mut self, reading: &Reading) {
        let Some(aided) = reading.values.as_ref().and_then(|values| values.inertial) else {
            return;
        };
        self.samples += 1;
        let lasted_s =
            if reading.status == Status::Gap { 0.0 } else { reading.elapsed.0 as f64 * 1e-6 };
        self.count(aided.trust, lasted_s);
        self.remark = aided.remark;
        self.inertial_remark = aided.remark.map(Remark::name);
        if let Some(felt) = aided.felt.filter(|_| aided.trust == Trust::Trusted) {
            widen(&mut self.inertial_climb_mps, felt.climb.0);
            widen(&mut self.inertial_vertical_speed_mps, felt.vertical_speed.0);
            widen(&mut self.load_factor, felt.load_factor);
            widen(&mut self.bank_rad, felt.bank);
        }
    }

    /// Completes it once the trace has been read.
    pub fn finish(&mut self) {
        for time in &mut self.inertial_trust_s {
            time.lasted_s = rounded(time.lasted_s);
        }
    }

    /// Whether there was no inertial sensor.
    pub fn is_empty(&self) -> bool {
        self.samples == 0
    }

    /// The share of the time in each trust.
    pub(crate) fn shares(&self) -> String {
        let all_s = self.all_s();
        let share = |time: &TrustTime| match 100.0 * time.lasted_s / all_s {
            percent if percent < 0.5 => format!("{} below 1 %", time.trust),
            percent => format!("{} {percent:.0} %", time.trust),
        };
        let shares: Vec<String> = self.inertial_trust_s.iter().map(share).collect();
        format!("{} of the time", shares.join(", "))
    }

    /// What to do about it, a line each: where it was not trusted, and what is odd about it.
    pub(crate) fn advice(&self) -> impl Iterator<Item = String> {
        let is_wrong =
            |time: &&TrustTime| time.of.is_fault() && time.lasted_s >= WORTH_A_WORD * self.all_s();
        let faults = self.inertial_trust_s.iter().filter(is_wrong);
        let faults = faults.map(|time| format!("{}: {}", time.trust, time.of.advice()));
        let remark = self.remark.map(|remark| format!("{}: {}", remark.name(), remark.advice()));
        faults.chain(remark)
    }

    fn all_s(&self) -> f64 {
        self.inertial_trust_s.iter().map(|time| time.lasted_s).sum::<f64>().max(1e-9)
    }

    fn count(&mut self, trust: Trust, lasted_s: f64) {
        match self.inertial_trust_s.iter_mut().find(|time| time.trust == trust.name()) {
            Some(time) => time.lasted_s += lasted_s,
            None => {
                self.inertial_trust_s.push(TrustTime { trust: trust.name(), lasted_s, of: trust })
            }
        }
    }
}

impl fmt::Display for FeltSummary {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.is_empty() {
            return Ok(());
        }
        write!(f, "  inertial      {}", self.shares())?;
        if let Some(load) = self.load_factor {
            write!(f, "; load {:.1} to {:.1} g", load.lowest, load.highest)?;
        }
        writeln!(f)?;
        self.advice().try_for_each(|advice| writeln!(f, "                {advice}"))
    }
}
