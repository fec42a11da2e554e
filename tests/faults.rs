//! The fault catalogue, row by row: each fault is injected into flights with known air motion, and
//! the instrument's behaviour is compared with the row.
//!
//! **The measure of false lift.** A beep is justified while the glider's true rate of energy (rate
//! of height, for an instrument without total energy) has been above zero at some moment of the
//! last two seconds, the time for which the instrument holds its last reading when samples stop.
//! Beeps begin at 0.2 m/s and end at 0.1 m/s, so zero is that less a margin of 0.1 m/s. Unjustified
//! beeps with pauses of less than a second between them are one spell, pauses included. A fault
//! makes none where no spell is longer than without it; else its row says how long they are, and
//! no spell may be longer than 0.5 s where it does not.
//!
//! The flights fly in still and sinking air four times in five, pull up and push over all the time,
//! and thermals end while a fault lasts.

mod in_flight;
mod inertial;
mod rough;
mod static_line;

use crate::air::white;
use crate::support::{chirrup, complaint, folder, path, pressure_pa, run};
use chirrup::inject::catalogue::{CATALOGUE, Entry, Kind, Lift, Needs, Place, TRACE_KINDS, entry};
use chirrup::inject::{Chain, Injected, Injection, list, table};
use chirrup_core::{
    Meaning, Micros, Pascal, Pipeline, PipelineState, Reading, Sample, Settings, Speed, Status,
    Voice,
};
use chirrup_recordings::DEMO_FLIGHT;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

/// How long before a beep the true rate may have been above zero.
const HELD_S: f64 = 2.0;
/// A spell of unjustified beeps may be so long.
const LONGEST_SPELL_S: f64 = 0.5;
/// Where a fault makes none, it may be so long: 0.15 s, which 190 flights have without a fault.
const NO_SPELL_S: f64 = 0.16;
/// Pauses shorter than this do not end a spell.
const PAUSE_S: f64 = 1.0;
const TICK_S: f64 = 0.002;
/// Length of a flight, and when its fault begins and ends.
const FLIGHT_S: f64 = 70.0;
const FAULT_FROM_S: std::ops::Range<f64> = 20.0..35.0;
const FAULT_S: f64 = 20.0;

/// A flight with known air motion.
struct Flight {
    samples: Vec<Sample>,
    /// True rate of energy and of height at each sample.
    truth: Vec<(f64, f64)>,
    step_us: i64,
    needs: Needs,
    fault_from_s: f64,
}

/// Values drawn again after intervals of random length, about `every_s`: each with the time from
/// which it holds.
fn levels(
    rng: &mut ChaCha8Rng,
    every_s: f64,
    draw: impl Fn(&mut ChaCha8Rng) -> f64,
) -> Vec<(f64, f64)> {
    let (mut t, mut all) = (0.0, Vec::new());
    while t < FLIGHT_S {
        all.push((t, draw(rng)));
        t += every_s * (0.4 + 1.2 * rng.random::<f64>());
    }
    all
}

fn at(levels: &[(f64, f64)], t: f64) -> f64 {
    levels.iter().rev().find(|(from, _)| *from <= t).map_or(0.0, |(_, level)| *level)
}

impl Flight {
    /// A flight of `seed`: what it can sense, its rate, its air and its pilot are drawn.
    fn new(seed: u64, needs: Needs) -> Self {
        let mut rng = ChaCha8Rng::seed_from_u64(seed);
        let rate_hz = [20.0_f64, 50.0][(seed % 2) as usize];
        let air = levels(&mut rng, 12.0, |rng| match rng.random_range(0..10) {
            0..5 => 0.0,
            5..8 => -2.5 * rng.random::<f64>(),
            _ => 1.5 + 3.0 * rng.random::<f64>(),
        });
        let speeds = levels(&mut rng, 9.0, |rng| 23.0 + 17.0 * rng.random::<f64>());
        let (dt, mut lift, mut speed, mut accelerates) = (1.0 / rate_hz, 0.0, speeds[0].1, 0.0_f64);
        let mut energy_height = 1200.0 + 800.0 * rng.random::<f64>();
        let mut flight = Self {
            samples: Vec::new(),
            truth: Vec::new(),
            step_us: (1e6 * dt).round() as i64,
            needs,
            fault_from_s: FAULT_FROM_S.start
                + (FAULT_FROM_S.end - FAULT_FROM_S.start) * rng.random::<f64>(),
        };
        for step in 0..(FLIGHT_S * rate_hz) as i64 {
            let t = step as f64 * dt;
            lift += (at(&air, t) - lift) * dt / 0.7;
            // The pilot pulls and pushes: a speed that is approached within some seconds, by 4 m/s2
            // at most.
            let wanted = ((at(&speeds, t) - speed) / 2.0).clamp(-4.0, 4.0);
            accelerates += (wanted - accelerates) * dt / 0.5;
            speed += accelerates * dt;
            let sink = 0.65 + 0.002 * (speed - 25.0) * (speed - 25.0);
            let energy_rate = lift - sink;
            energy_height += energy_rate * dt;
            let height = energy_height - speed * speed / (2.0 * 9.80665);
            flight.truth.push((energy_rate, energy_rate - speed * accelerates / 9.80665));
            flight.samples.push(sample(
                &mut rng,
                Micros(step * flight.step_us),
                height,
                speed,
                needs,
            ));
        }
        flight
    }

    /// Whether a beep at `t` is justified: `stick` where the rate of height counts as well.
    fn justifies(&self, t: f64, stick: bool) -> bool {
        let rate = 1e6 / self.step_us as f64;
        let last = ((t * rate) as usize + 1).min(self.truth.len());
        let first = (((t - HELD_S) * rate).max(0.0) as usize).min(last);
        let by_height = stick || self.needs == Needs::Static;
        self.truth[first..last].iter().any(|(energy, height)| {
            (*energy > 0.0 && self.needs != Needs::Static) || (by_height && *height > 0.0)
        })
    }
}

/// The values of good sensors: noise of 0.8 Pa in each line; the formulas are the isentropic ones,
/// not the core's.
fn sample(rng: &mut ChaCha8Rng, time: Micros, height: f64, speed: f64, needs: Needs) -> Sample {
    let pressure = pressure_pa(height);
    let temperature = 288.15 - 0.0065 * height;
    let mach_squared = speed * speed / (1.4 * 287.05287 * temperature);
    let dynamic = pressure * ((1.0 + 0.2 * mach_squared).powf(3.5) - 1.0);
    let mut noisy = |pressure: f64| Pascal((pressure + 0.8 * white(rng)) as f32);
    let mut sample = Sample::of_static(time, noisy(pressure));
    match needs {
        Needs::Static => {}
        Needs::Airspeed => sample.speed = Some(Speed::Dynamic(noisy(dynamic))),
        Needs::Probe => {
            sample.te_pressure = Some(noisy(pressure - 0.5 * 1.4 * pressure * mach_squared))
        }
        // In flights of their own: see `inertial`.
        Needs::Inertial => {}
    }
    sample
}

/// The instrument's output for a flight.
struct Heard {
    /// Each reading, with the time in the flight's own time at which it came.
    readings: Vec<(f64, Reading)>,
    /// The longest spell of unjustified beeps, in seconds.
    spell_s: f64,
    /// The same where the rate of height counts as well.
    stick_spell_s: f64,
    /// Beeps were heard at all, in seconds.
    beeps_s: f64,
}

/// The longest spell so far.
#[derive(Default)]
struct Spell {
    began_s: f64,
    last_s: Option<f64>,
    longest_s: f64,
}

impl Spell {
    fn unjustified(&mut self, t: f64) {
        if self.last_s.is_none_or(|last| t - last > PAUSE_S) {
            self.began_s = t;
        }
        self.last_s = Some(t);
        self.longest_s = self.longest_s.max(t + TICK_S - self.began_s);
    }
}

/// Whether a beep that means climb sounds.
fn is_climb(voice: &Voice) -> bool {
    voice.gate && voice.meaning == Meaning::Climb
}

/// Flies with a fault. Real time is the flight's own: a clock that jumps does not move the sound.
fn fly(pipeline: &Pipeline, flight: &Flight, fault: Option<(Kind, f64)>, seed: u64) -> Heard {
    let links = fault.map(|(kind, duration_s)| {
        let injection = Injection { duration_s: Some(duration_s), ..Injection::of(kind) };
        Injected::new(&injection, Some(Micros((flight.fault_from_s * 1e6) as i64)), seed)
    });
    let mut chain = Chain::new(links.into_iter().collect());
    let mut state = PipelineState::default();
    let (mut spell, mut stick_spell) = (Spell::default(), Spell::default());
    let mut heard = Heard { readings: Vec::new(), spell_s: 0.0, stick_spell_s: 0.0, beeps_s: 0.0 };
    let ticks = flight.step_us / 2_000;
    for (place, sample) in flight.samples.iter().enumerate() {
        let now_s = (place as i64 * flight.step_us) as f64 * 1e-6;
        for sample in chain.pass(sample) {
            let reading = pipeline.step(&mut state, sample);
            heard.readings.push((now_s, reading));
        }
        for tick in 0..ticks {
            if is_climb(&pipeline.tick(&mut state)) {
                let t = now_s + tick as f64 * TICK_S;
                heard.beeps_s += TICK_S;
                if !flight.justifies(t, false) {
                    spell.unjustified(t);
                }
                if !flight.justifies(t, true) {
                    stick_spell.unjustified(t);
                }
            }
        }
    }
    (heard.spell_s, heard.stick_spell_s) = (spell.longest_s, stick_spell.longest_s);
    heard
}

fn duration_of(kind: Kind) -> f64 {
    if kind == Kind::Drift { FLIGHT_S } else { FAULT_S }
}

/// The instruments for which a fault matters.
fn equipped(entry: &Entry) -> &'static [Needs] {
    match entry.needs {
        Needs::Static => &[Needs::Static, Needs::Airspeed, Needs::Probe],
        Needs::Airspeed => &[Needs::Airspeed],
        Needs::Probe => &[Needs::Probe],
        Needs::Inertial => &[],
    }
}

/// The worst spells of `runs` flights, with the seed of each: (against energy, against energy and
/// height).
fn worst(entry: &Entry, kind: Kind, needs: Needs, runs: u64) -> ((f64, u64), (f64, u64)) {
    let pipeline = Settings::default().build().expect("the defaults are good");
    let (mut energy, mut stick, mut beeps_s) = ((0.0, 0), (0.0, 0), 0.0);
    for seed in 0..runs {
        let flight = Flight::new(seed, needs);
        let heard = fly(&pipeline, &flight, Some((kind, duration_of(kind))), seed);
        if heard.spell_s > energy.0 {
            energy = (heard.spell_s, seed);
        }
        if heard.stick_spell_s > stick.0 {
            stick = (heard.stick_spell_s, seed);
        }
        beeps_s += heard.beeps_s;
    }
    assert!(
        runs < 20 || beeps_s > 1.0,
        "{}: nothing ever sounds, so nothing is tested",
        entry.name
    );
    (energy, stick)
}

/// Flights of each row and instrument: some in CI, more where `CHIRRUP_FAULT_RUNS` says so.
fn runs() -> u64 {
    std::env::var("CHIRRUP_FAULT_RUNS").ok().and_then(|runs| runs.parse().ok()).unwrap_or(20)
}

#[test]
#[expect(clippy::print_stdout, reason = "the table that the docs quote, shown with --nocapture")]
fn no_fault_sounds_like_lift() {
    let rows: Vec<(Kind, Needs)> = TRACE_KINDS
        .into_iter()
        .flat_map(|kind| equipped(entry(kind)).iter().map(move |needs| (kind, *needs)))
        .collect();
    let (mut wrong, mut limits) = (Vec::new(), BTreeMap::new());
    println!("{} flights of {FLIGHT_S} s", rows.len() as u64 * runs());
    for (kind, needs) in rows {
        let entry = entry(kind);
        let ((energy_s, seed), (stick_s, stick_seed)) = worst(entry, kind, needs, runs());
        println!(
            "{:<15} {needs:?}: {energy_s:.3} s (seed {seed}), with the stick {stick_s:.3} s \
             (seed {stick_seed})",
            entry.name
        );
        let (spell_s, most_s) = match entry.lift {
            Lift::Never => (energy_s, NO_SPELL_S),
            Lift::AtMost(most_s, _) => (energy_s, most_s),
            Lift::FollowsStick(most_s) => (stick_s, most_s),
            Lift::Limit(_) => {
                let longest_s = limits.entry(entry.name).or_insert(0.0_f64);
                *longest_s = longest_s.max(energy_s);
                continue;
            }
        };
        if spell_s > most_s {
            wrong.push(format!("{} {needs:?}: {spell_s} s", entry.name));
        }
    }
    assert!(wrong.is_empty(), "unjustified beeps: {wrong:#?}");
    for (name, spell_s) in limits {
        assert!(
            spell_s > LONGEST_SPELL_S,
            "{name} is no limit any more: {spell_s} s; say so in the catalogue"
        );
    }
}

#[test]
fn without_a_fault_no_beep_is_unjustified_and_the_measure_finds_one_that_is() {
    let pipeline = Settings::default().build().expect("the defaults are good");
    for needs in [Needs::Static, Needs::Airspeed, Needs::Probe] {
        for seed in 0..20 {
            let heard = fly(&pipeline, &Flight::new(seed, needs), None, seed);
            assert!(
                heard.spell_s <= LONGEST_SPELL_S,
                "{needs:?}, seed {seed}: {} s",
                heard.spell_s
            );
        }
    }
    // An instrument set to beep in still air fails the check.
    let mut settings = Settings::default();
    settings.tone.climb_from_mps = -1.0;
    settings.tone.sink_from_mps = -3.0;
    let pipeline = settings.build().expect("the settings are good");
    let heard = fly(&pipeline, &Flight::new(3, Needs::Airspeed), None, 3);
    assert!(heard.spell_s > 5.0, "{} s", heard.spell_s);
}

#[test]
fn every_fault_is_noticed_within_its_time_and_recovers_within_its_time() {
    let pipeline = Settings::default().build().expect("the defaults are good");
    for kind in TRACE_KINDS {
        let entry = entry(kind);
        for needs in equipped(entry) {
            for seed in 0..6 {
                let flight = Flight::new(seed, *needs);
                let heard = fly(&pipeline, &flight, Some((kind, FAULT_S)), seed);
                let from = flight.fault_from_s;
                let says = |status: Status| entry.statuses.contains(&status);
                let noticed =
                    heard.readings.iter().find(|(t, reading)| *t >= from && says(reading.status));
                if let Some(within_s) = entry.within_s {
                    let after = noticed.map(|(t, _)| t - from);
                    let in_time = after.is_some_and(|after| after <= f64::from(within_s));
                    assert!(
                        in_time,
                        "{} {needs:?}, seed {seed}: noticed after {after:?} s",
                        entry.name
                    );
                }
                if let Some(recovers_s) = entry.recovers_s {
                    let late = heard.readings.iter().rev().find(|(_, reading)| {
                        !reading.status.is_good() && reading.status != Status::Suspect
                    });
                    let until = late.map_or(0.0, |(t, _)| t - (from + FAULT_S));
                    assert!(
                        until <= f64::from(recovers_s),
                        "{} {needs:?}, seed {seed}: {until} s",
                        entry.name
                    );
                }
            }
        }
    }
}

#[test]
fn a_timer_that_wraps_changes_no_reading() {
    let pipeline = Settings::default().build().expect("the defaults are good");
    let flight = Flight::new(1, Needs::Airspeed);
    let of = |fault| {
        let readings = fly(&pipeline, &flight, fault, 1).readings.into_iter();
        readings.map(|(_, reading)| Reading { time: Micros(0), ..reading }).collect::<Vec<_>>()
    };
    assert_eq!(of(Some((Kind::TimerWrap, FAULT_S))), of(None));
}

/// The names of the tests in a source file.
fn tests_in(file: &str) -> Vec<String> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("..").join(file);
    let Ok(source) = fs::read_to_string(path) else { return Vec::new() };
    let name = |line: &str| Some(line.trim().strip_prefix("fn ")?.split('(').next()?.to_owned());
    source.lines().filter_map(name).collect()
}

#[test]
fn every_row_of_the_catalogue_names_tests_that_are_there() {
    let mut known: BTreeMap<&str, Vec<String>> = BTreeMap::new();
    for entry in CATALOGUE {
        assert!(!entry.tests.is_empty(), "{} has no test", entry.name);
        for test in entry.tests {
            let (file, name) = test.split_once("::").expect("a test is file::name");
            let tests = known.entry(file).or_insert_with(|| tests_in(file));
            assert!(
                tests.iter().any(|known| known == name),
                "{}: there is no test {test}",
                entry.name
            );
        }
    }
}

#[test]
fn every_fault_of_a_trace_has_one_row_and_every_name_is_its_own() {
    let mut names: Vec<&str> = CATALOGUE.iter().map(|entry| entry.name).collect();
    names.sort_unstable();
    names.dedup();
    assert_eq!(names.len(), CATALOGUE.len());
    for kind in TRACE_KINDS {
        assert_eq!(
            CATALOGUE.iter().filter(|entry| entry.place == Place::Trace(kind)).count(),
            1,
            "{kind:?}"
        );
        assert!(list().contains(entry(kind).name));
    }
}

#[test]
fn the_docs_hold_the_catalogue() {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("../docs/src/faults.md");
    let mut text = fs::read_to_string(&file).expect("docs/src/faults.md is there");
    type IsHere = fn(&Place) -> bool;
    let places: [(&str, IsHere); 3] = [
        ("trace", |place| matches!(place, Place::Trace(_))),
        ("board", |place| *place == Place::Board),
        ("bench", |place| *place == Place::Bench),
    ];
    for (name, is_here) in places {
        let (begin, end) = (
            format!("<!-- faults of the {name}: begin -->\n"),
            format!("<!-- faults of the {name}: end -->"),
        );
        let from = text.find(&begin).expect("the mark is there") + begin.len();
        let to = text.find(&end).expect("the mark is there");
        let made = table(is_here);
        if std::env::var_os("CHIRRUP_REWRITE_DOCS").is_some() {
            text.replace_range(from..to, &made);
        } else {
            assert_eq!(&text[from..to], made, "CHIRRUP_REWRITE_DOCS=1 writes it anew");
        }
    }
    fs::write(&file, text).expect("it can be written");
}

#[test]
fn a_fault_is_heard_and_seen_by_one_command() {
    let folder = folder();
    let (trace, csv) = (path(&folder, "flight.csv"), path(&folder, "readings.csv"));
    fs::write(&trace, DEMO_FLIGHT).expect("there is room");
    let said = run(&["replay", &trace, "--inject", "frozen@2:30,10", "--csv", &csv]);
    assert!(said.contains("injected frozen into 200 samples"), "{said}");
    assert!(fs::read_to_string(csv).expect("it is there").contains(",frozen\n"));
    let said = run(&["replay", &trace, "--inject", "lost@100,5", "--inject", "drift@60", "--json"]);
    let summary: serde_json::Value = serde_json::from_str(&said).expect("JSON");
    let notes = summary["notes"].to_string();
    assert!(
        notes.contains("injected lost into 100 samples") && notes.contains("it came to -150 Pa"),
        "{notes}"
    );
}

#[test]
fn the_faults_are_listed_and_a_wrong_one_is_named() {
    let listed = run(&["replay", "--inject", "list"]);
    for kind in TRACE_KINDS {
        assert!(listed.contains(&format!("  {} ", entry(kind).name)), "{kind:?}");
    }
    let wrong = complaint(&["replay", "x.csv", "--inject", "gremlins"], 2);
    assert!(
        wrong.contains("there is no fault \"gremlins\", expected one of absent, lost"),
        "{wrong}"
    );
    let alone = complaint(&["replay", "--inject", "frozen"], 2);
    assert!(alone.contains("--inject needs a trace"), "{alone}");
    chirrup().args(["replay"]).assert().code(2);
}
