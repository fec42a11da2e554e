//! Eight instruments with settings of their own on the same samples, for measuring speed:
//! `cargo run --release -p chirrup-core --example eight_instruments -- 1000000` takes a million
//! samples of a flight at 50 Hz and prints the sum of all readings.

use chirrup_core::{
    Metre, Micros, Pascal, Pipeline, PipelineState, Sample, Settings, Speed, pressure_at,
};

/// Ten minutes, flown again and again; the time goes on.
const PERIOD: i64 = 30_000;

fn sample(step: i64) -> Sample {
    let t = step as f32 * 0.02;
    // Noise of a sensor, the same at every run.
    let noise = (step * 7_919 % 1_000) as f32 * 1.0e-3 - 0.5;
    let height = Metre(800.0 + 40.0 * libm::sinf(t / 20.0) + 0.3 * noise);
    let mut sample = Sample::of_static(Micros(step * 20_000), pressure_at(height));
    sample.speed = Some(Speed::Dynamic(Pascal(400.0 + 100.0 * libm::sinf(t / 7.0) + noise)));
    sample
}

fn instrument(place: u8) -> (Pipeline, PipelineState) {
    let mut settings = Settings::default();
    settings.filter.response_s = 0.6 + 0.1 * f32::from(place);
    (settings.build().expect("within its range"), PipelineState::default())
}

#[allow(clippy::print_stdout, reason = "it is what the example is for")]
fn main() {
    let count = std::env::args().nth(1).and_then(|typed| typed.parse().ok()).unwrap_or(PERIOD);
    let mut instruments: Vec<_> = (0..8).map(instrument).collect();
    let flight: Vec<_> = (0..PERIOD).map(sample).collect();
    let mut sum = 0.0;
    for (step, flown) in (0..count).zip(flight.iter().cycle()) {
        let sample = Sample { time: Micros(step * 20_000), ..*flown };
        for (pipeline, state) in &mut instruments {
            let reading = pipeline.step(state, &sample);
            sum += reading.values.map_or(0.0, |values| f64::from(values.sounded().0));
        }
    }
    println!("{count} samples, {sum}");
}
