//! Runs samples through the instrument in their own time: no input, no output, no clock.
//!
//! Between two samples the sound runs in control ticks with the instrument's state after the
//! earlier one, as it would in flight; then the later sample is taken. A sample is heard from the
//! first tick at or after its time.
//!
//! Where the trace is cut ([`crate::segments`]) the sound of the time between is left out, and
//! after a gap the instrument starts anew; a clock that was set back is the core's own affair.

use crate::ears::Ears;
use crate::segments::{Cut, SOUND_AT_A_CUT};
use chirrup_core::{Micros, Pipeline, PipelineState, Reading, Sample, Status, TICK, Voice};

/// Ticks handed over at a time; 8 s of sound.
const BATCH: usize = 4_096;

/// A stretch of sound to come between two samples.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Stretch<'a> {
    /// What sounds, tick by tick.
    Voices(&'a [Ears<Voice>]),
    /// So many ticks of silence: a gap in the trace.
    Silence(u64),
}

impl Stretch<'_> {
    /// Length in control ticks.
    pub fn ticks(&self) -> u64 {
        match self {
            Stretch::Voices(voices) => voices.len() as u64,
            Stretch::Silence(ticks) => *ticks,
        }
    }
}

/// What is wanted of the sound between two samples; the greatest of several wishes holds.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub enum Listening {
    /// Nothing: readings alone.
    #[default]
    Nobody,
    /// Whether it sounds at the time of each row.
    Rows,
    /// Every tick.
    Ticks,
}

/// One sample and its readings.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Row {
    /// Line of the trace.
    pub line: u64,
    /// The sample's time in the trace.
    pub time: Micros,
    /// How long the sound ran before the sample was taken.
    pub ran: Micros,
    /// The reading of each instrument.
    pub readings: Ears<Reading>,
    /// Whether each is sounding at this moment; false where [`Listening::Nobody`] was asked for.
    pub sounding: Ears<bool>,
    /// What separates the sample from those before it, where a segment begins with it.
    pub cut: Option<Cut>,
}

/// One or two instruments fed with the same samples.
#[derive(Clone)]
pub struct Replay {
    instruments: Ears<Instrument>,
    /// Time of the last sample used.
    last: Option<Micros>,
    /// How far the sound has run beyond the last sample used.
    ahead: Micros,
    /// Time not yet turned into sound: less than a tick.
    owed: Micros,
    batch: Vec<Ears<Voice>>,
}

#[derive(Clone)]
struct Instrument {
    pipeline: Pipeline,
    state: PipelineState,
}

impl Instrument {
    fn time_until(&self, sample: &Sample) -> Micros {
        self.pipeline.time_until(&self.state, sample)
    }

    fn is_quiet(&self) -> bool {
        self.pipeline.is_quiet(&self.state)
    }

    fn start_anew(&mut self) {
        self.state = PipelineState::default();
    }

    /// The reading of a sample; the first one after a gap says so.
    fn step(&mut self, sample: &Sample, is_after_gap: bool) -> Reading {
        let mut reading = self.pipeline.step(&mut self.state, sample);
        if is_after_gap && reading.status == Status::Settling {
            reading.status = Status::Gap;
        }
        reading
    }
}

impl Replay {
    /// Instruments at rest.
    pub fn new(pipelines: Ears<Pipeline>) -> Self {
        let instruments =
            pipelines.map(|pipeline| Instrument { pipeline, state: PipelineState::default() });
        Self {
            instruments,
            last: None,
            ahead: Micros(0),
            owed: Micros(0),
            batch: Vec::with_capacity(BATCH),
        }
    }

    /// Runs the sound up to `sample`, handing it to `sound`, then takes the sample.
    ///
    /// # Errors
    /// Whatever `sound` returns; the sample is then not taken.
    pub fn feed<E>(
        &mut self,
        line: u64,
        sample: &Sample,
        sound: &mut impl FnMut(Stretch<'_>) -> Result<(), E>,
    ) -> Result<Row, E> {
        let ran = self.time_until(sample);
        self.run(ran, sound)?;
        Ok(self.take(line, sample, ran))
    }

    /// The row of `sample` with as much of the sound as `listening` says; the readings are the same
    /// in every case, bit for bit.
    ///
    /// # Errors
    /// Whatever `sound` returns; the sample is then not taken.
    pub fn feed_to<E>(
        &mut self,
        listening: Listening,
        (line, sample): (u64, &Sample),
        sound: &mut impl FnMut(Stretch<'_>) -> Result<(), E>,
    ) -> Result<Row, E> {
        let ran = self.time_until(sample);
        match listening {
            Listening::Nobody => self.pass(ran),
            Listening::Rows => self.run_unheard(ran),
            Listening::Ticks => self.run(ran, sound)?,
        }
        Ok(self.take(line, sample, ran))
    }

    /// How long the sound has to run before `sample` is taken: the time up to it, or a second where
    /// the trace is cut before it.
    pub fn time_until(&self, sample: &Sample) -> Micros {
        let until = self.passes_until(sample);
        if Cut::after(until).is_some() { SOUND_AT_A_CUT } else { until }
    }

    /// How much of the trace's time has not yet sounded when `sample` is taken.
    fn passes_until(&self, sample: &Sample) -> Micros {
        // For skipped samples the sound has already run.
        let until = self.instruments.left.time_until(sample).since(self.ahead);
        Micros(until.0.max(0))
    }

    /// Takes a sample after the sound has run by `ran` since the last one.
    pub fn take(&mut self, line: u64, sample: &Sample, ran: Micros) -> Row {
        let gap = Cut::after(self.passes_until(sample));
        if gap.is_some() {
            self.instruments.iter_mut().for_each(Instrument::start_anew);
        }
        let step = |instrument: &mut Instrument| instrument.step(sample, gap.is_some());
        let left = step(&mut self.instruments.left);
        let right = self.instruments.right.as_mut().map(step);
        let cut = gap.or_else(|| self.set_back(&left));
        let moved_on = left.elapsed > Micros(0) || cut.is_some();
        self.ahead = if moved_on { Micros(0) } else { Micros(self.ahead.0.saturating_add(ran.0)) };
        if left.status.is_used() {
            self.last = Some(sample.time);
        }
        Row {
            line,
            time: sample.time,
            ran,
            readings: Ears { left, right },
            sounding: self.sounding(),
            cut,
        }
    }

    /// The cut where the core has found that the clock was set back.
    fn set_back(&self, reading: &Reading) -> Option<Cut> {
        let last = self.last.filter(|_| reading.status == Status::ClockReset)?;
        Some(Cut::SetBack(last.since(reading.time)))
    }

    /// Uses other settings from now on; the instruments keep their state.
    pub fn retune(&mut self, pipelines: Ears<Pipeline>) {
        self.instruments.left.pipeline = pipelines.left;
        if let (Some(instrument), Some(pipeline)) = (&mut self.instruments.right, pipelines.right) {
            instrument.pipeline = pipeline;
        }
    }

    /// Runs the sound on for `time` after the last sample.
    ///
    /// # Errors
    /// Whatever `sound` returns.
    pub fn run<E>(
        &mut self,
        time: Micros,
        sound: &mut impl FnMut(Stretch<'_>) -> Result<(), E>,
    ) -> Result<(), E> {
        let mut ticks = self.ticks_due(time);
        while ticks > 0 {
            if self.instruments.iter().all(Instrument::is_quiet) {
                // Nothing can begin to sound before the next sample.
                return sound(Stretch::Silence(ticks));
            }
            let now = ticks.min(BATCH as u64);
            self.batch.clear();
            for _ in 0..now {
                let voices = self.tick();
                self.batch.push(voices);
            }
            sound(Stretch::Voices(&self.batch))?;
            ticks -= now;
        }
        self.batch.clear();
        Ok(())
    }

    /// As [`Replay::run`], for whoever needs no more than the voices at its end.
    fn run_unheard(&mut self, time: Micros) {
        let mut ticks = self.ticks_due(time);
        while ticks > 0 && !self.instruments.iter().all(Instrument::is_quiet) {
            let now = ticks.min(BATCH as u64) as u32;
            for Instrument { pipeline, state } in self.instruments.iter_mut() {
                pipeline.run(state, now);
            }
            ticks -= u64::from(now);
        }
    }

    /// Lets `time` pass without a sound.
    fn pass(&mut self, time: Micros) {
        let ticks = self.ticks_due(time);
        for Instrument { pipeline, state } in self.instruments.iter_mut() {
            pipeline.pass(state, ticks);
        }
    }

    /// The whole ticks of `time` and what was owed before.
    fn ticks_due(&mut self, time: Micros) -> u64 {
        let due = self.owed.0.saturating_add(time.0);
        self.owed = Micros(due % TICK.0);
        (due / TICK.0) as u64
    }

    fn tick(&mut self) -> Ears<Voice> {
        let tick = |instrument: &mut Instrument| instrument.pipeline.tick(&mut instrument.state);
        Ears {
            left: tick(&mut self.instruments.left),
            right: self.instruments.right.as_mut().map(tick),
        }
    }

    /// What each instrument sounds at this moment.
    pub fn voices(&self) -> Ears<Voice> {
        self.instruments.as_ref().map(|instrument| instrument.state.voice())
    }

    fn sounding(&self) -> Ears<bool> {
        self.voices().map(|voice| voice.gate)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use chirrup_core::{Pascal, Settings};

    fn ticks_after(samples: &[(i64, f32)]) -> u64 {
        let pipeline = Settings::default().build().unwrap();
        let mut replay = Replay::new(Ears { left: pipeline, right: None });
        let mut ticks = 0;
        for (line, (seconds, pressure)) in samples.iter().enumerate() {
            let sample = Sample::of_static(Micros(seconds * 1_000_000), Pascal(*pressure));
            let mut count = |stretch: Stretch<'_>| {
                ticks += stretch.ticks();
                Ok::<(), ()>(())
            };
            replay.feed(line as u64, &sample, &mut count).unwrap();
        }
        ticks
    }

    #[test]
    fn the_sound_runs_as_long_as_the_samples_whatever_they_hold() {
        assert_eq!(ticks_after(&[(5, 101_325.0), (6, 101_325.0), (9, 101_325.0)]), 2_000);
        assert_eq!(ticks_after(&[(5, 101_325.0), (6, 0.0), (7, f32::NAN), (9, 101_325.0)]), 2_000);
        assert_eq!(
            ticks_after(&[(5, 101_325.0), (3, 101_325.0), (5, 101_325.0), (9, 101_325.0)]),
            2_000
        );
    }

    #[test]
    fn a_bad_sample_with_a_wild_time_does_not_stop_the_sound() {
        assert_eq!(
            ticks_after(&[(5, 101_325.0), (1_000_000, 0.0), (6, 101_325.0), (9, 101_325.0)]),
            2_000
        );
    }

    #[test]
    fn a_clock_that_is_set_back_goes_on_from_there() {
        let mut samples = vec![(1_000, 101_325.0), (1_001, 101_325.0)];
        samples.extend((0..20).map(|second| (second, 101_325.0)));
        // One second before, and those after the tenth sample of the new time.
        assert_eq!(ticks_after(&samples), 500 + 10 * 500);
    }

    #[test]
    fn a_gap_of_years_sounds_for_a_second_and_the_instrument_starts_anew() {
        let pipeline = Settings::default().build().unwrap();
        let mut replay = Replay::new(Ears { left: pipeline, right: None });
        let mut rows = Vec::new();
        let mut ticks = 0;
        let year_s = 31_557_600;
        for time_s in (0..60).chain(30 * year_s..30 * year_s + 60) {
            let pressure = Pascal(90_000.0 - 20.0 * (time_s % year_s) as f32);
            let sample = Sample::of_static(Micros(time_s * 1_000_000), pressure);
            let mut count = |stretch: Stretch<'_>| {
                ticks += stretch.ticks();
                Ok::<(), ()>(())
            };
            rows.push(replay.feed(time_s as u64, &sample, &mut count).unwrap());
        }
        assert_eq!(ticks, 500 * (59 + 1 + 59));
        let cuts: Vec<_> = rows.iter().filter_map(|row| row.cut).collect();
        assert_eq!(cuts, [Cut::Gap(Micros((30 * year_s - 59) * 1_000_000))]);
        let (first, second) = rows.split_at(60);
        for (before, after) in first.iter().zip(second).skip(1) {
            assert_eq!(before.readings.left.values, after.readings.left.values);
        }
        assert_eq!(second[0].readings.left.status, Status::Gap);
        assert_eq!(second[0].time, Micros(30 * year_s * 1_000_000));
    }

    /// A flight with good and missing pressures, steps back, and pauses in which readings go stale.
    fn hard_flight() -> Vec<Sample> {
        let mut time_us = 0;
        let sample = |step: i64| {
            time_us += match step % 97 {
                0 => 9_000_000 * (step % 5),
                1..40 => 20_000,
                40 => -20_000,
                _ => 333_333,
            };
            let pressure = Pascal(90_000.0 - 300.0 * (step as f32 * 0.03).sin());
            let mut sample = Sample::of_static(Micros(time_us), pressure);
            match step % 61 {
                50 => sample.static_pressure = None,
                51..55 => sample.static_pressure = Some(Pascal(f32::NAN)),
                _ => {}
            }
            sample
        };
        (0..3_000).map(sample).collect()
    }

    #[test]
    fn readings_are_the_same_whoever_listens_and_so_are_the_gates_of_rows() {
        let mut settings = Settings::default();
        settings.reading.stale_after_s = 1.0;
        let pipeline = settings.build().unwrap();
        let new = || Replay::new(Ears { left: pipeline.clone(), right: None });
        let (mut nobody, mut rows, mut ticks) = (new(), new(), new());
        let (mut hear, mut gates, mut stale) = (|_: Stretch<'_>| Ok::<(), ()>(()), 0, 0);
        for (line, sample) in (1..).zip(&hard_flight()) {
            let mut feed = |replay: &mut Replay, listening| {
                replay.feed_to(listening, (line, sample), &mut hear).unwrap()
            };
            let heard = feed(&mut ticks, Listening::Ticks);
            assert_eq!(feed(&mut rows, Listening::Rows), heard);
            let silent = Ears { left: false, right: None };
            assert_eq!(feed(&mut nobody, Listening::Nobody), Row { sounding: silent, ..heard });
            gates += u32::from(heard.sounding.left);
            stale += u32::from(heard.ran > Micros(2_000_000));
        }
        assert!(gates > 300 && stale > 10, "it sounds and pauses: {gates}, {stale}");
    }
}
