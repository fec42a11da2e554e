//! The heading of a panel: its name, and what each of its lines is.

use super::layout;
use super::style;
use super::svg::{Anchor, Area, Pen, Svg, Weight, fit, text_width};

/// From the base line of a heading to the panel.
pub const ABOVE: f32 = 8.0;
/// Free space between the entries.
const BETWEEN: f32 = 26.0;
/// From a mark to its words.
const TO_WORDS: f32 = 8.0;
/// Length of a mark.
const LENGTH: f32 = 36.0;

/// An entry: a sample of the line, and its name.
#[derive(Clone, Debug)]
pub struct Key {
    /// Drawn over each other.
    pub marks: Vec<Mark>,
    /// Its name.
    pub words: String,
}

/// A sample of how something is drawn.
#[derive(Clone, Copy, Debug)]
pub enum Mark {
    /// A line.
    Line(Pen),
    /// Beeps, each drawn.
    Beeps(Pen),
    /// A filled area.
    Band(&'static str),
    /// A filled area that shows what is behind it.
    Veil(&'static str),
    /// Stripes so wide.
    Stripes(&'static str, f32),
    /// What lies beyond the axis.
    Arrow,
}

impl Key {
    /// An entry with one mark.
    pub fn new(mark: Mark, words: impl Into<String>) -> Self {
        Self { marks: vec![mark], words: words.into() }
    }

    fn mark_width(&self) -> f32 {
        if matches!(self.marks[..], [Mark::Arrow]) { 12.0 } else { LENGTH }
    }
}

/// Writes the heading above a panel whose upper edge is `top`; returns where the next entry would
/// begin.
pub fn heading(svg: &mut Svg, top: f32, name: &str, keys: &[Key]) -> f32 {
    let line = top - ABOVE;
    svg.text((layout::LEFT, line), Anchor::Start, style::HEADING, name);
    let mut x = layout::LEFT + text_width(name, style::HEADING.size, Weight::Bold) + BETWEEN;
    let (size, weight) = (style::KEY.size, style::KEY.weight);
    let marks: f32 = keys.iter().map(|key| key.mark_width() + TO_WORDS + BETWEEN).sum();
    let widths = keys.iter().map(|key| text_width(&key.words, size, weight)).collect();
    let longest = room_for_each(widths, layout::RIGHT + BETWEEN - x - marks);
    for key in keys {
        for mark in &key.marks {
            draw(svg, *mark, x, line - 5.5);
        }
        x += key.mark_width() + TO_WORDS;
        let words = fit(&key.words, size, weight, longest);
        svg.text((x, line), Anchor::Start, style::KEY, &words);
        x += text_width(&words, size, weight) + BETWEEN;
    }
    x
}

fn draw(svg: &mut Svg, mark: Mark, x: f32, y: f32) {
    match mark {
        Mark::Line(pen) => svg.line((x, y), (x + LENGTH, y), pen),
        Mark::Beeps(pen) => {
            svg.line((x, y), (x + LENGTH, y), Pen { dash: Some((8.0, 6.0)), ..pen })
        }
        Mark::Band(colour) => {
            svg.rectangle(
                Area { left: x, top: y - 6.0, right: x + LENGTH, bottom: y + 6.0 },
                colour,
            );
        }
        Mark::Veil(colour) => {
            svg.veil(&format!("M{x:.1},{:.1}h{LENGTH}v12h-{LENGTH}Z", y - 6.0), colour)
        }
        Mark::Stripes(colour, width) => {
            for stripe in 0..9 {
                let left = x + 4.0 * stripe as f32 + 1.2 - 0.5 * width;
                svg.rectangle(
                    Area { left, top: y - 6.0, right: left + width, bottom: y + 6.0 },
                    colour,
                );
            }
        }
        Mark::Arrow => svg.shape(&format!("M{x:.1},{:.1}h12l-6,-10Z", y + 5.0), style::FAULT),
    }
}

/// The longest that an entry may be for all of them to fit into `room`: short ones leave their room
/// to the others.
fn room_for_each(mut widths: Vec<f32>, mut room: f32) -> f32 {
    widths.sort_by(f32::total_cmp);
    for (done, width) in widths.iter().enumerate() {
        let share = room / (widths.len() - done) as f32;
        if *width > share {
            return share;
        }
        room -= width;
    }
    f32::INFINITY
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn short_entries_leave_their_room_to_long_ones() {
        assert_eq!(room_for_each(vec![100.0, 50.0], 200.0), f32::INFINITY);
        assert_eq!(room_for_each(vec![300.0, 50.0], 200.0), 150.0);
        assert_eq!(room_for_each(vec![300.0, 400.0], 200.0), 100.0);
    }
}
