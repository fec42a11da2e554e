//! Real flights, made and recorded by others.
//!
//! How the expected figures were read: the columns of the B records (time, pressure altitude, true
//! airspeed, engine noise), and speed and course over the ground between positions, were printed
//! and drawn with a script that shares nothing with this project, and read by eye.

use super::{flight, holds_together, number, reached};
use crate::support::real_flight;
use approx::assert_abs_diff_eq;
use serde_json::Value;

/// A flight and what was read of it by hand.
struct Known {
    name: &'static str,
    columns: &'static [&'static str],
    launch: Option<&'static str>,
    take_off_s: Option<f64>,
    release_s: Option<f64>,
    /// From take-off to release, m.
    launch_gain_m: f64,
    landing_s: Option<f64>,
    /// Most height from a low point to a later high point after the release, m.
    gain_m: Option<f64>,
    /// What 5 s of the release are worth to that, m.
    release_m: f64,
    reached: &'static [&'static str],
}

const AT_REST: Known = Known {
    name: "static-88hz.csv",
    columns: &["--columns", "time=t_s,static=p_pa"],
    launch: None,
    take_off_s: None,
    release_s: None,
    launch_gain_m: 0.0,
    landing_s: None,
    gain_m: None,
    release_m: 0.0,
    reached: &[],
};

fn all() -> Vec<Known> {
    vec![
        // Rolls from 150 s (speed over the ground 4 m/s, noise), 40 m/s at 185 s, from where the
        // pressure altitude rises from 965 m by 2 m/s. At 532 s the airspeed begins to fall from
        // 43 m/s, at 533 s the recorder's own reading turns negative and its noise is gone; it
        // circles from 556 s. 1590 m then. Touches at 19394 s (970 m, the height stays, the
        // noise of the wheel begins). Highest 3083 m, nothing lower than 1590 m before.
        Known {
            name: "sailplane-1hz-tas-vat.igc",
            launch: Some("tow"),
            take_off_s: Some(180.0),
            release_s: Some(532.0),
            launch_gain_m: 625.0,
            landing_s: Some(19_394.0),
            gain_m: Some(1_493.0),
            reached: &["gain 1000.0", "duration 18000.0"],
            ..AT_REST
        },
        // Leaves -40 m at 42 s. At 70 s the speed over the ground is highest (31 m/s) and falls to
        // 21 m/s by 79 s while it rises by 33 m, as much as that speed is worth: it flies free. Low
        // 277 m at 180 s, high 1236 m at 5500 s: 959 m, less than 1000 m. Touches at 6590 s.
        Known {
            name: "winch-launch-2s.igc",
            launch: Some("winch"),
            take_off_s: Some(42.0),
            release_s: Some(70.0),
            launch_gain_m: 432.0,
            landing_s: Some(6_590.0),
            gain_m: Some(959.0),
            reached: &[],
            ..AT_REST
        },
        // Leaves 467 m at 294 s. From 525 to 535 s the speed over the ground falls from 44 to
        // 34 m/s on one course, the climb of 3 m/s ends by 540 s. Highest 4422 m, lowest after the
        // release 1148 m, the release itself, so 3274 m; 5 s of that are 30 m. Over the threshold
        // at 21514 s, level from then on.
        Known {
            name: "midnight-mixed-rate.igc",
            launch: Some("tow"),
            take_off_s: Some(294.0),
            release_s: Some(530.0),
            launch_gain_m: 680.0,
            landing_s: Some(21_517.0),
            gain_m: Some(3_274.0),
            release_m: 30.0,
            reached: &["gain 3000.0", "duration 18000.0"],
            ..AT_REST
        },
        // Begins in flight at 7 m/s over the ground and with wild altitudes.
        Known { name: "corrupt-records.igc", ..AT_REST },
        // Its own README: in the air from 17.8 to 139 s; the height leaves the ground earlier.
        Known {
            name: "fixedwing-72hz-pressure-eas.csv",
            columns: &["--columns", "time=t_s,static=p_pa,ias=eas_mps"],
            landing_s: Some(139.0),
            ..AT_REST
        },
        AT_REST,
    ]
}

fn close(found: &Value, known: Option<f64>, within: f64, what: &str) {
    let Some(known) = known else { return };
    assert!((number(found) - known).abs() <= within, "{what}: {found}, by hand {known}");
}

#[test]
fn launch_release_landing_and_gain_of_real_flights_are_those_read_by_hand() {
    for known in all() {
        let Some(path) = real_flight(known.name) else { return };
        let found = flight(path.to_str().expect("text"), known.columns);
        holds_together(&found);
        let name = known.name;
        if let Some(launch) = known.launch {
            assert_eq!(found["launch"]["kind"], launch, "{name}");
            let gain_m = number(&found["launch"]["gain_m"]);
            // 5 s of a winch launch are 15 m near its end.
            assert_abs_diff_eq!(gain_m, known.launch_gain_m, epsilon = 15.0);
        }
        close(&found["take_off_s"], known.take_off_s, 8.0, name);
        close(&found["release_s"], known.release_s, 5.0, name);
        close(&found["landing_s"], known.landing_s, 8.0, name);
        close(&found["best_gain_m"], known.gain_m, 8.0 + known.release_m, name);
        assert_eq!(reached(&found), known.reached, "{name}");
    }
}

#[test]
fn a_barometer_at_rest_never_flies_and_a_broken_log_begins_in_the_air() {
    for (name, columns, begins) in [
        ("static-88hz.csv", AT_REST.columns, "never flies"),
        ("corrupt-records.igc", &[][..], "in the air"),
    ] {
        let Some(path) = real_flight(name) else { return };
        let found = flight(path.to_str().expect("text"), columns);
        assert_eq!(found["begins"], begins, "{name}");
        assert!(found["release"].is_null() && found["launch"].is_null(), "{name}");
    }
}
