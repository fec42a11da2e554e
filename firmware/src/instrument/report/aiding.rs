//! What the inertial sensor does for the reading: the answer to `inertial`.

use super::super::{Instrument, rounded};
use crate::console::Line;
use crate::sampler::Role;
use crate::slot::Condition;
use chirrup_core::decimal::Rounded;
use chirrup_core::{Aided, InertialChoice, SensorAxis, Trust};
use core::fmt::{self, Write};

impl Instrument {
    /// A line of the answer to `inertial`; empty where there is nothing to report, `None` after the
    /// last.
    pub(in crate::instrument) fn aiding(
        &self,
        place: usize,
        line: &mut Line,
    ) -> Option<fmt::Result> {
        let aided = self.aided();
        Some(match (place, &aided) {
            (0, None) => line.write_str(self.why_unaided()),
            (0, Some(aided)) => {
                let not = if aided.trust == Trust::Trusted { "" } else { "not trusted: " };
                write!(line, "{not}{}; {}", aided.trust.name(), aided.trust.advice())
            }
            (1, Some(aided)) => say_share(aided, line),
            (2, Some(aided)) => match aided.remark {
                None => Ok(()),
                Some(remark) => write!(line, "{}: {}", remark.name(), remark.advice()),
            },
            (3, _) => self.say_shaking(line),
            (4, _) => self.say_mounting(line),
            (5, _) => self.report_satellites(line),
            (1 | 2, None) => Ok(()),
            _ => return None,
        })
    }

    /// The last inertial reading.
    fn aided(&self) -> Option<Aided> {
        self.reading?.values?.inertial
    }

    /// Whether it is trusted; `None` where there is none.
    pub(in crate::instrument) fn trust(&self) -> Option<Trust> {
        self.aided().map(|aided| aided.trust)
    }

    /// Why there is no inertial reading at all.
    fn why_unaided(&self) -> &'static str {
        match (self.settings.inertial.choice, self.sampler.condition(Role::Inertial)) {
            (InertialChoice::Off, _) => "off, as set in inertial",
            (_, None | Some(Condition::Seeking | Condition::Absent(_))) => "no sensor found",
            _ => "no reading of it yet; it needs an airspeed",
        }
    }

    fn say_shaking(&self, line: &mut Line) -> fmt::Result {
        if self.sampler.condition(Role::Inertial) != Some(Condition::Live) {
            return Ok(());
        }
        let vibration = self.shaking.vibration_mm_per_s2();
        let largest = self.shaking.largest_mm_per_s2();
        write!(
            line,
            "vibration {}.{:02} m/s2 rms, largest force of an axis {}.{:02} m/s2 in the last \
             second",
            vibration / 1_000,
            vibration % 1_000 / 10,
            largest / 1_000,
            largest % 1_000 / 10
        )
    }

    fn say_mounting(&self, line: &mut Line) -> fmt::Result {
        let (forward, down) = (self.settings.inertial.forward, self.settings.inertial.down);
        if forward == SensorAxis::Learn {
            return line.write_str("mounting: the instrument finds it out in flight");
        }
        write!(line, "mounting: as set, {} forward and {} down", forward.name(), down.name())
    }
}

fn say_share(aided: &Aided, line: &mut Line) -> fmt::Result {
    write!(line, "share of what sounds {} %", Rounded(100.0 * aided.weight, 0))?;
    let Some(felt) = aided.felt else { return Ok(()) };
    write!(
        line,
        "; climb {} m/s known to {} m/s, load {} g, bank {} degrees",
        Rounded(felt.climb.0, 2),
        Rounded(felt.deviation.0, 2),
        Rounded(felt.load_factor, 2),
        rounded(felt.bank.to_degrees())
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::console::LONGEST_LINE;

    #[test]
    fn every_trust_fits_a_line_with_its_advice() {
        for trust in Trust::ALL {
            let length = "# not trusted: ; ".len() + trust.name().len() + trust.advice().len();
            assert!(length <= LONGEST_LINE, "{trust:?}: {length}");
        }
    }
}
