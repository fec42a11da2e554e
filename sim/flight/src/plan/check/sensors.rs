//! The sensors and their faults.

use super::page::{Page, Place};
use crate::plan::Wrong;
use crate::plan::scenario::Scenario;
use crate::sensors::settings::{ChannelSettings, FaultKind, SensorSettings};

impl Page<'_> {
    pub(super) fn sensors(&self, scenario: &Scenario) -> Result<(), Wrong> {
        let sensors = &scenario.sensors;
        self.ranges(
            Place::table("sensors"),
            &[
                ("rate_hz", sensors.rate_hz, 0.1, 200.0),
                ("jitter_ms", sensors.jitter_ms, 0.0, 50.0),
            ],
        )?;
        self.channel("sensors.static", &sensors.static_port)?;
        for (table, channel) in
            [("sensors.dynamic", &sensors.dynamic), ("sensors.probe", &sensors.probe)]
        {
            channel.as_ref().map_or(Ok(()), |channel| self.channel(table, channel))?;
        }
        if let Some(thermometer) = &sensors.thermometer {
            self.ranges(
                Place::table("sensors.thermometer"),
                &[
                    ("noise_k", thermometer.noise_k, 0.0, 10.0),
                    ("error_k", thermometer.error_k, -20.0, 20.0),
                    ("lag_s", thermometer.lag_s, 0.0, 300.0),
                ],
            )?;
        }
        self.motion_sensors(sensors)?;
        self.faults(scenario)
    }

    fn channel(&self, table: &'static str, channel: &ChannelSettings) -> Result<(), Wrong> {
        let place = Place::table(table);
        self.ranges(
            place,
            &[
                ("noise_pa", channel.noise_pa, 0.0, 100.0),
                ("step_pa", channel.step_pa, 0.0, 100.0),
                ("warm_up_pa", channel.warm_up_pa, -1000.0, 1000.0),
                ("lag_s", channel.lag_s, 0.0, 10.0),
                ("delay_s", channel.delay_s, 0.0, 2.0),
                ("position_error", channel.position_error, -0.2, 0.2),
            ],
        )?;
        self.optional(
            place,
            &[
                ("warm_up_s", channel.warm_up_s, 1.0, 10_000.0),
                ("coefficient", channel.coefficient, -2.0, 0.0),
            ],
        )?;
        if channel.position_error != 0.0 && table != "sensors.static" {
            return self.wrong(
                place,
                "position_error",
                channel.position_error,
                "none: it is the static port's",
            );
        }
        match channel.coefficient {
            Some(coefficient) if table != "sensors.probe" => {
                self.wrong(place, "coefficient", coefficient, "none: it is the probe's")
            }
            _ => Ok(()),
        }
    }

    fn motion_sensors(&self, sensors: &SensorSettings) -> Result<(), Wrong> {
        if let Some(inertial) = &sensors.inertial {
            let place = Place::table("sensors.inertial");
            self.ranges(
                place,
                &[
                    ("errors", inertial.errors, 0.0, 10.0),
                    ("vibration_mps2", inertial.vibration_mps2, 0.0, 50.0),
                    ("vibration_hz", inertial.vibration_hz, 5.0, 95.0),
                    ("delay_s", inertial.delay_s, 0.0, 1.0),
                    ("self_heating_k", inertial.self_heating_k, -20.0, 40.0),
                ],
            )?;
            self.ranges(place, &inertial.mounted_deg.map(|it| ("mounted_deg", it, -180.0, 180.0)))?;
            self.ranges(place, &inertial.lever_m.map(|it| ("lever_m", it, -5.0, 5.0)))?;
            self.optional(place, &[("largest_g", inertial.largest_g, 1.0, 32.0)])?;
        }
        if let Some(gnss) = &sensors.gnss {
            let values = [
                ("rate_hz", gnss.rate_hz, 0.1, 50.0),
                ("delay_s", gnss.delay_s, 0.0, 2.0),
                ("noise_mps", gnss.noise_mps, 0.0, 10.0),
            ];
            self.ranges(Place::table("sensors.gnss"), &values)?;
        }
        if let Some(positions) = &sensors.positions {
            let values = [
                ("rate_hz", positions.rate_hz, 0.1, 50.0),
                ("error_m", positions.error_m, 0.0, 100.0),
                ("latitude_deg", positions.latitude_deg, -80.0, 80.0),
                ("longitude_deg", positions.longitude_deg, -180.0, 180.0),
            ];
            self.ranges(Place::table("sensors.positions"), &values)?;
        }
        Ok(())
    }

    fn faults(&self, scenario: &Scenario) -> Result<(), Wrong> {
        for (entry, fault) in scenario.fault.iter().enumerate() {
            let place = Place::entry("fault", entry);
            self.ranges(place, &[("from_s", fault.from_s, 0.0, 1e6)])?;
            self.optional(
                place,
                &[
                    ("for_s", fault.for_s, 0.0, 1e6),
                    ("lag_s", fault.lag_s, 0.1, 60.0),
                    ("size_pa", fault.size_pa, -100_000.0, 100_000.0),
                ],
            )?;
            let needs_line = fault.kind != FaultKind::Dropout;
            if needs_line && fault.line.is_none() {
                return self.wrong(place, "line", "absent", "static, dynamic or probe");
            }
            if fault.kind == FaultKind::Spike && fault.size_pa.is_none() {
                return self.wrong(place, "size_pa", "absent", "how large the spike is");
            }
            if fault.kind != FaultKind::Spike && fault.for_s.is_none() {
                return self.wrong(place, "for_s", "absent", "how long it lasts");
            }
        }
        Ok(())
    }
}
