//! The instrument's health: whether it has a reading, what was reported, and what is due.

use crate::slot::Condition;
use chirrup_core::{Micros, Status};
use chirrup_sensors::sensor::after;

const START_WITHIN: Micros = Micros(3_000_000);
pub(super) const READ_WITHIN: Micros = Micros(2_000_000);
/// Time until every sensor has its figures: two windows.
const SELF_TEST_AFTER: Micros = Micros(11_000_000);

/// The state of the readings, and what was reported about it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Health {
    pub(super) next_look: Micros,
    /// The time of the last usable sample, or when the first is due.
    pub(super) usable: Micros,
    pub(super) has_read: bool,
    pub(super) status: Option<Status>,
    pub(super) uncompensated_since: Option<Micros>,
    /// Since when the inertial sensor has not been trusted, and whether that was reported.
    pub(super) unaided_since: Option<Micros>,
    pub(super) is_unaided: bool,
    pub(super) is_fault: bool,
    pub(super) is_stuck: bool,
    pub(super) next_uncompensated: Micros,
    pub(super) next_battery: Micros,
    pub(super) told: [Option<Condition>; 4],
    /// Whether the satellite receiver was reported as heard, and the time of day told.
    pub(super) is_sky_heard: bool,
    pub(super) is_time_told: bool,
    pub(super) self_test_at: Option<Micros>,
}

impl Health {
    pub(super) fn new(now: Micros) -> Self {
        Self {
            next_look: now,
            usable: Micros(now.0.saturating_add(START_WITHIN.0).saturating_sub(READ_WITHIN.0)),
            has_read: false,
            status: None,
            uncompensated_since: None,
            unaided_since: None,
            is_unaided: false,
            is_fault: false,
            is_stuck: false,
            next_uncompensated: now,
            next_battery: now,
            told: [None; 4],
            is_sky_heard: false,
            is_time_told: false,
            self_test_at: Some(after(now, SELF_TEST_AFTER)),
        }
    }

    /// Takes the reading of a sample.
    pub(super) fn reading(&mut self, now: Micros, status: Status) {
        if status == Status::Partial {
            return;
        }
        self.status = Some(status);
        if status.is_used() {
            self.usable = now;
            self.has_read |= !matches!(status, Status::Settling | Status::Gap | Status::ClockReset);
        }
        if status == Status::CheckInertial {
            self.unaided_since.get_or_insert(now);
        } else if status.is_used() {
            self.unaided_since = None;
        }
        let is_doubtful =
            matches!(status, Status::NoCompensation | Status::CheckTubes | Status::CheckStatic);
        if is_doubtful {
            self.uncompensated_since.get_or_insert(now);
        } else if status.is_used() {
            self.uncompensated_since = None;
        }
    }

    pub(super) fn is_due(&self, now: Micros) -> bool {
        now >= self.next_look
    }

    /// Whether there is no reading, and there should be one.
    pub(super) fn is_fault(&self) -> bool {
        self.is_fault
    }

    /// Whether there is a settled reading.
    pub(super) fn has_reading(&self) -> bool {
        self.has_read
            && !self.is_fault
            && !matches!(self.status, Some(Status::Settling | Status::Gap))
    }
}
