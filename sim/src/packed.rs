//! Samples as bytes that compress well, without the loss of a bit: what a flight's page carries.
//!
//! ```text
//! count     u32
//! times     8 planes of bytes: the differences of the differences, in microseconds
//! columns   one after another, in the order of `COLUMNS`: 0, none has it; 1, all have it; 2 and a
//!           bit a sample, some have it; then 4 planes of bytes: the differences of the bits
//! ```
//!
//! A plane holds the lowest byte of every number, the next one that of every second lowest: those
//! that hardly change stand together, which a general packer makes short. Little-endian throughout.

use chirrup_core::{
    Axes, GroundVelocity, Inertial, Kelvin, MetrePerSecond, MetrePerSecond2, Micros, Pascal,
    RadianPerSecond, Sample, Speed, Spread,
};

/// What a sample may hold beside its time, as bits.
const COLUMNS: usize = 21;

/// The bytes of `samples`; `None` where there are more than fit a page, 2^32.
pub fn pack(samples: &[Sample]) -> Option<Vec<u8>> {
    let mut bytes = u32::try_from(samples.len()).ok()?.to_le_bytes().to_vec();
    let times: Vec<i64> = samples.iter().map(|sample| sample.time.0).collect();
    planes(&differences(&differences(&times)), &mut bytes);
    let rows: Vec<[Option<u32>; COLUMNS]> = samples.iter().map(columns_of).collect();
    for column in 0..COLUMNS {
        pack_column(rows.iter().map(|row| row[column]), &mut bytes);
    }
    Some(bytes)
}

/// The samples that [`pack`] made `bytes` of; `None` where it did not.
pub fn unpack(bytes: &[u8]) -> Option<Vec<Sample>> {
    let (count, rest) = bytes.split_first_chunk::<4>()?;
    let count = u32::from_le_bytes(*count) as usize;
    let mut rest = Rest(rest);
    let times = sums(&sums(&rest.planes::<8>(count)?.map(i64::from_le_bytes).collect::<Vec<_>>()));
    let mut values = vec![None; count.checked_mul(COLUMNS)?];
    for column in 0..COLUMNS {
        rest.column(count, |place, value| values[place * COLUMNS + column] = Some(value))?;
    }
    rest.0.is_empty().then_some(())?;
    let rows = values.chunks_exact(COLUMNS);
    times.into_iter().zip(rows).map(|(time, row)| sample_of(Micros(time), row)).collect()
}

/// A column of a packed recording.
fn pack_column(values: impl Iterator<Item = Option<u32>> + Clone, bytes: &mut Vec<u8>) {
    let present: Vec<u32> = values.clone().flatten().collect();
    let count = values.clone().count();
    match present.len() {
        0 => return bytes.push(0),
        some if some == count => bytes.push(1),
        _ => {
            bytes.push(2);
            let start = bytes.len();
            bytes.resize(start + count.div_ceil(8), 0);
            for (place, _) in values.enumerate().filter(|(_, value)| value.is_some()) {
                bytes[start + place / 8] |= 1 << (place % 8);
            }
        }
    }
    let mut before = 0_u32;
    let changes =
        present.iter().map(|value| value.wrapping_sub(std::mem::replace(&mut before, *value)));
    let changes: Vec<[u8; 4]> = changes.map(u32::to_le_bytes).collect();
    (0..4).for_each(|plane| bytes.extend(changes.iter().map(|change| change[plane])));
}

fn planes(numbers: &[i64], bytes: &mut Vec<u8>) {
    (0..8).for_each(|plane| bytes.extend(numbers.iter().map(|number| number.to_le_bytes()[plane])));
}

fn differences(numbers: &[i64]) -> Vec<i64> {
    let mut before = 0_i64;
    let difference = |number: &i64| number.wrapping_sub(std::mem::replace(&mut before, *number));
    numbers.iter().map(difference).collect()
}

fn sums(differences: &[i64]) -> Vec<i64> {
    let mut sum = 0_i64;
    let add = |difference: &i64| {
        sum = sum.wrapping_add(*difference);
        sum
    };
    differences.iter().map(add).collect()
}

/// What is left of the bytes.
struct Rest<'a>(&'a [u8]);

impl<'a> Rest<'a> {
    fn take(&mut self, count: usize) -> Option<&'a [u8]> {
        let (first, rest) = self.0.split_at_checked(count)?;
        self.0 = rest;
        Some(first)
    }

    /// `count` numbers of `BYTES` bytes each, plane by plane.
    fn planes<const BYTES: usize>(
        &mut self,
        count: usize,
    ) -> Option<impl Iterator<Item = [u8; BYTES]> + use<'a, BYTES>> {
        let all = self.take(count.checked_mul(BYTES)?)?;
        Some((0..count).map(move |place| std::array::from_fn(|plane| all[plane * count + place])))
    }

    fn column(&mut self, count: usize, mut put: impl FnMut(usize, u32)) -> Option<()> {
        let places: Vec<usize> = match self.take(1)?[0] {
            0 => return Some(()),
            1 => (0..count).collect(),
            2 => {
                let bits = self.take(count.div_ceil(8))?;
                (0..count).filter(|place| bits[place / 8] >> (place % 8) & 1 == 1).collect()
            }
            _ => return None,
        };
        let mut value = 0_u32;
        for (change, place) in self.planes::<4>(places.len())?.zip(&places) {
            value = value.wrapping_add(u32::from_le_bytes(change));
            put(*place, value);
        }
        Some(())
    }
}

fn columns_of(sample: &Sample) -> [Option<u32>; COLUMNS] {
    let bits = |value: f32| value.to_bits();
    let speed = |form: usize| match sample.speed {
        Some(Speed::Dynamic(Pascal(value))) if form == 0 => Some(bits(value)),
        Some(Speed::Calibrated(MetrePerSecond(value))) if form == 1 => Some(bits(value)),
        Some(Speed::True(MetrePerSecond(value))) if form == 2 => Some(bits(value)),
        _ => None,
    };
    let force = |axis: fn(&Axes<MetrePerSecond2>) -> MetrePerSecond2| {
        sample.inertial.map(|inertial| bits(axis(&inertial.specific_force).0))
    };
    let turn = |axis: fn(&Axes<RadianPerSecond>) -> RadianPerSecond| {
        sample.inertial.map(|inertial| bits(axis(&inertial.turn_rate).0))
    };
    let spread = |of: fn(&Spread) -> f32| {
        sample.inertial.and_then(|inertial| inertial.spread).map(|spread| bits(of(&spread)))
    };
    let ground = |of: fn(&GroundVelocity) -> u32| sample.ground_velocity.map(|ground| of(&ground));
    [
        sample.static_pressure.map(|pressure| bits(pressure.0)),
        speed(0),
        speed(1),
        speed(2),
        sample.te_pressure.map(|pressure| bits(pressure.0)),
        sample.outside_air.map(|temperature| bits(temperature.0)),
        force(|axes| axes.x),
        force(|axes| axes.y),
        force(|axes| axes.z),
        turn(|axes| axes.x),
        turn(|axes| axes.y),
        turn(|axes| axes.z),
        spread(|spread| spread.largest_force.0),
        spread(|spread| spread.force_deviation.0),
        spread(|spread| spread.largest_turn.0),
        spread(|spread| spread.turn_deviation.0),
        ground(|ground| ground.north.0.to_bits()),
        ground(|ground| ground.east.0.to_bits()),
        ground(|ground| ground.down.0.to_bits()),
        ground(|ground| ground.age.0 as u32),
        ground(|ground| (ground.age.0 >> 32) as u32),
    ]
}

/// The sample of a row; `None` where a part of it is only half there.
fn sample_of(time: Micros, row: &[Option<u32>]) -> Option<Sample> {
    let number = |column: usize| row[column].map(f32::from_bits);
    let speed = [
        number(1).map(|value| Speed::Dynamic(Pascal(value))),
        number(2).map(|value| Speed::Calibrated(MetrePerSecond(value))),
        number(3).map(|value| Speed::True(MetrePerSecond(value))),
    ];
    let is_there = |columns: std::ops::Range<usize>| {
        let there = row[columns.clone()].iter().flatten().count();
        (there == 0 || there == columns.len()).then_some(there > 0)
    };
    let value = |column: usize| number(column).unwrap_or_default();
    let [force, turn] = [6, 9].map(|first| [value(first), value(first + 1), value(first + 2)]);
    let spread = is_there(12..16)?.then(|| Spread {
        largest_force: MetrePerSecond2(value(12)),
        force_deviation: MetrePerSecond2(value(13)),
        largest_turn: RadianPerSecond(value(14)),
        turn_deviation: RadianPerSecond(value(15)),
    });
    let inertial = is_there(6..12)?.then(|| Inertial {
        specific_force: axes(force.map(MetrePerSecond2)),
        turn_rate: axes(turn.map(RadianPerSecond)),
        spread,
    });
    let age = |low: u32, high: u32| Micros((u64::from(high) << 32 | u64::from(low)) as i64);
    let ground_velocity = is_there(16..21)?.then(|| GroundVelocity {
        north: MetrePerSecond(value(16)),
        east: MetrePerSecond(value(17)),
        down: MetrePerSecond(value(18)),
        age: age(row[19].unwrap_or_default(), row[20].unwrap_or_default()),
    });
    Some(Sample {
        time,
        static_pressure: number(0).map(Pascal),
        speed: speed.into_iter().flatten().next(),
        te_pressure: number(4).map(Pascal),
        outside_air: number(5).map(Kelvin),
        inertial,
        ground_velocity,
    })
}

fn axes<T>([x, y, z]: [T; 3]) -> Axes<T> {
    Axes { x, y, z }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn any_sample() -> impl Strategy<Value = Sample> {
        let bits = || any::<f32>();
        let speed = (0..4_u8, bits()).prop_map(|(form, value)| match form {
            0 => Some(Speed::Dynamic(Pascal(value))),
            1 => Some(Speed::Calibrated(MetrePerSecond(value))),
            2 => Some(Speed::True(MetrePerSecond(value))),
            _ => None,
        });
        let pressures = prop::array::uniform3(prop::option::of(bits()));
        let inertial = prop::option::of((
            prop::array::uniform6(bits()),
            prop::option::of(prop::array::uniform4(bits())),
        ));
        let ground = prop::option::of((prop::array::uniform3(bits()), any::<i64>()));
        (any::<i64>(), speed, pressures, inertial, ground).prop_map(
            |(time, speed, [static_pa, te_pa, outside_k], inertial, ground)| Sample {
                time: Micros(time),
                static_pressure: static_pa.map(Pascal),
                speed,
                te_pressure: te_pa.map(Pascal),
                outside_air: outside_k.map(Kelvin),
                inertial: inertial.map(|([a, b, c, x, y, z], spread)| Inertial {
                    specific_force: axes([a, b, c].map(MetrePerSecond2)),
                    turn_rate: axes([x, y, z].map(RadianPerSecond)),
                    spread: spread.map(|[p, q, r, s]| Spread {
                        largest_force: MetrePerSecond2(p),
                        force_deviation: MetrePerSecond2(q),
                        largest_turn: RadianPerSecond(r),
                        turn_deviation: RadianPerSecond(s),
                    }),
                }),
                ground_velocity: ground.map(|([n, e, d], age)| GroundVelocity {
                    north: MetrePerSecond(n),
                    east: MetrePerSecond(e),
                    down: MetrePerSecond(d),
                    age: Micros(age),
                }),
            },
        )
    }

    proptest! {
        #[test]
        fn every_bit_comes_back(samples in prop::collection::vec(any_sample(), 0..40)) {
            let bytes = pack(&samples).unwrap();
            let back = unpack(&bytes).unwrap();
            // Not a number is not equal to itself; its bits are.
            prop_assert_eq!(pack(&back).unwrap(), bytes);
            prop_assert_eq!(format!("{back:?}"), format!("{samples:?}"));
        }

        #[test]
        fn what_was_not_packed_is_refused_and_takes_no_memory(
            bytes in prop::collection::vec(any::<u8>(), 0..200)
        ) {
            let found = unpack(&bytes);
            prop_assert!(found.is_none() || found.is_some_and(|found| found.len() <= bytes.len()));
        }
    }

    #[test]
    fn a_part_is_refused() {
        let sample = Sample::of_static(Micros(5), Pascal(90_000.0));
        let bytes = pack(&[sample; 9]).unwrap();
        assert_eq!(unpack(&bytes), Some(vec![sample; 9]));
        (0..bytes.len()).for_each(|length| assert_eq!(unpack(&bytes[..length]), None, "{length}"));
        assert_eq!(unpack(&[bytes, vec![0]].concat()), None);
    }
}
