//! Gusts against mechanics: what they do at once, what they do in the end, and what they do not.
//!
//! A force F does the work F . v. In a steady glide at the speed V and the sink S the air's force
//! is the weight, straight up. Worked out by hand here from that, the glider's energy height being
//! h + v^2 / (2 g) with v relative to the mean air mass.

use super::{ORRIN, Tick, scenario};
use chirrup_flight::plan::check;
use chirrup_flight::plan::flight::{Flight, Gusts};

const G: f64 = 9.80665;
/// When the gust comes, s.
const GUST_S: f64 = 20.0;
const STALL_MPS: f64 = 16.0;

/// A straight glide at 28 m/s through gusts along, across and up.
fn glide(gusts: Option<Gusts>, seconds: f64) -> Vec<Tick> {
    let text = scenario(
        ORRIN,
        &format!(
            "stall_mps = {STALL_MPS}\n[start]\nheight_m = 1000\nspeed_mps = 28\n\
             [[leg]]\nphase = \"glide\"\nheading_deg = 0\nfor_s = {seconds}\nspeed_mps = 28\n"
        ),
    );
    let (scenario, glider) = check::read("gust.toml", &text).expect("the scenario is good");
    let flight = Flight::new(&scenario, glider, 1);
    let mut flight = match gusts {
        Some(gusts) => flight.in_gusts(gusts),
        None => flight,
    };
    let mut ticks = vec![super::tick(&flight.moment(), 0)];
    while flight.advance().expect("it stays clear of the ground") {
        ticks.push(super::tick(&flight.moment(), 0));
    }
    ticks
}

fn at(ticks: &[Tick], time_s: f64) -> Tick {
    ticks[(time_s * 200.0).round() as usize]
}

/// Mean rate of the energy relative to the mean air mass, which is at rest here, m/s.
fn climb(ticks: &[Tick], from_s: f64, to_s: f64) -> f64 {
    let height = |tick: Tick| tick.place.up + tick.velocity.dot(tick.velocity) / (2.0 * G);
    (height(at(ticks, to_s)) - height(at(ticks, from_s))) / (to_s - from_s)
}

fn sudden(time_s: f64, of: [f64; 3]) -> [f64; 3] {
    of.map(|part| if time_s > GUST_S { part } else { 0.0 })
}

#[test]
fn a_head_gust_is_speed_at_once_but_no_climb() {
    let u = 2.0;
    let ticks = glide(Some(|time_s| sudden(time_s, [-2.0, 0.0, 0.0])), 40.0);
    let (before, after) = (at(&ticks, GUST_S), at(&ticks, GUST_S + 0.01));
    // The energy of the airspeed jumps by ((V + u)^2 - V^2) / (2 g), 6 m and more.
    let v = before.airspeed_mps;
    let jump = ((v + u) * (v + u) - v * v) / (2.0 * G);
    assert!((after.energy_m - before.energy_m - jump).abs() < 0.1, "expected {jump} m");
    // What is gained is work only: at the same angle of attack the air's force grows by
    // r^2 = ((V + u) / V)^2, and turns back by S / V - S / (V + u) as the way through the air
    // flattens. Per weight that is - r^2 S (2 - 1 / r): 1.2 times the sink, for a moment.
    let sink = -climb(&ticks, GUST_S - 2.0, GUST_S);
    let r = (v + u) / v;
    let expected = -r * r * sink * (2.0 - 1.0 / r);
    let found = climb(&ticks, GUST_S + 0.005, GUST_S + 0.055);
    assert!((found / expected - 1.0).abs() < 0.05, "{found} m/s, expected {expected}");
    // Never more than half a sink away from it, while the pilot slows down again.
    for tenth in 0..150 {
        let from_s = GUST_S + 0.1 * f64::from(tenth);
        let found = climb(&ticks, from_s, from_s + 0.1);
        assert!((found + sink).abs() < 0.5 * sink, "{found} m/s at {from_s} s, sink {sink}");
    }
}

#[test]
fn the_pilot_chases_a_head_gust_slowly_and_is_back_at_his_speed_in_the_end() {
    let ticks = glide(Some(|time_s| sudden(time_s, [-2.0, 0.0, 0.0])), 60.0);
    let (before, soon, late) = (at(&ticks, GUST_S), at(&ticks, GUST_S + 1.0), at(&ticks, 58.0));
    let lost = |tick: Tick| before.velocity.length() - tick.velocity.length();
    assert!(lost(soon) < 0.4, "{} of 2 m/s within a second", lost(soon));
    let off = late.airspeed_mps / late.speed_ratio - 28.0;
    assert!(off.abs() < 0.1, "{off} m/s from the speed to hold");
}

#[test]
fn a_vertical_gust_works_at_once_and_carries_the_glider_in_the_end() {
    let ticks = glide(Some(|time_s| sudden(time_s, [0.0, 0.0, 1.0])), 60.0);
    let before = at(&ticks, GUST_S);
    // The sharp-edged gust: dn = a / C_Lmax (V / V_stall)^2 w / V, a 5.7 per radian and C_Lmax 1.4
    // for a slender sailplane (any text on loads; numbers from memory).
    let load = 5.7 / 1.4 * (28.0_f64 / STALL_MPS).powi(2) / before.airspeed_mps;
    let first = at(&ticks, GUST_S + 0.02).load_factor - 1.0;
    assert!((first / load - 1.0).abs() < 0.1, "{first} g, expected {load}");
    // The lift n, tilted to stand across the way through the air, works at the rate n w; from that
    // goes the drag, which grows less than as n^2.
    let sink = -climb(&ticks, GUST_S - 2.0, GUST_S);
    let found = climb(&ticks, GUST_S + 0.01, GUST_S + 0.03);
    let least = (1.0 + load) - (1.0 + load).powi(2) * sink;
    assert!((least..1.0 + load).contains(&found), "{found} m/s, at least {least}");
    // In the end it rises as fast as the air, less its sink.
    let end = at(&ticks, 55.0).velocity.up;
    assert!((end - (1.0 - sink)).abs() < 0.05, "{end} m/s");
    assert!((climb(&ticks, 50.0, 58.0) - (1.0 - sink)).abs() < 0.05);
}

#[test]
fn the_nose_follows_so_that_the_load_of_a_gust_lasts_less_than_a_second() {
    let ticks = glide(Some(|time_s| sudden(time_s, [0.0, 0.0, 1.0])), 40.0);
    let first = at(&ticks, GUST_S + 0.02).load_factor - 1.0;
    let later = |from: u32, to: u32| {
        let loads = (from..to).map(|k| at(&ticks, GUST_S + 0.01 * f64::from(k)).load_factor - 1.0);
        loads.fold((0.0_f64, 0.0_f64), |(least, most), load| (least.min(load), most.max(load)))
    };
    assert!(later(50, 100).1 < 0.25 * first, "{:?} of {first} g after 0.5 s", later(50, 100));
    let (least, most) = later(100, 600);
    assert!(most < 0.15 * first && least > -0.3 * first, "{least} to {most} of {first} g");
}

#[test]
fn however_strong_a_gust_is_the_wing_carries_no_more_than_it_can() {
    let ticks = glide(Some(|time_s| sudden(time_s, [0.0, 0.0, 15.0])), 40.0);
    let mut most = 0.0_f64;
    for tick in &ticks {
        let carries = (tick.airspeed_mps / tick.speed_ratio / STALL_MPS).powi(2);
        // The lift is held for a tick, in which the speed falls a little.
        assert!(tick.load_factor < 1.03 * carries, "{} at {} s", tick.load_factor, tick.time_s);
        most = most.max(tick.load_factor);
    }
    assert!(most > 3.0, "{most} g: the wing is at its limit");
}

#[test]
fn a_gust_from_the_side_is_next_to_nothing() {
    let ticks = glide(Some(|time_s| sudden(time_s, [0.0, 2.0, 0.0])), 40.0);
    let (before, after) = (at(&ticks, GUST_S), at(&ticks, GUST_S + 0.01));
    // V^2 + c^2 instead of V^2.
    let jump = 2.0 * 2.0 / (2.0 * G);
    assert!((after.energy_m - before.energy_m - jump).abs() < 0.05, "expected {jump} m");
    // A force of at most a tenth of the wing's for the same angle moves it aside: the work is that
    // times the gust's speed.
    let wing = 5.7 / 1.4 * (28.0_f64 / STALL_MPS).powi(2) * 2.0 / before.airspeed_mps;
    let sink = -climb(&ticks, GUST_S - 2.0, GUST_S);
    let found = climb(&ticks, GUST_S + 0.01, GUST_S + 0.06) + sink;
    assert!((0.0..0.1 * wing * 2.0).contains(&found), "{found} m/s");
    assert!(after.velocity.east.abs() < 0.02, "carried aside at once");
    assert!(at(&ticks, GUST_S + 2.0).velocity.east > 0.05, "carried aside later");
}

#[test]
fn air_without_gusts_is_answered_as_if_there_were_no_answer() {
    let (with, without) = (glide(Some(|_| [0.0; 3]), 30.0), glide(None, 30.0));
    assert_eq!(with.len(), without.len());
    for (with, without) in with.iter().zip(&without) {
        assert!((with.place - without.place).length() < 1e-8);
        assert!((with.velocity - without.velocity).length() < 1e-9);
    }
}
