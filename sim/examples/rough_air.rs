//! How honest a reading is in rough air: a table for settings of your own against the true climb.
//!
//! ```text
//! cargo run --release -p chirrup --example rough_air -- filter=adaptive filter=fixed,response_s=2
//! ```
//!
//! It is the table in docs/src/rough-air.md. Every flight of [`Rough`] with five seeds; the mean,
//! and the worst seed in brackets. Errors are those of single samples. The first forty seconds are
//! left out.

#![allow(clippy::print_stdout, reason = "it prints a table")]

use chirrup::false_climb::Counter;
use chirrup::rough_flight::{Flown, fly};
use chirrup::settings_file::load_layers;
use chirrup_core::{Meaning, Pipeline, PipelineState, Settings};
use chirrup_flight::plan::rough::Rough;
use std::error::Error;

const SEEDS: std::ops::RangeInclusive<u64> = 1..=5;
const SETTLES_S: f64 = 40.0;
const USUAL: [&str; 3] = ["filter=adaptive", "filter=fixed", "filter=fixed,response_s=2"];

fn main() -> Result<(), Box<dyn Error>> {
    let typed: Vec<String> = std::env::args().skip(1).collect();
    let usual = || USUAL.iter().map(|text| (*text).to_owned()).collect();
    let settings: Vec<String> = if typed.is_empty() { usual() } else { typed };
    println!("| flight | settings | rms, m/s | worst, m/s | false beeps | false spells |");
    println!("|---|---|---|---|---|---|");
    for rough in Rough::ALL {
        let flights = SEEDS.map(|seed| fly(rough, seed)).collect::<Result<Vec<_>, _>>()?;
        for (place, layer) in settings.iter().enumerate() {
            let title = if place == 0 { title(rough) } else { "" };
            let instrument = load_layers(std::slice::from_ref(layer), &Settings::default())?;
            let filter = &instrument.settings.filter;
            let (choice, response_s) = (filter.choice.name(), filter.response_s);
            let rows: Vec<[f64; 4]> =
                flights.iter().map(|flown| heard(&instrument.pipeline, flown)).collect();
            let cell = |column: usize, decimals: usize| {
                let mean = rows.iter().map(|row| row[column]).sum::<f64>() / rows.len() as f64;
                let worst = rows.iter().map(|row| row[column]).fold(0.0, f64::max);
                format!("{mean:.decimals$} ({worst:.decimals$})")
            };
            println!(
                "| {title} | {choice} {response_s} s | {} | {} | {} | {} |",
                cell(0, 2),
                cell(1, 1),
                cell(2, 0),
                cell(3, 0)
            );
        }
    }
    Ok(())
}

/// What a flight is called in the book's table.
fn title(rough: Rough) -> &'static str {
    match rough {
        Rough::GlideWeak => "straight, gusts 0.25 m/s, 150 m",
        Rough::Glide => "straight, gusts 0.5 m/s, 150 m",
        Rough::GlideStrong => "straight, gusts 1 m/s, 500 m",
        Rough::GlideCalm => "straight, still air",
        Rough::Thermals => "thermals, circles, stick, gusts 0.5, up and down 0.3 m/s",
        Rough::ThermalsCalm => "the same without gusts",
        Rough::EntriesWeak => "thermals of 1 m/s crossed, gusts 0.5, up and down 0.15 m/s",
        Rough::Entries => "the same, thermals of 2 m/s",
        Rough::EntriesCalm => "thermals of 2 m/s crossed, still air",
        Rough::PullUpsCalm => "pull-ups, still air",
    }
}

/// Error rms and worst, false beeps and false spells in ten minutes.
fn heard(pipeline: &Pipeline, flown: &[Flown]) -> [f64; 4] {
    let mut state = PipelineState::default();
    let mut counter = Counter::default();
    let (mut squares, mut worst, mut count) = (0.0, 0.0_f64, 0.0);
    for Flown { sample, time_s, truth_mps } in flown {
        let reading = pipeline.step(&mut state, sample);
        let Some(values) = reading.values.filter(|_| *time_s > SETTLES_S) else { continue };
        let error = f64::from(values.sounded().0) - truth_mps;
        (squares, count) = (squares + error * error, count + 1.0);
        worst = worst.max(error.abs());
        counter.take(*time_s, values.sound.meaning() == Meaning::Climb, *truth_mps);
    }
    let false_climb = counter.result().unwrap_or_default();
    [(squares / f64::max(count, 1.0)).sqrt(), worst, false_climb.beeps, false_climb.spells]
}
