//! The shades of the climb: darker blue and broader for more climb, orange and thin for sink, so
//! that they differ for the colour-blind and on a grey print.

use crate::output::plot::style;
use crate::output::plot::svg::{Anchor, Pen, Svg};
use crate::units::{ClimbUnit, Units};

/// From sink to the best climb.
const PENS: [Pen; 5] = [
    Pen::solid("#c96a12", 1.8),
    Pen::solid("#a8cdea", 2.6),
    Pen::solid("#5f9bd0", 3.6),
    Pen::solid("#1f66a8", 4.8),
    Pen::solid("#0b2f52", 6.2),
];
/// Widths of a class of climb in m/s, knots and ft/min: the least that puts one in ten into the
/// highest class.
const WIDTHS_MPS: [f64; 6] = [0.25, 0.5, 1.0, 1.5, 2.0, 3.0];
const WIDTHS_KT: [f64; 6] = [0.5, 1.0, 2.0, 3.0, 4.0, 6.0];
const WIDTHS_FT_MIN: [f64; 6] = [50.0, 100.0, 200.0, 300.0, 400.0, 600.0];
const HIGHEST: f64 = 3.0;
const LINE: f32 = 20.0;
const LENGTH: f32 = 40.0;

/// Which shade a climb has.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Shades {
    width_mps: f64,
}

impl Shades {
    /// For some climbs, m/s; its borders are round in the pilot's unit.
    pub fn of(climbs_mps: &[f64], units: &Units) -> Self {
        let mut sorted = climbs_mps.to_vec();
        sorted.sort_by(f64::total_cmp);
        let high = sorted.get(9 * sorted.len() / 10).copied().unwrap_or_default();
        let widths = match units.climb {
            ClimbUnit::MetresPerSecond => WIDTHS_MPS,
            ClimbUnit::Knots => WIDTHS_KT,
            ClimbUnit::FeetPerMinute => WIDTHS_FT_MIN,
        };
        let widths_mps = widths.map(|width| width / units.climb(1.0).value);
        let fits = widths_mps.into_iter().find(|width| HIGHEST * width >= high);
        Self { width_mps: fits.unwrap_or(widths_mps[widths_mps.len() - 1]) }
    }

    /// The class of a climb: 0 is sink.
    pub fn class(&self, climb_mps: f64) -> usize {
        if climb_mps < 0.0 {
            return 0;
        }
        (1 + (climb_mps / self.width_mps) as usize).min(PENS.len() - 1)
    }

    /// How a class is drawn.
    pub fn pen(class: usize) -> Pen {
        PENS[class]
    }

    /// Writes what the shades mean, from the best down; returns where the next line would be.
    pub fn legend(&self, svg: &mut Svg, (x, mut y): (f32, f32), units: &Units) -> f32 {
        // A quarter of a metre a second has two decimals.
        let finer = i32::from(self.width_mps == WIDTHS_MPS[0]);
        let edge =
            |class: usize| units.climb(self.width_mps * (class - 1) as f64).unsigned().finer(finer);
        svg.text((x, y), Anchor::Start, style::HEADING, &format!("Climb ({})", edge(1).unit));
        for class in (0..PENS.len()).rev() {
            y += LINE;
            svg.line((x, y - 5.0), (x + LENGTH, y - 5.0), PENS[class]);
            let words = match class {
                0 => "sink".to_owned(),
                class if class + 1 == PENS.len() => format!("{} and more", edge(class).number()),
                class => format!("{} to {}", edge(class).number(), edge(class + 1).number()),
            };
            svg.text((x + LENGTH + 10.0, y), Anchor::Start, style::KEY, &words);
        }
        y
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(climbs_mps: &[f64]) -> Shades {
        Shades::of(climbs_mps, &Units::default())
    }

    #[test]
    fn the_classes_span_what_was_climbed() {
        let shades = of(&[-1.0, 0.0, 0.4, 1.0, 1.6, 2.2, 2.4, 2.6, 2.8, 2.9]);
        assert_eq!(shades.width_mps, 1.0);
        let classes = [-0.1, 0.0, 0.99, 1.0, 2.5, 3.0, 99.0].map(|climb| shades.class(climb));
        assert_eq!(classes, [0, 1, 1, 2, 3, 4, 4]);
        assert_eq!(of(&[]).width_mps, 0.25);
        assert_eq!(of(&[50.0]).width_mps, 3.0);
    }

    #[test]
    fn the_borders_are_round_in_every_unit() {
        let legend = |climb: ClimbUnit| {
            let units = Units { climb, ..Units::default() };
            let mut svg = Svg::new(100, 100, "", "");
            Shades::of(&[2.5; 10], &units).legend(&mut svg, (0.0, 0.0), &units);
            svg.finish()
        };
        assert!(legend(ClimbUnit::MetresPerSecond).contains(">1.0 to 2.0<"));
        assert!(legend(ClimbUnit::Knots).contains(">2.0 to 4.0<"));
        assert!(legend(ClimbUnit::FeetPerMinute).contains(">200 to 400<"));
    }
}
