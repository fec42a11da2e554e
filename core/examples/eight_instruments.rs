//! Eight instruments side by side on the same samples, for measuring speed:
//! `cargo run --release -p chirrup-core --example eight_instruments -- 1000000` takes a million
//! samples of a flight at 50 Hz and prints the sum of all readings. They differ in the response of
//! the filter.
//!
//! With the word `filters` behind the number only what differs is there eight times: one intake
//! and eight filters, as a bench compares filters, without netto, averages, doubts and sound.

use chirrup_core::stages::{Channel, Intake, IntakeState};
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

/// The sum of the readings of all, each by itself.
fn read_by_all(instruments: &mut [(Pipeline, PipelineState)], sample: &Sample) -> f64 {
    let read = |(pipeline, state): &mut (Pipeline, PipelineState)| {
        let reading = pipeline.step(state, sample);
        reading.values.map_or(0.0, |values| f64::from(values.sounded().0))
    };
    instruments.iter_mut().map(read).sum()
}

/// The same of their filters alone, behind one intake.
struct Filtered<'a> {
    intake: &'a Intake,
    state: IntakeState,
    channels: Vec<(&'a Pipeline, Channel)>,
}

impl<'a> Filtered<'a> {
    fn of(instruments: &'a [(Pipeline, PipelineState)]) -> Self {
        let channels = instruments.iter().map(|(pipeline, _)| (pipeline, Channel::default()));
        Self {
            intake: instruments[0].0.intake(),
            state: IntakeState::default(),
            channels: channels.collect(),
        }
    }

    fn read(&mut self, sample: &Sample) -> f64 {
        let Ok(taken) = self.intake.step(&mut self.state, sample) else { return 0.0 };
        let read = |(pipeline, channel): &mut (&Pipeline, Channel)| {
            f64::from(channel.step(pipeline.filters(), &taken.due).velocity.0)
        };
        self.channels.iter_mut().map(read).sum()
    }
}

#[allow(clippy::print_stdout, reason = "it is what the example is for")]
fn main() {
    let mut typed = std::env::args().skip(1);
    let count = typed.next().and_then(|typed| typed.parse().ok()).unwrap_or(PERIOD);
    let mut instruments: Vec<_> = (0..8).map(instrument).collect();
    let flight: Vec<_> = (0..PERIOD).map(sample).collect();
    let at = |(step, flown): (i64, &Sample)| Sample { time: Micros(step * 20_000), ..*flown };
    let samples = (0..count).zip(flight.iter().cycle()).map(at);
    let sum: f64 = if typed.next().as_deref() == Some("filters") {
        let mut filtered = Filtered::of(&instruments);
        samples.map(|sample| filtered.read(&sample)).sum()
    } else {
        samples.map(|sample| read_by_all(&mut instruments, &sample)).sum()
    };
    println!("{count} samples, {sum}");
}
