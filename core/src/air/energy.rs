//! Energy height: the altitude to which the glider could zoom if it turned all its speed into
//! height.
//!
//! ```text
//! h_E = h + V^2 / (2 g)
//! ```
//!
//! A pull-up trades speed for height and leaves `h_E` unchanged, so its rate of change shows the
//! air's movement and not the pilot's pitch inputs. The energy is summed here, before the
//! estimator, so that altitude and kinetic height pass through one filter and neither lags the
//! other.
//!
//! The compensation, the part above the altitude, comes from one of
//!
//! ```text
//! none         0
//! electronic   V^2 / (2 g theta), V true airspeed, theta = T / T_std
//! probe        H(p_te) - H(p_static); a probe of pressure coefficient -1 makes its line read
//!              p - q
//! ```
//!
//! The altitude H is that of the standard atmosphere, and each of its metres is `theta` true metres
//! long. So the kinetic height is divided by `theta`, and a zoom leaves `h_E` unchanged on a hot
//! day too. A probe needs no such correction, since both its heights come from H.
//!
//! **How far a probe and the airspeed agree.** A probe of coefficient -1 reads p - q with q = 1/2
//! rho V^2. Below the static pressure `dH/dp = -1 / (rho_s g)` with `rho_s ~ p^n`, n = 1 - R
//! L / g = 0.81: the air gets thinner on the way from p to p - q, and
//!
//! ```text
//! H(p - q) - H(p) = q / (rho_s g) (1 + n q / (2 p) + ..)
//!                 = V^2 / (2 g theta) (1 + 0.283 M^2 + ..)      since q / p = 0.7 M^2
//! ```
//!
//! which is 0.2 % more than the kinetic height at 30 m/s and 0.6 % at 50 m/s; for its rate of
//! change, which the reading shows, twice as much. Where the airspeed is also known, this excess is
//! removed ([`ideal_probe_excess`]). (How a real probe's coefficient changes with M^2 is not
//! published by its maker; M^2 is 0.02 at 50 m/s.)
//!
//! **Below flying speed** the kinetic height fades out between 14 and 8 m/s of equivalent airspeed:
//! on the ground a few pascals of noise or zero error would amount to metres. The fade has no step,
//! and a negative impact pressure counts as zero speed.
//!
//! **Unequal lines**: each channel may have its own lag; the others are delayed to match the
//! slowest one in use ([`crate::air::delay`]), so that a pull-up changes altitude and compensation
//! at the same moment.
//!
//! A source that appears or disappears in flight would make `h_E` jump by the whole kinetic height
//! (46 m at 30 m/s, a lift that is not there). So while the source is missing, the last
//! compensation is held, and when it returns, the offset is absorbed: `h_E` is continuous, and only
//! its rate of change is meaningful.
//!
//! Source: any text on gliding or on energy methods in flight mechanics; the relation is mechanics.
//! The series is from the formulas of [`crate::air::atmosphere`].

use crate::air::air_data::AirData;
use crate::air::atmosphere::{GRAVITY_MPS2, SEA_LEVEL_DENSITY, pressure_altitude};
use crate::air::delay::DelayState;
use crate::error::SettingsError;
use crate::rows::{Group, Kind};
use crate::units::{Metre, MetrePerSecond, Micros, Pascal};

/// Equivalent airspeeds between which the kinetic height fades in: the lower is above any wind a
/// parked glider is left out in, the upper below any flying speed (guesses; club gliders stall at
/// 17 to 20 m/s, common practice, no source).
pub const NO_SPEED: MetrePerSecond = MetrePerSecond(8.0);
/// Flying speed begins here.
pub const FLYING_SPEED: MetrePerSecond = MetrePerSecond(14.0);

setting_words! {
    /// The source of total energy in the settings.
    pub enum EnergyChoice {
        None = "none", "altitude alone, so that pitch inputs are audible";
        Electronic = "electronic", "static pressure and airspeed, summed here";
        Probe = "probe", "the pressure of a total-energy probe";
        #[default]
        Auto = "auto", "the probe where there is one, else the airspeed, else altitude alone";
    }
}

setting_group! {
    /// The source of total energy, and the lag and gain of each pressure line.
    pub struct EnergySettings = "", "Total energy." {
        choice as "energy": EnergyChoice = EnergyChoice::Auto, "", EnergyChoice::KIND,
            "Where total energy comes from.";
        compensation_percent: f32 = 100.0, "%", Kind::number(0.0, 150.0),
            "How much of the kinetic height counts: corrects for a probe or a pitot that reads \
            too little or too much.";
        static_delay_ms: f32 = 0.0, "ms", Kind::number(0.0, 500.0),
            "How late the static pressure reaches its sensor. Of the three delays only the \
            differences matter: the other lines are held back to the latest, so that a pull-up \
            changes height and speed in the same moment.";
        airspeed_delay_ms: f32 = 0.0, "ms", Kind::number(0.0, 500.0),
            "How late the airspeed is; for a pitot, how late its pressure reaches the sensor. A \
            pitot 100 ms late reads a false 1 m/s in a brisk pull-up from 50 to 25 m/s.";
        probe_delay_ms: f32 = 0.0, "ms", Kind::number(0.0, 500.0),
            "How late the pressure of a total-energy probe reaches its sensor.";
    }
}

/// Which source of total energy is in use.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum EnergySource {
    /// Altitude alone.
    #[default]
    None,
    /// Static pressure and airspeed.
    Electronic,
    /// A total-energy probe.
    Probe,
}

impl EnergySource {
    /// The name used in the settings.
    pub fn name(self) -> &'static str {
        match self {
            EnergySource::None => "none",
            EnergySource::Electronic => "electronic",
            EnergySource::Probe => "probe",
        }
    }
}

/// Kinetic height `V^2 / (2 g)` of true airspeed `speed`.
pub fn kinetic_height(speed: MetrePerSecond) -> Metre {
    Metre(speed.0 * speed.0 / (2.0 * GRAVITY_MPS2))
}

/// Share of the kinetic height used at `equivalent` airspeed: 0 up to 8 m/s, 1 from 14 m/s, smooth
/// in between.
pub(crate) fn flying_share(equivalent: MetrePerSecond) -> f32 {
    let share = ((equivalent.0 - NO_SPEED.0) / (FLYING_SPEED.0 - NO_SPEED.0)).clamp(0.0, 1.0);
    share * share * (3.0 - 2.0 * share)
}

/// Compensation from a probe: the pressure altitude in its line less that of the glider.
pub fn probe_height(te_pressure: Pascal, altitude: Metre) -> Metre {
    Metre(pressure_altitude(te_pressure).0 - altitude.0)
}

/// The excess of the compensation of a probe of coefficient -1 over the kinetic height at true
/// airspeed `speed`: 0.283 M^2 of it.
///
/// Computed from the functions themselves and not from the series, so that no error remains at any
/// height. Dynamic pressures above a third of the static pressure (Mach 0.7) are beyond any glider
/// and are limited to that.
pub(crate) fn ideal_probe_excess(air: &AirData, speed: MetrePerSecond) -> Metre {
    let equivalent_mps = speed.0 / air.density_ratio;
    let dynamic_pa = 0.5 * SEA_LEVEL_DENSITY.0 * equivalent_mps * equivalent_mps;
    let most_pa = air.pressure.0 / 3.0;
    let dynamic_pa = if dynamic_pa < most_pa { dynamic_pa } else { most_pa };
    let ideal = probe_height(Pascal(air.pressure.0 - dynamic_pa), air.altitude);
    Metre(ideal.0 - kinetic_height(speed).0 / air.temperature_ratio)
}

/// The energy sum with its settings.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Energy {
    choice: EnergyChoice,
    share: f32,
    static_line: Micros,
    airspeed_line: Micros,
    probe_line: Micros,
}

/// Energy height, compensated or not, and its source.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct EnergyHeight {
    /// Altitude plus compensation; only differences between samples are meaningful.
    pub height: Metre,
    /// The source in use.
    pub(crate) source: EnergySource,
    /// The source in use is missing in this sample and its last value was held.
    pub(crate) held: bool,
}

/// State of the compensation.
#[derive(Clone, Debug, Default)]
pub struct EnergyState {
    source: EnergySource,
    compensation: Metre,
    offset: Metre,
    live: bool,
    altitude: DelayState,
    source_height: DelayState,
    /// Excess of an ideal probe at the last known airspeed; not every sample needs an airspeed.
    excess: Option<Metre>,
}

impl Energy {
    /// The energy sum for `settings`.
    ///
    /// # Errors
    /// A percentage outside 0 to 150, a delay outside 0 to 500 ms.
    pub fn new(settings: &EnergySettings) -> Result<Self, SettingsError> {
        settings.check_ranges()?;
        let line = |delay_ms: f32| Micros(libm::roundf(delay_ms * 1.0e3) as i64);
        Ok(Self {
            choice: settings.choice,
            share: settings.compensation_percent / 100.0,
            static_line: line(settings.static_delay_ms),
            airspeed_line: line(settings.airspeed_delay_ms),
            probe_line: line(settings.probe_delay_ms),
        })
    }

    /// Sums the energy of one sample at `time`, which must not go back.
    ///
    /// `te_pressure` is this sample's, where it has one and it is usable. With
    /// [`EnergyChoice::Auto`] the best source seen so far stays selected.
    pub fn step(
        &self,
        state: &mut EnergyState,
        time: Micros,
        air: &AirData,
        te_pressure: Option<Pascal>,
    ) -> EnergyHeight {
        let source = self.choose(state.source, air.true_airspeed.is_some(), te_pressure.is_some());
        if source != state.source {
            state.source = source;
            state.live = false;
            state.source_height = DelayState::default();
        }
        let measured = match source {
            EnergySource::None => None,
            EnergySource::Electronic => electronic(air),
            EnergySource::Probe => te_pressure.map(|pressure| state.probe(air, pressure)),
        };
        let compensation =
            measured.map(|measured| self.in_step(state, time, air.altitude, measured));
        if let Some(compensation) = compensation {
            if !state.live {
                state.offset = Metre(state.compensation.0 - compensation.0);
            }
            state.compensation = Metre(compensation.0 + state.offset.0);
        }
        state.live = compensation.is_some();
        EnergyHeight {
            height: Metre(air.altitude.0 + state.compensation.0),
            source,
            held: source != EnergySource::None && compensation.is_none(),
        }
    }

    /// What to add to the present `altitude` to get the energy height at the moment that the
    /// slowest line shows: a share of the source's `height` above the altitude at that moment, plus
    /// the altitude at that moment less the present one.
    fn in_step(
        &self,
        state: &mut EnergyState,
        time: Micros,
        altitude: Metre,
        height: Metre,
    ) -> Metre {
        let source_line = match state.source {
            EnergySource::Probe => self.probe_line,
            _ => self.airspeed_line,
        };
        if source_line == self.static_line {
            return Metre(self.share * height.0);
        }
        let latest = source_line.max(self.static_line);
        let held_back = |line: Micros| latest.since(line);
        let then = state.altitude.step(time, altitude, held_back(self.static_line));
        // A probe's line carries the sum of altitude and compensation, so the sum is delayed.
        let from_altitude = state.source == EnergySource::Probe;
        let whole = if from_altitude { Metre(altitude.0 + height.0) } else { height };
        let whole = state.source_height.step(time, whole, held_back(source_line));
        let above = if from_altitude { whole.0 - then.0 } else { whole.0 };
        Metre(self.share * above + (then.0 - altitude.0))
    }

    fn choose(&self, before: EnergySource, has_speed: bool, has_probe: bool) -> EnergySource {
        match self.choice {
            EnergyChoice::None => EnergySource::None,
            EnergyChoice::Electronic => EnergySource::Electronic,
            EnergyChoice::Probe => EnergySource::Probe,
            EnergyChoice::Auto if has_probe || before == EnergySource::Probe => EnergySource::Probe,
            EnergyChoice::Auto if has_speed || before == EnergySource::Electronic => {
                EnergySource::Electronic
            }
            EnergyChoice::Auto => EnergySource::None,
        }
    }
}

impl EnergyState {
    /// The source in use.
    pub(crate) fn source(&self) -> EnergySource {
        self.source
    }

    /// Clears the delay lines after a gap; the compensation continues from its present value.
    pub(crate) fn restart(&mut self) {
        self.altitude = DelayState::default();
        self.source_height = DelayState::default();
        self.live = false;
    }

    fn probe(&mut self, air: &AirData, te_pressure: Pascal) -> Metre {
        if let Some(speed) = air.true_airspeed {
            // Its first value is a step of up to 2 m.
            self.live &= self.excess.is_some();
            self.excess = Some(ideal_probe_excess(air, speed));
        }
        Metre(probe_height(te_pressure, air.altitude).0 - self.excess.unwrap_or_default().0)
    }
}

fn electronic(air: &AirData) -> Option<Metre> {
    let share = flying_share(air.equivalent_airspeed()?);
    Some(Metre(share * kinetic_height(air.true_airspeed?).0 / air.temperature_ratio))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::air::atmosphere::pressure_at;
    use crate::sensing::sample::{Sample, Speed};
    use approx::assert_abs_diff_eq;
    use std::vec::Vec;

    /// Energy heights of samples (altitude, true airspeed, probe pressure), 20 ms apart.
    fn heights(
        settings: EnergySettings,
        samples: &[(f32, Option<f32>, Option<f32>)],
    ) -> Vec<EnergyHeight> {
        let energy = Energy::new(&settings).unwrap();
        let mut state = EnergyState::default();
        let step = |(place, (altitude, speed, te)): (usize, &(f32, Option<f32>, Option<f32>))| {
            let time = Micros(20_000 * place as i64);
            let sample = Sample {
                speed: speed.map(|speed| Speed::True(MetrePerSecond(speed))),
                ..Sample::of_static(time, pressure_at(Metre(*altitude)))
            };
            energy.step(&mut state, time, &AirData::of(&sample).unwrap(), te.map(Pascal))
        };
        samples.iter().enumerate().map(step).collect()
    }

    fn electronic() -> EnergySettings {
        EnergySettings { choice: EnergyChoice::Electronic, ..EnergySettings::default() }
    }

    #[test]
    fn a_frictionless_zoom_keeps_its_energy_height() {
        // (50^2 - 25^2) / (2 g0) = 95.60 m, g0 = 9.80665 m/s2 (published-values, section 4:
        // mechanics).
        let zoom =
            heights(electronic(), &[(1000.0, Some(50.0), None), (1095.60, Some(25.0), None)]);
        assert_abs_diff_eq!(zoom[0].height.0, zoom[1].height.0, epsilon = 0.02);
    }

    #[test]
    fn compensation_scales_with_its_percentage() {
        for percent in [0.0, 85.0, 110.0] {
            let settings = EnergySettings { compensation_percent: percent, ..electronic() };
            let zoom =
                heights(settings, &[(1000.0, Some(50.0), None), (1095.60, Some(25.0), None)]);
            let left = 95.60 * (1.0 - percent / 100.0);
            assert_abs_diff_eq!(zoom[1].height.0 - zoom[0].height.0, left, epsilon = 0.02);
        }
    }

    #[test]
    fn a_zoom_in_warm_air_gains_fewer_standard_metres() {
        // 5 % warmer than standard: 95.60 true metres are 91.05 on the altimeter, and the
        // compensation must match that.
        let energy = Energy::new(&electronic()).unwrap();
        let mut state = EnergyState::default();
        let mut height = |altitude: f32, speed: f32| {
            let mut air =
                AirData::of(&Sample::of_static(Micros(0), pressure_at(Metre(altitude)))).unwrap();
            air.true_airspeed = Some(MetrePerSecond(speed));
            air.temperature_ratio = 1.05;
            energy.step(&mut state, Micros(0), &air, None).height.0
        };
        assert_abs_diff_eq!(
            height(1000.0, 50.0),
            height(1000.0 + 95.60 / 1.05, 25.0),
            epsilon = 0.02
        );
    }

    #[test]
    fn a_probe_of_coefficient_minus_one_reads_the_kinetic_height() {
        // p - q at 30 m/s and sea level, against V^2 / (2 g) = 45.89 m; the rest is because p - q
        // is not quite linear in height (0.3 % here).
        let te = Pascal(101_325.0 - 0.5 * 1.225 * 30.0 * 30.0);
        assert_abs_diff_eq!(probe_height(te, Metre(0.0)).0, 45.89, epsilon = 0.15);
    }

    #[test]
    fn an_ideal_probe_exceeds_the_kinetic_height_by_the_series_in_the_module_docs() {
        for altitude in [0.0, 3000.0, 8000.0] {
            for speed in [20.0_f32, 30.0, 50.0, 70.0] {
                let air = AirData::of(&Sample::of_static(Micros(0), pressure_at(Metre(altitude))))
                    .unwrap();
                let mach_squared = speed * speed / (1.4 * 287.05287 * air.temperature.0);
                let series = 0.2834 * mach_squared * speed * speed / (2.0 * 9.80665);
                let excess = ideal_probe_excess(&air, MetrePerSecond(speed)).0;
                assert_abs_diff_eq!(excess, series, epsilon = 0.006 + 0.03 * series);
            }
        }
    }

    #[test]
    fn kinetic_height_fades_out_below_flying_speed_without_a_step() {
        let speeds: Vec<_> =
            (0..300).map(|tenth| (500.0, Some(tenth as f32 * 0.1), None)).collect();
        let all = heights(electronic(), &speeds);
        assert!(all[..80].iter().all(|energy| energy.height == all[0].height));
        // At 14 m/s a change of 0.1 m/s is 0.14 m of kinetic height; the fade makes it 0.35 m at
        // most.
        assert!(
            all.windows(2).all(|pair| (0.0..0.36).contains(&(pair[1].height.0 - pair[0].height.0)))
        );
        // From 8 to 29.9 m/s: all of the kinetic height of 29.9 m/s, 45.58 m (slightly less: 500 m,
        // equivalent speed).
        assert_abs_diff_eq!(all[299].height.0 - all[0].height.0, 45.58, epsilon = 0.01);
    }

    #[test]
    fn energy_height_does_not_jump_when_the_source_appears_or_disappears() {
        let speeds = [None, Some(30.0), Some(30.0), None, Some(45.0)];
        let all = heights(electronic(), &speeds.map(|speed| (1000.0, speed, None)));
        for energy in &all {
            assert_abs_diff_eq!(energy.height.0, 1000.0, epsilon = 1e-2);
        }
        assert!(all.iter().map(|energy| energy.held).eq([true, false, false, true, false]));
    }

    #[test]
    fn auto_takes_the_best_source_seen_and_keeps_it() {
        let samples = [
            (None, None),
            (Some(30.0), None),
            (None, None),
            (Some(30.0), Some(100_800.0)),
            (Some(30.0), None),
        ];
        let all = heights(EnergySettings::default(), &samples.map(|(speed, te)| (0.0, speed, te)));
        use EnergySource::{Electronic, None as Nothing, Probe};
        assert!(
            all.iter()
                .map(|energy| energy.source)
                .eq([Nothing, Electronic, Electronic, Probe, Probe])
        );
    }

    /// A frictionless zoom from 50 to 25 m/s within a second; time is measured from its beginning.
    fn zoom_speed(t: f32) -> f32 {
        50.0 - 25.0 * t.clamp(0.0, 1.0)
    }

    fn zoom_altitude(t: f32) -> f32 {
        1000.0 + (2500.0 - zoom_speed(t) * zoom_speed(t)) / (2.0 * 9.80665)
    }

    #[test]
    fn a_late_line_is_waited_for() {
        for (static_ms, airspeed_ms) in [(0.0, 60.0), (60.0, 0.0), (33.0, 93.0)] {
            let settings = EnergySettings {
                static_delay_ms: static_ms,
                airspeed_delay_ms: airspeed_ms,
                ..electronic()
            };
            let samples: Vec<_> = (-50..100)
                .map(|step| {
                    let [h, v] = [static_ms, airspeed_ms]
                        .map(|late_ms| (step as f32 * 20.0 - late_ms) * 1e-3);
                    (zoom_altitude(h), Some(zoom_speed(v)), None)
                })
                .collect();
            let spread = |settings: EnergySettings| {
                let all = heights(settings, &samples);
                let heights = all.iter().map(|energy| energy.height.0);
                heights.clone().fold(f32::MIN, f32::max) - heights.fold(f32::MAX, f32::min)
            };
            let (with, without) = (spread(settings), spread(electronic()));
            assert!(
                with < 0.06 && without > 3.0,
                "spread {with} m, {without} m without the setting"
            );
        }
    }

    #[test]
    fn a_share_of_a_late_probe_is_summed_with_the_altitude_at_the_same_moment() {
        let settings = EnergySettings {
            choice: EnergyChoice::Probe,
            compensation_percent: 80.0,
            probe_delay_ms: 70.0,
            ..EnergySettings::default()
        };
        // In still air the probe's line shows one altitude throughout: the one where all speed has
        // become height, 1127.46 m.
        let te = pressure_at(Metre(1000.0 + 2500.0 / (2.0 * 9.80665))).0;
        let samples: Vec<_> =
            (-50..100).map(|step| (zoom_altitude(step as f32 * 0.02), None, Some(te))).collect();
        let all = heights(settings, &samples);
        for (place, energy) in all.iter().enumerate().skip(10) {
            let expected = 0.2 * zoom_altitude((place as f32 - 50.0) * 0.02 - 0.07) + 0.8 * 1127.46;
            // The compensation began at zero, at 1000 m.
            let offset = 1000.0 - (0.2 * 1000.0 + 0.8 * 1127.46);
            assert_abs_diff_eq!(energy.height.0, expected + offset, epsilon = 0.06);
        }
    }

    #[test]
    fn a_setting_out_of_range_is_named() {
        let refused = |settings: EnergySettings| Energy::new(&settings).unwrap_err().parameter;
        assert_eq!(
            refused(EnergySettings { compensation_percent: 151.0, ..electronic() }),
            "compensation_percent"
        );
        assert_eq!(
            refused(EnergySettings { probe_delay_ms: -1.0, ..electronic() }),
            "probe_delay_ms"
        );
        assert_eq!(
            refused(EnergySettings { airspeed_delay_ms: f32::NAN, ..electronic() }),
            "airspeed_delay_ms"
        );
    }
}
