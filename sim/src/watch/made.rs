//! What has been made, and why, in one line.

use crate::summary::{InstrumentSummary, Summary};
use crate::words::shown_path;
use std::fmt;

/// More changes than this are counted and not listed.
const MOST_LISTED: usize = 6;

/// Outputs that have been made.
#[derive(Clone, Debug)]
pub struct Made {
    /// Why.
    pub why: Why,
    /// Time from noticing the change to the outputs in their places, s.
    pub seconds: f64,
    /// The summary of the replay.
    pub summary: Summary,
}

/// Why outputs were made.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Why {
    /// There were none.
    First,
    /// Something has changed.
    Changes {
        /// The trace has.
        trace: bool,
        /// The settings that have: `name: old -> new`.
        settings: Vec<String>,
    },
}

impl Why {
    /// Whether there is no reason.
    pub fn is_nothing(&self) -> bool {
        *self == Why::Changes { trace: false, settings: Vec::new() }
    }
}

impl fmt::Display for Why {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Why::Changes { trace, settings } = self else { return write!(f, "first run") };
        let mut said: Vec<&str> = if *trace { vec!["the trace has changed"] } else { Vec::new() };
        said.extend(settings.iter().take(MOST_LISTED).map(String::as_str));
        let more = settings.len().saturating_sub(MOST_LISTED);
        let more = if more > 0 { format!("; {more} more") } else { String::new() };
        write!(f, "{}{more}", said.join("; "))
    }
}

impl fmt::Display for Made {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { why, seconds, summary } = self;
        write!(f, "{why} | {seconds:.2} s")?;
        if let Some(instrument) = summary.instruments.first() {
            write!(f, " | {}", figures(instrument))?;
        }
        if *why == Why::First && !summary.outputs.is_empty() {
            let names: Vec<String> = summary.outputs.iter().map(|path| shown_path(path)).collect();
            write!(f, " | written {}", names.join(", "))?;
        }
        Ok(())
    }
}

/// The main figures of the readings and the sound, and what they are against the truth, where the
/// trace has it.
fn figures(instrument: &InstrumentSummary) -> String {
    let mut said = Vec::new();
    if let Some(range) = instrument.sounded() {
        let [lowest, highest] =
            [range.lowest, range.highest].map(|mps| instrument.units.climb(mps));
        said.push(format!("reading {} to {highest}", lowest.number()));
    }
    let sound = instrument.sound_s;
    let total_s = sound.climb + sound.sink + sound.cruise + sound.silent;
    if total_s > 0.0 {
        let share = |seconds: f64| 100.0 * seconds / total_s;
        said.push(format!("climb {:.0} %, sink {:.0} %", share(sound.climb), share(sound.sink)));
    }
    let truth = &instrument.against_truth;
    if let Some(error) = truth.sounded {
        let late = error.lag_s.map_or_else(String::new, |lag_s| format!(", {lag_s:.1} s late"));
        let rms = instrument.units.climb(error.rms_mps).unsigned().finer(1);
        said.push(format!("off the truth by {rms} rms{late}"));
    }
    if let Some(false_climb) = truth.false_climb {
        said.push(format!("false climb {false_climb}"));
    }
    said.join(", ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_reasons_are_listed_and_too_many_are_counted() {
        let settings: Vec<String> = (1..=8).map(|n| format!("s{n}: 0 -> {n}")).collect();
        let why = Why::Changes { trace: true, settings };
        let said = why.to_string();
        assert!(said.starts_with("the trace has changed; s1: 0 -> 1; s2"), "{said}");
        assert!(said.ends_with("s6: 0 -> 6; 2 more"), "{said}");
        assert!(!why.is_nothing());
        assert!(Why::Changes { trace: false, settings: Vec::new() }.is_nothing());
        assert!(!Why::First.is_nothing());
    }
}
