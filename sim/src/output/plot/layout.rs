//! The layout of the page.

use super::svg::Area;

/// Width of the picture in pixels.
pub const WIDTH: u32 = 1200;
/// Height of the picture in pixels.
pub const HEIGHT: u32 = 800;
/// Left edge of the panels; the labels of their axes are left of it.
pub const LEFT: f32 = 84.0;
/// Right edge of the panels.
pub const RIGHT: f32 = 1176.0;
/// Base line of the title.
pub const TITLE_LINE: f32 = 36.0;
/// Base line of the subtitle.
pub const SUBTITLE_LINE: f32 = 60.0;
/// On a page of charts, the upper edge of what the key stands above.
pub const KEY_TOP: f32 = 96.0;

/// From the subtitle to the heading of the first panel.
const TOP: f32 = 68.0;
/// The heading of a panel, above it.
const HEADING: f32 = 28.0;
/// From a panel to the next heading.
const BETWEEN: f32 = 6.0;
/// A lane of one kind of fault.
const LANE: f32 = 18.0;
/// The labels below a time axis.
const TIME_LABELS: f32 = 22.0;
/// The line below these, with the title of the axis and the heading of the close-up.
const TIME_TITLE: f32 = 28.0;
const BOTTOM: f32 = 10.0;

/// The panels, from the top.
#[derive(Clone, Debug, PartialEq)]
pub struct Layout {
    /// Height over time.
    pub height: Area,
    /// Vertical speed over time.
    pub speed: Area,
    /// Pitch over time.
    pub pitch: Area,
    /// Kinds of faults, one below the other.
    pub lanes: Vec<Area>,
    /// A few seconds of beeps.
    pub close_up: Option<Area>,
}

impl Layout {
    /// Shares out the page.
    pub fn new(lanes: usize, has_close_up: bool) -> Self {
        let lanes_height = if lanes == 0 { 0.0 } else { HEADING + LANE * lanes as f32 };
        let fixed =
            TOP + 3.0 * HEADING + 2.0 * BETWEEN + lanes_height + TIME_LABELS + TIME_TITLE + BOTTOM;
        let fixed = if has_close_up { fixed + TIME_LABELS } else { fixed };
        let free = HEIGHT as f32 - fixed;
        let close_up_share = if has_close_up { 0.21 } else { 0.0 };
        let panels = free * (1.0 - close_up_share);
        let mut pen = TOP;
        let height = panel(&mut pen, HEADING, 0.27 * panels);
        let speed = panel(&mut pen, BETWEEN + HEADING, 0.45 * panels);
        let pitch = panel(&mut pen, BETWEEN + HEADING, 0.28 * panels);
        let lanes = (0..lanes)
            .map(|lane| panel(&mut pen, if lane == 0 { HEADING } else { 0.0 }, LANE))
            .collect();
        let close_up =
            has_close_up.then(|| panel(&mut pen, TIME_LABELS + TIME_TITLE, close_up_share * free));
        Self { height, speed, pitch, lanes, close_up }
    }

    /// The panels that share the long time axis.
    pub fn panels(&self) -> [Area; 3] {
        [self.height, self.speed, self.pitch]
    }

    /// Lower end of all that shares the long time axis.
    pub fn time_axis(&self) -> f32 {
        self.lanes.last().unwrap_or(&self.pitch).bottom
    }
}

/// The next panel below `pen`, after a distance.
fn panel(pen: &mut f32, distance: f32, height: f32) -> Area {
    let top = *pen + distance;
    *pen = top + height;
    Area { left: LEFT, top, right: RIGHT, bottom: *pen }
}
