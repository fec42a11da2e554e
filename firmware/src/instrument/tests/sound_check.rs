//! The sound check: begun on the ground by button or console, and ended; never in flight.

use super::*;

const ROUND: [Meaning; 3] = [Meaning::Sink, Meaning::Fault, Meaning::Climb];
const MUTE: Pressed = Pressed { volume: false, mute: true, mode: false };

/// What sounds within some seconds, in turn.
fn meanings(bench: &mut Bench, seconds: f64) -> Vec<Meaning> {
    bench.heard.clear();
    bench.run(seconds);
    let sounding = bench.heard.iter().filter(|voice| voice.gate);
    let mut found: Vec<Meaning> = sounding.map(|voice| voice.meaning).collect();
    found.dedup();
    found
}

#[test]
fn mute_held_begins_it_and_it_ends_by_itself_or_by_any_press() {
    let mut bench = Bench::climbing(0.0);
    bench.run(15.0);
    bench.press(MUTE, 0.2);
    // Held for longer than it takes to begin: it neither ends nor begins again.
    bench.press(MUTE, 2.0);
    let mut heard = meanings(&mut bench, 60.0);
    heard.truncate(6);
    assert_eq!(heard, [ROUND, ROUND].concat());
    assert_eq!(meanings(&mut bench, 5.0), [], "after a minute it has ended, and no mute is left");
    for button in [Pressed { volume: true, ..Pressed::default() }, MUTE] {
        let volume = bench.instrument.settings().tone.volume;
        bench.press(MUTE, 1.0);
        bench.press(button, 0.2);
        assert_eq!(meanings(&mut bench, 20.0), [], "a press ends it");
        assert_eq!(bench.instrument.settings().tone.volume, volume, "and does nothing else");
    }
    assert_eq!(bench.ask("sound"), "# no sound check\n# ok\n");
    assert_eq!(bench.ask("sound check"), "# ok\n");
    assert_eq!(meanings(&mut bench, 14.0), ROUND);
    bench.run(2.0);
    let told = bench.ask("sound");
    assert!(told.starts_with("# lowest sink, 4") && told.ends_with(" s left\n# ok\n"), "{told}");
    assert_eq!(bench.ask("sound off"), "# ok\n");
    assert_eq!(meanings(&mut bench, 20.0), []);
    assert_eq!(bench.ask("sound"), "# no sound check\n# ok\n");
}

#[test]
fn in_flight_it_is_refused_once_a_press_and_climb_and_mute_go_on() {
    let mut bench = Bench::climbing(2.0);
    bench.run(15.0);
    let refusal = "no sound check: the glider moves";
    let told = bench.ask("sound check");
    assert!(
        told.starts_with(&format!("# error: {refusal}")) && told.lines().count() == 1,
        "{told}"
    );
    assert_eq!(meanings(&mut bench, 15.0), [Meaning::Climb]);
    bench.text.clear();
    bench.press(MUTE, 3.0);
    assert_eq!(bench.text.matches(refusal).count(), 1, "{}", bench.text);
    assert_eq!(meanings(&mut bench, 15.0), [Meaning::Climb]);
    bench.press(MUTE, 0.2);
    bench.press(MUTE, 1.0);
    assert_eq!(meanings(&mut bench, 15.0), [], "it does not end the mute either");
}

#[test]
fn after_a_restart_in_flight_it_ends_as_soon_as_the_glider_is_seen_to_move() {
    // 2.5 m from the mean of the last 20 s, which has come some way too.
    let mut bench = Bench::climbing(1.0);
    bench.run(0.5);
    assert_eq!(bench.ask("sound check"), "# ok\n");
    bench.run(5.0);
    assert!(bench.text.contains(" s sound check ended: the glider moves\n"), "{}", bench.text);
    bench.run(10.0);
    assert_eq!(meanings(&mut bench, 15.0), [Meaning::Climb]);
    assert_eq!(bench.ask("sound"), "# no sound check\n# ok\n");
}

#[test]
fn a_sensor_that_is_lost_in_flight_does_not_make_room_for_it() {
    let mut bench = Bench::climbing(2.0);
    bench.run(15.0);
    bench.trouble(Trouble::Gone);
    bench.run(400.0);
    assert!(bench.ask("sound check").starts_with("# error: no sound check"));
}

#[test]
fn without_a_sensor_on_the_bench_it_sounds() {
    let mut bench = Bench::climbing(0.0);
    bench.trouble(Trouble::Gone);
    bench.run(15.0);
    assert_eq!(bench.ask("sound check"), "# ok\n");
    assert_eq!(meanings(&mut bench, 14.0), ROUND);
}

#[test]
fn a_mode_button_that_is_held_on_turns_the_log_once() {
    let mut bench = Bench::climbing(0.0);
    bench.run(1.0);
    bench.press(Pressed { mode: true, ..Pressed::default() }, 1.5);
    assert!(bench.instrument.is_logging());
}
