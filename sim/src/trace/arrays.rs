//! A trace that is in memory already: as many numbers of each channel as there are samples.
//!
//! A sample is what the same numbers in a CSV would be, in the units of the channels' own names;
//! NaN is what an empty field is there: absent. Nothing is put in order and no unit is guessed.

use super::inertial::{Beside, Row as InertialRow};
use super::number::{self, Style};
use super::unit::{Quantity, Unit};
use super::{Item, Skipped, Trace};
use crate::error::Result;
use chirrup_core::{Kelvin, MetrePerSecond, Micros, Pascal, Sample, Speed};

/// The numbers of a channel.
#[derive(Clone, Copy, Debug)]
pub enum Numbers<'a> {
    /// Of 32 bits.
    Single(&'a [f32]),
    /// Of 64 bits.
    Double(&'a [f64]),
}

impl Numbers<'_> {
    /// How many there are.
    pub fn len(&self) -> usize {
        match self {
            Self::Single(numbers) => numbers.len(),
            Self::Double(numbers) => numbers.len(),
        }
    }

    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// The number at `place`, the first being 0; NaN beyond the end.
    pub fn at(&self, place: usize) -> f64 {
        match self {
            Self::Single(numbers) => numbers.get(place).copied().map_or(f64::NAN, f64::from),
            Self::Double(numbers) => numbers.get(place).copied().unwrap_or(f64::NAN),
        }
    }
}

/// Airspeed, in one of the forms in which it is measured.
#[derive(Clone, Copy, Debug)]
pub enum Airspeed<'a> {
    /// Impact pressure, Pa.
    Dynamic(Numbers<'a>),
    /// Calibrated airspeed, m/s.
    Calibrated(Numbers<'a>),
    /// True airspeed, m/s.
    True(Numbers<'a>),
}

/// The channels of a trace, each as long as `time_s`; what a shorter one lacks is absent.
#[derive(Clone, Copy, Debug)]
pub struct Channels<'a> {
    /// Time, s, at most 1e12 from zero.
    pub time_s: &'a [f64],
    /// Static pressure, Pa.
    pub static_pa: Numbers<'a>,
    /// Airspeed.
    pub airspeed: Option<Airspeed<'a>>,
    /// Pressure at a total-energy probe, Pa.
    pub te_pa: Option<Numbers<'a>>,
    /// Outside air temperature, degrees Celsius.
    pub oat_c: Option<Numbers<'a>>,
    /// Specific force forward, right and down, m/s2, and turn rate about these axes, rad/s.
    pub inertial: Option<[Numbers<'a>; 6]>,
    /// Largest and deviation of the force, m/s2, and of the turn rate, rad/s, in what was averaged.
    pub spread: Option<[Numbers<'a>; 4]>,
    /// Velocity over the ground, north, east and down, m/s.
    pub ground_mps: Option<[Numbers<'a>; 3]>,
    /// How long before the sample it was true, s.
    pub ground_age_s: Option<Numbers<'a>>,
}

/// The channels as a trace.
#[derive(Clone, Debug)]
pub struct Arrays<'a> {
    channels: Channels<'a>,
    units: Units,
    beside: Beside,
    next: usize,
}

/// The units that channels have where nothing says another.
#[derive(Clone, Copy, Debug)]
struct Units {
    pressure: &'static Unit,
    speed: &'static Unit,
    temperature: &'static Unit,
    acceleration: &'static Unit,
    turn_rate: &'static Unit,
    time: &'static Unit,
}

impl<'a> Arrays<'a> {
    /// The trace before its first sample.
    pub fn new(channels: Channels<'a>) -> Self {
        let units = Units {
            pressure: Unit::default_of(Quantity::Pressure),
            speed: Unit::default_of(Quantity::Speed),
            temperature: Unit::default_of(Quantity::Temperature),
            acceleration: Unit::default_of(Quantity::Acceleration),
            turn_rate: Unit::default_of(Quantity::TurnRate),
            time: Unit::default_of(Quantity::Time),
        };
        Self { channels, units, beside: Beside::default(), next: 0 }
    }

    fn sample(&mut self, place: usize, time: Micros) -> Sample {
        let Channels { static_pa, airspeed, te_pa, oat_c, .. } = self.channels;
        let units = self.units;
        let one = |numbers: Numbers<'_>, unit| value(numbers.at(place), unit);
        let speed = match airspeed {
            None => None,
            Some(Airspeed::Dynamic(pa)) => {
                one(pa, units.pressure).map(|pa| Speed::Dynamic(Pascal(pa)))
            }
            Some(Airspeed::Calibrated(mps)) => {
                one(mps, units.speed).map(|mps| Speed::Calibrated(MetrePerSecond(mps)))
            }
            Some(Airspeed::True(mps)) => {
                one(mps, units.speed).map(|mps| Speed::True(MetrePerSecond(mps)))
            }
        };
        let row = self.motion(place);
        Sample {
            time,
            static_pressure: one(static_pa, units.pressure).map(Pascal),
            speed,
            te_pressure: te_pa.and_then(|pa| one(pa, units.pressure)).map(Pascal),
            outside_air: oat_c.and_then(|oat| one(oat, units.temperature)).map(Kelvin),
            inertial: self.beside.inertial(time, &row),
            ground_velocity: row.ground_velocity(),
        }
    }

    fn motion(&self, place: usize) -> InertialRow {
        let Channels { inertial, spread, ground_mps, ground_age_s, .. } = self.channels;
        let units = self.units;
        let at = |numbers: Numbers<'_>, unit| value(numbers.at(place), unit);
        let (force, turn) = match inertial {
            Some([fx, fy, fz, wx, wy, wz]) => (
                all([fx, fy, fz].map(|force| at(force, units.acceleration))),
                all([wx, wy, wz].map(|turn| at(turn, units.turn_rate))),
            ),
            None => (None, None),
        };
        let speed = |speed| at(speed, units.speed);
        InertialRow {
            force,
            turn,
            spread: spread.and_then(|[force, force_deviation, turn, turn_deviation]| {
                let [force, force_deviation] =
                    [force, force_deviation].map(|it| at(it, units.acceleration));
                let [turn, turn_deviation] =
                    [turn, turn_deviation].map(|it| at(it, units.turn_rate));
                all([force, force_deviation, turn, turn_deviation])
            }),
            ground: ground_mps.and_then(|velocity| all(velocity.map(speed))),
            age_us: ground_age_s.and_then(|age| at(age, units.time)),
        }
    }
}

impl Trace for Arrays<'_> {
    /// A line is the place of the sample, the first being 0.
    fn next(&mut self) -> Option<Result<Item>> {
        let place = self.next;
        let time_s = *self.channels.time_s.get(place)?;
        self.next += 1;
        let line = place as u64;
        let skipped = |reason: &str, found: f64| {
            let (reason, found) = (reason.to_owned(), found.to_string());
            Some(Ok(Item::Skipped(Skipped { line, reason, found })))
        };
        let Some(time) = micros(time_s) else {
            return skipped("time is NaN or beyond 1e12 s", time_s);
        };
        let sample = self.sample(place, time);
        if sample.is_empty() {
            return skipped("no number in static", self.channels.static_pa.at(place));
        }
        Some(Ok(Item::Sample { line, sample }))
    }

    fn notes(&self) -> Vec<String> {
        Vec::new()
    }

    fn has_inertial(&self) -> bool {
        self.channels.inertial.is_some()
    }

    fn format(&self) -> &'static str {
        "arrays"
    }
}

/// `value`, which is in `unit`, in the core's unit; `None` for NaN and beyond `f32`.
fn value(value: f64, unit: &Unit) -> Option<f32> {
    let converted = unit.convert(value) as f32;
    converted.is_finite().then_some(converted)
}

fn all<const N: usize>(values: [Option<f32>; N]) -> Option<[f32; N]> {
    let mut all = [0.0; N];
    for (one, value) in all.iter_mut().zip(values) {
        *one = value?;
    }
    Some(all)
}

/// Seconds as the nearest microsecond, as its shortest decimal text is read; `None` for what is no
/// time of a trace.
pub fn micros(seconds: f64) -> Option<Micros> {
    let scaled = seconds * 1e6;
    // Where the product may be on the wrong side of a half, the digits decide.
    let doubt = scaled.abs() * 4.0 * f64::EPSILON + 1e-9;
    if (scaled.fract().abs() - 0.5).abs() > doubt && scaled.abs() < 1e15 {
        return Some(Micros(scaled.round() as i64));
    }
    number::micros(format!("{seconds}").as_bytes(), 6, Style::default()).ok().map(Micros)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trace::{self, columns::ColumnMap};
    use proptest::prelude::*;
    use std::io::Cursor;

    fn items(mut trace: impl Trace) -> Vec<Item> {
        std::iter::from_fn(|| trace.next()).map(|item| item.expect("it can be read")).collect()
    }

    fn samples(items: Vec<Item>) -> Vec<Sample> {
        let sample = |item| match item {
            Item::Sample { sample, .. } => Some(sample),
            Item::Skipped(_) => None,
        };
        items.into_iter().filter_map(sample).collect()
    }

    /// Time and eighteen channels of a row.
    type Wide = (f64, [Option<f64>; 16]);

    const HEADER: &str = "time_s,static_pa,dynamic_pa,te_pa,oat_c,accel_x_mps2,accel_y_mps2,\
                          accel_z_mps2,gyro_x_radps,gyro_y_radps,gyro_z_radps,gnss_vn_mps,\
                          gnss_ve_mps,gnss_vd_mps,gnss_age_s,accel_largest_mps2,\
                          accel_deviation_mps2,gyro_largest_radps,gyro_deviation_radps";

    fn rows() -> impl Strategy<Value = Vec<Wide>> {
        let cell = prop_oneof![3 => Just(None), 7 => (-2.0e5..2.0e5).prop_map(Some)];
        prop::collection::vec((0.001..0.4, prop::array::uniform16(cell)), 2..40)
    }

    proptest! {
        #[test]
        fn arrays_are_the_samples_of_the_same_numbers_in_a_csv(rows in rows()) {
            let mut time_s = 0.0;
            let mut text = HEADER.to_owned() + "\n";
            let mut columns: Vec<Vec<f64>> = vec![Vec::new(); 19];
            for (step_s, cells) in rows {
                time_s += step_s;
                let pressure = Some(90_000.0 + cells[0].unwrap_or(0.0) / 10.0);
                // The spreads stand in every row, the third and fourth as the first two.
                let spread = [Some(1.0), Some(0.5), cells[13], cells[14]];
                let of_row = [Some(time_s), pressure].into_iter().chain(cells[..13].to_vec());
                let of_row: Vec<_> = of_row.chain(spread).collect();
                let field = |cell: &Option<f64>| cell.map_or(String::new(), |it| it.to_string());
                text += &(of_row.iter().map(field).collect::<Vec<_>>().join(",") + "\n");
                for (column, cell) in columns.iter_mut().zip(of_row) {
                    column.push(cell.unwrap_or(f64::NAN));
                }
            }
            let csv = Box::new(Cursor::new(text.into_bytes()));
            let mut csv = trace::open("log.csv", csv, &ColumnMap::default()).expect("it is a CSV");
            let mut expected = Vec::new();
            while let Some(item) = csv.next() {
                expected.push(item.expect("it can be read"));
            }
            let at = |place: usize| Numbers::Double(&columns[place]);
            let channels = Channels {
                time_s: &columns[0],
                static_pa: at(1),
                airspeed: Some(Airspeed::Dynamic(at(2))),
                te_pa: Some(at(3)),
                oat_c: Some(at(4)),
                inertial: Some([5, 6, 7, 8, 9, 10].map(at)),
                ground_mps: Some([11, 12, 13].map(at)),
                ground_age_s: Some(at(14)),
                spread: Some([15, 16, 17, 18].map(at)),
            };
            prop_assert_eq!(samples(items(Arrays::new(channels))), samples(expected));
        }

        #[test]
        fn seconds_are_read_as_their_digits(
            micros_of in -10_000_000_000_000_i64..10_000_000_000_000,
            tenths in 0_u32..100,
        ) {
            let text = format!("{micros_of}{tenths:02}");
            let seconds = text.parse::<f64>().expect("it is a number") / 1e8;
            let digits = number::micros(format!("{seconds}").as_bytes(), 6, Style::default());
            prop_assert_eq!(micros(seconds), digits.ok().map(Micros));
        }
    }

    #[test]
    fn what_is_no_time_is_none() {
        for seconds in [f64::NAN, f64::INFINITY, -1.1e12, 1e300] {
            assert_eq!(micros(seconds), None);
        }
        assert_eq!(micros(-1e12), Some(Micros(-1_000_000_000_000_000_000)));
        assert_eq!(micros(0.000_000_5), Some(Micros(1)));
    }
}
