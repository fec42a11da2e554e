//! A case as a scenario of `chirrup fly`.

use super::case::{Case, Gusts, LASTS_S, Plan};
use std::fmt::Write;

/// The pressure of a metre of height at the height of these flights, 1000 m, in Pa: density times
/// gravity of the standard atmosphere.
const PA_PER_M: f64 = 10.9;
/// Equivalent airspeeds straight on and in circles, m/s: 27 and 26 m/s of true airspeed.
const GLIDE_MPS: f64 = 25.5;
const CIRCLE_MPS: f64 = 24.6;
/// The bank with which a circle takes 18 s at that speed, degrees.
const BANK_DEG: f64 = 43.0;
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
ground_m = 0
speed_mps = 25.5
"#;

/// The scenario of a case, in TOML.
pub fn text(case: &Case) -> String {
    let mut text = format!("name = \"{}\"\nabout = \"{}\"\n{GLIDER}", case.name, case.title);
    // So high that it is still in the air at the end.
    let height_m = if case.lasts_s > LASTS_S { 2700 } else { 1200 };
    let _ = writeln!(text, "height_m = {height_m}");
    // Writing to a string cannot fail.
    if let Some(gusts) = &case.gusts {
        let _ = turbulence(&mut text, gusts);
    }
    if matches!(case.plan, Plan::Thermals | Plan::Leaves) {
        (0..ROUNDS).for_each(|round| thermal(&mut text, round));
    }
    legs(&mut text, case);
    let sensors = case.sensors;
    let _ = writeln!(
        text,
        "\n[sensors]\nrate_hz = {}\n[sensors.static]\nnoise_pa = {}\n[sensors.dynamic]\n\
         noise_pa = {}",
        sensors.rate_hz,
        sensors.static_m * PA_PER_M,
        sensors.dynamic_pa
    );
    if sensors.has_inertial() {
        let _ = writeln!(text, "[sensors.inertial]\n{}\n[sensors.gnss]", case.inertial);
    }
    text
}

fn turbulence(text: &mut String, gusts: &Gusts) -> std::fmt::Result {
    writeln!(
        text,
        "\n[turbulence]\ngust_rms_mps = {}\ngust_length_m = {}\nup_rms_mps = {}\nup_length_m = {}",
        gusts.level_mps, gusts.scale_m, gusts.up_mps, gusts.scale_m
    )
}

fn thermal(text: &mut String, round: usize) {
    let strength_mps = STRENGTHS_MPS[round % STRENGTHS_MPS.len()];
    let north_m = APART_M * (round as f64 + 0.3);
    let _ = writeln!(
        text,
        "\n[[thermal]]\nname = \"{round}\"\neast_m = 20\nnorth_m = {north_m}\n\
         strength_mps = {strength_mps}\nradius_m = 105\nedge_m = 60\ntop_m = 5200"
    );
}

fn legs(text: &mut String, case: &Case) {
    let glide = format!("speed_mps = {GLIDE_MPS}\nheading_deg = 0");
    match case.plan {
        Plan::Glide => leg(text, case.lasts_s, &glide),
        Plan::Circles => {
            leg(text, case.lasts_s, &format!("speed_mps = {CIRCLE_MPS}\nbank_deg = {BANK_DEG}"));
        }
        Plan::PullUps => (0..LASTS_S as usize / 64).for_each(|_| {
            leg(text, 42.0, &glide);
            stick(text);
        }),
        Plan::Thermals => (0..ROUNDS).for_each(|round| {
            leg(text, 10.0, &glide);
            stick(text);
            circle(text, 40.0, round);
        }),
        Plan::Leaves => (0..ROUNDS).for_each(|round| {
            circle(text, 45.0, round);
            leg(text, 60.0, &glide);
        }),
    }
}

/// Pushes over, pulls up, and back.
fn stick(text: &mut String) {
    for (for_s, speed_mps) in [(9.0, 33.0), (7.0, 22.0), (6.0, GLIDE_MPS)] {
        let how = format!("speed_mps = {speed_mps}\nheading_deg = 0\nacceleration_mps2 = 1.5");
        leg(text, for_s, &how);
    }
}

fn leg(text: &mut String, for_s: f64, how: &str) {
    let _ = writeln!(text, "\n[[leg]]\nphase = \"{GLIDES}\"\nfor_s = {for_s}\n{how}");
}

fn circle(text: &mut String, for_s: f64, round: usize) {
    let _ = writeln!(
        text,
        "\n[[leg]]\nphase = \"{CIRCLES}\"\nfor_s = {for_s}\nspeed_mps = {CIRCLE_MPS}\n\
         bank_deg = {BANK_DEG}\ncircle = \"{round}\"\noff_centre_m = 40"
    );
}

/// The phase of a leg straight on.
pub const GLIDES: &str = "glide";
/// The phase of a leg in a thermal.
pub const CIRCLES: &str = "circle";
