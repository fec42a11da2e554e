//! The log: the samples as a trace that `chirrup replay` reads, in exact decimals, without a float.
//!
//! | column | meaning |
//! |---|---|
//! | `time_us` | middle of the static barometer's conversion, microseconds since the start |
//! | `static_pa` | static pressure, in sixty-fourths of a pascal, exact |
//! | `dynamic_pa` | pitot less static, less its zero; empty without an airspeed sensor |
//! | `te_pa` | pressure of the total-energy probe; empty without one |
//! | `vertical_speed_mmps` | the vertical speed that sounds, mm/s; empty while there is none |
//! | `dropped` | rows that were not written since the log began, because the port was too slow |
//!
//! With the first sample of an inertial sensor, and with the first velocity of a satellite
//! receiver, the header comes again, with more columns; a log that begins later has them from its
//! first row on:
//!
//! | column | meaning |
//! |---|---|
//! | `accel_x_mps2`, `accel_y_mps2`, `accel_z_mps2` | mean specific force along the sensor's axes |
//! | `gyro_x_radps`, `gyro_y_radps`, `gyro_z_radps` | mean turn rate about them |
//! | `accel_largest_mps2`, `accel_deviation_mps2` | largest force of an axis, and deviation |
//! | `gyro_largest_radps`, `gyro_deviation_radps` | the same of the turn rate |
//! | `gnss_vn_mps`, `gnss_ve_mps`, `gnss_vd_mps` | velocity over the ground: north, east, down |
//! | `gnss_age_s` | how long before the sample it came |

use crate::gnss::receiver::Ground;
use crate::inertial::average::{Averaged, FORCE_STEPS, TURN_STEPS};
use crate::sampler::Sampled;
use core::fmt::{self, Write};

/// The header line.
pub const HEADER: &str = "time_us,static_pa,dynamic_pa,te_pa,vertical_speed_mmps,dropped";
/// The columns that an inertial sensor adds at its end.
pub const INERTIAL_HEADER: &str = ",accel_x_mps2,accel_y_mps2,accel_z_mps2,gyro_x_radps,\
    gyro_y_radps,gyro_z_radps,accel_largest_mps2,accel_deviation_mps2,gyro_largest_radps,\
    gyro_deviation_radps";
/// The columns that a satellite receiver adds at its end.
pub const GROUND_HEADER: &str = ",gnss_vn_mps,gnss_ve_mps,gnss_vd_mps,gnss_age_s";
/// Values of an inertial sensor in a row, and of a satellite receiver.
const INERTIAL_VALUES: usize = 10;
const GROUND_VALUES: usize = 4;
/// The most rows a second: one per sample.
pub const MOST_HZ: u8 = 50;

/// Which columns there are besides those that every log has.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Columns {
    /// Those of an inertial sensor.
    pub inertial: bool,
    /// Those of a satellite receiver.
    pub ground: bool,
}

impl Columns {
    /// These, and what a sample needs.
    pub fn and_of(self, sampled: &Sampled) -> Self {
        Self {
            inertial: self.inertial || sampled.inertial.is_some(),
            ground: self.ground || sampled.ground.is_some(),
        }
    }

    /// These and those.
    pub fn and(self, others: Self) -> Self {
        Self { inertial: self.inertial || others.inertial, ground: self.ground || others.ground }
    }

    /// The header's parts.
    pub fn header(self) -> [&'static str; 3] {
        let inertial = if self.inertial { INERTIAL_HEADER } else { "" };
        [HEADER, inertial, if self.ground { GROUND_HEADER } else { "" }]
    }
}

/// Which samples are written, and how many were not.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Log {
    rate_hz: u8,
    /// Fiftieths of a row that are due.
    due: u8,
    /// Rows dropped for lack of room.
    pub dropped: u32,
}

impl Log {
    /// A log of this many rows a second; 0 for none.
    pub fn new(rate_hz: u8) -> Self {
        Self { rate_hz: rate_hz.min(MOST_HZ), due: 0, dropped: 0 }
    }

    /// The same from its beginning.
    pub fn afresh(&self) -> Self {
        Self::new(self.rate_hz)
    }

    /// Whether it is on.
    pub fn is_on(&self) -> bool {
        self.rate_hz > 0
    }

    /// Whether to write the next sample.
    pub fn takes_next(&mut self) -> bool {
        self.due += self.rate_hz;
        let takes = self.due >= MOST_HZ;
        if takes {
            self.due -= MOST_HZ;
        }
        takes
    }
}

/// Writes a row without its line end.
///
/// # Errors
/// The error of `out`.
pub fn row(
    out: &mut impl Write,
    sampled: &Sampled,
    vertical_speed_mmps: Option<i32>,
    dropped: u32,
    columns: Columns,
) -> fmt::Result {
    write!(out, "{},{},", sampled.time.0, SixtyFourths(sampled.static_64ths_pa))?;
    for optional in [sampled.dynamic_64ths_pa, sampled.te_64ths_pa] {
        if let Some(value) = optional {
            write!(out, "{}", SixtyFourths(value))?;
        }
        out.write_str(",")?;
    }
    if let Some(speed) = vertical_speed_mmps {
        write!(out, "{speed}")?;
    }
    write!(out, ",{dropped}")?;
    if columns.inertial {
        inertial(out, sampled.inertial.as_ref())?;
    }
    if columns.ground {
        ground(out, sampled.ground.as_ref())?;
    }
    Ok(())
}

fn ground(out: &mut impl Write, ground: Option<&Ground>) -> fmt::Result {
    let Some(Ground { velocity, age_us }) = ground else { return empty(out, GROUND_VALUES) };
    for mmps in [velocity.north_mmps, velocity.east_mmps, velocity.down_mmps] {
        write!(out, ",{}", Decimal(mmps, 1_000))?;
    }
    write!(out, ",{}", Decimal(*age_us, 1_000_000))
}

fn empty(out: &mut impl Write, values: usize) -> fmt::Result {
    (0..values).try_for_each(|_| out.write_str(","))
}

fn inertial(out: &mut impl Write, averaged: Option<&Averaged>) -> fmt::Result {
    let Some(averaged) = averaged else { return empty(out, INERTIAL_VALUES) };
    let force = |steps| Decimal(steps, FORCE_STEPS);
    let turn = |steps| Decimal(steps, TURN_STEPS);
    for value in averaged.force.map(force).into_iter().chain(averaged.turn.map(turn)) {
        write!(out, ",{value}")?;
    }
    let Some(spread) = averaged.spread else { return out.write_str(",,,,") };
    write!(out, ",{},{}", force(spread.largest_force), force(spread.force_deviation))?;
    write!(out, ",{},{}", turn(spread.largest_turn), turn(spread.turn_deviation))
}

/// So many steps, of which one unit has a power of ten, as a decimal.
pub struct Decimal(pub i32, pub i32);

impl fmt::Display for Decimal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (steps, unit) = (self.0.unsigned_abs(), self.1.unsigned_abs().max(1));
        let sign = if self.0 < 0 { "-" } else { "" };
        let decimals = unit.ilog10() as usize;
        write!(f, "{sign}{}.{:0decimals$}", steps / unit, steps % unit)
    }
}

/// Sixty-fourths as an exact decimal.
pub struct SixtyFourths(pub i32);

impl fmt::Display for SixtyFourths {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let magnitude = self.0.unsigned_abs();
        let sign = if self.0 < 0 { "-" } else { "" };
        let (whole, rest) = (magnitude / 64, magnitude % 64);
        if rest == 0 {
            return write!(f, "{sign}{whole}");
        }
        // 1/64 is 0.015625; every factor of two in the rest removes a digit at the end.
        let zeros = rest.trailing_zeros();
        let (digits, decimals) = (rest * 15_625 / 10_u32.pow(zeros), 6 - zeros as usize);
        write!(f, "{sign}{whole}.{digits:0decimals$}")
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::gnss::pvt::Velocity;
    use crate::inertial::average::SpreadSteps;
    use chirrup_core::Micros;
    use proptest::prelude::*;
    use std::string::{String, ToString};

    #[test]
    fn a_row_has_the_columns_of_the_header() {
        let mut text = String::new();
        let sampled = Sampled {
            time: Micros(1_234_567),
            static_64ths_pa: 95_000 * 64 + 1,
            dynamic_64ths_pa: Some(-96),
            te_64ths_pa: None,
            inertial: None,
            ground: None,
        };
        row(&mut text, &sampled, Some(-1_250), 3, Columns::default()).unwrap();
        assert_eq!(text, "1234567,95000.015625,-1.5,,-1250,3");
        assert_eq!(text.split(',').count(), HEADER.split(',').count());
    }

    #[test]
    fn a_row_of_an_inertial_sensor_has_the_columns_of_the_longer_header() {
        let averaged = Averaged {
            force: [-123_456, 7, -98_066],
            turn: [1, -200_000, 0],
            spread: Some(SpreadSteps {
                largest_force: 98_100,
                force_deviation: 300,
                largest_turn: 12,
                turn_deviation: 34_567,
            }),
        };
        let columns = Columns::default().and_of(&Sampled::default());
        assert_eq!(columns, Columns { inertial: false, ground: false });
        for (inertial, written) in [
            (
                Some(averaged),
                ",-12.3456,0.0007,-9.8066,0.00001,-2.00000,0.00000,9.8100,0.0300,0.00012,0.34567",
            ),
            (
                Some(Averaged { spread: None, ..averaged }),
                ",-12.3456,0.0007,-9.8066,0.00001,-2.00000,0.00000,,,,",
            ),
            (None, ",,,,,,,,,,"),
        ] {
            let sampled = Sampled { inertial, ..Sampled::default() };
            let mut text = String::new();
            let all = Columns { inertial: true, ground: false };
            row(&mut text, &sampled, None, 0, all).unwrap();
            assert_eq!(text.strip_prefix("0,0,,,,0"), Some(written));
            let header = all.header().concat();
            assert_eq!(text.split(',').count(), header.split(',').count());
            assert_eq!(columns.and_of(&sampled).inertial, inertial.is_some());
        }
    }

    #[test]
    fn a_velocity_over_the_ground_stands_at_the_end() {
        let velocity = Velocity { north_mmps: -27_045, east_mmps: 0, down_mmps: 1_900 };
        let flown = Ground { velocity, age_us: 26_041 };
        let columns = Columns { inertial: true, ground: true };
        for (ground, written) in [(Some(flown), ",-27.045,0.000,1.900,0.026041"), (None, ",,,,")] {
            let mut text = String::new();
            row(&mut text, &Sampled { ground, ..Sampled::default() }, None, 0, columns).unwrap();
            assert_eq!(text.strip_prefix("0,0,,,,0,,,,,,,,,,"), Some(written));
            assert_eq!(text.split(',').count(), columns.header().concat().split(',').count());
        }
        let given = flown.ground_velocity();
        let read = |text: &str| text.parse::<f64>().unwrap() as f32;
        assert_eq!((given.north.0, given.down.0), (read("-27.045"), read("1.900")));
        assert_eq!(given.age, Micros((f64::from(read("0.026041")) * 1e6).round() as i64));
    }

    #[test]
    fn ten_rows_a_second_are_every_fifth_sample() {
        for (rate, rows) in [(0, 0), (1, 10), (7, 70), (10, 100), (50, 500)] {
            let mut log = Log::new(rate);
            assert_eq!((0..500).filter(|_| log.takes_next()).count(), rows);
        }
        let mut log = Log::new(10);
        let taken: std::vec::Vec<_> = (1..=15).filter(|_| log.takes_next()).collect();
        assert_eq!(taken, [5, 10, 15]);
    }

    #[test]
    fn no_meaningless_digit_is_written() {
        let texts = [0, 1, 2, 16, 32, 48, 63, 64, -80].map(|value| SixtyFourths(value).to_string());
        assert_eq!(
            texts,
            ["0", "0.015625", "0.03125", "0.25", "0.5", "0.75", "0.984375", "1", "-1.25"]
        );
    }

    proptest! {
        #![proptest_config(ProptestConfig {
            failure_persistence: None,
            ..ProptestConfig::default()
        })]

        #[test]
        fn a_force_and_a_turn_rate_are_read_back_to_the_bit(
            force in prop::array::uniform3(-2_000_000..2_000_000_i32),
            turn in prop::array::uniform3(-3_500_000..3_500_000_i32),
        ) {
            let averaged = Averaged { force, turn, spread: None };
            let mut text = String::new();
            inertial(&mut text, Some(&averaged)).unwrap();
            // As a reader of traces does it: the nearest f64, then the nearest f32.
            let read = |place| -> f32 {
                text.split(',').nth(place).unwrap().parse::<f64>().unwrap() as f32
            };
            let given = averaged.inertial();
            let [x, y, z] = given.specific_force.as_array();
            prop_assert_eq!([x.0, y.0, z.0], [read(1), read(2), read(3)]);
            let [x, y, z] = given.turn_rate.as_array();
            prop_assert_eq!([x.0, y.0, z.0], [read(4), read(5), read(6)]);
        }

        #[test]
        fn a_pressure_is_read_back_exactly(value in any::<i32>()) {
            let read: f64 = SixtyFourths(value).to_string().parse().unwrap();
            prop_assert_eq!(read, f64::from(value) / 64.0);
        }
    }
}
