//! The instrument over a simulated bus and a clock that is a number.

use super::*;
use chirrup_core::{Metre, pressure_at};
use chirrup_sensors::fakes::{Air, FakeBus};

impl<A: Air> Bus for FakeBus<A> {
    fn run(&mut self, now: Micros, transaction: &Transaction) -> Result<Reply, BusFault> {
        FakeBus::run(self, now, transaction)
    }
}

/// A climb of 2 m/s from 800 m.
fn climb(time: Micros) -> i32 {
    let height = 800.0 + 2.0 * time.0 as f64 * 1e-6;
    (pressure_at(Metre(height as f32)).0 * 64.0) as i32 + (time.0 / 20_000 % 3) as i32 * 30
}

/// Runs so many seconds; a transaction takes 0.4 ms, a sleep ends up to 0.3 ms late.
fn run<B: Bus>(onboard: &mut Onboard<B>, seconds: i64) -> Vec<(i64, Voice)> {
    let (mut now, mut tick, mut voices) = (0_i64, 0, Vec::new());
    while now < seconds * 1_000_000 {
        let until = onboard.serve(|| {
            now += 200;
            Micros(now)
        });
        while tick <= now {
            voices.push((tick, onboard.tick(Micros(now))));
            tick += 2_000;
        }
        now = until.0.min(now + 2_000).max(now + 1) + now % 300;
    }
    voices
}

#[test]
fn it_climbs_sounds_and_logs_every_sample() {
    let mut onboard =
        Onboard::new(FakeBus::new(climb), Settings::default(), Micros(0)).expect("good settings");
    let voices = run(&mut onboard, 20);
    let climb = onboard.instrument().reading().and_then(|reading| reading.values);
    let climb = climb.expect("there is a reading").sounded().0;
    assert!((climb - 2.0).abs() < 0.3, "{climb} m/s");
    let sounds = voices.iter().filter(|(at, voice)| *at > 10_000_000 && voice.gate).count();
    assert!((1_000..4_500).contains(&sounds), "{sounds} of 5000 ticks: it beeps");
    let rows: Vec<String> = std::iter::from_fn(|| onboard.next_row()).collect();
    let rows: Vec<&String> = rows.iter().filter(|row| row.starts_with(char::is_numeric)).collect();
    assert!(rows.len() > 980, "{} rows in 20 s", rows.len());
    assert!(rows.iter().all(|row| row.ends_with(",0")), "none is dropped");
}

#[test]
fn a_person_gets_answers_without_the_log_and_a_save_says_that_there_is_no_flash() {
    let mut onboard =
        Onboard::new(FakeBus::new(climb), Settings::default(), Micros(0)).expect("good settings");
    run(&mut onboard, 13);
    onboard.type_line("selftest");
    run(&mut onboard, 1);
    let said: Vec<String> = std::iter::from_fn(|| onboard.next_said()).collect();
    assert!(said.iter().any(|line| line == "# result: passed"), "{said:?}");
    assert!(!said.iter().any(|line| line.starts_with("time_us")), "{said:?}");
    onboard.type_line("save");
    run(&mut onboard, 1);
    let said: Vec<String> = std::iter::from_fn(|| onboard.next_said()).collect();
    assert!(said.iter().any(|line| line.starts_with("# error: ")), "{said:?}");
}

#[test]
fn a_sample_whose_conversion_the_system_interrupted_is_left_out_and_not_misdated() {
    const PA_PER_S: f64 = 1_000.0;
    let air = |time: Micros| ((80_000.0 + PA_PER_S * time.0 as f64 * 1e-6) * 64.0) as i32;
    let mut onboard =
        Onboard::new(FakeBus::new(air), Settings::default(), Micros(0)).expect("good settings");
    let (mut now, mut calls) = (0_i64, 0_u32);
    while now < 20_000_000 {
        let until = onboard.serve(|| {
            calls += 1;
            // One look at the clock in thirty or so comes 30 ms late.
            let mixed = calls.wrapping_mul(2_654_435_761) >> 20;
            now += if mixed % 31 == 0 { 30_000 } else { 200 };
            Micros(now)
        });
        now = until.0.max(now + 1);
    }
    let rows: Vec<String> = std::iter::from_fn(|| onboard.next_row()).collect();
    let rows: Vec<(f64, f64)> = rows
        .iter()
        .filter_map(|row| {
            let mut fields = row.split(',').map(|field| field.parse::<f64>());
            Some((fields.next()?.ok()? * 1e-6, fields.next()?.ok()?))
        })
        .collect();
    assert!(rows.len() > 400, "{} samples in 20 s", rows.len());
    for (time_s, pressure_pa) in rows {
        let late_s = (80_000.0 + PA_PER_S * time_s - pressure_pa) / PA_PER_S;
        assert!(late_s.abs() < 0.007, "at {time_s} s: {late_s} s late");
    }
}

#[test]
fn muted_it_is_silent_until_it_is_unmuted() {
    let mut onboard =
        Onboard::new(FakeBus::new(climb), Settings::default(), Micros(0)).expect("good settings");
    let sounds = |voices: &[(i64, Voice)]| voices.iter().skip(500).any(|(_, voice)| voice.gate);
    run(&mut onboard, 10);
    onboard.mute(Micros(10_000_000));
    let muted: Vec<(i64, Voice)> =
        (0..2_000).map(|tick| (tick, onboard.tick(Micros(10_400_000 + 2_000 * tick)))).collect();
    assert!(!sounds(&muted));
    onboard.mute(Micros(15_000_000));
    let heard: Vec<(i64, Voice)> =
        (0..2_000).map(|tick| (tick, onboard.tick(Micros(15_400_000 + 2_000 * tick)))).collect();
    assert!(sounds(&heard));
}

#[test]
fn a_bus_with_nothing_on_it_gives_no_reading_and_says_so() {
    let mut onboard =
        Onboard::new(FakeBus::empty(climb), Settings::default(), Micros(0)).expect("good settings");
    run(&mut onboard, 6);
    assert!(onboard.instrument().reading().is_none());
    let said: Vec<String> = std::iter::from_fn(|| onboard.next_said()).collect();
    assert!(said.iter().any(|line| line.contains("static")), "{said:?}");
}

#[test]
fn settings_that_cannot_be_used_are_refused_and_not_replaced() {
    let mut settings = Settings::default();
    settings.filter.response_s = -1.0;
    assert!(Onboard::new(FakeBus::new(climb), settings, Micros(0)).is_err());
}
