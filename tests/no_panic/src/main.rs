//! A program of the core and nothing else, whose panic handler calls an undefined function.
//!
//! The linker drops unreachable code, and with it that call. So the program links only if no panic
//! can be reached from building an instrument from settings, from a sample, from a tick of the
//! sound, or from synthesising the sound. `tests/no_panic/run` builds it, and once more with a
//! panic added, which must not link.
//!
//! Samples are read from standard input as bytes, so that the compiler cannot predict them.

#![no_std]
#![no_main]

use chirrup_core::{
    Axes, GroundVelocity, Inertial, Kelvin, MetrePerSecond, MetrePerSecond2, Micros, Pascal,
    Pipeline, PipelineState, PwmTimer, RadianPerSecond, Sample, Settings, Speed, Spread, Waveform,
    WaveformState,
};
use core::panic::PanicInfo;

unsafe extern "C" {
    fn read(file: i32, buffer: *mut u8, count: usize) -> isize;
    /// Undefined.
    fn chirrup_core_can_panic() -> !;
}

#[link(name = "c")]
unsafe extern "C" {}

#[panic_handler]
fn panic(_: &PanicInfo) -> ! {
    unsafe { chirrup_core_can_panic() }
}

fn number() -> u32 {
    let mut bytes = [0; 4];
    unsafe { read(0, bytes.as_mut_ptr(), bytes.len()) };
    u32::from_le_bytes(bytes)
}

fn float() -> f32 {
    f32::from_bits(number())
}

#[unsafe(no_mangle)]
extern "C" fn main(_arguments: i32, _values: *const *const u8) -> i32 {
    let mut settings = Settings::default();
    settings.filter.response_s = float();
    settings.filter.noise_m = float();
    settings.average.span_s = float();
    settings.reading.stale_after_s = float();
    settings.energy.static_delay_ms = float();
    settings.energy.probe_delay_ms = float();
    settings.polar = (number() != 0).then(Default::default);
    if let Some(polar) = &mut settings.polar {
        polar.ballast_kg = float();
    }
    settings.tone.climb_from_mps = float();
    for point in &mut settings.tone.climb {
        point.pitch_hz = float();
    }
    let Ok(pipeline) = settings.build() else { return 2 };
    fly(&pipeline)
}

fn inertial() -> Inertial {
    let force = || MetrePerSecond2(float());
    let turn = || RadianPerSecond(float());
    Inertial {
        specific_force: Axes { x: force(), y: force(), z: force() },
        turn_rate: Axes { x: turn(), y: turn(), z: turn() },
        spread: (number() != 0).then(|| Spread {
            largest_force: force(),
            force_deviation: force(),
            largest_turn: turn(),
            turn_deviation: turn(),
        }),
    }
}

fn ground_velocity() -> GroundVelocity {
    let speed = || MetrePerSecond(float());
    let age = Micros(i64::from(number()));
    GroundVelocity { north: speed(), east: speed(), down: speed(), age }
}

fn fly(pipeline: &Pipeline) -> i32 {
    let waveform = Waveform::new(number());
    let Some(timer) = PwmTimer::new(number(), number() as u16) else { return 2 };
    let (mut wave, mut samples) = (WaveformState::default(), [0; 48]);
    let mut state = PipelineState::default();
    let mut sum = 0.0;
    for _ in 0..number() {
        let time = Micros(i64::from(number()) << 32 | i64::from(number()));
        let mut sample = Sample::of_static(time, Pascal(float()));
        sample.speed = (number() != 0).then(|| Speed::Dynamic(Pascal(float())));
        sample.te_pressure = (number() != 0).then(|| Pascal(float()));
        sample.outside_air = (number() != 0).then(|| Kelvin(float()));
        sample.inertial = (number() != 0).then(inertial);
        sample.ground_velocity = (number() != 0).then(ground_velocity);
        let until = pipeline.time_until(&state, &sample);
        state.mute_for(Micros(i64::from(number())));
        let reading = pipeline.step(&mut state, &sample);
        sum += reading.values.map_or(0.0, |values| values.sounded().0) + until.as_seconds();
        for _ in 0..number() {
            let voice = pipeline.tick(&mut state);
            waveform.fill(&mut wave, voice, &mut samples);
            let pulse = timer.pulse(voice);
            sum += f32::from(samples.iter().fold(0, |all, sample| all ^ sample))
                + pulse.compare as f32;
        }
    }
    #[cfg(feature = "control")]
    {
        sum += [0.0, 1.0][number() as usize];
    }
    i32::from(sum > 0.0)
}
