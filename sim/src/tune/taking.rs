//! Readings as they come, put on the truth's grid and summed over whole seconds.

use crate::recording::series::Even;
use chirrup_core::Status;

/// What one instrument reads over a recording.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Readings {
    /// The sounded vertical speed, m/s, at each moment of the grid: that of the last sample before
    /// it; `None` where it is not valid.
    pub at: Vec<Option<f32>>,
    /// Its sum over each whole second of the trace.
    pub seconds: Seconds,
}

/// Sums of the sounded vertical speed over whole seconds of the trace, as `replay` compares with
/// the truth: over all samples with a reading, but those of a start ([`Status::Settling`],
/// [`Status::Gap`], [`Status::ClockReset`]).
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Seconds {
    /// The second of the first sample, in s of the trace; whole.
    pub first_s: f64,
    /// Each second from there on.
    pub each: Vec<Second>,
}

/// The samples of one second.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Second {
    /// Sum of the readings, m/s.
    pub sum_mps: f64,
    /// How many there were.
    pub count: u32,
}

impl Second {
    /// Mean of the readings, m/s; `None` without any.
    pub fn mean_mps(&self) -> Option<f64> {
        (self.count > 0).then(|| self.sum_mps / f64::from(self.count))
    }
}

/// Where the samples are on the grid, and in which second.
pub(super) struct Places<'a> {
    grid: &'a Even,
    first_s: Option<f64>,
    passed: u32,
}

/// The place of one sample.
#[derive(Clone, Copy)]
pub(super) struct Place {
    /// How many moments of the grid are before it.
    passed: u32,
    /// Its second, counted from the first.
    second: u32,
}

impl<'a> Places<'a> {
    pub(super) fn new(grid: &'a Even) -> Self {
        Self { grid, first_s: None, passed: 0 }
    }

    /// The place of the next sample.
    pub(super) fn of(&mut self, time_s: f64) -> Place {
        let Even { start_s, step_s, values } = self.grid;
        while (self.passed as usize) < values.len()
            && start_s + step_s * f64::from(self.passed) < time_s
        {
            self.passed += 1;
        }
        let second_s = time_s.floor();
        let first_s = *self.first_s.get_or_insert(second_s);
        Place { passed: self.passed, second: (second_s - first_s) as u32 }
    }

    /// The second of the first sample.
    pub(super) fn first_s(&self) -> f64 {
        self.first_s.unwrap_or(0.0)
    }
}

/// The readings of one instrument so far.
#[derive(Default)]
pub(super) struct Taking {
    said: Option<f32>,
    readings: Readings,
}

impl Taking {
    /// Takes the status of a sample at `place`, and what sounds, m/s, where it has a reading.
    pub(super) fn take(&mut self, place: Place, status: Status, sounded: Option<f32>) {
        while self.readings.at.len() < place.passed as usize {
            self.readings.at.push(self.said);
        }
        if status == Status::Partial && sounded.is_none() {
            // The reading before it still stands.
            return;
        }
        self.said = sounded.filter(|_| status.is_good());
        let is_beginning = matches!(status, Status::Settling | Status::Gap | Status::ClockReset);
        if let Some(sounded) = sounded.filter(|_| !is_beginning) {
            self.add(place, sounded);
        }
    }

    fn add(&mut self, place: Place, sounded: f32) {
        let (each, second) = (&mut self.readings.seconds.each, place.second as usize);
        if second >= each.len() {
            each.resize(second + 1, Second::default());
        }
        each[second].sum_mps += f64::from(sounded);
        each[second].count += 1;
    }

    /// The readings at every moment, after the last sample.
    pub(super) fn finish(mut self, places: &Places<'_>) -> Readings {
        self.readings.at.resize(places.grid.values.len(), self.said);
        self.readings.seconds.first_s = places.first_s();
        self.readings
    }
}
