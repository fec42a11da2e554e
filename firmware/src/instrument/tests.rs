//! The whole instrument on fake sensors, over minutes of simulated time.

mod sound_check;

use super::*;
use crate::gnss::pvt::Velocity;
use crate::log::HEADER;
use chirrup_core::{DeviceSettings, Meaning};
use chirrup_core::{Metre, pressure_at};
use chirrup_sensors::fakes::{
    Air, Connected, FakeBus, FakeImu, FakeImuKind, FakeMs4525, FakeMs5611, Trouble,
};
use proptest::prelude::*;
use std::format;
use std::string::{String, ToString};
use std::vec::Vec;

/// Climbs at `mps` from 1000 m, with a little sensor noise.
#[derive(Clone, Copy)]
struct Climb {
    mps: f64,
}

impl Air for Climb {
    fn static_64ths_pa(&self, time: Micros) -> i32 {
        let height = 1_000.0 + self.mps * (time.0 as f64 / 1.0e6);
        (pressure_at(Metre(height as f32)).0 * 64.0) as i32 + noise_64ths_pa(time)
    }

    fn second_64ths_pa(&self, time: Micros) -> i32 {
        self.static_64ths_pa(time) - 64 * 400
    }

    fn dynamic_64ths_pa(&self, time: Micros) -> i32 {
        64 * 400 + noise_64ths_pa(time)
    }
}

/// About 1 Pa rms, white as far as the filter can tell: the upper bits of a product.
fn noise_64ths_pa(time: Micros) -> i32 {
    let mixed = (time.0 as u64 / 1_000).wrapping_mul(0x9E37_79B9_7F4A_7C15);
    let mixed = (mixed ^ mixed >> 29).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    [8, 16, 24, 32].map(|bits| ((mixed >> bits) & 0xFF) as i32 - 128).iter().sum::<i32>() * 64 / 148
}

struct Bench {
    instrument: Instrument,
    bus: FakeBus<Climb>,
    now: Micros,
    bus_due: Micros,
    pressed: Pressed,
    battery_mv: Option<u32>,
    /// Whether a recovery frees a stuck bus.
    clocks_free: bool,
    heard: Vec<Voice>,
    text: String,
    lit: Vec<bool>,
}

fn boot(settings: Settings) -> Boot {
    Boot {
        board: "bench",
        now: Micros(0),
        loaded: Loaded { settings, origin: Origin::Flash },
        reset: ResetCause::Power,
        panic: None,
    }
}

impl Bench {
    fn climbing(mps: f64) -> Self {
        Self::of(FakeBus::new(Climb { mps }), Settings::default())
    }

    fn of(bus: FakeBus<Climb>, settings: Settings) -> Self {
        Self {
            instrument: Instrument::new(boot(settings)).expect("the defaults are good"),
            bus,
            now: Micros(0),
            bus_due: Micros(0),
            pressed: Pressed::default(),
            battery_mv: None,
            clocks_free: true,
            heard: Vec::new(),
            text: String::new(),
            lit: Vec::new(),
        }
    }

    /// Runs for some seconds, as a board does.
    fn run(&mut self, seconds: f64) {
        for _ in 0..(seconds * 500.0) as usize {
            self.serve_bus();
            let now = self.now;
            self.heard.push(self.instrument.tick(now));
            if now.0 % 10_000 == 0 {
                self.instrument.buttons(now, self.pressed);
                self.lit.push(self.instrument.led(now));
            }
            if let Some(millivolts) = self.battery_mv.filter(|_| now.0 % 100_000 == 0) {
                self.instrument.battery(now, millivolts);
            }
            assert!(self.instrument.may_feed_watchdog(now));
            self.listen(200);
            self.now.0 += TICK.0;
        }
    }

    /// Everything on the bus until the next tick; a transaction takes no time here.
    fn serve_bus(&mut self) {
        let end = Micros(self.now.0 + TICK.0);
        let mut at = self.now.max(self.bus_due);
        while at < end {
            match self.instrument.bus_step(at) {
                BusStep::Wait(until) => at = until,
                BusStep::Transact(transaction) => {
                    let result = self.bus.run(at, &transaction);
                    at.0 += if self.bus.is_stuck { 10_000 } else { 150 };
                    self.instrument.bus_done(at, result);
                }
                BusStep::Recover => {
                    self.bus.is_stuck &= !self.clocks_free;
                    self.instrument.bus_recovered(at, !self.bus.is_stuck);
                }
            }
        }
        self.bus_due = at;
    }

    fn listen(&mut self, most: usize) {
        let mut buffer = [0; 64];
        for _ in 0..most.div_ceil(64) {
            let length = self.instrument.transmit(Port::Usb, &mut buffer);
            self.text.push_str(std::str::from_utf8(&buffer[..length]).expect("it is text"));
        }
    }

    /// Types a line and returns the answer of the next half second, without events.
    fn ask(&mut self, line: &str) -> String {
        self.text.clear();
        self.instrument.receive(Port::Usb, line.as_bytes());
        self.instrument.receive(Port::Usb, b"\n");
        self.run(0.5);
        let text = core::mem::take(&mut self.text);
        text.split_inclusive('\n').filter(|line| !line.starts_with("#!")).collect()
    }

    /// How often the LED comes on in the two seconds of its pattern.
    fn blinks(&mut self) -> usize {
        self.lit.clear();
        self.run(2.0);
        let next = self.lit.iter().cycle().skip(1);
        self.lit.iter().zip(next).filter(|(now, next)| !**now && **next).count()
    }

    /// Holds the buttons of `pressed` for some seconds, then releases them.
    fn press(&mut self, pressed: Pressed, seconds: f64) {
        self.pressed = pressed;
        self.run(seconds);
        self.pressed = Pressed::default();
        self.run(0.2);
    }

    /// Share of the next `seconds` that sounds, the mean pitch, and how many beeps begin.
    fn hear(&mut self, seconds: f64) -> (f64, f64, usize) {
        self.heard.clear();
        self.run(seconds);
        let sounds = |voice: &Voice| voice.gate && voice.level > 0.0;
        let on: Vec<f64> = self
            .heard
            .iter()
            .filter(|voice| sounds(voice))
            .map(|voice| f64::from(voice.pitch.0))
            .collect();
        let beeps =
            self.heard.windows(2).filter(|pair| !sounds(&pair[0]) && sounds(&pair[1])).count();
        let pitch = on.iter().sum::<f64>() / on.len().max(1) as f64;
        (on.len() as f64 / self.heard.len() as f64, pitch, beeps)
    }

    fn trouble(&mut self, trouble: Trouble) {
        *self.bus.trouble().expect("there is one") = trouble;
    }
}

#[test]
fn it_starts_with_a_sound_and_a_climb_beeps_by_the_tone_table() {
    let mut bench = Bench::climbing(3.0);
    let (share, ..) = bench.hear(0.6);
    assert!(share > 0.9, "the start sounds at once: {share}");
    bench.run(20.0);
    let (share, pitch, beeps) = bench.hear(10.0);
    // The default table at 3 m/s: 1056 Hz, 2.38 beeps a second, half of it sounding.
    assert!((pitch - 1_056.0).abs() < 15.0, "{pitch}");
    assert!((23..=25).contains(&beeps), "{beeps}");
    assert!((share - 0.5).abs() < 0.03, "{share}");
    let climb = bench.instrument.reading().unwrap().values.unwrap().sounded();
    assert!((climb.0 - 3.0).abs() < 0.1, "{climb:?}");
}

#[test]
fn the_voice_matches_the_pipelines_bit_for_bit() {
    let mut bench = Bench::climbing(1.5);
    bench.run(1.0);
    bench.ask("log on");
    bench.text.clear();
    bench.heard.clear();
    let state = bench.instrument.state.clone();
    let begun = bench.now;
    bench.run(30.0);
    // The samples of the log, through a separate pipeline, each from the tick at which the
    // instrument had it.
    let pipeline = Settings::default().build().unwrap();
    let mut state = state;
    let mut rows =
        bench.text.lines().filter(|line| line.starts_with(|c: char| c.is_ascii_digit())).peekable();
    for (place, voice) in bench.heard.iter().enumerate() {
        let now = begun.0 + place as i64 * TICK.0;
        while let Some(row) = rows.peek() {
            let mut fields = row.split(',');
            let time: i64 = fields.next().unwrap().parse().unwrap();
            // Conversion and transactions: read in the tick that holds its start and 9.4 ms.
            if time - 4_110 + 9_100 + 150 >= now + TICK.0 {
                break;
            }
            let sample = chirrup_core::Sample::of_static(
                Micros(time),
                chirrup_core::Pascal(fields.next().unwrap().parse().unwrap()),
            );
            pipeline.step(&mut state, &sample);
            rows.next();
        }
        assert_eq!(pipeline.tick(&mut state), *voice, "tick {place}");
    }
}

#[test]
fn strong_sink_is_a_steady_tone() {
    let mut bench = Bench::climbing(-3.0);
    bench.run(20.0);
    let (share, pitch, _) = bench.hear(5.0);
    assert!(share > 0.99 && (385.0..433.0).contains(&pitch), "{share} {pitch}");
}

#[test]
fn the_mode_button_cycles_through_the_modes_and_each_has_its_sound() {
    let mut bench = Bench::climbing(0.0);
    bench.run(5.0);
    for (mode, ticks) in [(SoundMode::Netto, 2), (SoundMode::Speed, 3), (SoundMode::Climb, 1)] {
        bench.heard.clear();
        bench.press(Pressed { mode: true, ..Pressed::default() }, 0.2);
        bench.run(0.5);
        assert_eq!(bench.instrument.settings().tone.mode, mode);
        let begins = bench.heard.windows(2).filter(|pair| !pair[0].gate && pair[1].gate).count();
        assert_eq!(begins, ticks, "{mode:?}");
    }
}

#[test]
fn a_sensor_absent_at_the_start_gives_a_fault_sound_and_light_until_it_appears() {
    let mut bench = Bench::climbing(2.0);
    bench.trouble(Trouble::Gone);
    bench.run(4.0);
    assert!(bench.text.contains("static: no sensor found: no answer"), "{}", bench.text);
    assert!(bench.text.contains(" s no reading"), "{}", bench.text);
    bench.run(5.0);
    let (share, pitch, _) = bench.hear(30.0);
    assert!(
        (0.02..0.2).contains(&share) && pitch < 400.0,
        "the core's call, twice: {share} {pitch}"
    );
    assert_eq!(bench.blinks(), 8);
    bench.trouble(Trouble::None);
    bench.text.clear();
    bench.run(10.0);
    assert!(
        bench.text.contains("static: ms5611 at 0x77 is back")
            || bench.text.contains("found ms5611"),
        "{}",
        bench.text
    );
    assert!(bench.text.contains("reading again"), "{}", bench.text);
    let (_, pitch, beeps) = bench.hear(10.0);
    assert!((pitch - 888.0).abs() < 20.0 && beeps > 15, "{pitch} {beeps}");
}

#[test]
fn a_sensor_lost_in_a_climb_falls_silent_then_warns_then_beeps_again() {
    let mut bench = Bench::climbing(2.0);
    bench.run(20.0);
    bench.trouble(Trouble::Gone);
    bench.text.clear();
    bench.run(2.5);
    assert!(bench.text.contains("static: ms5611 at 0x77 lost: no answer"), "{}", bench.text);
    bench.run(2.0);
    let (share, pitch, _) = bench.hear(30.0);
    assert!(
        (0.02..0.2).contains(&share) && pitch < 400.0,
        "nothing sounds like climb: {share} {pitch}"
    );
    bench.trouble(Trouble::None);
    bench.run(8.0);
    let (_, pitch, beeps) = bench.hear(10.0);
    assert!((pitch - 888.0).abs() < 20.0 && beeps > 15, "{pitch} {beeps}");
}

#[test]
fn a_frozen_sensor_is_silent_and_warns() {
    let mut bench = Bench::climbing(2.0);
    bench.run(20.0);
    bench.trouble(Trouble::Frozen);
    bench.text.clear();
    bench.run(4.0);
    assert!(bench.text.contains("lost: repeats one value"), "{}", bench.text);
    let (share, pitch, _) = bench.hear(30.0);
    assert!((0.02..0.2).contains(&share) && pitch < 400.0, "{share} {pitch}");
    bench.trouble(Trouble::None);
    bench.run(10.0);
    assert!(bench.hear(5.0).2 > 7);
}

#[test]
fn a_stuck_bus_is_freed_and_a_short_is_reported() {
    let mut bench = Bench::climbing(2.0);
    bench.run(20.0);
    bench.bus.is_stuck = true;
    bench.run(1.0);
    assert!(!bench.bus.is_stuck);
    assert!(!bench.text.contains("I2C bus"), "a short hang is not reported");
    bench.clocks_free = false;
    bench.bus.is_stuck = true;
    bench.run(5.0);
    assert!(bench.text.contains("I2C bus: stuck; nine clocks did not free it"), "{}", bench.text);
    assert!(bench.text.contains("lost: a bus line is held low"), "{}", bench.text);
    bench.clocks_free = true;
    bench.run(5.0);
    assert!(bench.text.contains("I2C bus: free again"), "{}", bench.text);
}

#[test]
fn buttons_change_volume_and_mute_and_a_press_sounds() {
    let mut bench = Bench::climbing(2.0);
    bench.run(15.0);
    let volume = |bench: &Bench| bench.instrument.settings().tone.volume;
    let button = Pressed { volume: true, ..Pressed::default() };
    let mut found = Vec::new();
    for _ in 0..6 {
        bench.heard.clear();
        bench.press(button, 0.2);
        assert!(
            bench.heard.iter().any(|voice| voice.gate && voice.pitch.0 == 1_000.0),
            "a press is heard"
        );
        found.push(volume(&bench));
    }
    assert_eq!(found, [10.0, 2.0, 4.0, 6.0, 8.0, 10.0]);
    bench.press(button, 3.3);
    assert_eq!(volume(&bench), 2.0, "held, it becomes quieter and never silent");
    assert!(bench.hear(5.0).0 > 0.3, "it still beeps, from where the air is");
    bench.press(Pressed { mute: true, ..Pressed::default() }, 0.2);
    assert!(bench.hear(5.0).0 < 0.01);
    assert_eq!(bench.blinks(), 2, "and it shows");
    bench.press(button, 0.2);
    assert!(bench.hear(5.0).0 > 0.3, "louder is heard again");
    bench.press(Pressed { mute: true, ..Pressed::default() }, 0.2);
    bench.run(301.0);
    assert!(bench.hear(5.0).0 > 0.3, "a mute that was forgotten ends by itself");
    bench.heard.clear();
}

#[test]
fn the_sound_has_faded_before_a_save_begins_and_is_back_after_it() {
    let mut bench = Bench::climbing(2.0);
    bench.run(15.0);
    bench.instrument.receive(Port::Uart, b"save\n");
    // Not while it may still sound.
    assert!(bench.instrument.take_save().is_none());
    for tick in 1..40 {
        let voice = bench.instrument.tick(bench.instrument.now);
        assert!(!voice.gate, "tick {tick}");
        if bench.instrument.take_save().is_some() {
            assert!(tick >= 15, "a save after {tick} ticks of silence");
        }
    }
    bench.instrument.saved(Ok(()));
    let sounds = (0..500).any(|_| bench.instrument.tick(bench.instrument.now).gate);
    assert!(sounds, "it beeps again");
}

#[test]
fn a_low_battery_warns_once_a_minute_and_not_below_half_a_volt() {
    let mut bench = Bench::climbing(0.0);
    bench.run(15.0);
    bench.battery_mv = Some(3_300);
    bench.text.clear();
    bench.run(130.0);
    assert_eq!(bench.text.matches("battery low: 3.30 V").count(), 2, "{}", bench.text);
    assert!(bench.ask("selftest").contains("battery: 3.30 V, low"));
    bench.battery_mv = Some(20);
    bench.run(30.0);
    assert!(bench.ask("selftest").contains("battery: none measured"));
}

#[test]
fn a_lost_differential_sensor_is_reported_and_sounded_and_height_continues() {
    let mut bus = FakeBus::new(Climb { mps: 0.0 });
    bus.ms4525 = Some(FakeMs4525::default());
    let mut bench = Bench::of(bus, Settings::default());
    bench.run(15.0);
    assert!(bench.ask("reading").contains("total energy electronic"));
    bench.bus.ms4525 = None;
    bench.heard.clear();
    bench.run(5.0);
    assert!(
        bench.text.contains("differential: ms4525do at 0x28 lost: no answer"),
        "{}",
        bench.text
    );
    assert!(
        bench.text.contains("its sensor is missing; pitch inputs show in the reading"),
        "{}",
        bench.text
    );
    assert!(bench.heard.iter().any(|voice| voice.gate), "it is heard");
    assert!(bench.instrument.reading().unwrap().values.is_some());
}

#[test]
fn a_probe_on_a_second_barometer_compensates() {
    let mut bus = FakeBus::new(Climb { mps: 1.0 });
    bus.ms5611[1] = Some(FakeMs5611::new(0x76, Connected::Second));
    let device = DeviceSettings {
        second_barometer: chirrup_core::SecondBarometer::Probe,
        ..DeviceSettings::default()
    };
    let mut bench = Bench::of(bus, Settings { device, ..Settings::default() });
    bench.run(15.0);
    let said = bench.ask("reading");
    assert!(said.contains("total energy probe") && said.contains("status ok"), "{said}");
}

#[test]
fn the_self_test_names_every_sensor_with_its_figures() {
    let mut bench = Bench::climbing(0.5);
    bench.run(1.0);
    assert!(bench.ask("selftest").contains("# result: not yet"));
    bench.run(12.0);
    assert!(bench.text.contains("self-test: passed"), "{}", bench.text);
    let said = bench.ask("selftest");
    let sensor = said.lines().find(|line| line.starts_with("# static: ")).expect("it is there");
    assert!(
        sensor.starts_with("# static: ms5611 at 0x77, 50.00 samples/s, jitter 0 us rms, noise 0."),
        "{sensor}"
    );
    assert!(sensor.ends_with(" Pa rms, 20.0 C"), "{sensor}");
    assert!(
        said.contains(
            "# second: none, as set in device.second_barometer\n# differential: none found\n"
        ),
        "{said}"
    );
    assert!(said.ends_with("# result: passed\n# ok\n"), "{said}");
    bench.trouble(Trouble::Gone);
    bench.run(2.0);
    assert!(
        bench.ask("selftest").contains("# static: ms5611 at 0x77 lost: no answer")
            || bench.ask("selftest").contains("lost: no answer")
    );
    assert!(bench.ask("selftest").contains("# result: failed: no static pressure\n# ok\n"));
}

fn with_imu(mps: f64) -> Bench {
    let mut bus = FakeBus::new(Climb { mps });
    bus.imu = Some(FakeImu::new(FakeImuKind::Lsm6dso, 0x6A));
    Bench::of(bus, Settings::default())
}

#[test]
fn the_self_test_knows_the_inertial_sensor() {
    let mut bench = Bench::climbing(0.5);
    bench.run(13.0);
    assert!(bench.ask("selftest").contains("\n# inertial: none found\n"));
    let mut bench = with_imu(0.5);
    bench.run(13.0);
    assert!(bench.text.contains("inertial: found lsm6dso at 0x6a"), "{}", bench.text);
    assert!(bench.text.contains("self-test: passed"), "{}", bench.text);
    let said = bench.ask("selftest");
    let sensor = said.lines().find(|line| line.starts_with("# inertial: ")).expect("it is there");
    let begins = "# inertial: lsm6dso at 0x6a, 208.0 readings/s, force 9.8";
    assert!(sensor.starts_with(begins), "{sensor}");
    assert!(sensor.ends_with(" deg/s rms, 25.0 C, own test passed"), "{sensor}");
    assert!(sensor.contains(" m/s2, noise 0.01"), "{sensor}");
    bench.bus.imu.as_mut().unwrap().trouble = Trouble::Gone;
    bench.run(1.0);
    assert!(bench.text.contains("inertial: lsm6dso at 0x6a lost: no answer"), "{}", bench.text);
    let said = bench.ask("selftest");
    assert!(said.contains("# result: failed: the inertial sensor was lost"), "{said}");
    assert!(said.contains("# inertial: lsm6dso at 0x6a lost: no answer"), "{said}");
    bench.bus.imu.as_mut().unwrap().trouble = Trouble::None;
    bench.run(3.0);
    assert!(bench.text.contains("inertial: lsm6dso at 0x6a is back"), "{}", bench.text);
}

#[test]
fn the_inertial_reading_says_whether_it_is_trusted_and_why_not() {
    let mut bench = Bench::climbing(0.0);
    bench.run(2.0);
    let said = bench.ask("inertial");
    assert!(said.starts_with("# no sensor found\n# mounting: "), "{said}");
    let mut bench = with_imu(0.0);
    bench.run(2.0);
    let said = bench.ask("inertial");
    assert!(said.starts_with("# no reading of it yet; it needs an airspeed\n"), "{said}");
    bench.bus.ms4525 = Some(FakeMs4525::default());
    let mut bench = Bench::of(bench.bus, Settings::default());
    bench.run(30.0);
    let said = bench.ask("inertial");
    assert!(
        said.starts_with("# trusted; it sounds\n# share of what sounds 100 %; climb "),
        "{said}"
    );
    assert!(said.contains(" m/s, load 1.0"), "{said}");
    assert!(said.contains("\n# vibration 0.01 m/s2 rms, largest force of an axis 9.8"), "{said}");
    assert!(said.contains("\n# mounting: the instrument finds it out in flight\n"), "{said}");
    assert!(said.ends_with("\n# satellites: no receiver found\n# ok\n"), "{said}");
    bench.bus.imu.as_mut().unwrap().noise = (12.0, 0.0);
    bench.run(3.0);
    let event = "inertial sensor: not trusted (shaken); the pressures sound alone";
    assert!(bench.text.contains(event), "{}", bench.text);
    let said = bench.ask("inertial");
    assert!(
        said.starts_with("# not trusted: shaken; it vibrates too much; put something"),
        "{said}"
    );
    assert!(said.contains("\n# share of what sounds 0 %;"), "{said}");
    assert!(bench.ask("inertial = off").contains("# ok"));
    assert!(bench.ask("inertial").starts_with("# off, as set in inertial\n"));
}

#[test]
fn a_deaf_axis_and_a_sensor_of_another_range_fail_the_self_test() {
    let mut bench = with_imu(0.0);
    bench.bus.imu.as_mut().unwrap().deaf_axis = Some(4);
    bench.run(13.0);
    let said = "self-test: failed: the inertial sensor failed its own test, or was moved";
    assert!(bench.text.contains(said), "{}", bench.text);
    let mut bench = with_imu(0.0);
    bench.bus.imu.as_mut().unwrap().gain = 0.5;
    bench.run(13.0);
    assert!(
        bench.text.contains("self-test: failed: the inertial sensor does not feel gravity"),
        "{}",
        bench.text
    );
}

#[test]
fn the_log_has_the_inertial_columns_from_the_first_sample_with_them_on() {
    let mut bench = with_imu(1.5);
    bench.instrument.receive(Port::Usb, b"log on\n");
    bench.run(10.0);
    let lines: Vec<&str> = bench.text.lines().filter(|line| !line.starts_with('#')).collect();
    let places: Vec<usize> = lines
        .iter()
        .enumerate()
        .filter(|(_, line)| line.starts_with("time_us"))
        .map(|(n, _)| n)
        .collect();
    let [0, second] = places[..] else { panic!("{places:?}") };
    // It is found and has tested itself within a second.
    assert!((5..50).contains(&second), "{second}");
    assert!(lines[..second].iter().all(|line| line.split(',').count() == 6));
    assert!(lines[second..].iter().all(|line| line.split(',').count() == 16));
    assert!(lines[second + 1..].iter().all(|line| !line.ends_with(",,") && line.contains(",9.")));
    assert_eq!(lines.last().and_then(|line| line.split(',').nth(5)), Some("0"), "none dropped");
    assert!(bench.ask("log on").contains("gyro_deviation_radps\n"), "at once the next time");
}

#[test]
fn a_satellite_receiver_is_heard_logged_and_missed() {
    let mut bench = Bench::climbing(0.0);
    bench.run(4.0);
    let (rate, _) = bench.instrument.satellites(bench.now);
    assert_eq!(rate, 9_600, "the first rate was silent for three seconds");
    assert!(bench.ask("selftest").contains("\n# satellites: no receiver found\n"));
    bench.ask("log on");
    let velocity = Velocity { north_mmps: 27_000, east_mmps: -1_500, down_mmps: 250 };
    let mut text = String::new();
    for _ in 0..25 {
        bench.instrument.satellites_say(bench.now, &crate::gnss::tests::message(velocity));
        bench.run(0.2);
        text.push_str(&core::mem::take(&mut bench.text));
    }
    assert!(text.contains("satellites: the receiver is heard\n"), "{text}");
    assert!(text.contains("satellites: it was 2026-07-14 11:22:33 UTC a moment ago\n"), "{text}");
    let with = text.lines().filter(|line| line.contains(",27.000,-1.500,0.250,0.1")).count();
    assert_eq!(with, 25, "each velocity in one row: {text}");
    assert_eq!(text.matches(",gnss_age_s\n").count(), 1, "one longer header");
    bench.ask("log off");
    assert!(bench.ask("selftest").contains("\n# satellites: 25 velocities so far\n"));
    for _ in 0..70 {
        bench.instrument.satellites(bench.now);
        bench.run(0.1);
    }
    assert!(bench.text.contains("satellites: the receiver is silent\n"), "{}", bench.text);
    assert!(bench.ask("selftest").contains("\n# satellites: the receiver is silent\n"));
}

#[test]
fn settings_are_shown_set_rejected_and_collected() {
    let mut bench = Bench::climbing(0.0);
    bench.run(3.0);
    assert_eq!(bench.ask("settings response"), "# response_s = 1\n# ok\n");
    assert_eq!(bench.ask("response_s = 0.6"), "# ok\n");
    assert_eq!(bench.ask("settings response_s"), "# response_s = 0.6\n# ok\n");
    assert_eq!(bench.ask("response_s = 99"), "# error: response_s is 99, expected 0.1 to 10\n");
    assert_eq!(bench.ask("device.log_hz = 99"), "# error: device.log_hz is 99, expected 0 to 50\n");
    assert_eq!(
        bench.ask("responce_s = 1"),
        "# error: there is no setting responce_s; settings lists them all\n"
    );
    assert_eq!(bench.ask("commit"), "# error: no changes collected; begin starts that\n");
    // One by one these would be rejected: the thresholds must not cross.
    assert!(
        bench.ask("tone.sink_from_mps = 0.3").starts_with("# error: tone.sink_from_mps is 0.3")
    );
    for line in ["begin", "tone.sink_from_mps = -0.35", "tone.climb_from_mps = -0.1"] {
        let gathered = if line == "begin" { "" } else { "# collected; commit applies it\n" };
        assert_eq!(bench.ask(line), format!("{gathered}# ok\n"), "{line}");
    }
    assert!(bench.ask("commit").starts_with("# "));
    bench.ask("begin");
    bench.ask("response_s = 50");
    assert!(bench.ask("commit").starts_with("# error: response_s is 50"));
    assert_eq!(bench.ask("settings response_s"), "# response_s = 0.6\n# ok\n");
    assert_eq!(bench.ask("defaults"), "# ok\n");
    assert_eq!(bench.instrument.settings(), &Settings::default());
    let all = bench.ask("settings");
    assert_eq!(all.lines().last(), Some("# ok"));
    assert!(all.contains(
        "# tone.climb = [\n\
         #     { climb_mps = 0.2, pitch_hz = 650, cadence_hz = 1.43, beep_ms = 349.6 },\n"
    ));
}

#[test]
fn a_save_is_answered_when_done_and_a_failure_is_reported() {
    let mut bench = Bench::climbing(0.0);
    bench.run(3.0);
    assert_eq!(bench.instrument.take_save(), None);
    bench.ask("response_s = 0.6");
    assert_eq!(bench.ask("save"), "");
    let wanted = bench.instrument.take_save().expect("it is wanted");
    assert_eq!(wanted.filter.response_s, 0.6);
    assert_eq!(bench.instrument.take_save(), None, "once is enough");
    bench.instrument.saved(Ok(()));
    bench.run(0.1);
    assert_eq!(core::mem::take(&mut bench.text), "# ok\n");
    bench.ask("save");
    bench.instrument.take_save();
    bench.instrument.saved(Err(SaveError::Flash));
    bench.run(0.1);
    assert_eq!(bench.text, "# error: the flash write failed; the old settings are kept\n");
}

#[test]
fn what_cannot_be_saved_in_flight_is_said_and_saved_while_muted() {
    let mut bench = Bench::climbing(2.0);
    assert!(bench.instrument.may_erase(), "not launched yet");
    bench.run(15.0);
    assert!(!bench.instrument.may_erase(), "in flight and heard");
    bench.ask("save");
    bench.instrument.take_save();
    bench.instrument.saved(Err(SaveError::NotErased));
    bench.run(0.1);
    assert!(core::mem::take(&mut bench.text).contains("save on the ground or while muted"));
    bench.press(Pressed { volume: true, ..Pressed::default() }, 0.2);
    bench.run(6.0);
    assert!(bench.instrument.take_save().is_some());
    bench.instrument.saved(Err(SaveError::NotErased));
    bench.run(60.0);
    assert_eq!(bench.text.matches("the volume is saved on the ground").count(), 1);
    assert_eq!(bench.instrument.take_save(), None, "it would be refused again");
    bench.press(Pressed { mute: true, ..Pressed::default() }, 0.2);
    bench.run(0.5);
    assert!(bench.instrument.may_erase());
    let wanted = bench.instrument.take_save().expect("now it may");
    assert_eq!(wanted.tone.volume, 10.0);
}

#[test]
fn changes_by_buttons_are_saved_by_themselves_and_tried_settings_are_not() {
    let mut bench = Bench::climbing(0.0);
    bench.run(3.0);
    bench.ask("response_s = 0.6");
    bench.press(Pressed { volume: true, ..Pressed::default() }, 0.2);
    bench.press(Pressed { mode: true, ..Pressed::default() }, 0.2);
    bench.run(4.0);
    assert_eq!(bench.instrument.take_save(), None, "perhaps another press comes");
    bench.run(2.0);
    let wanted = bench.instrument.take_save().expect("now it is time");
    let tone = ToneSettings { volume: 10.0, ..ToneSettings::default() };
    assert_eq!(
        wanted,
        Settings { tone, ..Settings::default() },
        "neither the mode nor the setting that was tried"
    );
    bench.instrument.saved(Ok(()));
    bench.run(10.0);
    assert_eq!(bench.instrument.take_save(), None, "once is enough");
    // Settings of another version are not overwritten by a press.
    let boot = Boot {
        loaded: Loaded::defaults(Origin::OtherVersion),
        now: bench.now,
        ..boot(Settings::default())
    };
    bench.instrument = Instrument::new(boot).expect("the defaults are good");
    bench.press(Pressed { volume: true, ..Pressed::default() }, 0.2);
    bench.run(10.0);
    assert_eq!(bench.instrument.take_save(), None);
}

#[test]
fn the_log_is_a_trace_with_answers_in_between_as_comments() {
    let mut bench = Bench::climbing(1.0);
    bench.run(15.0);
    let first = bench.ask("log 10");
    assert!(first.starts_with(&format!("# ok\n{HEADER}\n")), "{first}");
    bench.text.clear();
    bench.instrument.receive(Port::Usb, b"settings\nselftest\nhelp\nnonsense\n");
    bench.run(10.0);
    let rows: Vec<&str> = bench.text.lines().filter(|line| !line.starts_with('#')).collect();
    assert_eq!(rows.len(), 100);
    for pair in rows.windows(2) {
        let time = |row: &str| row.split(',').next().unwrap().parse::<i64>().unwrap();
        assert_eq!(time(pair[1]) - time(pair[0]), 100_000);
    }
    assert!(
        rows.iter()
            .all(|row| row.split(',').count() == HEADER.split(',').count() && row.ends_with(",0"))
    );
    assert!(bench.text.contains("# error: unknown command; help lists them"));
    assert_eq!(bench.ask("log off").lines().last(), Some("# ok"));
    bench.run(1.0);
    assert_eq!(bench.text, "");
}

#[test]
fn a_terminal_that_echoes_everything_causes_no_loop() {
    let mut bench = Bench::climbing(1.0);
    bench.ask("log on");
    bench.ask("help");
    bench.ask("nonsense");
    for _ in 0..200 {
        let said = core::mem::take(&mut bench.text);
        bench.instrument.receive(Port::Usb, said.as_bytes());
        bench.run(0.02);
    }
    assert!(!bench.text.contains("# error"), "{}", bench.text);
}

#[test]
fn a_tone_is_tried_out_for_three_seconds() {
    let mut bench = Bench::climbing(0.0);
    bench.run(5.0);
    bench.ask("tone 2");
    let (share, pitch, _) = bench.hear(2.0);
    assert!((pitch - 888.0).abs() < 1.0 && share > 0.4, "{pitch} {share}");
    bench.run(1.0);
    assert!(bench.hear(2.0).0 < 0.01);
    bench.ask("tone -4");
    let (share, pitch, beeps) = bench.hear(2.0);
    assert!((pitch - 385.0).abs() < 1.0 && share > 0.99 && beeps == 0, "{pitch} {share}");
}

#[test]
fn the_zero_of_the_dynamic_pressure_is_measured_at_rest() {
    let mut bus = FakeBus::new(Climb { mps: 0.0 });
    bus.ms4525 = Some(FakeMs4525::default());
    let mut bench = Bench::of(bus, Settings::default());
    bench.run(5.0);
    bench.ask("zero");
    bench.run(2.0);
    let zero = bench
        .text
        .strip_prefix("# device.dynamic_zero_pa = ")
        .and_then(|rest| rest.strip_suffix("\n# ok\n"));
    let zero: f64 = zero.unwrap_or_else(|| panic!("{}", bench.text)).parse().unwrap();
    assert!((zero - 400.0).abs() < 1.0, "{zero}");
    bench.ask("log 1");
    bench.run(2.0);
    let row = bench.text.lines().last().unwrap();
    let dynamic: f64 = row.split(',').nth(2).unwrap().parse().unwrap();
    assert!(dynamic.abs() < 2.0, "{row}");
    let mut bench = Bench::climbing(0.0);
    bench.run(3.0);
    bench.ask("zero");
    bench.run(2.0);
    assert_eq!(bench.text, "# error: no dynamic pressure is measured\n");
}

#[test]
fn the_reason_of_a_stop_is_in_the_self_test_and_the_greeting() {
    let panic = PanicRecord::of("panicked at src/main.rs:7:5: no bus");
    let loaded = Loaded::defaults(Origin::Damaged);
    let boot = Boot {
        panic: Some(panic),
        loaded,
        reset: ResetCause::Software,
        ..boot(Settings::default())
    };
    let mut bench = Bench::climbing(0.0);
    bench.instrument = Instrument::new(boot).expect("the defaults are good");
    bench.run(1.0);
    for text in [bench.text.clone(), bench.ask("selftest")] {
        let reason = "the last run stopped: panicked at src/main.rs:7:5: no bus";
        assert!(text.contains(reason), "{text}");
        assert!(text.contains("settings: the defaults; the saved ones are damaged"), "{text}");
    }
    bench.instrument.connected(Port::Usb);
    bench.run(0.1);
    assert!(
        bench.text.contains("#! chirrup ") && bench.text.contains("not certified"),
        "{}",
        bench.text
    );
}

#[test]
fn settings_out_of_range_do_not_stop_it_from_starting() {
    let mut settings = Settings::default();
    settings.filter.response_s = f32::NAN;
    let bench = Bench::of(FakeBus::new(Climb { mps: 0.0 }), settings);
    assert_eq!(bench.instrument.settings(), &Settings::default());
}

#[test]
fn the_watchdog_is_fed_only_while_both_bus_and_sound_run() {
    let mut bench = Bench::climbing(0.0);
    bench.run(1.0);
    let begun = bench.now;
    for tick in 0..1_000 {
        bench.instrument.tick(Micros(begun.0 + tick * TICK.0));
    }
    assert!(
        !bench.instrument.may_feed_watchdog(Micros(begun.0 + 2_000_000)),
        "the bus stands still"
    );
}

#[test]
fn a_timer_that_wraps_at_32_bits_changes_nothing_in_a_time_of_64() {
    let mut bench = Bench::climbing(2.0);
    bench.now = Micros((1_i64 << 32) - 10_000_000);
    bench.bus_due = bench.now;
    let boot = Boot { now: bench.now, ..boot(Settings::default()) };
    bench.instrument = Instrument::new(boot).expect("the defaults are good");
    bench.run(20.0);
    let (_, pitch, beeps) = bench.hear(5.0);
    assert!((pitch - 888.0).abs() < 20.0 && beeps > 7, "{pitch} {beeps}");
}

#[test]
fn no_input_at_a_port_panics_or_stops_the_answers() {
    let mut bench = Bench::climbing(0.0);
    let mut state = 1_u32;
    for _ in 0..2_000 {
        let bytes: Vec<u8> = (0..17)
            .map(|_| {
                state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
                (state >> 24) as u8
            })
            .collect();
        bench.instrument.receive(Port::Usb, &bytes);
        bench.listen(1_000);
    }
    bench.instrument.receive(Port::Usb, b"\n");
    bench.run(1.0);
    assert!(bench.ask("version").ends_with(&"# chirrup 0.1.0 on bench\n# ok\n".to_string()));
}

/// Things that may happen to an instrument, by number.
fn befall(bench: &mut Bench, event: u8) {
    const LINES: [&str; 12] = [
        "log on",
        "log off",
        "selftest",
        "settings",
        "help",
        "defaults",
        "begin",
        "commit",
        "zero",
        "save",
        "tone 4",
        "device.second_barometer = probe",
    ];
    let troubles =
        [Trouble::None, Trouble::Gone, Trouble::Spoilt, Trouble::Frozen, Trouble::Silent];
    match event {
        0..=4 => bench.trouble(troubles[usize::from(event)]),
        5 => bench.bus.is_stuck = true,
        6 => bench.clocks_free = !bench.clocks_free,
        7 => bench.pressed.volume = !bench.pressed.volume,
        8 => bench.pressed.mute = !bench.pressed.mute,
        9 => bench.pressed.mode = !bench.pressed.mode,
        10 => bench.battery_mv = Some(3_000),
        11 => bench.battery_mv = Some(0),
        12 => bench.instrument.connected(Port::Usb),
        13 => bench.instrument.saved(Err(SaveError::Flash)),
        14 => drop(bench.instrument.take_save()),
        15 => bench.bus.ms4525 = bench.bus.ms4525.is_none().then(FakeMs4525::default),
        other => bench
            .instrument
            .receive(Port::Usb, format!("{}\n", LINES[usize::from(other) % 12]).as_bytes()),
    }
}

proptest! {
    #![proptest_config(ProptestConfig {
        failure_persistence: None,
        cases: 16,
        ..ProptestConfig::default()
    })]

    #[test]
    fn it_survives_any_events_and_reads_again_afterwards(
        events in prop::collection::vec((0..40_u8, 1..40_u8), 1..20)
    ) {
        let mut bench = Bench::climbing(2.0);
        for (event, tenths) in events {
            befall(&mut bench, event);
            // Asserts that the watchdog may be fed all the time.
            bench.run(f64::from(tenths) / 10.0);
        }
        bench.trouble(Trouble::None);
        (bench.bus.is_stuck, bench.clocks_free) = (false, true);
        bench.pressed = Pressed::default();
        // Every requested save is carried out, as a board does it.
        for _ in 0..16 {
            let _ = bench.instrument.take_save();
            bench.instrument.saved(Ok(()));
            bench.run(1.0);
        }
        bench.ask("");
        let said = bench.ask("reading");
        prop_assert!(said.contains("# ok\n"), "{}", said);
        let values = bench.instrument.reading().and_then(|reading| reading.values);
        let good = values.is_some_and(|values| (values.vertical_speed.0 - 2.0).abs() < 1.0);
        prop_assert!(good, "{:?}", values);
    }
}

#[test]
fn it_fits_the_memory_of_a_small_board() {
    // Of 32 KiB with everything else; the figures are in docs/src/cost.md. It was 14 KiB before the
    // inertial sensor: its place, driver and means are 500 bytes; its filter and what judges it are
    // 2.3 KiB, of which 760 bytes are half of a covariance.
    let size = size_of::<Instrument>();
    assert!(size < 16 * 1_024 + 768, "{size} bytes");
}
