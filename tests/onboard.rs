//! The instrument on a computer's bus: its log is a trace that replays to the readings that
//! sounded, to the bit.

#[cfg(not(feature = "i2c"))]
use crate::support::{complaint, path};
use crate::support::{folder, pressure_pa, samples, write};
use chirrup_core::{Micros, Reading, Settings};
use chirrup_onboard::{Bus, Onboard};
use chirrup_sensors::bus::{BusFault, Reply, Transaction};
use chirrup_sensors::fakes::{Air, FakeBus, FakeMs4525};
use std::path::Path;

/// A flight with climbs, pulls on the stick and noise.
struct Flight;

impl Air for Flight {
    fn static_64ths_pa(&self, time: Micros) -> i32 {
        let seconds = time.0 as f64 * 1e-6;
        let height = 900.0 + 1.5 * seconds + 20.0 * (0.3 * seconds).sin();
        let noise = (time.0 / 20_000).wrapping_mul(2_654_435_761).rem_euclid(150);
        (pressure_pa(height) * 64.0) as i32 + noise as i32
    }

    fn dynamic_64ths_pa(&self, time: Micros) -> i32 {
        (64.0 * (450.0 - 150.0 * (0.3e-6 * time.0 as f64).sin())) as i32
    }
}

struct Simulated(FakeBus<Flight>);

impl Bus for Simulated {
    fn run(&mut self, now: Micros, transaction: &Transaction) -> Result<Reply, BusFault> {
        self.0.run(now, transaction)
    }
}

/// Rows of the log and the reading after each, of a minute on a clock that wakes up late.
fn flown(settings: &Settings) -> (Vec<String>, Vec<Reading>) {
    let bus = FakeBus { ms4525: Some(FakeMs4525::default()), ..FakeBus::new(Flight) };
    let mut onboard =
        Onboard::new(Simulated(bus), settings.clone(), Micros(0)).expect("good settings");
    let (mut now, mut tick) = (0_i64, 0);
    let (mut log, mut readings) = (Vec::new(), Vec::new());
    while now < 60_000_000 {
        let until = onboard.serve(|| {
            now += 250;
            Micros(now)
        });
        while tick <= now {
            onboard.tick(Micros(now));
            tick += 2_000;
        }
        while let Some(line) = onboard.next_row() {
            if line.starts_with(|first: char| first.is_ascii_digit()) {
                readings.push(onboard.instrument().reading().expect("a row has a reading"));
            }
            log.push(line);
        }
        now = until.0.min(now + 4_000).max(now + 1) + now % 700;
    }
    (log, readings)
}

#[test]
fn the_log_replays_to_the_same_readings_to_the_bit() {
    let mut settings = Settings::default();
    settings.filter.response_s = 0.8;
    let (log, readings) = flown(&settings);
    assert!(readings.len() > 2_950, "{} samples in a minute", readings.len());
    let folder = folder();
    let file = write(&folder, "log.csv", log.join("\n") + "\n");
    let samples = samples(Path::new(&file));
    assert_eq!(samples.len(), readings.len());
    let pipeline = settings.build().expect("good settings");
    let mut state = chirrup_core::PipelineState::default();
    for (place, (sample, logged)) in samples.iter().zip(&readings).enumerate() {
        let replayed = pipeline.step(&mut state, sample);
        // Debug writes every digit of a float.
        assert_eq!(format!("{replayed:?}"), format!("{logged:?}"), "sample {place}");
    }
    assert!(readings.iter().any(|reading| reading.values.is_some()));
}

#[test]
#[cfg(not(feature = "i2c"))]
fn a_build_without_a_bus_says_how_to_make_one_with_it() {
    let folder = folder();
    let said = complaint(&["live", "--i2c", "/dev/i2c-1", "-o", &path(&folder, "log.csv")], 2);
    assert!(said.contains("--features i2c"), "{said}");
    assert!(!Path::new(&path(&folder, "log.csv")).exists());
}
