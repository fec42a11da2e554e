//! Made-up results, drawn.

use super::*;
use crate::output::plot::svg::text_width;
use crate::output::plot::testing::{assert_readable, texts};
use crate::tune::energy::Pooled;
use crate::tune::report::{HeldOut, Sure};
use crate::tune::score::{Score, Weights};
use crate::tune::verdict::Verdict;
use chirrup_core::Settings;

const RESPONSES_S: [f32; 8] = [0.25, 0.4, 0.6, 0.88, 1.25, 1.9, 2.8, 4.0];

fn judged(filter: &'static str, response_s: f32, score: Score) -> Judged {
    Judged { filter, response_s, climb_from_mps: 0.2, score }
}

fn score(lag_s: f32, noise_mps: f32, false_beeps_per_min: f32) -> Score {
    let [lag_s, noise_mps, false_beeps_per_min] =
        [lag_s, noise_mps, false_beeps_per_min].map(f64::from);
    Score { lag_s, noise_mps, false_beeps_per_min, ..Score::default() }
}

/// The adaptive filter's points within `spread` of each other, the fixed one's on a curve with its
/// slowest without a false beep.
fn readings(spread: f32) -> Vec<Judged> {
    let adaptive = |place: usize, response_s| {
        let off = spread * place as f32;
        judged("adaptive", response_s, score(1.0 + off, 0.35 + 0.2 * off, 0.4 + off))
    };
    let fixed = |response_s: f32| {
        let beeps = (8.0 / response_s - 3.0).max(0.0);
        judged("fixed", response_s, score(response_s, 0.3 + 0.2 / response_s, beeps))
    };
    let adaptive = RESPONSES_S.into_iter().enumerate().map(|(place, of)| adaptive(place, of));
    let present = judged("adaptive", 1.0, score(1.0, 0.35, 0.9));
    [present].into_iter().chain(adaptive).chain(RESPONSES_S.map(fixed)).collect()
}

fn report(readings: Vec<Judged>, recommended: usize, decision: Decision) -> Report {
    let cloud = |judged: &Judged| {
        let Score { lag_s, noise_mps, false_beeps_per_min, .. } = judged.score;
        let sample = |place: i32| Score {
            lag_s: lag_s + 0.02 * f64::from(place % 5),
            noise_mps: noise_mps * (1.0 + 0.01 * f64::from(place)),
            false_beeps_per_min: false_beeps_per_min * (1.0 + 0.03 * f64::from(place)),
            ..judged.score
        };
        (-6..7).map(sample).collect()
    };
    let present = readings[0].score;
    Report {
        lines_change: false,
        recordings: Vec::new(),
        recommended: readings[recommended].clone(),
        verdict: Verdict { decision, reason: "they cost 0.4 m/s (-20 %)".into() },
        held_out: HeldOut { present, tuned: present },
        sure: Sure {
            better_share: 1.0,
            filter_share: 1.0,
            response_from_s: 1.0,
            response_to_s: 1.0,
        },
        weights: Weights::default(),
        limits: Limits::default(),
        phases: Vec::new(),
        energy: Pooled::default(),
        settings: Settings::default(),
        notes: Vec::new(),
        outputs: Vec::new(),
        clouds: readings.iter().map(cloud).collect(),
        readings,
    }
}

fn reports() -> Vec<Report> {
    let mut reports: Vec<Report> = [0.0, 0.004, 0.03, 0.2]
        .into_iter()
        .flat_map(|spread| [0, 4, 13].map(|best| (spread, best)))
        .map(|(spread, best)| {
            let decision = if best == 0 { Decision::Keep } else { Decision::Change };
            report(readings(spread), best, decision)
        })
        .collect();
    for (lag_s, false_beeps_per_min) in [(1.0, 1.0), (1.3, 0.4)] {
        let mut limited = report(readings(0.01), 12, Decision::Change);
        limited.limits = Limits {
            lag_s: Some(lag_s),
            false_beeps_per_min: Some(false_beeps_per_min),
            missed_share: Some(0.05),
        };
        reports.push(limited);
    }
    // All on one spot, and nothing measured at all.
    for one in [score(1.0, 0.4, 0.5), Score::default()] {
        let same = readings(0.0).into_iter().map(|judged| Judged { score: one, ..judged });
        reports.push(report(same.collect(), 9, Decision::Change));
        reports.push(report(
            RESPONSES_S.map(|of| judged("fixed", of, one)).into(),
            0,
            Decision::CannotTell,
        ));
    }
    reports
}

#[test]
fn no_label_is_on_another_or_on_a_marker() {
    for (place, report) in reports().iter().enumerate() {
        let name = format!("made-up result {place}");
        assert_readable(&name, &draw(report));
        for panel in panels(report) {
            let mut svg = sheet("", "");
            let area = Area { left: LEFT, top: 120.0, right: MIDDLE.0, bottom: BOTTOM };
            let room = panel::draw(&mut svg, report, &panel, area);
            let labels: Vec<Area> = room.placed.iter().map(|placed| placed.area).collect();
            let overlap = |one: &Area, other: &Area| {
                one.left < other.right
                    && other.left < one.right
                    && one.top < other.bottom
                    && other.top < one.bottom
            };
            for (place, one) in labels.iter().enumerate() {
                let lines = &room.placed[place].label.lines;
                let other = labels[place + 1..].iter().find(|other| overlap(one, other));
                assert_eq!(other, None, "{name}: {lines:?}");
                let marker = room.markers.iter().find(|marker| overlap(one, marker));
                assert_eq!(marker, None, "{name}: {lines:?}");
                let inside = one.left >= area.left && one.right <= area.right;
                assert!(inside && one.top >= area.top && one.bottom <= area.bottom, "{lines:?}");
            }
        }
    }
}

#[test]
fn the_present_the_recommended_and_the_limits_are_always_labelled() {
    for report in reports() {
        let words: Vec<String> =
            texts(&draw(&report)).into_iter().map(|(words, _)| words).collect();
        let count = |wanted: &str| words.iter().filter(|words| *words == wanted).count();
        let (present, recommended, both) = match report.verdict.decision {
            Decision::Change => (2, 2, 0),
            Decision::Keep => (0, 0, 2),
            Decision::CannotTell => (2, 0, 0),
        };
        assert_eq!(count("present:"), present, "{words:?}");
        assert_eq!(count("recommended:"), recommended, "{words:?}");
        assert_eq!(count("present, recommended:"), both, "{words:?}");
        if let (Some(lag_s), Some(beeps)) = (report.limits.lag_s, report.limits.false_beeps_per_min)
        {
            assert_eq!(count(&format!("limit: {lag_s} s")), 2, "{words:?}");
            assert_eq!(count(&format!("limit: {} an hour", 60.0 * beeps)), 1, "{words:?}");
        }
    }
}

#[test]
fn points_that_coincide_have_one_label_and_others_their_own() {
    let words = |spread| -> Vec<String> {
        let svg = draw(&report(readings(spread), 0, Decision::Keep));
        texts(&svg).into_iter().map(|(words, _)| words).collect()
    };
    let together = words(0.0);
    assert_eq!(together.iter().filter(|one| *one == "adaptive 0.25 to 4 s").count(), 2);
    for end in ["fixed 0.25 s", "fixed 4 s"] {
        assert_eq!(together.iter().filter(|one| *one == end).count(), 2, "{together:?}");
    }
    let apart = words(0.2);
    assert!(apart.iter().any(|one| one == "adaptive 4 s"), "{apart:?}");
    assert!(!apart.iter().any(|one| one == "adaptive 0.25 to 4 s"), "{apart:?}");
}

#[test]
fn a_long_reason_is_wrapped_and_one_without_end_is_cut() {
    let mut long = report(readings(0.01), 9, Decision::Change);
    for times in [4, 400] {
        long.verdict.reason = "they cost less on what was held out and in samples; ".repeat(times);
        let svg = draw(&long);
        assert_readable("a long reason", &svg);
        let size = style::SUBTITLE.size;
        let lines = texts(&svg).into_iter().filter(|(words, _)| words.contains("held out"));
        let widths: Vec<f32> =
            lines.map(|(words, _)| text_width(&words, size, style::SUBTITLE.weight)).collect();
        assert!((2..=MOST_LINES).contains(&widths.len()), "{widths:?}");
        assert_eq!(svg.contains('\u{2026}'), times == 400);
    }
}
