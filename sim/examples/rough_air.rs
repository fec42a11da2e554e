//! How honest a reading is in rough air: a table for settings of your own against the true climb.
//!
//! ```text
//! cargo run --release -p chirrup --example rough_air -- filter=adaptive filter=fixed,response_s=2
//! ```
//!
//! Every flight of [`Rough`] with five seeds; the mean, and the worst seed in brackets. Errors are
//! those of single samples. The first forty seconds are left out.

#![allow(clippy::print_stdout, reason = "it prints a table")]

use chirrup::false_climb::Counter;
use chirrup::settings_file::load_layers;
use chirrup_core::{Micros, Pascal, Pipeline, PipelineState, Sample, Settings, Sound, Speed};
use chirrup_flight::plan::flight::Flight;
use chirrup_flight::plan::rough::Rough;
use chirrup_flight::sensors::Sensors;
use std::error::Error;

const SEEDS: std::ops::RangeInclusive<u64> = 1..=5;
const SETTLES_S: f64 = 40.0;
const USUAL: [&str; 3] = ["filter=adaptive", "filter=fixed", "filter=fixed,response_s=2"];

/// The samples of a flight, with the time in s and the true climb in m/s since the one before.
type Flown = Vec<(Sample, f64, f64)>;

fn main() -> Result<(), Box<dyn Error>> {
    let typed: Vec<String> = std::env::args().skip(1).collect();
    let usual = || USUAL.iter().map(|text| (*text).to_owned()).collect();
    let settings: Vec<String> = if typed.is_empty() { usual() } else { typed };
    println!("| flight | settings | rms, m/s | worst, m/s | false beeps | false spells |");
    println!("|---|---|---|---|---|---|");
    for rough in Rough::ALL {
        let flights = SEEDS.map(|seed| fly(rough, seed)).collect::<Result<Vec<_>, _>>()?;
        for layer in &settings {
            let instrument = load_layers(std::slice::from_ref(layer), &Settings::default())?;
            let rows: Vec<[f64; 4]> =
                flights.iter().map(|flown| heard(&instrument.pipeline, flown)).collect();
            let cell = |column: usize, decimals: usize| {
                let mean = rows.iter().map(|row| row[column]).sum::<f64>() / rows.len() as f64;
                let worst = rows.iter().map(|row| row[column]).fold(0.0, f64::max);
                format!("{mean:.decimals$} ({worst:.decimals$})")
            };
            println!(
                "| {rough:?} | {layer} | {} | {} | {} | {} |",
                cell(0, 2),
                cell(1, 1),
                cell(2, 0),
                cell(3, 0)
            );
        }
    }
    Ok(())
}

fn fly(rough: Rough, seed: u64) -> Result<Flown, Box<dyn Error>> {
    let (scenario, glider) = rough.scenario()?;
    let mut flight = Flight::new(&scenario, glider, seed);
    let mut sensors = Sensors::new(&scenario.sensors, &scenario.fault, seed);
    let (mut flown, mut before) = (Flown::new(), None);
    loop {
        let moment = flight.moment();
        if let Some(sensed) = sensors.take(&moment) {
            let now = (moment.time_s, moment.energy_height_m());
            let (time_s, height_m) = before.replace(now).unwrap_or((now.0 - 1.0, now.1));
            let sample = Sample {
                speed: sensed.dynamic_pa.map(|dynamic| Speed::Dynamic(Pascal(dynamic as f32))),
                ..Sample::of_static(Micros(sensed.stamp_us), Pascal(sensed.static_pa as f32))
            };
            flown.push((sample, now.0, (now.1 - height_m) / (now.0 - time_s)));
        }
        if !flight.advance().map_err(|crash| format!("{rough:?}: {crash:?}"))? {
            return Ok(flown);
        }
    }
}

/// Error rms and worst, false beeps and false spells in ten minutes.
fn heard(pipeline: &Pipeline, flown: &Flown) -> [f64; 4] {
    let mut state = PipelineState::default();
    let mut counter = Counter::default();
    let (mut squares, mut worst, mut count) = (0.0, 0.0_f64, 0.0);
    for (sample, time_s, truth_mps) in flown {
        let reading = pipeline.step(&mut state, sample);
        let Some(values) = reading.values.filter(|_| *time_s > SETTLES_S) else { continue };
        let error = f64::from(values.sounded().0) - truth_mps;
        (squares, count) = (squares + error * error, count + 1.0);
        worst = worst.max(error.abs());
        counter.take(*time_s, matches!(values.sound, Sound::Beeps { .. }), *truth_mps);
    }
    let false_climb = counter.result().unwrap_or_default();
    [(squares / f64::max(count, 1.0)).sqrt(), worst, false_climb.beeps, false_climb.spells]
}
