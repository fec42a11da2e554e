//! Which of a fix's two altitudes to use: the pressure altitude, unless the recorder has none.
//!
//! Recorders write 0 for a pressure altitude they do not have, and near sea level 0 is also an
//! altitude. So 0 means "none" only in an unbroken run from the start of the file. During such a
//! run up to 1024 fixes are held back:
//!
//! ```text
//! 8 others follow, the first as near    the zeros are real: used
//!   to 0 as a glider could climb
//! 8 others follow, the first further    the sensor started late: the zeros are skipped
//! the run does not end                  no pressure altitude: GNSS altitude used
//!   .. but then 8 others in a row       pressure altitude from there, after a gap
//! ```
//!
//! The two altitudes differ by tens of metres, so a change from one to the other would sound like a
//! strong climb. The fixes at the change are skipped until the instrument treats the interruption
//! as a gap and restarts.

use super::record::Fix;

/// Fixes held back until it is known whether there is a pressure altitude; 17 minutes at one a
/// second (a guess).
pub(super) const MOST_HELD_BACK: usize = 1024;
/// This many other values show that zero is not the only one; a single one may be a corrupted digit
/// (a guess).
const ENOUGH: usize = 8;
/// Faster than any winch launch (about 20 m/s, common practice, no source).
const CLIMB_MPS: i32 = 30;
/// Zeros are not accepted as real across a greater step than this, however long it took (a guess).
const GREATEST_STEP_M: i32 = 60;
/// For the core a gap is more than 10 s and more than 5 usual intervals; one interval is added for
/// safety.
const GAP_US: i64 = 10_000_000;
const GAP_INTERVALS: i64 = 6;

/// An altitude of the standard atmosphere, or why there is none.
pub(super) type Altitude = Result<i32, &'static str>;

/// The result so far.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Source {
    /// All have been 0, or nearly all.
    Open,
    /// The pressure altitude; where `zeros_are_none` those at the start are not.
    Pressure { zeros_are_none: bool },
    /// The GNSS altitude, up to the line where the pressure altitude begins.
    Gnss { until_line: Option<u64> },
}

/// Chooses the altitude of every fix: each is shown by [`Choice::look_at`] when it is read, and
/// used later.
pub(super) struct Choice {
    source: Source,
    fixes: usize,
    others: usize,
    others_in_a_row: usize,
    /// Line of the first of these in a row.
    row_begins: u64,
    /// The first altitude that was not 0, and the seconds since the fix before.
    first_other: Option<(i32, i32)>,
    last_time_of_day_s: u32,
    in_zeros: bool,
    gnss_before: Gnss,
    /// Zeros at the start that were taken as real.
    pub real_zeros: u64,
    /// Fixes for which the GNSS altitude was used.
    pub from_gnss: u64,
    /// Whether the file changed from GNSS to pressure altitude.
    pub has_changed: bool,
}

/// The last fixes that used the GNSS altitude.
#[derive(Clone, Copy, Default)]
struct Gnss {
    time_us: i64,
    interval_us: i64,
}

impl Choice {
    /// Nothing known.
    pub fn new() -> Self {
        Self {
            source: Source::Open,
            fixes: 0,
            others: 0,
            others_in_a_row: 0,
            row_begins: 0,
            first_other: None,
            last_time_of_day_s: 0,
            in_zeros: true,
            gnss_before: Gnss::default(),
            real_zeros: 0,
            from_gnss: 0,
            has_changed: false,
        }
    }

    /// Whether [`Choice::altitude`] is ready.
    pub fn is_made(&self) -> bool {
        self.source != Source::Open
    }

    /// Takes note of a fix as it is read.
    pub fn look_at(&mut self, line: u64, fix: &Fix) {
        let altitude = fix.pressure_altitude_m;
        self.fixes += 1;
        if altitude == 0 {
            self.others_in_a_row = 0;
        } else {
            if self.others_in_a_row == 0 {
                self.row_begins = line;
            }
            self.others += 1;
            self.others_in_a_row += 1;
            let elapsed_s = fix.time_of_day_s as i32 - self.last_time_of_day_s as i32;
            self.first_other.get_or_insert((altitude, elapsed_s));
        }
        self.last_time_of_day_s = fix.time_of_day_s;
        match self.source {
            Source::Open if self.fixes == 1 && altitude != 0 => {
                self.source = Source::Pressure { zeros_are_none: false }
            }
            Source::Open if self.others >= ENOUGH => self.source = self.pressure(),
            Source::Open if self.fixes >= MOST_HELD_BACK => {
                self.source = Source::Gnss { until_line: None }
            }
            Source::Gnss { until_line: None } if self.others_in_a_row >= ENOUGH => {
                self.source = Source::Gnss { until_line: Some(self.row_begins) };
            }
            _ => {}
        }
    }

    /// No more fixes will come.
    pub fn end(&mut self) {
        if self.source == Source::Open {
            let are_others_common = self.others > 0 && self.others * ENOUGH >= self.fixes;
            self.source =
                if are_others_common { self.pressure() } else { Source::Gnss { until_line: None } };
        }
    }

    fn pressure(&self) -> Source {
        let (step, elapsed_s) = self.first_other.unwrap_or((0, 0));
        let most = (CLIMB_MPS * elapsed_s.clamp(1, 3600)).min(GREATEST_STEP_M);
        Source::Pressure { zeros_are_none: step.abs() > most }
    }

    /// The altitude of a fix, in the order of time, once the choice is made.
    pub fn altitude(&mut self, line: u64, time_us: i64, fix: &Fix) -> Altitude {
        let pressure_altitude = fix.pressure_altitude_m;
        self.in_zeros &= pressure_altitude == 0;
        match self.source {
            Source::Pressure { zeros_are_none: true } if self.in_zeros => {
                Err("no pressure altitude yet")
            }
            Source::Open | Source::Pressure { .. } => {
                self.real_zeros += u64::from(self.in_zeros);
                Ok(pressure_altitude)
            }
            Source::Gnss { until_line: Some(until) } if line >= until => {
                let gap_us = GAP_US.max(GAP_INTERVALS.saturating_mul(self.gnss_before.interval_us));
                self.has_changed = true;
                if self.from_gnss == 0 || time_us.saturating_sub(self.gnss_before.time_us) > gap_us
                {
                    self.source = Source::Pressure { zeros_are_none: false };
                    return Ok(pressure_altitude);
                }
                Err("change from GNSS to pressure altitude")
            }
            Source::Gnss { .. } => self.gnss_altitude(time_us, fix),
        }
    }

    fn gnss_altitude(&mut self, time_us: i64, fix: &Fix) -> Altitude {
        if !fix.is_valid {
            return Err("neither pressure altitude nor GNSS fix");
        }
        let altitude = fix.gnss_altitude_m.ok_or("GNSS altitude is not a number")?;
        if self.from_gnss > 0 {
            self.gnss_before.interval_us = time_us.saturating_sub(self.gnss_before.time_us);
        }
        self.gnss_before.time_us = time_us;
        self.from_gnss += 1;
        Ok(altitude)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The altitudes of fixes at one a second, where the GNSS altitude is always 500 m.
    fn choose(pressure_altitudes: &[i32]) -> (Vec<Altitude>, Choice) {
        let fix = |index: usize| Fix {
            time_of_day_s: 40_000 + index as u32,
            is_valid: true,
            pressure_altitude_m: pressure_altitudes[index],
            gnss_altitude_m: Some(500),
        };
        let mut choice = Choice::new();
        let (mut held_back, mut altitudes) = (0, Vec::new());
        for index in 0..pressure_altitudes.len() {
            choice.look_at(index as u64, &fix(index));
            // As the trace does: eight more are read before one is used.
            while choice.is_made() && held_back + 8 <= index {
                altitudes.push(choice.altitude(
                    held_back as u64,
                    held_back as i64 * 1_000_000,
                    &fix(held_back),
                ));
                held_back += 1;
            }
            assert!(index - held_back <= MOST_HELD_BACK);
        }
        choice.end();
        for index in held_back..pressure_altitudes.len() {
            altitudes.push(choice.altitude(index as u64, index as i64 * 1_000_000, &fix(index)));
        }
        (altitudes, choice)
    }

    fn zeros_then(zeros: usize, others: &[i32]) -> Vec<i32> {
        [vec![0; zeros], others.to_vec()].concat()
    }

    #[test]
    fn zeros_after_the_start_are_real() {
        let altitudes = [-24, 0, 0, 3, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0];
        assert_eq!(choose(&altitudes).0, altitudes.map(Ok));
    }

    #[test]
    fn zeros_at_the_start_are_real_where_the_climb_from_them_is() {
        let altitudes = zeros_then(300, &[1, 0, 2, 5, 9, 14, 20, 26, 33, 40]);
        let (chosen, choice) = choose(&altitudes);
        assert_eq!(chosen, altitudes.iter().copied().map(Ok).collect::<Vec<_>>());
        assert_eq!((choice.real_zeros, choice.from_gnss), (300, 0));
    }

    #[test]
    fn zeros_before_the_sensor_woke_are_passed_over() {
        let (chosen, choice) = choose(&zeros_then(5, &[957; 20]));
        assert_eq!(chosen[..5], [Err("no pressure altitude yet"); 5]);
        assert_eq!(chosen[5..], [Ok(957); 20]);
        assert_eq!(choice.from_gnss, 0);
    }

    #[test]
    fn a_file_without_pressure_altitude_uses_the_satellites() {
        for length in [1, 9, 100, 3_000] {
            let (chosen, choice) = choose(&vec![0; length]);
            assert_eq!(chosen, vec![Ok(500); length]);
            assert_eq!((choice.from_gnss, choice.has_changed), (length as u64, false));
        }
    }

    #[test]
    fn single_broken_altitudes_do_not_end_the_use_of_satellites() {
        for place in [20, 1_500] {
            let mut altitudes = vec![0; 2_000];
            altitudes[place] = 7_000;
            altitudes[place + 10] = 7_000;
            assert_eq!(choose(&altitudes).0, vec![Ok(500); 2_000]);
        }
    }

    #[test]
    fn a_pressure_altitude_that_comes_after_all_is_used_after_a_gap() {
        let (chosen, choice) = choose(&zeros_then(2_000, &[300; 40]));
        assert_eq!(chosen[..2_000], [Ok(500); 2_000]);
        // The last GNSS altitude is of second 1999; more than 10 s later is second 2010.
        assert_eq!(chosen[2_000..2_010], [Err("change from GNSS to pressure altitude"); 10]);
        assert_eq!(chosen[2_010..], [Ok(300); 30]);
        assert!(choice.has_changed);
    }
}
