//! The comparison as a picture: for each recording two bars, one a setting, of what the cost is
//! made of, and in columns beside them each figure in its own unit. Every bar has its name on the
//! left and its value at its end.

use super::bars::{self, ABOVE, BASE, BLOCK, BOLD, Bar, DARK, Figure, STEP, bars};
use super::comparison::{Comparison, Pair};
use crate::output::plot::chart::sheet_of;
use crate::output::plot::layout::RIGHT;
use crate::output::plot::style;
use crate::output::plot::svg::{Anchor, Area, Svg, fit_in_the_middle, text_width};
use std::path::Path;

/// Left edge of the recordings' names, and the right edges of these and of the settings' names.
const NAMES_LEFT: f32 = 24.0;
const NAMES_RIGHT: f32 = 206.0;
const SETTINGS_RIGHT: f32 = 346.0;
/// The column of the cost, and the free space before each of the others.
const COST: (f32, f32) = (356.0, 724.0);
const BETWEEN: f32 = 18.0;
/// Upper edge of the columns, and from their lower edge to that of the page.
const TOP: f32 = 126.0;
const FOOT: f32 = 34.0;
/// The least height of a page.
const LEAST_HEIGHT: f32 = 240.0;

/// The columns beside the cost.
const FIGURES: [Figure; 4] = [
    Figure { name: "Noise", unit: "m/s rms", decimals: 2, of: |score| Some(score.noise_mps) },
    Figure { name: "Lag", unit: "s", decimals: 2, of: |score| Some(score.lag_s) },
    Figure {
        name: "False beeps",
        unit: "a minute",
        decimals: 1,
        of: |score| Some(score.false_beeps_per_min),
    },
    Figure {
        name: "Missed",
        unit: "% of climbs",
        decimals: 0,
        of: |score| (score.climbs > 0).then_some(100.0 * score.missed_share),
    },
];

/// The picture of a comparison.
pub fn draw(comparison: &Comparison) -> String {
    let several = comparison.recordings.len() > 1;
    let pairs: Vec<&Pair> =
        comparison.recordings.iter().chain(several.then_some(&comparison.all)).collect();
    let bottom = TOP + BLOCK * pairs.len() as f32;
    let height = (bottom + FOOT).max(LEAST_HEIGHT) as u32;
    let mut svg = sheet_of(height, "Two settings compared", &subtitle(comparison));
    let bars = bars(TOP, &pairs);
    let mut names = names(&comparison.recordings);
    names.extend(several.then(|| "all recordings".to_owned()));
    recordings(&mut svg, &names);
    settings(&mut svg, comparison, &bars);
    let column = |left, right| Area { left, right, top: TOP, bottom };
    bars::cost(&mut svg, column(COST.0, COST.1), &bars);
    let width = (RIGHT - COST.1) / FIGURES.len() as f32;
    for (place, figure) in FIGURES.iter().enumerate() {
        let left = COST.1 + width * place as f32;
        bars::figure(&mut svg, column(left + BETWEEN, left + width), figure, &bars);
    }
    if several {
        let y = bottom - BLOCK;
        svg.line((NAMES_LEFT, y), (RIGHT, y), style::ZERO);
    }
    svg.finish()
}

fn subtitle(comparison: &Comparison) -> String {
    let percent = format!("{:+.1}", 100.0 * comparison.b_costs_more).replace('-', "\u{2212}");
    format!(
        "A: {}.  B: {}.  B costs {percent} % against A. Lower is better in every column.",
        comparison.a, comparison.b
    )
}

/// The name of each recording beside its bars, on two lines where one is too short.
fn recordings(svg: &mut Svg, names: &[String]) {
    for (block, name) in names.iter().enumerate() {
        let top = TOP + BLOCK * block as f32 + ABOVE;
        match two_lines(name, NAMES_RIGHT - NAMES_LEFT) {
            (one, None) => {
                svg.text((NAMES_LEFT, top + 0.5 * STEP + BASE), Anchor::Start, BOLD, &one);
            }
            (first, Some(second)) => {
                svg.text((NAMES_LEFT, top + BASE), Anchor::Start, BOLD, &first);
                svg.text((NAMES_LEFT, top + STEP + BASE), Anchor::Start, BOLD, &second);
            }
        }
    }
}

/// `name` on a line of so much room, or on two, parted after a letter that parts words if there is
/// one in the second half; what is still too long is shortened in the middle.
fn two_lines(name: &str, room: f32) -> (String, Option<String>) {
    let fits = |words: &str| text_width(words, BOLD.size, BOLD.weight) <= room;
    if fits(name) {
        return (name.to_owned(), None);
    }
    let ends: Vec<usize> = name.char_indices().map(|(end, _)| end).collect();
    let most = ends.into_iter().rev().find(|end| fits(&name[..*end])).unwrap_or(0);
    let after = name[..most].rfind(['-', '_', ' ', '.', '/']).map(|place| place + 1);
    let (first, second) = name.split_at(after.filter(|place| 2 * place > most).unwrap_or(most));
    let second = fit_in_the_middle(second, BOLD.size, BOLD.weight, room);
    (first.to_owned(), Some(second))
}

/// The settings' name before each bar.
fn settings(svg: &mut Svg, comparison: &Comparison, bars: &[Bar<'_>]) {
    let names = [("A: ", &comparison.a), ("B: ", &comparison.b)].map(|(side, name)| {
        let room = SETTINGS_RIGHT - NAMES_RIGHT - 12.0;
        let room = room - text_width(side, DARK.size, DARK.weight);
        side.to_owned() + &fit_in_the_middle(name, DARK.size, DARK.weight, room)
    });
    for bar in bars {
        let at = (SETTINGS_RIGHT, bar.top + BASE);
        svg.text(at, Anchor::End, DARK, &names[bar.side]);
    }
}

/// What to call the recordings: their files, or their paths where two files have one name.
fn names(pairs: &[Pair]) -> Vec<String> {
    let file = |pair: &Pair| {
        let name = Path::new(&pair.trace).file_name();
        name.map_or_else(|| pair.trace.clone(), |name| name.to_string_lossy().into_owned())
    };
    let files: Vec<String> = pairs.iter().map(file).collect();
    let is_alone = |name: &String| files.iter().filter(|other| *other == name).count() == 1;
    let name = |(pair, file): (&Pair, &String)| {
        if is_alone(file) { file.clone() } else { pair.trace.clone() }
    };
    pairs.iter().zip(&files).map(name).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tune::score::Score;

    fn comparison(traces: &[&str]) -> Comparison {
        let score = |cost_mps| Score { error_mps: cost_mps, cost_mps, ..Score::default() };
        let pair = |trace: &str| Pair {
            segment: None,
            trace: trace.into(),
            truth: "recorded",
            remarks: Vec::new(),
            a: score(0.5),
            b: score(0.4),
        };
        Comparison {
            a: "one.toml".into(),
            b: "filter=fixed,response_s=1.25".into(),
            recordings: traces.iter().map(|trace| pair(trace)).collect(),
            all: pair("all"),
            cannot_tell: None,
            b_costs_more: -0.2,
        }
    }

    #[test]
    fn every_recording_is_named_once_and_every_bar_by_its_settings() {
        let svg = draw(&comparison(&["a/monday.csv", "b/tuesday.csv", "tuesday.csv"]));
        for words in [">monday.csv<", ">b/tuesday.csv<", ">tuesday.csv<", ">all recordings<"] {
            assert_eq!(svg.matches(words).count(), 1, "{words}");
        }
        assert_eq!(svg.matches(">A: one.toml<").count(), 4);
        assert_eq!(svg.matches(">0.40 (\u{2212}20 %)<").count(), 4);
        let alone = draw(&comparison(&["a/monday.csv"]));
        assert!(!alone.contains("all recordings"));
    }

    #[test]
    fn a_long_name_has_two_lines_and_a_longer_one_is_shortened_in_the_middle() {
        let room = NAMES_RIGHT - NAMES_LEFT;
        assert_eq!(two_lines("monday.csv", room), ("monday.csv".into(), None));
        let (first, second) = two_lines("2026-06-14-over-the-hills-and-back.igc", room);
        let second = second.expect("two lines");
        assert_eq!(first.clone() + &second, "2026-06-14-over-the-hills-and-back.igc");
        assert!(first.ends_with('-'), "{first}");
        let (_, second) = two_lines(&"a-very-long-flight-".repeat(4), room);
        assert!(second.is_some_and(|second| second.contains('\u{2026}')));
        let svg = draw(&comparison(&["monday.csv"]));
        assert!(svg.contains(">B: filter\u{2026}s=1.25<"), "{svg}");
        assert_eq!(two_lines("\u{5e73}\u{5e73}", 1.0).0, "");
    }

    #[test]
    fn without_a_climb_none_is_missed_and_none_is_found() {
        let mut one = comparison(&["monday.csv"]);
        one.recordings[0].a.climbs = 3;
        let svg = draw(&one);
        assert_eq!(svg.matches(">no climbs<").count(), 1, "{svg}");
    }

    #[test]
    fn a_page_grows_with_its_recordings() {
        let traces: Vec<String> = (1..=30).map(|day| format!("day-{day}.csv")).collect();
        let traces: Vec<&str> = traces.iter().map(String::as_str).collect();
        let height = |count: usize| {
            let svg = draw(&comparison(&traces[..count]));
            let (_, rest) = svg.split_once("height=\"").expect("it has a height");
            rest.split('"').next().and_then(|text| text.parse::<u32>().ok()).expect("a number")
        };
        assert_eq!(height(30) - height(5), 25 * BLOCK as u32);
    }
}
