//! The legs.

use super::page::{Page, Place};
use crate::plan::Wrong;
use crate::plan::leg::{How, Leg};
use crate::plan::scenario::Scenario;

impl Page<'_> {
    pub(super) fn legs(&self, scenario: &Scenario) -> Result<(), Wrong> {
        if scenario.leg.is_empty() {
            return self.wrong(Place::ROOT, "leg", "an empty list", "at least one [[leg]]");
        }
        let mut before = if scenario.start.height_m.is_some() { How::Fly } else { How::Wait };
        for (entry, leg) in scenario.leg.iter().enumerate() {
            let place = Place::entry("leg", entry);
            self.leg(place, leg, scenario)?;
            self.how(place, leg, before)?;
            before = leg.how;
        }
        Ok(())
    }

    fn leg(&self, place: Place, leg: &Leg, scenario: &Scenario) -> Result<(), Wrong> {
        let is_word = |text: &str| {
            !text.is_empty()
                && text
                    .bytes()
                    .all(|byte| byte.is_ascii_alphanumeric() || matches!(byte, b'_' | b'-'))
        };
        if !is_word(&leg.phase) {
            return self.wrong(
                place,
                "phase",
                format!("{:?}", leg.phase),
                "one word of letters, digits, - and _",
            );
        }
        self.numbers(place, leg, scenario)?;
        self.places(place, "towards_m", leg.towards_m.as_slice())?;
        self.places(place, "patrol_m", leg.patrol_m.as_deref().unwrap_or_default())?;
        if leg.patrol_m.as_ref().is_some_and(|places| places.len() < 2) {
            return self.wrong(
                place,
                "patrol_m",
                "less than two places",
                "two or more, such as [[0, 900], [0, -900]]",
            );
        }
        leg.circle.as_ref().map_or(Ok(()), |name| self.circle(place, name, leg, scenario))
    }

    fn numbers(&self, place: Place, leg: &Leg, scenario: &Scenario) -> Result<(), Wrong> {
        self.ranges(
            place,
            &[
                ("acceleration_mps2", leg.acceleration_mps2, 0.1, 9.0),
                ("most_load", leg.most_load, 1.05, 6.0),
                ("least_load", leg.least_load, -2.0, 0.95),
                ("bank_deg", leg.bank_deg, -75.0, 75.0),
                ("off_centre_m", leg.off_centre_m, -1000.0, 1000.0),
                ("airbrake_percent", leg.airbrake_percent, 0.0, 100.0),
                ("climb_mps", leg.climb_mps, 0.0, 8.0),
                ("cable_m", leg.cable_m, 300.0, 3000.0),
                ("climb_deg", leg.climb_deg, 10.0, 60.0),
                ("spin_mps", leg.spin_mps, 15.0, 50.0),
                ("spin_turn_s", leg.spin_turn_s, 1.5, 10.0),
            ],
        )?;
        self.optional(
            place,
            &[
                ("for_s", leg.for_s, 0.1, 36_000.0),
                ("until_height_m", leg.until_height_m, scenario.start.ground_m, 15_000.0),
                ("speed_mps", leg.speed_mps, 10.0, 80.0),
                ("turn_deg", leg.turn_deg, 1.0, 3600.0),
                ("heading_deg", leg.heading_deg, 0.0, 360.0),
            ],
        )?;
        if leg.turn_deg.is_some() && leg.bank_deg == 0.0 {
            return self.wrong(place, "bank_deg", 0, "a bank to turn with, positive to the right");
        }
        Ok(())
    }

    fn circle(
        &self,
        place: Place,
        name: &str,
        leg: &Leg,
        scenario: &Scenario,
    ) -> Result<(), Wrong> {
        if !scenario.thermal.iter().any(|thermal| thermal.name == name) {
            return self.wrong(place, "circle", format!("{name:?}"), "the name of a [[thermal]]");
        }
        if leg.bank_deg.abs() < 5.0 {
            return self.wrong(
                place,
                "bank_deg",
                leg.bank_deg,
                "5 to 75 or -75 to -5 to circle with",
            );
        }
        Ok(())
    }

    fn how(&self, place: Place, leg: &Leg, before: How) -> Result<(), Wrong> {
        let is_flying = !matches!(before, How::Wait | How::Land);
        let on_ground = matches!(leg.how, How::Wait | How::Winch | How::Aerotow);
        let still_towed = before == How::Aerotow && leg.how == How::Aerotow;
        if is_flying == on_ground && !still_towed {
            let how = format!("{:?}", leg.how).to_lowercase();
            let (where_to, expected) = if is_flying {
                ("in the air", "fly, spin, loop or land")
            } else {
                ("on the ground", "wait, winch or aerotow first")
            };
            return self.wrong(place, "how", format!("{how:?} {where_to}"), expected);
        }
        let ends = leg.for_s.is_some()
            || leg.until_height_m.is_some()
            || leg.turn_deg.is_some()
            || leg.towards_m.is_some()
            || matches!(leg.how, How::Winch | How::Loop | How::Land);
        if ends {
            Ok(())
        } else {
            self.wrong(
                place,
                "for_s",
                "absent",
                "an end: for_s, until_height_m, turn_deg or towards_m",
            )
        }
    }
}
