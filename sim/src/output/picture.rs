//! The picture of a replay: height, vertical speed and sound over time, what was wrong with the
//! samples, and a close-up of the beeps. SVG, or the same as PNG.
//!
//! Rows and sound are taken as they stream in and kept in 2048 columns of time at most, so that the
//! memory of a picture stays below 2 MiB whatever the length of the trace. A picture shows time as
//! the replay runs it: it begins at the trace's own time and goes on through a clock that is set
//! back.

use super::plot::history::History;
pub use super::plot::labels::PictureLabels;
use super::plot::page;
use crate::replay::{Row, Stretch};

/// A picture being made.
#[derive(Clone, Debug)]
pub struct Picture {
    labels: PictureLabels,
    history: History,
    utc_start_us: Option<i64>,
}

impl Picture {
    /// An empty picture.
    pub fn new(labels: PictureLabels) -> Self {
        Self { labels, history: History::default(), utc_start_us: None }
    }

    /// Changes the words, some of which are known only at the end.
    pub fn label(&mut self, labels: PictureLabels) {
        self.labels = labels;
    }

    /// Shows the time of day from now on, where the trace's time zero is `seconds` after midnight
    /// UTC.
    pub fn show_utc(&mut self, seconds: f64) {
        self.utc_start_us = Some((seconds * 1.0e6) as i64);
    }

    /// Takes a sample and its readings.
    pub fn row(&mut self, row: &Row) {
        self.history.row(row);
    }

    /// Takes the sound up to the next row.
    pub fn sound(&mut self, stretch: Stretch<'_>) {
        self.history.sound(stretch);
    }

    /// The picture of what has been taken so far, 1200 by 800 pixels.
    pub fn to_svg(&self) -> String {
        page::draw(&self.history, &self.labels, self.utc_start_us)
    }
}

#[cfg(test)]
mod tests {
    use super::super::plot::layout::Layout;
    use super::super::plot::raster::svg_to_png;
    use super::super::plot::style;
    use super::super::plot::svg::Area;
    use super::super::plot::testing::{assert_readable, texts};
    use super::*;
    use crate::ears::Ears;
    use crate::replay::Replay;
    use crate::units::Units;
    use chirrup_core::{
        Metre, MetrePerSecond, Micros, Pascal, Sample, Settings, Speed, pressure_at,
    };
    use resvg::tiny_skia::{Pixmap, PremultipliedColorU8};
    use resvg::usvg::roxmltree::Document;

    const LEFT: f32 = 84.0;
    const WIDTH: f32 = 1092.0;

    /// `seconds` of samples `interval_us` apart, at the altitude in metres that `altitude_at` gives
    /// for a time in seconds.
    fn samples(
        from_s: i64,
        seconds: i64,
        interval_us: i64,
        altitude_at: impl Fn(f32) -> f32,
    ) -> Vec<Sample> {
        (0..=seconds * 1_000_000 / interval_us)
            .map(|count| {
                let time = Micros(from_s * 1_000_000 + count * interval_us);
                let altitude = Metre(altitude_at(count as f32 * interval_us as f32 * 1e-6));
                let speed = Some(Speed::True(MetrePerSecond(27.0)));
                Sample { speed, ..Sample::of_static(time, pressure_at(altitude)) }
            })
            .collect()
    }

    /// Sinks at 0.8 m/s and climbs at 3 m/s from 300 to 360 s.
    fn with_thermal(time_s: f32) -> f32 {
        1500.0 - 0.8 * time_s + 3.8 * (time_s - 300.0).clamp(0.0, 60.0)
    }

    fn labels() -> PictureLabels {
        PictureLabels {
            title: String::from("thermal.csv"),
            subtitle: String::from("total energy from airspeed, response 1.0 s"),
            left: String::from("response 1.0 s"),
            right: None,
            units: Units::default(),
        }
    }

    /// The picture of a replay, and the times in seconds at which the left sound begins.
    fn replay(
        samples: &[Sample],
        settings: Ears<Settings>,
        labels: PictureLabels,
    ) -> (Picture, Vec<f32>) {
        let mut picture = Picture::new(labels);
        let mut replay = Replay::new(settings.map(|settings| settings.build().unwrap()));
        let (mut ticks, mut was_open, mut beginnings) = (0_u64, false, Vec::new());
        for (line, sample) in samples.iter().enumerate() {
            let mut sound = |stretch: Stretch<'_>| -> Result<(), ()> {
                if let Stretch::Voices(voices) = stretch {
                    for (later, voice) in voices.iter().enumerate() {
                        if voice.left.gate && !was_open {
                            beginnings.push((ticks + later as u64) as f32 * 0.002);
                        }
                        was_open = voice.left.gate;
                    }
                }
                ticks += stretch.ticks();
                picture.sound(stretch);
                Ok(())
            };
            let row = replay.feed(line as u64, sample, &mut sound).unwrap();
            picture.row(&row);
        }
        (picture, beginnings)
    }

    fn one() -> Ears<Settings> {
        Ears { left: Settings::default(), right: None }
    }

    fn slower() -> Settings {
        let mut settings = Settings::default();
        settings.filter.response_s = 3.0;
        settings
    }

    fn two() -> Ears<Settings> {
        Ears { left: Settings::default(), right: Some(slower()) }
    }

    fn drawn(samples: &[Sample]) -> String {
        replay(samples, one(), labels()).0.to_svg()
    }

    /// Every fault there is, in a flight with a thermal.
    fn faulty() -> Vec<Sample> {
        let mut all = samples(36_000, 600, 100_000, with_thermal);
        all[700..720].iter_mut().for_each(|sample| sample.static_pressure = Some(Pascal(0.0)));
        all[900..960].iter_mut().for_each(|sample| sample.speed = None);
        all[1_200].time = all[1_199].time;
        all[1_300].time = all[1_250].time;
        all[5_000..]
            .iter_mut()
            .for_each(|sample| sample.time = Micros(sample.time.0 - 300_000_000));
        all.drain(2_000..2_400);
        all
    }

    /// The pictures that every general check looks at.
    fn pictures() -> Vec<(&'static str, String)> {
        let long_words = "words that go on and on <and> \"on\" & on, ".repeat(9);
        let long_labels = PictureLabels {
            title: long_words.clone(),
            subtitle: long_words.clone(),
            left: long_words.clone(),
            right: Some(long_words),
            units: Units::default(),
        };
        let hours = samples(0, 7_200, 5_000_000, |time_s| 1500.0 + 900.0 * (time_s * 0.004).sin());
        vec![
            ("nothing", Picture::new(labels()).to_svg()),
            ("one sample", drawn(&samples(0, 0, 1, |_| 300.0))),
            ("a moment", drawn(&samples(0, 1, 10_000, |time_s| 300.0 + 2.0 * time_s))),
            ("a climb of 12 s", drawn(&samples(36_000, 12, 50_000, |time_s| 300.0 + 2.0 * time_s))),
            ("no height at all", drawn(&samples(0, 60, 50_000, |_| f32::NAN))),
            ("constant height", drawn(&samples(0, 60, 50_000, |_| 300.0))),
            ("a thermal", drawn(&samples(0, 600, 50_000, with_thermal))),
            ("faults", drawn(&faulty())),
            ("hours", drawn(&hours)),
            ("a clock from elsewhere", drawn(&samples(1_700_000_000, 600, 100_000, with_thermal))),
            ("long words", replay(&faulty(), two(), long_labels.clone()).0.to_svg()),
            ("two for hours", replay(&hours, two(), long_labels).0.to_svg()),
        ]
    }

    fn says(svg: &str, words: &str) -> bool {
        texts(svg).iter().any(|(text, _)| text.contains(words))
    }

    /// The data of the paths drawn with these attributes.
    fn paths(svg: &str, attributes: &[(&str, &str)]) -> Vec<String> {
        let document = Document::parse(svg).unwrap();
        let fits = |node: &resvg::usvg::roxmltree::Node<'_, '_>| {
            attributes.iter().all(|&(name, value)| node.attribute(name) == Some(value))
        };
        let found = document.descendants().filter(|node| node.has_tag_name("path") && fits(node));
        found.filter_map(|node| node.attribute("d").map(str::to_owned)).collect()
    }

    /// The points of a path that has only absolute moves and lines.
    fn points(data: &str) -> Vec<(f32, f32)> {
        let pairs = data.split(['M', 'L']).filter_map(|pair| pair.split_once(','));
        pairs.map(|(x, y)| (x.parse().unwrap(), y.parse().unwrap())).collect()
    }

    /// The one that is a line of the picture, not an entry of a key.
    fn longest(paths: &[String]) -> &str {
        paths.iter().max_by_key(|data| data.len()).unwrap()
    }

    fn pixels(svg: &str) -> Pixmap {
        Pixmap::decode_png(&svg_to_png(svg).unwrap()).unwrap()
    }

    /// The pixels of a part of the page.
    fn part(pixels: &Pixmap, area: Area) -> Vec<PremultipliedColorU8> {
        let rows = area.top as u32..area.bottom as u32;
        let places = rows.flat_map(|y| (area.left as u32..area.right as u32).map(move |x| (x, y)));
        places.filter_map(|(x, y)| pixels.pixel(x, y)).collect()
    }

    fn is_colourful(pixel: &PremultipliedColorU8) -> bool {
        let channels = [pixel.red(), pixel.green(), pixel.blue()];
        channels.iter().max().unwrap() - channels.iter().min().unwrap() > 40
    }

    #[test]
    fn every_picture_is_well_formed_with_lines_and_text_for_a_projector_within_the_page_and_apart()
    {
        for (name, svg) in pictures() {
            assert_readable(name, &svg);
        }
    }

    #[test]
    fn the_png_has_the_size_of_the_svg_and_shows_the_same_in_colour() {
        let picture = pixels(&drawn(&samples(0, 600, 50_000, with_thermal)));
        assert_eq!((picture.width(), picture.height()), (1200, 800));
        let colourful = picture.pixels().iter().filter(|pixel| is_colourful(pixel)).count();
        assert!(colourful > 5_000, "{colourful} pixels");
        assert!(picture.pixels().iter().all(|pixel| pixel.is_opaque()));
    }

    #[test]
    fn nothing_is_drawn_across_a_gap() {
        // 400 s at 2 m/s up, without samples from 200 to 300 s.
        let mut all = samples(0, 400, 200_000, |time_s| 1000.0 + 2.0 * time_s);
        all.retain(|sample| !(200_000_000..300_000_000).contains(&sample.time.0));
        let svg = drawn(&all);
        let picture = pixels(&svg);
        assert!(says(&svg, "gap 1"));
        let layout = Layout::new(1, true);
        let x = |time_s: f32| LEFT + WIDTH * time_s / 400.0;
        // The sound goes on until the reading is stale, 2 s into the gap.
        let gap = |area: Area| Area { left: x(202.5), right: x(299.0), ..area };
        let before = |area: Area| Area { left: x(150.0), right: x(199.0), ..area };
        for area in [layout.speed, layout.pitch] {
            assert!(!part(&picture, gap(area)).iter().any(is_colourful));
            assert!(part(&picture, before(area)).iter().any(is_colourful));
        }
        let words = 26.0;
        let is_dark = |pixel: &PremultipliedColorU8| pixel.red() < 0x60;
        let height = Area { bottom: layout.height.bottom - words, ..layout.height };
        assert!(!part(&picture, gap(height)).iter().any(is_dark));
        assert!(part(&picture, before(height)).iter().any(is_dark));
    }

    #[test]
    fn in_a_short_trace_every_beep_is_a_stroke_of_its_own_at_its_time() {
        let all = samples(0, 12, 50_000, |time_s| 300.0 + 2.0 * time_s);
        let (picture, beginnings) = replay(&all, one(), labels());
        let svg = picture.to_svg();
        let strokes = paths(&svg, &[("stroke", style::BEEPS.colour), ("stroke-width", "7")]);
        let strokes: Vec<_> = longest(&strokes).split('M').skip(1).collect();
        assert!(beginnings.len() > 20);
        assert_eq!(strokes.len(), beginnings.len());
        for (stroke, begins_s) in strokes.iter().zip(&beginnings) {
            let x = points(stroke)[0].0;
            assert!((x - (LEFT + WIDTH * begins_s / 12.0)).abs() < 0.2, "{begins_s} s at {x}");
        }
        assert!(!says(&svg, "Close-up"));
    }

    #[test]
    fn a_long_trace_has_a_close_up_of_its_strongest_climb_with_every_beep() {
        let svg = drawn(&samples(0, 600, 50_000, with_thermal));
        // 3 m/s are 2.38 beeps a second in the default settings.
        assert!(["23 beeps", "24 beeps", "25 beeps"].iter().any(|words| says(&svg, words)));
        assert!(says(&svg, "about +3.0 m/s"));
        let strokes = paths(&svg, &[("stroke", style::BEEPS.colour), ("stroke-width", "7")]);
        let strokes = longest(&strokes).split('M').skip(1).count();
        assert!((23..=26).contains(&strokes), "{strokes} strokes");
        let marker = paths(&svg, &[("fill", style::CONE)]);
        let from_x: f32 = marker[0][1..].split(',').next().unwrap().parse().unwrap();
        let from_s = (from_x - LEFT) / WIDTH * 600.0;
        assert!((300.0..=350.0).contains(&from_s), "{from_s} s");
    }

    #[test]
    fn where_nothing_beeped_there_is_no_close_up() {
        assert!(!says(
            &drawn(&samples(0, 600, 50_000, |time_s| 2000.0 - 1.0 * time_s)),
            "Close-up"
        ));
    }

    #[test]
    fn a_spike_in_the_pressure_is_marked_and_does_not_flatten_the_height() {
        let mut all = samples(0, 600, 50_000, with_thermal);
        all[4_000].static_pressure = Some(pressure_at(Metre(12_000.0)));
        let svg = drawn(&all);
        assert!(says(&svg, "off the scale: 12000 m"));
        let line = paths(&svg, &[("stroke", style::HEIGHT.colour), ("stroke-width", "2.2")]);
        let mut heights: Vec<f32> = points(longest(&line)).iter().map(|point| point.1).collect();
        heights.sort_by(f32::total_cmp);
        let spread = heights[heights.len() * 95 / 100] - heights[heights.len() * 5 / 100];
        assert!(spread > 0.5 * Layout::new(0, true).height.height(), "{spread} px");
    }

    #[test]
    fn every_fault_is_counted_in_words_beside_its_lane() {
        let svg = drawn(&faulty());
        for words in [
            "bad pressure 20",
            "no compensation 6",
            "gap 1",
            "repeated time 1",
            "time went back 10",
            "clock reset 1",
        ] {
            assert!(says(&svg, words), "{words}");
        }
        assert!(!says(&drawn(&samples(0, 600, 50_000, with_thermal)), "Faults"));
    }

    #[test]
    fn two_instruments_are_named_and_both_drawn() {
        let words = PictureLabels { left: "quick".into(), right: Some("slow".into()), ..labels() };
        let svg = replay(&samples(0, 600, 50_000, with_thermal), two(), words).0.to_svg();
        assert!(says(&svg, "left: quick") && says(&svg, "right: slow"));
        for pen in [style::LEFT, style::RIGHT] {
            let width = pen.width.to_string();
            let lines = paths(&svg, &[("stroke", pen.colour), ("stroke-width", &width)]);
            assert!(lines.iter().any(|data| data.len() > 10_000), "{}", pen.colour);
        }
    }

    #[test]
    fn where_the_time_of_day_is_known_the_picture_shows_it() {
        let (mut picture, _) = replay(&samples(0, 600, 50_000, with_thermal), one(), labels());
        assert!(says(&picture.to_svg(), "Time (m:ss)") && says(&picture.to_svg(), "5:00"));
        picture.show_utc(36_000.0);
        assert!(says(&picture.to_svg(), "UTC (h:mm)") && says(&picture.to_svg(), "10:05"));
    }

    #[test]
    fn a_picture_says_what_it_could_not_show() {
        assert!(says(&Picture::new(labels()).to_svg(), "no samples"));
        assert!(says(&drawn(&samples(0, 60, 50_000, |_| f32::NAN)), "no usable samples"));
    }
}
