//! A minute of pressure that climbs, as sound in a WAV file.
//!
//! ```sh
//! cargo run -p chirrup-core --example climb_to_wav -- climb.wav
//! ```
//!
//! It shows the whole way: a sample of pressure every 20 ms goes into the pipeline, and every 2 ms
//! the pipeline says what to sound until the next, which the waveform turns into samples of sound.

use chirrup_core::{
    Metre, Micros, PipelineState, Sample, Settings, TICK, TICKS_PER_SECOND, Waveform,
    WaveformState, pressure_at,
};
use std::io::Write;

const SOUND_HZ: u32 = 24_000;
/// Time from one sample of pressure to the next.
const SAMPLE: Micros = Micros(20_000);

/// Height at a moment: 20 s of still air, then a thermal that grows from 0 to 3 m/s within 10 s.
fn height(time_s: f32) -> Metre {
    let climbed_s = (time_s - 20.0).max(0.0);
    let growing_s = climbed_s.min(10.0);
    Metre(1000.0 + 0.15 * growing_s * growing_s + 3.0 * (climbed_s - growing_s))
}

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let path = std::env::args().nth(1).unwrap_or_else(|| "climb.wav".into());
    let pipeline = Settings::default().build()?;
    let (mut state, mut wave) = (PipelineState::default(), WaveformState::default());
    let waveform = Waveform::new(SOUND_HZ);
    let spec = hound::WavSpec {
        channels: 1,
        sample_rate: SOUND_HZ,
        bits_per_sample: 16,
        sample_format: hound::SampleFormat::Int,
    };
    let mut wav = hound::WavWriter::create(&path, spec)?;
    let mut piece = vec![0_i16; (SOUND_HZ / TICKS_PER_SECOND) as usize];
    for count in 0..60 * 50 {
        let time = Micros(count * SAMPLE.0);
        let pressure = pressure_at(height(time.as_seconds()));
        pipeline.step(&mut state, &Sample::of_static(time, pressure));
        for _ in 0..SAMPLE.0 / TICK.0 {
            waveform.fill(&mut wave, pipeline.tick(&mut state), &mut piece);
            piece.iter().try_for_each(|sample| wav.write_sample(*sample))?;
        }
    }
    wav.finalize()?;
    let mut out = std::io::stdout().lock();
    writeln!(out, "{path}: silence for 20 s, then beeps that grow higher and quicker")?;
    Ok(())
}
