//! One sink law: the hand-flown glider and the scenario flights lose energy by the same law, which
//! is computed again here.
//!
//! `D / (m g) = a V^2 + b n + c n^2 / V^2` at the equivalent airspeed V and the load factor n, with
//! the three unknowns eliminated by hand from the glider's three points, where `n = cos e` and
//! `sin e = sink / V`. True airspeed times that is the energy height lost a second. Source: any
//! text on flight mechanics; `tests/oracle/test_fly.py` has the same from numpy.

use super::{ORRIN, fly, scenario};
use chirrup_flight::hand::craft::{Command, Craft};
use chirrup_flight::physics::motion::{Gust, Held, TICK_S};
use chirrup_flight::physics::vector::Vector;

const G: f64 = 9.80665;
/// As far as two of the three may differ.
const SHARE: f64 = 0.01;

/// Drag over weight at an equivalent airspeed in m/s and a load factor.
fn drag(speed: f64, load: f64) -> f64 {
    let [one, two, three] = [(20.0_f64, 0.67), (27.0, 0.74), (42.0, 1.85)].map(|(v, sink)| {
        let slope: f64 = sink / v;
        let n = (1.0 - slope * slope).sqrt();
        // Divided by n: slope / n = a V^2 / n + b + c n / V^2.
        [v * v / n, n / (v * v), slope / n]
    });
    let [p, q] = [(one, two), (two, three)].map(|(of, less)| [0, 1, 2].map(|k| of[k] - less[k]));
    let c = (p[2] * q[0] - q[2] * p[0]) / (p[1] * q[0] - q[1] * p[0]);
    let a = (p[2] - c * p[1]) / p[0];
    let b = one[2] - a * one[0] - c * one[1];
    a * speed * speed + b * load + c * load * load / (speed * speed)
}

fn loads() -> impl Iterator<Item = f64> {
    (2..=30).map(|tenth| f64::from(tenth) / 10.0)
}

/// Energy loss of the hand-flown glider in a tick at a load factor, in metres of energy height a
/// second.
fn lost_by_hand(speed: f64, load: f64) -> f64 {
    let mut craft = Craft::gliding(0.0, speed);
    let energy =
        |craft: &Craft| craft.height_m() + craft.speed_mps() * craft.speed_mps() / (2.0 * G);
    let before = energy(&craft);
    let still = Gust { before: Vector::default(), after: Vector::default() };
    let held = Held { lift_mps2: load * G, ..Held::default() };
    craft.advance(&Command::Fly(held), &still);
    (before - energy(&craft)) / TICK_S
}

#[test]
fn the_glider_under_ones_hand_sinks_by_the_law_from_0_2_to_3_g_and_18_to_70_mps() {
    let mut worst: f64 = 0.0;
    for speed in 18..=70 {
        for load in loads() {
            let speed = f64::from(speed);
            let share = lost_by_hand(speed, load) / (speed * drag(speed, load)) - 1.0;
            worst = worst.max(share.abs());
        }
    }
    assert!(worst < SHARE, "{worst} of it");
    // A push at 20 m/s: less than a third of straight flight's 0.67 m/s, since what costs most at
    // this speed goes with the square of the lift.
    assert!((lost_by_hand(20.0, 0.3) - 0.21).abs() < 0.01, "{} m/s", lost_by_hand(20.0, 0.3));
}

#[test]
fn a_flight_by_plan_sinks_by_the_law_from_0_2_to_3_g_and_18_to_70_mps() {
    let leg = |phase: &str, rest: &str| format!("[[leg]]\nphase = \"{phase}\"\n{rest}\n");
    let ticks = fly(&scenario(
        ORRIN,
        &(String::from("stall_mps = 10\n[start]\nheight_m = 4000\nspeed_mps = 18\n")
            + &leg("slow", "for_s = 10\nspeed_mps = 18")
            + &leg("push", "for_s = 22\nspeed_mps = 71\nacceleration_mps2 = 6\nleast_load = 0.15")
            + &leg(
                "pull",
                "for_s = 20\nspeed_mps = 17\nacceleration_mps2 = 9\n\
                 most_load = 3.2\nleast_load = 0.15",
            )
            + &leg(
                "again",
                "for_s = 15\nspeed_mps = 50\nacceleration_mps2 = 9\nleast_load = 0.15",
            )
            + &leg("turn", "for_s = 20\nspeed_mps = 40\nbank_deg = 69")),
    ));
    let (mut worst, mut loads, mut speeds) = (0.0_f64, [9.0_f64, 0.0], [99.0_f64, 0.0]);
    for pair in ticks.windows(2) {
        // A tick is flown at the load factor reported at its end.
        let load = pair[1].load_factor;
        let true_mps = 0.5 * (pair[0].airspeed_mps + pair[1].airspeed_mps);
        let speed = true_mps / pair[0].speed_ratio;
        if !(0.2..=3.0).contains(&load) || !(18.0..=70.0).contains(&speed) {
            continue;
        }
        let lost = (pair[0].energy_m - pair[1].energy_m) / TICK_S;
        worst = worst.max((lost / (true_mps * drag(speed, load)) - 1.0).abs());
        loads = [loads[0].min(load), loads[1].max(load)];
        speeds = [speeds[0].min(speed), speeds[1].max(speed)];
    }
    assert!(worst < SHARE, "{worst} of it");
    assert!(loads[0] < 0.22 && loads[1] > 2.9, "it flies at {loads:?} g");
    assert!(speeds[0] < 18.5 && speeds[1] > 69.0, "it flies at {speeds:?} m/s");
}
