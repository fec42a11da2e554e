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
//! `--columns` may give other names and units, see [`super::columns`].
//!
//! The columns of a line of this table belong together: some of them without the rest are not used,
//! and a note says so, for the header and for a row. Where force and turn rate come in rows of
//! their own, the last of the other stands beside each, for a quarter of a second (a guess: five
//! samples of a slow sensor).

use super::column::Column;
use super::columns::Channel;
use super::motion::{AGE, FORCE, GROUND, MotionColumn, SPREAD, TURN};
use super::number::Field;
use super::unreadable::Unreadable;
use chirrup_core::{
    Axes, GroundVelocity, Inertial, MetrePerSecond, MetrePerSecond2, Micros, RadianPerSecond,
    Spread,
};
use std::array;

/// A force or a turn rate stands beside the other for as long.
const STANDS: Micros = Micros(250_000);
/// No velocity is taken to be older, us.
const LONGEST_US: f32 = 60e6;

/// Columns that belong together, and what could not be read of them.
#[derive(Clone, Debug)]
struct Together<const N: usize> {
    channels: &'static [MotionColumn; N],
    columns: [Column; N],
    unreadable: Unreadable,
}

impl<const N: usize> Together<N> {
    /// The columns that `find` finds of these channels; adds a note to `notes` if only some are
    /// there.
    fn find(
        channels: &'static [MotionColumn; N],
        find: &impl Fn(Channel) -> Option<Column>,
        notes: &mut Vec<String>,
    ) -> Option<Self> {
        let found: [Option<Column>; N] =
            array::from_fn(|place| find(Channel::Motion(&channels[place])));
        let missing = channels.iter().zip(&found).filter(|(_, column)| column.is_none());
        let missing: Vec<&str> = missing.map(|(channel, _)| channel.own).collect();
        let names: Vec<&str> = found.iter().flatten().map(|column| column.name.as_str()).collect();
        if !names.is_empty() && !missing.is_empty() {
            notes.push(not_used(&names, &missing));
        }
        let columns: Vec<Column> = found.into_iter().flatten().collect();
        let columns = columns.try_into().ok()?;
        Some(Self { channels, columns, unreadable: Unreadable::default() })
    }

    fn used(&self) -> impl Iterator<Item = (Channel, &Column)> {
        self.channels.iter().map(Channel::Motion).zip(&self.columns)
    }

    /// The values in a row, where all are there; counts a row that has only some.
    fn read<'a>(
        &mut self,
        line: u64,
        field: &impl Fn(usize) -> Option<&'a [u8]>,
    ) -> Option<[f32; N]> {
        let mut values = [0.0; N];
        let (mut read, mut absent, mut wrong) = (0, 0, None);
        for (value, column) in values.iter_mut().zip(&self.columns) {
            let text = field(column.index).unwrap_or_default();
            let converted = match column.number(text) {
                Field::Value(found) => column.convert(found),
                Field::Absent => {
                    absent += 1;
                    continue;
                }
                Field::Unreadable => None,
            };
            match converted {
                Some(found) => {
                    *value = found;
                    read += 1;
                }
                None => wrong = Some(text),
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
        let (first, rest) = self.columns.split_first()?;
        let name = match rest.last() {
            Some(last) => format!("{} to {}", first.name, last.name),
            None => first.name.clone(),
        };
        self.unreadable.note(&name, "row")
    }
}

/// That these columns are of no use without those that are missing, and what to do.
fn not_used(names: &[&str], missing: &[&str]) -> String {
    let need = if names.len() == 1 { "it needs" } else { "they need" };
    format!(
        "{} not used: {need} {}; if the trace has them by other names, give those with --columns",
        names.join(" and "),
        missing.join(" and ")
    )
}

/// The columns of a trace, and what has been read of them.
#[derive(Clone, Debug, Default)]
pub(super) struct InertialColumns {
    force: Option<Together<3>>,
    turn: Option<Together<3>>,
    spread: Option<Together<4>>,
    ground: Option<Together<3>>,
    age: Option<Together<1>>,
    beside: Beside,
    notes: Vec<String>,
}

impl InertialColumns {
    /// The columns that `find` finds.
    pub fn find(find: impl Fn(Channel) -> Option<Column>) -> Self {
        let mut notes = Vec::new();
        let mut found = Self {
            force: Together::find(&FORCE, &find, &mut notes),
            turn: Together::find(&TURN, &find, &mut notes),
            spread: Together::find(&SPREAD, &find, &mut notes),
            ground: Together::find(&GROUND, &find, &mut notes),
            age: Together::find(&AGE, &find, &mut notes),
            ..Self::default()
        };
        let alone = |there: &Together<3>, absent: &'static [MotionColumn; 3]| {
            let missing = absent.iter().filter(|channel| find(Channel::Motion(channel)).is_none());
            let missing: Vec<&str> = missing.map(|channel| channel.own).collect();
            not_used(&there.columns.each_ref().map(|column| column.name.as_str()), &missing)
        };
        match (&found.force, &found.turn) {
            (Some(force), None) => notes.push(alone(force, &TURN)),
            (None, Some(turn)) => notes.push(alone(turn, &FORCE)),
            _ => {}
        }
        if found.force.is_none() || found.turn.is_none() {
            (found.force, found.turn) = (None, None);
        }
        found.notes = notes;
        found
    }

    /// The columns that are used, and what for.
    pub fn used(&self) -> impl Iterator<Item = (Channel, &Column)> {
        let [force, turn, ground] = [&self.force, &self.turn, &self.ground]
            .map(|columns| columns.iter().flat_map(Together::used));
        let spread = self.spread.iter().flat_map(Together::used);
        let age = self.age.iter().flat_map(Together::used);
        force.chain(turn).chain(spread).chain(ground).chain(age)
    }

    /// Whether there is an inertial sensor.
    pub fn has_sensor(&self) -> bool {
        self.force.is_some()
    }

    /// What a row says, of which `field` gives the fields.
    pub fn read<'a>(
        &mut self,
        line: u64,
        time: Micros,
        field: impl Fn(usize) -> Option<&'a [u8]>,
    ) -> (Option<Inertial>, Option<GroundVelocity>) {
        let row = self.row(line, &field);
        (self.beside.inertial(time, &row), row.ground_velocity())
    }

    /// What the user should know about them.
    pub fn notes(&self) -> impl Iterator<Item = String> {
        let triples = [&self.force, &self.turn, &self.ground];
        let unreadable = triples.into_iter().flatten().filter_map(Together::note);
        let spread = self.spread.iter().filter_map(Together::note);
        let age = self.age.iter().filter_map(Together::note);
        self.notes.iter().cloned().chain(unreadable).chain(spread).chain(age)
    }

    /// The values of a row.
    fn row<'a>(&mut self, line: u64, field: &impl Fn(usize) -> Option<&'a [u8]>) -> Row {
        let read = |columns: &mut Option<Together<3>>| columns.as_mut()?.read(line, field);
        let (force, turn) = (read(&mut self.force), read(&mut self.turn));
        let is_felt = force.is_some() || turn.is_some();
        let spread = self.spread.as_mut().filter(|_| is_felt);
        let ground = read(&mut self.ground);
        let age = self.age.as_mut().filter(|_| ground.is_some());
        Row {
            force,
            turn,
            spread: spread.and_then(|columns| columns.read(line, field)),
            ground,
            age_us: age.and_then(|column| column.read(line, field)).map(|[age_us]| age_us),
        }
    }
}

/// What a row says of the motion, in the units of the core; `None` for what it does not say.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Row {
    pub force: Option<[f32; 3]>,
    pub turn: Option<[f32; 3]>,
    /// Largest and deviation of the force, then of the turn rate.
    pub spread: Option<[f32; 4]>,
    pub ground: Option<[f32; 3]>,
    pub age_us: Option<f32>,
}

impl Row {
    /// The velocity over the ground.
    pub fn ground_velocity(&self) -> Option<GroundVelocity> {
        let [north, east, down] = self.ground?.map(MetrePerSecond);
        let age_us = self.age_us.map_or(0.0, |age_us| f64::from(age_us.clamp(0.0, LONGEST_US)));
        Some(GroundVelocity { north, east, down, age: Micros(age_us.round() as i64) })
    }
}

/// The last force and turn rate, for where they come in rows of their own.
#[derive(Clone, Debug, Default)]
pub(super) struct Beside {
    force: Option<([f32; 3], Micros)>,
    turn: Option<([f32; 3], Micros)>,
}

impl Beside {
    /// What the inertial sensor has measured, by a row at `time` and those before it.
    pub fn inertial(&mut self, time: Micros, row: &Row) -> Option<Inertial> {
        if row.force.is_none() && row.turn.is_none() {
            return None;
        }
        let force = latest(&mut self.force, time, row.force);
        let turn = latest(&mut self.turn, time, row.turn);
        let (force, turn) = (force?, turn?);
        Some(Inertial {
            specific_force: axes(force.map(MetrePerSecond2)),
            turn_rate: axes(turn.map(RadianPerSecond)),
            spread: row.spread.map(
                |[largest_force, force_deviation, largest_turn, turn_deviation]| Spread {
                    largest_force: MetrePerSecond2(largest_force),
                    force_deviation: MetrePerSecond2(force_deviation),
                    largest_turn: RadianPerSecond(largest_turn),
                    turn_deviation: RadianPerSecond(turn_deviation),
                },
            ),
        })
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
