//! The figures in the instrument's self-test and what of its settings a check needs.

/// A pressure sensor, as the self-test reports it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Sensor {
    /// Its kind, such as ms5611.
    pub kind: String,
    /// Noise in Pa rms.
    pub noise_pa: Option<f64>,
    /// Its own temperature in degrees Celsius.
    pub temperature_c: Option<f64>,
}

/// All of them, and the verdict.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Figures {
    /// On the static line.
    pub static_barometer: Option<Sensor>,
    /// On a probe or the pitot.
    pub second: Option<Sensor>,
    /// Pitot less static.
    pub differential: Option<Sensor>,
    /// `passed`, or what failed.
    pub result: String,
    /// Time since the start, s.
    pub up_s: Option<f64>,
}

impl Figures {
    /// From the lines of the answer.
    pub fn of(lines: &[String]) -> Self {
        let after = |name: &str| lines.iter().find_map(|line| line.strip_prefix(name));
        let up = lines.first().and_then(|line| line.rsplit_once(", up "));
        Self {
            static_barometer: after("static: ").and_then(sensor),
            second: after("second: ").and_then(sensor),
            differential: after("differential: ").and_then(sensor),
            result: after("result: ").unwrap_or("missing").to_owned(),
            up_s: up.and_then(|(_, time)| number_before(time, " s")),
        }
    }
}

/// `None` where none is live: such a line has no address.
fn sensor(text: &str) -> Option<Sensor> {
    let (kind, figures) = text.split_once(" at 0x")?;
    let field = |starts: &str, ends: &str| {
        let mut fields = figures.split(", ").map(str::trim);
        fields.find_map(|field| number_before(field.strip_prefix(starts)?, ends))
    };
    Some(Sensor {
        kind: kind.to_owned(),
        noise_pa: field("noise ", " Pa rms"),
        temperature_c: field("", " C"),
    })
}

fn number_before(text: &str, unit: &str) -> Option<f64> {
    text.strip_suffix(unit)?.parse().ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_answer_is_read_and_a_sensor_that_is_lost_is_none() {
        let lines = [
            "chirrup 0.1.0 on bench, started by power, up 812 s",
            "static: ms5611 at 0x77, 50.00 samples/s, jitter 0 us rms, noise 1.020 Pa rms, -3.5 C",
            "second: none, as set in device.second_barometer",
            "differential: ms4525do at 0x28 lost: no answer",
            "result: failed: the differential sensor was lost",
        ];
        let figures = Figures::of(&lines.map(str::to_owned));
        let barometer = figures.static_barometer.expect("it is live");
        assert_eq!(barometer.kind, "ms5611");
        assert_eq!((barometer.noise_pa, barometer.temperature_c), (Some(1.02), Some(-3.5)));
        assert_eq!(figures.second, None);
        assert_eq!(figures.differential.expect("it is named").noise_pa, None);
        assert_eq!(figures.result, "failed: the differential sensor was lost");
        assert_eq!(figures.up_s, Some(812.0));
    }
}
