//! Rows and sound as they stream in, kept in as many columns of time as a picture has, whatever
//! their number.

use super::bins::{Channel, Columns, fold};
use super::pulses::{ClimbFinder, CloseUp, Pulses};
use crate::ears::Ears;
use crate::replay::{Row, Stretch};
use crate::segments::Cut;
use chirrup_core::{Micros, Reading, Status, TICK, Voice};

/// What is marked as a fault, in the order of the lanes.
pub const FAULTS: [Status; 10] = [
    Status::Gap,
    Status::Frozen,
    Status::BadPressure,
    Status::NoCompensation,
    Status::CheckTubes,
    Status::CheckStatic,
    Status::CheckInertial,
    Status::RepeatedTime,
    Status::TimeWentBack,
    Status::ClockReset,
];
/// A pause of more than this many of the longest intervals lately leaves a hole (a guess, the same
/// as the core's).
const HOLE_INTERVALS: i64 = 5;
/// With so many breaks a time axis has no room for the times between them.
pub const MOST_BREAKS: usize = 32;

/// Everything a picture shows.
#[derive(Clone, Debug, Default)]
pub struct History {
    /// How wide a column of time is.
    pub columns: Columns,
    /// Pressure altitude in metres.
    pub altitude_m: Channel,
    /// Readings and sound of each instrument.
    pub ears: Ears<Ear>,
    /// What was wrong with the samples.
    pub faults: Faults,
    /// Where segments begin, after the first.
    pub breaks: Vec<Break>,
    first: Option<Micros>,
    /// Time replayed up to the last row.
    row_us: i64,
    /// Control ticks of sound so far.
    ticks: u64,
    longest_interval_us: i64,
    finder: ClimbFinder,
}

/// Where the time axis leaves out a part of the trace's time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Break {
    /// Time of the picture, in microseconds from its start.
    pub at_us: i64,
    /// The trace's own time after it.
    pub to: Micros,
    /// What is left out.
    pub cut: Cut,
}

/// Readings and sound of one instrument.
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
    average_now_mps: Option<f32>,
}

/// Faults of the samples over time.
#[derive(Clone, Debug, Default)]
pub struct Faults {
    counts: [u64; FAULTS.len()],
    /// A bit for each of [`FAULTS`].
    seen: Vec<Option<u16>>,
}

impl History {
    /// A sample and its readings.
    pub fn row(&mut self, row: &Row) {
        let elapsed_us = self.advance(row);
        let place = self.place(self.row_us);
        if let Some(cut) = row.cut.filter(|_| self.breaks.len() < MOST_BREAKS) {
            self.breaks.push(Break { at_us: self.row_us, to: row.time, cut });
        }
        if row.readings.right.is_some() && self.ears.right.is_none() {
            self.ears.right = Some(Ear::default());
        }
        if self.leaves_a_hole(&row.readings.left, elapsed_us) {
            self.cut();
        }
        self.faults.row(place, &row.readings);
        if let Some(values) = row.readings.left.values {
            self.altitude_m.add(place, values.altitude.0);
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

    /// The ten seconds of the strongest climb.
    pub fn close_up(&self) -> Option<&CloseUp> {
        self.finder.best()
    }

    /// Moves on to the time of `row` as the replay does; returns the time since the last sample
    /// that was used.
    fn advance(&mut self, row: &Row) -> i64 {
        self.first.get_or_insert(row.time);
        self.row_us = self.row_us.saturating_add(row.ran.0);
        row.readings.left.elapsed.0
    }

    fn leaves_a_hole(&mut self, reading: &Reading, elapsed_us: i64) -> bool {
        if matches!(reading.status, Status::Gap | Status::ClockReset) {
            return true;
        }
        if elapsed_us == 0 {
            return false;
        }
        let longest =
            if self.longest_interval_us == 0 { elapsed_us } else { self.longest_interval_us };
        let limit = longest.saturating_mul(HOLE_INTERVALS);
        // Fades over some thirty samples, so that a log that changes to a quicker rate is held to
        // that.
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
        let left = &self.ears.left;
        if let Some(climb_mps) = self.finder.tick(left.heard_now_mps, left.average_now_mps) {
            self.finder.keep(self.ticks, climb_mps, self.ears.as_ref().map(|ear| &ear.pulses));
        }
    }
}

impl Ear {
    fn row(&mut self, place: usize, reading: &Reading) {
        let Some(values) = reading.values else { return };
        self.pulses.ask(values.sound);
        // Until it has settled the reading is not shown, as it is not sounded.
        let good = reading.status.is_good().then_some(values);
        let average_mps = good.and_then(|values| values.average).map(|speed| speed.0);
        self.average_now_mps = average_mps;
        self.heard_now_mps = good.map_or(0.0, |values| values.sounded().0);
        self.compensated_mps.add_or_cut(
            place,
            good.and_then(|values| values.te_vertical_speed).map(|speed| speed.0),
        );
        self.uncompensated_mps.add_or_cut(place, good.map(|values| values.vertical_speed.0));
        self.average_mps.add_or_cut(place, average_mps);
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
        [
            &mut self.compensated_mps,
            &mut self.uncompensated_mps,
            &mut self.average_mps,
            &mut self.heard_mps,
        ]
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

#[cfg(test)]
mod tests {
    use super::*;
    use chirrup_core::{EnergySource, Hertz, Metre, MetrePerSecond, Sound, Values};

    const BEEPS: Sound =
        Sound::Beeps { pitch: Hertz(700.0), cadence: Hertz(2.0), on_fraction: 0.5 };

    fn reading(time_us: i64, elapsed_us: i64, status: Status) -> Reading {
        let speed = MetrePerSecond((time_us as f32 * 1e-7).sin());
        let values = Values {
            altitude: Metre(1000.0 + speed.0),
            altimeter: Metre(1000.0 + speed.0),
            true_airspeed: None,
            vertical_speed: speed,
            te_vertical_speed: Some(speed),
            deviation: speed,
            inertial: None,
            average: Some(speed),
            climb: None,
            netto: None,
            sound: BEEPS,
        };
        let values = status.is_used().then_some(values);
        Reading {
            time: Micros(time_us),
            status,
            elapsed: Micros(elapsed_us),
            source: EnergySource::None,
            values,
        }
    }

    fn row(time_us: i64, elapsed_us: i64, status: Status) -> Row {
        let left = reading(time_us, elapsed_us, status);
        let readings = Ears { left, right: None };
        Row {
            line: 1,
            time: Micros(time_us),
            ran: Micros(elapsed_us),
            readings,
            sounding: Ears::default(),
            cut: None,
        }
    }

    /// Rows at these times, all good.
    fn rows_at(times_us: impl IntoIterator<Item = i64>) -> History {
        let mut history = History::default();
        let mut last = None;
        for time_us in times_us {
            history.row(&row(time_us, last.map_or(0, |last| time_us - last), Status::Ok));
            last = Some(time_us);
        }
        history
    }

    fn bytes(history: &History) -> usize {
        let of_ear = |ear: &Ear| {
            let speeds =
                [&ear.compensated_mps, &ear.uncompensated_mps, &ear.average_mps, &ear.heard_mps];
            speeds.map(Channel::bytes).iter().sum::<usize>() + ear.pulses.bytes()
        };
        history.altitude_m.bytes()
            + history.ears.iter().map(of_ear).sum::<usize>()
            + history.faults.seen.capacity() * 2
    }

    #[test]
    fn memory_does_not_grow_with_the_length_of_the_trace() {
        let mut history = History::default();
        let voices: Vec<Ears<Voice>> = (0..2_000)
            .map(|tick| Voice { pitch: Hertz(700.0), gate: tick % 250 < 125, ..Voice::default() })
            .map(|voice| Ears { left: voice, right: Some(voice) })
            .collect();
        // Three hours: 6 million ticks of sound and 300 000 rows.
        for block in 0..3_000_i64 {
            for part in 0..100 {
                let status = if part % 10 == 0 { Status::NoCompensation } else { Status::Ok };
                let mut row = row(4_000_000 * block + 40_000 * part, 40_000, status);
                row.readings.right = Some(row.readings.left);
                history.row(&row);
            }
            history.sound(Stretch::Voices(&voices));
        }
        assert!(history.span_us() > 3 * 3_600_000_000);
        let bytes = bytes(&history);
        assert!((100_000..2 << 20).contains(&bytes), "{bytes} bytes");
        assert_eq!(history.faults.counts[3], 30_000); // The lane of no compensation.
    }

    #[test]
    fn samples_that_are_only_slow_or_uneven_make_one_line() {
        for interval_us in [1_000, 20_000, 200_000, 1_000_000, 5_000_000, 10_000_000] {
            let history = rows_at((0..500).map(|count| count * interval_us));
            assert_eq!(history.altitude_m.runs().len(), 1, "{interval_us} us");
        }
        // Bursts of eight samples, then four times their spacing.
        let uneven = rows_at((0..4_000).map(|count| count * 20_000 + count / 8 * 80_000));
        assert_eq!(uneven.altitude_m.runs().len(), 1);
    }

    #[test]
    fn a_pause_of_many_intervals_is_a_hole_in_every_line() {
        let history =
            rows_at((0..1_000).map(|count| {
                if count < 500 { count * 20_000 } else { count * 20_000 + 3_000_000 }
            }));
        let lines =
            [&history.altitude_m, &history.ears.left.heard_mps, &history.ears.left.average_mps];
        for line in lines {
            assert_eq!(line.runs().len(), 2);
        }
    }

    #[test]
    fn a_gap_and_a_clock_that_is_set_back_are_holes_and_time_goes_on() {
        let mut history = rows_at((0..100).map(|count| count * 1_000_000));
        history.row(&row(160_000_000, 61_000_000, Status::Gap));
        history.row(&row(161_000_000, 1_000_000, Status::Ok));
        history.row(&row(5_000_000, 0, Status::TimeWentBack));
        history.row(&row(5_000_000, 0, Status::ClockReset));
        history.row(&row(6_000_000, 1_000_000, Status::Ok));
        assert_eq!(history.span_us(), 162_000_000);
        // The gap; at the reset no time passes, and so there is no hole to see.
        assert_eq!(history.altitude_m.runs().len(), 2);
        let lanes: Vec<_> =
            history.faults.lanes().map(|(status, count, _)| (status, count)).collect();
        assert_eq!(lanes, [(Status::Gap, 1), (Status::TimeWentBack, 1), (Status::ClockReset, 1)]);
    }

    #[test]
    fn a_fault_is_in_the_column_of_its_time_and_counted_once_for_two_instruments() {
        let mut history = rows_at((0..100).map(|count| count * 10_000));
        let mut bad = row(1_000_000, 0, Status::BadPressure);
        bad.ran = Micros(10_000);
        bad.readings.right = Some(bad.readings.left);
        history.row(&bad);
        let lanes: Vec<_> = history.faults.lanes().collect();
        assert_eq!(lanes, [(Status::BadPressure, 1, vec![500])]); // 1 s in columns of 2 ms
    }
}
