//! The glider's table.

use super::page::{Page, Place};
use crate::physics::glider::{Glider, GliderSettings};
use crate::plan::Wrong;
use crate::plan::scenario::Scenario;

const POINTS: &str = "glider.points";

impl Page<'_> {
    pub(super) fn glider(&self, scenario: &Scenario) -> Result<Glider, Wrong> {
        let place = Place::table("glider");
        let glider = &scenario.glider;
        self.points(glider)?;
        self.ranges(
            place,
            &[
                ("reference_mass_kg", glider.reference_mass_kg, 100.0, 1000.0),
                ("ballast_kg", glider.ballast_kg, 0.0, 500.0),
                ("contamination_percent", glider.contamination_percent, 0.0, 50.0),
                ("stall_mps", glider.stall_mps, 8.0, 40.0),
                ("airbrake_glide_ratio", glider.airbrake_glide_ratio, 3.0, 20.0),
            ],
        )?;
        self.optional(place, &[("empty_mass_kg", glider.empty_mass_kg, 100.0, 1000.0)])?;
        match (Glider::new(glider), glider.points.last()) {
            (Some(made), _) => Ok(made),
            (None, last) => self.wrong(
                Place::entry(POINTS, glider.points.len().saturating_sub(1)),
                "sink_mps",
                last.map_or(0.0, |point| point.sink_mps),
                "one with which the points bend as a polar does",
            ),
        }
    }

    fn points(&self, glider: &GliderSettings) -> Result<(), Wrong> {
        let count = glider.points.len();
        if !(3..=8).contains(&count) {
            return self.wrong(
                Place::table("glider"),
                "points",
                format!("a list of {count}"),
                "three to eight points",
            );
        }
        for (entry, point) in glider.points.iter().enumerate() {
            let place = Place::entry(POINTS, entry);
            self.ranges(
                place,
                &[
                    ("speed_mps", point.speed_mps, 10.0, 80.0),
                    ("sink_mps", point.sink_mps, 0.2, 10.0),
                ],
            )?;
            if let Some(before) = entry.checked_sub(1).and_then(|entry| glider.points.get(entry)) {
                let what = "the point before";
                self.above(place, "speed_mps", point.speed_mps, before.speed_mps, what)?;
            }
        }
        Ok(())
    }
}
