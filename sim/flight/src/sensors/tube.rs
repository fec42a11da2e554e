//! The pressure lines: a lag, and the effect of a fault on it.

use super::settings::{FaultKind, FaultSettings, Line};
use crate::physics::motion::TICK_S;

const USUAL_WATER_S: f64 = 5.0;

/// Whether a fault is active at a time.
pub(super) fn lasts(fault: &FaultSettings, time_s: f64) -> bool {
    time_s >= fault.from_s && time_s < fault.from_s + fault.for_s.unwrap_or(f64::INFINITY)
}

/// What is wrong with a line at a moment.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Trouble {
    None,
    Shut,
    Water(f64),
}

impl Trouble {
    pub fn of(faults: &[FaultSettings], line: Line, time_s: f64) -> Self {
        let here = |fault: &&FaultSettings| fault.line == Some(line) && lasts(fault, time_s);
        let trouble = |fault: &FaultSettings| match fault.kind {
            FaultKind::Blocked => Some(Self::Shut),
            FaultKind::Water => Some(Self::Water(fault.lag_s.unwrap_or(USUAL_WATER_S))),
            FaultKind::Spike | FaultKind::Dropout => None,
        };
        faults.iter().filter(here).find_map(trouble).unwrap_or(Self::None)
    }
}

/// A pressure line: a first-order lag.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Tube {
    /// Pressure at the port a tick before, and at the sensor's end.
    state: Option<(f64, f64)>,
}

impl Tube {
    pub fn follow(&mut self, port_pa: f64, lag_s: f64, trouble: Trouble) -> f64 {
        let (before_pa, inside_pa) = self.state.unwrap_or((port_pa, port_pa));
        let inside_pa = match trouble {
            Trouble::Shut => inside_pa,
            Trouble::Water(lag_s) => lagged(before_pa, port_pa, inside_pa, lag_s),
            Trouble::None => lagged(before_pa, port_pa, inside_pa, lag_s),
        };
        self.state = Some((port_pa, inside_pa));
        inside_pa
    }
}

/// The exact answer of a first-order lag after a tick in which its input went from `before` to
/// `after` in a straight line.
pub(super) fn lagged(before: f64, after: f64, inside: f64, lag_s: f64) -> f64 {
    if lag_s <= 0.0 {
        return after;
    }
    let behind = (after - before) / TICK_S * lag_s;
    after - behind + (inside - before + behind) * libm::exp(-TICK_S / lag_s)
}
