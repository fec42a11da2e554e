//! Rows and sound as they stream in, kept in as many columns of time as a picture has, whatever their number.

use super::bins::{Channel, Columns, fold};
use super::pulses::{ClimbFinder, CloseUp, Pulses};
use crate::ears::Ears;
use crate::replay::{Row, Stretch};
use chirrup_core::beep::{TICK, Voice};
use chirrup_core::pipeline::{Reading, Status};
use chirrup_core::units::Micros;

/// What is marked as a fault, in the order of the lanes.
pub const FAULTS: [Status; 6] = [
    Status::Gap,
    Status::BadPressure,
    Status::NoCompensation,
    Status::RepeatedTime,
    Status::TimeWentBack,
    Status::ClockReset,
];
/// A pause of more than this many of the longest intervals lately leaves a hole (a guess, the same as the core's).
const HOLE_INTERVALS: i64 = 5;

/// Everything a picture shows.
#[derive(Clone, Debug, Default)]
pub struct History {
    /// How wide a column of time is.
    pub columns: Columns,
    /// Pressure altitude in metres.
    pub altitude_m: Channel,
    /// What each instrument said and sounded.
    pub ears: Ears<Ear>,
    /// What was wrong with the samples.
    pub faults: Faults,
    first: Option<Micros>,
    last: Option<Micros>,
    /// Time replayed up to the last row.
    row_us: i64,
    /// Control ticks of sound so far.
    ticks: u64,
    longest_interval_us: i64,
    samples: u64,
    finder: ClimbFinder,
}

/// What one instrument said and sounded.
#[derive(Clone, Debug, Default)]
pub struct Ear {
    /// Compensated vertical speed in m/s.
    pub compensated_mps: Channel,
    /// Vertical speed without compensation in m/s.
    pub uncompensated_mps: Channel,
    /// The average in m/s.
    pub average_mps: Channel,
    /// The vertical speed that sounds, in m/s.
    pub heard_mps: Channel,
    /// The sound.
    pub pulses: Pulses,
    heard_now_mps: f32,
}

/// What was wrong with the samples, and when.
#[derive(Clone, Debug, Default)]
pub struct Faults {
    counts: [u64; FAULTS.len()],
    /// A bit for each of [`FAULTS`].
    seen: Vec<Option<u8>>,
}

impl History {
    /// A sample and its readings.
    pub fn row(&mut self, row: &Row) {
        let elapsed_us = self.advance(row);
        let place = self.place(self.row_us);
        if row.readings.right.is_some() && self.ears.right.is_none() {
            self.ears.right = Some(Ear::default());
        }
        if self.leaves_a_hole(&row.readings.left, elapsed_us) {
            self.cut();
        }
        self.faults.row(place, &row.readings);
        if let Some(values) = row.readings.left.values {
            self.altitude_m.add(place, values.altitude.0);
            self.samples += 1;
        }
        self.ears.left.row(place, &row.readings.left);
        if let (Some(ear), Some(reading)) = (&mut self.ears.right, &row.readings.right) {
            ear.row(place, reading);
        }
    }

    /// The sound up to the next row.
    pub fn sound(&mut self, stretch: Stretch<'_>) {
        match stretch {
            Stretch::Silence(ticks) => {
                self.ears.iter_mut().for_each(|ear| ear.pulses.close());
                self.finder.start_afresh();
                self.ticks = self.ticks.saturating_add(ticks);
            }
            Stretch::Voices(voices) => voices.iter().for_each(|voices| self.tick(voices)),
        }
    }

    /// The trace's own time at the start of the picture, where there is any.
    pub fn first(&self) -> Option<Micros> {
        self.first
    }

    /// Length in microseconds, to the last row or the end of the sound.
    pub fn span_us(&self) -> i64 {
        self.row_us.max((self.ticks as i64).saturating_mul(TICK.0))
    }

    /// How many samples were used, over the columns of the whole.
    pub fn samples_per_column(&self) -> f64 {
        self.samples as f64 * self.columns.width_us() as f64 / self.span_us().max(1) as f64
    }

    /// The ten seconds of the strongest climb.
    pub fn close_up(&self) -> Option<&CloseUp> {
        self.finder.best()
    }

    /// Moves on to the time of `row` as the replay does; returns the time since the last sample that was used.
    fn advance(&mut self, row: &Row) -> i64 {
        self.first.get_or_insert(row.time);
        let elapsed_us = self.last.map_or(0, |last| row.time.since(last).0.max(0));
        self.row_us = self.row_us.saturating_add(elapsed_us);
        if elapsed_us > 0 || self.last.is_none() || row.readings.left.status == Status::ClockReset {
            self.last = Some(row.time);
        }
        row.readings.left.elapsed.0
    }

    fn leaves_a_hole(&mut self, reading: &Reading, elapsed_us: i64) -> bool {
        if matches!(reading.status, Status::Gap | Status::ClockReset) {
            return true;
        }
        if elapsed_us == 0 {
            return false;
        }
        let longest = if self.longest_interval_us == 0 { elapsed_us } else { self.longest_interval_us };
        let limit = longest.saturating_mul(HOLE_INTERVALS);
        // Fades over some thirty samples, so that a log that changes to a quicker rate is held to that.
        self.longest_interval_us = elapsed_us.min(limit).max(longest - longest / 32);
        elapsed_us > limit
    }

    fn cut(&mut self) {
        self.altitude_m.cut();
        self.ears.iter_mut().for_each(Ear::cut);
    }

    /// The column of a time, after making room for it.
    fn place(&mut self, after_start_us: i64) -> usize {
        for _ in 0..self.columns.widen_to(after_start_us) {
            self.altitude_m.fold();
            self.faults.fold();
            self.ears.iter_mut().for_each(Ear::fold);
        }
        self.columns.place(after_start_us)
    }

    fn tick(&mut self, voices: &Ears<Voice>) {
        let tick = self.ticks;
        let place = self.place((tick as i64).saturating_mul(TICK.0));
        self.ears.left.pulses.tick(tick, place, voices.left);
        if let (Some(ear), Some(voice)) = (&mut self.ears.right, voices.right) {
            ear.pulses.tick(tick, place, voice);
        }
        self.ticks += 1;
        if let Some(climb_mps) = self.finder.tick(self.ears.left.heard_now_mps) {
            self.finder.keep(self.ticks, climb_mps, self.ears.as_ref().map(|ear| &ear.pulses));
        }
    }
}

impl Ear {
    fn row(&mut self, place: usize, reading: &Reading) {
        let Some(values) = reading.values else { return };
        self.pulses.ask(values.sound);
        // Before it has settled the reading is not worth showing, as it is not worth hearing.
        let good = matches!(reading.status, Status::Ok | Status::NoCompensation).then_some(values);
        self.heard_now_mps = good.map_or(0.0, |values| values.sounded().0);
        self.compensated_mps.add_or_cut(place, good.and_then(|values| values.te_vertical_speed).map(|speed| speed.0));
        self.uncompensated_mps.add_or_cut(place, good.map(|values| values.vertical_speed.0));
        self.average_mps.add_or_cut(place, good.and_then(|values| values.average).map(|speed| speed.0));
        self.heard_mps.add_or_cut(place, good.map(|values| values.sounded().0));
    }

    fn cut(&mut self) {
        self.speeds_mut().for_each(Channel::cut);
    }

    fn fold(&mut self) {
        self.speeds_mut().for_each(Channel::fold);
        self.pulses.fold();
    }

    fn speeds_mut(&mut self) -> impl Iterator<Item = &mut Channel> {
        [&mut self.compensated_mps, &mut self.uncompensated_mps, &mut self.average_mps, &mut self.heard_mps]
            .into_iter()
    }
}

impl Faults {
    /// Each fault that occurred: how many samples, and the columns in which it did.
    pub fn lanes(&self) -> impl Iterator<Item = (Status, u64, Vec<usize>)> + '_ {
        let occurred = FAULTS.iter().enumerate().filter(|&(lane, _)| self.counts[lane] > 0);
        occurred.map(|(lane, &status)| {
            let places = self.seen.iter().enumerate();
            let places = places.filter(|(_, seen)| seen.is_some_and(|seen| seen >> lane & 1 == 1));
            (status, self.counts[lane], places.map(|(place, _)| place).collect())
        })
    }

    fn row(&mut self, place: usize, readings: &Ears<Reading>) {
        for (lane, status) in FAULTS.iter().enumerate() {
            if readings.iter().any(|reading| reading.status == *status) {
                self.counts[lane] += 1;
                if self.seen.len() <= place {
                    self.seen.resize(place + 1, None);
                }
                let seen = &mut self.seen[place];
                *seen = Some(seen.unwrap_or(0) | 1 << lane);
            }
        }
    }

    fn fold(&mut self) {
        fold(&mut self.seen, |earlier, later| earlier | later);
    }
}
