//! Gliders with planted delays and compensations, flown by the project's own machinery.

use chirrup::recording::Recording;
use chirrup::recording::track::Track;
use chirrup::sensed::sample_of;
use chirrup_core::EnergySource;
use chirrup_flight::physics::drag_law::{self, PolarPoint};
use chirrup_flight::plan::check;
use chirrup_flight::plan::flight::Flight;
use chirrup_flight::sensors::Sensors;
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};
use std::fmt::Write;

/// How it is flown.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
pub enum Kind {
    /// Pull-ups and push-overs in calm air.
    Calm,
    /// The same in gusts of up to 0.3 m/s, on a rough day 1 m/s.
    Gusts,
    /// Speed changes of a few m/s in such gusts, as a flight across country has.
    Mild,
    /// Along a street, slow in its lift and fast between.
    Dolphin,
}

impl Kind {
    pub const ALL: [Self; 4] = [Self::Calm, Self::Gusts, Self::Mild, Self::Dolphin];
}

/// A glider, what is wrong with it, and how it is flown.
#[derive(Clone, Debug)]
pub struct Planted {
    pub kind: Kind,
    pub source: EnergySource,
    pub rate_hz: u32,
    /// How late the airspeed is against the static pressure.
    pub late_ms: f64,
    /// The setting that corrects it.
    pub percent: f64,
    scenario: String,
    seed: u64,
}

/// Uniform random numbers.
struct Dice(ChaCha8Rng);

impl Dice {
    fn between(&mut self, least: f64, most: f64) -> f64 {
        least + (most - least) * f64::from(self.0.next_u32()) / f64::from(u32::MAX)
    }

    fn one_of<T: Copy>(&mut self, from: &[T]) -> T {
        from[(self.0.next_u32() as usize) % from.len()]
    }
}

impl Planted {
    /// The one of this number.
    pub fn of(seed: u64) -> Self {
        let mut dice = Dice(ChaCha8Rng::seed_from_u64(0x5eed_0000 + seed));
        let kind = dice.one_of(&[
            Kind::Calm,
            Kind::Calm,
            Kind::Calm,
            Kind::Gusts,
            Kind::Gusts,
            Kind::Gusts,
            Kind::Mild,
            Kind::Mild,
            Kind::Dolphin,
            Kind::Dolphin,
        ]);
        let rate_hz = dice.one_of(&[1, 2, 5, 10, 20, 50, 50, 50]);
        let is_probe = dice.between(0.0, 1.0) < 0.3;
        let late_ms = dice.between(-300.0, 1500.0);
        let position_error = dice.between(-0.03, 0.03);
        let coefficient = -dice.between(0.75, 1.2);
        let mut text = glider(&mut dice);
        legs(kind, &mut dice, &mut text);
        air(kind, &mut dice, &mut text);
        let noise = |dice: &mut Dice| dice.between(0.2, 1.5);
        let (static_pa, other_pa) = (noise(&mut dice), noise(&mut dice));
        let (static_s, late_s) =
            if late_ms < 0.0 { (-late_ms / 1e3, 0.0) } else { (0.0, late_ms / 1e3) };
        write!(text, "[sensors]\nrate_hz = {rate_hz}\n").expect("text");
        if is_probe {
            write!(
                text,
                "[sensors.static]\nnoise_pa = {static_pa}\n[sensors.dynamic]\nnoise_pa = \
                 {other_pa}\n[sensors.probe]\nnoise_pa = {other_pa}\ncoefficient = {coefficient}\n\
                 delay_s = {}\n",
                0.2 * late_s
            )
        } else {
            write!(
                text,
                "[sensors.static]\nnoise_pa = {static_pa}\ndelay_s = {static_s}\nposition_error = \
                 {position_error}\n[sensors.dynamic]\nnoise_pa = {other_pa}\ndelay_s = {late_s}\n"
            )
        }
        .expect("text");
        let percent = if is_probe {
            -100.0 / coefficient
        } else {
            100.0 * (1.0 + position_error) / (1.0 - position_error)
        };
        let source = if is_probe { EnergySource::Probe } else { EnergySource::Electronic };
        Self { kind, source, rate_hz, late_ms, percent, scenario: text, seed }
    }

    /// Flies it.
    pub fn fly(&self) -> Track {
        let (scenario, glider) =
            check::read("planted", &self.scenario).unwrap_or_else(|wrong| panic!("{wrong:?}"));
        let mut flight = Flight::new(&scenario, glider, self.seed);
        let mut sensors = Sensors::new(&scenario.sensors, &scenario.fault, self.seed);
        let mut recording = Recording::default();
        loop {
            if let Some(sensed) = sensors.take(&flight.moment()) {
                recording.samples.push(sample_of(&sensed));
            }
            if !flight.advance().unwrap_or_else(|crash| panic!("{crash:?}: {self:?}")) {
                return Track::of(&recording);
            }
        }
    }
}

/// A glider whose drag is up to 20 % off that of the usual polar, the part that grows with the
/// speed and the induced part each for itself.
fn glider(dice: &mut Dice) -> String {
    let usual = [(20.0, 0.67), (27.0, 0.74), (42.0, 1.85)]
        .map(|(speed_mps, sink_mps)| PolarPoint { speed_mps, sink_mps });
    let [a, b, c] = drag_law::through(&usual).expect("it is a polar");
    let (a, c) = (a * dice.between(0.8, 1.2), c * dice.between(0.8, 1.2));
    let mut text = String::from(
        "name = \"Planted\"\nabout = \"For a test.\"\n[glider]\nname = \"Test 15\"\npoints = [\n",
    );
    for point in usual {
        let speed = point.speed_mps;
        let sink = speed * (a * speed * speed + b + c / (speed * speed));
        writeln!(text, "{{ speed_mps = {speed}, sink_mps = {sink:.4} }},").expect("text");
    }
    let height = dice.between(1500.0, 3000.0);
    write!(
        text,
        "]\nreference_mass_kg = 360\nstall_mps = 17.5\n[start]\nheight_m = {height:.0}\nspeed_mps \
         = 28\n"
    )
    .expect("text");
    text
}

fn legs(kind: Kind, dice: &mut Dice, text: &mut String) {
    if kind == Kind::Dolphin {
        return;
    }
    let vigour = dice.between(0.0, 1.0);
    let pairs = if kind == Kind::Mild { 14 } else { 12 };
    for _ in 0..pairs {
        let (fast, slow, brisk, load) = if kind == Kind::Mild {
            (dice.between(29.0, 37.0), dice.between(23.0, 28.0), dice.between(0.5, 1.5), 1.5)
        } else {
            (
                dice.between(36.0, 50.0),
                dice.between(22.5, 28.0),
                1.2 + 2.0 * vigour + dice.between(0.0, 1.0),
                1.5 + vigour,
            )
        };
        for (phase, speed) in [("dive", fast), ("pull-up", slow)] {
            let lasts = dice.between(9.0, 18.0);
            writeln!(
                text,
                "[[leg]]\nphase = \"{phase}\"\nfor_s = {lasts:.1}\nspeed_mps = {speed:.1}\n\
                 acceleration_mps2 = {brisk:.2}\nmost_load = {load:.2}\nleast_load = {:.2}",
                1.1 - 0.5 * load
            )
            .expect("text");
        }
    }
}

fn air(kind: Kind, dice: &mut Dice, text: &mut String) {
    match kind {
        Kind::Calm => return,
        Kind::Dolphin => street(dice, text),
        Kind::Gusts | Kind::Mild => {}
    }
    // One in four on a rough day.
    let most = dice.one_of(&[0.3, 0.3, 0.3, 1.0]);
    let (gust, up) = (dice.between(0.0, most), dice.between(0.0, most));
    let (length, up_length) = (dice.between(80.0, 500.0), dice.between(80.0, 500.0));
    write!(
        text,
        "[turbulence]\ngust_rms_mps = {gust:.3}\ngust_length_m = {length:.0}\nup_rms_mps = \
         {up:.3}\nup_length_m = {up_length:.0}\n"
    )
    .expect("text");
}

/// Along a street, slow where it lifts and fast between, early or late by some of its spacing.
fn street(dice: &mut Dice, text: &mut String) {
    let (strength, spacing) = (dice.between(0.5, 1.5), dice.between(700.0, 2000.0));
    let (swell, off) = (dice.between(0.4, 1.0), dice.between(-0.1, 0.15));
    let brisk = dice.between(0.8, 2.5);
    for k in 0..(15_000.0 / spacing) as u32 {
        for (phase, end, least, most) in [("slow", 0.5, 23.0, 27.0), ("fast", 1.0, 34.0, 42.0)] {
            let (speed, end_m) = (dice.between(least, most), (f64::from(k) + end + off) * spacing);
            writeln!(
                text,
                "[[leg]]\nphase = \"{phase}\"\ntowards_m = [0, {end_m:.0}]\nspeed_mps = \
                 {speed:.1}\nacceleration_mps2 = {brisk:.2}"
            )
            .expect("text");
        }
    }
    write!(
        text,
        "[[street]]\neast_m = 0\nnorth_m = 0\ncourse_deg = 0\nstrength_mps = \
         {strength:.2}\nhalf_width_m = 400\nswell = {swell:.2}\nspacing_m = {spacing:.0}\ntop_m = \
         4000\n"
    )
    .expect("text");
}
