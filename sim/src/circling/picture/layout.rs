//! Where the parts of the picture are.

use crate::output::plot::layout::LEFT;

/// Upper and lower edge of the map.
pub(super) const TOP: f32 = 84.0;
pub(super) const BOTTOM: f32 = 784.0;
/// Right edge of the map, which is a square.
pub(super) const MAP_RIGHT: f32 = LEFT + BOTTOM - TOP;
/// Where the words right of it begin.
pub(super) const WORDS_LEFT: f32 = MAP_RIGHT + 28.0;
