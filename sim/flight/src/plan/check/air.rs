//! Start, day, wind and everything that gives lift.

use super::page::{Page, Place};
use crate::air::settings::TurbulenceSettings;
use crate::plan::Wrong;
use crate::plan::scenario::Scenario;

impl Page<'_> {
    pub(super) fn surroundings(&self, scenario: &Scenario) -> Result<(), Wrong> {
        let (start, day, wind) = (&scenario.start, &scenario.day, &scenario.wind);
        self.ranges(
            Place::table("start"),
            &[
                ("ground_m", start.ground_m, -400.0, 5000.0),
                ("speed_mps", start.speed_mps, 10.0, 80.0),
                ("heading_deg", start.heading_deg, 0.0, 360.0),
                ("east_m", start.east_m, -1e6, 1e6),
                ("north_m", start.north_m, -1e6, 1e6),
            ],
        )?;
        let lowest_m = start.ground_m + 20.0;
        self.optional(Place::table("start"), &[("height_m", start.height_m, lowest_m, 12_000.0)])?;
        self.ranges(
            Place::table("day"),
            &[
                ("sea_level_hpa", day.sea_level_hpa, 900.0, 1080.0),
                ("sea_level_c", day.sea_level_c, -40.0, 50.0),
            ],
        )?;
        self.ranges(
            Place::table("wind"),
            &[
                ("from_deg", wind.from_deg, 0.0, 360.0),
                ("speed_mps", wind.speed_mps, 0.0, 40.0),
                ("shear_mps_per_km", wind.shear_mps_per_km, -10.0, 10.0),
                ("roughness_m", wind.roughness_m, 0.001, 2.0),
            ],
        )?;
        scenario.turbulence.as_ref().map_or(Ok(()), |turbulence| self.turbulence(turbulence))
    }

    fn turbulence(&self, turbulence: &TurbulenceSettings) -> Result<(), Wrong> {
        let TurbulenceSettings {
            rms_mps,
            low_rms_mps,
            gust_rms_mps,
            gust_length_m,
            up_rms_mps,
            up_length_m,
        } = *turbulence;
        let place = Place::table("turbulence");
        self.optional(
            place,
            &[
                ("rms_mps", rms_mps, 0.0, 5.0),
                ("low_rms_mps", low_rms_mps, 0.0, 5.0),
                ("gust_rms_mps", gust_rms_mps, 0.0, 5.0),
                ("gust_length_m", gust_length_m, 10.0, 2000.0),
                ("up_rms_mps", up_rms_mps, 0.0, 5.0),
                ("up_length_m", up_length_m, 10.0, 2000.0),
            ],
        )?;
        if rms_mps.or(gust_rms_mps).or(up_rms_mps).is_none() {
            let expected = "rms_mps, gust_rms_mps or up_rms_mps";
            return self.wrong(place, "rms_mps", "absent", expected);
        }
        let needs = [
            ("low_rms_mps", low_rms_mps, "rms_mps", rms_mps),
            ("gust_length_m", gust_length_m, "gust_rms_mps", gust_rms_mps),
            ("up_length_m", up_length_m, "up_rms_mps", up_rms_mps),
        ];
        for (key, value, needed, other) in needs {
            if let (Some(value), None) = (value, other) {
                return self.wrong(place, key, value, format!("{needed} beside it"));
            }
        }
        Ok(())
    }

    pub(super) fn lift(&self, scenario: &Scenario) -> Result<(), Wrong> {
        let above_ground = (scenario.start.ground_m + 100.0, 15_000.0);
        for (entry, thermal) in scenario.thermal.iter().enumerate() {
            let place = Place::entry("thermal", entry);
            self.ranges(
                place,
                &[
                    ("strength_mps", thermal.strength_mps, 0.0, 15.0),
                    ("radius_m", thermal.radius_m, 20.0, 2000.0),
                    ("top_m", thermal.top_m, above_ground.0, above_ground.1),
                ],
            )?;
            let widest_m = 2.0 * thermal.radius_m;
            self.optional(place, &[("edge_m", thermal.edge_m, 1.0, widest_m)])?;
            self.places(place, "east_m or north_m", &[[thermal.east_m, thermal.north_m]])?;
        }
        for (entry, street) in scenario.street.iter().enumerate() {
            let place = Place::entry("street", entry);
            self.ranges(
                place,
                &[
                    ("course_deg", street.course_deg, 0.0, 360.0),
                    ("strength_mps", street.strength_mps, 0.0, 15.0),
                    ("half_width_m", street.half_width_m, 20.0, 3000.0),
                    ("swell", street.swell, 0.0, 1.0),
                    ("spacing_m", street.spacing_m, 200.0, 20_000.0),
                    ("top_m", street.top_m, above_ground.0, above_ground.1),
                ],
            )?;
            self.places(place, "east_m or north_m", &[[street.east_m, street.north_m]])?;
        }
        if let Some(ridge) = &scenario.ridge {
            let values = [
                ("course_deg", ridge.course_deg, 0.0, 360.0),
                ("height_m", ridge.height_m, 20.0, 2000.0),
            ];
            self.ranges(Place::table("ridge"), &values)?;
            self.places(
                Place::table("ridge"),
                "east_m or north_m",
                &[[ridge.east_m, ridge.north_m]],
            )?;
        }
        if let Some(wave) = &scenario.wave {
            let place = Place::table("wave");
            self.ranges(
                place,
                &[
                    ("strength_mps", wave.strength_mps, 0.0, 15.0),
                    ("length_m", wave.length_m, 1000.0, 50_000.0),
                    ("base_m", wave.base_m, scenario.start.ground_m, 12_000.0),
                ],
            )?;
            self.places(place, "east_m or north_m", &[[wave.east_m, wave.north_m]])?;
            self.ranges(place, &[("top_m", wave.top_m, 0.0, 20_000.0)])?;
            self.above(place, "top_m", wave.top_m, wave.base_m + 500.0, "500 m above base_m")?;
        }
        Ok(())
    }
}
