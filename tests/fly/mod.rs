//! Simulated flights against mechanics and published formulas, computed here independently of the
//! simulator.

mod demonstration;
mod gusts;
mod inertial;
mod launches;
mod mechanics;
mod recordings;
mod scenarios;
mod sensing;
mod sink_law;
mod truth;
mod turbulence;

use chirrup_flight::physics::moment::Moment;
use chirrup_flight::physics::vector::Vector;
use chirrup_flight::plan::check;
use chirrup_flight::plan::flight::Flight;

/// A glider of ours that stalls late in loops: least sink about 0.66, best glide 36.
pub const ORRIN: &str = "[glider]\nname = \"Orrin 15\"\npoints = [\n\
                         { speed_mps = 20, sink_mps = 0.67 },\n\
                          { speed_mps = 27, sink_mps = 0.74 },\n\
                         { speed_mps = 42, sink_mps = 1.85 },\n]\n\
                          empty_mass_kg = 360\nreference_mass_kg = 360\n";

/// The trainer of the polar's tests: 26.4 to 1 at its best.
pub const TRAINER: &str = "[glider]\nname = \"Halda 2\"\npoints = [\n\
                           { speed_mps = 18, sink_mps = 0.88 },\n\
                            { speed_mps = 24, sink_mps = 0.91 },\n\
                           { speed_mps = 35, sink_mps = 1.89 },\n]\nreference_mass_kg = 480\n";

/// A scenario's text: a glider, then what else it has.
pub fn scenario(glider: &str, rest: &str) -> String {
    format!("name = \"test\"\nabout = \"a test\"\n{glider}{rest}")
}

/// The values kept for every tick of 5 ms.
#[derive(Clone, Copy, Debug)]
pub struct Tick {
    pub time_s: f64,
    pub place: Vector,
    pub velocity: Vector,
    pub air: Vector,
    pub airspeed_mps: f64,
    pub energy_m: f64,
    pub load_factor: f64,
    /// sqrt(rho0 / rho).
    pub speed_ratio: f64,
    pub leg: usize,
}

/// Flies a scenario to its end.
pub fn fly(text: &str) -> Vec<Tick> {
    let (scenario, glider) = check::read("test.toml", text).expect("the scenario is good");
    let mut flight = Flight::new(&scenario, glider, scenario.seed);
    let mut ticks = Vec::new();
    loop {
        let moment = flight.moment();
        let leg =
            scenario.leg.iter().position(|leg| std::ptr::eq(leg.phase.as_str(), moment.phase));
        ticks.push(tick(&moment, leg.expect("the phase is a leg's own word")));
        if !flight.advance().expect("it stays clear of the ground") {
            return ticks;
        }
    }
}

fn tick(moment: &Moment<'_>, leg: usize) -> Tick {
    let Moment { time_s, place, velocity, air, airspeed_mps, load_factor, .. } = *moment;
    let energy_m = place.up + airspeed_mps * airspeed_mps / (2.0 * 9.80665);
    Tick {
        time_s,
        place,
        velocity,
        air,
        airspeed_mps,
        energy_m,
        load_factor,
        speed_ratio: (1.225 / moment.still.density_kgpm3).sqrt(),
        leg,
    }
}

/// Mean of something over the ticks between two times.
pub fn mean(ticks: &[Tick], from_s: f64, to_s: f64, what: impl Fn(&Tick) -> f64) -> f64 {
    let chosen: Vec<f64> =
        ticks.iter().filter(|tick| (from_s..to_s).contains(&tick.time_s)).map(what).collect();
    assert!(!chosen.is_empty(), "no ticks from {from_s} to {to_s} s");
    chosen.iter().sum::<f64>() / chosen.len() as f64
}

/// Rate of the energy height between two times, m/s.
pub fn energy_rate(ticks: &[Tick], from_s: f64, to_s: f64) -> f64 {
    let at = |time_s: f64| {
        ticks.iter().find(|tick| tick.time_s >= time_s - 1e-9).expect("it flies so long")
    };
    (at(to_s).energy_m - at(from_s).energy_m) / (at(to_s).time_s - at(from_s).time_s)
}
