//! Faults injected into a trace on its way to the instrument, so that anyone can hear and see their
//! effect.
//!
//! ```text
//! trace -> sample -> injection 1 -> injection 2 -> .. -> replay
//! ```
//!
//! [`catalogue`] is the one list of faults: what each is, how it is noticed, what is heard, and
//! which tests hold it. Nothing here reads a clock or the disk, and what is random is seeded, so
//! that the same command gives the same sound.

pub mod catalogue;
pub mod disturbance;
mod faults;
mod list;
pub mod motion;
mod tubes;

use crate::time::Moment;
use catalogue::{Entry, Kind, entry};
use chirrup_core::{Micros, Sample};
use faults::Injector;
use std::str::FromStr;

pub use faults::is_of_one_axis;
pub use list::{list, table};

/// A fault as typed: `FAULT[:AXIS][@TIME[,DURATION]]`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Injection {
    /// Which fault.
    pub kind: Kind,
    /// Of a fault of one axis of the inertial sensor: which, 0 to 2 for x, y, z; a random one where
    /// absent.
    pub axis: Option<usize>,
    /// When it begins; with the trace where absent.
    pub from: Option<Moment>,
    /// How long it lasts, in seconds; to the end of the trace where absent.
    pub duration_s: Option<f64>,
}

impl Injection {
    /// A fault of the whole trace.
    pub fn of(kind: Kind) -> Self {
        Self { kind, axis: None, from: None, duration_s: None }
    }
}

/// Splits at the first `mark`, if there is one.
fn split(text: &str, mark: char) -> (&str, Option<&str>) {
    text.split_once(mark).map_or((text, None), |(before, after)| (before, Some(after)))
}

/// The axis of a fault as typed.
fn axis(kind: Kind, typed: &str) -> Result<usize, String> {
    if !faults::is_of_one_axis(kind) {
        let name = entry(kind).name;
        return Err(format!("{name} is no fault of one axis; leave out \":{typed}\""));
    }
    ["x", "y", "z"]
        .iter()
        .position(|axis| *axis == typed)
        .ok_or_else(|| format!("found the axis \"{typed}\", expected x, y or z"))
}

impl FromStr for Injection {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let (fault, time) = split(text, '@');
        let (name, typed_axis) = split(fault, ':');
        let kinds = || catalogue::TRACE_KINDS.into_iter();
        let kind = kinds().find(|kind| entry(*kind).name == name).ok_or_else(|| {
            let names: Vec<_> = kinds().map(|kind| entry(kind).name).collect();
            format!(
                "there is no fault \"{name}\", expected one of {}; `--inject list` explains them",
                names.join(", ")
            )
        })?;
        let axis = typed_axis.map(|typed| axis(kind, typed)).transpose()?;
        let Some(time) = time else { return Ok(Self { axis, ..Self::of(kind) }) };
        let (from, duration) = split(time, ',');
        let from = Some(from.parse()?);
        let duration_s = match duration.map(str::parse).transpose()? {
            None => None,
            Some(Moment::Trace(seconds)) if seconds > 0.0 => Some(seconds),
            Some(_) => {
                return Err(format!(
                    "found the duration \"{}\", expected seconds above zero",
                    duration.unwrap_or("")
                ));
            }
        };
        Ok(Self { kind, axis, from, duration_s })
    }
}

/// An injection that is under way.
pub struct Injected {
    kind: Kind,
    from: Option<Micros>,
    duration_s: Option<f64>,
    injector: Injector,
    seen: u64,
}

impl Injected {
    /// An injection that begins at `from` of the trace's time; `seed` gives its random numbers.
    pub fn new(injection: &Injection, from: Option<Micros>, seed: u64) -> Self {
        let Injection { kind, axis, duration_s, .. } = *injection;
        let mut injector = Injector::new(kind, axis, seed);
        if let Some(from) = from {
            injector.begins_at(from);
        }
        Self { kind, from, duration_s, injector, seen: 0 }
    }

    /// Writes the result for `sample` into `out`: nothing, itself, another, or several.
    pub fn pass(&mut self, sample: &Sample, out: &mut Vec<Sample>) {
        let from = *self.from.get_or_insert(sample.time);
        let since_s = sample.time.since(from).0 as f64 * 1e-6;
        let inside =
            since_s >= 0.0 && self.duration_s.is_none_or(|duration_s| since_s < duration_s);
        self.seen += u64::from(inside);
        self.injector.pass(inside.then_some(since_s), sample, out);
    }

    /// What was done, for the summary.
    pub fn note(&self) -> String {
        let Entry { name, injected, .. } = entry(self.kind);
        let samples = if self.seen == 1 { "sample" } else { "samples" };
        let drifted = self.injector.drifted().map_or(String::new(), |(pascals, metres)| {
            format!("; it came to {pascals:+.0} Pa, {metres:+.1} m of height")
        });
        let axis = self.injector.axis().map_or(String::new(), |axis| format!("; the {axis} axis"));
        format!("injected {name} into {} {samples}: {injected}{axis}{drifted}", self.seen)
    }
}

/// Several injections, one behind the other.
#[derive(Default)]
pub struct Chain {
    links: Vec<Injected>,
    samples: Vec<Sample>,
    spare: Vec<Sample>,
}

impl Chain {
    /// The injections in the order in which they were typed.
    pub fn new(links: Vec<Injected>) -> Self {
        Self { links, ..Self::default() }
    }

    /// The result for `sample`.
    pub fn pass<'a>(&'a mut self, sample: &'a Sample) -> &'a [Sample] {
        if self.links.is_empty() {
            return std::slice::from_ref(sample);
        }
        self.samples.clear();
        self.samples.push(*sample);
        for link in &mut self.links {
            self.spare.clear();
            for sample in &self.samples {
                link.pass(sample, &mut self.spare);
            }
            std::mem::swap(&mut self.samples, &mut self.spare);
        }
        &self.samples
    }

    /// What was done, a line an injection.
    pub fn notes(&self) -> impl Iterator<Item = String> {
        self.links.iter().map(Injected::note)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use chirrup_core::{
        Axes, GroundVelocity, Inertial, MetrePerSecond, MetrePerSecond2, Pascal, RadianPerSecond,
        Speed,
    };

    fn run(typed: &str, samples: &[Sample]) -> Vec<Sample> {
        let injection: Injection = typed.parse().expect("it is well typed");
        let from = injection.from.map(|from| match from {
            Moment::Trace(seconds) | Moment::Utc(seconds) => Micros((seconds * 1e6) as i64),
        });
        let mut chain = Chain::new(vec![Injected::new(&injection, from, 1)]);
        samples.iter().flat_map(|sample| chain.pass(sample).to_vec()).collect()
    }

    /// A pull of two and a half g.
    fn felt(n: i64) -> Inertial {
        let force = [0.5, 0.1, -25.0].map(|axis| MetrePerSecond2(axis + 0.01 * (n % 7) as f32));
        let turn = [0.1, 0.2, 0.3].map(|axis| RadianPerSecond(axis + 0.001 * (n % 5) as f32));
        let [x, y, z] = force;
        let specific_force = Axes { x, y, z };
        let [x, y, z] = turn;
        Inertial { specific_force, turn_rate: Axes { x, y, z }, spread: None }
    }

    fn over_ground(n: i64) -> GroundVelocity {
        let [north, east, down] = [20.0 + n as f32, 5.0, 1.0].map(MetrePerSecond);
        GroundVelocity { north, east, down, age: Micros(0) }
    }

    fn ten_seconds() -> Vec<Sample> {
        let sample = |n: i64| Sample {
            speed: Some(Speed::Dynamic(Pascal(400.0 + n as f32 % 7.0))),
            te_pressure: Some(Pascal(94_600.0 - n as f32)),
            inertial: Some(felt(n)),
            ground_velocity: (n % 10 == 0).then(|| over_ground(n)),
            ..Sample::of_static(Micros(n * 20_000), Pascal(95_000.0 - n as f32))
        };
        (0..500).map(sample).collect()
    }

    #[test]
    fn outside_its_time_an_injection_changes_nothing() {
        for kind in catalogue::TRACE_KINDS.into_iter().filter(|kind| *kind != Kind::TimerWrap) {
            let before = ten_seconds();
            let after = run(&format!("{}@4,2", entry(kind).name), &before);
            assert!(after[..200] == before[..200], "{kind:?} begins too soon");
            assert!(after[after.len() - 190..] == before[310..], "{kind:?} does not end");
            assert!(after != before, "{kind:?} does nothing");
        }
    }

    #[test]
    fn an_axis_that_is_typed_is_the_one_that_fails() {
        let before = ten_seconds();
        for (place, typed) in
            ["force-bias:x@4", "force-bias:y@4", "force-bias:z@4"].iter().enumerate()
        {
            let felt = |sample: &Sample| {
                sample.inertial.expect("it is there").specific_force.as_array().map(|it| it.0)
            };
            let (was, is) = (felt(&before[300]), felt(&run(typed, &before)[300]));
            for axis in 0..3 {
                assert_eq!(was[axis] == is[axis], axis != place, "{typed}: {was:?}, {is:?}");
            }
            let chain = Chain::new(vec![Injected::new(&typed.parse().expect("typed"), None, 1)]);
            let note = chain.notes().next().expect("there is one");
            assert!(note.ends_with(&format!("; the {} axis", ["x", "y", "z"][place])), "{note}");
        }
    }

    #[test]
    fn what_is_typed_wrong_says_what_to_type() {
        for (typed, part) in [
            ("gremlins", "there is no fault \"gremlins\", expected one of absent, "),
            ("frozen@noon", "found \"noon\", expected seconds"),
            ("frozen@10,0", "found the duration \"0\", expected seconds above zero"),
            ("frozen@10,x", "found \"x\""),
            ("frozen:x@10", "frozen is no fault of one axis; leave out \":x\""),
            ("gyro-stuck:w", "found the axis \"w\", expected x, y or z"),
        ] {
            let error = typed.parse::<Injection>().expect_err("it is wrong");
            assert!(error.contains(part), "{typed}: {error}");
        }
    }

    #[test]
    fn a_drift_says_how_far_it_came() {
        let injection: Injection = "drift@0".parse().expect("it is well typed");
        let mut chain = Chain::new(vec![Injected::new(&injection, None, 1)]);
        for n in 0..200 {
            chain.pass(&Sample::of_static(Micros(n * 1_000_000), Pascal(101_325.0)));
        }
        let note = chain.notes().next().expect("there is one");
        assert!(note.contains("it came to -150 Pa, +12.5 m of height"), "{note}");
    }
}
