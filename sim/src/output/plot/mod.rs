//! What the picture of a replay is made of.
//!
//! | module | what it does |
//! |---|---|
//! | [`bins`] | a quantity over time in a bounded number of columns |
//! | [`pulses`] | the sound as beeps and steady stretches; the close-up |
//! | [`history`] | rows and sound into these |
//! | [`scale`], [`time_axis`] | values and times to places, ticks and labels |
//! | [`pieces`] | a time axis with breaks, one piece a segment |
//! | [`labels`] | its words |
//! | [`layout`], [`style`] | where everything goes and what it looks like |
//! | [`chart`] | a panel of any two quantities |
//! | [`panel`], [`key`] | outlines on one panel; its heading |
//! | [`page`] | draws it all |
//! | [`svg`], [`raster`] | shapes to SVG, SVG to PNG |

pub(super) mod bins;
pub(crate) mod chart;
pub(super) mod history;
pub(crate) mod key;
pub(super) mod labels;
pub(crate) mod layout;
pub(super) mod page;
pub(super) mod panel;
pub(super) mod pieces;
pub(super) mod pulses;
pub(crate) mod raster;
pub(crate) mod scale;
pub(crate) mod style;
pub(crate) mod svg;
#[cfg(test)]
pub(crate) mod testing;
pub(crate) mod time_axis;
