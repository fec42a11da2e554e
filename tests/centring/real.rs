//! Real flights: what is said of them, and the airspeed of their circles against other sources.

use super::books;
use super::judged::read;
use super::table::quantile;
use crate::support::{path, real_flight};
use chirrup::circling::Circling;
use chirrup::recording::flight::Flight;
use chirrup::recording::track::Track;
use std::f64::consts::TAU;
use std::path::Path;

const FLIGHTS: [(&str, &str); 3] = [
    ("sailplane-1hz-tas-vat.igc", "sailplane, a fix a second, airspeed"),
    ("winch-launch-2s.igc", "a fix every 2 s"),
    ("midnight-mixed-rate.igc", "a fix every 5 s, in part every second"),
];

/// What is said of the climbs of a flight.
fn said(path: &Path) -> Circling {
    let recording = read(path);
    let track = Track::of(&recording);
    let climbs = Flight::of(&recording, &track).climbs;
    let climbs: Vec<(f64, f64)> = climbs.iter().map(|climb| (climb.from_s, climb.to_s)).collect();
    Circling::of(&recording, &track, &climbs)
}

/// A row of the table: medians over the climbs with circles.
fn row(name: &str, said: &Circling) -> String {
    let circled: Vec<_> = said.climbs.iter().filter_map(|climb| climb.circles()).collect();
    let cell = |values: Vec<f64>, decimals: usize| match values.len() {
        0 => "none".to_owned(),
        count => format!("{:.decimals$} (of {count})", quantile(values.into_iter(), 0.5)),
    };
    let values = |of: fn(&chirrup::circling::Circles) -> Option<f64>| -> Vec<f64> {
        circled.iter().filter_map(|circles| of(circles)).collect()
    };
    format!(
        "| {name} | {} of {} | {} | {} | {} | {} |\n",
        circled.len(),
        said.climbs.len(),
        cell(values(|circles| circles.period_s.value()), 1),
        cell(values(|circles| circles.off_centre_m.value()), 0),
        cell(values(|circles| circles.lost_mps.value()), 2),
        cell(values(|circles| circles.centred_after_s.value()), 0),
    )
}

#[test]
fn the_docs_hold_the_table_of_real_flights() {
    let mut text = String::from(
        "| flight | climbs with circles | period, s | off the middle, m | lost, m/s | centred \
         after, s |\n|---|---|---|---|---|---|\n",
    );
    let mut all = Circling::default();
    for (file, name) in FLIGHTS {
        let Some(path) = real_flight(file) else { return };
        let said = said(&path);
        text += &row(name, &said);
        all.climbs.extend(said.climbs);
    }
    text += &row("all", &all);
    books::hold("real flights", &text);
}

/// Ground speed and track that a recorder writes itself: columns 47 to 54 by the file's I record
/// (`4751GSP5254TRT`), 0.01 km/h and degrees; and its airspeed, columns 42 to 46 (`4246TAS`).
fn own_velocities(flight: &Path) -> Vec<(f64, [f64; 2], f64)> {
    let text = std::fs::read(flight).expect("the flight can be read");
    let records = text.split(|byte| *byte == b'\n').filter(|line| line.first() == Some(&b'B'));
    let mut all = Vec::new();
    for line in records {
        let number = |from: usize, to: usize| {
            let digits = std::str::from_utf8(line.get(from..to)?).ok()?;
            digits.parse::<f64>().ok()
        };
        let fields = [(1, 3), (3, 5), (5, 7), (46, 51), (51, 54), (41, 46)];
        let values: Option<Vec<f64>> = fields.iter().map(|(from, to)| number(*from, *to)).collect();
        let Some(values) = values else { continue };
        let time_s = 3600.0 * values[0] + 60.0 * values[1] + values[2];
        let (sine, cosine) = values[4].to_radians().sin_cos();
        let speed_mps = values[3] / 360.0;
        all.push((time_s, [speed_mps * sine, speed_mps * cosine], values[5] / 360.0));
    }
    all
}

/// The speed through the air of velocities over the ground: the mean distance from the wind that
/// makes all of them as equal as can be, by trying.
fn speed_in_best_wind(velocities: &[[f64; 2]]) -> f64 {
    let spread = |wind: [f64; 2]| {
        let speeds: Vec<f64> =
            velocities.iter().map(|v| (v[0] - wind[0]).hypot(v[1] - wind[1])).collect();
        let mean = speeds.iter().sum::<f64>() / speeds.len() as f64;
        (speeds.iter().map(|speed| (speed - mean).abs()).sum::<f64>(), mean)
    };
    let (mut wind, mut best) = ([0.0; 2], spread([0.0; 2]));
    for step in [4.0, 2.0, 1.0, 0.5, 0.25, 0.1, 0.05] {
        for _ in 0..12 {
            let around = (0..8).map(|way| {
                let (sine, cosine) = (TAU * f64::from(way) / 8.0).sin_cos();
                [wind[0] + step * sine, wind[1] + step * cosine]
            });
            let tried = around.map(|wind| (wind, spread(wind)));
            let found = tried.min_by(|a, b| a.1.0.total_cmp(&b.1.0)).expect("eight were tried");
            if found.1.0 >= best.0 {
                break;
            }
            (wind, best) = found;
        }
    }
    best.1
}

/// The recorder's airspeed reads low, in circles as straight on: its own ground speeds say so too.
/// So the circles' airspeed is held against these, and the ratio to the recorded one is stated.
#[test]
fn the_airspeed_of_real_circles_is_that_of_the_recorders_own_ground_speeds() {
    let Some(path) = real_flight(FLIGHTS[0].0) else { return };
    let own = own_velocities(&path);
    let (mut ours, mut theirs) = (Vec::new(), Vec::new());
    for climb in &said(&path).climbs {
        let Some(circles) = climb.circles() else { continue };
        let (from_s, to_s) = (own[0].0 + circles.from_s, own[0].0 + circles.to_s);
        let inside: Vec<_> =
            own.iter().filter(|(time_s, ..)| (from_s..=to_s).contains(time_s)).collect();
        let velocities: Vec<[f64; 2]> = inside.iter().map(|(_, velocity, _)| *velocity).collect();
        let recorded = inside.iter().map(|(.., speed)| speed).sum::<f64>() / inside.len() as f64;
        ours.push(circles.airspeed_ratio.value().expect("it has an airspeed"));
        theirs.push(speed_in_best_wind(&velocities) / recorded);
    }
    assert!(ours.len() >= 12, "{} climbs", ours.len());
    let off = ours.iter().zip(&theirs).map(|(ours, theirs)| ours - theirs);
    let off = quantile(off, 0.5);
    assert!(off.abs() <= 0.02, "{off}: {ours:?} {theirs:?}");
    let ratio = quantile(ours.iter().copied(), 0.5);
    books::hold(
        "recorded airspeed",
        &format!(
            "On that sailplane the circles' airspeed is {ratio:.3} of the recorded one (median of \
             {} climbs); by the\nrecorder's own ground speeds and tracks it is {:.3}.\n",
            ours.len(),
            quantile(theirs.iter().copied(), 0.5)
        ),
    );
}

#[test]
fn the_picture_of_a_real_climb_can_be_drawn() {
    let Some(flight) = real_flight(FLIGHTS[1].0) else { return };
    let folder = crate::support::folder();
    let picture = path(&folder, "climb.svg");
    let flight = flight.to_str().expect("the path is text");
    crate::support::run(&["inspect", flight, "--plot", &picture, "--climb", "1"]);
    let svg = std::fs::read_to_string(&picture).expect("it was written");
    for words in ["middle of the lift", "wind", "100 m", "Off the middle of the lift (m)"] {
        assert!(svg.contains(words), "{words}");
    }
    let said =
        crate::support::complaint(&["inspect", flight, "--plot", &picture, "--climb", "99"], 2);
    assert!(said.contains("climbs after its launch, counted from 1"), "{said}");
}
