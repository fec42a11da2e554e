//! The few shapes a picture is made of, written as SVG.
//!
//! Written here and not with the library plotters, whose SVG has every point at a whole pixel: that
//! is 0.15 m/s in a panel of vertical speed, which makes stairs of a slow change.

use crate::words::is_unseen;
use std::fmt::Write;

/// Tried in this order; the first is the font that the PNG is made with.
const FONTS: &str = "DejaVu Sans, Verdana, sans-serif";

/// How opaque a veil is.
const VEIL: f32 = 0.6;

/// A rectangle in pixels, y downward.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Area {
    /// Left edge.
    pub left: f32,
    /// Upper edge.
    pub top: f32,
    /// Right edge.
    pub right: f32,
    /// Lower edge.
    pub bottom: f32,
}

impl Area {
    /// From the left edge to the right.
    pub fn width(&self) -> f32 {
        self.right - self.left
    }

    /// From the upper edge to the lower.
    pub fn height(&self) -> f32 {
        self.bottom - self.top
    }
}

/// How a line is drawn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pen {
    /// As `#rrggbb`.
    pub colour: &'static str,
    /// In pixels.
    pub width: f32,
    /// Lengths of dash and gap in pixels.
    pub dash: Option<(f32, f32)>,
}

impl Pen {
    /// A line without gaps.
    pub const fn solid(colour: &'static str, width: f32) -> Self {
        Self { colour, width, dash: None }
    }

    /// A broken line.
    pub const fn dashed(colour: &'static str, width: f32, dash: f32, gap: f32) -> Self {
        Self { colour, width, dash: Some((dash, gap)) }
    }
}

/// Weight of text.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Weight {
    /// For most.
    Regular,
    /// For titles.
    Bold,
}

/// Which point of a text its place is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Anchor {
    /// Its left end.
    Start,
    /// Its middle.
    Middle,
    /// Its right end.
    End,
}

/// How text is written.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Type {
    /// In pixels.
    pub size: f32,
    /// Its weight.
    pub weight: Weight,
    /// As `#rrggbb`.
    pub colour: &'static str,
}

/// A picture being made.
#[derive(Debug)]
pub struct Svg {
    text: String,
}

impl Svg {
    /// An empty picture with a title for those who cannot see it.
    pub fn new(width: u32, height: u32, title: &str, description: &str) -> Self {
        let text = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}\" height=\"{height}\" \
             viewBox=\"0 0 {width} {height}\" role=\"img\" font-family=\"{FONTS}\">\n\
             <title>{}</title>\n<desc>{}</desc>\n",
            escaped(title),
            escaped(description),
        );
        Self { text }
    }

    /// A filled rectangle.
    pub fn rectangle(&mut self, area: Area, colour: &str) {
        let Area { left, top, .. } = area;
        let (width, height) = (area.width(), area.height());
        self.element(format_args!(
            "<rect x=\"{left:.1}\" y=\"{top:.1}\" width=\"{width:.1}\" height=\"{height:.1}\" \
             fill=\"{colour}\"/>"
        ));
    }

    /// A straight line.
    pub fn line(&mut self, from: (f32, f32), to: (f32, f32), pen: Pen) {
        self.path(&format!("M{:.1},{:.1}L{:.1},{:.1}", from.0, from.1, to.0, to.1), pen);
    }

    /// A line along `data`, in the language of SVG paths.
    pub fn path(&mut self, data: &str, pen: Pen) {
        if data.is_empty() {
            return;
        }
        let Pen { colour, width, dash } = pen;
        let ends = match dash {
            Some((dash, gap)) => format!("stroke-dasharray=\"{dash} {gap}\""),
            None => String::from("stroke-linecap=\"round\""),
        };
        self.element(format_args!(
            "<path d=\"{data}\" fill=\"none\" stroke=\"{colour}\" stroke-width=\"{width}\" \
             stroke-linejoin=\"round\" {ends}/>"
        ));
    }

    /// A solid line along `data` that ends exactly where `data` ends.
    pub fn strokes(&mut self, data: &str, pen: Pen) {
        if !data.is_empty() {
            let Pen { colour, width, .. } = pen;
            self.element(format_args!(
                "<path d=\"{data}\" fill=\"none\" stroke=\"{colour}\" stroke-width=\"{width}\"/>"
            ));
        }
    }

    /// A filled outline along `data`.
    pub fn shape(&mut self, data: &str, colour: &str) {
        self.element(format_args!("<path d=\"{data}\" fill=\"{colour}\"/>"));
    }

    /// A filled outline that lets what is behind it show.
    pub fn veil(&mut self, data: &str, colour: &str) {
        self.element(format_args!(
            "<path d=\"{data}\" fill=\"{colour}\" fill-opacity=\"{VEIL}\"/>"
        ));
    }

    /// A line of text; `at` is on its base line.
    pub fn text(&mut self, at: (f32, f32), anchor: Anchor, style: Type, words: &str) {
        let anchor = match anchor {
            Anchor::Start => "start",
            Anchor::Middle => "middle",
            Anchor::End => "end",
        };
        let weight = match style.weight {
            Weight::Regular => "",
            Weight::Bold => " font-weight=\"bold\"",
        };
        let Type { size, colour, .. } = style;
        self.element(format_args!(
            "<text x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"{anchor}\" font-size=\"{size}\"{weight} \
             fill=\"{colour}\">{}</text>",
            at.0,
            at.1,
            escaped(words),
        ));
    }

    /// The whole picture.
    pub fn finish(mut self) -> String {
        self.text.push_str("</svg>\n");
        self.text
    }

    fn element(&mut self, element: std::fmt::Arguments<'_>) {
        // Writing to a string cannot fail.
        let _ = self.text.write_fmt(element);
        self.text.push('\n');
    }
}

/// Text as XML and HTML hold it; what XML cannot hold at all, and what is not seen or turns the
/// writing round, becomes the replacement character.
pub(crate) fn escaped(words: &str) -> String {
    let mut escaped = String::with_capacity(words.len());
    for character in words.chars() {
        match character {
            '&' => escaped.push_str("&amp;"),
            '<' => escaped.push_str("&lt;"),
            '>' => escaped.push_str("&gt;"),
            '"' => escaped.push_str("&quot;"),
            '\t' | '\n' | '\r' => escaped.push(' '),
            '\0'..='\x1f' | '\u{fffe}' | '\u{ffff}' => escaped.push(char::REPLACEMENT_CHARACTER),
            unseen if is_unseen(unseen) => escaped.push(char::REPLACEMENT_CHARACTER),
            other => escaped.push(other),
        }
    }
    escaped
}

/// About how wide a line of text is in DejaVu Sans, never less than it is by more than 3 % and a
/// wide font as fonts go, so that what fits by this fits anywhere.
pub fn text_width(words: &str, size: f32, weight: Weight) -> f32 {
    let ems: f32 = words.chars().map(advance_em).sum();
    let bold = if weight == Weight::Bold { 1.12 } else { 1.0 };
    ems * size * bold
}

/// As much of `words` as fits into `room` pixels, with an ellipsis where something is left out.
pub fn fit(words: &str, size: f32, weight: Weight, room: f32) -> String {
    if text_width(words, size, weight) <= room {
        return words.to_owned();
    }
    let mut kept = String::from(words);
    while kept.pop().is_some() {
        let short = format!("{}\u{2026}", kept.trim_end());
        if text_width(&short, size, weight) <= room {
            return short;
        }
    }
    kept
}

/// `words` on lines that are at most `room` pixels wide, parted at spaces; a longer word is cut.
pub fn wrapped(words: &str, size: f32, weight: Weight, room: f32) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in words.split_whitespace() {
        let longer = lines.last().map(|line| format!("{line} {word}"));
        match longer.filter(|line| text_width(line, size, weight) <= room) {
            Some(line) => *lines.last_mut().expect("there is a line") = line,
            None => lines.push(fit(word, size, weight, room)),
        }
    }
    lines
}

/// As much of the beginning and the end of `words` as fits into `room` pixels, with an ellipsis
/// between them where something is left out: names of files differ at both ends.
pub fn fit_in_the_middle(words: &str, size: f32, weight: Weight, room: f32) -> String {
    if text_width(words, size, weight) <= room {
        return words.to_owned();
    }
    let letters: Vec<char> = words.chars().collect();
    let short = |kept: usize| {
        let (first, last) = letters.split_at(kept.div_ceil(2));
        let last = &last[last.len() - kept / 2..];
        first.iter().chain(['\u{2026}'].iter()).chain(last).collect::<String>()
    };
    let fits = |words: &String| text_width(words, size, weight) <= room;
    (1..letters.len()).rev().map(short).find(fits).unwrap_or_default()
}

/// Advance of a character in units of the text's size, from the font's own table, in classes.
fn advance_em(character: char) -> f32 {
    match character {
        'i' | 'j' | 'l' | '\'' => 0.28,
        ' ' | 'I' | '.' | ',' | ':' | ';' | '|' | '/' | '\\' | '\u{b7}' => 0.33,
        '(' | ')' | '[' | ']' | '-' | 'f' | 't' | 'r' | '!' => 0.41,
        's' | 'z' | 'c' | 'J' | '"' => 0.54,
        'a'
        | 'b'
        | 'd'
        | 'e'
        | 'g'
        | 'h'
        | 'k'
        | 'n'..='q'
        | 'u'
        | 'v'
        | 'x'
        | 'y'
        | '0'..='9'
        | '_' => 0.63,
        'w' | '+' | '=' | '<' | '>' | '\u{2212}' | '\u{d7}' => 0.84,
        'm' | 'W' | '%' | '@' | '\u{2026}' => 1.0,
        'M' | 'O' | 'Q' => 0.87,
        'A'..='Z' => 0.74,
        // Other alphabets are as wide as ours; what comes after them may be as wide as it is high.
        '\u{a1}'..='\u{52f}' => 0.8,
        _ => 1.0,
    }
}

#[cfg(test)]
mod tests {
    use super::super::raster::parse;
    use super::*;
    use resvg::usvg::roxmltree::Document;

    const PLAIN: Type = Type { size: 16.0, weight: Weight::Regular, colour: "#000000" };

    fn with_text(words: &str, weight: Weight) -> String {
        let mut svg = Svg::new(2000, 40, words, words);
        svg.text((0.0, 30.0), Anchor::Start, Type { weight, ..PLAIN }, words);
        svg.finish()
    }

    #[test]
    fn any_text_makes_well_formed_xml() {
        for words in ["a<b>&\"c\" 'd'", "\0\x1b[31m\n\u{ffff}", "\u{5e73}\u{202e} ]]> <!--", ""] {
            let svg = with_text(words, Weight::Regular);
            let document =
                Document::parse(&svg).unwrap_or_else(|error| panic!("{words:?}: {error}"));
            let text = document.descendants().find(|node| node.has_tag_name("text")).unwrap();
            assert_eq!(text.text().unwrap_or_default().chars().count(), words.chars().count());
        }
    }

    #[test]
    fn the_width_of_text_is_estimated_from_3_percent_too_little_to_12_percent_too_much() {
        for words in [
            "Pressure altitude (m)",
            "compensated (heard)",
            "right: total energy from airspeed, response 2.5 s",
            "winch-and-two-thermals.csv",
            "gap 1 \u{b7} bad pressure 40 \u{b7} no compensation 200",
            "the 10 s of the strongest climb, about +12.0 m/s: 99 beeps",
            "10:05:30",
            "FLIGHT_2024-07-18_W.IGC",
        ] {
            for weight in [Weight::Regular, Weight::Bold] {
                let drawn =
                    parse(&with_text(words, weight)).unwrap().root().abs_bounding_box().width();
                let ratio = text_width(words, PLAIN.size, weight) / drawn;
                assert!((0.97..1.12).contains(&ratio), "{words} {weight:?}: {ratio}");
            }
        }
    }

    #[test]
    fn text_too_long_for_its_room_ends_in_an_ellipsis_and_fits() {
        assert_eq!(fit("short", 16.0, Weight::Regular, 100.0), "short");
        let cut = fit("a name that goes on and on", 16.0, Weight::Regular, 100.0);
        assert!(cut.ends_with('\u{2026}') && cut.starts_with("a name"), "{cut}");
        assert!(text_width(&cut, 16.0, Weight::Regular) <= 100.0);
        assert_eq!(fit("none", 16.0, Weight::Regular, -5.0), "");
    }

    #[test]
    fn words_are_wrapped_at_spaces_within_their_room() {
        let lines = wrapped("a line that goes on and on", 16.0, Weight::Regular, 100.0);
        assert!(lines.len() > 1 && lines.join(" ") == "a line that goes on and on", "{lines:?}");
        assert!(lines.iter().all(|line| text_width(line, 16.0, Weight::Regular) <= 100.0));
        assert!(wrapped("", 16.0, Weight::Regular, 100.0).is_empty());
        assert!(wrapped("incompressible", 16.0, Weight::Regular, 50.0)[0].ends_with('\u{2026}'));
    }

    #[test]
    fn a_name_too_long_for_its_room_keeps_both_ends() {
        assert_eq!(fit_in_the_middle("short", 16.0, Weight::Regular, 100.0), "short");
        let cut = fit_in_the_middle("2026-06-14-long-name.igc", 16.0, Weight::Regular, 120.0);
        assert!(cut.starts_with("2026") && cut.ends_with(".igc"), "{cut}");
        assert!(cut.contains('\u{2026}') && text_width(&cut, 16.0, Weight::Regular) <= 120.0);
        assert_eq!(fit_in_the_middle("none", 16.0, Weight::Regular, -5.0), "");
    }
}
