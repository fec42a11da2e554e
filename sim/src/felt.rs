//! What an inertial sensor said in a run: for the summary.

use crate::range::{Range, rounded, widen};
use chirrup_core::{Reading, Remark, Status, Trust};
use serde::Serialize;
use std::fmt;

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
    samples: u64,
}

/// How long a trust lasted.
#[derive(Clone, Copy, Debug, Serialize)]
pub struct TrustTime {
    /// Which.
    pub trust: &'static str,
    /// How long, s.
    pub lasted_s: f64,
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

    fn count(&mut self, trust: Trust, lasted_s: f64) {
        match self.inertial_trust_s.iter_mut().find(|time| time.trust == trust.name()) {
            Some(time) => time.lasted_s += lasted_s,
            None => self.inertial_trust_s.push(TrustTime { trust: trust.name(), lasted_s }),
        }
    }
}

impl fmt::Display for FeltSummary {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.is_empty() {
            return Ok(());
        }
        let all_s: f64 = self.inertial_trust_s.iter().map(|time| time.lasted_s).sum();
        let share = |time: &TrustTime| {
            format!("{} {:.0} %", time.trust, 100.0 * time.lasted_s / all_s.max(1e-9))
        };
        let shares: Vec<String> = self.inertial_trust_s.iter().map(share).collect();
        write!(f, "  inertial      {} of the time", shares.join(", "))?;
        if let Some(load) = self.load_factor {
            write!(f, "; load {:.1} to {:.1} g", load.lowest, load.highest)?;
        }
        if let Some(remark) = self.inertial_remark {
            write!(f, "; {remark}")?;
        }
        writeln!(f)
    }
}
