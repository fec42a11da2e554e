//! The tone law as heard: WAV files made by the program, through the analyser in `listen`.

use crate::listen::{BLACKMAN_HARRIS, NONE, Sound, edges, outside_db, pitch_hz, repeated_hz};
use crate::support::{complaint, folder, path, pressure_pa, run, trace_of, write};
use approx::{assert_abs_diff_eq, assert_relative_eq};
use chirrup::ears::Ears;
use chirrup::output::Output;
use chirrup::output::place::place_all;
use chirrup::output::wav::WavOutput;
use chirrup::replay::Stretch;
use chirrup_core::stages::{BeepState, Heard, Sounder, SounderState};
use chirrup_core::{
    Hertz, MetrePerSecond, Micros, PwmTimer, Settings, Sound as Wanted, Speaker, TICKS_PER_SECOND,
    ToneSettings, Voice,
};
use std::path::Path;

const RATE_HZ: u32 = 48_000;
/// Length of a control tick.
const TICK_S: f64 = 1.0 / TICKS_PER_SECOND as f64;

/// A WAV file of these voices, read back.
fn recorded(voices: &[Voice]) -> Sound {
    let folder = folder();
    let wav = path(&folder, "a.wav");
    let mut output =
        Box::new(WavOutput::create(Path::new(&wav), RATE_HZ, false).expect("there is room"));
    let voices: Vec<_> = voices.iter().map(|&left| Ears { left, right: None }).collect();
    output.sound(Stretch::Voices(&voices)).expect("it can be written");
    place_all(output.finish().expect("it can be finished")).expect("it can be placed");
    Sound::read(&wav)
}

/// What `chirrup tone` records with these arguments.
fn tone(args: &[&str]) -> Sound {
    let folder = folder();
    let (wav, rate) = (path(&folder, "tone.wav"), RATE_HZ.to_string());
    run(&[&["tone", "--wav", &wav, "--sound-rate", &rate], args].concat());
    Sound::read(&wav)
}

/// The voices of a vertical speed that depends on the tick; a reading comes every 20 ms and is
/// heard from its tick on.
fn voices(settings: &ToneSettings, ticks: u32, climb_mps: impl Fn(u32) -> f64) -> Vec<Voice> {
    let sounder = Sounder::new(settings).expect("the settings are good");
    let mut state = SounderState::default();
    (0..ticks)
        .map(|tick| {
            if tick % 10 == 0 {
                sounder.read(
                    &mut state,
                    Heard { climb: MetrePerSecond(climb_mps(tick) as f32), ..Heard::default() },
                );
            }
            sounder.tick(&mut state, false)
        })
        .collect()
}

/// The default law with sines only, whose zeros tell the pitch.
fn pure() -> ToneSettings {
    ToneSettings { speaker: Speaker::Flat, ..ToneSettings::default() }
}

/// Beginning and end of every whole beep, in seconds; a beep counts from half of its own height.
fn beeps(sound: &Sound) -> Vec<(f64, f64)> {
    let (onsets, ends) = edges(sound.mono(), sound.rate_hz, sound.peak() * 0.6);
    onsets
        .iter()
        .filter_map(|&onset| Some((onset, *ends.iter().find(|end| **end > onset)?)))
        .collect()
}

/// Pitch in the middle of a beep.
fn pitch_of(sound: &Sound, (from, to): (f64, f64)) -> f64 {
    pitch_hz(sound.part(from + 0.008, to - 0.008), sound.rate_hz)
}

/// Pitch of a long note with harmonics, by how often it repeats itself.
fn low_pitch_of(sound: &Sound, (from, to): (f64, f64)) -> f64 {
    repeated_hz(sound.part(from + 0.03, to - 0.03), sound.rate_hz)
}

/// Pitch and repetition at a steady climb.
fn heard_at(climb_mps: f64) -> (f64, f64) {
    let sound = tone(&["--at", &climb_mps.to_string(), "--seconds", "3"]);
    let beeps = beeps(&sound);
    let (first, last) = (beeps[0].0, beeps[beeps.len() - 1].0);
    (pitch_of(&sound, beeps[1]), (beeps.len() - 1) as f64 / (last - first))
}

#[test]
fn every_tenth_of_a_metre_per_second_is_heard_from_0_2_to_5() {
    // Just noticeable steps of short tones, as in core/src/sound/tone.rs: pitch 0.6 % x (200 ms /
    // T)^(1/2), time from beep to beep 2.5 % and not below 6 ms; squares add.
    let law: Vec<(f64, f64)> = (2..=50).map(|tenth| heard_at(f64::from(tenth) / 10.0)).collect();
    for (tenth, pair) in law.windows(2).enumerate() {
        let ((low, slow), (high, quick)) = (pair[0], pair[1]);
        let pitch_steps = (high / low).ln() / (0.006 * (0.4 * slow).max(1.0).sqrt());
        let cadence_steps = (quick / slow).ln() / (0.006 * slow).max(0.025);
        let steps = pitch_steps.hypot(cadence_steps);
        // As measured from the sound, the pitch within 0.1 %.
        assert!(steps > 2.3, "from {:.1} m/s: {steps}", 0.2 + tenth as f64 / 10.0);
        assert!((500.0..=2500.0).contains(&low), "{low} Hz");
    }
}

#[test]
fn the_sound_rises_to_15_metres_per_second_and_then_stays() {
    let law: Vec<(f64, f64)> = [5.0, 7.0, 9.0, 11.0, 13.0, 15.0].map(heard_at).to_vec();
    assert!(law.windows(2).all(|pair| pair[1].0 > pair[0].0 && pair[1].1 > pair[0].1), "{law:?}");
    let (highest, quickest) = law[law.len() - 1];
    for climb_mps in [16.0, 30.0, 60.0] {
        let (pitch, cadence) = heard_at(climb_mps);
        assert_relative_eq!(pitch, highest, max_relative = 0.001);
        assert_relative_eq!(cadence, quickest, max_relative = 0.01);
    }
}

#[test]
fn sink_is_unbroken_and_a_fifth_below_every_beep() {
    let (lowest_beep, _) = heard_at(0.2);
    for sink in ["-1.6", "-3", "-10", "-60"] {
        let sound = tone(&["--at", sink, "--seconds", "3"]);
        // Harmonics beat with one another: from 0.4 of the peak it sounds.
        assert_eq!(edges(sound.mono(), sound.rate_hz, 0.8 * sound.peak()).0.len(), 1, "{sink} m/s");
        let pitch = repeated_hz(sound.part(0.5, 0.7), sound.rate_hz);
        assert!(
            pitch <= lowest_beep / 1.5 * 1.001,
            "{sink} m/s: {pitch} Hz under {lowest_beep} Hz"
        );
    }
}

#[test]
fn every_tone_has_the_level_that_the_table_tells_and_all_the_same_where_evening_is_off() {
    // That these levels are even to the ear is shown by ISO 532-1 in `tests/oracle/test_ear.py`.
    let values = ["-10", "-5", "-1.6", "0.2", "1", "2", "3.5", "5", "10"];
    for timbre in ["pure", "mellow", "reed", "octave"] {
        for even in [true, false] {
            let settings =
                format!("tone.timbre={timbre},tone.even_loudness={even},tone.speaker=flat");
            let told: Vec<f64> = values
                .iter()
                .map(|value| {
                    let told = run(&["tone", "--json", "--at", value, "--settings", &settings]);
                    let told: serde_json::Value = serde_json::from_str(&told).expect("JSON");
                    let told_db = told["rows"][0]["level_db"].as_f64().expect("it sounds");
                    let sound = tone(&["--at", value, "--seconds", "1", "--settings", &settings]);
                    let peak_db = 20.0 * sound.peak().log10();
                    // Harmonics do not all have their peaks at the same time.
                    assert!(peak_db < told_db + 0.1, "{timbre} {value}: {peak_db}, {told_db}");
                    if timbre == "pure" {
                        assert_abs_diff_eq!(peak_db, told_db, epsilon = 0.1);
                    }
                    told_db
                })
                .collect();
            let spread = told.iter().fold(f64::MIN, |high, level| high.max(*level))
                - told.iter().fold(f64::MAX, |low, level| low.min(*level));
            assert!(if even { spread > 1.0 } else { spread < 1e-3 }, "{settings}: {spread} dB");
        }
    }
}

#[test]
fn every_step_of_the_volume_is_heard_as_3_db_and_the_loudest_does_not_clip() {
    let peak = |volume: u32| {
        tone(&["--at", "-10", "--seconds", "1", "--settings", &format!("tone.volume={volume}")])
            .peak()
    };
    assert_eq!(peak(0), 0.0);
    for volume in [3, 9] {
        assert_relative_eq!(20.0 * (peak(volume + 1) / peak(volume)).log10(), 3.0, epsilon = 0.05);
    }
    for timbre in ["pure", "mellow", "reed"] {
        let settings = format!("tone.volume=10,tone.even_loudness=false,tone.timbre={timbre}");
        let sound = tone(&[
            "--sweep-from",
            "-5",
            "--sweep-to",
            "15",
            "--seconds",
            "20",
            "--settings",
            &settings,
        ]);
        assert!(sound.peak() < 32_767.0 / 32_768.0, "{timbre}: {}", sound.peak());
    }
}

#[test]
fn a_small_loudspeaker_still_carries_a_low_tone_with_harmonics() {
    // A loudspeaker with no output below 450 Hz: a pure 340 Hz tone is inaudible.
    let carried_db = |settings: &str| {
        let sound = tone(&["--at", "-7.5", "--seconds", "1", "--settings", settings]);
        outside_db(sound.part(0.2, 0.8), sound.rate_hz, BLACKMAN_HARRIS, 0.0, 450.0)
    };
    assert!(carried_db("tone.speaker=flat") < -50.0);
    for (settings, least_db) in
        [("tone.timbre=mellow", -6.0), ("tone.timbre=reed", 0.0), ("tone.speaker=small", 6.0)]
    {
        let db = carried_db(settings);
        assert!(db > least_db, "{settings}: {db} dB");
    }
}

#[test]
fn every_edge_keeps_its_energy_within_an_octave_of_the_tone() {
    let on = |pitch: f32| Voice { pitch: Hertz(pitch), gate: true, ..Voice::default() };
    // Pitch in hertz and the shortest that it may sound: steady tones 300 ms, beeps their 40 ms.
    let cases = [220.0, 300.0, 373.0].map(|pitch| (pitch, 150)).into_iter();
    for (pitch, ticks) in
        cases.chain([560.0, 720.0, 1000.0, 1360.0, 2200.0].map(|pitch| (pitch, 20)))
    {
        let mut all = vec![on(pitch); ticks];
        all.extend(vec![Voice { gate: false, ..on(pitch) }; 50]);
        let sound = recorded(&all);
        let hz = f64::from(pitch);
        let level_db = outside_db(sound.mono(), sound.rate_hz, NONE, hz / 2.0, hz * 2.0);
        assert!(level_db < -50.0, "{pitch} Hz: {level_db} dB");
    }
}

#[test]
fn a_glide_of_an_octave_in_100_ms_keeps_its_energy_within_an_octave_of_the_tone() {
    // Up and down, with a new reading every 20 ms or every tick, between 500 and 2000 Hz.
    for (lowest, updates) in [(500.0, 10), (1000.0, 10), (500.0, 1), (1000.0, 1)] {
        let pitch_at = |tick: u32| {
            let share = (f64::from(tick / updates * updates) * TICK_S / 0.1 - 2.0).clamp(0.0, 1.0);
            let back = (f64::from(tick / updates * updates) * TICK_S / 0.1 - 5.0).clamp(0.0, 1.0);
            lowest * 2.0_f64.powf(share - back)
        };
        let mut state = BeepState::default();
        let all: Vec<Voice> = (0..400)
            .map(|tick| state.tick(&Wanted::Steady { pitch: Hertz(pitch_at(tick) as f32) }))
            .collect();
        let sound = recorded(&all);
        // 30 ms at a time, in which the tone moves by a third of an octave.
        for middle in (180..620).step_by(5) {
            let time = f64::from(middle) * 1e-3;
            let hz = pitch_at((time / TICK_S) as u32);
            let part = sound.part(time - 0.015, time + 0.015);
            let level_db = outside_db(part, sound.rate_hz, BLACKMAN_HARRIS, hz / 2.0, hz * 2.0);
            assert!(level_db < -50.0, "{lowest} Hz, every {updates}, {time} s: {level_db} dB");
        }
    }
}

#[test]
fn the_pitch_follows_a_reading_within_20_ms() {
    // A climb that jumps within a beep: as long as it lasts, the pitch is within a just noticeable
    // step of the new one 20 ms later. The steady tone has no gaps that could hide it.
    for (before, after) in [(-2.0, -6.0), (-6.0, -2.0), (-10.0, -1.7)] {
        let jump = 300;
        let all = voices(&pure(), 500, |tick| if tick < jump { before } else { after });
        let sound = recorded(&all);
        let jumped_s = f64::from(jump) * TICK_S;
        let wanted = pitch_hz(sound.part(jumped_s + 0.1, jumped_s + 0.3), sound.rate_hz);
        let crossings = rising_crossings(&sound);
        let soon =
            crossings.windows(2).find(|pair| pair[0] >= jumped_s + 0.020).expect("it sounds");
        assert!((1.0 / (soon[1] - soon[0]) - wanted).abs() < 3.0, "from {before} to {after} m/s");
    }
    // A climb that rises evenly by 5 m/s in a second: the pitch is that of a reading at most 20 ms
    // old.
    let climb = |tick: u32| 1.0 + 5.0 * f64::from(tick) * TICK_S;
    let sound = recorded(&voices(&ToneSettings::default(), 500, climb));
    let law = |climb_mps: f64| heard_law(climb_mps);
    let crossings = rising_crossings(&sound);
    let mut compared = 0;
    for pair in crossings.windows(2).filter(|pair| pair[1] - pair[0] < 0.0018) {
        let (hz, time) = (1.0 / (pair[1] - pair[0]), pair[0]);
        // A reading stands for 20 ms until the next one comes.
        let (oldest, newest) = (law(1.0 + 5.0 * (time - 0.040).max(0.0)), law(1.0 + 5.0 * pair[1]));
        assert!(
            hz > oldest * 0.994 && hz < newest * 1.006,
            "{time} s: {hz} Hz, {oldest} to {newest}"
        );
        compared += 1;
    }
    assert!(compared > 200, "{compared} periods");
}

/// Pitch by the default table in the settings' own words, in equal ratios between its entries.
fn heard_law(climb_mps: f64) -> f64 {
    let table = ToneSettings::default().climb;
    let pair = table
        .windows(2)
        .find(|pair| climb_mps <= f64::from(pair[1].climb_mps))
        .expect("it is within the table");
    let (low, high) = (&pair[0], &pair[1]);
    let share = ((climb_mps - f64::from(low.climb_mps))
        / f64::from(high.climb_mps - low.climb_mps))
    .max(0.0);
    f64::from(low.pitch_hz) * (f64::from(high.pitch_hz) / f64::from(low.pitch_hz)).powf(share)
}

/// Times at which the wave, outside fades, rises through zero between two samples.
fn rising_crossings(sound: &Sound) -> Vec<f64> {
    let (samples, least) = (sound.mono(), 0.3 * sound.peak());
    let is_loud = |place: &usize| {
        let around = &samples[place.saturating_sub(60)..(place + 60).min(samples.len())];
        around.iter().any(|sample| *sample > least)
    };
    let crossings =
        samples.windows(2).enumerate().filter(|(_, pair)| pair[0] < 0.0 && pair[1] >= 0.0);
    let crossings = crossings.filter(|(place, _)| is_loud(place));
    crossings
        .map(|(place, pair)| (place as f64 + pair[0] / (pair[0] - pair[1])) / sound.rate_hz)
        .collect()
}

#[test]
fn a_reading_that_rises_through_the_threshold_sounds_within_20_ms() {
    for tick in 100..120 {
        let ready = tick / 10 * 10 + 10;
        let all = voices(&ToneSettings::default(), 400, |now| if now < ready { 0.1 } else { 0.25 });
        let sound = recorded(&all);
        let onset = beeps(&sound)[0].0;
        let late = onset - f64::from(ready) * TICK_S;
        assert!((0.0..0.020).contains(&late), "{late} s");
    }
}

#[test]
fn a_jump_of_1_metre_per_second_is_heard_within_100_ms() {
    // Within a beep by its pitch, within a pause by the next beep, whenever in the cycle it comes.
    for climb in [0.3, 0.5, 1.0, 1.5, 2.0, 3.0, 4.0] {
        for phase in 0..16 {
            let jump = 500 + phase * 20;
            let all = voices(&pure(), 1200, |tick| if tick < jump { climb } else { climb + 1.0 });
            let (before, after) = (heard_law(climb), heard_law(climb + 1.0));
            let heard = all[jump as usize..]
                .iter()
                .position(|voice| voice.gate && f64::from(voice.pitch.0) > (before * after).sqrt());
            let late_s = heard.expect("it is heard") as f64 * TICK_S;
            assert!(late_s < 0.100, "from {climb} m/s, phase {phase}: {late_s} s");
        }
    }
}

#[test]
fn a_jump_of_2_metres_per_second_changes_the_rate_within_100_ms() {
    // Whenever in the cycle it comes: the first edge that the old rate would not have made, and the
    // new rate from there on.
    for climb in [0.2, 0.5, 1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 7.0, 10.0] {
        for phase in 0..16 {
            let jump = 500 + phase * 20;
            let all = voices(&ToneSettings::default(), 1200, |tick| {
                if tick < jump { climb } else { climb + 2.0 }
            });
            let sound = recorded(&all);
            let jumped_s = f64::from(jump) * TICK_S;
            let (onsets, ends) =
                edges(sound.part(jumped_s, 2.4), sound.rate_hz, sound.peak() * 0.6);
            let first = onsets[0].min(ends[0]);
            assert!(first < 0.100, "from {climb} m/s, phase {phase}: {first} s");
            let cadence = cadence_of(climb + 2.0);
            for pair in onsets.windows(2).skip(1) {
                assert_relative_eq!(pair[1] - pair[0], 1.0 / cadence, epsilon = 0.005);
            }
            // From slow to quick the next beep itself begins in time.
            if climb <= 2.0 {
                assert!(
                    onsets[0] < 0.100,
                    "from {climb} m/s, phase {phase}: next beep after {} s",
                    onsets[0]
                );
            }
        }
    }
}

/// Repetition by the default table, as [`heard_law`].
fn cadence_of(climb_mps: f64) -> f64 {
    let table = ToneSettings::default().climb;
    let pair = table
        .windows(2)
        .find(|pair| climb_mps <= f64::from(pair[1].climb_mps))
        .expect("it is within the table");
    let (low, high) = (&pair[0], &pair[1]);
    let share = (climb_mps - f64::from(low.climb_mps)) / f64::from(high.climb_mps - low.climb_mps);
    f64::from(low.cadence_hz) * f64::from(high.cadence_hz / low.cadence_hz).powf(share)
}

#[test]
fn no_reading_makes_a_beep_shorter_than_40_ms_or_a_gap_shorter_than_30_ms() {
    // Readings from all over, seeded, each for a random number of ticks.
    use rand::RngExt;
    let mut random = rand_chacha::ChaCha8Rng::seed_from_u64(5);
    let sounder = Sounder::new(&ToneSettings::default()).expect("the defaults are good");
    for _ in 0..10 {
        let (mut state, mut all) = (SounderState::default(), Vec::new());
        while all.len() < 10_000 {
            let climb = random.random_range(-4.0..8.0_f32);
            sounder.read(&mut state, Heard { climb: MetrePerSecond(climb), ..Heard::default() });
            let ticks = random.random_range(1..60);
            all.extend((0..ticks).map(|_| sounder.tick(&mut state, false)));
        }
        all.extend(vec![Voice::default(); 100]);
        let sound = recorded(&all);
        // Where there is any sound at all: fades reach into both, so a beep's sound is longer and a
        // gap's silence shorter by one fade, 5 ms and for the steady tone up to 12 ms.
        let silent: Vec<bool> =
            sound.mono().chunks(48).map(|ms| ms.iter().all(|sample| *sample == 0.0)).collect();
        let lengths = silent.chunk_by(|a, b| a == b).skip(1).map(|run| (run[0], run.len()));
        for (silent, ms) in lengths.collect::<Vec<_>>().into_iter().rev().skip(2) {
            assert!(ms >= if silent { 17 } else { 43 }, "silent {silent}: {ms} ms");
        }
    }
}

use rand::SeedableRng;

#[test]
fn samples_and_timer_agree_on_pitch_and_on_every_edge_within_a_tick() {
    // A flight for listening: still air, a thermal entered, climbed in and left, sink.
    let climb = |tick: u32| {
        3.0 * (f64::from(tick) * TICK_S * 1.3).sin() + 0.8 * (f64::from(tick) * TICK_S * 7.0).sin()
    };
    let all = voices(&pure(), 5_000, climb);
    let sound = recorded(&all);
    for (clock_hz, most_divider) in [(125_000_000_u32, 255), (84_000_000, u16::MAX)] {
        let timer = PwmTimer::new(clock_hz, most_divider).expect("it is quick enough");
        let pulses: Vec<_> = all.iter().map(|voice| timer.pulse(*voice)).collect();
        let made_hz: Vec<f64> = pulses
            .iter()
            .map(|pulse| {
                f64::from(clock_hz) / (f64::from(timer.divider()) * (f64::from(pulse.top) + 1.0))
            })
            .collect();
        let mut compared = 0;
        for pair in rising_crossings(&sound).windows(2) {
            let ticks =
                ((pair[0] / TICK_S) as usize).saturating_sub(1)..=(pair[1] / TICK_S) as usize + 1;
            let Some(ticks) = made_hz.get(ticks.clone()).filter(|_| {
                ticks.clone().all(|tick| pulses.get(tick).is_some_and(|pulse| pulse.compare > 0))
            }) else {
                continue;
            };
            let low = ticks.iter().fold(f64::MAX, |low, hz| low.min(*hz));
            let high = ticks.iter().fold(0.0_f64, |high, hz| high.max(*hz));
            let hz = 1.0 / (pair[1] - pair[0]);
            // 3 cents for the timer and 3 for where the zero of a 16-bit sine is.
            assert!(
                hz > low * 0.9965 && hz < high * 1.0035,
                "{} s: {hz} Hz, {low} to {high}",
                pair[0]
            );
            compared += 1;
        }
        assert!(compared > 2_000, "{compared} periods");
        agree_on_edges(
            &sound,
            &pulses.iter().map(|pulse| pulse.compare > 0).collect::<Vec<_>>(),
            &made_hz,
        );
    }
}

/// The wave begins with the tick in which the timer does, and ends one fade after it.
fn agree_on_edges(sound: &Sound, open: &[bool], made_hz: &[f64]) {
    let sounds_at = |time: f64| {
        let from = (time * sound.rate_hz) as usize;
        sound.mono()[from..from + 96].iter().any(|sample| *sample != 0.0)
    };
    let mut edges = 0;
    for (tick, pair) in open.windows(2).enumerate().take(open.len() - 20) {
        let time = (tick + 1) as f64 * TICK_S;
        match (pair[0], pair[1]) {
            (false, true) => {
                assert!(!sounds_at(time - TICK_S) && sounds_at(time + 0.0001), "opens at {time} s")
            }
            (true, false) => {
                let fade = (2.5 / made_hz[tick]).clamp(0.005, 0.015);
                assert!(
                    sounds_at(time - TICK_S) && !sounds_at(time + fade + TICK_S),
                    "closes at {time} s"
                );
            }
            _ => continue,
        }
        edges += 1;
    }
    assert!(edges > 20, "{edges} edges");
}

#[test]
fn the_cruise_sound_comes_in_pairs_a_fifth_apart_and_climb_beeps_do_not() {
    for (settings, value, rises) in [
        ("tone.mode=netto", "2", true),
        ("tone.mode=netto", "-2", false),
        ("tone.mode=speed", "5", false),
        ("tone.mode=speed", "-5", true),
    ] {
        let sound = tone(&["--at", value, "--settings", settings]);
        let beeps = beeps(&sound);
        assert!(beeps.len() >= 8, "{settings} {value}: {} notes", beeps.len());
        for pair in beeps.chunks_exact(2) {
            let ratio = pitch_of(&sound, pair[1]) / pitch_of(&sound, pair[0]);
            assert_relative_eq!(if rises { ratio } else { 1.0 / ratio }, 1.5, max_relative = 0.02);
            assert!(pair[1].0 - pair[0].1 < 0.050, "the notes of a pair belong together");
        }
        for pairs in beeps.chunks_exact(2).collect::<Vec<_>>().windows(2) {
            assert!(
                pairs[1][0].0 - pairs[0][1].1 > 0.200,
                "a pair is followed by a pause longer than itself"
            );
        }
    }
    for climb in ["0.3", "2", "8"] {
        let sound = tone(&["--at", climb]);
        let beeps = beeps(&sound);
        let pitches: Vec<f64> = beeps.iter().take(4).map(|beep| pitch_of(&sound, *beep)).collect();
        assert!(pitches.windows(2).all(|two| (two[1] / two[0] - 1.0).abs() < 0.01), "{pitches:?}");
    }
}

#[test]
fn the_fault_call_is_three_falling_notes_a_fifth_below_every_beep_and_seldom() {
    let sound = tone(&["--fault", "--seconds", "31"]);
    let notes = beeps(&sound);
    assert_eq!(notes.len() / 3, 3, "{notes:?}");
    for call in notes.chunks_exact(3) {
        let pitches: Vec<f64> = call.iter().map(|note| low_pitch_of(&sound, *note)).collect();
        assert!(pitches[0] <= 650.0 / 1.5 * 1.002, "{pitches:?}");
        assert!(pitches.windows(2).all(|two| two[1] < two[0] * 0.85), "{pitches:?}");
        assert!(call.iter().all(|note| note.1 - note.0 > 0.2));
    }
    assert_relative_eq!(notes[3].0 - notes[0].0, 15.0, epsilon = 0.01);
    // Silent nine tenths of the time, so that the ear does not tire.
    let silent = sound.mono().iter().filter(|sample| **sample == 0.0).count() as f64;
    assert!(silent / sound.mono().len() as f64 > 0.9);
}

/// A climb at 1.5 m/s with 0.1 m of noise that stops changing at `dies_s`, as a dead sensor does.
fn dying(dies_s: f64, seconds: f64) -> String {
    let noise = |sample: u32| 0.1 * (f64::from(sample * 7919 % 1009) / 504.5 - 1.0);
    let mut text = String::from("time_s,static_pa\n");
    for sample in 0..(seconds * 50.0) as u32 {
        let time = f64::from(sample) * 0.02;
        let last = (time.min(dies_s) * 50.0) as u32;
        let height = 800.0 + 1.5 * f64::from(last) * 0.02 + noise(last);
        text += &format!("{time:.2},{:.3}\n", pressure_pa(height));
    }
    text
}

#[test]
fn a_sensor_that_dies_is_called_out_within_7_seconds_and_a_good_one_never() {
    let folder = folder();
    let wav = path(&folder, "a.wav");
    let sound_of = |text: &str, settings: &str| {
        let trace = write(&folder, "trace.csv", text);
        run(&["replay", &trace, "--wav", &wav, "--sound-rate", "48000", "--settings", settings]);
        Sound::read(&wav)
    };
    let sound = sound_of(&dying(20.0, 60.0), "tone.fault_every_s=10");
    let notes: Vec<(f64, f64)> = beeps(&sound).into_iter().filter(|note| note.0 > 21.5).collect();
    assert!((25.0..28.0).contains(&notes[0].0), "{} s", notes[0].0);
    assert!(notes.iter().all(|note| low_pitch_of(&sound, *note) < 434.0), "no beep after it died");
    assert_eq!(notes.len(), 12, "three notes every 10 s");
    let off = sound_of(&dying(20.0, 60.0), "tone.fault_every_s=0");
    assert!(off.part(23.0, 59.9).iter().all(|sample| *sample == 0.0));
    let good = sound_of(&dying(60.0, 60.0), "tone.fault_every_s=5");
    assert!(beeps(&good).iter().skip(2).all(|note| pitch_of(&good, *note) > 500.0));
}

#[test]
fn on_the_ground_nothing_sounds_until_the_launch_and_a_start_in_flight_does() {
    let folder = folder();
    let first_sound = |seconds: f64, columns: &str, row: &dyn Fn(f64) -> String| {
        let mut text = format!("{columns}\n");
        for sample in 0..(seconds * 20.0) as u32 {
            let time = f64::from(sample) / 20.0;
            // The last digits of a working sensor.
            let noise = 0.3 * (f64::from(sample * 7919 % 1009) / 504.5 - 1.0);
            text += &format!("{time:.2},{}\n", row(time).replace("NOISE", &format!("{noise:.3}")));
        }
        let trace = write(&folder, "trace.csv", text);
        let csv =
            run(&["replay", &trace, "--csv", "-", "--settings", "tone.silent_until_launch=true"]);
        let table = crate::support::Table::read(&csv);
        table.column("sounding").iter().position(|gate| *gate == 1.0).map(|row| row as f64 / 20.0)
    };
    let pressure =
        |height: f64, time: f64| format!("{:.3}", pressure_pa(height) + 0.3 * (time * 37.0).sin());
    // Ten minutes of gusts to 16 m/s, six tenths of their pressure in the static line; with and
    // without an airspeed.
    let gust = |time: f64| 0.5 * 1.225 * (9.0 + 7.0 * (time * 0.785).sin()).powi(2);
    let parked = |time: f64| {
        format!("{:.3}", pressure_pa(300.0) + 0.6 * gust(time) + 0.3 * (time * 37.0).sin())
    };
    assert_eq!(first_sound(600.0, "time_s,static_pa", &|time| parked(time)), None);
    let with_airspeed = |time: f64| format!("{},{:.2}", parked(time), gust(time));
    assert_eq!(first_sound(600.0, "time_s,static_pa,dynamic_pa", &with_airspeed), None);
    // A winch from 60 s on, up at 12 m/s from 63 s on.
    let winch = |time: f64| pressure(300.0 + 12.0 * (time - 63.0).max(0.0), time);
    let launched = first_sound(90.0, "time_s,static_pa", &winch).expect("it sounds");
    assert!((63.0..66.5).contains(&launched), "{launched} s");
    // An aerotow from 60 s on, up at 2.5 m/s from 74 s on.
    let tow = |time: f64| pressure(300.0 + 2.5 * (time - 74.0).max(0.0), time);
    let towed = first_sound(120.0, "time_s,static_pa", &tow).expect("it sounds");
    assert!((74.0..82.0).contains(&towed), "{towed} s");
    // Power comes back in flight: a weak climb sounds within a minute without an airspeed, and
    // within 6 s with one.
    let weak = |time: f64| pressure(1500.0 + 0.3 * time, time);
    let back = first_sound(90.0, "time_s,static_pa", &weak).expect("it sounds");
    assert!(back < 60.0, "{back} s");
    let flying = |time: f64| format!("{},380", weak(time));
    let back = first_sound(30.0, "time_s,static_pa,dynamic_pa", &flying).expect("it sounds");
    assert!(back < 6.0, "{back} s");
}

#[test]
fn the_law_is_printed_for_people_and_programs_and_drawn() {
    let folder = folder();
    let (csv, svg, png) =
        (path(&folder, "law.csv"), path(&folder, "law.svg"), path(&folder, "law.png"));
    let text = run(&["tone", "--csv", &csv, "--plot", &svg]);
    assert!(text.contains("beeps from +0.2 m/s") && text.contains("written"), "{text}");
    assert!(text.lines().all(|line| line.len() <= 100 || line.starts_with("written")));
    let rows = std::fs::read_to_string(csv).expect("it is there");
    assert_eq!(rows.lines().count(), 252);
    assert!(rows.contains("\n2.0,beeps,888.000,,1.9200,"), "{rows}");
    let law: serde_json::Value =
        serde_json::from_str(&run(&["tone", "--json", "--at", "2"])).expect("JSON");
    assert_eq!(law["rows"][0]["sound"], "beeps");
    assert_eq!(law["settings"]["tone"]["mode"], "climb");
    run(&["tone", "--plot", &png]);
    assert!(std::fs::read(png).expect("it is there").starts_with(b"\x89PNG"));
    assert!(run(&["tone", "--plot", "-"]).starts_with("<svg"));
}

#[test]
fn what_the_tone_command_cannot_use_is_said_in_one_line() {
    for (args, part) in [
        (&["tone", "--at", "61"][..], "--at is 61, expected -60 to 60"),
        (&["tone", "--sweep-from", "-99"], "--sweep-from is -99, expected -60 to 60"),
        (&["tone", "--seconds", "0"], "--seconds is 0, expected 0.1 to 3600"),
        (&["tone", "--at", "1", "--fault"], "--fault"),
        (&["tone", "--plot", "law.gif"], "expected .svg or .png"),
        (&["tone", "--json", "--csv", "-"], "standard output"),
        (&["tone", "--settings", "tone.volume=11"], "tone.volume is 11, expected 0 to 10"),
        (&["tone", "--settings", "tone.even_loudness=maybe"], "expected true or false"),
        (
            &["tone", "--settings", "tone.timbre=gold"],
            r#"expected "pure", "mellow", "reed" or "octave""#,
        ),
    ] {
        let message = complaint(args, 2);
        assert!(message.contains(part), "{message}");
    }
}

#[test]
fn a_mode_that_lacks_its_value_sounds_climb() {
    let folder = folder();
    let trace = write(&folder, "trace.csv", trace_of(50.0, 10.0, |time| 1000.0 + 2.0 * time));
    for mode in ["netto", "speed"] {
        let wav = path(&folder, "a.wav");
        run(&[
            "replay",
            &trace,
            "--wav",
            &wav,
            "--sound-rate",
            "48000",
            "--settings",
            &format!("tone.mode={mode}"),
        ]);
        let sound = Sound::read(&wav);
        let last = beeps(&sound);
        assert_relative_eq!(pitch_of(&sound, last[last.len() - 3]), 888.0, max_relative = 0.01);
    }
}

#[test]
fn a_mute_ends_by_itself_in_the_whole_instrument() {
    use chirrup_core::{Pascal, PipelineState, Sample};
    let (pipeline, mut state) =
        (Settings::default().build().expect("the defaults are good"), PipelineState::default());
    let mut sounded = Vec::new();
    for sample in 0..1_000_i64 {
        let time_s = sample as f64 * 0.02;
        let pressure = Pascal(pressure_pa(1000.0 + 2.0 * time_s) as f32);
        pipeline.step(&mut state, &Sample::of_static(Micros(sample * 20_000), pressure));
        if sample == 250 {
            state.mute_for(Micros(5_000_000));
        }
        if (0..10).fold(false, |any, _| pipeline.tick(&mut state).gate || any) {
            sounded.push(time_s);
        }
    }
    assert!(sounded.iter().any(|time| *time < 5.0));
    assert!(!sounded.iter().any(|time| (5.1..9.95).contains(time)), "silent while muted");
    assert!(sounded.iter().any(|time| (10.0..10.3).contains(time)), "and heard again by itself");
}
