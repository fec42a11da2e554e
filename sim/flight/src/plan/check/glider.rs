//! The glider's table.

use super::page::{Page, Place};
use crate::physics::glider::Glider;
use crate::plan::Wrong;
use crate::plan::scenario::Scenario;

impl Page<'_> {
    pub(super) fn glider(&self, scenario: &Scenario) -> Result<Glider, Wrong> {
        let place = Place::table("glider");
        let glider = &scenario.glider;
        let [speeds, sinks] = [
            ["speed_1_mps", "speed_2_mps", "speed_3_mps"],
            ["sink_1_mps", "sink_2_mps", "sink_3_mps"],
        ];
        for (index, (speed, sink)) in glider.points().into_iter().enumerate() {
            self.ranges(
                place,
                &[(speeds[index], speed, 10.0, 80.0), (sinks[index], sink, 0.2, 10.0)],
            )?;
        }
        self.above(place, "speed_2_mps", glider.speed_2_mps, glider.speed_1_mps, "speed_1_mps")?;
        self.above(place, "speed_3_mps", glider.speed_3_mps, glider.speed_2_mps, "speed_2_mps")?;
        self.ranges(
            place,
            &[
                ("reference_mass_kg", glider.reference_mass_kg, 100.0, 1000.0),
                ("ballast_kg", glider.ballast_kg, -300.0, 500.0),
                ("contamination_percent", glider.contamination_percent, 0.0, 50.0),
                ("stall_mps", glider.stall_mps, 8.0, 40.0),
                ("airbrake_glide_ratio", glider.airbrake_glide_ratio, 3.0, 20.0),
            ],
        )?;
        self.above(
            place,
            "ballast_kg",
            glider.ballast_kg,
            80.0 - glider.reference_mass_kg,
            "80 kg in all",
        )?;
        match Glider::new(glider) {
            Some(made) => Ok(made),
            None => self.wrong(
                place,
                "sink_3_mps",
                glider.sink_3_mps,
                "one with which the three points bend as a polar does",
            ),
        }
    }
}
