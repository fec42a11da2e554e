//! Speed of the replay, in samples a second, and of simulated flights: `cargo bench -p chirrup`.

use chirrup::ears::Ears;
use chirrup::fly::fly;
use chirrup::fly::request::Request;
use chirrup::progress::Work;
use chirrup::recording::Recording;
use chirrup::recording::series::Even;
use chirrup::render::Renderer;
use chirrup::replay::{Replay, Stretch};
use chirrup::tune::{candidates, readings};
use chirrup_core::stages::{Heard, Sounder, SounderState};
use chirrup_core::{
    Hertz, Metre, MetrePerSecond, Micros, Pascal, PwmTimer, Sample, Settings, Speed, Timbre, Voice,
    pressure_at,
};
use chirrup_flight::plan::builtin::find;
use chirrup_flight::plan::check;
use divan::Bencher;
use divan::counter::ItemsCount;
use std::sync::atomic::AtomicBool;

fn main() {
    divan::main();
}

/// Ten minutes at 50 Hz, climbing and sinking, with airspeed.
fn samples() -> Vec<Sample> {
    (0..30_000)
        .map(|step: i64| {
            let t = step as f32 * 0.02;
            let mut sample = Sample::of_static(
                Micros(step * 20_000),
                pressure_at(Metre(800.0 + 40.0 * libm::sinf(t / 20.0))),
            );
            sample.speed = Some(Speed::Dynamic(Pascal(400.0 + 100.0 * libm::sinf(t / 7.0))));
            sample
        })
        .collect()
}

#[divan::bench]
fn replay_without_audio(bencher: Bencher<'_, '_>) {
    let samples = samples();
    let pipeline = Settings::default().build().expect("the defaults are good");
    bencher.counter(ItemsCount::new(samples.len())).bench(|| {
        let mut replay = Replay::new(Ears { left: pipeline.clone(), right: None });
        let mut ticks = 0;
        for (line, sample) in samples.iter().enumerate() {
            let mut count = |stretch: Stretch<'_>| {
                ticks += stretch.ticks();
                Ok::<(), ()>(())
            };
            divan::black_box(replay.feed(line as u64, sample, &mut count))
                .expect("counting cannot fail");
        }
        ticks
    });
}

/// Every candidate of `tune` over ten minutes; the counter is samples, each for all candidates.
#[divan::bench]
fn readings_of_all_candidates(bencher: Bencher<'_, '_>) {
    let mut recording = Recording::default();
    recording.samples.extend(samples());
    let candidates =
        candidates::of(&Settings::default(), &Settings::default()).expect("the defaults are good");
    let pipelines: Vec<_> = candidates.iter().map(|candidate| &candidate.pipeline).collect();
    let grid = Even { start_s: 0.0, step_s: 0.2, values: vec![0.0; 3_000] };
    let (work, go_on) = (Work::new(1), AtomicBool::new(false));
    bencher.counter(ItemsCount::new(recording.samples.len())).bench(|| {
        readings::of_all(&pipelines, &recording, &grid, &work, &go_on).expect("it goes on")
    });
}

/// An hour in rough air at 50 Hz with every sensor, output discarded; the counter is seconds of
/// flight.
#[divan::bench(sample_count = 5)]
fn fly_an_hour_at_50_hz(bencher: Bencher<'_, '_>) {
    let folder = tempfile::tempdir().expect("there is room for temporary files");
    let text = find("weak-blue-day").expect("it is built in").text.replacen(
        "for_s = 120",
        "for_s = 2640",
        1,
    );
    let (scenario, glider) = check::read("weak-blue-day", &text).expect("it is good");
    let (seed, output) = (scenario.seed, folder.path().join("trace.csv"));
    let mut request = Request {
        file: "weak-blue-day".into(),
        text,
        scenario,
        glider,
        seed,
        truth: true,
        output,
        may_be_large: false,
    };
    request.scenario.sensors.rate_hz = 50.0;
    let never = AtomicBool::new(false);
    bencher.counter(ItemsCount::new(3_600_usize)).bench(|| {
        let report = fly(&request, &never).expect("it can be flown");
        assert!(report.duration_s > 3_500.0, "it is an hour: {} s", report.duration_s);
    });
}

/// One control tick of the sound while the reading changes every 20 ms: law, gate, level.
#[divan::bench]
fn sound_by_the_tick(bencher: Bencher<'_, '_>) {
    let sounder = Sounder::new(&Settings::default().tone).expect("the defaults are good");
    bencher.counter(ItemsCount::new(5_000_usize)).bench(|| {
        let mut state = SounderState::default();
        for tick in 0..5_000_u16 {
            if tick % 10 == 0 {
                let climb = MetrePerSecond(3.0 * libm::sinf(f32::from(tick) * 0.01));
                sounder.read(&mut state, Heard { climb, ..Heard::default() });
            }
            divan::black_box(sounder.tick(&mut state, false));
        }
    });
}

/// One new pitch for a timer: period and compare.
#[divan::bench]
fn timer_by_the_pitch(bencher: Bencher<'_, '_>) {
    let timer = PwmTimer::new(125_000_000, 255).expect("the clock is quick enough");
    bencher.counter(ItemsCount::new(1_000_usize)).bench(|| {
        for pitch in 0..1_000_u16 {
            let voice = Voice {
                pitch: Hertz(500.0 + f32::from(pitch)),
                gate: true,
                level: 0.3,
                ..Voice::default()
            };
            divan::black_box(timer.pulse(divan::black_box(voice)));
        }
    });
}

#[divan::bench(args = [Timbre::Pure, Timbre::Reed])]
fn render_a_steady_tone(bencher: Bencher<'_, '_>, timbre: Timbre) {
    let voices = vec![
        Ears {
            left: Voice { pitch: Hertz(900.0), gate: true, timbre, ..Voice::default() },
            right: None
        };
        5_000
    ];
    bencher.counter(ItemsCount::new(240_000_usize)).bench(|| {
        let mut renderer = Renderer::new(24_000, false);
        let mut sum = 0_i64;
        let mut add = |samples: &[i16]| {
            sum += samples.iter().map(|&sample| i64::from(sample)).sum::<i64>();
            Ok::<(), ()>(())
        };
        renderer.render(Stretch::Voices(&voices), &mut add).expect("adding cannot fail");
        sum
    });
}
