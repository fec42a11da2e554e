//! The pilot's units: in which climb, speed and height are given to people, each chosen by itself.
//! JSON and CSV keep SI units, whatever is chosen.

use chirrup_core::rows::GroupRows;
use std::fmt;

chirrup_core::setting_words! {
    /// The unit of vertical speeds.
    pub enum ClimbUnit {
        #[default]
        MetresPerSecond = "m/s", "metres a second";
        Knots = "kt", "knots";
        FeetPerMinute = "ft/min", "feet a minute";
    }
}

chirrup_core::setting_words! {
    /// The unit of airspeeds.
    pub enum SpeedUnit {
        #[default]
        KilometresPerHour = "km/h", "kilometres an hour";
        Knots = "kt", "knots";
        MilesPerHour = "mph", "statute miles an hour";
        MetresPerSecond = "m/s", "metres a second";
    }
}

chirrup_core::setting_words! {
    /// The unit of heights.
    pub enum LengthUnit {
        #[default]
        Metres = "m", "metres";
        Feet = "ft", "feet";
    }
}

chirrup_core::setting_group! {
    /// The units of texts, pictures and pages.
    #[derive(Copy, Eq)]
    pub struct Units = "units.",
        "Units of the texts, pictures and pages that the bench makes for people. What programs \
        read (JSON, CSV) keeps metres and seconds; an instrument ignores them." {
        climb: ClimbUnit = ClimbUnit::default(), "", ClimbUnit::KIND,
            "The unit of vertical speeds.";
        speed: SpeedUnit = SpeedUnit::default(), "", SpeedUnit::KIND,
            "The unit of airspeeds.";
        height: LengthUnit = LengthUnit::default(), "", LengthUnit::KIND,
            "The unit of heights.";
    }
}

/// The table of the units in a settings file.
pub const GROUP: GroupRows = GroupRows::table("units", Units::ABOUT, Units::ROWS);

/// International foot and nautical mile, exact by definition.
const METRES_A_FOOT: f64 = 0.3048;
const METRES_A_NAUTICAL_MILE: f64 = 1852.0;
/// Statute mile, exact by definition.
const METRES_A_MILE: f64 = 1609.344;

/// A quantity in a unit, as people read it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Shown {
    /// The number in this unit.
    pub value: f64,
    /// Digits after the point.
    pub decimals: usize,
    /// The unit.
    pub unit: &'static str,
    is_signed: bool,
}

impl Shown {
    /// The number alone.
    pub fn number(&self) -> String {
        let Self { value, decimals, is_signed, .. } = *self;
        // Rounded first, and zero added: nothing that reads as zero has a minus.
        let power = 10_f64.powi(decimals as i32);
        let value = (value * power).round() / power + 0.0;
        if is_signed { format!("{value:+.decimals$}") } else { format!("{value:.decimals$}") }
    }

    /// Without a plus.
    #[must_use]
    pub fn unsigned(self) -> Self {
        Self { is_signed: false, ..self }
    }

    /// With so many digits more (or fewer) than is usual; feet a minute are fine enough, no more.
    #[must_use]
    pub fn finer(self, by: i32) -> Self {
        let is_fine = self.unit == ClimbUnit::FeetPerMinute.name();
        let by = if is_fine { by.min(0) } else { by };
        let decimals = self.decimals.saturating_add_signed(by as isize);
        Self { decimals, ..self }
    }
}

impl fmt::Display for Shown {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", self.number(), self.unit)
    }
}

impl Units {
    /// A vertical speed, m/s, with its sign.
    pub fn climb(&self, climb_mps: f64) -> Shown {
        let (factor, decimals) = match self.climb {
            ClimbUnit::MetresPerSecond => (1.0, 1),
            ClimbUnit::Knots => (3600.0 / METRES_A_NAUTICAL_MILE, 1),
            ClimbUnit::FeetPerMinute => (60.0 / METRES_A_FOOT, 0),
        };
        let (unit, value) = (self.climb.name(), factor * climb_mps);
        Shown { value, decimals, unit, is_signed: true }
    }

    /// An airspeed, m/s.
    pub fn speed(&self, speed_mps: f64) -> Shown {
        let (factor, decimals) = match self.speed {
            SpeedUnit::KilometresPerHour => (3.6, 0),
            SpeedUnit::Knots => (3600.0 / METRES_A_NAUTICAL_MILE, 0),
            SpeedUnit::MilesPerHour => (3600.0 / METRES_A_MILE, 0),
            SpeedUnit::MetresPerSecond => (1.0, 1),
        };
        Shown { value: factor * speed_mps, decimals, unit: self.speed.name(), is_signed: false }
    }

    /// A height or a gain of height, m.
    pub fn height(&self, height_m: f64) -> Shown {
        let factor = match self.height {
            LengthUnit::Metres => 1.0,
            LengthUnit::Feet => 1.0 / METRES_A_FOOT,
        };
        let (unit, value) = (self.height.name(), factor * height_m);
        Shown { value, decimals: 0, unit, is_signed: false }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_quantity_has_its_own_unit() {
        let metric = Units::default();
        assert_eq!(metric.climb(2.04).to_string(), "+2.0 m/s");
        assert_eq!(metric.speed(27.8).to_string(), "100 km/h");
        assert_eq!(metric.height(1234.4).to_string(), "1234 m");
        let feet = Units {
            climb: ClimbUnit::FeetPerMinute,
            speed: SpeedUnit::MilesPerHour,
            height: LengthUnit::Feet,
        };
        // From memory: 1 m/s is 196.85 ft/min and 2.237 mph; 1,000 m are 3,281 ft.
        assert_eq!(feet.climb(-1.0).to_string(), "-197 ft/min");
        assert_eq!(feet.speed(20.0).to_string(), "45 mph");
        assert_eq!(feet.height(1000.0).to_string(), "3281 ft");
        assert_eq!(feet.climb(0.177).unsigned().finer(1).to_string(), "35 ft/min");
        let knots = Units { climb: ClimbUnit::Knots, speed: SpeedUnit::Knots, ..metric };
        // 1 m/s is 1.944 kt.
        assert_eq!(knots.climb(1.0).to_string(), "+1.9 kt");
        assert_eq!(knots.climb(1.0).unsigned().finer(1).number(), "1.94");
        assert_eq!(knots.speed(50.0).to_string(), "97 kt");
    }
}
