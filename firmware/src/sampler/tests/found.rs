//! Which sensors the sampler finds by itself, how soon, and what it makes of each.

use super::{Bench, Connected, FakeBus, Flight, Trouble, falling, lively};
use crate::sampler::Role;
use crate::slot::Condition;
use chirrup_core::{DeviceSettings, Micros, SecondBarometer};
use chirrup_sensors::bus::BusFault;
use chirrup_sensors::fakes::{Air, FakeBmp390, FakeBmp581, FakeDps310, FakeMs5611, FakeSdp3x};
use chirrup_sensors::sensor::{Fault, after};
use std::string::ToString;

/// A barometer that a bus may have.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Kind {
    Ms5611,
    Bmp390,
    Bmp581,
    Dps310,
}

impl Kind {
    const ALL: [Kind; 4] = [Kind::Ms5611, Kind::Bmp390, Kind::Bmp581, Kind::Dps310];

    fn name(self) -> &'static str {
        match self {
            Kind::Ms5611 => "ms5611",
            Kind::Bmp390 => "bmp390",
            Kind::Bmp581 => "bmp581",
            Kind::Dps310 => "dps310",
        }
    }

    /// The address by the pin that chooses: that of the static barometer, or that of the second.
    fn address(self, connected: Connected) -> u8 {
        let low = u8::from(connected == Connected::Second);
        if self == Kind::Bmp581 { 0x47 - low } else { 0x77 - low }
    }

    fn join<A: Air>(self, bus: &mut FakeBus<A>, address: u8, connected: Connected) {
        let place = usize::from(connected == Connected::Second);
        match self {
            Kind::Ms5611 => bus.ms5611[place] = Some(FakeMs5611::new(address, connected)),
            Kind::Bmp390 => bus.bmp390 = Some(FakeBmp390::new(address, connected)),
            Kind::Bmp581 => bus.bmp581[place] = Some(FakeBmp581::new(address, connected)),
            Kind::Dps310 => bus.dps310[place] = Some(FakeDps310::new(address, connected)),
        }
    }
}

/// How long the start sound lasts, about: found within it, nothing is missed.
const START_SOUND_MS: i64 = 1_000;

#[test]
fn each_barometer_is_found_at_either_address_and_sampled_fifty_times_a_second() {
    for kind in Kind::ALL {
        for wired in [Connected::Static, Connected::Second] {
            let address = kind.address(wired);
            let mut bus = FakeBus::empty(falling);
            kind.join(&mut bus, address, Connected::Static);
            let mut bench = Bench::new(&DeviceSettings::default(), bus);
            bench.run(START_SOUND_MS, true);
            let found = bench.samples.first().expect("found within the start sound");
            assert!(found.time.0 < 123_456 + 250_000, "{kind:?} at {address:#x}: {found:?}");
            let identity = bench.sampler.identity(Role::Static);
            assert_eq!(identity, Some((kind.name(), address)));
            let samples = bench.samples_of(2_000);
            assert_eq!(samples.len(), 100, "{kind:?}");
            for sample in samples {
                let error = sample.static_64ths_pa - falling(sample.time);
                assert!(error.abs() <= 2, "{kind:?}: {error} {sample:?}");
            }
        }
    }
}

#[test]
fn any_two_barometers_are_a_static_and_a_second_one() {
    let device =
        DeviceSettings { second_barometer: SecondBarometer::Probe, ..DeviceSettings::default() };
    for first in Kind::ALL {
        for second in Kind::ALL {
            if (first, second) == (Kind::Bmp390, Kind::Bmp390) {
                continue; // A fake bus has room for one.
            }
            let mut bus = FakeBus::empty(Flight);
            first.join(&mut bus, first.address(Connected::Static), Connected::Static);
            second.join(&mut bus, second.address(Connected::Second), Connected::Second);
            let mut bench = Bench::new(&device, bus);
            bench.run(START_SOUND_MS, true);
            assert!(bench.samples.len() > 30, "{first:?} {second:?}: {}", bench.samples.len());
            let samples = bench.samples_of(2_000);
            assert_eq!(samples.len(), 100, "{first:?} {second:?}");
            for sample in samples {
                let te = sample.te_64ths_pa.expect("the probe is there");
                // Their conversions are up to 4.6 ms apart, in which the pressure falls by 0.46 Pa
                // and may change by 1.5 Pa, the liveliness of this air.
                let apart = te - (sample.static_64ths_pa - 64 * 500);
                assert!(apart.abs() <= 2 + 96 + 30, "{first:?} {second:?}: {apart}");
            }
            let name = bench.sampler.identity(Role::Second).map(|(name, _)| name);
            assert_eq!(name, Some(second.name()));
        }
    }
}

#[test]
fn a_new_barometers_faults_are_named_and_end() {
    for kind in [Kind::Bmp581, Kind::Dps310] {
        for (trouble, fault) in [
            (Trouble::Gone, Fault::NoAnswer),
            (Trouble::Silent, Fault::NoResult),
            (Trouble::Frozen, Fault::Frozen),
        ] {
            let mut bus = FakeBus::empty(lively);
            kind.join(&mut bus, kind.address(Connected::Static), Connected::Static);
            let mut bench = Bench::new(&DeviceSettings::default(), bus);
            bench.run(3_000, true);
            let set = |bench: &mut Bench<_>, trouble| {
                let FakeBus { bmp581: [bmp581, _], dps310: [dps310, _], .. } = &mut bench.bus;
                bmp581.iter_mut().for_each(|device| device.trouble = trouble);
                dps310.iter_mut().for_each(|device| device.trouble = trouble);
            };
            set(&mut bench, trouble);
            bench.run(1_500, true);
            let condition = bench.sampler.condition(Role::Static);
            assert_eq!(condition, Some(Condition::Lost(fault)), "{kind:?} {trouble:?}");
            set(&mut bench, Trouble::None);
            bench.run(1_500, true);
            let condition = bench.sampler.condition(Role::Static);
            assert_eq!(condition, Some(Condition::Live), "{kind:?} {trouble:?}");
        }
    }
}

#[test]
fn a_spoilt_one_says_what_is_wrong() {
    for (kind, fault) in [(Kind::Bmp581, Fault::SaysFaulty), (Kind::Dps310, Fault::BadCalibration)]
    {
        let mut bus = FakeBus::empty(lively);
        kind.join(&mut bus, kind.address(Connected::Static), Connected::Static);
        bus.bmp581.iter_mut().flatten().for_each(|device| device.trouble = Trouble::Spoilt);
        bus.dps310.iter_mut().flatten().for_each(|device| device.trouble = Trouble::Spoilt);
        let mut bench = Bench::new(&DeviceSettings::default(), bus);
        bench.run(START_SOUND_MS, true);
        let condition = bench.sampler.condition(Role::Static);
        assert_eq!(condition, Some(Condition::Absent(fault)), "{kind:?}");
    }
}

/// Level at a static pressure and a dynamic one, both in Pa.
struct Level(i32, i32);

impl Air for Level {
    fn static_64ths_pa(&self, time: chirrup_core::Micros) -> i32 {
        self.0 * 64 + ((time.0 / 20_000) % 3) as i32
    }
    fn dynamic_64ths_pa(&self, time: chirrup_core::Micros) -> i32 {
        self.1 * 64 + ((time.0 / 20_000) % 5) as i32
    }
}

fn with_sdp3x(air: Level, address: u8, scale: i16) -> Bench<Level> {
    let mut bus = FakeBus::new(air);
    let mut device = FakeSdp3x::new(address);
    device.scale = scale;
    bus.sdp3x = Some(device);
    let mut bench = Bench::new(&DeviceSettings::default(), bus);
    bench.run(START_SOUND_MS, true);
    bench
}

#[test]
fn an_sdp3x_is_found_without_a_setting_and_gives_the_true_pressure_at_any_height() {
    for (address, scale, name) in [(0x21, 60, "sdp31"), (0x22, 20, "sdp33"), (0x23, 60, "sdp31")] {
        for static_pa in [101_325, 96_600, 70_000] {
            for dynamic in [0, 5, 250, -40] {
                let mut bench = with_sdp3x(Level(static_pa, dynamic), address, scale);
                let identity = bench.sampler.identity(Role::Differential);
                assert_eq!(identity, Some((name, address)));
                let samples = bench.samples_of(1_000);
                assert_eq!(samples.len(), 50);
                for sample in samples {
                    let found = sample.dynamic_64ths_pa.expect("it is there");
                    // Half a count at the lower pressure, and what this air moves by.
                    let error = f64::from(found) / 64.0 - f64::from(dynamic);
                    let allowed = 0.5 / f64::from(scale) * 1.4 + 6.0 / 64.0;
                    assert!(error.abs() < allowed, "{name} {static_pa} {dynamic}: {error}");
                }
            }
        }
    }
}

#[test]
fn beyond_its_range_there_is_no_airspeed_and_the_console_says_why() {
    for (scale, pascals) in [(60, 520), (60, 5_000), (20, 1_700), (20, 9_000)] {
        let mut bench = with_sdp3x(Level(101_325, 100), 0x21, scale);
        assert!(bench.samples_of(200).iter().all(|sample| sample.dynamic_64ths_pa.is_some()));
        bench.bus.air.1 = pascals;
        bench.run(100, true);
        let samples = bench.samples_of(1_000);
        assert_eq!(samples.len(), 50, "height goes on");
        assert!(samples.iter().all(|sample| sample.dynamic_64ths_pa.is_none()), "{pascals} Pa");
        let condition = bench.sampler.condition(Role::Differential);
        assert_eq!(condition, Some(Condition::Lost(Fault::BeyondRange)));
        bench.bus.air.1 = 100;
        bench.run(200, true);
        assert_eq!(bench.sampler.condition(Role::Differential), Some(Condition::Live));
    }
}

#[test]
fn an_sdp3x_that_measures_from_before_a_restart_is_found() {
    let bench = with_sdp3x(Level(101_325, 100), 0x21, 60);
    let bus = bench.bus;
    let mut again = Bench::new(&DeviceSettings::default(), bus);
    again.now = bench.now;
    again.run(START_SOUND_MS, true);
    assert_eq!(again.sampler.condition(Role::Differential), Some(Condition::Live));
}

#[test]
fn an_sdp3x_that_refuses_to_stop_is_found_however_the_board_says_so() {
    for refusal in [BusFault::Broken, BusFault::NoAnswer] {
        let mut bus = FakeBus::new(Level(101_325, 100));
        let mut device = FakeSdp3x::new(0x21);
        device.answer_to_stop_at_rest = Err(refusal);
        bus.sdp3x = Some(device);
        let mut bench = Bench::new(&DeviceSettings::default(), bus);
        bench.run(START_SOUND_MS, true);
        let condition = bench.sampler.condition(Role::Differential);
        assert_eq!(condition, Some(Condition::Live), "{refusal:?}");
    }
}

#[test]
fn an_sdp3x_of_any_product_is_told_by_its_scale_but_an_sdp8xx_is_refused() {
    for (product, is_found) in
        [(0x0301, true), (0x0303, true), (0x0311, true), (0x0302, false), (0x0401, false)]
    {
        let mut bus = FakeBus::new(Level(101_325, 100));
        let mut device = FakeSdp3x::new(0x21);
        device.product = product;
        bus.sdp3x = Some(device);
        let mut bench = Bench::new(&DeviceSettings::default(), bus);
        bench.run(START_SOUND_MS, true);
        let condition = bench.sampler.condition(Role::Differential);
        assert_eq!(condition == Some(Condition::Live), is_found, "{product:#06x}: {condition:?}");
    }
}

#[test]
fn an_sdp3x_with_wrong_checksums_gives_no_pressure() {
    let mut bench = with_sdp3x(Level(101_325, 100), 0x21, 60);
    bench.bus.sdp3x.as_mut().unwrap().trouble = Trouble::Spoilt;
    bench.run(100, true);
    assert!(bench.samples_of(500).iter().all(|sample| sample.dynamic_64ths_pa.is_none()));
    let condition = bench.sampler.condition(Role::Differential);
    assert_eq!(condition, Some(Condition::Lost(Fault::Broken)));
}

#[test]
fn a_dps310_whose_fuses_are_wrong_is_mended() {
    let mut bus = FakeBus::empty(falling);
    let mut device = FakeDps310::new(0x77, Connected::Static);
    device.has_wrong_fuses = true;
    bus.dps310[0] = Some(device);
    let mut bench = Bench::new(&DeviceSettings::default(), bus);
    bench.run(START_SOUND_MS, true);
    let latest = bench.sampler.slot(Role::Static).and_then(|slot| slot.latest()).unwrap();
    assert_eq!(latest.temperature_centicelsius, 2_008);
}

#[test]
fn an_spl07_is_refused_by_name_at_either_address() {
    for (address, second_barometer) in [
        (0x77, SecondBarometer::None),
        (0x76, SecondBarometer::None),
        (0x77, SecondBarometer::Probe),
    ] {
        let mut bus = FakeBus::empty(lively);
        let mut device = FakeDps310::new(address, Connected::Static);
        device.identity = 0x11;
        bus.dps310[0] = Some(device);
        let settings = DeviceSettings { second_barometer, ..DeviceSettings::default() };
        let mut bench = Bench::new(&settings, bus);
        bench.run(START_SOUND_MS, true);
        assert!(bench.samples.is_empty(), "{address:#x}");
        let Some(Condition::Absent(fault)) = bench.sampler.condition(Role::Static) else {
            panic!("{address:#x}: it is not there")
        };
        assert_eq!(fault.to_string(), "SPL07-003 or SPA06-003, not supported", "{address:#x}");
    }
}

#[test]
fn after_a_dip_of_the_supply_no_sample_is_wrong_and_all_is_well_within_a_second() {
    for kind in Kind::ALL {
        for part_of_a_frame in 0..60 {
            let mut bus = FakeBus::empty(falling);
            kind.join(&mut bus, kind.address(Connected::Static), Connected::Static);
            let mut bench = Bench::new(&DeviceSettings::default(), bus);
            bench.now.0 += 350 * part_of_a_frame;
            bench.run(3_000, true);
            bench.bus.dip_supply(bench.now);
            let mut samples = bench.samples_of(1_000);
            let after_a_second = bench.samples_of(1_000);
            assert_eq!(after_a_second.len(), 50, "{kind:?} {part_of_a_frame}");
            samples.extend(after_a_second);
            for sample in samples {
                let error_pa = (sample.static_64ths_pa - falling(sample.time)).abs() / 64;
                assert!(error_pa < 5, "{kind:?} {part_of_a_frame}: {error_pa} Pa, {sample:?}");
            }
            let condition = bench.sampler.condition(Role::Static);
            assert_eq!(condition, Some(Condition::Live), "{kind:?} {part_of_a_frame}");
        }
    }
}

#[test]
fn a_slow_sensor_still_gives_fifty_samples_a_second() {
    // Linux's driver allows a BMP581 15.97 ms, which are 1.4 of a typical conversion.
    for (kind, paces) in
        [(Kind::Bmp581, &[0.9, 1.0, 1.1, 1.15, 1.4][..]), (Kind::Dps310, &[0.9, 1.0, 1.1, 1.15])]
    {
        for &pace in paces {
            let mut bus = FakeBus::empty(lively);
            kind.join(&mut bus, kind.address(Connected::Static), Connected::Static);
            bus.bmp581.iter_mut().flatten().for_each(|device| device.pace = pace);
            bus.dps310.iter_mut().flatten().for_each(|device| device.pace = pace);
            let mut bench = Bench::new(&DeviceSettings::default(), bus);
            bench.run(START_SOUND_MS, true);
            assert_eq!(bench.samples_of(2_000).len(), 100, "{kind:?} {pace}");
        }
    }
}

#[test]
fn a_dps310_that_gives_no_temperature_any_more_is_lost_after_a_second() {
    let mut bus = FakeBus::empty(lively);
    bus.dps310[0] = Some(FakeDps310::new(0x77, Connected::Static));
    let mut bench = Bench::new(&DeviceSettings::default(), bus);
    bench.run(START_SOUND_MS, true);
    bench.bus.dps310[0].as_mut().unwrap().is_without_temperature = true;
    bench.run(900, true);
    assert_eq!(bench.sampler.condition(Role::Static), Some(Condition::Live));
    bench.run(600, true);
    let condition = bench.sampler.condition(Role::Static);
    assert_eq!(condition, Some(Condition::Lost(Fault::NoResult)));
}

#[test]
fn a_bmp581_is_found_however_the_bus_ends_its_reset() {
    // Data sheet BST-BMP581-DS004-02, page 66: a reset over I2C is not acknowledged. On a Pi every
    // refusal looks like no device.
    for ending in [Ok(()), Err(BusFault::Broken), Err(BusFault::NoAnswer)] {
        let mut bus = FakeBus::empty(falling);
        let mut device = FakeBmp581::new(0x47, Connected::Static);
        device.answer_to_reset = ending;
        bus.bmp581[0] = Some(device);
        let mut bench = Bench::new(&DeviceSettings::default(), bus);
        bench.run(START_SOUND_MS, true);
        assert!(bench.samples.len() > 40, "{ending:?}");
    }
}

/// A BMP581 on the static port and another one on a probe, which is late.
fn with_late_probe(change: impl Fn(&mut FakeBmp581)) -> Bench<fn(Micros) -> i32> {
    let mut bus = FakeBus::empty(lively as fn(Micros) -> i32);
    let mut late = FakeBmp581::new(0x46, Connected::Second);
    change(&mut late);
    bus.bmp581 = [Some(FakeBmp581::new(0x47, Connected::Static)), Some(late)];
    let device =
        DeviceSettings { second_barometer: SecondBarometer::Probe, ..DeviceSettings::default() };
    Bench::new(&device, bus)
}

#[test]
fn a_second_bmp581_that_starts_late_after_power_on_is_found_within_600_ms_of_its_start() {
    // The sheet's most is 2 ms (page 10); one of the maker's own boards took 300 ms
    // (community.bosch-sensortec.com, "BMP581 power up time").
    for late_ms in [0, 2, 16, 17, 25, 60, 300, 2_000] {
        let mut bench = with_late_probe(|_| {});
        let start = after(bench.now, Micros(late_ms * 1_000));
        bench.bus.bmp581[1].as_mut().unwrap().deaf_until = start;
        bench.run(late_ms + 600, true);
        let condition = bench.sampler.condition(Role::Second);
        assert_eq!(condition, Some(Condition::Live), "{late_ms} ms");
        let samples = bench.samples_of(1_000);
        assert!(samples.iter().all(|sample| sample.te_64ths_pa.is_some()), "{late_ms} ms");
    }
}

#[test]
fn a_second_bmp581_that_takes_long_to_restart_or_to_load_its_memory_is_found() {
    for (restart_ms, loading_ms) in [(2, 0), (3, 0), (16, 0), (20, 0), (2, 1), (2, 16), (20, 20)] {
        let mut bench = with_late_probe(|device| {
            device.restart = Micros(restart_ms * 1_000);
            device.loading = Micros(loading_ms * 1_000);
        });
        bench.run(200, true);
        let condition = bench.sampler.condition(Role::Second);
        assert_eq!(condition, Some(Condition::Live), "{restart_ms} ms and {loading_ms} ms");
    }
}

#[test]
fn a_second_bmp581_that_is_not_there_does_not_delay_the_first() {
    let first_sample = |bench: &mut Bench<fn(Micros) -> i32>| {
        let start = bench.now;
        bench.samples_of(200).first().map(|sample| sample.time.since(start))
    };
    let mut there = with_late_probe(|_| {});
    let mut gone = with_late_probe(|device| device.trouble = Trouble::Gone);
    let mut mute = with_late_probe(|device| device.restart = Micros(i64::MAX / 4));
    let of_there = first_sample(&mut there);
    assert!(of_there.is_some());
    assert_eq!(first_sample(&mut gone), of_there);
    assert_eq!(first_sample(&mut mute), of_there);
}
