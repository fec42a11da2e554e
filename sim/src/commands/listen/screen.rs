//! The screen: caption, bars, strip chart, and a line for the recent sound. Nothing depends on
//! colour alone.

use super::history::{History, LENGTH_S};
use chirrup::session::control::Control;
use chirrup::session::lesson::LESSONS;
use chirrup::session::{Report, Session, Shown, status_names};
use chirrup::time::Clock;
use chirrup_core::{EnergySource, Meaning, Status};
use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::style::{Modifier, Style};
use ratatui::symbols::Marker;
use ratatui::text::{Line, Span};
use ratatui::widgets::{Axis, Block, Chart, Dataset, GraphType, Paragraph, Wrap};

/// Vertical speeds on the chart and in the bars, m/s.
const MOST_MPS: f64 = 6.0;
/// How wide the bars with their words are beside a chart, columns.
const BARS_WIDE: u16 = 37;
/// Fewest lines of a chart: its frame and three for +, 0 and -.
const LEAST_CHART: u16 = 5;
/// Time of one character in the line for the recent sound, s.
const CELL_S: f64 = 0.12;
const BOLD: Style = Style::new().add_modifier(Modifier::BOLD);
const FAINT: Style = Style::new().add_modifier(Modifier::DIM);

/// What is drawn.
pub struct View<'a> {
    /// The session.
    pub session: &'a Session,
    /// Its last minute.
    pub history: &'a History,
    /// Where the sound goes.
    pub told: &'a str,
    /// Whether it is paused.
    pub paused: bool,
}

/// Draws everything, at any size.
pub fn draw(frame: &mut Frame<'_>, view: &View<'_>) {
    let ears = if view.session.controls().two { 2 } else { 1 };
    let columns = usize::from(frame.area().width);
    let key_lines = filled(&KEYS, columns);
    let report = view.session.report();
    let title_text = title_text(view, &report);
    let title_lines = title_text.chars().count().div_ceil(columns.saturating_sub(10).max(1));
    let [title, caption, middle, heard, keys] = Layout::vertical([
        Constraint::Length(title_lines.min(3) as u16),
        Constraint::Length(3),
        Constraint::Min(5),
        Constraint::Length(ears),
        Constraint::Length(key_lines.len() as u16),
    ])
    .areas(frame.area());
    frame.render_widget(Paragraph::new(title_text).wrap(Wrap { trim: true }), title);
    let text = Paragraph::new(caption_text(view, &report)).style(BOLD).wrap(Wrap { trim: true });
    frame.render_widget(text, caption);
    let [left, right] = beside_or_below(middle, bars(view, &report, 0).len() as u16);
    frame.render_widget(Paragraph::new(bars(view, &report, left.width)), left);
    charts(frame, view, &report, right);
    frame.render_widget(Paragraph::new(heard_lines(view, &report, heard.width)), heard);
    frame.render_widget(Paragraph::new(key_lines.join("\n")).style(FAINT), keys);
}

/// The caution comes first: on a small screen the last lines are not shown.
const KEYS: [&str; 16] = [
    "Not certified; lookout first.",
    "↑ ↓ air",
    "← pull → push",
    "0 still air",
    "1-6 lessons",
    "a new flight",
    "space pause",
    "c compensation",
    "t two ears",
    "f filter",
    "[ ] response",
    "n N noise",
    "x fault",
    "+ - volume",
    "m mute",
    "q end",
];

/// Words put into lines of at most so many columns, three spaces apart, none of them cut.
fn filled(words: &[&str], columns: usize) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in words {
        match lines.last_mut() {
            Some(line) if line.chars().count() + 3 + word.chars().count() <= columns => {
                *line += "   ";
                *line += word;
            }
            _ => lines.push((*word).to_owned()),
        }
    }
    lines
}

/// Bars on the left, charts on the right; on a narrow screen the charts below, with what is left.
fn beside_or_below(area: Rect, bar_lines: u16) -> [Rect; 2] {
    if area.width >= BARS_WIDE + 33 {
        return Layout::horizontal([Constraint::Length(BARS_WIDE), Constraint::Min(20)])
            .areas(area);
    }
    Layout::vertical([Constraint::Length(bar_lines), Constraint::Min(0)]).areas(area)
}

fn title_text(view: &View<'_>, report: &Report) -> String {
    let state = if view.paused { "  paused" } else { "" };
    format!("Chirrup  {}{state}  sound: {}", Clock(report.time_s), view.told)
}

fn caption_text(view: &View<'_>, report: &Report) -> String {
    match view.session.lesson() {
        Some(lesson) => {
            let cue = usize::try_from(report.caption).ok().and_then(|place| lesson.cues.get(place));
            format!("{}: {}", lesson.title, cue.map_or("", |cue| cue.caption))
        }
        None => {
            let titles: Vec<_> =
                LESSONS.iter().enumerate().map(|(n, l)| format!("{} {}", n + 1, l.title)).collect();
            format!("Lift the air under the glider, or play a lesson: {}.", titles.join(", "))
        }
    }
}

fn bars(view: &View<'_>, report: &Report, width: u16) -> Vec<Line<'static>> {
    let controls = view.session.controls();
    let ear = if controls.two { "Left" } else { "Both ears" };
    let mut lines =
        ear_lines(&format!("{ear}: {}", energy_name(&report.left)), &report.left, width);
    if controls.two {
        lines.extend(ear_lines("Right: not compensated", &report.right, width));
    }
    lines.push(Line::styled("Air rises", BOLD));
    lines.push(Line::raw(bar(controls.air_mps, width)));
    lines.push(Line::raw(format!("now {:+.1} m/s at the glider", report.air_mps)));
    lines.push(Line::from(vec![
        Span::styled("Stick ", BOLD),
        Span::raw(format!(
            "{:.0} km/h, flying {:.0}",
            controls.speed_mps * 3.6,
            report.speed_mps * 3.6
        )),
    ]));
    lines.push(Line::from(vec![
        Span::styled("Height ", BOLD),
        Span::raw(format!("{:.0} m", report.height_m)),
    ]));
    let filter = ["fixed", "adaptive"][controls.get(Control::Filter) as usize];
    lines.push(Line::raw(format!(
        "{filter} {:.1} s, noise {:.0} cm",
        controls.response_s,
        controls.noise_m * 100.0
    )));
    let mute = if controls.muted { ", muted" } else { "" };
    let fault = ["", ", sensor sticks", ", sensor dead", ", tubes swapped"]
        [controls.get(Control::Fault) as usize];
    lines.push(Line::raw(format!("volume {:.0}{mute}{fault}", controls.volume)));
    lines
}

/// What the instrument itself says of its energy: what was asked for may not be there.
fn energy_name(shown: &Shown) -> &'static str {
    let status = usize::try_from(shown.status).ok().and_then(|place| Status::ALL.get(place));
    match shown.energy {
        _ if status == Some(&Status::CheckTubes) => "check the tubes",
        _ if !shown.good || status == Some(&Status::NoCompensation) => "not compensated",
        EnergySource::Electronic => "compensated",
        EnergySource::Probe => "compensated by probe",
        _ => "not compensated",
    }
}

fn ear_lines(name: &str, shown: &Shown, width: u16) -> Vec<Line<'static>> {
    let words = if shown.good {
        let word = if shown.reading_mps > 0.0 { "Climb" } else { "Sink" };
        format!("{word} {:.1} m/s  {}", shown.reading_mps.abs(), sound(shown))
    } else {
        let status =
            usize::try_from(shown.status).ok().and_then(|place| status_names().get(place).copied());
        format!("{}  {}", status.unwrap_or("no reading").replace('_', " "), sound(shown))
    };
    let filled = if shown.good { bar(shown.reading_mps, width) } else { bar(0.0, width) };
    vec![Line::styled(name.to_owned(), BOLD), Line::raw(words), Line::raw(filled)]
}

fn sound(shown: &Shown) -> String {
    match shown.meaning {
        Meaning::Nothing => "silence".into(),
        Meaning::Climb => format!("beeps {:.1}/s", shown.cadence_hz),
        Meaning::Sink => "steady low tone".into(),
        Meaning::Cruise => "pairs".into(),
        Meaning::Fault => "it does not know".into(),
    }
}

/// A bar from the middle: to the right above zero, to the left below.
fn bar(value_mps: f64, width: u16) -> String {
    let half = usize::from(width.saturating_sub(4)) / 2;
    let filled = ((value_mps / MOST_MPS).clamp(-1.0, 1.0) * half as f64).round() as isize;
    let (below, above) = (filled.min(0).unsigned_abs(), filled.max(0) as usize);
    format!(
        "{}{}│{}{}",
        "·".repeat(half - below),
        "█".repeat(below),
        "█".repeat(above),
        "·".repeat(half - above)
    )
}

fn charts(frame: &mut Frame<'_>, view: &View<'_>, report: &Report, area: Rect) {
    if area.height < LEAST_CHART {
        return;
    }
    // Height has a chart of its own where there is room.
    let parts = if area.height >= 22 {
        vec![Constraint::Fill(2), Constraint::Fill(1)]
    } else {
        vec![Constraint::Fill(1)]
    };
    let areas = Layout::vertical(parts).split(area);
    let points = |of: &dyn Fn(&Report) -> Option<f64>| -> Vec<(f64, f64)> {
        view.history
            .iter()
            .filter_map(|then| Some((then.time_s - report.time_s, of(then)?)))
            .collect()
    };
    let reading =
        |shown: &Shown| shown.good.then_some(shown.reading_mps.clamp(-MOST_MPS, MOST_MPS));
    let (left, right) = (points(&|then| reading(&then.left)), points(&|then| reading(&then.right)));
    let zero = [(-LENGTH_S, 0.0), (0.0, 0.0)];
    let mut lines = vec![
        Dataset::default().marker(Marker::Dot).style(FAINT).graph_type(GraphType::Line).data(&zero),
        Dataset::default().marker(Marker::Braille).graph_type(GraphType::Line).data(&left),
    ];
    if view.session.controls().two {
        lines.push(
            Dataset::default()
                .marker(Marker::Custom('x'))
                .graph_type(GraphType::Scatter)
                .data(&right),
        );
    }
    let title = if view.session.controls().two {
        "vertical speed, m/s: left a line, right x"
    } else {
        "vertical speed, m/s"
    };
    let span = format!("-{MOST_MPS:.0}");
    let labels = [span, "0".into(), format!("+{MOST_MPS:.0}")];
    frame.render_widget(chart(title, lines, [-MOST_MPS, MOST_MPS], labels), areas[0]);
    if let Some(area) = areas.get(1) {
        let heights = points(&|then| Some(then.height_m));
        let lowest = heights.iter().fold(f64::INFINITY, |lowest, (_, height)| lowest.min(*height));
        let highest =
            heights.iter().fold(f64::NEG_INFINITY, |highest, (_, height)| highest.max(*height));
        if lowest <= highest {
            // At least 40 m, so that a calm flight looks calm.
            let middle = 0.5 * (lowest + highest);
            let half = (0.5 * (highest - lowest)).max(20.0);
            let labels = [-half, 0.0, half].map(|above| format!("{:.0}", middle + above));
            let line = Dataset::default()
                .marker(Marker::Braille)
                .graph_type(GraphType::Line)
                .data(&heights);
            frame.render_widget(
                chart("height, m", vec![line], [middle - half, middle + half], labels),
                *area,
            );
        }
    }
}

fn chart<'a>(
    title: &'a str,
    lines: Vec<Dataset<'a>>,
    bounds: [f64; 2],
    labels: [String; 3],
) -> Chart<'a> {
    Chart::new(lines)
        .block(Block::bordered().title(title))
        .x_axis(Axis::default().bounds([-LENGTH_S, 0.0]))
        .y_axis(Axis::default().bounds(bounds).labels(labels))
}

/// The recent sound, a character for each moment: high for climb, low for sink, a dot for silence.
fn heard_lines(view: &View<'_>, report: &Report, width: u16) -> Vec<Line<'static>> {
    let two = view.session.controls().two;
    let line = |name: &str, shown: fn(&Report) -> &Shown| {
        let marks = heard_marks(view, report, usize::from(width).saturating_sub(6), shown);
        Line::from(vec![Span::styled(format!("{name:6}"), BOLD), Span::raw(marks)])
    };
    if two {
        vec![line("left", |then| &then.left), line("right", |then| &then.right)]
    } else {
        vec![line("heard", |then| &then.left)]
    }
}

fn heard_marks(
    view: &View<'_>,
    report: &Report,
    cells: usize,
    shown: fn(&Report) -> &Shown,
) -> String {
    let mut marks = vec!['·'; cells];
    for then in view.history.iter() {
        let back = ((report.time_s - then.time_s) / CELL_S) as usize;
        let shown = shown(then);
        if back < cells && shown.sounding {
            marks[cells - 1 - back] = match shown.meaning {
                Meaning::Sink => '▄',
                Meaning::Fault => '!',
                _ => '▀',
            };
        }
    }
    marks.into_iter().collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use chirrup::session::control::Control;
    use ratatui::Terminal;
    use ratatui::backend::TestBackend;

    fn shown(width: u16, height: u16, set: &[(Control, f64)], seconds: usize) -> String {
        let (mut session, mut history) = (Session::new(8_000, 1), History::default());
        for (control, value) in set {
            session.set(*control, *value);
        }
        for _ in 0..50 * seconds {
            session.fill(&mut [0; 320]);
            history.remember(session.report());
        }
        let mut terminal =
            Terminal::new(TestBackend::new(width, height)).expect("a backend of memory");
        let view = View { session: &session, history: &history, told: "heard", paused: false };
        terminal.draw(|frame| draw(frame, &view)).expect("a backend of memory");
        terminal.backend().to_string()
    }

    #[test]
    fn a_climb_is_told_in_words_in_bars_and_in_what_was_heard() {
        let screen = shown(80, 24, &[(Control::Air, 3.0)], 10);
        for part in [
            "Climb 2.",
            "beeps 2.",
            "│█████",
            "Both ears: compensated",
            "heard",
            "▀",
            "q end",
            "lookout first",
            "Height",
        ] {
            assert!(screen.contains(part), "no `{part}` in\n{screen}");
        }
        assert!(!screen.contains('▄'), "no sink tone in\n{screen}");
    }

    #[test]
    fn two_ears_have_two_of_everything_and_a_large_screen_shows_the_height() {
        for (width, height) in [(80, 24), (200, 50)] {
            let screen = shown(width, height, &[(Control::Two, 1.0), (Control::Air, -4.0)], 10);
            for part in [
                "Left: compensated",
                "Right: not compensated",
                "steady low tone",
                "▄▄▄",
                "volume 8",
                "right x",
            ] {
                assert!(screen.contains(part), "no `{part}` at {width}x{height} in\n{screen}");
            }
            assert_eq!(screen.contains("height, m"), height == 50);
        }
    }

    #[test]
    fn on_60_columns_no_word_is_cut() {
        for set in [&[(Control::Air, 3.0)][..], &[(Control::Two, 1.0), (Control::Fault, 3.0)]] {
            let (narrow, wide) = (shown(60, 24, set, 10), shown(200, 50, set, 10));
            for word in wide.split([' ', '│', '"', '\n', '█', '·', '▀', '▄', '─']) {
                // What is in the charts, which have no room here.
                let is_drawn = word.chars().any(|c| !c.is_ascii() && !"↑↓←→".contains(c))
                    || word.starts_with("xx")
                    || word.parse::<f64>().is_ok()
                    || ["vertical", "speed,", "height,", "line,", "m/s:"].contains(&word);
                if !is_drawn {
                    assert!(narrow.contains(word), "`{word}` is cut in\n{narrow}");
                }
            }
        }
    }

    #[test]
    fn a_screen_too_small_for_anything_does_no_harm() {
        for (width, height) in [(1, 1), (10, 3), (30, 10), (79, 12)] {
            shown(width, height, &[(Control::Two, 1.0)], 1);
        }
    }

    #[test]
    fn a_bar_goes_from_the_middle_and_stays_in_its_place() {
        assert_eq!(bar(0.0, 16), "······│······");
        assert_eq!(bar(3.0, 16), "······│███···");
        assert_eq!(bar(-99.0, 16), "██████│······");
    }
}
