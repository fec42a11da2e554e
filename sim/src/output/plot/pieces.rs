//! The time axis in pieces: one a segment of the trace, each with the times of its own clock. What
//! lies between two segments is left out, and a break is drawn there.

use super::history::{Break, History, MOST_BREAKS};
use super::layout;
use super::style;
use super::svg::{Anchor, Area, Svg, text_width};
use super::time_axis::{TimeAxis, TimeTicks};

/// Width of a break.
const BREAK: f32 = 8.0;
/// Free space between two labels.
const BETWEEN: f32 = 12.0;

/// A time axis that may have breaks.
#[derive(Clone, Debug)]
pub struct Pieces {
    pieces: Vec<Piece>,
    span_us: i64,
}

/// A stretch without a break.
#[derive(Clone, Copy, Debug)]
struct Piece {
    /// Where it begins and ends, in microseconds of the picture.
    from_us: i64,
    to_us: i64,
    axis: TimeAxis,
}

impl Pieces {
    /// The axis of `history`, `span_us` long; `utc_start_us` is the time of day at the trace's time
    /// zero.
    pub fn of(history: &History, span_us: i64, utc_start_us: Option<i64>) -> Self {
        let first = history.first().map_or(0, |first| first.0);
        let breaks = &history.breaks;
        if breaks.len() >= MOST_BREAKS {
            let axis = TimeAxis::since_start(span_us);
            return Self { pieces: vec![Piece { from_us: 0, to_us: span_us, axis }], span_us };
        }
        let begins = breaks.iter().map(|cut| (cut.at_us, cut.to.0));
        let begins: Vec<(i64, i64)> = [(0, first)].into_iter().chain(begins).collect();
        let ends = begins.iter().skip(1).map(|begin| begin.0).chain([span_us]);
        let axis = |time_us: i64, lasts_us: i64| match utc_start_us {
            Some(start_us) => TimeAxis::of_day(time_us.saturating_add(start_us), lasts_us),
            None => TimeAxis::new(time_us, lasts_us),
        };
        let piece = |(&(from_us, time_us), to_us): (&(i64, i64), i64)| Piece {
            from_us,
            to_us,
            axis: axis(time_us, (to_us - from_us).max(1)),
        };
        let mut pieces: Vec<Piece> = begins.iter().zip(ends).map(piece).collect();
        if pieces.iter().any(|piece| piece.axis.is_since_start()) {
            let anew = |piece: &mut Piece| {
                piece.axis = TimeAxis::since_start((piece.to_us - piece.from_us).max(1));
            };
            pieces.iter_mut().for_each(anew);
        }
        let axes: Vec<TimeAxis> = pieces.iter().map(|piece| piece.axis).collect();
        for piece in &mut pieces {
            piece.axis = piece.axis.in_style_of(axes.iter().copied());
        }
        let all = Self { pieces, span_us };
        if all.pieces.iter().any(|piece| all.of_piece(piece).unit == "h:mm:ss") {
            let shown = |piece: Piece| Piece { axis: piece.axis.with_seconds(), ..piece };
            return Self { pieces: all.pieces.into_iter().map(shown).collect(), span_us };
        }
        all
    }

    fn of_piece(&self, piece: &Piece) -> TimeTicks {
        let width = self.x(piece.to_us) - self.x(piece.from_us);
        piece.axis.ticks(width, style::TICK_LABEL.size)
    }

    /// The axis of a part of the picture, both ends in microseconds from its start.
    pub fn part(&self, from_us: i64, to_us: i64) -> TimeAxis {
        // There is always a piece.
        let place = self.pieces.iter().rposition(|piece| piece.from_us <= from_us).unwrap_or(0);
        let piece = self.pieces[place];
        piece.axis.part(from_us - piece.from_us, to_us - piece.from_us)
    }

    /// Places in pixels and labels of round times, and what the labels are; those that would touch
    /// the label before them are left out.
    pub fn ticks(&self) -> (Vec<(f32, String)>, &'static str) {
        let size = style::TICK_LABEL.size;
        let mut all: Vec<(f32, String)> = Vec::new();
        let (mut unit, mut widest, mut end_x) = ("", 0.0, f32::NEG_INFINITY);
        for piece in &self.pieces {
            let (left, right) = (self.x(piece.from_us), self.x(piece.to_us));
            let found = self.of_piece(piece);
            if right - left > widest {
                (unit, widest) = (found.unit, right - left);
            }
            for (place, words) in found.ticks {
                let (x, half) = (left + place * (right - left), {
                    0.5 * text_width(&words, size, style::TICK_LABEL.weight)
                });
                if x - half > end_x {
                    end_x = x + half + BETWEEN;
                    all.push((x, words));
                }
            }
        }
        (all, unit)
    }

    /// What the axis shows, in words.
    pub fn title(&self) -> &'static str {
        let since_start = self.pieces[0].axis.is_since_start();
        match self.pieces.len() {
            1 => self.pieces[0].axis.title(),
            _ if since_start => "Time after the first sample of each segment",
            _ => self.pieces[0].axis.title(),
        }
    }

    fn x(&self, time_us: i64) -> f32 {
        let share = (time_us as f64 / self.span_us as f64).clamp(0.0, 1.0) as f32;
        layout::LEFT + share * (layout::RIGHT - layout::LEFT)
    }

    /// Draws the breaks through `areas`, and in the first of these what is left out.
    pub fn draw_breaks(&self, svg: &mut Svg, breaks: &[Break], areas: &[Area]) {
        for cut in breaks {
            let x = self.x(cut.at_us);
            for area in areas {
                let (left, right) = (x - 0.5 * BREAK, x + 0.5 * BREAK);
                svg.rectangle(Area { left, right, ..*area }, style::PAPER);
                for x in [left, right] {
                    svg.line((x, area.top), (x, area.bottom), style::WANTED);
                }
            }
        }
        let Some(area) = areas.first() else { return };
        let kind = style::TICK_LABEL;
        let mut end_x = area.left;
        for cut in breaks {
            let words = cut.cut.to_string();
            let width = text_width(&words, kind.size, kind.weight);
            let left = (self.x(cut.at_us) - 0.5 * width).clamp(area.left, area.right - width);
            if left < end_x {
                continue;
            }
            end_x = left + width + BETWEEN;
            let (top, bottom) = (area.top + 4.0, area.top + 24.0);
            let behind = Area { left: left - 4.0, right: left + width + 4.0, top, bottom };
            svg.rectangle(behind, style::PAPER);
            svg.text((left, top + 15.0), Anchor::Start, kind, &words);
        }
    }
}
