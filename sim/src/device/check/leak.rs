//! From a pressure that was held to the leak of a line, told apart from the temperature of the air
//! in it.
//!
//! A closed line is a gas thermometer: one degree changes its pressure by p / T, 340 Pa near sea
//! level, about as much as the leak that is allowed in a minute. One hold therefore gives a leak
//! only within what the temperature may have done. Two holds at different pressures tell them
//! apart, because the leak goes with the pressure and the temperature does not:
//!
//! ```text
//! fall(g) = leak(g) + warmth          leak(g) ~ g (a fine crack) .. sqrt(g) (a hole)
//! leak(g1) = (fall1 - fall2) / (1 - g2 / g1)  ..  (fall1 - fall2) / (1 - sqrt(g2 / g1))
//! ```
//!
//! What is said spans both laws. The temperature of the air in a hose is not measured, so warmth is
//! not simply taken off: what warms a hose may begin or end between the holds. As much warmth as is
//! found, and the change of it that bends the line of a hold, count as uncertainty:
//!
//! ```text
//! change of warmth^2 = (0.2 K and what the sensor saw)^2 + warmth^2 + (2 bend)^2
//! ```

use super::trend::Trend;
use chirrup_core::{Metre, Pascal, pressure_altitude, pressure_at};
use serde::Serialize;

/// One inch of mercury, Pa.
const INCH_OF_MERCURY_PA: f64 = 3_386.4;
/// One inch of water, Pa.
const INCH_OF_WATER_PA: f64 = 249.09;
const HUNDRED_FEET_M: f64 = 30.48;
/// From 150 to 140 knots at sea level, Pa. The circular says approximately 2.04 inches of water,
/// which is 508 Pa or 10.6 knots.
const TEN_KNOTS_PA: f64 = 481.0;
/// Temperature in the line, K: 20 degrees Celsius; 10 degrees more or less change what follows by a
/// thirtieth.
const ROOM_K: f64 = 293.15;
/// Change of temperature in a minute that nobody notices, K (a guess; the self-test's tenth of a
/// degree shows no less).
const UNNOTICED_K: f64 = 0.1;
/// The same for what two minutes differ by, K: a tenth in each, one up and one down.
const UNNOTICED_BETWEEN_K: f64 = 2.0 * UNNOTICED_K;
/// Change that would be noticed for certain, K in a minute (a guess): a fall beyond what this
/// explains is a leak without a second hold.
const NOTICED_K: f64 = 2.0;
/// The share of the first pressure that the second has at least and at most.
pub const SECOND_SHARE: (f64, f64) = (0.1, 0.3);
/// The share that is asked for. A lower one tells more; too low a one is lost in the warmth.
pub const ASKED_SHARE: f64 = 0.2;

/// A line of the glider.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Line {
    /// Total pressure.
    Pitot,
    /// Static pressure.
    Static,
    /// A total-energy probe's.
    Probe,
}

/// A pressure that was held for a minute. Pressures are positive in the line's own direction:
/// pressure on a pitot, suction on the others.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hold {
    /// Above or below the air outside.
    pub pressure: Trend,
    /// Mean absolute pressure in the line, Pa.
    pub absolute_pa: f64,
    /// How much the sensor's own temperature changed, K.
    pub warmed_k: f64,
    /// What the air outside may have done in the minute, Pa; 0 where it is measured too.
    pub outside_pa: f64,
}

/// What is known of a leak.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Leak {
    /// Fall of the first hold's pressure in a minute that is due to a leak, Pa.
    pub pa_per_min: f64,
    /// Half the width of the interval that holds it 19 times in 20, Pa in a minute.
    pub uncertainty_pa_per_min: f64,
    /// What may fall in a minute, Pa.
    pub limit_pa_per_min: f64,
    /// The fall that is due to warmth and not to a leak, Pa in a minute; known after two holds.
    pub warmth_pa_per_min: Option<f64>,
}

/// What a leak's interval says.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Answer {
    /// All of it is within the limit.
    Tight,
    /// Some of it is, and the estimate is not beyond it.
    Unclear,
    /// Some of it is, but the estimate is beyond it.
    ProbablyLeaks,
    /// None of it is.
    Leaks,
}

impl Line {
    /// Its name for people.
    pub fn name(self) -> &'static str {
        match self {
            Line::Pitot => "pitot",
            Line::Static => "static",
            Line::Probe => "probe",
        }
    }

    /// +1 where it is tested by pressure, -1 by suction: never the other way, which drives an
    /// airspeed indicator backward.
    pub fn sign(self) -> f64 {
        if self == Line::Pitot { 1.0 } else { -1.0 }
    }

    /// The pressure of the common test, Pa.
    ///
    /// Pitot: FAA AC 43.13-1B, 12-59: 150 knots, 14.9 inches of water. Static: 14 CFR 23.1325 and
    /// AC 43.13-1B, 12-58 (from memory): 1 inch of mercury. There is no rule for a probe that we
    /// know; that of the static line is used.
    pub fn test_pa(self) -> f64 {
        match self {
            Line::Pitot => 14.9 * INCH_OF_WATER_PA,
            Line::Static | Line::Probe => INCH_OF_MERCURY_PA,
        }
    }

    /// What may fall in a minute at that pressure, Pa, by the same sources: 10 knots, 100 feet. A
    /// smaller pressure may fall less in proportion.
    fn limit_pa(self, hold: &Hold) -> f64 {
        let share = (hold.pressure.mean_pa / self.test_pa()).min(1.0);
        share
            * match self {
                Line::Pitot => TEN_KNOTS_PA,
                Line::Static | Line::Probe => {
                    let height = pressure_altitude(Pascal(hold.absolute_pa as f32));
                    let below = pressure_at(Metre(height.0 - HUNDRED_FEET_M as f32));
                    f64::from(below.0) - hold.absolute_pa
                }
            }
    }
}

impl Hold {
    fn fall_pa(&self) -> f64 {
        -self.pressure.pa_per_min
    }

    /// What a degree does to the pressure in the line, Pa.
    fn per_kelvin_pa(&self) -> f64 {
        self.absolute_pa / ROOM_K
    }

    /// How well the fall is known as a measurement, without what the temperature did.
    fn measured_pa(&self) -> f64 {
        self.pressure.uncertainty_pa_per_min.hypot(self.outside_pa)
    }
}

/// What one hold says: the whole fall, within what the temperature may have done.
pub fn of_one(line: Line, hold: &Hold) -> Leak {
    let warmth_pa = hold.per_kelvin_pa() * (UNNOTICED_K + hold.warmed_k.abs());
    Leak {
        pa_per_min: hold.fall_pa(),
        uncertainty_pa_per_min: hold.measured_pa().hypot(warmth_pa),
        limit_pa_per_min: line.limit_pa(hold),
        warmth_pa_per_min: None,
    }
}

/// The leak, if the first hold alone settles it: the fall is too large for any temperature.
pub fn settled_by_one(line: Line, hold: &Hold) -> Option<Leak> {
    let most_pa = line.limit_pa(hold) + NOTICED_K * hold.per_kelvin_pa();
    let known = Leak { warmth_pa_per_min: Some(0.0), ..of_one(line, hold) };
    (hold.fall_pa() > most_pa).then_some(known)
}

/// What two holds say, the second at a lower pressure than the first.
pub fn of_two(line: Line, first: &Hold, second: &Hold) -> Leak {
    let share = (second.pressure.mean_pa / first.pressure.mean_pa).clamp(0.0, 0.9);
    let difference_pa = first.fall_pa() - second.fall_pa();
    let [crack, hole] = [1.0 / (1.0 - share), 1.0 / (1.0 - share.sqrt())];
    let changed_pa =
        change_of_warmth_pa(first, second, difference_pa * crack, difference_pa * hole);
    let error_pa = first.measured_pa().hypot(second.measured_pa()).hypot(changed_pa);
    let leak_pa = difference_pa * (crack + hole) / 2.0;
    let law_pa = difference_pa.abs() * (hole - crack) / 2.0;
    Leak {
        pa_per_min: leak_pa,
        uncertainty_pa_per_min: hole * error_pa + law_pa,
        limit_pa_per_min: line.limit_pa(first),
        warmth_pa_per_min: Some(first.fall_pa() - leak_pa),
    }
}

/// What the warmth of the second hold may differ by from that of the first, Pa in a minute, if the
/// leak is one or the other of two.
fn change_of_warmth_pa(first: &Hold, second: &Hold, crack_pa: f64, hole_pa: f64) -> f64 {
    let unnoticed_k = UNNOTICED_BETWEEN_K + (first.warmed_k - second.warmed_k).abs();
    // A hand that is put on a hose, or taken off, or the sun behind a cloud.
    let warmth_pa = (first.fall_pa() - crack_pa).abs().max((first.fall_pa() - hole_pa).abs());
    // A hose that comes to rest moves slower and slower: e^-t over two minutes, from half a minute.
    let bend_pa = first.pressure.bend_pa_per_min.abs().max(second.pressure.bend_pa_per_min.abs());
    (first.per_kelvin_pa() * unnoticed_k).hypot(warmth_pa).hypot(2.0 * bend_pa)
}

impl Leak {
    /// What it says.
    pub fn answer(&self) -> Answer {
        let Self { pa_per_min, uncertainty_pa_per_min, limit_pa_per_min, .. } = *self;
        let is_known = self.warmth_pa_per_min.is_some();
        // One hold calls nothing tight: air that warms in a hose where no sensor sees it may hide
        // a leak. A line does not blow itself up: a rise beyond its uncertainty is warmth or a
        // hand, and may hide a leak as well.
        let is_sane = is_known && pa_per_min + uncertainty_pa_per_min >= 0.0;
        if is_sane && pa_per_min + uncertainty_pa_per_min <= limit_pa_per_min {
            Answer::Tight
        } else if is_known && pa_per_min - uncertainty_pa_per_min > limit_pa_per_min {
            Answer::Leaks
        } else if pa_per_min > limit_pa_per_min {
            Answer::ProbablyLeaks
        } else {
            Answer::Unclear
        }
    }
}
