//! A leak test of one line: what its pressure is, which pressures are measured, and which must not
//! be.

use super::danger::{self, BACKWARD_PA, Danger};
use super::leak::{Line, SECOND_SHARE};
use super::rows::Row;

/// The least pressure that is tested, Pa: the range of the most sensitive sensors is 500.
pub const LEAST_PA: f64 = 200.0;
/// Below this nobody has begun to put a pressure on, Pa (a guess).
const BEGUN_PA: f64 = 50.0;

/// What is tested, and how.
#[derive(Clone, Copy, Debug)]
pub struct Test {
    /// The line.
    pub line: Line,
    /// Pressures before anything was done.
    pub at_rest: Row,
    /// The least and the most pressure that is measured, Pa.
    pub pressures_pa: (f64, f64),
    /// More than this may harm an instrument on the line, Pa.
    pub most_pa: f64,
    /// More dynamic pressure than this may harm an airspeed indicator or a differential sensor, Pa.
    pub most_dynamic_pa: f64,
    /// How long to wait for the pressure while nothing moves, seconds of the instrument's clock.
    pub patience_s: f64,
}

impl Test {
    /// The second hold of a test, after one at `first_pa`.
    pub fn second(&self, first_pa: f64) -> Self {
        let (least, most) = SECOND_SHARE;
        Self { pressures_pa: (least * first_pa, most * first_pa), ..*self }
    }

    /// Pressure on the line less that outside, positive in the line's direction; `None` where the
    /// line's sensor gives no value.
    pub fn gauge_pa(&self, row: &Row) -> Option<f64> {
        let rest = self.at_rest;
        let above = |row: &Row| match self.line {
            Line::Pitot => row.dynamic_pa,
            // The open one of two barometers measures the air outside.
            Line::Static => {
                Some(row.static_pa - row.te_pa.or(rest.te_pa).unwrap_or(rest.static_pa))
            }
            Line::Probe => Some(row.te_pa? - row.static_pa),
        };
        Some(self.line.sign() * (above(row)? - above(&rest)?))
    }

    /// Whether the line's own sensor and the one that guards the airspeed indicator have a value.
    pub fn is_seen(&self, row: &Row) -> bool {
        let is_guarded = self.at_rest.dynamic_pa.is_none() || row.dynamic_pa.is_some();
        is_guarded && self.gauge_pa(row).is_some()
    }

    /// What must not be, and what to do at once.
    pub fn danger(&self, row: &Row) -> Option<Danger> {
        let on_the_line = || {
            let pa = self.gauge_pa(row)?;
            if pa < -BACKWARD_PA {
                let words = "the wrong way round for this line; let it go slowly, and swap";
                return Some(Danger { pa, words });
            }
            let words = "more than this test needs; let some go, slowly";
            (pa > self.most_pa).then_some(Danger { pa, words })
        };
        // Suction on static adds to whatever is on the pitot.
        let between = || {
            let pa = row.dynamic_pa? - self.at_rest.dynamic_pa?;
            let words = "too much between pitot and static; let both go, slowly";
            (pa > self.most_dynamic_pa).then_some(Danger { pa, words })
        };
        danger::backward(&self.at_rest, row).or_else(on_the_line).or_else(between)
    }

    /// What to do with a pressure that stands still and is not measured.
    pub fn astray(&self, gauge_pa: f64) -> Option<&'static str> {
        let (least, most) = self.pressures_pa;
        let is_second = most < self.most_pa;
        if gauge_pa > most {
            // Above the most, the danger has been said.
            (gauge_pa <= self.most_pa).then_some("let go a little more")
        } else if gauge_pa < least && (is_second || gauge_pa > BEGUN_PA) {
            Some("too low; put a little more on")
        } else {
            None
        }
    }

    /// Absolute pressure in the line, Pa.
    pub fn absolute_pa(&self, gauge_pa: f64) -> f64 {
        self.at_rest.static_pa + self.line.sign() * gauge_pa
    }

    /// What weather may do in a minute where the air outside is not measured, Pa: 1 hPa an hour.
    pub fn outside_pa(&self) -> f64 {
        let is_alone = self.line == Line::Static && self.at_rest.te_pa.is_none();
        if is_alone { 2.0 } else { 0.0 }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn test(line: Line) -> Test {
        Test {
            line,
            at_rest: Row {
                static_pa: 97_500.0,
                dynamic_pa: Some(0.0),
                te_pa: Some(97_500.0),
                ..Row::default()
            },
            pressures_pa: (LEAST_PA, 4_000.0),
            most_pa: 4_000.0,
            most_dynamic_pa: 4_000.0,
            patience_s: 120.0,
        }
    }

    #[test]
    fn suction_on_the_pitot_is_a_danger_whatever_line_is_tested() {
        for line in [Line::Pitot, Line::Static, Line::Probe] {
            let test = test(line);
            let sucked = Row { dynamic_pa: Some(-300.0), ..test.at_rest };
            let danger = test.danger(&sucked).expect("it is dangerous");
            assert!(danger.words.starts_with("drives the airspeed indicator backward"), "{line:?}");
            assert_eq!(test.danger(&test.at_rest), None);
            let unseen = Row { dynamic_pa: None, ..test.at_rest };
            assert!(!test.is_seen(&unseen) && test.is_seen(&test.at_rest));
        }
    }

    #[test]
    fn a_pressure_that_stands_beside_the_range_is_told_which_way_to_go() {
        let first = test(Line::Pitot);
        let second = first.second(3_600.0);
        let told = [2_000.0, 1_200.0, 700.0, 300.0, 0.0].map(|pa| second.astray(pa));
        let (more, low) = (Some("let go a little more"), Some("too low; put a little more on"));
        assert_eq!(told, [more, more, None, low, low]);
        let told = [4_500.0, 2_000.0, 150.0, 0.0].map(|pa| first.astray(pa));
        assert_eq!(told, [None, None, low, None]);
    }
}
