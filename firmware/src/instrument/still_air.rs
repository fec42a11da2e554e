//! Still air through the whole instrument, for every barometer, with the noise, the temperature and
//! the heat that real ones have: no beep.
//!
//! A barometer is a row of [`BAROMETERS`]: its name, its pressure noise with what the driver
//! configures, and how it is put on a bus. A new sensor needs nothing else here.

use super::*;
use chirrup_core::DeviceSettings;
use chirrup_sensors::fakes::{
    Air, Connected, FakeBmp390, FakeBmp581, FakeBus, FakeDps310, FakeMs4525, FakeMs5611, FakeSdp3x,
};
use std::string::String;
use std::vec::Vec;
use std::{format, thread};

/// A barometer as they are.
struct Barometer {
    name: &'static str,
    /// White pressure noise of the simulated one in Pa rms, with the driver's oversampling.
    noise_pa: f64,
    /// Puts it on the bus; the noise is that of the sheet times the last argument.
    plug: fn(&mut FakeBus<StillAir>, u32, f64),
}

const BAROMETERS: [Barometer; 4] = [
    Barometer {
        name: "ms5611",
        noise_pa: 1.2,
        plug: |bus, seed, gain| {
            let mut sensor = FakeMs5611::real(0x77, Connected::Static, seed);
            sensor.die.noise_gain = gain;
            bus.ms5611[0] = Some(sensor);
        },
    },
    Barometer {
        name: "bmp390",
        noise_pa: 0.65,
        plug: |bus, seed, gain| {
            let mut sensor = FakeBmp390::real(0x77, Connected::Static, seed);
            sensor.die.noise_gain = gain;
            bus.bmp390 = Some(sensor);
        },
    },
    Barometer {
        name: "bmp581",
        noise_pa: 0.21,
        plug: |bus, seed, gain| {
            let mut sensor = FakeBmp581::real(0x47, Connected::Static, seed);
            sensor.die.noise_gain = gain;
            bus.bmp581[0] = Some(sensor);
        },
    },
    Barometer {
        name: "dps310",
        noise_pa: 0.5,
        plug: |bus, seed, gain| {
            let mut sensor = FakeDps310::real(0x77, Connected::Static, seed);
            sensor.die.noise_gain = gain;
            bus.dps310[0] = Some(sensor);
        },
    },
];

/// The air stands still at 500 m, and only its temperature changes.
#[derive(Clone, Copy, Debug)]
struct StillAir {
    begins_celsius: f64,
    /// Kelvin a minute.
    drift: f64,
    /// The sun comes out after a minute, and warms the housing by so many kelvin, the most of it
    /// within two minutes.
    sun: f64,
}

impl Air for StillAir {
    fn static_64ths_pa(&self, _time: Micros) -> i32 {
        95_461 * 64
    }

    /// 25.5 m/s.
    fn dynamic_64ths_pa(&self, _time: Micros) -> i32 {
        400 * 64
    }

    fn celsius(&self, time: Micros) -> f64 {
        let seconds = time.0 as f64 / 1e6;
        let sunny = (seconds - 60.0).max(0.0);
        self.begins_celsius + self.drift * seconds / 60.0 + self.sun * sunny / (sunny + 60.0)
    }
}

const WARMING: StillAir = StillAir { begins_celsius: 3.0, drift: 3.0, sun: 0.0 };
const COOLING: StillAir = StillAir { begins_celsius: 35.0, drift: -3.0, sun: 0.0 };
const SUNNY: StillAir = StillAir { begins_celsius: 18.0, drift: 0.0, sun: 10.0 };

/// What was heard and read.
#[derive(Debug, Default)]
struct Heard {
    beeps: usize,
    /// Ticks that sound, climb or sink.
    ticks: usize,
    fastest_mps: f64,
    readings: usize,
}

/// The start sound is over, and the filter has settled.
const STARTED: Micros = Micros(3_000_000);

/// Runs an instrument on this bus.
fn hear(bus: FakeBus<StillAir>, seconds: i64) -> Heard {
    hear_with_dips(bus, seconds, None)
}

/// The same while the supply of the barometer dips, so many ticks apart.
fn hear_with_dips(mut bus: FakeBus<StillAir>, seconds: i64, ticks_apart: Option<i64>) -> Heard {
    let settings = Settings { device: DeviceSettings::default(), ..Settings::default() };
    let boot = Boot {
        board: "bench",
        now: Micros(0),
        loaded: Loaded { settings, origin: Origin::Flash },
        reset: ResetCause::Power,
        panic: None,
    };
    let mut instrument = Instrument::new(boot).expect("the defaults are good");
    let (mut heard, mut bus_due, mut sounded) = (Heard::default(), Micros(0), false);
    for tick in 0..seconds * 500 {
        let now = Micros(tick * TICK.0);
        if ticks_apart.is_some_and(|apart| tick % apart == apart - 1) {
            bus.dip_supply(now);
        }
        bus_due = serve(&mut instrument, &mut bus, now.max(bus_due), Micros(now.0 + TICK.0));
        let voice = instrument.tick(now);
        let sounds = voice.gate && voice.level > 0.0;
        if now > STARTED {
            heard.ticks += usize::from(sounds);
            heard.beeps += usize::from(sounds && !sounded);
            if let Some(values) = instrument.reading().and_then(|reading| reading.values) {
                let mps = f64::from(values.sounded().0);
                heard.fastest_mps = heard.fastest_mps.max(mps.abs());
                heard.readings += 1;
            }
        }
        sounded = sounds;
    }
    heard
}

/// The bus from `at` to `end`; a transaction takes its bytes at 400 kHz and some delay.
fn serve(
    instrument: &mut Instrument,
    bus: &mut FakeBus<StillAir>,
    mut at: Micros,
    end: Micros,
) -> Micros {
    while at < end {
        match instrument.bus_step(at) {
            BusStep::Wait(until) => at = until,
            BusStep::Transact(transaction) => {
                let bytes = 2 + transaction.send.len() + transaction.read;
                at.0 += 40 + 23 * bytes as i64;
                let result = bus.run(at, &transaction);
                instrument.bus_done(at, result);
            }
            BusStep::Recover => panic!("no fault was simulated"),
        }
    }
    at
}

fn bus_with(barometer: &Barometer, air: StillAir, noise_pa: f64, seed: u32) -> FakeBus<StillAir> {
    let mut bus = FakeBus::empty(air);
    (barometer.plug)(&mut bus, seed, noise_pa / barometer.noise_pa);
    bus
}

/// One run as it is described when it fails.
fn run_of(barometer: &Barometer, bus: FakeBus<StillAir>, what: &str) -> Option<String> {
    let heard = hear(bus, 600);
    let name = barometer.name;
    (heard.ticks > 0 || heard.readings < 298_000).then(|| format!("{name}, {what}: {heard:?}"))
}

/// Ten minutes of every barometer in every air with each noise in Pa; `more` adds to the bus.
fn failures(noises: &[f64], more: fn(&mut FakeBus<StillAir>)) -> String {
    let of_one = |barometer: &Barometer| {
        let mut failed = Vec::new();
        for air in [WARMING, COOLING, SUNNY] {
            for (noise_pa, seed) in noises.iter().zip(1..) {
                let mut bus = bus_with(barometer, air, *noise_pa, seed);
                more(&mut bus);
                failed.extend(run_of(barometer, bus, &format!("{noise_pa} Pa, {air:?}")));
            }
        }
        failed
    };
    let failed: Vec<String> = thread::scope(|scope| {
        let runs: Vec<_> = BAROMETERS.iter().map(|one| scope.spawn(move || of_one(one))).collect();
        runs.into_iter().flat_map(|run| run.join().expect("it does not panic")).collect()
    });
    failed.join("\n")
}

#[test]
fn ten_minutes_of_still_air_are_silent_with_every_barometer() {
    let failures = failures(&[0.2, 0.6, 1.2], |_| {});
    assert!(failures.is_empty(), "{failures}");
}

#[test]
fn they_are_with_an_airspeed_sensor_whose_zero_drifts() {
    let failures = failures(&[0.6], |bus| bus.ms4525 = Some(FakeMs4525::real(5)));
    assert!(failures.is_empty(), "{failures}");
}

#[test]
fn they_are_with_a_flow_sensor_for_airspeed() {
    let mut failed = Vec::new();
    for (barometer, scale) in BAROMETERS.iter().zip([60, 20, 60, 20]) {
        let mut bus = bus_with(barometer, WARMING, barometer.noise_pa, 7);
        bus.sdp3x = Some(FakeSdp3x::real(0x21, scale, 9));
        failed.extend(run_of(barometer, bus, &format!("scale {scale}")));
    }
    assert!(failed.is_empty(), "{failed:?}");
}

#[test]
fn they_are_while_the_supply_of_the_barometer_dips() {
    let mut failed = Vec::new();
    for barometer in &BAROMETERS {
        // 0.1 to 3.7 s apart, at every part of a frame in turn.
        for ticks_apart in [51, 343, 1_851] {
            let bus = bus_with(barometer, WARMING, barometer.noise_pa, 3);
            let heard = hear_with_dips(bus, 60, Some(ticks_apart));
            if heard.ticks > 0 || heard.readings == 0 {
                failed.push(format!("{}, {ticks_apart}: {heard:?}", barometer.name));
            }
        }
    }
    assert!(failed.is_empty(), "{failed:#?}");
}
