//! The WAV file through a sound analyser: spectrum and envelope, with no code shared with the
//! synthesiser.

use crate::listen::{HANN, Sound, edges, outside_db, pitch_hz, repeated_hz};
use crate::support::{Table, folder, path, run, trace_of, write};
use approx::{assert_abs_diff_eq, assert_relative_eq};

/// The sound of `seconds` at `climb` m/s, and the readings.
fn steady(climb: f64, seconds: f64, rate_hz: u32) -> (Sound, Table) {
    let folder = folder();
    let trace = write(&folder, "trace.csv", trace_of(50.0, seconds, |t| 1000.0 + climb * t));
    let (wav, csv, rate) = (path(&folder, "a.wav"), path(&folder, "a.csv"), rate_hz.to_string());
    run(&["replay", &trace, "--wav", &wav, "--csv", &csv, "--sound-rate", &rate]);
    (Sound::read(&wav), Table::read(&std::fs::read_to_string(csv).expect("the table was written")))
}

#[test]
fn a_steady_climb_sounds_at_the_pitch_and_cadence_of_the_settings() {
    // The default table's own entries: 1 m/s is 747 Hz 1.61 times a second, 2 m/s 888 Hz and 1.92,
    // 5 m/s 1493 Hz and 4.55.
    for (climb, pitch, cadence, rate_hz) in [
        (1.0, 747.0, 1.61, 24_000),
        (2.0, 888.0, 1.92, 44_100),
        (5.0, 1493.0, 4.55, 8_000),
        (2.0, 888.0, 1.92, 48_000),
    ] {
        let (sound, _) = steady(climb, 20.0, rate_hz);
        let (onsets, ends) = edges(sound.mono(), sound.rate_hz, sound.peak());
        let late: Vec<usize> =
            (0..onsets.len()).filter(|&beep| (10.0..19.3).contains(&onsets[beep])).collect();
        assert!(late.len() as f64 >= 9.0 * cadence, "{} beeps", late.len());
        let first = late[0];
        for &beep in &late {
            let expected = onsets[first] + (beep - first) as f64 / cadence;
            assert_abs_diff_eq!(onsets[beep], expected, epsilon = 0.005);
            if let Some(end) = ends.iter().find(|end| **end > onsets[beep]) {
                assert_abs_diff_eq!(end - onsets[beep], 0.5 / cadence, epsilon = 0.005);
                let middle = sound.part(onsets[beep] + 0.008, end - 0.008);
                assert_relative_eq!(pitch_hz(middle, sound.rate_hz), pitch, max_relative = 0.002);
            }
        }
    }
}

#[test]
fn the_first_beep_begins_where_the_table_says_that_the_climb_is_read() {
    let (sound, table) = steady(2.0, 10.0, 24_000);
    let sounding = table.column("sounding").iter().position(|&gate| gate == 1.0).expect("it beeps");
    let tone =
        table.column("tone_hz").iter().position(|pitch| pitch.is_finite()).expect("it has a pitch");
    // The sample that brings the tone is heard from the next tick on, so the next row finds the
    // gate open.
    assert_eq!(sounding, tone + 1);
    let onset = edges(sound.mono(), sound.rate_hz, sound.peak()).0[0];
    assert_abs_diff_eq!(onset, table.column("time_s")[tone], epsilon = 0.005);
}

#[test]
fn steep_sink_is_one_unbroken_tone_far_below_every_beep() {
    let (sound, _) = steady(-4.0, 20.0, 24_000);
    let (onsets, ends) = edges(sound.mono(), sound.rate_hz, sound.peak());
    assert_eq!(onsets.len(), 1);
    assert!(ends.iter().all(|end| *end > sound.seconds() - 0.1), "{ends:?}");
    assert_relative_eq!(
        repeated_hz(sound.part(10.0, 10.2), sound.rate_hz),
        385.0,
        max_relative = 0.002
    );
}

#[test]
fn weak_sink_and_level_flight_are_exactly_silent() {
    for climb in [0.0, 0.1, -0.7, -1.5] {
        let (sound, table) = steady(climb, 20.0, 24_000);
        assert!(sound.mono().iter().all(|&sample| sample == 0.0), "{climb} m/s sounds");
        assert!(table.column("tone_hz").iter().all(|pitch| pitch.is_nan()));
    }
}

#[test]
fn the_wav_is_as_long_as_the_trace() {
    let (sound, table) = steady(2.0, 20.0, 24_000);
    let last = *table.column("time_s").last().expect("there are rows");
    // 20 ms are added for the last edge to fade in.
    assert_abs_diff_eq!(sound.seconds(), last + 0.02, epsilon = 0.002);
}

#[test]
fn no_edge_and_no_glide_of_pitch_clicks() {
    // A thermal entered and left, and sink: every kind of edge. A click is a corner: a second
    // difference beyond that of the highest tone there is, (2 pi f / rate)^2 A.
    let folder = folder();
    let climb = |t: f64| 1000.0 - 40.0 * (std::f64::consts::TAU * t / 60.0).cos();
    let trace = write(&folder, "trace.csv", trace_of(50.0, 120.0, climb));
    let wav = path(&folder, "a.wav");
    run(&["replay", &trace, "--wav", &wav, "--sound-rate", "48000"]);
    let sound = Sound::read(&wav);
    let highest = sound
        .mono()
        .windows(3)
        .map(|three| (three[0] - 2.0 * three[1] + three[2]).abs())
        .fold(0.0, f64::max);
    let limit = (std::f64::consts::TAU * 1493.0 / 48_000.0).powi(2) * sound.peak();
    assert!(highest < limit, "second difference {highest}, limit {limit}");
}

#[test]
fn the_edges_of_beeps_keep_their_energy_near_the_tone() {
    // Beyond an octave to either side there must be nothing audible: below -50 dB of the beep,
    // edges included.
    let (sound, _) = steady(2.0, 20.0, 48_000);
    let onset = edges(sound.mono(), sound.rate_hz, sound.peak()).0[10];
    let beep = sound.part(onset - 0.065, onset + 0.198);
    let level_db = outside_db(beep, sound.rate_hz, HANN, 450.0, 1800.0);
    assert!(level_db < -50.0, "{level_db} dB outside an octave either side");
}

#[test]
fn two_instruments_sound_in_two_ears() {
    let folder = folder();
    let trace = write(&folder, "trace.csv", trace_of(50.0, 12.0, |t| 1000.0 + t));
    let wav = path(&folder, "both.wav");
    run(&["replay", &trace, "--wav", &wav, "--against", "tone.climb_from_mps=1.5"]);
    let sound = Sound::read(&wav);
    assert_eq!(sound.channels.len(), 2);
    let loudness =
        |channel: &[f64]| channel.iter().fold(0.0_f64, |peak, sample| peak.max(sample.abs()));
    assert!(loudness(&sound.channels[0]) > 0.1);
    assert_eq!(loudness(&sound.channels[1]), 0.0);
}
