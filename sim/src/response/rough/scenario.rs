//! A case as a scenario of `chirrup fly`.

use super::case::{Case, Gusts, Plan};
use std::fmt::Write;

/// How long a flight is, in s: forty seconds to settle, and ten minutes that count.
pub const LASTS_S: f64 = 640.0;
/// The pressure of a metre of height at the height of these flights, 1300 m, in Pa: density times
/// gravity of the standard atmosphere.
const PA_PER_M: f64 = 10.6;
/// A round of circling and gliding, in s, and the distance between thermals, in m.
const ROUNDS: usize = 9;
const APART_M: f64 = 1300.0;
/// Strengths of the thermals' cores in their order, in m/s.
const STRENGTHS_MPS: [f64; 4] = [3.0, 4.5, 2.5, 3.5];

const GLIDER: &str = r#"
[glider]
name = "Orrin 15"
points = [
  { speed_mps = 20, sink_mps = 0.67 },
  { speed_mps = 27, sink_mps = 0.74 },
  { speed_mps = 42, sink_mps = 1.85 },
]
reference_mass_kg = 360
stall_mps = 17.5

[start]
height_m = 1300
ground_m = 0
speed_mps = 28
"#;

/// The scenario of a case, in TOML.
pub fn text(case: &Case) -> String {
    let mut text = format!("name = \"{}\"\nabout = \"{}\"\n{GLIDER}", case.name, case.title);
    // Writing to a string cannot fail.
    if let Some(gusts) = &case.gusts {
        let _ = turbulence(&mut text, gusts);
    }
    if matches!(case.plan, Plan::Thermals | Plan::Leaves) {
        (0..ROUNDS).for_each(|round| thermal(&mut text, round));
    }
    legs(&mut text, case.plan);
    let sensors = case.sensors;
    let _ = writeln!(
        text,
        "\n[sensors]\nrate_hz = {}\n[sensors.static]\nnoise_pa = {}\n[sensors.dynamic]\n\
         noise_pa = {}",
        sensors.rate_hz,
        sensors.static_m * PA_PER_M,
        sensors.dynamic_pa
    );
    text
}

fn turbulence(text: &mut String, gusts: &Gusts) -> std::fmt::Result {
    writeln!(text, "\n[turbulence]\nrms_mps = {}", gusts.level_mps)
}

fn thermal(text: &mut String, round: usize) {
    let strength_mps = STRENGTHS_MPS[round % STRENGTHS_MPS.len()];
    let north_m = APART_M * (round as f64 + 0.6);
    let _ = writeln!(
        text,
        "\n[[thermal]]\nname = \"{round}\"\neast_m = 20\nnorth_m = {north_m}\n\
         strength_mps = {strength_mps}\nradius_m = 170\ntop_m = 5200"
    );
}

fn legs(text: &mut String, plan: Plan) {
    match plan {
        Plan::Glide => leg(text, LASTS_S, "speed_mps = 28"),
        Plan::Circles => leg(text, LASTS_S, "speed_mps = 26\nbank_deg = 43"),
        Plan::PullUps => (0..LASTS_S as usize / 64).for_each(|_| {
            leg(text, 20.0, "speed_mps = 28");
            leg(text, 12.0, "speed_mps = 42\nacceleration_mps2 = 2");
            leg(text, 12.0, "speed_mps = 24\nacceleration_mps2 = 3\nmost_load = 1.8");
            leg(text, 10.0, "speed_mps = 31\nacceleration_mps2 = 2");
            leg(text, 10.0, "speed_mps = 26\nacceleration_mps2 = 2");
        }),
        Plan::Thermals => (0..ROUNDS).for_each(|round| {
            leg(text, 10.0, "speed_mps = 28\nheading_deg = 0");
            leg(text, 8.0, "speed_mps = 34\nheading_deg = 0\nacceleration_mps2 = 1.5");
            leg(text, 6.0, "speed_mps = 24\nheading_deg = 0\nacceleration_mps2 = 2");
            circle(text, 48.0, round);
        }),
        Plan::Leaves => (0..ROUNDS).for_each(|round| {
            circle(text, 45.0, round);
            leg(text, 60.0, "speed_mps = 28\nheading_deg = 0");
        }),
    }
}

fn leg(text: &mut String, for_s: f64, how: &str) {
    let _ = writeln!(text, "\n[[leg]]\nphase = \"{GLIDES}\"\nfor_s = {for_s}\n{how}");
}

fn circle(text: &mut String, for_s: f64, round: usize) {
    let _ = writeln!(
        text,
        "\n[[leg]]\nphase = \"{CIRCLES}\"\nfor_s = {for_s}\nspeed_mps = 26\nbank_deg = 43\n\
         circle = \"{round}\"\noff_centre_m = 25"
    );
}

/// The phase of a leg straight on.
pub const GLIDES: &str = "glide";
/// The phase of a leg in a thermal.
pub const CIRCLES: &str = "circle";
