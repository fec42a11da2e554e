//! Watches whether the instrument has a reading, and reports on the console and with sounds when it
//! has not.
//!
//! ```text
//! STARTING --a usable sample--> READING --none for 2 s--> FAULT --a usable sample--> READING
//!     +----none for 3 s------------------------------------^  (the core plays the fault call)
//! total energy missing, its tubes wrong or its static line suspected for 1 s: sounds every 30 s
//! battery low: sounds every 60 s
//! ```
//!
//! The times are guesses: a fault is reported soon, and again before the pilot forgets it, but not
//! so often that it masks the sound.

use super::Instrument;
use super::health::READ_WITHIN;
use crate::notice::Notice;
use crate::sampler::Role;
use crate::slot::Condition;
use chirrup_core::{Micros, Status};
use chirrup_sensors::sensor::after;
use core::fmt::Write;

/// Time between two checks.
const LOOK: Micros = Micros(100_000);
const UNCOMPENSATED_AFTER: Micros = Micros(1_000_000);
const UNCOMPENSATED_EVERY: Micros = Micros(30_000_000);
const BATTERY_EVERY: Micros = Micros(60_000_000);

impl Instrument {
    /// Checks everything slow.
    pub(super) fn look_after(&mut self) {
        self.health.next_look = after(self.now, LOOK);
        self.tell_of_sensors();
        self.tell_of_the_bus();
        self.tell_of_satellites();
        self.tell_of_the_reading();
        self.warn_of_compensation();
        self.tell_of_the_inertial_sensor();
        self.warn_of_the_battery();
        self.finish_zero();
        self.keep_buttons();
        if self.health.self_test_at.is_some_and(|at| self.now >= at) {
            self.health.self_test_at = None;
            let verdict = self.verdict();
            self.tell(format_args!("self-test: {verdict}"));
        }
    }

    fn tell_of_sensors(&mut self) {
        for (place, role) in Role::ALL.into_iter().enumerate() {
            let condition = self.sampler.condition(role);
            let told = self
                .health
                .told
                .get_mut(place)
                .map(|told| core::mem::replace(told, condition))
                .unwrap_or(condition);
            if condition != told {
                self.tell_of_sensor(role, condition, told);
            }
        }
    }

    fn tell_of_sensor(
        &mut self,
        role: Role,
        condition: Option<Condition>,
        before: Option<Condition>,
    ) {
        let Some((name, address)) = self.sampler.identity(role) else { return };
        let role_name = role.name();
        match condition {
            Some(Condition::Live) if before == Some(Condition::Seeking) || before.is_none() => {
                self.tell(format_args!("{role_name}: found {name} at 0x{address:02x}"));
            }
            Some(Condition::Live) => {
                self.tell(format_args!("{role_name}: {name} at 0x{address:02x} is back"))
            }
            Some(Condition::Lost(fault)) => {
                self.tell(format_args!("{role_name}: {name} at 0x{address:02x} lost: {fault}"));
            }
            Some(Condition::Absent(_)) if role.is_optional() => {}
            Some(Condition::Absent(fault)) => {
                self.tell(format_args!("{role_name}: no sensor found: {fault}"))
            }
            Some(Condition::Seeking) | None => {}
        }
    }

    fn tell_of_the_bus(&mut self) {
        let is_stuck = self.sampler.is_stuck();
        if core::mem::replace(&mut self.health.is_stuck, is_stuck) != is_stuck {
            let words = if is_stuck {
                "stuck; nine clocks did not free it: a short circuit?"
            } else {
                "free again"
            };
            self.tell(format_args!("I2C bus: {words}"));
        }
    }

    fn tell_of_satellites(&mut self) {
        let is_heard = self.receiver.is_heard();
        if core::mem::replace(&mut self.health.is_sky_heard, is_heard) != is_heard {
            let words = if is_heard { "the receiver is heard" } else { "the receiver is silent" };
            self.tell(format_args!("satellites: {words}"));
        }
        if let Some(utc) = self.receiver.utc().filter(|_| !self.health.is_time_told) {
            self.health.is_time_told = true;
            self.know_time(&utc);
            self.tell(format_args!("satellites: it was {utc} UTC a moment ago"));
        }
    }

    fn tell_of_the_reading(&mut self) {
        let is_fault = self.now.since(self.health.usable) > READ_WITHIN;
        if core::mem::replace(&mut self.health.is_fault, is_fault) != is_fault {
            let words = if is_fault { "no reading" } else { "reading again" };
            self.tell(format_args!("{words}"));
        }
    }

    fn warn_of_compensation(&mut self) {
        let is_missing = self
            .health
            .uncompensated_since
            .is_some_and(|since| self.now.since(since) >= UNCOMPENSATED_AFTER);
        if !is_missing {
            self.health.next_uncompensated = self.now;
        } else if self.now >= self.health.next_uncompensated && !self.health.is_fault {
            self.health.next_uncompensated = after(self.now, UNCOMPENSATED_EVERY);
            self.player.play(Notice::NoCompensation);
            let words = match self.health.status {
                Some(Status::CheckTubes) => {
                    "total energy: check its tubes and its zero; pitch inputs show in the reading"
                }
                Some(Status::CheckStatic) => {
                    "static line: it may be blocked, sink may sound like climb; the height stands \
                     still while the airspeed changes"
                }
                _ => "total energy: its sensor is missing; pitch inputs show in the reading",
            };
            self.tell(format_args!("{words}"));
        }
    }

    /// Without the inertial sensor the tone knows gusts less well than a moment ago: said once, and
    /// once more when it is back.
    fn tell_of_the_inertial_sensor(&mut self) {
        let is_unaided = self
            .health
            .unaided_since
            .is_some_and(|since| self.now.since(since) >= UNCOMPENSATED_AFTER);
        if core::mem::replace(&mut self.health.is_unaided, is_unaided) == is_unaided {
            return;
        }
        if is_unaided {
            self.player.play(Notice::NoCompensation);
            let why = self.trust().unwrap_or_default().name();
            self.tell(format_args!(
                "inertial sensor: not trusted ({why}); the pressures sound alone, and gusts show \
                 more"
            ));
        } else {
            self.tell(format_args!("inertial sensor: used again, or waited for"));
        }
    }

    fn warn_of_the_battery(&mut self) {
        if !self.battery.is_low() {
            self.health.next_battery = self.now;
        } else if self.now >= self.health.next_battery {
            self.health.next_battery = after(self.now, BATTERY_EVERY);
            self.player.play(Notice::BatteryLow);
            let millivolts = self.battery.millivolts().unwrap_or(0);
            self.tell(format_args!(
                "battery low: {}.{:02} V",
                millivolts / 1_000,
                millivolts % 1_000 / 10
            ));
        }
    }

    /// Reports an event on both ports.
    pub(super) fn tell(&mut self, text: core::fmt::Arguments<'_>) {
        let milliseconds = self.now.since(self.started).0 / 1_000;
        let mut line = crate::console::Line::new();
        // One that is too long is cut by the console's own limit.
        let _ = write!(line, "{}.{:03} s {text}", milliseconds / 1_000, milliseconds % 1_000);
        self.usb.tell(&line);
        self.uart.tell(&line);
    }
}
