//! The phases of a flight, in which a reading is judged on its own.

use crate::recording::Recording;
use crate::recording::flight::Flight;
use crate::recording::series::Even;
use crate::recording::track::Track;
use crate::recording::truth::{GRID_S, Truth};
use serde::Serialize;

/// The last part before the landing, s, and how high above its place it begins at most, m (guesses:
/// a circuit takes three to five minutes from 200 to 300 m).
const PATTERN_S: f64 = 300.0;
const PATTERN_M: f64 = 300.0;
/// A turn through a whole circle takes a minute at most; whoever turns so fast for so long circles.
const CIRCLES_FROM_RADPS: f64 = std::f64::consts::TAU / 60.0;
const TURNS_OVER_S: f64 = 20.0;
/// Where turns are not recorded, whoever climbs on average over so long most likely circles.
const CLIMBS_OVER_S: f64 = 30.0;

/// A phase of a flight.
#[derive(Clone, Copy, Debug, Eq, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Phase {
    /// By winch or tow.
    Launch,
    /// In circles: by the recorded velocity over the ground; without one, where it climbs.
    Circling,
    /// Between them.
    Gliding,
    /// The circuit before the landing.
    Landing,
}

impl Phase {
    /// All of them, in the order of a flight.
    pub const ALL: [Phase; 4] = [Self::Launch, Self::Circling, Self::Gliding, Self::Landing];

    /// The word for it.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Launch => "launch",
            Self::Circling => "circling",
            Self::Gliding => "gliding",
            Self::Landing => "landing",
        }
    }
}

/// The phase at each moment of the truth's grid; `None` on the ground, where nothing is judged.
pub fn phases(recording: &Recording, track: &Track, truth: &Truth) -> Vec<Option<Phase>> {
    let flight = Flight::of(recording, track);
    let altitude = Even::of(&track.times_s, &track.altitude_m, 1.0);
    let circles = circling(recording, truth);
    let launched_s = flight
        .take_off_s
        .zip(flight.launch)
        .map(|(take_off_s, launch)| take_off_s + launch.lasts_s);
    let landing_m = flight.landing_s.map(|landing_s| altitude.at(landing_s));
    let phase = |(place, circles): (usize, bool)| {
        let time_s = truth.rate_mps.start_s + GRID_S * place as f64;
        let lands = flight.landing_s.zip(landing_m).is_some_and(|(landing_s, landing_m)| {
            time_s > landing_s - PATTERN_S && altitude.at(time_s) < landing_m + PATTERN_M
        });
        let is_on_ground = flight.take_off_s.is_some_and(|take_off_s| time_s < take_off_s)
            || flight.landing_s.is_some_and(|landing_s| time_s > landing_s);
        (!is_on_ground).then_some(match () {
            () if launched_s.is_some_and(|launched_s| time_s < launched_s) => Phase::Launch,
            () if lands => Phase::Landing,
            () if circles => Phase::Circling,
            () => Phase::Gliding,
        })
    };
    circles.into_iter().enumerate().map(phase).collect()
}

fn circling(recording: &Recording, truth: &Truth) -> Vec<bool> {
    let count = truth.rate_mps.values.len();
    if let Some(course_rad) = course(recording) {
        let turn = course_rad.rate().averaged(TURNS_OVER_S);
        let at = |place: usize| turn.at(truth.rate_mps.start_s + GRID_S * place as f64);
        return (0..count).map(|place| at(place).abs() > CIRCLES_FROM_RADPS).collect();
    }
    truth.rate_mps.averaged(CLIMBS_OVER_S).values.iter().map(|climb| *climb > 0.0).collect()
}

/// The course over the ground, unwrapped, once a second; `None` where most of it is not recorded.
fn course(recording: &Recording) -> Option<Even> {
    let (mut times_s, mut courses, mut before) = (Vec::new(), Vec::new(), None);
    for sample in recording.samples.iter() {
        let Some(velocity) = sample.usable_ground_velocity() else { continue };
        let course = f64::from(velocity.east.0).atan2(f64::from(velocity.north.0));
        let turned = before
            .map_or(0.0, |before: f64| (course - before).sin().atan2((course - before).cos()));
        courses.push(courses.last().copied().unwrap_or(0.0) + turned);
        times_s.push(sample.time.0 as f64 * 1e-6);
        before = Some(course);
    }
    let enough = courses.len() as f64 > 0.25 * recording.duration_s();
    enough.then(|| Even::of(&times_s, &courses, 1.0))
}

#[cfg(test)]
mod tests {
    use super::*;
    use chirrup_core::{GroundVelocity, Metre, MetrePerSecond, Micros, Sample, Speed, pressure_at};

    /// Ten minutes: straight on, two minutes of circles, straight on.
    #[test]
    fn circles_are_told_by_the_course_over_the_ground() {
        let mut recording = Recording::default();
        for second in 0..600 {
            let t = f64::from(second);
            let course = if (200.0..320.0).contains(&t) { (t - 200.0) * 0.3 } else { 0.0 };
            let speed = |value: f64| MetrePerSecond((25.0 * value) as f32);
            let velocity = GroundVelocity {
                north: speed(course.cos()),
                east: speed(course.sin()),
                down: MetrePerSecond(0.0),
                age: Micros(0),
            };
            let time = Micros(1_000_000 * i64::from(second));
            let pressure = pressure_at(Metre(1_500.0 - second as f32));
            recording.samples.push(Sample {
                speed: Some(Speed::True(MetrePerSecond(25.0))),
                ground_velocity: Some(velocity),
                ..Sample::of_static(time, pressure)
            });
        }
        let track = Track::of(&recording);
        let truth = Truth::of(&recording, &track, &chirrup_core::EnergySettings::default());
        let phases = phases(&recording, &track, &truth);
        assert_eq!(phases.len(), truth.rate_mps.values.len());
        let at = |time_s: usize| phases[5 * time_s];
        for time_s in [100, 180, 340, 500] {
            assert_eq!(at(time_s), Some(Phase::Gliding), "at {time_s} s");
        }
        for time_s in [220, 260, 300] {
            assert_eq!(at(time_s), Some(Phase::Circling), "at {time_s} s");
        }
    }
}
