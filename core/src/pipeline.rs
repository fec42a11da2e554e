//! The whole way from a sample to a sound: the one file that knows every stage.
//!
//! ```text
//! sample -> clock -> air data -> energy height -> estimator -> netto, averages, altimeter
//!                                                     |
//!                       launch, netto, trouble -----> +-> sounder (tone or cruise, gate, level) -> voice
//! ```
//!
//! [`Pipeline::step`] takes a sample when there is one; [`Pipeline::tick`] is called every
//! [`crate::beep::TICK`] and says what to sound until the next. Neither can fail: what was wrong
//! with a sample is its [`Status`].

use crate::air_data::AirData;
use crate::altimeter::Altimeter;
use crate::average::{AverageState, RunningAverage};
use crate::beep::{TICK, Voice};
use crate::climb::{Climb, ClimbState};
use crate::clock::{Arrival, ClockState};
use crate::energy::{Energy, EnergyHeight, EnergySource, EnergyState};
use crate::estimator::{Estimate, Estimator, EstimatorState};
use crate::fault::Health;
use crate::launch::LaunchState;
use crate::polar::Polar;
use crate::repeats::{Freshness, RepeatState};
use crate::sample::Sample;
use crate::settings::{Settings, VerticalScale};
use crate::sounder::{Heard, Sounder, SounderState};
use crate::tone::Sound;
use crate::tubes::TubesState;
use crate::units::{Metre, MetrePerSecond, Micros, Pascal};

/// A sample that cannot be used still tells the time, but no further ahead than this (a guess).
const BELIEVED_OF_BAD_SAMPLES: Micros = Micros(10_000_000);
/// However slow the stream, a reading is stale after this: one sample in twenty seconds is the
/// slowest flight log (a guess). Without it, samples a year apart would sound for three.
const STALE_AT_THE_LATEST: Micros = Micros(60_000_000);

/// The instrument as tuned; see [`Settings::build`].
#[derive(Clone, Debug, PartialEq)]
pub struct Pipeline {
    stages: Stages,
    scale: VerticalScale,
    estimator: Estimator,
    average: RunningAverage,
    stale_after: Micros,
    silent_until_launch: bool,
}

/// The stages whose settings can be wrong in more ways than one, checked.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Stages {
    pub(crate) energy: Energy,
    pub(crate) altimeter: Altimeter,
    pub(crate) polar: Option<Polar>,
    pub(crate) sounder: Sounder,
}

/// Everything the instrument remembers between samples.
#[derive(Clone, Debug, Default)]
pub struct PipelineState {
    clock: ClockState,
    energy: EnergyState,
    altitude: Channel,
    energy_height: Channel,
    /// Time that has passed in samples used, from any origin.
    running: Micros,
    average: AverageState,
    climb: ClimbState,
    tubes: TubesState,
    launch: LaunchState,
    sounder: SounderState,
    since_sample: Micros,
}

/// One height on its way to a vertical speed.
#[derive(Clone, Copy, Debug, Default)]
struct Channel {
    repeats: RepeatState,
    freshness: Freshness,
    /// Time since the filter was last stepped.
    waited: Micros,
    estimator: EstimatorState,
    estimate: Option<Estimate>,
}

impl Channel {
    /// Takes a height, `elapsed` after the one before, that was made from `pressure`; a pressure
    /// that is no new measurement leaves the estimate as it is.
    fn step(
        &mut self,
        estimator: &Estimator,
        elapsed: Micros,
        pressure: Pascal,
        height: Metre,
    ) -> Estimate {
        let was_frozen = self.freshness == Freshness::Frozen;
        self.freshness = self.repeats.step(elapsed, pressure);
        self.waited = Micros(self.waited.0.saturating_add(elapsed.0));
        match self.estimate {
            Some(estimate) if self.freshness != Freshness::Fresh => estimate,
            _ => {
                if was_frozen {
                    self.estimator.start_afresh();
                }
                let estimate = estimator.step(&mut self.estimator, self.waited, height);
                self.waited = Micros(0);
                *self.estimate.insert(estimate)
            }
        }
    }

    /// Forgets the past of the air, but not what is known of the sensor.
    fn start_afresh(&mut self) {
        self.estimator.start_afresh();
        self.estimate = None;
        self.waited = Micros(0);
    }
}

/// What became of a sample.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Status {
    /// Used, and the reading is good.
    Ok,
    /// Used, and the reading is still finding itself (after the start or a gap); silent.
    Settling,
    /// Passed over: the sensor repeats one value to the last bit, as no living sensor does; silent.
    Frozen,
    /// Held back: a lone spike, or the first sample of something new; the reading is as foretold.
    Suspect,
    /// Used; the source of total energy is missing, so that the reading follows the stick.
    NoCompensation,
    /// Used; the impact pressure says that the tubes are swapped, blocked or off, or that its
    /// sensor was not zeroed.
    CheckTubes,
    /// Used; the first after a gap, from which the reading starts afresh.
    Gap,
    /// Used; the clock was set back, and the reading starts afresh.
    ClockReset,
    /// Passed over: the static pressure is not a number or not the atmosphere's.
    BadPressure,
    /// Passed over: its time is that of the sample before.
    RepeatedTime,
    /// Passed over: its time is before that of the sample before.
    TimeWentBack,
}

impl Status {
    /// Every status, in the order in which tables list them.
    pub const ALL: [Status; 11] = [
        Status::Ok,
        Status::Settling,
        Status::Frozen,
        Status::Suspect,
        Status::NoCompensation,
        Status::CheckTubes,
        Status::Gap,
        Status::ClockReset,
        Status::BadPressure,
        Status::RepeatedTime,
        Status::TimeWentBack,
    ];

    /// One word for tables and logs.
    pub fn name(self) -> &'static str {
        match self {
            Status::Ok => "ok",
            Status::Settling => "settling",
            Status::Frozen => "frozen",
            Status::Suspect => "suspect",
            Status::NoCompensation => "no_compensation",
            Status::CheckTubes => "check_tubes",
            Status::Gap => "gap",
            Status::ClockReset => "clock_reset",
            Status::BadPressure => "bad_pressure",
            Status::RepeatedTime => "repeated_time",
            Status::TimeWentBack => "time_went_back",
        }
    }

    /// Whether the sample went into the reading and the reading is one to go by, compensated or
    /// not.
    pub fn is_good(self) -> bool {
        matches!(self, Status::Ok | Status::NoCompensation | Status::CheckTubes)
    }

    /// What it says of the instrument's health.
    pub fn health(self) -> Health {
        match self {
            Status::Ok | Status::NoCompensation | Status::CheckTubes => Health::Good,
            Status::Settling | Status::Gap | Status::ClockReset => Health::Unknown,
            Status::Frozen
            | Status::Suspect
            | Status::BadPressure
            | Status::RepeatedTime
            | Status::TimeWentBack => Health::Bad,
        }
    }

    /// Whether the sample went into the reading.
    pub fn is_used(self) -> bool {
        !matches!(
            self,
            Status::Frozen | Status::BadPressure | Status::RepeatedTime | Status::TimeWentBack
        )
    }
}

/// What the instrument says of one sample.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reading {
    /// The sample's own time stamp.
    pub time: Micros,
    /// What became of the sample.
    pub status: Status,
    /// Time since the last sample used; zero where the sample was passed over or everything started
    /// afresh.
    pub elapsed: Micros,
    /// The source of total energy in use.
    pub source: EnergySource,
    /// What the pressure says, where the sample was used.
    pub values: Option<Values>,
}

/// The figures of a reading.
///
/// Vertical speeds are in the standard atmosphere's metres, or true ones where the settings ask for
/// them and the air's temperature is known; netto and what follows from it are always true.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Values {
    /// Pressure altitude of the standard atmosphere, not filtered.
    pub altitude: Metre,
    /// What the altimeter shows with its subscale as set, not filtered.
    pub altimeter: Metre,
    /// True airspeed, where there is any airspeed.
    pub true_airspeed: Option<MetrePerSecond>,
    /// Rate of change of the altitude, filtered, not compensated.
    pub vertical_speed: MetrePerSecond,
    /// Rate of change of the energy height, filtered; `None` without a source of total energy.
    pub te_vertical_speed: Option<MetrePerSecond>,
    /// Standard deviation of the error of the vertical speed that sounds, as the filter believes.
    pub deviation: MetrePerSecond,
    /// Mean of the vertical speed that sounds over the set time; `None` until there is a mean worth
    /// showing.
    pub average: Option<MetrePerSecond>,
    /// The climb since it began; `None` outside climbs.
    pub climb: Option<Climb>,
    /// What the polar makes of it; `None` without a polar, without total energy, or below flying
    /// speed.
    pub netto: Option<Netto>,
    /// What sounds.
    pub sound: Sound,
}

/// What the polar makes of a compensated vertical speed and an airspeed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Netto {
    /// The air's own vertical speed: the compensated reading and the glider's own sink.
    pub air: MetrePerSecond,
    /// What the glider would climb at if it circled here: the air's less the sink in a turn of the
    /// set bank.
    pub relative: MetrePerSecond,
    /// Best equivalent airspeed towards the expected climb, in air such as this.
    pub speed_to_fly: MetrePerSecond,
    /// Equivalent airspeed now.
    pub equivalent_airspeed: MetrePerSecond,
}

impl Netto {
    /// How much faster than the speed to fly; negative where too slow.
    pub fn too_fast(&self) -> MetrePerSecond {
        MetrePerSecond(self.equivalent_airspeed.0 - self.speed_to_fly.0)
    }
}

impl Values {
    /// The vertical speed that sounds: compensated where there is a source of total energy.
    pub fn sounded(&self) -> MetrePerSecond {
        self.te_vertical_speed.unwrap_or(self.vertical_speed)
    }
}

impl Pipeline {
    /// Wires the stages; [`Settings::build`] has checked the settings.
    pub(crate) fn new(settings: &Settings, stages: Stages) -> Self {
        let noise_m = (settings.noise_m != 0.0).then_some(settings.noise_m);
        Self {
            stages,
            scale: settings.vertical_speed,
            estimator: Estimator::new(settings.filter, settings.response_s, noise_m),
            average: RunningAverage::new(settings.average_s),
            stale_after: Micros((settings.stale_after_s * 1.0e6) as i64),
            silent_until_launch: settings.tone.silent_until_launch,
        }
    }

    /// Takes a sample and gives the reading.
    pub fn step(&self, state: &mut PipelineState, sample: &Sample) -> Reading {
        let reading = self.take(state, sample);
        state.sounder.note(reading.status.health());
        reading
    }

    fn take(&self, state: &mut PipelineState, sample: &Sample) -> Reading {
        if !sample.has_usable_pressure() {
            return passed_over(state, sample.time, Status::BadPressure);
        }
        let (elapsed, afresh) = match state.clock.step(sample.time) {
            Arrival::Repeated => return passed_over(state, sample.time, Status::RepeatedTime),
            Arrival::Backward => return passed_over(state, sample.time, Status::TimeWentBack),
            Arrival::First => (Micros(0), None),
            Arrival::After(elapsed) => (elapsed, None),
            Arrival::AfterGap(elapsed) => (elapsed, Some(Status::Gap)),
            Arrival::ClockReset => (Micros(0), Some(Status::ClockReset)),
        };
        if afresh.is_some() {
            state.start_afresh();
        }
        state.since_sample = Micros(0);
        state.running = Micros(state.running.0.saturating_add(elapsed.0));
        self.read(state, sample, elapsed, afresh)
    }

    /// Advances the sound by one [`TICK`] and says what to sound until the next.
    pub fn tick(&self, state: &mut PipelineState) -> Voice {
        state.since_sample = Micros(state.since_sample.0.saturating_add(TICK.0));
        let stale = self.is_stale(state);
        self.stages.sounder.tick(&mut state.sounder, stale)
    }

    /// Whether nothing sounds and nothing will before the next sample.
    pub fn is_quiet(&self, state: &PipelineState) -> bool {
        self.is_stale(state) && !state.voice().gate && !self.stages.sounder.may_call(&state.sounder)
    }

    /// How far time goes on until `sample`, as [`Pipeline::step`] will judge it: not at all for one
    /// that goes back or is repeated, and not to the time of a bad one far ahead, since whatever
    /// spoilt its pressure may have spoilt its time.
    pub fn time_until(&self, state: &PipelineState, sample: &Sample) -> Micros {
        match state.clock.judge(sample.time) {
            Arrival::After(elapsed) | Arrival::AfterGap(elapsed)
                if sample.has_usable_pressure() || elapsed < BELIEVED_OF_BAD_SAMPLES =>
            {
                elapsed
            }
            _ => Micros(0),
        }
    }

    /// Whether no sample has come for so long that the last reading means nothing any more.
    pub fn is_stale(&self, state: &PipelineState) -> bool {
        let three_intervals =
            state.clock.usual_interval().0.saturating_mul(3).min(STALE_AT_THE_LATEST.0);
        state.since_sample.0 > self.stale_after.0.max(three_intervals)
    }

    fn read(
        &self,
        state: &mut PipelineState,
        sample: &Sample,
        elapsed: Micros,
        afresh: Option<Status>,
    ) -> Reading {
        let air = AirData::of(sample);
        let energy = self.stages.energy.step(
            &mut state.energy,
            state.running,
            &air,
            sample.usable_te_pressure(),
        );
        let energy_pressure = match energy.source {
            EnergySource::Probe => sample.usable_te_pressure().unwrap_or(sample.static_pressure),
            _ => sample.static_pressure,
        };
        let altitude =
            state.altitude.step(&self.estimator, elapsed, sample.static_pressure, air.altitude);
        let compensated = if energy.source == EnergySource::None {
            // The energy height is the altitude, and two filters would say the same: half the work
            // of a sample.
            state.energy_height = state.altitude;
            altitude
        } else {
            state.energy_height.step(&self.estimator, elapsed, energy_pressure, energy.height)
        };
        if state.energy_height.freshness == Freshness::Frozen {
            state.sounder.fall_silent();
            state.average = AverageState::default();
            state.climb = ClimbState::default();
            return Reading { elapsed, ..passed_over(state, sample.time, Status::Frozen) };
        }
        let doubtful = state.tubes.step(elapsed, sample, &air, altitude.height);
        if altitude.settled {
            state.launch.step(elapsed, altitude.height, air.equivalent_airspeed());
        }
        let values = self.values(state, &air, energy.source, altitude, compensated);
        let status = afresh.unwrap_or_else(|| status_of(energy, compensated, doubtful));
        Reading { time: sample.time, status, elapsed, source: energy.source, values: Some(values) }
    }

    fn values(
        &self,
        state: &mut PipelineState,
        air: &AirData,
        source: EnergySource,
        altitude: Estimate,
        compensated: Estimate,
    ) -> Values {
        let scale = match self.scale {
            VerticalScale::Standard => 1.0,
            VerticalScale::Corrected => air.temperature_ratio,
        };
        let scaled = |speed: MetrePerSecond| MetrePerSecond(scale * speed.0);
        let te_speed = (source != EnergySource::None).then_some(compensated.velocity);
        let average = self.average.step(&mut state.average, state.running, compensated.height);
        let climb = compensated
            .settled
            .then(|| state.climb.step(state.running, compensated.height))
            .flatten();
        let netto = te_speed.and_then(|speed| self.netto(speed, air));
        let heard = Heard {
            climb: scaled(compensated.velocity),
            netto: netto.map(|netto| netto.air),
            speed_error: netto.map(|netto| netto.too_fast()),
        };
        let sound = self.sound(state, compensated.settled, heard);
        Values {
            altitude: air.altitude,
            altimeter: self.stages.altimeter.shown(air.altitude),
            true_airspeed: air.true_airspeed,
            vertical_speed: scaled(altitude.velocity),
            te_vertical_speed: te_speed.map(scaled),
            deviation: scaled(compensated.deviation),
            average: average.filter(|_| compensated.settled).map(scaled),
            climb: climb.map(|climb| climb.scaled(scale)),
            netto,
            sound,
        }
    }

    fn netto(&self, te_vertical_speed: MetrePerSecond, air: &AirData) -> Option<Netto> {
        let polar = self.stages.polar.as_ref()?;
        let sink = polar.sink(air.true_airspeed?, air.density_ratio)?;
        let rise = MetrePerSecond(air.temperature_ratio * te_vertical_speed.0 + sink.0);
        Some(Netto {
            air: rise,
            relative: MetrePerSecond(rise.0 - polar.circling_sink(air.density_ratio).0),
            speed_to_fly: polar.speed_to_fly(rise, air.density_ratio),
            equivalent_airspeed: air.equivalent_airspeed()?,
        })
    }

    fn sound(&self, state: &mut PipelineState, settled: bool, heard: Heard) -> Sound {
        if settled && (state.launch.is_flying() || !self.silent_until_launch) {
            self.stages.sounder.read(&mut state.sounder, heard)
        } else {
            state.sounder.fall_silent();
            Sound::Silent
        }
    }
}

impl PipelineState {
    /// What is sounding now.
    pub fn voice(&self) -> Voice {
        self.sounder.voice()
    }

    /// Says nothing for `time`, [`crate::sounder::LONGEST_MUTE`] at most; zero ends a mute.
    pub fn mute_for(&mut self, time: Micros) {
        self.sounder.mute_for(time);
    }

    /// How much longer nothing is said.
    pub fn muted_for(&self) -> Micros {
        self.sounder.muted_for()
    }

    /// Whether the glider has been launched, by the rule of [`crate::launch`].
    pub fn is_flying(&self) -> bool {
        self.launch.is_flying()
    }

    /// Forgets the past of the air; the clock and the gate go on.
    fn start_afresh(&mut self) {
        self.altitude.start_afresh();
        self.energy.start_afresh();
        self.energy_height.start_afresh();
        self.average = AverageState::default();
        self.climb = ClimbState::default();
        self.tubes.start_afresh();
    }
}

fn status_of(energy: EnergyHeight, estimate: Estimate, doubtful_tubes: bool) -> Status {
    if !estimate.settled {
        Status::Settling
    } else if estimate.suspect {
        Status::Suspect
    } else if doubtful_tubes {
        Status::CheckTubes
    } else if energy.held {
        Status::NoCompensation
    } else {
        Status::Ok
    }
}

fn passed_over(state: &PipelineState, time: Micros, status: Status) -> Reading {
    Reading { time, status, elapsed: Micros(0), source: state.energy.source(), values: None }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::atmosphere::pressure_at;
    use crate::energy::EnergyChoice;
    use crate::sample::Speed;
    use crate::units::Kelvin;
    use proptest::prelude::*;
    use std::vec::Vec;

    const STEP_US: i64 = 20_000;

    fn default_pipeline() -> Pipeline {
        Settings::default().build().unwrap()
    }

    /// Whatever a broken sensor may say.
    fn any_pressure() -> impl Strategy<Value = f32> {
        prop_oneof![
            4 => 5_000.0..115_000.0_f32,
            2 => 89_000.0..91_000.0_f32,
            1 => prop::num::f32::ANY,
        ]
    }

    fn any_sample() -> impl Strategy<Value = (i64, f32, Option<f32>, Option<f32>, Option<f32>)> {
        let step =
            prop_oneof![8 => 0..200_000_i64, 1 => -5_000_000..20_000_000_i64, 1 => any::<i64>()];
        let some = || prop::option::of(any_pressure());
        (step, any_pressure(), some(), some(), prop::option::of(prop::num::f32::ANY))
    }

    proptest! {
        #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

        #[test]
        fn whatever_comes_in_only_numbers_come_out(samples in prop::collection::vec(any_sample(), 1..200), choice in 0..4) {
            let energy = [EnergyChoice::None, EnergyChoice::Electronic, EnergyChoice::Probe, EnergyChoice::Auto];
            let polar = Some(crate::settings::PolarSettings::default());
            let settings = Settings { energy: energy[choice as usize], polar, ..Settings::default() };
            let pipeline = settings.build().unwrap();
            let (mut state, mut time) = (PipelineState::default(), 0_i64);
            for (step, pressure, dynamic, te, air) in samples {
                time = time.wrapping_add(step);
                let mut sample = Sample::of_static(Micros(time), Pascal(pressure));
                sample.speed = dynamic.map(|dynamic| Speed::Dynamic(Pascal(dynamic - 89_000.0)));
                sample.te_pressure = te.map(Pascal);
                sample.outside_air = air.map(Kelvin);
                let until = pipeline.time_until(&state, &sample);
                prop_assert!(until >= Micros(0));
                let reading = pipeline.step(&mut state, &sample);
                if let Some(values) = reading.values {
                    let Values {
                        altitude, altimeter, true_airspeed, vertical_speed, te_vertical_speed, deviation, average, climb, netto, ..
                    } = values;
                    let speeds = [true_airspeed, te_vertical_speed, average].map(|speed| speed.map_or(0.0, |speed| speed.0));
                    let of_netto = netto.map_or([0.0; 3], |netto| [netto.air.0, netto.relative.0, netto.speed_to_fly.0]);
                    let of_climb = climb.map_or([0.0; 2], |climb| [climb.gain.0, climb.average.0]);
                    let all = [altitude.0, altimeter.0, vertical_speed.0, deviation.0].into_iter();
                    let all = all.chain(speeds).chain(of_netto).chain(of_climb);
                    prop_assert!(all.into_iter().all(f32::is_finite), "{reading:?}");
                }
                for _ in 0..3 {
                    prop_assert!(pipeline.tick(&mut state).pitch.0.is_finite());
                }
            }
        }

        #[test]
        fn the_origin_of_time_does_not_matter(origin in -1_000_000_000_000_i64..1_000_000_000_000) {
            let run = |origin: i64| -> Vec<Reading> {
                let (pipeline, mut state) = (default_pipeline(), PipelineState::default());
                (0..300)
                    .map(|step| {
                        let height = Metre(700.0 + libm::sinf(step as f32 * 0.05));
                        let sample = Sample::of_static(Micros(origin + step * STEP_US), pressure_at(height));
                        Reading { time: Micros(0), ..pipeline.step(&mut state, &sample) }
                    })
                    .collect()
            };
            prop_assert_eq!(run(origin), run(0));
        }
    }

    #[test]
    fn a_bad_sample_changes_nothing_but_its_own_reading() {
        let (pipeline, mut with, mut without) =
            (default_pipeline(), PipelineState::default(), PipelineState::default());
        for step in 0..500 {
            let sample = Sample::of_static(
                Micros(step * STEP_US),
                pressure_at(Metre(500.0 + step as f32 * 0.03)),
            );
            if step % 7 == 3 {
                let bad = Sample { static_pressure: Pascal(f32::NAN), ..sample };
                assert_eq!(pipeline.step(&mut with, &bad).status, Status::BadPressure);
            }
            assert_eq!(pipeline.step(&mut with, &sample), pipeline.step(&mut without, &sample));
        }
    }

    #[test]
    fn every_status_has_a_name_of_its_own() {
        let mut names: Vec<_> = Status::ALL.iter().map(|status| status.name()).collect();
        names.sort_unstable();
        names.dedup();
        assert_eq!(names.len(), Status::ALL.len());
    }
}
