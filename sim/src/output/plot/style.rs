//! The style: a calm background, few colours, and for every difference of colour one of width or
//! dash as well.
//!
//! The colours are our own. They differ in lightness as well as in hue, blue against orange and
//! plum, so that they stay apart for the colour-blind and on a grey print.

use super::svg::{Pen, Type, Weight};

/// Behind everything.
pub const PAPER: &str = "#faf9f5";
/// Behind the lines of a panel.
pub const PANEL: &str = "#ffffff";
/// Where there are no samples.
pub const GAP: &str = "#e9e7e1";
/// Where the close-up is taken from.
pub const MARKER: &str = "#f6dfa4";
/// From the marker to the close-up.
pub const CONE: &str = "#fbf1d8";
/// Words and frames.
pub const INK: &str = "#1d2733";
/// Words of less weight; 7 to 1 against the paper.
pub const SOFT_INK: &str = "#4a5560";
/// Bars of less weight.
pub const PALE_INK: &str = "#a9b2ba";
/// What was wrong with the samples.
pub const FAULT: &str = "#a3261c";

/// Lines of the ticks.
pub const GRID: Pen = Pen::solid("#e0e3e6", 1.5);
/// The line of zero.
pub const ZERO: Pen = Pen::solid("#7b858e", 1.5);
/// Below a panel.
pub const FRAME: Pen = Pen::solid("#7b858e", 1.5);
/// Height.
pub const HEIGHT: Pen = Pen::solid(INK, 2.2);
/// Compensated vertical speed.
pub const COMPENSATED: Pen = Pen::solid("#0d4f8b", 2.2);
/// Vertical speed without compensation.
pub const UNCOMPENSATED: Pen = Pen::dashed("#c96a12", 2.0, 6.0, 3.0);
/// Vertical speed without compensation, where there is no other.
pub const UNCOMPENSATED_ALONE: Pen = Pen::solid("#c96a12", 2.2);
/// The average.
pub const AVERAGE: Pen = Pen::solid("#a8cdea", 6.0);
/// Beeps of one instrument, each drawn.
pub const BEEPS: Pen = Pen::solid("#8a2a72", 7.0);
/// The steady tone of one instrument.
pub const STEADY: Pen = Pen::solid("#5d6b78", 4.0);
/// In a long flight: from the lowest to the highest compensated vertical speed of each column of
/// time.
pub const COMPENSATED_BAND: &str = "#8db7dc";
/// In a long flight: the same, without compensation.
pub const UNCOMPENSATED_BAND: &str = "#f1cfae";
/// In a long flight: the average, on top of the bands.
pub const AVERAGE_ON_BANDS: Pen = Pen::solid("#0b3050", 2.0);
/// In a long flight without compensation: what takes its place.
pub const UNCOMPENSATED_BAND_ALONE: &str = "#e3a263";
/// The left of two instruments: broad and light.
pub const LEFT: Pen = Pen::solid("#7fb3dd", 5.0);
/// The right of two instruments: thin and dark, so that both show where they agree.
pub const RIGHT: Pen = Pen::solid("#5a1846", 1.8);

/// Beeps of the left instrument, each drawn.
pub const LEFT_BEEPS: Pen = Pen { width: 9.0, ..LEFT };
/// Beeps of the right instrument, each drawn.
pub const RIGHT_BEEPS: Pen = Pen { width: 3.6, ..RIGHT };

// In charts of anything but a replay.

/// The settings or the filter that a picture is about.
pub const THESE: Pen = Pen { width: 2.6, ..COMPENSATED };
/// What they are compared with.
pub const OTHER: Pen = Pen { width: 2.4, ..UNCOMPENSATED };
/// A third line, thin and dark.
pub const THIRD: Pen = Pen { width: 2.4, ..HEIGHT };
/// The truth.
pub const TRUTH: Pen = Pen { width: 1.6, ..STEADY };
/// A value that should be reached.
pub const WANTED: Pen = Pen::dashed(FAULT, 1.5, 3.0, 4.0);
/// From a point to what it is compared with.
pub const LINK: Pen = Pen::dashed(SOFT_INK, 1.5, 3.0, 4.0);
/// A filled bar.
pub const BAR: &str = COMPENSATED.colour;
/// Another one beside it.
pub const OTHER_BAR: &str = UNCOMPENSATED_BAND_ALONE;
/// A point for the settings as they are.
pub const PRESENT: &str = SOFT_INK;
/// A point for the settings that are best.
pub const BEST: &str = BEEPS.colour;

/// The title.
pub const TITLE: Type = Type { size: 24.0, weight: Weight::Bold, colour: INK };
/// Below the title.
pub const SUBTITLE: Type = Type { size: 16.0, weight: Weight::Regular, colour: SOFT_INK };
/// Name of a panel.
pub const HEADING: Type = Type { size: 16.0, weight: Weight::Bold, colour: INK };
/// What a line is.
pub const KEY: Type = Type { size: 16.0, weight: Weight::Regular, colour: INK };
/// At the ticks.
pub const TICK_LABEL: Type = Type { size: 15.0, weight: Weight::Regular, colour: SOFT_INK };
/// Beside the points of a chart.
pub const POINT_LABEL: Type = Type { size: 14.0, ..TICK_LABEL };
/// At the lanes of the faults; the smallest there is.
pub const LANE: Type = Type { size: 14.0, weight: Weight::Regular, colour: FAULT };
