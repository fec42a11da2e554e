//! Air data: density, true airspeed and temperature ratio from static pressure, airspeed and air
//! temperature.
//!
//! ```text
//! H        pressure altitude of the standard atmosphere
//! theta    T / T_std(H), the temperature ratio; 1 where no temperature is measured
//! rho      p / (R T)
//! TAS      from impact pressure or calibrated airspeed, with p and T
//! EAS      TAS sqrt(rho / rho0): what the wing feels; nearly what the airspeed indicator shows
//! ```
//!
//! `theta` is also the ratio of true height differences to the altimeter's: between two pressures
//! that are close together the hydrostatic law gives `dh = R T / g dp / p`, so `dh_true / dH = T /
//! T_std`. On a summer afternoon 15 K above standard, a climb of 3 m/s by the altimeter is really
//! one of 3.16 m/s.
//!
//! Source: hydrostatics and the ideal gas law; ICAO Doc 7488/3 for the standard.

use crate::air::airspeed::{true_from_calibrated, true_from_dynamic};
use crate::air::atmosphere::{SEA_LEVEL_DENSITY, density, pressure_altitude, temperature_at};
use crate::sensing::sample::{Sample, Speed};
use crate::units::{Kelvin, Metre, MetrePerSecond, Pascal};

/// Static pressure and what follows from it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AirData {
    /// The pressure itself.
    pub(crate) pressure: Pascal,
    /// Air temperature; that of the standard atmosphere where none is measured.
    pub temperature: Kelvin,
    /// Pressure altitude of the standard atmosphere.
    pub altitude: Metre,
    /// True airspeed, where any airspeed is known.
    pub true_airspeed: Option<MetrePerSecond>,
    /// sqrt(rho0 / rho), the ratio of true to equivalent airspeed: 1 at sea level, 1.16 at 3000 m.
    pub density_ratio: f32,
    /// T / T_std, the ratio of true heights and vertical speeds to those of the standard
    /// atmosphere. 0.65 to 1.6.
    pub temperature_ratio: f32,
}

impl AirData {
    /// Works out the air data of `sample`; `None` without a usable static pressure.
    pub fn of(sample: &Sample) -> Option<Self> {
        sample.usable_static_pressure().map(|pressure| Self::at(pressure, sample))
    }

    /// Works out the air data of what else is in `sample` at the static pressure `pressure`, which
    /// must be usable ([`Sample::usable_static_pressure`]).
    pub(crate) fn at(pressure: Pascal, sample: &Sample) -> Self {
        let altitude = pressure_altitude(pressure);
        let standard = temperature_at(altitude);
        let temperature = sample.usable_outside_air().unwrap_or(standard);
        let true_airspeed =
            sample.usable_speed().map(|speed| true_airspeed(speed, pressure, temperature));
        Self {
            pressure,
            temperature,
            altitude,
            true_airspeed,
            density_ratio: libm::sqrtf(SEA_LEVEL_DENSITY.0 / density(pressure, temperature).0),
            temperature_ratio: temperature.0 / standard.0,
        }
    }

    /// Equivalent airspeed, where any airspeed is known; within 0.3 % of the calibrated one below
    /// 50 m/s and 5000 m.
    pub(crate) fn equivalent_airspeed(&self) -> Option<MetrePerSecond> {
        self.true_airspeed.map(|speed| MetrePerSecond(speed.0 / self.density_ratio))
    }
}

fn true_airspeed(speed: Speed, pressure: Pascal, temperature: Kelvin) -> MetrePerSecond {
    match speed {
        Speed::Dynamic(dynamic) => true_from_dynamic(dynamic, pressure, temperature),
        Speed::Calibrated(calibrated) => true_from_calibrated(calibrated, pressure, temperature),
        Speed::True(speed) => speed,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::air::atmosphere::pressure_at;
    use crate::units::Micros;
    use approx::assert_relative_eq;

    fn air(height_m: f32, speed: Option<Speed>, celsius: Option<f32>) -> AirData {
        let outside_air = celsius.map(|celsius| Kelvin(celsius + 273.15));
        let pressure = pressure_at(Metre(height_m));
        let sample = Sample { speed, outside_air, ..Sample::of_static(Micros(0), pressure) };
        AirData::at(pressure, &sample)
    }

    #[test]
    fn without_a_thermometer_the_air_is_standard() {
        let air = air(3000.0, Some(Speed::True(MetrePerSecond(34.824))), None);
        // ICAO Doc 7488/3: 268.65 K and 0.909122 kg/m3 at 3000 m; IAS 30 m/s is TAS 34.824 m/s
        // there.
        assert_relative_eq!(air.temperature.0, 268.65, max_relative = 1e-5);
        assert_relative_eq!(air.density_ratio, (1.225_f32 / 0.909_122).sqrt(), max_relative = 1e-5);
        assert_relative_eq!(air.equivalent_airspeed().unwrap().0, 30.0, max_relative = 1e-4);
        assert_relative_eq!(air.temperature_ratio, 1.0, max_relative = 1e-6);
    }

    #[test]
    fn warm_air_is_thinner_and_true_heights_are_larger() {
        // 30 degrees Celsius at sea level: rho = 101325 / (287.05287 * 303.15) = 1.16439 kg/m3.
        let air = air(0.0, Some(Speed::Calibrated(MetrePerSecond(30.0))), Some(30.0));
        assert_relative_eq!(air.temperature_ratio, 303.15 / 288.15, max_relative = 1e-6);
        assert_relative_eq!(
            air.true_airspeed.unwrap().0,
            30.0 * (1.225_f32 / 1.164_39).sqrt(),
            max_relative = 1e-4
        );
    }
}
