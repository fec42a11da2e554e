//! A session: a flight or a trace, two instruments that process it, and the frames of sound to
//! play, any number at a time.
//!
//! ```text
//! controls ----> flight ----+
//!   ^                       +--> replay (two instruments) --> render --> cockpit noise --> frames
//! lesson         trace  ----+         |
//!                                     +--> report
//! ```
//!
//! The left ear gets the instrument as set. The right ear gets the same one without compensation,
//! or, with a single instrument, the same sound as the left. A change of a control takes effect in
//! the flight within 20 ms, and in the sound from then on.

pub mod cockpit;
pub mod control;
mod heard;
pub mod lesson;
mod pace;
pub mod profile;
mod report;
pub(crate) mod show;
pub mod sound_check;
mod source;

pub use heard::Note;
pub use report::{Report, Shown};

use crate::ears::Ears;
use crate::error::Result;
use crate::render::Renderer;
use crate::replay::{Replay, Row, Stretch};
use crate::trace::columns::ColumnMap;
use chirrup_core::{EnergyChoice, Micros, Pipeline, PolarSettings, Settings, Status, Voice};
use cockpit::Cockpit;
use control::{Control, Controls};
use heard::HeardNotes;
use lesson::{LESSONS, Lesson, Playing};
use pace::Pace;
use profile::Profile;
use source::Source;
use std::convert::Infallible;

/// Frames of left and right.
const EARS: usize = 2;

/// A session; see the module.
pub struct Session {
    controls: Controls,
    tuned: Tuned,
    replay: Replay,
    renderer: Renderer,
    source: Source,
    lesson: Option<Playing>,
    seed: u64,
    sample_rate_hz: u32,
    /// How long the sound runs before the next sample is taken: in all, and the time left.
    wait: (Micros, Micros),
    /// How fast a trace plays.
    pace: Pace,
    queue: Vec<i16>,
    taken: usize,
    heard: HeardNotes,
    row: Option<Row>,
    samples: u64,
    restarts: u32,
    cockpit: Cockpit,
}

/// The controls that need the instruments to be rebuilt; all others do not.
#[derive(Clone, Copy, PartialEq)]
struct Tuned {
    energy: EnergyChoice,
    controls: Controls,
}

impl Session {
    /// Begins a flight in still air; the same `seed` and inputs give the same samples.
    pub fn new(sample_rate_hz: u32, seed: u64) -> Self {
        let controls = Controls::default();
        Self {
            tuned: Tuned::by(&controls),
            replay: Replay::new(pipelines(&controls)),
            renderer: Renderer::new(sample_rate_hz, true),
            source: Source::flight(seed),
            lesson: None,
            seed,
            sample_rate_hz,
            wait: (Micros(0), Micros(0)),
            pace: Pace::default(),
            queue: Vec::new(),
            taken: 0,
            heard: HeardNotes::default(),
            row: None,
            samples: 0,
            restarts: 0,
            cockpit: Cockpit::new(sample_rate_hz),
            controls,
        }
    }

    /// Turns a control by hand; this ends a lesson if the control belongs to the flight.
    pub fn set(&mut self, control: Control, value: f64) {
        if control.is_of_the_flight() {
            self.lesson = None;
        }
        self.controls.set(control, value);
        self.retune();
    }

    /// The controls as they are.
    pub fn controls(&self) -> &Controls {
        &self.controls
    }

    /// Begins a lesson by number from 0; a number without a lesson ends the present one.
    pub fn play_lesson(&mut self, number: usize) {
        self.lesson = LESSONS.get(number).map(Playing::new);
        let kept = self.controls;
        self.controls = Controls {
            volume: kept.volume,
            muted: kept.muted,
            cockpit_db: kept.cockpit_db,
            speaker: kept.speaker,
            ..Controls::default()
        };
        if let Some(lesson) = self.lesson() {
            self.begin(Source::flight_of(lesson.start_m, self.seed));
            self.follow_the_lesson();
        }
        self.retune();
    }

    /// Restarts the flight, in still air.
    pub fn start_afresh(&mut self) {
        self.lesson = None;
        self.controls.calm();
        if self.controls.energy == EnergyChoice::Auto {
            // What a trace has chosen for itself ends with it.
            self.controls.energy = Controls::default().energy;
        }
        self.begin(Source::flight(self.seed));
        self.retune();
    }

    /// Replays a trace, CSV or IGC; `name` is the name of the file, and `columns` names those of a
    /// CSV that have other names than ours. The energy is taken from where `chirrup replay` takes
    /// it: the probe where there is one, else the airspeed, else altitude alone.
    ///
    /// # Errors
    /// As [`crate::trace::open`], or where there is no sample in it. The session then continues
    /// unchanged.
    pub fn load_trace(
        &mut self,
        name: &str,
        bytes: Vec<u8>,
        columns: &ColumnMap,
    ) -> Result<Vec<String>> {
        let (source, notes) = Source::trace(name, bytes, columns)?;
        self.lesson = None;
        self.controls.energy = EnergyChoice::Auto;
        self.begin(source);
        self.retune();
        Ok(notes)
    }

    /// Heights and climbs of the whole trace; empty in a flight.
    pub fn profile(&self) -> Profile {
        self.source.profile()
    }

    /// Plays a trace so many times as fast, from 0.5 to 16; a flight is flown in real time. The
    /// instruments take every sample at its own time, and their filters are those of real time: it
    /// is the reading that changes faster, not the tone.
    pub fn set_pace(&mut self, times: f64) {
        self.pace = Pace::of(times);
    }

    /// Continues `seconds` after the start of the trace; does nothing when none is loaded. The
    /// instruments have then flown the half minute before, unheard.
    pub fn seek(&mut self, seconds: f64) {
        if !self.source.is_trace() {
            return;
        }
        self.source.seek(seconds);
        self.start_instruments();
        while self.source.flown_s() < seconds {
            let (whole, _) = self.wait;
            let Ok(()) = self.replay.run(whole, &mut |_: Stretch<'_>| Ok::<(), Infallible>(()));
            if !self.take_next(whole) {
                break;
            }
        }
    }

    fn begin(&mut self, source: Source) {
        self.source = source;
        self.start_instruments();
    }

    fn start_instruments(&mut self) {
        self.replay = Replay::new(pipelines(&self.controls));
        self.tuned = Tuned::by(&self.controls);
        self.wait = (Micros(0), Micros(0));
        self.row = None;
    }

    fn retune(&mut self) {
        let tuned = Tuned::by(&self.controls);
        if tuned != self.tuned {
            self.tuned = tuned;
            self.replay.retune(pipelines(&self.controls));
        }
    }

    /// Fills `frames` with the next sound, left and right interleaved.
    pub fn fill(&mut self, frames: &mut [i16]) {
        self.fill_by(frames, Self::go_on);
    }

    /// The same with the caller's voices instead of the flight's, in both ears; the flight pauses.
    /// `tick` returns the voice for each control tick of the core in turn.
    pub fn fill_with(&mut self, frames: &mut [i16], mut tick: impl FnMut() -> Voice) {
        self.fill_by(frames, |session| session.sound_of(tick()));
    }

    /// Calls `add` until there is enough sound to fill `frames`.
    fn fill_by(&mut self, frames: &mut [i16], mut add: impl FnMut(&mut Self)) {
        while self.queue.len() - self.taken < frames.len() {
            add(self);
        }
        frames.copy_from_slice(&self.queue[self.taken..self.taken + frames.len()]);
        self.taken += frames.len();
        // Frames already played are dropped from time to time.
        if self.taken > 4_096 {
            self.queue.drain(..self.taken);
            self.taken = 0;
        }
        self.cockpit.add(self.controls.cockpit_db, frames);
        if self.controls.muted {
            frames.fill(0);
        }
    }

    /// One control tick of a voice that does not come from the flight.
    fn sound_of(&mut self, voice: Voice) {
        let Self { renderer, queue, heard, controls, .. } = self;
        let both = [Ears { left: voice, right: Some(voice) }];
        heard.add(both[0], controls.two, controls.muted);
        let mut keep = |frames: &[i16]| {
            queue.extend_from_slice(frames);
            Ok::<(), Infallible>(())
        };
        let Ok(()) = renderer.render(Stretch::Voices(&both), &mut keep);
    }

    /// A control tick of sound, or a sample.
    fn go_on(&mut self) {
        let (whole, left) = self.wait;
        if left > Micros(0) {
            let pace = if self.source.is_trace() { self.pace } else { Pace::default() };
            let now = left.min(pace.of_a_tick());
            self.sound(pace.heard(now));
            self.wait = (whole, Micros(left.0 - now.0));
            return;
        }
        self.follow_the_lesson();
        if self.lesson.is_none() && self.source.has_left() {
            self.restarts += 1;
            self.start_afresh();
        }
        self.take_next(whole);
    }

    /// Takes the next sample after `ran` of sound; false once a trace has ended.
    fn take_next(&mut self, ran: Micros) -> bool {
        let Some(sample) = self.source.next(&self.controls) else {
            // The trace has ended: silence, as soon as the last reading is stale.
            self.wait = (source::STEP, source::STEP);
            return false;
        };
        self.samples += 1;
        let row = self.replay.take(self.samples, &sample, ran);
        // After a sample without a static pressure the reading before it still stands.
        if row.readings.left.status != Status::Partial {
            self.row = Some(row);
        }
        let until = self.source.until_next(&self.replay);
        self.wait = (until, until);
        true
    }

    fn sound(&mut self, time: Micros) {
        let Self { replay, renderer, queue, heard, controls, .. } = self;
        let start = queue.len();
        let mut keep = |frames: &[i16]| {
            queue.extend_from_slice(frames);
            Ok::<(), Infallible>(())
        };
        let mut sound = |stretch: Stretch<'_>| {
            match stretch {
                Stretch::Voices(voices) => voices
                    .iter()
                    .for_each(|voices| heard.add(*voices, controls.two, controls.muted)),
                Stretch::Silence(ticks) => heard.add_silence(ticks),
            }
            renderer.render(stretch, &mut keep)
        };
        let Ok(()) = replay.run(time, &mut sound);
        if !controls.two {
            for frame in queue[start..].chunks_exact_mut(EARS) {
                frame[1] = frame[0];
            }
        }
    }

    fn follow_the_lesson(&mut self) {
        let Some(playing) = &mut self.lesson else { return };
        let seconds = self.source.flown_s();
        playing.cue(seconds, &mut self.controls);
        if playing.has_ended(seconds) {
            self.lesson = None;
        }
        self.retune();
    }

    /// The lesson being played.
    pub fn lesson(&self) -> Option<&'static Lesson> {
        self.lesson.as_ref().map(Playing::lesson)
    }

    /// Seconds since the flight or the trace began, to the control tick; a trace that has ended
    /// stays at its end.
    fn time_s(&self) -> f64 {
        let since_sample = (self.wait.0.0 - self.wait.1.0) as f64 * 1e-6;
        let time_s = self.source.flown_s() + since_sample;
        if self.source.is_trace() { time_s.min(self.source.length_s()) } else { time_s }
    }

    /// What has sounded since the last call, tick by tick, in both ears; at most the last ten
    /// seconds. The frames last handed out end within a tick (2 ms) of it.
    pub fn take_heard(&mut self) -> Vec<Ears<Note>> {
        self.heard.take()
    }

    /// Frames a second.
    pub fn sample_rate_hz(&self) -> u32 {
        self.sample_rate_hz
    }
}

impl Tuned {
    fn by(controls: &Controls) -> Self {
        // Only these controls need new instruments.
        let Controls { filter, response_s, volume, speaker, .. } = *controls;
        Self {
            energy: controls.energy,
            controls: Controls { filter, response_s, volume, speaker, ..Controls::default() },
        }
    }
}

/// The instrument as set.
pub fn pipeline(controls: &Controls) -> Pipeline {
    pipelines(controls).left
}

/// The instrument as set, and the same one without compensation.
fn pipelines(controls: &Controls) -> Ears<Pipeline> {
    let mut settings = Settings { polar: Some(PolarSettings::default()), ..Settings::default() };
    settings.energy.choice = controls.energy;
    settings.filter.choice = controls.filter;
    settings.filter.response_s = controls.response_s as f32;
    settings.tone.volume = controls.volume as f32;
    settings.tone.speaker = controls.speaker;
    let mut bare = settings.clone();
    bare.energy.choice = EnergyChoice::None;
    // The controls' ranges lie inside the settings'; a test builds both ends of each.
    let build =
        |settings: Settings| settings.build().expect("the controls keep to the settings' ranges");
    Ears { left: build(settings), right: Some(build(bare)) }
}

/// Every status of a sample, in the order of the numbers in [`Shown::status`].
pub fn status_names() -> [&'static str; Status::ALL.len()] {
    Status::ALL.map(Status::name)
}

#[cfg(test)]
mod tests;
