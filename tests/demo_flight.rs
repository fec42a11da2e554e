//! The demonstration flight, made again from its physics; the recording must be what this makes,
//! byte for byte.
//!
//! ```text
//! CHIRRUP_REWRITE_RECORDINGS=1 cargo test -p chirrup --test suites demo_flight
//! ```
//! writes recordings/demo-flight.csv anew.
//!
//! The glider is ours: it sinks by `S(V) = a V^3 + b / V` (parasitic and induced drag), least
//! 0.65 m/s at 22 m/s, best glide ratio 39 at 29 m/s, and 25 % more when it circles. Height follows
//! from energy, `dh/dt = w - S(V) - V/g dV/dt`, where w is the air's own rise; so a change of speed
//! trades height exactly and only the air and the drag change the sum. On the winch the rate of
//! climb is given.
//!
//! The sensors: 20 Hz, each pressure with white noise of 0.8 Pa rms (a good barometer), a perfect
//! pitot and a total-energy probe of coefficient -1, all from the standard atmosphere.

use libm::{cos, exp, pow, sin};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use std::f64::consts::PI;
use std::fmt::Write;
use std::path::PathBuf;

const G: f64 = 9.80665;
const GROUND_M: f64 = 180.0;
const RATE_HZ: u32 = 20;
const STEPS_A_SAMPLE: u32 = 10;
const NOISE_PA: f64 = 0.8;
const END_S: f64 = 500.0;
const RELEASE_S: f64 = 48.0;
const CIRCUIT_S: f64 = 385.0;
const TOUCHDOWN_S: f64 = 482.0;
/// Parasitic drag: a = S0 / (4 V0^3) for the least sink S0 = 0.65 m/s at V0 = 22 m/s; then b = 3 a
/// V0^4.
const PARASITIC: f64 = 0.65 / (4.0 * 22.0 * 22.0 * 22.0);
const INDUCED: f64 = 3.0 * PARASITIC * 22.0 * 22.0 * 22.0 * 22.0;

/// Smooth passage from 0 at `from` to 1 at `to`.
fn ramp(t: f64, from: f64, to: f64) -> f64 {
    0.5 - 0.5 * cos(PI * ((t - from) / (to - from)).clamp(0.0, 1.0))
}

/// 1 between `from` and `to`, with edges of `edge` seconds inside.
fn window(t: f64, from: f64, to: f64, edge: f64) -> f64 {
    ramp(t, from, from + edge) - ramp(t, to - edge, to)
}

/// The value of a schedule of (begin, end of change, new value), each change smooth.
fn schedule(t: f64, start: f64, changes: &[(f64, f64, f64)]) -> f64 {
    changes
        .iter()
        .fold(start, |value, &(from, to, next)| value + ramp(t, from, to) * (next - value))
}

/// True airspeed, m/s.
fn speed(t: f64) -> f64 {
    schedule(
        t,
        0.0,
        &[
            (15.0, 22.0, 28.0),       // ground run
            (RELEASE_S, 53.0, 25.0),  // release, nose down
            (108.0, 112.0, 22.0),     // into the weak thermal
            (168.0, 172.0, 28.0),     // on
            (188.0, 192.0, 23.0),     // into the strong one
            (274.0, 278.0, 26.0),     // out of it, into still air
            (302.0, 312.0, 42.0),     // gather speed
            (314.0, 321.0, 25.0),     // pull up
            (330.0, 336.0, 36.0),     // through the sink
            (CIRCUIT_S, 390.0, 27.0), // circuit
            (474.0, 490.0, 15.0),     // round out
            (486.0, 496.0, 0.0),      // roll to a stop
        ],
    )
}

/// The air's own rise, m/s, without its turbulence.
fn air(t: f64) -> f64 {
    let circling = |period: f64, depth: f64| 1.0 + depth * sin(2.0 * PI * t / period);
    let weak = window(t, 110.0, 170.0, 3.0) * 2.0 * circling(21.0, 0.25);
    // Off centre at first, then centred.
    let centring = 0.45 * (1.0 - ramp(t, 205.0, 235.0));
    let strong = window(t, 189.0, 275.0, 2.0) * 4.7 * circling(19.0, centring);
    let sink = window(t, 334.0, 382.0, 4.0) * -3.4 + window(t, 172.0, 189.0, 4.0) * -0.8;
    weak + strong + sink
}

/// How rough the air is, m/s rms.
fn roughness(t: f64) -> f64 {
    0.05 + 0.25
        * (window(t, 105.0, 175.0, 4.0)
            + window(t, 185.0, 279.0, 4.0)
            + window(t, 332.0, 384.0, 4.0))
        * window(t, RELEASE_S, TOUCHDOWN_S - 60.0, 5.0)
}

fn circling(t: f64) -> f64 {
    window(t, 112.0, 168.0, 4.0) + window(t, 191.0, 275.0, 4.0)
}

/// Vertical speed on the winch: rotates into the climb and eases out before release.
fn winch_climb(t: f64) -> f64 {
    14.5 * ramp(t, 18.0, 23.0) * (1.0 - 0.9 * ramp(t, 36.0, RELEASE_S))
}

fn sink(speed: f64, t: f64) -> f64 {
    (PARASITIC * speed * speed * speed + INDUCED / speed) * (1.0 + 0.25 * circling(t))
}

fn pressure(height_m: f64) -> f64 {
    101_325.0 * pow(1.0 - 0.0065 * height_m / 288.15, 5.255_88)
}

/// Impact pressure of compressible flow at `height_m`.
fn impact_pressure(speed: f64, height_m: f64) -> f64 {
    let sound_squared = 1.4 * 287.05287 * (288.15 - 0.0065 * height_m);
    pressure(height_m) * (pow(1.0 + 0.2 * speed * speed / sound_squared, 3.5) - 1.0)
}

/// White noise of unit variance, by the sum of twelve uniform numbers.
fn white(rng: &mut ChaCha8Rng) -> f64 {
    (0..12).map(|_| rng.random::<f64>()).sum::<f64>() - 6.0
}

/// One state of the flight, at the sampling times.
struct Moment {
    time_s: f64,
    height_m: f64,
    speed_mps: f64,
}

/// Flies the schedule; `airbrake_mps` is the sink the airbrakes add on the circuit.
fn fly(airbrake_mps: f64) -> Vec<Moment> {
    let mut rng = ChaCha8Rng::seed_from_u64(1);
    let dt = 1.0 / f64::from(RATE_HZ * STEPS_A_SAMPLE);
    let (mut height_m, mut gust, mut landed) = (GROUND_M, 0.0, false);
    let mut moments = Vec::new();
    for step in 0..=(END_S as u32 * RATE_HZ * STEPS_A_SAMPLE) {
        let t = f64::from(step) * dt;
        let v = speed(t);
        if step % STEPS_A_SAMPLE == 0 {
            moments.push(Moment { time_s: t, height_m, speed_mps: v });
        }
        // Turbulence with a correlation time of 2 s.
        let forget = exp(-dt / 2.0);
        gust = gust * forget + roughness(t) * (1.0 - forget * forget).sqrt() * white(&mut rng);
        landed |= t > RELEASE_S && height_m <= GROUND_M;
        let climb = if landed {
            0.0
        } else if t < RELEASE_S {
            winch_climb(t)
        } else {
            let acceleration = (speed(t + 0.01) - speed(t - 0.01)) / 0.02;
            let brakes = airbrake_mps * window(t, 392.0, TOUCHDOWN_S, 9.0);
            let free = air(t) + gust - sink(v, t) - brakes - v / G * acceleration;
            let above_m = height_m - GROUND_M;
            // The round-out: the pilot meters the airbrakes so that the descent fades with the
            // height.
            if t > CIRCUIT_S && above_m < 10.0 { -(0.4 + 0.45 * above_m) } else { free }
        };
        height_m = (height_m + dt * climb).max(GROUND_M);
    }
    moments
}

/// Flies twice: what is left over at touchdown the first time is the airbrakes' work the second
/// time.
fn fly_to_the_ground() -> Vec<Moment> {
    let touchdown = (TOUCHDOWN_S * f64::from(RATE_HZ)) as usize;
    let height_left = fly(0.0)[touchdown].height_m - GROUND_M;
    let brake_seconds = TOUCHDOWN_S - 392.0 - 9.0;
    fly(height_left / brake_seconds)
}

fn recording() -> String {
    let mut rng = ChaCha8Rng::seed_from_u64(2);
    let mut text = String::from(
        "# A flight of our own making: winch, weak and strong thermal, a pull-up in still air, \
         sink, landing.\n\
         # The glider, the place and the day are invented; see recordings/README.md.\n\
         time_s,static_pa,dynamic_pa,te_pa\n",
    );
    for Moment { time_s, height_m, speed_mps } in fly_to_the_ground() {
        let (p, q) = (pressure(height_m), impact_pressure(speed_mps, height_m));
        let mut noisy = |pressure: f64| pressure + NOISE_PA * white(&mut rng);
        let (p_read, q_read, te_read) = (noisy(p), noisy(q), noisy(p - q));
        writeln!(text, "{time_s:.2},{p_read:.1},{q_read:.1},{te_read:.1}")
            .expect("a string takes every line");
    }
    text
}

#[test]
fn the_recording_is_what_its_physics_make() {
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../recordings/demo-flight.csv");
    let made = recording();
    if std::env::var_os("CHIRRUP_REWRITE_RECORDINGS").is_some() {
        std::fs::write(&path, &made).expect("the recording can be written");
    }
    let kept = std::fs::read_to_string(&path).expect("the recording is there");
    assert!(kept == made, "recordings/demo-flight.csv is not what tests/demo_flight.rs makes");
}

#[test]
fn the_flight_is_one_that_could_be_flown() {
    let moments = fly_to_the_ground();
    let at = |t: f64| &moments[(t * f64::from(RATE_HZ)) as usize];
    // A winch launch takes about 30 s to 1000-2000 ft, with rates of about 3000 ft/min (common
    // practice, no source).
    let gained_ft = (at(RELEASE_S).height_m - GROUND_M) / 0.3048;
    assert!((900.0..2000.0).contains(&gained_ft), "winch launch to {gained_ft} ft");
    let best_fpm = (15..48)
        .map(|t| at(f64::from(t) + 1.0).height_m - at(f64::from(t)).height_m)
        .fold(0.0, f64::max)
        / 0.3048
        * 60.0;
    assert!((2500.0..3500.0).contains(&best_fpm), "winch launch at {best_fpm} ft/min");
    // The pull-up gains what mechanics say, less the drag's 1 m/s or so for its 8 s.
    let gained = at(321.5).height_m - at(313.5).height_m;
    let energy = (at(313.5).speed_mps.powi(2) - at(321.5).speed_mps.powi(2)) / (2.0 * G);
    assert!(
        (energy - gained - 8.0).abs() < 4.0,
        "pull-up of {gained} m for {energy} m of kinetic height"
    );
    // The load factor of a flight with passengers: 1 + h'' / g, over half a second.
    for half in 31..940 {
        let t = f64::from(half) / 2.0;
        let bend = at(t + 0.5).height_m - 2.0 * at(t).height_m + at(t - 0.5).height_m;
        let load = 1.0 + bend / 0.25 / G;
        assert!((0.0..2.6).contains(&load), "{load} g at {t} s");
    }
    // The cable pulls from the first metre to the top of the climb.
    let energy_at = |t: f64| at(t).height_m + at(t).speed_mps.powi(2) / (2.0 * G);
    for half in 35..72 {
        let t = f64::from(half) / 2.0;
        let rate = (energy_at(t + 0.5) - energy_at(t - 0.5)) / 1.0;
        assert!(rate > 3.0, "energy rises by {rate} m/s at {t} s");
    }
    let touch = moments.iter().rposition(|moment| moment.height_m > GROUND_M).expect("it flies");
    let last_second = moments[touch - 20].height_m - GROUND_M;
    assert!(
        (470.0..490.0).contains(&moments[touch].time_s),
        "touchdown at {} s",
        moments[touch].time_s
    );
    assert!(last_second < 3.0, "touchdown at {last_second} m/s");
    assert!((at(END_S).height_m - GROUND_M).abs() < 1.0);
}
