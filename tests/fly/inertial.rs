//! The inertial sensor and the satellite receiver of simulated flights against mechanics: a glider
//! at rest, a coordinated turn, an arm, and a dead reckoning of a whole flight that is worked out
//! here, from the sensor's numbers alone.

use super::{TRAINER, scenario};
use crate::support::{complaint, folder, path, run};
use chirrup_flight::physics::vector::Vector;
use chirrup_flight::plan::check;
use chirrup_flight::plan::flight::Flight;
use chirrup_flight::sensors::{Felt, OverGround, Sensors};

const G: f64 = 9.80665;
type Axes = [f64; 3];

/// The truth and what was felt since the row before.
struct Row {
    time_s: f64,
    velocity: Vector,
    wind: Vector,
    /// Height and V^2/2g of the motion through the mean air.
    energy_m: f64,
    airspeed_mps: f64,
    body: [Vector; 3],
    felt: Option<Felt>,
    over_ground: Option<OverGround>,
}

fn fly(rest: &str) -> Vec<Row> {
    let text = scenario(TRAINER, &format!("stall_mps = 16\n{rest}"));
    let (scenario, glider) = check::read("test.toml", &text).expect("the scenario is good");
    let mut flight = Flight::new(&scenario, glider, scenario.seed);
    let mut sensors = Sensors::new(&scenario.sensors, &scenario.fault, scenario.seed);
    let mut rows = Vec::new();
    loop {
        let moment = flight.moment();
        if let Some(sensed) = sensors.take(&moment) {
            let through = moment.velocity - moment.wind;
            rows.push(Row {
                time_s: moment.time_s,
                velocity: moment.velocity,
                wind: moment.wind,
                energy_m: moment.place.up + through.dot(through) / (2.0 * G),
                airspeed_mps: moment.airspeed_mps,
                body: [moment.attitude.forward, moment.attitude.right, moment.attitude.down],
                felt: sensed.felt,
                over_ground: sensed.over_ground,
            });
        }
        if !flight.advance().expect("it stays clear of the ground") {
            return rows;
        }
    }
}

/// What is felt from `from_s` on.
fn felt(rows: &[Row], from_s: f64) -> Vec<Felt> {
    rows.iter().filter(|row| row.time_s >= from_s).filter_map(|row| row.felt).collect()
}

fn mean(felt: &[Felt], of: impl Fn(&Felt) -> Axes) -> Axes {
    let sum = felt.iter().map(of).fold([0.0; 3], |sum, it| [0, 1, 2].map(|k| sum[k] + it[k]));
    sum.map(|sum| sum / felt.len() as f64)
}

fn length(axes: Axes) -> f64 {
    axes.iter().map(|axis| axis * axis).sum::<f64>().sqrt()
}

const AT_REST: &str = "[[leg]]\nphase = \"stands\"\nhow = \"wait\"\nfor_s = 20\n";

fn at_rest(sensor: &str) -> Vec<Felt> {
    let text = format!("{AT_REST}[sensors]\nrate_hz = 50\n[sensors.inertial]\n{sensor}\n");
    felt(&fly(&text), 0.0)
}

#[test]
fn at_rest_it_feels_that_the_ground_holds_it_up() {
    let felt = at_rest("grade = \"perfect\"\nvibration_mps2 = 0\nself_heating_k = 0");
    assert_eq!(felt.len(), 1000);
    for row in felt {
        for (found, expected) in row.force_mps2.into_iter().zip([0.0, 0.0, -G]) {
            assert!((found - expected).abs() < 1e-9, "{row:?}");
        }
        assert!(length(row.turn_rps) < 1e-9, "{row:?}");
    }
}

#[test]
fn a_sensor_that_is_turned_feels_it_along_another_axis() {
    // Rolled to the right by a quarter its right axis points down; pitched up by a quarter its
    // forward axis points up, and what holds it up is felt forward; and 30 degrees of yaw are not
    // felt at rest.
    for (mounted, expected) in [
        ("[90, 0, 0]", [0.0, -G, 0.0]),
        ("[0, 90, 0]", [G, 0.0, 0.0]),
        ("[180, 0, 30]", [0.0, 0.0, G]),
    ] {
        let sensor = format!(
            "grade = \"perfect\"\nvibration_mps2 = 0\nself_heating_k = 0\nmounted_deg = {mounted}"
        );
        let found = mean(&at_rest(&sensor), |felt| felt.force_mps2);
        let missed = [0, 1, 2].map(|axis| found[axis] - expected[axis]);
        assert!(length(missed) < 1e-9, "{mounted}: {found:?}");
    }
}

#[test]
fn a_common_sensor_is_as_wrong_as_its_grade_says() {
    let felt = at_rest("vibration_mps2 = 0\nself_heating_k = 0");
    let force = mean(&felt, |felt| felt.force_mps2);
    let turn = mean(&felt, |felt| felt.turn_rps);
    // Bias 15 mg, and 0.5 % of gravity across: along level axes one plus or minus the other.
    for axis in [0, 1] {
        let milli_g = 1e3 * force[axis].abs() / G;
        assert!((9.9..20.1).contains(&milli_g), "{milli_g} mg");
    }
    // Along gravity 0.6 % of it instead.
    let milli_g = 1e3 * (force[2] + G).abs() / G;
    assert!((8.9..21.1).contains(&milli_g), "{milli_g} mg");
    for axis in turn {
        assert!((axis.abs().to_degrees() - 0.3).abs() < 0.01, "{axis} rad/s");
    }
    // 70 ug a root of a hertz up to 100 Hz, in the mean of four readings; 1000 rows say it to 7 %.
    let spread: f64 = felt.iter().map(|felt| (felt.force_mps2[0] - force[0]).powi(2)).sum();
    let noise_mg = 1e3 * (spread / felt.len() as f64).sqrt() / G;
    assert!((noise_mg / 0.35 - 1.0).abs() < 0.15, "{noise_mg} mg");
}

#[test]
fn vibration_is_in_the_spread_and_a_small_range_clips_it() {
    let shaken = at_rest("grade = \"perfect\"\nvibration_mps2 = 10\nself_heating_k = 0");
    let square: f64 = shaken.iter().map(|felt| felt.force_spread_mps2[1].powi(2)).sum();
    // Three axes of 10 m/s2; the mean of four readings has some of it, which the spread has not.
    let total = square / shaken.len() as f64
        + shaken
            .iter()
            .map(|felt| {
                let [x, y, z] = felt.force_mps2;
                x * x + y * y + (z + G) * (z + G)
            })
            .sum::<f64>()
            / shaken.len() as f64;
    assert!((total.sqrt() / (10.0 * 3.0_f64.sqrt()) - 1.0).abs() < 0.05, "{}", total.sqrt());
    assert!(shaken.iter().any(|felt| felt.force_spread_mps2[0] > 2.0 * G));
    let clipped = at_rest("grade = \"good\"\nvibration_mps2 = 10\nlargest_g = 2");
    let largest = clipped.iter().map(|felt| felt.force_spread_mps2[0]).fold(0.0, f64::max);
    assert!((largest - 2.0 * G).abs() < 1e-9, "{largest}");
    // What is clipped on the side of gravity is missing in the mean.
    let z = mean(&clipped, |felt| felt.force_mps2)[2];
    assert!(z > -G + 0.5, "{z}");
}

const CIRCLE: &str = "[start]\nheight_m = 2000\nspeed_mps = 26\n\
                      [[leg]]\nphase = \"circles\"\nfor_s = 60\nspeed_mps = 26\nbank_deg = 45\n\
                      [sensors]\nrate_hz = 50\n[sensors.inertial]\ngrade = \"perfect\"\n\
                      vibration_mps2 = 0\nself_heating_k = 0\n";

#[test]
fn a_coordinated_turn_presses_into_the_seat_and_turns_as_fast_as_it_must() {
    let rows = fly(CIRCLE);
    let settled = felt(&rows, 20.0);
    let late: Vec<&Row> = rows.iter().filter(|row| row.time_s >= 20.0).collect();
    let speed = late.iter().map(|row| row.airspeed_mps).sum::<f64>() / late.len() as f64;
    // Any text on flight mechanics: the load is 1 / cos(bank), the rate of turn g tan(bank) / V.
    // The nose is 8 degrees above the path, which costs 1 % along the floor.
    let [_, sideways, down] = mean(&settled, |felt| felt.force_mps2);
    assert!((down / (-G * 2.0_f64.sqrt()) - 1.0).abs() < 0.02, "{down} m/s2");
    assert!(sideways.abs() < 0.02, "{sideways} m/s2");
    let turn = mean(&settled, |felt| felt.turn_rps);
    assert!((length(turn) / (G / speed) - 1.0).abs() < 0.01, "{turn:?} rad/s at {speed} m/s");
    // To the right: nose up and nose right in the glider's own axes, alike at 45 degrees; and the
    // nose, above the horizon, makes it roll to the left.
    assert!(turn[1] > 0.0 && (turn[1] / turn[2] - 1.0).abs() < 0.02, "{turn:?} rad/s");
    assert!(turn[0] < 0.0, "{turn:?} rad/s");
}

#[test]
fn a_sensor_at_the_end_of_an_arm_is_drawn_to_the_turns_axis() {
    let there = format!("{CIRCLE}lever_m = [2, 0, 0]\n");
    let (centre, nose) = (felt(&fly(CIRCLE), 20.0), felt(&fly(&there), 20.0));
    let [_, y, z] = mean(&centre, |felt| felt.turn_rps);
    let more = mean(&nose, |felt| felt.force_mps2)[0] - mean(&centre, |felt| felt.force_mps2)[0];
    // What is ahead of the centre by 2 m is accelerated backward by 2 (wy^2 + wz^2).
    let expected = -2.0 * (y * y + z * z);
    assert!((more / expected - 1.0).abs() < 0.01, "{more} m/s2, expected {expected}");
}

/// A flight with everything: gusts, circles, dives and pull-ups, in a steady wind.
const ROUGH: &str = "[start]\nheight_m = 2000\nspeed_mps = 26\n[wind]\nfrom_deg = 300\n\
    speed_mps = 6\n[turbulence]\ngust_rms_mps = 0.7\nup_rms_mps = 0.5\n\
    [[leg]]\nphase = \"glides\"\nfor_s = 20\nspeed_mps = 28\nheading_deg = 0\n\
    [[leg]]\nphase = \"dives\"\nfor_s = 10\nspeed_mps = 40\nacceleration_mps2 = 3\n\
    [[leg]]\nphase = \"pulls\"\nfor_s = 8\nspeed_mps = 22\nacceleration_mps2 = 3\n\
    [[leg]]\nphase = \"circles\"\nfor_s = 50\nspeed_mps = 25\nbank_deg = 45\n\
    [[leg]]\nphase = \"other\"\nfor_s = 40\nspeed_mps = 25\nbank_deg = -40\n\
    [sensors]\nrate_hz = 200\n[sensors.inertial]\ngrade = \"perfect\"\nvibration_mps2 = 0\n\
    self_heating_k = 0\n";

fn cross(a: Axes, b: Axes) -> Axes {
    [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
}

fn in_ground_axes(body: &[Vector; 3], [x, y, z]: Axes) -> Vector {
    body[0] * x + body[1] * y + body[2] * z
}

/// The body axes after a turn by `angle`, in body axes: the series of the exponential, to the
/// fourth order.
fn turned(body: &[Vector; 3], angle: Axes) -> [Vector; 3] {
    [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]].map(|axis| {
        let (mut term, mut sum) = (axis, axis);
        for order in 1..=4 {
            term = cross(angle, term).map(|value| value / f64::from(order));
            sum = [0, 1, 2].map(|k| sum[k] + term[k]);
        }
        in_ground_axes(body, sum)
    })
}

#[test]
fn dead_reckoning_by_the_sensor_alone_arrives_where_the_flight_did() {
    let rows = fly(ROUGH);
    let (mut body, mut velocity) = (rows[0].body, rows[0].velocity);
    let (wind, mut gained_m) = (rows[0].wind, 0.0);
    let mut way = [Vector::default(); 2];
    for two in rows.windows(2) {
        let dt_s = two[1].time_s - two[0].time_s;
        let felt = two[1].felt.expect("every row but the first has one");
        let next = turned(&body, felt.turn_rps.map(|rate| rate * dt_s));
        let [first, last] = [body, next].map(|axes| in_ground_axes(&axes, felt.force_mps2));
        let force = (first + last) * 0.5;
        let faster = velocity + (force - Vector::UP * G) * dt_s;
        // The work of the force per weight, by the motion through the mean air.
        gained_m += force.dot((velocity + faster) * 0.5 - wind) * dt_s / G;
        way[0] += (velocity + faster) * (0.5 * dt_s);
        way[1] += (two[0].velocity + two[1].velocity) * (0.5 * dt_s);
        (body, velocity) = (next, faster);
    }
    let last = rows.last().expect("it has rows");
    assert!(last.time_s > 120.0);
    let tilt = (0..3).map(|axis| (body[axis] - last.body[axis]).length()).fold(0.0, f64::max);
    assert!(tilt < 1e-3, "{tilt} rad");
    assert!((velocity - last.velocity).length() < 0.05, "{velocity:?}, {:?}", last.velocity);
    assert!((way[0] - way[1]).length() < 2.0, "{way:?}");
    // The energy gained through the mean air: that of the flight to 5 cm, though the airspeed had
    // gusts of 0.7 m/s in it, each worth 2 m.
    let true_gain_m = last.energy_m - rows[0].energy_m;
    assert!((gained_m - true_gain_m).abs() < 0.05, "{gained_m} m, in truth {true_gain_m} m");
}

#[test]
fn the_nose_stays_near_the_path_and_no_turn_is_quicker_than_a_glider_turns() {
    for row in fly(ROUGH).iter().filter(|row| row.time_s > 1.0) {
        let through = row.velocity - row.wind;
        let along = row.body[0].dot(through) / through.length();
        assert!(along > 14.0_f64.to_radians().cos(), "{} s: {along}", row.time_s);
        let felt = row.felt.expect("every row has one");
        assert!(length(felt.turn_rps) < 1.5, "{} s: {felt:?}", row.time_s);
    }
}

#[test]
fn a_winch_launch_and_a_landing_have_no_jump_in_the_attitude() {
    let rows = fly("[[leg]]\nphase = \"stands\"\nhow = \"wait\"\nfor_s = 5\n\
         [[leg]]\nphase = \"winch\"\nhow = \"winch\"\n\
         [[leg]]\nphase = \"glide\"\nfor_s = 10\nspeed_mps = 26\n\
         [[leg]]\nphase = \"lands\"\nhow = \"land\"\nspeed_mps = 26\nairbrake_percent = 60\n\
         [sensors]\nrate_hz = 50\n[sensors.inertial]\ngrade = \"perfect\"\n\
         vibration_mps2 = 0\nself_heating_k = 0\n");
    let last = rows.last().expect("it has rows");
    assert!(last.velocity.length() < 0.1, "it stands");
    for row in &rows {
        let turn = row.felt.map_or(0.0, |felt| length(felt.turn_rps));
        assert!(turn < 1.5, "{} s: {turn} rad/s", row.time_s);
    }
    // On the winch it is pressed into the seat and drawn forward.
    let pulled = rows.iter().filter_map(|row| row.felt).map(|felt| felt.force_mps2[0]);
    assert!(pulled.fold(0.0, f64::max) > 5.0);
}

#[test]
fn the_receivers_velocity_is_that_of_a_tenth_of_a_second_ago() {
    let text = format!("{ROUGH}[sensors.gnss]\nnoise_mps = 0\nsays_age = true\n");
    let rows = fly(&text);
    let found: Vec<(usize, OverGround)> = rows
        .iter()
        .enumerate()
        .filter_map(|(place, row)| Some((place, row.over_ground?)))
        .collect();
    // Five a second from the start on, but for the last that is still under way.
    let lasts_s = rows.last().expect("it has rows").time_s;
    assert_eq!(found.len(), ((lasts_s - 0.1) * 5.0) as usize + 1);
    for (place, over_ground) in found {
        let then = rows[place - 20].velocity;
        let expected = [then.north, then.east, -then.up];
        assert_eq!(over_ground.north_east_down_mps, expected, "{} s", rows[place].time_s);
        assert!(over_ground.age_s.is_some_and(|age_s| (age_s - 0.1).abs() < 1e-9));
    }
}

/// A column of a trace with one line before its header; `None` where a cell is empty.
fn column(trace: &str, name: &str) -> Vec<Option<f64>> {
    let mut lines = trace.lines().skip(1);
    let mut names = lines.next().expect("it has a header").split(',');
    let place = names.position(|found| found == name).expect(name);
    lines
        .map(|line| match line.split(',').nth(place) {
            Some("") => None,
            cell => cell.map(|cell| cell.parse().expect("a number")),
        })
        .collect()
}

#[test]
fn the_trace_of_a_flight_has_the_columns_that_a_replay_reads() {
    let folder = folder();
    let text = scenario(
        TRAINER,
        &format!("stall_mps = 16\n{CIRCLE}[sensors.gnss]\nsays_age = true\n")
            .replace("grade = \"perfect\"", "grade = \"poor\""),
    );
    let (file, trace) = (path(&folder, "mine.toml"), path(&folder, "trace.csv"));
    std::fs::write(&file, text).expect("there is room");
    run(&["fly", &file, "-o", &trace]);
    let text = std::fs::read_to_string(&trace).expect("it is there");
    // 60 s at 50 Hz and the first row, which has nothing before it; five velocities a second, the
    // last still under way.
    let present = |name: &str| column(&text, name).into_iter().flatten().count();
    assert_eq!(present("time_s"), 3001);
    for name in ["accel_x_mps2", "gyro_z_radps", "accel_deviation_mps2", "gyro_largest_radps"] {
        assert_eq!(present(name), 3000, "{name}");
    }
    assert_eq!((present("gnss_vd_mps"), present("gnss_age_s")), (300, 300));
    let bank = column(&text, "truth_roll_rad")[2000].expect("it has one").to_degrees();
    assert!((bank - 45.0).abs() < 2.0, "{bank}");
    let summary: serde_json::Value =
        serde_json::from_str(&run(&["replay", &trace, "--json"])).expect("it is JSON");
    assert_eq!(summary["samples_used"], 3001);
    assert_eq!(summary["notes"].as_array().map(Vec::len), Some(0), "{}", summary["notes"]);
    // Without an imperfection, and no delay.
    run(&["fly", &file, "--ideal", "-o", &trace]);
    let text = std::fs::read_to_string(&trace).expect("it is there");
    let side = column(&text, "accel_y_mps2")[2000].expect("it has one");
    assert!(side.abs() < 0.02, "{side}");
}

#[test]
fn what_is_wrong_with_a_sensor_is_one_line() {
    let folder = folder();
    for (key, expected) in [
        ("grade = \"best\"", "unknown variant `best`"),
        ("errors = 11", "sensors.inertial.errors is 11, expected 0 to 10"),
        ("mounted_deg = [0, 200, 0]", "sensors.inertial.mounted_deg is 200, expected -180 to 180"),
        ("lever_m = [0, 0, -6]", "sensors.inertial.lever_m is -6, expected -5 to 5"),
        ("largest_g = 0.5", "sensors.inertial.largest_g is 0.5, expected 1 to 32"),
    ] {
        let rest = format!("stall_mps = 16\n{AT_REST}[sensors.inertial]\n{key}\n");
        let file = path(&folder, "mine.toml");
        std::fs::write(&file, scenario(TRAINER, &rest)).expect("there is room");
        let said = complaint(&["fly", &file, "-o", "-"], 2);
        assert!(said.contains("mine.toml:") && said.contains(expected), "{key}: {said}");
    }
}

#[test]
fn two_ears_hear_what_the_inertial_sensor_gains() {
    let folder = folder();
    let (file, trace) = (path(&folder, "mine.toml"), path(&folder, "trace.csv"));
    let wav = path(&folder, "both.wav");
    let shown = run(&["fly", "rough-thermals", "--show"]);
    std::fs::write(&file, format!("{shown}\n[sensors.inertial]\n")).expect("there is room");
    run(&["fly", &file, "-o", &trace]);
    let args = ["replay", &trace, "--energy", "electronic", "--against", "inertial=off", "--json"];
    let said = run(&[&args[..], &["--wav", &wav]].concat());
    let summary: serde_json::Value = serde_json::from_str(&said).expect("it is JSON");
    let rms_mps = |ear: usize| {
        let of = &summary["instruments"][ear]["against_truth"]["sounded"]["rms_mps"];
        of.as_f64().unwrap_or_else(|| panic!("{summary:#}"))
    };
    assert_eq!(summary["instruments"].as_array().map(Vec::len), Some(2));
    assert!(rms_mps(0) < 0.6 * rms_mps(1), "{} and {} m/s", rms_mps(0), rms_mps(1));
    assert!(std::fs::metadata(wav).is_ok_and(|wav| wav.len() > 1_000_000));
}
