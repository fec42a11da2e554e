//! What is checked while nothing moves: noise, static pressure against QNH and elevation, one
//! barometer against the other, the zero of the dynamic pressure.

use super::figures::{Figures, Sensor};
use super::finding::{Finding, Measured, Verdict};
use super::rows::Row;
use super::sheets::{self, Sheet};
use chirrup_core::{Metre, Pascal, SecondBarometer, pressure_altitude, pressure_at};

/// Noise up to this many times the sheet's passes; beyond the second it fails (guesses: the sheets
/// give typical values, and a room has doors).
const NOISE_FACTORS: (f64, f64) = (1.5, 3.0);
/// A QNH is rounded to a hectopascal and of another hour and place, Pa (a guess).
const QNH_PA: f64 = 100.0;
/// Zero of the dynamic pressure, Pa: half a per cent of the airspeed at 100 km/h.
const ZERO_PA: f64 = 5.0;

/// The height and pressure of the place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Place {
    /// Pressure reduced to sea level, hPa.
    pub qnh_hpa: f64,
    /// Height above the sea, m.
    pub elevation_m: f64,
}

/// What is set of the instrument's sensors.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Plumbing {
    /// What a second barometer is connected to.
    pub second: SecondBarometer,
    /// Full scale of a differential sensor without a scale of its own.
    pub range_pa: Pascal,
    /// What is subtracted from the dynamic pressure.
    pub zero_pa: f64,
}

/// Everything that is known at rest.
#[derive(Clone, Copy, Debug)]
pub struct Rest<'a> {
    /// Some seconds of the log.
    pub rows: &'a [Row],
    /// The self-test's figures.
    pub figures: &'a Figures,
    /// What is connected.
    pub plumbing: Plumbing,
    /// Where it stands, if that was given.
    pub place: Option<Place>,
}

impl Rest<'_> {
    /// All findings, in the order of the report.
    pub fn findings(&self) -> Vec<Finding> {
        let figures = self.figures;
        let sensors = [
            ("static", &figures.static_barometer),
            ("second", &figures.second),
            ("differential", &figures.differential),
        ];
        let noise = sensors.into_iter().filter_map(|(role, sensor)| {
            sensor.as_ref().map(|sensor| noise(role, sensor, self.plumbing))
        });
        let others = [self.against_qnh(), self.against_second(), self.zero()];
        std::iter::once(self_test(&figures.result))
            .chain(noise)
            .chain(others.into_iter().flatten())
            .map(Finding::settled)
            .collect()
    }

    fn against_qnh(&self) -> Option<Finding> {
        let (place, measured) = (self.place?, self.mean(|row| Some(row.static_pa))?);
        let sheet = sheets::of(&self.figures.static_barometer.as_ref()?.kind)?;
        let limit_pa = sheet.accuracy_pa + QNH_PA;
        let sea = pressure_altitude(Pascal((100.0 * place.qnh_hpa) as f32));
        let height = Metre((place.elevation_m + f64::from(sea.0)) as f32);
        let off_pa = measured.value - f64::from(pressure_at(height).0);
        let off_m = pressure_altitude(Pascal(measured.value as f32)).0 - height.0;
        Some(Finding {
            what: "static pressure against QNH and elevation".into(),
            line: None,
            value: Some(Measured { value: off_pa, ..measured }),
            measured: format!("{:+.2} hPa, {off_m:+.1} m of height", off_pa / 100.0),
            expected: format!(
                "within {:.1} hPa: {:.1} by the {}'s sheet, {:.1} for the QNH",
                limit_pa / 100.0,
                sheet.accuracy_pa / 100.0,
                sheet.name,
                QNH_PA / 100.0
            ),
            verdict: judged(off_pa.abs() <= limit_pa),
            advice: "check QNH (not QFE) and elevation, and that the line is open; climb does not \
                     suffer from a constant error, the altimeter does"
                .into(),
        })
    }

    fn against_second(&self) -> Option<Finding> {
        let between = self.mean(|row| Some(row.te_pa? - row.static_pa))?;
        let accuracy = |sensor: &Option<Sensor>| {
            sheets::of(&sensor.as_ref()?.kind).map(|sheet| sheet.accuracy_pa)
        };
        let limit_pa = accuracy(&self.figures.static_barometer)? + accuracy(&self.figures.second)?;
        Some(Finding {
            what: "probe less static, at rest".into(),
            line: None,
            value: Some(between),
            measured: format!("{:+.1} Pa", between.value),
            expected: format!("within {limit_pa:.0} Pa, by both sheets"),
            verdict: judged(between.value.abs() <= limit_pa),
            advice: "look for a kinked or wet line and for wind at the probe; else one of the two \
                     barometers is off"
                .into(),
        })
    }

    fn zero(&self) -> Option<Finding> {
        let zero = self.mean(|row| row.dynamic_pa)?;
        let raw_pa = zero.value + self.plumbing.zero_pa;
        let accuracy = match (self.figures.differential.as_ref(), self.plumbing.second) {
            (Some(sensor), _) => sheets::of(&sensor.kind)
                .map(|sheet| sheet.scaled(self.plumbing.range_pa).accuracy_pa.max(ZERO_PA)),
            (None, _) => None,
        };
        let is_far = accuracy.is_some_and(|accuracy| raw_pa.abs() > accuracy + ZERO_PA);
        let (verdict, advice) = if zero.uncertainty > ZERO_PA {
            (Verdict::Unclear, "the pressure moves: out of the wind, cover the pitot, and again")
        } else if is_far {
            let advice = "more than its sheet allows: look for water or a kink in the lines before \
                          `zero`; else replace the sensor";
            (Verdict::Failed, advice)
        } else {
            let advice = "at rest and out of the wind, `zero` and then `save` on its console";
            (judged(zero.value.abs() <= ZERO_PA), advice)
        };
        Some(Finding {
            what: "pitot zero".into(),
            line: None,
            value: Some(zero),
            measured: format!(
                "{:+.2} ± {:.2} Pa, {raw_pa:+.2} Pa without device.dynamic_zero_pa",
                zero.value, zero.uncertainty
            ),
            expected: format!("within {ZERO_PA:.0} Pa, half a per cent of 100 km/h"),
            verdict,
            advice: advice.into(),
        })
    }

    /// Mean of a column, with an uncertainty from the means of ten blocks; `None` if it is empty.
    fn mean(&self, of: impl Fn(&Row) -> Option<f64>) -> Option<Measured> {
        const BLOCKS: usize = 10;
        let values: Vec<f64> = self.rows.iter().filter_map(of).collect();
        if values.len() < BLOCKS {
            return None;
        }
        let mean = |values: &[f64]| values.iter().sum::<f64>() / values.len() as f64;
        let means: Vec<f64> = values.chunks_exact(values.len() / BLOCKS).map(mean).collect();
        let value = mean(&values);
        let squares: f64 = means.iter().map(|one| (one - value).powi(2)).sum();
        let count = means.len() as f64;
        let error = (squares / (count - 1.0) / count).sqrt();
        // Student's t, 95 % on two sides, nine degrees of freedom (from memory).
        Some(Measured { value, uncertainty: 2.262 * error, unit: "Pa" })
    }
}

fn judged(is_good: bool) -> Verdict {
    if is_good { Verdict::Passed } else { Verdict::Failed }
}

fn self_test(result: &str) -> Finding {
    Finding {
        what: "self-test".into(),
        line: None,
        value: None,
        measured: result.to_owned(),
        expected: String::new(),
        verdict: judged(result == "passed"),
        advice: "`selftest` on its console names the sensor; check its wires and solder".into(),
    }
}

fn noise(role: &str, sensor: &Sensor, plumbing: Plumbing) -> Finding {
    let sheet: Option<Sheet> = sheets::of(&sensor.kind).copied();
    let sheet = sheet
        .map(|sheet| if role == "differential" { sheet.scaled(plumbing.range_pa) } else { sheet });
    let noise = sensor.noise_pa;
    let verdict = match (noise, sheet) {
        (Some(noise), Some(sheet)) if noise <= NOISE_FACTORS.0 * sheet.noise_pa => Verdict::Passed,
        (Some(noise), Some(sheet)) if noise > NOISE_FACTORS.1 * sheet.noise_pa => Verdict::Failed,
        _ => Verdict::Unclear,
    };
    Finding {
        what: format!("noise of the {role} sensor"),
        line: None,
        value: noise.map(|value| Measured { value, uncertainty: 0.0, unit: "Pa" }),
        measured: noise.map_or("none measured".into(), |noise| format!("{noise:.2} Pa rms")),
        expected: sheet.map_or_else(
            || format!("no data sheet of {} is known here", sensor.kind),
            |sheet| {
                format!(
                    "at most {:.2} Pa rms; typical of the {}: {:.2}",
                    NOISE_FACTORS.0 * sheet.noise_pa,
                    sheet.name,
                    sheet.noise_pa
                )
            },
        ),
        verdict,
        advice: "away from wind, fans and doors; cover the sensor from light, with open foam; \
                 solder its ground well"
            .into(),
    }
}
