//! A session against the plain replay, and every lesson against its captions.

use super::control::Control;
use super::lesson::LESSONS;
use super::*;
use crate::sensed::sample_of;
use crate::trace::column_names;
use chirrup_core::Meaning;
use chirrup_flight::hand::Flight;

const RATE_HZ: u32 = 24_000;

/// The frames of `seconds`, fetched `piece` frames at a time.
fn frames(session: &mut Session, seconds: f64, piece: usize) -> Vec<i16> {
    let mut all = vec![0; (seconds * f64::from(session.sample_rate_hz())) as usize * EARS];
    for part in all.chunks_mut(piece * EARS) {
        session.fill(part);
    }
    all
}

fn ear(frames: &[i16], side: usize) -> Vec<i16> {
    frames.iter().skip(side).step_by(EARS).copied().collect()
}

#[test]
fn a_session_sounds_as_the_replay_of_its_own_samples_does() {
    let controls = Controls { air_mps: 3.0, two: true, ..Controls::default() };
    let mut flight = Flight::new(source::START_M, 9);
    let mut renderer = Renderer::new(RATE_HZ, true);
    let mut replay = Replay::new(pipelines(&controls));
    let mut expected = Vec::new();
    for line in 0..=500 {
        if line > 0 {
            flight.step(&controls.asked());
        }
        let sample = sample_of(&flight.sense(controls.noise_m));
        let mut keep = |part: &[i16]| {
            expected.extend_from_slice(part);
            Ok::<(), Infallible>(())
        };
        let mut sound = |stretch: Stretch<'_>| renderer.render(stretch, &mut keep);
        replay.feed(line, &sample, &mut sound).unwrap();
    }
    let mut session = Session::new(RATE_HZ, 9);
    session.set(Control::Air, 3.0);
    session.set(Control::Two, 1.0);
    let found = frames(&mut session, 10.0, 128);
    assert!(found.iter().any(|sample| sample.abs() > 1000), "the climb is heard");
    assert!(found == expected, "the frames differ");
}

#[test]
fn the_sound_does_not_depend_on_how_many_frames_are_asked_for() {
    let of = |piece| {
        let mut session = Session::new(44_100, 3);
        session.play_lesson(0);
        frames(&mut session, 15.0, piece)
    };
    assert!(of(128) == of(1000) && of(128) == of(7));
}

#[test]
fn a_control_is_heard_within_40_ms() {
    let mut worst = 0;
    for delay in 0..20 {
        // A steady tone, in which a change of pitch sounds at once.
        let begun = || {
            let mut session = Session::new(RATE_HZ, 3);
            session.set(Control::Air, -4.0);
            frames(&mut session, 8.0, 128);
            frames(&mut session, f64::from(delay) * 0.001, 24);
            session
        };
        let (mut one, mut other) = (begun(), begun());
        other.set(Control::Air, 2.0);
        let (one, other) = (frames(&mut one, 0.5, 128), frames(&mut other, 0.5, 128));
        let first =
            one.iter().zip(&other).position(|(one, other)| one != other).expect("it is heard");
        worst = worst.max(first / EARS);
    }
    let worst_ms = worst as f64 * 1e3 / f64::from(RATE_HZ);
    assert!(worst_ms < 40.0, "{worst_ms} ms");
}

#[test]
fn with_one_instrument_both_ears_hear_the_same_and_with_two_they_do_not() {
    for (two, alike) in [(0.0, true), (1.0, false)] {
        let mut session = Session::new(RATE_HZ, 5);
        session.set(Control::Two, two);
        session.set(Control::Speed, 40.0);
        let sound = frames(&mut session, 8.0, 128);
        assert_eq!(ear(&sound, 0) == ear(&sound, 1), alike);
    }
}

#[test]
fn mute_is_silence_and_time_goes_on() {
    let mut session = Session::new(RATE_HZ, 5);
    session.set(Control::Air, 4.0);
    frames(&mut session, 5.0, 128);
    session.set(Control::Mute, 1.0);
    assert!(frames(&mut session, 2.0, 128).iter().all(|sample| *sample == 0));
    assert!((session.report().time_s - 7.0).abs() < 0.03);
}

#[test]
fn both_ends_of_every_control_can_be_flown() {
    for control in Control::ALL {
        let range = control.range();
        for value in [range.least, range.most] {
            let mut session = Session::new(8_000, 5);
            session.set(control, value);
            frames(&mut session, 3.0, 128);
            assert!(session.report().height_m.is_finite());
        }
    }
}

#[test]
fn whoever_gets_too_low_begins_again_in_still_air() {
    let mut session = Session::new(8_000, 5);
    session.set(Control::Air, -6.0);
    session.set(Control::Speed, 50.0);
    frames(&mut session, 120.0, 800);
    let report = session.report();
    assert_eq!((report.restarts, session.controls().air_mps), (1, 0.0));
    assert!(report.height_m > 500.0);
}

/// Shares of the time from `from_s` to `to_s` in which climb or sink sounds in the left and the
/// right ear.
struct Told {
    left: [f64; 2],
    right: [f64; 2],
}

fn told(session: &mut Session, seconds: f64) -> Told {
    let mut told = Told { left: [0.0; 2], right: [0.0; 2] };
    let count = (seconds * 50.0) as usize;
    for _ in 0..count {
        frames(session, 0.02, 160);
        let report = session.report();
        for (shares, shown) in [(&mut told.left, report.left), (&mut told.right, report.right)] {
            shares[0] += f64::from(shown.meaning == Meaning::Climb) / count as f64;
            shares[1] += f64::from(shown.meaning == Meaning::Sink) / count as f64;
        }
    }
    told
}

/// What sounds in each cue of a lesson, except its first `skip_s` seconds, in which the air and the
/// instrument settle.
fn heard(lesson: usize, skip_s: f64) -> Vec<Told> {
    let mut session = Session::new(8_000, 11);
    session.play_lesson(lesson);
    let lesson = &LESSONS[lesson];
    let ends = lesson.cues[1..].iter().map(|cue| cue.at_s).chain([lesson.length_s]);
    lesson
        .cues
        .iter()
        .zip(ends)
        .map(|(cue, end)| {
            told(&mut session, skip_s);
            told(&mut session, end - cue.at_s - skip_s)
        })
        .collect()
}

#[test]
fn the_first_thermal_is_silent_in_still_air_and_beeps_in_between() {
    let heard = heard(0, 4.0);
    for (place, climb) in [(0, 0.0), (1, 1.0), (2, 1.0), (3, 1.0), (4, 1.0), (5, 0.0)] {
        let Told { left, .. } = heard[place];
        assert!((left[0] - climb).abs() < 0.05 && left[1] == 0.0, "cue {place}: {left:?}");
    }
}

#[test]
fn the_stick_speaks_in_the_uncompensated_ear_only() {
    let heard = heard(1, 1.0);
    // Push and pull in still air: the right ear gets sink, then climb; the left neither.
    let [_, push, pull, lift, push_in_lift, _] = heard.try_into().ok().expect("six cues");
    assert!(push.right[1] > 0.2 && push.left == [0.0; 2], "push: {:?} {:?}", push.left, push.right);
    assert!(pull.right[0] > 0.2 && pull.left == [0.0; 2], "pull: {:?} {:?}", pull.left, pull.right);
    assert!(lift.left[0] > 0.8 && lift.right[0] > 0.8);
    assert!(push_in_lift.left[0] > 0.95 && push_in_lift.right[0] < 0.8);
}

#[test]
fn steep_sink_is_a_steady_tone_that_ends() {
    let heard = heard(2, 4.0);
    for (place, sink) in [(0, 0.0), (1, 1.0), (2, 1.0), (3, 1.0), (4, 0.0)] {
        let Told { left, .. } = heard[place];
        assert!((left[1] - sink).abs() < 0.05 && left[0] == 0.0, "cue {place}: {left:?}");
    }
}

#[test]
fn a_circle_beside_the_thermal_falls_silent_and_a_centred_one_does_not() {
    let heard = heard(3, 8.0);
    assert!(heard[0].left[0] < 0.9, "beside it: {:?}", heard[0].left);
    assert!(heard[3].left[0] > 0.99, "centred: {:?}", heard[3].left);
}

#[test]
fn the_winch_is_silent_then_beeps_then_is_silent() {
    let heard = heard(4, 4.0);
    assert_eq!(heard[0].left, [0.0; 2]);
    assert!(heard[1].left[0] > 0.95, "{:?}", heard[1].left);
    assert!(heard[3].left[0] < 0.05, "{:?}", heard[3].left);
}

#[test]
fn a_fault_is_silent_then_called_out_then_over() {
    let mut session = Session::new(8_000, 11);
    session.play_lesson(5);
    frames(&mut session, 14.0, 160);
    assert!(frames(&mut session, 3.0, 160).iter().all(|sample| *sample == 0), "first silence");
    let mut called = false;
    for _ in 0..50 * 20 {
        frames(&mut session, 0.02, 160);
        let shown = session.report().left;
        assert_ne!(shown.meaning, Meaning::Climb);
        called |= shown.sounding && shown.meaning == Meaning::Fault;
    }
    assert!(called, "then the call");
    frames(&mut session, 12.0, 160);
    assert_eq!(session.report().left.meaning, Meaning::Climb, "then the climb");
}

#[test]
fn a_lesson_ends_by_itself_and_a_hand_on_the_stick_ends_it_at_once() {
    for (number, lesson) in LESSONS.iter().enumerate() {
        let mut session = Session::new(8_000, 1);
        session.play_lesson(number);
        frames(&mut session, lesson.length_s - 0.1, 800);
        assert!(session.lesson().is_some(), "{}", lesson.title);
        frames(&mut session, 0.2, 800);
        assert!(session.lesson().is_none(), "{}", lesson.title);
        session.play_lesson(number);
        session.set(Control::Volume, 5.0);
        assert!(session.lesson().is_some());
        session.set(Control::Speed, 30.0);
        assert!(session.lesson().is_none());
    }
}

#[test]
fn a_trace_is_replayed_to_its_end_and_sought() {
    let mut text = String::from("time_s,static_pa\n");
    for row in 0..1500 {
        // Climbs at 3 m/s or so: 36 Pa/s.
        text += &format!("{},{}\n", f64::from(row) * 0.02, 90_000.0 - 0.72 * f64::from(row));
    }
    let mut session = Session::new(8_000, 1);
    session.load_trace("climb.csv", text.into_bytes(), &ColumnMap::default()).unwrap();
    assert!(frames(&mut session, 10.0, 128).iter().any(|sample| *sample != 0));
    session.seek(20.0);
    frames(&mut session, 6.0, 128);
    let report = session.report();
    assert!(
        (report.time_s - 26.0).abs() < 0.1 && (report.length_s - 29.98).abs() < 0.01,
        "{report:?}"
    );
    assert_eq!(report.left.meaning, Meaning::Climb);
    frames(&mut session, 30.0, 128);
    let wrong = b"a,b\n1,2\n".to_vec();
    let error =
        session.load_trace("wrong.csv", wrong, &ColumnMap::default()).unwrap_err().to_string();
    assert!(error.contains("wrong.csv"), "{error}");
    assert!(session.report().length_s > 0.0, "and the trace is still there");
}

/// Loudest sample of a stretch of frames, left ear.
fn loudest(frames: &[i16]) -> i16 {
    frames.iter().step_by(EARS).map(|sample| sample.saturating_abs()).max().unwrap_or(0)
}

#[test]
fn the_notes_handed_out_are_those_of_the_frames_tick_by_tick() {
    for lesson in [0, 2, 5] {
        let mut session = Session::new(8_000, 11);
        session.play_lesson(lesson);
        let (mut sound, mut notes) = (Vec::new(), Vec::new());
        for _ in 0..50 * 40 {
            sound.extend(frames(&mut session, 0.02, 160));
            notes.extend(session.take_heard());
        }
        assert!(notes.len().abs_diff(500 * 40) <= 1, "{} notes", notes.len());
        let mut changes = 0;
        for place in 10..notes.len() - 10 {
            // 16 frames a tick. Away from an edge a tick sounds or does not.
            let near = &notes[place - 8..place + 8];
            let sounds = notes[place].left.pitch_hz > 0.0;
            if near.iter().any(|note| (note.left.pitch_hz > 0.0) != sounds) {
                changes += 1;
                continue;
            }
            let around = loudest(&sound[(place - 1) * 16 * EARS..(place + 3) * 16 * EARS]);
            assert_eq!(sounds, around > 500, "lesson {lesson}, tick {place}: {around}");
        }
        assert!(changes > 10, "lesson {lesson} has edges");
    }
}

#[test]
fn what_is_muted_has_not_sounded_and_what_nobody_fetches_is_not_kept_for_ever() {
    let mut session = Session::new(8_000, 5);
    session.set(Control::Air, 5.0);
    frames(&mut session, 20.0, 160);
    let notes = session.take_heard();
    assert!((2_500..=5_000).contains(&notes.len()), "{}", notes.len());
    assert!(notes.iter().any(|note| note.left.meaning == Meaning::Climb));
    session.set(Control::Mute, 1.0);
    frames(&mut session, 2.0, 160);
    let silent = Note::default();
    assert!(session.take_heard().iter().all(|note| note.left == silent));
}

/// Two minutes at 10 a second with columns of other names: level, then a climb of 2.5 m/s.
fn two_minutes() -> Vec<u8> {
    let mut text = String::from("x0;x1\n");
    for row in 0..1_200 {
        let seconds = f64::from(row) * 0.1;
        text += &format!("{seconds};{}\n", 900.0 - 0.28 * (seconds - 60.0).max(0.0));
    }
    text.into_bytes()
}

#[test]
fn columns_are_named_and_a_faster_pace_gives_the_same_readings_sooner() {
    let columns: ColumnMap = "time=x0,static=x1:hPa".parse().unwrap();
    let names = column_names("log.csv", Box::new(std::io::Cursor::new(two_minutes()))).unwrap();
    assert_eq!(names, ["x0", "x1"]);
    let mut session = Session::new(8_000, 1);
    assert!(session.load_trace("log.csv", two_minutes(), &ColumnMap::default()).is_err());
    let at = |session: &mut Session, times: f64, seconds: f64| {
        session.load_trace("log.csv", two_minutes(), &columns).unwrap();
        session.set_pace(times);
        frames(session, seconds / times, 160);
        session.report()
    };
    for (seconds, climbs) in [(50.0, false), (100.0, true)] {
        let [half, real, fast] = [0.5, 1.0, 16.0].map(|times| at(&mut session, times, seconds));
        for paced in [half, fast] {
            assert!((paced.time_s - real.time_s).abs() < 0.2, "{} {}", paced.time_s, real.time_s);
            assert!((paced.left.reading_mps - real.left.reading_mps).abs() < 0.05);
        }
        assert_eq!(real.left.meaning == Meaning::Climb, climbs);
    }
    let [climb] = session.profile().climbs[..] else { panic!("{:?}", session.profile().climbs) };
    assert!((climb.begin_s - 60.0).abs() < 5.0 && (climb.end_s - 119.9).abs() < 1.0, "{climb:?}");
    // A flight is flown in real time, by its own compensation.
    session.start_afresh();
    frames(&mut session, 3.0, 160);
    assert!((session.report().time_s - 3.0).abs() < 0.1);
    assert_eq!(session.controls().energy, EnergyChoice::Electronic);
}
