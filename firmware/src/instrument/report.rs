//! Reports: the greeting for whoever opens a port, and the self-test.

mod aiding;
mod inertial;

use super::{Instrument, ResetCause};
use crate::console::Line;
use crate::quality::Quality;
use crate::sampler::Role;
use crate::slot::{Condition, Slot};
use crate::store::Origin;
use core::fmt::{self, Write};

/// Limits for a good sensor: rate, jitter, noise. Noise below the least means that a sensor does
/// not measure (guesses).
const LEAST_RATE_MILLIHZ: u32 = 49_500;
const MOST_JITTER_US: u32 = 1_000;
const NOISE_MILLIPASCALS: core::ops::RangeInclusive<u32> = 5..=5_000;

/// The result of the self-test.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Verdict {
    Passed,
    Failed(&'static str),
    NotYet,
}

impl fmt::Display for Verdict {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Verdict::Passed => f.write_str("passed"),
            Verdict::Failed(why) => write!(f, "failed: {why}"),
            Verdict::NotYet => f.write_str("not yet: it takes eleven seconds from the start"),
        }
    }
}

impl Instrument {
    /// A line of the greeting for whoever opens a port; empty where there is nothing to report,
    /// `None` after the last.
    pub(super) fn greeting(&self, place: usize, line: &mut Line) -> Option<fmt::Result> {
        Some(match place {
            0 => write!(
                line,
                "chirrup {} on {}; help lists the commands. A hobby instrument, not certified; \
                 keep the lookout",
                env!("CARGO_PKG_VERSION"),
                self.board
            ),
            1 => self.say_why_it_stopped(line),
            2 => match self.origin {
                Origin::Flash => Ok(()),
                _ => self.say_origin(line),
            },
            _ => return None,
        })
    }

    fn say_why_it_stopped(&self, line: &mut Line) -> fmt::Result {
        match (&self.panic, self.reset) {
            (Some(panic), _) => write!(line, "the last run stopped: {}", panic.text()),
            (None, ResetCause::Watchdog) => {
                write!(line, "the last run stopped: the watchdog was not fed")
            }
            (None, _) => Ok(()),
        }
    }

    fn say_origin(&self, line: &mut Line) -> fmt::Result {
        line.write_str(match self.origin {
            Origin::Flash => "settings: as saved",
            Origin::FirstStart => "settings: the defaults; none have been saved",
            Origin::OtherVersion => {
                "settings: the defaults; the saved ones are from another version"
            }
            Origin::Damaged => "settings: the defaults; the saved ones are damaged",
            Origin::Unreadable => "settings: the defaults; the flash cannot be read",
        })
    }

    /// A line of the self-test's report; empty where there is nothing to report, `None` after the
    /// last.
    pub(super) fn report(&self, place: usize, line: &mut Line) -> Option<fmt::Result> {
        Some(match place {
            0 => {
                let cause = match self.reset {
                    ResetCause::Power => "power",
                    ResetCause::Watchdog => "the watchdog",
                    ResetCause::Software => "itself",
                };
                let up_s = self.now.since(self.started).0 / 1_000_000;
                write!(
                    line,
                    "chirrup {} on {}, started by {cause}, up {up_s} s",
                    env!("CARGO_PKG_VERSION"),
                    self.board
                )
            }
            1 => self.say_why_it_stopped(line),
            2 => self.say_origin(line),
            3 => self.report_sensor(Role::Static, line),
            4 => self.report_sensor(Role::Second, line),
            5 => self.report_sensor(Role::Differential, line),
            6 => self.report_sensor(Role::Inertial, line),
            7 => self.report_satellites(line),
            8 => match self.battery.millivolts() {
                None => write!(line, "battery: none measured"),
                Some(mv) => {
                    let low = if self.battery.is_low() { ", low" } else { "" };
                    write!(line, "battery: {}.{:02} V{low}", mv / 1_000, mv % 1_000 / 10)
                }
            },
            9 => write!(line, "speaker: not measured; listen for the start sound"),
            10 => write!(
                line,
                "log: {} rows dropped on USB, {} on UART",
                self.usb.log.dropped, self.uart.log.dropped
            ),
            11 => match &self.recorder {
                None => write!(line, "recorder: none on this board"),
                Some(state) => write!(line, "recorder: {state}"),
            },
            12 => write!(line, "result: {}", self.verdict()),
            _ => return None,
        })
    }

    fn report_sensor(&self, role: Role, line: &mut Line) -> fmt::Result {
        write!(line, "{}: ", role.name())?;
        let found = self.sampler.condition(role).zip(self.sampler.identity(role));
        let Some((condition, (name, address))) = found else {
            return write!(line, "none, as set in device.second_barometer");
        };
        match condition {
            Condition::Seeking => write!(line, "searching"),
            Condition::Absent(_) if role.is_optional() => write!(line, "none found"),
            Condition::Absent(fault) => write!(line, "none found: {fault}"),
            Condition::Lost(fault) => write!(line, "{name} at 0x{address:02x} lost: {fault}"),
            Condition::Live => {
                write!(line, "{name} at 0x{address:02x}, ")?;
                match self.sampler.slot(role) {
                    Some(slot) => report_figures(slot, line),
                    None => inertial::report_figures(self.sampler.inertial(), line),
                }
            }
        }
    }

    fn report_satellites(&self, line: &mut Line) -> fmt::Result {
        let receiver = &self.receiver;
        let velocities = receiver.velocities();
        match (receiver.is_heard(), receiver.was_heard()) {
            (true, _) if velocities == 0 => write!(line, "satellites: no fix yet"),
            (true, _) => write!(line, "satellites: {velocities} velocities so far"),
            (false, true) => write!(line, "satellites: the receiver is silent"),
            (false, false) => write!(line, "satellites: no receiver found"),
        }
    }

    /// The result of the self-test.
    pub(super) fn verdict(&self) -> Verdict {
        let verdicts = Role::ALL.into_iter().filter_map(|role| self.verdict_on(role));
        verdicts.into_iter().find(|verdict| *verdict != Verdict::Passed).unwrap_or(Verdict::Passed)
    }

    /// The result for one sensor; `None` where the settings have none.
    fn verdict_on(&self, role: Role) -> Option<Verdict> {
        let complaint = match self.sampler.condition(role)? {
            Condition::Absent(_) if role.is_optional() => None,
            Condition::Absent(_) | Condition::Lost(_) => Some(match role {
                Role::Static => "no static pressure",
                Role::Second => "no second barometer",
                Role::Differential => "the differential sensor was lost",
                Role::Inertial => "the inertial sensor was lost",
            }),
            Condition::Seeking => return Some(Verdict::NotYet),
            Condition::Live => {
                let checked = match self.sampler.slot(role) {
                    Some(slot) => slot.quality().map(|quality| complaint(role, quality)),
                    None => inertial::complaint(self.sampler.inertial()),
                };
                match checked {
                    Some(complaint) => complaint,
                    None => return Some(Verdict::NotYet),
                }
            }
        };
        Some(complaint.map_or(Verdict::Passed, Verdict::Failed))
    }
}

fn report_figures(slot: &Slot, line: &mut Line) -> fmt::Result {
    let Some(Quality { rate_millihz, jitter_us, noise_millipascals }) = slot.quality() else {
        return write!(line, "not measured yet: it takes five seconds");
    };
    let pa = noise_millipascals;
    write!(line, "{}.{:02} samples/s, ", rate_millihz / 1_000, rate_millihz % 1_000 / 10)?;
    write!(line, "jitter {jitter_us} us rms, noise {}.{:03} Pa rms", pa / 1_000, pa % 1_000)?;
    match slot.latest() {
        Some(latest) => {
            let (sign, t) = (
                if latest.temperature_centicelsius < 0 { "-" } else { "" },
                latest.temperature_centicelsius.unsigned_abs(),
            );
            write!(line, ", {sign}{}.{} C", t / 100, t % 100 / 10)
        }
        None => Ok(()),
    }
}

fn complaint(role: Role, quality: Quality) -> Option<&'static str> {
    if quality.rate_millihz < LEAST_RATE_MILLIHZ {
        return Some("fewer than 50 samples a second");
    }
    if quality.jitter_us > MOST_JITTER_US {
        return Some("samples arrive unevenly");
    }
    // A coarse differential sensor at rest may repeat its value.
    if role != Role::Differential && !NOISE_MILLIPASCALS.contains(&quality.noise_millipascals) {
        return Some(if quality.noise_millipascals < *NOISE_MILLIPASCALS.start() {
            "a barometer without any noise does not measure"
        } else {
            "a barometer is too noisy: wind, or light on the sensor"
        });
    }
    None
}
