//! The part of a trace that a replay is asked for: by its times, or one segment of it.

use crate::error::{Error, Result};
use crate::time::Moment;
use crate::trace::Trace;
use chirrup_core::Micros;

/// So many samples beyond the end in a row are the end; fewer may be a wild time stamp.
const BEYOND_THE_END: u32 = 100;

/// Where a sample lies to the part of the trace that is wanted.
pub(super) enum Place {
    Outside,
    Inside,
    /// Outside, and so is all that follows.
    Done,
}

/// The part of the trace that is wanted; UTC times become times of the trace when its first sample
/// is there.
pub(super) struct Span {
    from: Option<Moment>,
    to: Option<Moment>,
    resolved: Option<(Option<Micros>, Option<Micros>)>,
    beyond: u32,
}

impl Span {
    pub(super) fn new(from: Option<Moment>, to: Option<Moment>) -> Self {
        Self { from, to, resolved: None, beyond: 0 }
    }

    pub(super) fn place(&mut self, time: Micros, trace: &dyn Trace) -> Result<Place> {
        let (from, to) = self.ends(trace)?;
        if to.is_some_and(|to| time > to) {
            self.beyond += 1;
            return Ok(if self.beyond > BEYOND_THE_END { Place::Done } else { Place::Outside });
        }
        self.beyond = 0;
        Ok(if from.is_some_and(|from| time < from) { Place::Outside } else { Place::Inside })
    }

    fn ends(&mut self, trace: &dyn Trace) -> Result<(Option<Micros>, Option<Micros>)> {
        if let Some(known) = self.resolved {
            return Ok(known);
        }
        let known = (resolve(self.from, trace)?, resolve(self.to, trace)?);
        Ok(*self.resolved.insert(known))
    }
}

/// A moment as a time of the trace.
///
/// # Errors
/// A UTC time, where the trace has none.
pub(super) fn resolve(moment: Option<Moment>, trace: &dyn Trace) -> Result<Option<Micros>> {
    let seconds = match moment {
        None => return Ok(None),
        Some(Moment::Trace(seconds)) => seconds,
        Some(Moment::Utc(clock)) => {
            let zero = trace.utc_start_s().ok_or_else(|| {
                Error::Usage(
                    "a UTC time (with a Z) needs a trace that knows the time of day, \
                    such as an IGC file; use seconds"
                        .into(),
                )
            })?;
            // A clock more than half a day before the start is the next day's.
            let since = clock - zero;
            if since < -43_200.0 { since + 86_400.0 } else { since }
        }
    };
    Ok(Some(Micros((seconds * 1e6).round() as i64)))
}
