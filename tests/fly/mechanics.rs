//! The glider in the air: energy, polar, turns, thermals, gusts, aerobatics.

use super::{ORRIN, TRAINER, Tick, energy_rate, fly, mean, scenario};
use approx::{assert_abs_diff_eq, assert_relative_eq};

const G: f64 = 9.80665;

/// Dive, pull-up, steep turn and loop of a glider without drag in still air.
fn frictionless() -> Vec<Tick> {
    fly(&scenario(
        ORRIN,
        "stall_mps = 12\nfrictionless = true\n[start]\nheight_m = 500\nspeed_mps = 30\n\
         [[leg]]\nphase = \"dive\"\nfor_s = 12\nspeed_mps = 52\nacceleration_mps2 = 4\n\
         [[leg]]\nphase = \"zoom\"\nfor_s = 12\nspeed_mps = 22\nacceleration_mps2 = 5\nmost_load = \
         2.5\n\
         [[leg]]\nphase = \"turn\"\nfor_s = 15\nspeed_mps = 35\nbank_deg = 55\n\
         [[leg]]\nphase = \"dive\"\nfor_s = 12\nspeed_mps = 50\nacceleration_mps2 = 4\n\
         [[leg]]\nphase = \"loop\"\nhow = \"loop\"\nmost_load = 3\n\
         [[leg]]\nphase = \"after\"\nfor_s = 5\n",
    ))
}

#[test]
fn without_drag_and_moving_air_energy_is_kept_to_a_millionth() {
    let ticks = frictionless();
    let first = ticks[0].energy_m;
    let worst = ticks.iter().map(|tick| (tick.energy_m - first).abs()).fold(0.0, f64::max);
    // Against the kinetic height that changes hands, about 140 m, not only against the height above
    // the sea.
    assert!(worst / 100.0 < 1e-6, "{worst} m of {first} m");
    let heights = ticks.iter().map(|tick| tick.place.up);
    let (low, high) =
        heights.fold((f64::INFINITY, 0.0_f64), |(low, high), up| (low.min(up), high.max(up)));
    assert!(high - low > 90.0, "it does fly up and down: {low} to {high} m");
}

#[test]
fn a_frictionless_zoom_from_50_to_25_mps_gains_95_60_m() {
    // (50^2 - 25^2) / (2 g0): published-values, section 4, mechanics.
    let ticks = frictionless();
    let zoom: Vec<&Tick> = ticks.iter().filter(|tick| tick.leg == 1).collect();
    let height_at = |speed: f64| {
        let pair = zoom
            .windows(2)
            .find(|pair| pair[0].airspeed_mps >= speed && pair[1].airspeed_mps < speed);
        let pair = pair.expect("it passes this speed");
        let share = (pair[0].airspeed_mps - speed) / (pair[0].airspeed_mps - pair[1].airspeed_mps);
        pair[0].place.up + share * (pair[1].place.up - pair[0].place.up)
    };
    assert_abs_diff_eq!(height_at(25.0) - height_at(50.0), 95.60, epsilon = 0.01);
}

#[test]
fn straight_flight_sinks_as_the_polar_says() {
    for (speed, sink) in [(20.0, 0.67), (27.0, 0.74), (42.0, 1.85)] {
        let ticks = fly(&scenario(
            ORRIN,
            &format!(
                "stall_mps = 16\n[start]\nheight_m = 3000\nspeed_mps = {speed}\n[[leg]]\nphase \
                 = \"glide\"\nfor_s = 60\n"
            ),
        ));
        // At 3000 m true sinks are sqrt(rho0 / rho) times as large (published-values, section 4).
        let rate =
            energy_rate(&ticks, 30.0, 59.0) / mean(&ticks, 30.0, 59.0, |tick| tick.speed_ratio);
        assert_relative_eq!(-rate, sink, max_relative = 2e-3);
        let flown = mean(&ticks, 30.0, 59.0, |tick| tick.airspeed_mps / tick.speed_ratio);
        assert_relative_eq!(flown, speed, max_relative = 2e-3);
    }
}

#[test]
fn in_a_turn_speed_grows_by_the_root_of_the_load_and_sink_by_its_power_of_one_and_a_half() {
    // Any text on flight mechanics: the same lift coefficient, n = 1 / cos(bank).
    for bank in [30.0_f64, 45.0, 60.0] {
        let load = 1.0 / bank.to_radians().cos();
        let speed = 27.0 * load.sqrt();
        let ticks = fly(&scenario(
            ORRIN,
            &format!(
                "stall_mps = 16\n[start]\nheight_m = 1500\nspeed_mps = {speed}\n\
                 [[leg]]\nphase = \"turn\"\nfor_s = 90\nspeed_mps = {speed}\nbank_deg = {bank}\n"
            ),
        ));
        let ratio = mean(&ticks, 40.0, 89.0, |tick| tick.speed_ratio);
        let sink = -energy_rate(&ticks, 40.0, 89.0) / ratio;
        assert_relative_eq!(sink, 0.74 * load.powf(1.5), max_relative = 0.01);
        assert_relative_eq!(
            mean(&ticks, 40.0, 89.0, |tick| tick.load_factor),
            load,
            max_relative = 0.01
        );
        // Rate of turn g tan(bank) / V, from the way over the ground.
        let course = |time_s: f64| {
            let tick = ticks.iter().find(|tick| tick.time_s >= time_s).expect("it flies so long");
            tick.velocity.east.atan2(tick.velocity.north)
        };
        let turned = (course(51.0) - course(50.0)).rem_euclid(std::f64::consts::TAU);
        assert_relative_eq!(
            turned,
            G * bank.to_radians().tan() / (speed * ratio),
            max_relative = 0.02
        );
    }
}

#[test]
fn a_low_performance_glider_covers_five_miles_for_a_thousand_feet() {
    // Common practice, no source: 5 statute miles while it descends 1000 ft in still air, a glide
    // ratio of 26.4.
    let ticks = fly(&scenario(
        TRAINER,
        "stall_mps = 16\n[start]\nheight_m = 1300\nspeed_mps = 24\n[[leg]]\nphase \
         = \"glide\"\nspeed_mps = 24\nuntil_height_m = 995.2\n",
    ));
    let last = ticks.last().expect("it flies");
    assert_abs_diff_eq!(1300.0 - last.place.up, 304.8, epsilon = 0.05);
    assert_abs_diff_eq!(last.place.level().length() / 1609.344, 5.0, epsilon = 0.03);
}

#[test]
fn in_a_thermal_it_climbs_at_the_airs_rise_less_its_own_sink() {
    // Common practice, no source; the sink is the turn's, worked out as above.
    let load: f64 = 1.0 / 40.0_f64.to_radians().cos();
    let speed = 20.0 * load.sqrt();
    let ticks = fly(&scenario(
        ORRIN,
        &format!(
            "stall_mps = 16\n[start]\nheight_m = 800\nspeed_mps = {speed}\n\
             [wind]\nspeed_mps = 5\n\
             [[thermal]]\nname = \"t\"\neast_m = 300\nnorth_m = 500\nstrength_mps = 4\nradius_m = \
             180\ntop_m = 2500\n\
             [[leg]]\nphase = \"climb\"\ncircle = \"t\"\nbank_deg = 40\nspeed_mps = {speed}\nfor_s \
             = 240\n"
        ),
    ));
    let ratio = mean(&ticks, 120.0, 239.0, |tick| tick.speed_ratio);
    let expected = mean(&ticks, 120.0, 239.0, |tick| tick.air.up) - ratio * 0.67 * load.powf(1.5);
    let climb = mean(&ticks, 120.0, 239.0, |tick| tick.velocity.up);
    assert!(climb > 1.0, "it climbs: {climb} m/s");
    assert_abs_diff_eq!(climb, expected, epsilon = 0.02);
}

#[test]
fn the_air_does_the_work_that_mechanics_says_in_wave_wind_shear_and_turbulence() {
    // d/dt of height + V^2 / (2 g) without drag: lift does no work through the air, so what is left
    // is w_up - V . (dw/dt) / g, V the way through the air, dw/dt as the glider meets it.
    let ticks = fly(&scenario(
        ORRIN,
        "stall_mps = 16\nfrictionless = true\n[start]\nheight_m = 700\nspeed_mps = 30\n\
         [wind]\nfrom_deg = 330\nspeed_mps = 12\nshear_mps_per_km = 6\n[turbulence]\nrms_mps = \
         0.7\n\
         [wave]\neast_m = 0\nnorth_m = 500\nstrength_mps = 3\nlength_m = 3000\nbase_m = 300\ntop_m \
         = 2500\n\
         [[leg]]\nphase = \"dive\"\nfor_s = 10\nspeed_mps = 45\nacceleration_mps2 = 3\n\
         [[leg]]\nphase = \"turn\"\nfor_s = 40\nspeed_mps = 26\nbank_deg = 40\nacceleration_mps2 = \
         3\n",
    ));
    let (mut work, mut least, mut most, mut worst) = (0.0, 0.0_f64, 0.0_f64, 0.0_f64);
    for pair in ticks.windows(2) {
        let (before, after) = (pair[0], pair[1]);
        let through = (before.velocity - before.air + after.velocity - after.air) * 0.5;
        let rise = 0.5 * (before.air.up + after.air.up);
        work += rise * (after.time_s - before.time_s) - through.dot(after.air - before.air) / G;
        (least, most) = (least.min(work), most.max(work));
        worst = worst.max((after.energy_m - ticks[0].energy_m - work).abs());
    }
    assert!(most - least > 10.0, "the air does some work: {least} to {most} m");
    assert!(worst < 0.01, "{worst} m of {least} to {most} m");
}

#[test]
fn a_vertical_gust_gives_its_rise_and_a_head_gust_its_speed_at_once() {
    // Into the wave's edge: the path follows the air within the time constant of heave, about
    // 0.3 s.
    let ticks = fly(&scenario(
        ORRIN,
        "stall_mps = 16\n[start]\nheight_m = 1000\nspeed_mps = 27\n\
         [[street]]\neast_m = 0\nnorth_m = 1200\ncourse_deg = 90\nstrength_mps = 3\nhalf_width_m = \
         250\nswell = 0\nspacing_m = 5000\ntop_m = 2000\n\
         [[leg]]\nphase = \"glide\"\nheading_deg = 0\nfor_s = 60\nspeed_mps = 27\n",
    ));
    for tick in ticks.iter().filter(|tick| tick.time_s > 20.0) {
        let own = tick.velocity.up - tick.air.up;
        assert!((-2.2..0.8).contains(&own), "{own} m/s through the air at {} s", tick.time_s);
    }
    assert!(ticks.iter().any(|tick| tick.velocity.up > 1.5), "it is lifted");
}

#[test]
fn a_loop_at_three_times_the_weight_is_the_one_of_mechanics() {
    // Without drag and at a constant load factor n, V (n - cos theta) is constant: from dV/V = -sin
    // theta / (n
    // - cos theta).
    let ticks = frictionless();
    let of_loop: Vec<&Tick> = ticks.iter().filter(|tick| tick.leg == 4).collect();
    let steady: Vec<&&Tick> =
        of_loop.iter().filter(|tick| (tick.load_factor - 3.0).abs() < 0.01).collect();
    assert!(steady.len() > 400, "most of it is flown at 3 g: {} ticks", steady.len());
    let constant = |tick: &Tick, upwards: f64| {
        let sine = (tick.velocity.up / tick.airspeed_mps).clamp(-1.0, 1.0);
        let cosine = upwards * (1.0 - sine * sine).sqrt();
        tick.airspeed_mps * (3.0 - cosine)
    };
    // Course: the way in; on the back the course is reversed and the cosine negative.
    let first = steady[0].velocity.level();
    let side = |tick: &Tick| if tick.velocity.level().dot(first) >= 0.0 { 1.0 } else { -1.0 };
    let reference = constant(steady[0], 1.0);
    for tick in &steady {
        assert_relative_eq!(constant(tick, side(tick)), reference, max_relative = 5e-3);
    }
    assert!(steady.iter().any(|tick| side(tick) < 0.0), "it goes over the top");
}
