//! What an instrument's timer is set to while the pressure says 2 m/s of climb: the registers of a
//! buzzer, printed instead of written.
//!
//! ```sh
//! cargo run -p chirrup-core --example pressure_to_pwm
//! ```
//!
//! An instrument does the same every 2 ms, with a barometer in place of the made pressure and a
//! timer in place of the print. The registers are worked out only when the voice has changed.

use chirrup_core::{
    Metre, Micros, PipelineState, PwmTimer, Sample, Settings, TICK, Voice, pressure_at,
};
use std::io::Write;

/// The clock of a common microcontroller, and the largest number its prescaler divides by.
const CLOCK_HZ: u32 = 125_000_000;
const MOST_DIVIDER: u16 = 255;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let mut out = std::io::stdout().lock();
    let pipeline = Settings::default().build()?;
    let mut state = PipelineState::default();
    let timer = PwmTimer::new(CLOCK_HZ, MOST_DIVIDER).ok_or("the clock is too slow")?;
    writeln!(out, "prescaler {}", timer.divider())?;
    writeln!(out, "   time s   pitch Hz    top   compare")?;
    let mut last: Option<Voice> = None;
    for tick in 0..5_000 {
        let time = Micros(tick * TICK.0);
        // A sample every tenth tick: 50 a second.
        if tick % 10 == 0 {
            let height = Metre(500.0 + 2.0 * time.as_seconds());
            pipeline.step(&mut state, &Sample::of_static(time, pressure_at(height)));
        }
        let voice = pipeline.tick(&mut state);
        let is_edge = last.is_none_or(|last| last.gate != voice.gate);
        if is_edge && voice.pitch.0 > 0.0 {
            let pulse = timer.pulse(voice);
            let (seconds, pitch) = (time.as_seconds(), voice.pitch.0);
            writeln!(out, "{seconds:9.3}   {pitch:8.1}   {:5}   {:5}", pulse.top, pulse.compare)?;
        }
        last = Some(voice);
    }
    Ok(())
}
