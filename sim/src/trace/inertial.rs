//! Columns of an inertial sensor and of a satellite receiver.
//!
//! | columns | unit | what |
//! |---|---|---|
//! | `accel_x_mps2`, `accel_y_mps2`, `accel_z_mps2` | m/s2 | specific force in body axes: forward, |
//! | | | right, down; at rest z is -9.8 |
//! | `gyro_x_radps`, `gyro_y_radps`, `gyro_z_radps` | rad/s | turn rate about them, right-handed |
//! | `accel_largest_mps2`, `accel_deviation_mps2`, | m/s2, | optional: largest of a single axis |
//! | `gyro_largest_radps`, `gyro_deviation_radps` | rad/s | and deviation of what was averaged |
//! | `gnss_vn_mps`, `gnss_ve_mps`, `gnss_vd_mps` | m/s | velocity over the ground: north, east, |
//! | | | down |
//! | `gnss_age_s` | s | optional: how long before the row it was true |
//!
//! The columns of a line of this table belong together: some of them without the rest are not used,
//! and a note says so, for the header and for a row. Where force and turn rate come in rows of
//! their own, the last of the other stands beside each, for a quarter of a second (a guess: five
//! samples of a slow sensor).

use super::number::{self, Field};
use super::unreadable::Unreadable;
use chirrup_core::{
    Axes, GroundVelocity, Inertial, MetrePerSecond, MetrePerSecond2, Micros, RadianPerSecond,
    Spread,
};

const FORCE: [&str; 3] = ["accel_x_mps2", "accel_y_mps2", "accel_z_mps2"];
const TURN: [&str; 3] = ["gyro_x_radps", "gyro_y_radps", "gyro_z_radps"];
const SPREAD: [&str; 4] =
    ["accel_largest_mps2", "accel_deviation_mps2", "gyro_largest_radps", "gyro_deviation_radps"];
const GROUND: [&str; 3] = ["gnss_vn_mps", "gnss_ve_mps", "gnss_vd_mps"];
const AGE: [&str; 1] = ["gnss_age_s"];
/// A force or a turn rate stands beside the other for as long.
const STANDS: Micros = Micros(250_000);

/// Columns that belong together, and what could not be read of them.
#[derive(Clone, Debug)]
struct Together<const N: usize> {
    places: [usize; N],
    names: [&'static str; N],
    unreadable: Unreadable,
}

impl<const N: usize> Together<N> {
    /// The columns of a header in which `position` finds a name; adds a note to `notes` if only
    /// some are there.
    fn find(
        names: [&'static str; N],
        position: &impl Fn(&str) -> Option<usize>,
        notes: &mut Vec<String>,
    ) -> Option<Self> {
        let found = names.map(position);
        let of = |there: bool| -> Vec<&str> {
            let both = names.iter().zip(found);
            both.filter(|(_, place)| place.is_some() == there).map(|(name, _)| *name).collect()
        };
        if let ([first, ..], missing @ [_, ..]) = (&of(true)[..], &of(false)[..]) {
            notes.push(format!("{first} not used: it needs {}", missing.join(" and ")));
        }
        let mut places = [0; N];
        for (place, found) in places.iter_mut().zip(found) {
            *place = found?;
        }
        Some(Self { places, names, unreadable: Unreadable::default() })
    }

    /// The values in a row, where all are there; counts a row that has only some.
    fn read<'a>(
        &mut self,
        line: u64,
        field: &impl Fn(usize) -> Option<&'a [u8]>,
    ) -> Option<[f32; N]> {
        let mut values = [0.0; N];
        let (mut read, mut absent, mut wrong) = (0, 0, None);
        for (value, place) in values.iter_mut().zip(self.places) {
            let text = field(place).unwrap_or_default();
            match number::field(text) {
                Field::Value(found) if (found as f32).is_finite() => {
                    *value = found as f32;
                    read += 1;
                }
                Field::Absent => absent += 1,
                _ => wrong = Some(text),
            }
        }
        if let Some(text) = wrong {
            self.unreadable.add(line, text);
        } else if read > 0 && absent > 0 {
            self.unreadable.add(line, format!("only {read} of {N}").as_bytes());
        }
        (read == N).then_some(values)
    }

    fn note(&self) -> Option<String> {
        let (first, rest) = self.names.split_first()?;
        let name = match rest.last() {
            Some(last) => format!("{first} to {last}"),
            None => (*first).into(),
        };
        self.unreadable.note(&name, "row")
    }
}

/// The columns of a trace, and what has been read of them.
#[derive(Clone, Debug, Default)]
pub(super) struct InertialColumns {
    force: Option<Together<3>>,
    turn: Option<Together<3>>,
    spread: Option<Together<4>>,
    ground: Option<Together<3>>,
    age: Option<Together<1>>,
    last_force: Option<([f32; 3], Micros)>,
    last_turn: Option<([f32; 3], Micros)>,
    notes: Vec<String>,
}

impl InertialColumns {
    /// The columns of a header in which `position` finds a name.
    pub fn find(position: impl Fn(&str) -> Option<usize>) -> Self {
        let mut notes = Vec::new();
        let mut found = Self {
            force: Together::find(FORCE, &position, &mut notes),
            turn: Together::find(TURN, &position, &mut notes),
            spread: Together::find(SPREAD, &position, &mut notes),
            ground: Together::find(GROUND, &position, &mut notes),
            age: Together::find(AGE, &position, &mut notes),
            ..Self::default()
        };
        if found.force.is_some() != found.turn.is_some() {
            let (first, needed) =
                if found.force.is_some() { (FORCE[0], TURN) } else { (TURN[0], FORCE) };
            notes.push(format!("{first} not used: it needs {}", needed.join(" and ")));
            (found.force, found.turn) = (None, None);
        }
        found.notes = notes;
        found
    }

    /// What a row says, of which `field` gives the fields.
    pub fn read<'a>(
        &mut self,
        line: u64,
        time: Micros,
        field: impl Fn(usize) -> Option<&'a [u8]>,
    ) -> (Option<Inertial>, Option<GroundVelocity>) {
        (self.inertial(line, time, &field), self.ground(line, &field))
    }

    /// What the user should know about them.
    pub fn notes(&self) -> impl Iterator<Item = String> {
        let triples = [&self.force, &self.turn, &self.ground];
        let unreadable = triples.into_iter().flatten().filter_map(Together::note);
        let spread = self.spread.iter().filter_map(Together::note);
        let age = self.age.iter().filter_map(Together::note);
        self.notes.iter().cloned().chain(unreadable).chain(spread).chain(age)
    }

    fn inertial<'a>(
        &mut self,
        line: u64,
        time: Micros,
        field: &impl Fn(usize) -> Option<&'a [u8]>,
    ) -> Option<Inertial> {
        let force = self.force.as_mut().and_then(|columns| columns.read(line, field));
        let turn = self.turn.as_mut().and_then(|columns| columns.read(line, field));
        if force.is_none() && turn.is_none() {
            return None;
        }
        let force = latest(&mut self.last_force, time, force);
        let turn = latest(&mut self.last_turn, time, turn);
        let (force, turn) = (force?, turn?);
        let spread = self.spread.as_mut().and_then(|columns| columns.read(line, field));
        Some(Inertial {
            specific_force: axes(force.map(MetrePerSecond2)),
            turn_rate: axes(turn.map(RadianPerSecond)),
            spread: spread.map(|[largest_force, force_deviation, largest_turn, turn_deviation]| {
                Spread {
                    largest_force: MetrePerSecond2(largest_force),
                    force_deviation: MetrePerSecond2(force_deviation),
                    largest_turn: RadianPerSecond(largest_turn),
                    turn_deviation: RadianPerSecond(turn_deviation),
                }
            }),
        })
    }

    fn ground<'a>(
        &mut self,
        line: u64,
        field: &impl Fn(usize) -> Option<&'a [u8]>,
    ) -> Option<GroundVelocity> {
        let [north, east, down] = self.ground.as_mut()?.read(line, field)?.map(MetrePerSecond);
        let age = self.age.as_mut().and_then(|column| column.read(line, field));
        let age = age.map_or(0.0, |[age_s]| f64::from(age_s.clamp(0.0, 60.0)));
        Some(GroundVelocity { north, east, down, age: Micros((age * 1e6).round() as i64) })
    }
}

/// The values of a row at `time`, or the last ones where it has none and they still stand.
fn latest(
    last: &mut Option<([f32; 3], Micros)>,
    time: Micros,
    values: Option<[f32; 3]>,
) -> Option<[f32; 3]> {
    if let Some(values) = values {
        *last = Some((values, time));
    }
    last.filter(|(_, at)| (0..=STANDS.0).contains(&time.since(*at).0)).map(|(values, _)| values)
}

fn axes<T>([x, y, z]: [T; 3]) -> Axes<T> {
    Axes { x, y, z }
}
