//! A recording played from any moment at any pace: the sound of a flight's page.
//!
//! ```text
//! samples -> replay (the core's pipeline) -> voices, tick by tick -> pace -> render -> frames
//!              |
//!              +-> a point a sample for the picture, and a mark a minute to begin from
//! ```
//!
//! From the start and at its own pace the frames are those of `chirrup replay --wav`, sample for
//! sample. From a later moment the instrument is in the very state in which the whole replay would
//! be there; only the phase of the wave is another.

use crate::ears::Ears;
use crate::render::Renderer;
use crate::replay::{Replay, Row, Stretch};
use chirrup_core::{Micros, Pipeline, Sample, TICK, Voice};
use std::convert::Infallible;

/// From one mark to the next.
const MARK: Micros = Micros(60_000_000);

/// How many times as fast as in flight: pitch and beeps stay what they are, only what they tell
/// changes sooner or later.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Pace {
    /// So many times as slow; beeps are as much longer.
    Slower(u32),
    /// So many times as fast; beeps keep their length, and there are fewer of them.
    Faster(u32),
}

impl Pace {
    /// As in flight.
    pub const OWN: Self = Self::Faster(1);
}

/// What a sample adds to the picture; NaN where there is no figure.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Point {
    /// Seconds since the first sample.
    pub time_s: f32,
    /// Pressure altitude, m.
    pub altitude_m: f32,
    /// The vertical speed that sounds, m/s.
    pub climb_mps: f32,
    /// Its running average, m/s.
    pub average_mps: f32,
}

/// A recording and the instrument it is played through.
pub struct Player {
    samples: Vec<Sample>,
    marks: Vec<(usize, Replay)>,
    points: Vec<Point>,
    replay: Replay,
    renderer: Renderer,
    next: usize,
    /// All the time to the next sample, and what is left of it.
    wait: (Micros, Micros),
    pace: Pace,
    queue: Vec<i16>,
}

impl Player {
    /// Runs all of `samples` once; `None` where there are none.
    pub fn new(pipeline: Pipeline, samples: Vec<Sample>, sample_rate_hz: u32) -> Option<Self> {
        let start = samples.first()?.time;
        let fresh = Replay::new(Ears { left: pipeline, right: None });
        let (mut replay, mut marks) = (fresh.clone(), vec![(0, fresh.clone())]);
        let mut points = Vec::with_capacity(samples.len());
        let mut marked = start;
        for (place, sample) in samples.iter().enumerate() {
            if sample.time.since(marked) >= MARK {
                marks.push((place, replay.clone()));
                marked = sample.time;
            }
            let Ok(row) = replay.feed(place as u64, sample, &mut |_| Ok::<(), Infallible>(()));
            points.push(Point::of(&row, start));
        }
        let renderer = Renderer::new(sample_rate_hz, false);
        let mut player = Self {
            samples,
            marks,
            points,
            replay: fresh,
            renderer,
            next: 0,
            wait: (Micros(0), Micros(0)),
            pace: Pace::OWN,
            queue: Vec::new(),
        };
        player.take_next();
        Some(player)
    }

    /// A point for each sample.
    pub fn points(&self) -> &[Point] {
        &self.points
    }

    /// Plays on at this pace.
    pub fn set_pace(&mut self, pace: Pace) {
        self.pace = pace;
    }

    /// Plays on from the first sample that is not before `seconds` after the first one, or from the
    /// last.
    pub fn seek(&mut self, seconds: f64) {
        let start = self.samples[0].time.0;
        let wanted = start.saturating_add((seconds.max(0.0) * 1e6) as i64);
        let last = self.samples.len() - 1;
        let place = self.samples.partition_point(|sample| sample.time.0 < wanted).min(last);
        let mark = self.marks.partition_point(|(marked, _)| *marked <= place).saturating_sub(1);
        let (from, replay) = &self.marks[mark];
        self.replay = replay.clone();
        self.queue.clear();
        for number in *from..place {
            let sample = &self.samples[number];
            let Ok(_) = self.replay.feed(number as u64, sample, &mut |_| Ok::<(), Infallible>(()));
        }
        let until = self.replay.time_until(&self.samples[place]);
        let Ok(()) = self.replay.run(until, &mut |_| Ok::<(), Infallible>(()));
        self.next = place;
        self.wait = (until, Micros(0));
        self.take_next();
    }

    /// Seconds of the recording that have been played, since its first sample.
    pub fn time_s(&self) -> f64 {
        let (whole, left) = self.wait;
        let last = self.samples[self.next.saturating_sub(1)].time;
        let played = last.since(self.samples[0].time).0
            + if self.has_ended() { 0 } else { whole.0 - left.0 };
        played as f64 * 1e-6
    }

    /// Whether every sample has been taken; then it is silent.
    pub fn has_ended(&self) -> bool {
        self.next >= self.samples.len()
    }

    /// Fills `frames`, one channel, with what is heard next.
    pub fn fill(&mut self, frames: &mut [i16]) {
        while self.queue.len() < frames.len() {
            self.go_on();
        }
        frames.copy_from_slice(&self.queue[..frames.len()]);
        self.queue.drain(..frames.len());
    }

    fn go_on(&mut self) {
        let Self { replay, renderer, queue, pace, .. } = self;
        let mut keep = |frames: &[i16]| {
            queue.extend_from_slice(frames);
            Ok::<(), Infallible>(())
        };
        if self.next >= self.samples.len() {
            let Ok(()) = renderer.render(Stretch::Silence(1), &mut keep);
            return;
        }
        let (whole, left) = self.wait;
        if left <= Micros(0) {
            return self.take_next();
        }
        let (step, run, repeats) = match *pace {
            Pace::Slower(times) => (TICK, 1, times),
            Pace::Faster(times) => (Micros(TICK.0 * i64::from(times)), i64::from(times), 1),
        };
        let now = left.min(step);
        self.wait = (whole, Micros(left.0 - now.0));
        let mut sound = |stretch: Stretch<'_>| match stretch {
            Stretch::Voices(voices) => voices.iter().try_for_each(|voice: &Ears<Voice>| {
                (0..repeats)
                    .try_for_each(|_| renderer.render(Stretch::Voices(&[*voice]), &mut keep))
            }),
            Stretch::Silence(ticks) => {
                renderer.render(Stretch::Silence(ticks * u64::from(repeats)), &mut keep)
            }
        };
        let Ok(()) = replay.run(Micros(now.0 / run), &mut sound);
    }

    /// Takes the sample that is due, and finds out how long the sound then runs.
    fn take_next(&mut self) {
        if let Some(sample) = self.samples.get(self.next) {
            self.replay.take(self.next as u64, sample, self.wait.0);
            self.next += 1;
        }
        let until =
            self.samples.get(self.next).map_or(Micros(0), |sample| self.replay.time_until(sample));
        self.wait = (until, until);
    }
}

impl Point {
    fn of(row: &Row, start: Micros) -> Self {
        let reading = row.readings.left;
        let good = reading.values.filter(|_| reading.status.is_good());
        let figure = |value: Option<f32>| value.unwrap_or(f32::NAN);
        Self {
            time_s: (row.time.since(start).0 as f64 * 1e-6) as f32,
            altitude_m: figure(reading.values.map(|values| values.altitude.0)),
            climb_mps: figure(good.map(|values| values.sounded().0)),
            average_mps: figure(good.and_then(|values| values.average).map(|average| average.0)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use chirrup_core::{Metre, Settings, pressure_at};

    const RATE_HZ: u32 = 24_000;

    /// Three minutes at 5 Hz that rise and sink in turn.
    fn samples() -> Vec<Sample> {
        let height = |t: f32| 1000.0 + 60.0 * (t * 0.05).sin();
        (0..900)
            .map(|count| {
                let time = Micros(7_000_000 + count * 200_000);
                Sample::of_static(time, pressure_at(Metre(height(count as f32 * 0.2))))
            })
            .collect()
    }

    fn player() -> Player {
        Player::new(Settings::default().build().unwrap(), samples(), RATE_HZ).unwrap()
    }

    fn played(player: &mut Player, seconds: usize) -> Vec<i16> {
        let mut all = Vec::new();
        let mut frames = [0; 128];
        while all.len() < seconds * RATE_HZ as usize {
            player.fill(&mut frames);
            all.extend_from_slice(&frames);
        }
        all.truncate(seconds * RATE_HZ as usize);
        all
    }

    /// What `chirrup replay --wav` renders.
    fn replayed() -> Vec<i16> {
        let mut replay =
            Replay::new(Ears { left: Settings::default().build().unwrap(), right: None });
        let (mut renderer, mut all) = (Renderer::new(RATE_HZ, false), Vec::new());
        for (line, sample) in samples().iter().enumerate() {
            let mut keep = |frames: &[i16]| {
                all.extend_from_slice(frames);
                Ok::<(), Infallible>(())
            };
            let mut sound = |stretch: Stretch<'_>| renderer.render(stretch, &mut keep);
            let Ok(_) = replay.feed(line as u64, sample, &mut sound);
        }
        all
    }

    #[test]
    fn from_the_start_it_sounds_as_a_replay_does() {
        let all = replayed();
        let found = played(&mut player(), all.len() / RATE_HZ as usize);
        assert!(found.iter().any(|sample| sample.abs() > 5_000));
        assert!(found == all[..found.len()], "the frames differ");
    }

    /// Where a second of sound is loud, whatever the phase of its wave.
    fn loud(frames: &[i16]) -> Vec<bool> {
        frames.chunks(480).map(|part| part.iter().any(|sample| sample.abs() > 3_000)).collect()
    }

    #[test]
    fn from_a_later_moment_the_beeps_are_those_of_the_whole_replay() {
        let all = replayed();
        for second in [30, 61, 122, 150] {
            let mut player = player();
            player.seek(second as f64);
            assert!((player.time_s() - second as f64).abs() < 0.01, "{}", player.time_s());
            let found = loud(&played(&mut player, 20));
            let from = second * RATE_HZ as usize;
            let whole = loud(&all[from..from + found.len() * 480]);
            let differ = found.iter().zip(&whole).filter(|(one, other)| one != other).count();
            assert!(differ < 20, "{second} s: {differ} of {}", found.len());
        }
    }

    #[test]
    fn fast_and_slow_take_their_share_of_the_time() {
        for (pace, seconds) in [(Pace::Faster(4), 40.0), (Pace::Slower(2), 5.0), (Pace::OWN, 10.0)]
        {
            let mut player = player();
            player.seek(20.0);
            player.set_pace(pace);
            played(&mut player, 10);
            assert!((player.time_s() - 20.0 - seconds).abs() < 0.3, "{pace:?} {}", player.time_s());
        }
    }

    #[test]
    fn it_ends_in_silence_and_begins_again() {
        let mut player = player();
        player.seek(1e9);
        let end = played(&mut player, 2);
        assert!(player.has_ended() && end[RATE_HZ as usize..].iter().all(|sample| *sample == 0));
        player.seek(-5.0);
        assert_eq!(player.time_s(), 0.0);
        assert_eq!(player.points().len(), 900);
    }
}
