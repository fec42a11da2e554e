//! The complete path from a sample to a sound: the one file that uses every stage.
//!
//! ```text
//! sample -> clock -> air data -> energy height -> estimator -> netto, averages, altimeter
//!                                                     |
//!                       launch, netto, trouble -----> +-> sounder -> voice
//! ```
//!
//! [`Pipeline::step`] takes a sample when there is one; [`Pipeline::tick`] is called every
//! [`crate::sound::beep::TICK`] and returns what to sound until the next call. Neither can fail:
//! problems with a sample are reported in its [`Status`].
//!
//! A sample without a static pressure ([`Status::Partial`]) does not go through the stages: what
//! it brings is held for the next one that has one ([`crate::sensing::held`]).

use crate::air::air_data::AirData;
use crate::air::altimeter::Altimeter;
use crate::air::energy::{EnergyHeight, EnergySource};
use crate::air::static_line::StaticLineState;
use crate::air::tubes::TubesState;
use crate::error::SettingsError;
use crate::inertial::aiding::{Aiding, AidingState};
use crate::inertial::trust::Aided;
use crate::intake::{Intake, IntakeState, Measured};
use crate::motion::average::{AverageState, RunningAverage};
use crate::motion::channel::{Channel, Filters};
use crate::motion::climb::ClimbState;
use crate::motion::estimator::Estimate;
use crate::motion::launch::LaunchState;
use crate::motion::plain::PlainState;
use crate::motion::polar::Polar;
use crate::reading::{Netto, Reading, Status, Values};
use crate::rows::Group;
use crate::sensing::clock::Arrival;
use crate::sensing::sample::Sample;
use crate::settings::Settings;
use crate::sound::beep::{TICK, Voice};
use crate::sound::fault::Health;
use crate::sound::sounder::{Heard, Sounder, SounderState};
use crate::sound::tone::Sound;
use crate::units::{Metre, MetrePerSecond, Micros};

/// The time of an unusable sample is still used, but no further ahead than this (a guess).
const BELIEVED_OF_BAD_SAMPLES: Micros = Micros(10_000_000);
/// However slow the stream, a reading is stale after this: one sample in twenty seconds is the
/// slowest flight log (a guess). Without it, samples a year apart would sound for three years.
const STALE_AT_THE_LATEST: Micros = Micros(60_000_000);

/// The instrument with its settings.
#[derive(Clone, Debug, PartialEq)]
pub struct Pipeline {
    intake: Intake,
    altimeter: Altimeter,
    filters: Filters,
    aiding: Aiding,
    average: RunningAverage,
    polar: Option<Polar>,
    sounder: Sounder,
    stale_after: Micros,
    silent_until_launch: bool,
}

/// All state that the instrument keeps between samples.
#[derive(Clone, Debug, Default)]
pub struct PipelineState {
    intake: IntakeState,
    /// The vertical speed that sounds: of the energy height where there is one.
    channel: Channel,
    /// The altitude's own, beside a compensated one.
    plain: PlainState,
    aiding: AidingState,
    average: AverageState,
    climb: ClimbState,
    tubes: TubesState,
    static_line: StaticLineState,
    launch: LaunchState,
    sounder: SounderState,
    since_sample: Micros,
}

/// The filtered altitude and its rate, not compensated.
#[derive(Clone, Copy, Debug)]
struct Altitude {
    height: Metre,
    velocity: MetrePerSecond,
}

/// What the filters make of a sample.
#[derive(Clone, Copy, Debug)]
struct Found {
    altitude: Altitude,
    compensated: Estimate,
    aided: Option<Aided>,
}

impl Found {
    /// With the inertial reading in place of the pressures', as far as it is trusted.
    fn joined(mut self) -> Self {
        let aided = self.aided.filter(|aided| aided.weight > 0.0);
        if let Some((aided, felt)) = aided.and_then(|aided| Some((aided, aided.felt?))) {
            let joined = |ours: MetrePerSecond, theirs: MetrePerSecond| {
                MetrePerSecond(ours.0 + aided.weight * (theirs.0 - ours.0))
            };
            let (altitude, compensated) = (&mut self.altitude, &mut self.compensated);
            altitude.velocity = joined(altitude.velocity, felt.vertical_speed);
            compensated.velocity = joined(compensated.velocity, felt.climb);
            compensated.deviation = joined(compensated.deviation, felt.deviation);
        }
        self
    }
}

impl Settings {
    /// Checks every setting and builds the pipeline.
    ///
    /// # Errors
    /// The first setting that is out of its range or contradicts another, by name, with its value
    /// and what is accepted.
    pub fn build(&self) -> Result<Pipeline, SettingsError> {
        Pipeline::new(self)
    }
}

impl Pipeline {
    fn new(settings: &Settings) -> Result<Self, SettingsError> {
        settings.reading.check_ranges()?;
        settings.device.check_ranges()?;
        Ok(Self {
            intake: Intake::of(&settings.energy, settings.reading.scale)?,
            altimeter: Altimeter::new(&settings.altimeter)?,
            filters: Filters::of(&settings.filter)?,
            aiding: Aiding::of(&settings.inertial, &settings.energy)?,
            average: RunningAverage::of(&settings.average)?,
            polar: settings.polar.as_ref().map(Polar::new).transpose()?,
            sounder: Sounder::new(&settings.tone)?,
            stale_after: Micros((settings.reading.stale_after_s * 1.0e6) as i64),
            silent_until_launch: settings.tone.silent_until_launch,
        })
    }

    /// The tone law, to try it on its own.
    pub fn sounder(&self) -> &Sounder {
        &self.sounder
    }

    /// The stages before the filter, to try many filters on one flight.
    pub fn intake(&self) -> &Intake {
        &self.intake
    }

    /// The filters, to try them on their own.
    pub fn filters(&self) -> &Filters {
        &self.filters
    }

    /// Takes a sample and returns the reading.
    pub fn step(&self, state: &mut PipelineState, sample: &Sample) -> Reading {
        if sample.static_pressure.is_none() {
            return self.hold(state, sample);
        }
        let reading = self.take(state, sample);
        if let Some(health) = reading.status.health() {
            state.sounder.note(health);
        }
        reading
    }

    /// Takes a sample without a static pressure: its values are held for the next that has one.
    fn hold(&self, state: &mut PipelineState, sample: &Sample) -> Reading {
        let since_last = match state.intake.hold(sample) {
            Ok(since_last) => since_last,
            Err(status) => {
                state.sounder.note(Health::Bad);
                return passed_over(state, sample.time, status);
            }
        };
        let deviation = state.channel.deviation();
        self.aiding.step(&mut state.aiding, since_last, (sample, None), deviation);
        passed_over(state, sample.time, Status::Partial)
    }

    fn take(&self, state: &mut PipelineState, sample: &Sample) -> Reading {
        let taken = self.intake.take(&mut state.intake, sample);
        // By reference: it is a hundred bytes.
        let measured = match &taken {
            Ok(measured) => measured,
            Err(status) => return passed_over(state, sample.time, *status),
        };
        if measured.taken.restarted.is_some() {
            state.restart();
        }
        state.since_sample = Micros(0);
        // The inertial sensor goes by every sample, with or without a static pressure.
        let deviation = state.channel.deviation();
        let seen = (sample, Some(&measured.air));
        let aided = self.aiding.step(&mut state.aiding, measured.since_last, seen, deviation);
        self.read(state, sample.time, measured, aided)
    }

    /// Advances the sound by one [`TICK`] and returns what to sound until the next.
    pub fn tick(&self, state: &mut PipelineState) -> Voice {
        state.since_sample = Micros(state.since_sample.0.saturating_add(TICK.0));
        let stale = self.is_stale(state);
        self.sounder.tick(&mut state.sounder, stale)
    }

    /// As so many calls of [`Pipeline::tick`], quicker, for whoever needs the last voice alone.
    pub fn run(&self, state: &mut PipelineState, ticks: u32) -> Voice {
        let later = state.later_by(u64::from(ticks));
        if later > self.stale_after(state) {
            (0..ticks).for_each(|_| _ = self.tick(state));
        } else {
            state.since_sample = later;
            self.sounder.run(&mut state.sounder, ticks);
        }
        state.voice()
    }

    /// Lets the time of so many ticks pass unheard: readings go on as after so many calls of
    /// [`Pipeline::tick`], the voice stays as it is. For replays that nobody listens to.
    pub fn pass(&self, state: &mut PipelineState, ticks: u64) {
        state.since_sample = state.later_by(ticks);
        if ticks > 0 && self.is_stale(state) {
            state.sounder.fall_silent();
        }
    }

    /// Whether the sound is off and will stay off until the next sample.
    pub fn is_quiet(&self, state: &PipelineState) -> bool {
        self.is_stale(state) && !state.voice().gate && !self.sounder.may_call(&state.sounder)
    }

    /// How far time advances up to `sample`, as [`Pipeline::step`] will see it: zero for a repeated
    /// or backward sample, and limited for a bad sample far ahead, since whatever corrupted its
    /// pressure may have corrupted its time. One without a static pressure is far ahead where the
    /// sample before it, with or without one, is far behind.
    pub fn time_until(&self, state: &PipelineState, sample: &Sample) -> Micros {
        match state.intake.clock.judge(sample.time) {
            Arrival::After(elapsed) | Arrival::AfterGap(elapsed)
                if elapsed < BELIEVED_OF_BAD_SAMPLES || is_believed(state, sample) =>
            {
                elapsed
            }
            _ => Micros(0),
        }
    }

    /// Whether no sample with a static pressure has come for so long that the last reading is
    /// stale.
    pub fn is_stale(&self, state: &PipelineState) -> bool {
        state.since_sample > self.stale_after(state)
    }

    fn stale_after(&self, state: &PipelineState) -> Micros {
        let interval = state.intake.clock.usual_interval().0;
        // Sums: this is asked 500 times a second, and a small processor multiplies 64 bits slowly.
        let three_intervals = interval.saturating_add(interval).saturating_add(interval);
        Micros(self.stale_after.0.max(three_intervals.min(STALE_AT_THE_LATEST.0)))
    }

    fn read(
        &self,
        state: &mut PipelineState,
        time: Micros,
        measured: &Measured,
        aided: Option<Aided>,
    ) -> Reading {
        let Measured { elapsed, speed, air, energy, .. } = measured;
        let (elapsed, is_plain) = (*elapsed, energy.source == EnergySource::None);
        let before = state.channel.estimate().map(|estimate| estimate.velocity);
        let compensated = state.channel.step(&self.filters, &measured.taken.due);
        let altitude = if is_plain {
            state.plain = PlainState::default();
            Altitude { height: compensated.height, velocity: compensated.velocity }
        } else {
            self.plain(state, measured, &compensated, before)
        };
        let aided = aided.filter(|_| !is_plain);
        if measured.taken.frozen {
            state.sounder.fall_silent();
            state.average = AverageState::default();
            state.climb = ClimbState::default();
            state.plain = PlainState::default();
            return Reading { elapsed, ..passed_over(state, time, Status::Frozen) };
        }
        let doubtful = Doubtful {
            tubes: state.tubes.step(elapsed, *speed, air, altitude.height),
            static_line: state.static_line.step(elapsed, air),
            inertial: aided.is_some_and(|aided| aided.trust.is_fault()),
        };
        if compensated.settled {
            state.launch.step(elapsed, altitude.height, air.equivalent_airspeed());
        }
        let found = Found { altitude, compensated, aided }.joined();
        let values = self.values(state, measured, found);
        let status = measured.taken.status(&compensated).unwrap_or_else(|| doubtful.status(energy));
        Reading { time, status, elapsed, source: energy.source, values: Some(values) }
    }

    /// The altitude's own vertical speed, of a sample whose compensated one is `estimate`.
    fn plain(
        &self,
        state: &mut PipelineState,
        measured: &Measured,
        estimate: &Estimate,
        before: Option<MetrePerSecond>,
    ) -> Altitude {
        let dt_s = measured.taken.due.waited.unwrap_or_default().as_seconds();
        let response_s = self.filters.altitude.response_s();
        state.plain.step(response_s, dt_s, measured.air.altitude, estimate, before);
        let plain = &state.plain;
        Altitude { height: plain.height(), velocity: plain.velocity() }
    }

    #[inline(always)]
    fn values(
        &self,
        state: &mut PipelineState,
        Measured { air, energy, taken, .. }: &Measured,
        Found { altitude, compensated, aided }: Found,
    ) -> Values {
        let scaled = |speed: MetrePerSecond| MetrePerSecond(taken.scale * speed.0);
        let te_speed = (energy.source != EnergySource::None).then_some(compensated.velocity);
        let average =
            self.average.step(&mut state.average, state.intake.running, compensated.height);
        let climb = compensated
            .settled
            .then(|| state.climb.step(state.intake.running, compensated.height))
            .flatten();
        let load = aided.map_or(1.0, |aided| aided.load_factor());
        let netto = te_speed.and_then(|speed| self.netto(speed, load, air));

        let heard = Heard {
            climb: scaled(compensated.velocity),
            netto: netto.map(|netto| netto.air),
            speed_error: netto.map(|netto| netto.too_fast()),
            airspeed: air.equivalent_airspeed(),
        };
        let sound = self.sound(state, compensated.settled, heard);
        Values {
            altitude: air.altitude,
            altimeter: self.altimeter.shown(air.altitude),
            true_airspeed: air.true_airspeed,
            vertical_speed: scaled(altitude.velocity),
            te_vertical_speed: te_speed.map(scaled),
            deviation: scaled(compensated.deviation),
            inertial: aided.map(|aided| aided.scaled(taken.scale)),
            average: average.filter(|_| compensated.settled).map(scaled),
            climb: climb.map(|climb| climb.scaled(taken.scale)),
            netto,
            sound,
        }
    }

    fn netto(&self, te_vertical_speed: MetrePerSecond, load: f32, air: &AirData) -> Option<Netto> {
        let polar = self.polar.as_ref()?;
        let sink = polar.sink_under(load, air.true_airspeed?, air.density_ratio)?;
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
            self.sounder.read(&mut state.sounder, heard)
        } else {
            state.sounder.fall_silent();
            Sound::Silent
        }
    }
}

impl PipelineState {
    /// The present sound.
    pub fn voice(&self) -> Voice {
        self.sounder.voice()
    }

    /// Whether the glider has been launched and, where the airspeed is known, has not landed since.
    pub fn is_flying(&self) -> bool {
        self.launch.is_flying()
    }

    /// Mutes the sound for `time`, [`crate::sound::sounder::LONGEST_MUTE`] at most; zero ends a
    /// mute.
    pub fn mute_for(&mut self, time: Micros) {
        self.sounder.mute_for(time);
    }

    /// Remaining time of the mute.
    pub fn muted_for(&self) -> Micros {
        self.sounder.muted_for()
    }

    /// The time since the last sample, so many ticks from now.
    fn later_by(&self, ticks: u64) -> Micros {
        let passed = i64::try_from(ticks).unwrap_or(i64::MAX).saturating_mul(TICK.0);
        Micros(self.since_sample.0.saturating_add(passed))
    }

    /// Clears what depends on past heights; the clock and the gate continue.
    fn restart(&mut self) {
        self.channel.restart();
        self.plain = PlainState::default();
        self.aiding.restart();
        self.average = AverageState::default();
        self.climb = ClimbState::default();
        self.tubes.restart();
        self.static_line.restart();
    }
}

/// What the checks doubt.
struct Doubtful {
    tubes: bool,
    static_line: bool,
    inertial: bool,
}

impl Doubtful {
    /// The status of a good reading.
    fn status(&self, energy: &EnergyHeight) -> Status {
        if self.tubes {
            Status::CheckTubes
        } else if self.static_line {
            Status::CheckStatic
        } else if energy.held {
            Status::NoCompensation
        } else if self.inertial {
            Status::CheckInertial
        } else {
            Status::Ok
        }
    }
}

/// Whether a sample's time may be far after that of the last static pressure.
fn is_believed(state: &PipelineState, sample: &Sample) -> bool {
    let is_near = |elapsed: Micros| elapsed < BELIEVED_OF_BAD_SAMPLES;
    sample.has_usable_pressure()
        || sample.static_pressure.is_none()
            && state.intake.held.since_last(sample.time).is_some_and(is_near)
}

fn passed_over(state: &PipelineState, time: Micros, status: Status) -> Reading {
    Reading { time, status, elapsed: Micros(0), source: state.intake.source(), values: None }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::air::atmosphere::pressure_at;
    use crate::air::energy::EnergyChoice;
    use crate::motion::polar::PolarSettings;
    use crate::sensing::sample::Speed;
    use crate::sound::settings::SoundMode;
    use crate::units::{Kelvin, Pascal};
    use proptest::prelude::*;
    use std::format;
    use std::vec::Vec;

    const STEP_US: i64 = 20_000;

    fn default_pipeline() -> Pipeline {
        Settings::default().build().unwrap()
    }

    /// Any value that a broken sensor may give.
    fn any_pressure() -> impl Strategy<Value = f32> {
        prop_oneof![
            4 => 5_000.0..115_000.0_f32,
            2 => 89_000.0..91_000.0_f32,
            1 => prop::num::f32::ANY,
        ]
    }

    type Drawn = (i64, Option<f32>, Option<f32>, Option<f32>, Option<f32>);

    fn any_sample() -> impl Strategy<Value = Drawn> {
        let step =
            prop_oneof![8 => 0..200_000_i64, 1 => -5_000_000..20_000_000_i64, 1 => any::<i64>()];
        let some = || prop::option::of(any_pressure());
        let most = prop::option::weighted(0.9, any_pressure());
        (step, most, some(), some(), prop::option::of(prop::num::f32::ANY))
    }

    /// Every number in a reading.
    fn numbers(values: &Values) -> Vec<f32> {
        let Values { altitude, altimeter, vertical_speed, deviation, climb, netto, .. } = values;
        let speeds = [values.true_airspeed, values.te_vertical_speed, values.average];
        let mut numbers = std::vec![altitude.0, altimeter.0, vertical_speed.0, deviation.0];
        numbers.extend(speeds.into_iter().flatten().map(|speed| speed.0));
        if let Some(netto) = netto {
            numbers.extend([netto.air.0, netto.relative.0, netto.speed_to_fly.0]);
        }
        if let Some(climb) = climb {
            numbers.extend([climb.gain.0, climb.average.0]);
        }
        numbers
    }

    proptest! {
        #![proptest_config(ProptestConfig {
            failure_persistence: None,
            ..ProptestConfig::default()
        })]

        #[test]
        fn any_input_gives_only_numbers(
            samples in prop::collection::vec(any_sample(), 1..200),
            choice in 0..4_usize,
        ) {
            let mut settings =
                Settings { polar: Some(PolarSettings::default()), ..Settings::default() };
            settings.energy.choice = EnergyChoice::ALL[choice];
            let pipeline = settings.build().unwrap();
            let (mut state, mut time) = (PipelineState::default(), 0_i64);
            for (step, pressure, dynamic, te, air) in samples {
                time = time.wrapping_add(step);
                let mut sample = Sample::of_static(Micros(time), Pascal(0.0));
                sample.static_pressure = pressure.map(Pascal);
                sample.speed = dynamic.map(|dynamic| Speed::Dynamic(Pascal(dynamic - 89_000.0)));
                sample.te_pressure = te.map(Pascal);
                sample.outside_air = air.map(Kelvin);
                let until = pipeline.time_until(&state, &sample);
                prop_assert!(until >= Micros(0));
                let reading = pipeline.step(&mut state, &sample);
                if let Some(values) = reading.values {
                    prop_assert!(numbers(&values).into_iter().all(f32::is_finite), "{reading:?}");
                }
                for _ in 0..3 {
                    prop_assert!(pipeline.tick(&mut state).pitch.0.is_finite());
                }
            }
        }

        /// Climbs and sinks, airspeeds, dead sensors, pauses up to a fault call, and mutes.
        #[test]
        fn a_run_of_ticks_is_as_so_many_single_ones(
            parts in prop::collection::vec(
                (-6.0..6.0_f32, 20.0..60.0_f32, prop::option::weighted(0.1, 0..20_000_u32)),
                1..12,
            ),
            muted_ms in prop::option::of(0..3_000_i64),
            cruise in any::<bool>(),
        ) {
            let polar = cruise.then(PolarSettings::default);
            let mut settings = Settings { polar, ..Settings::default() };
            settings.tone.mode = if cruise { SoundMode::Netto } else { SoundMode::Climb };
            let pipeline = settings.build().unwrap();
            let (mut single, mut run) = (PipelineState::default(), PipelineState::default());
            let (mut time, mut height) = (Micros(0), Metre(800.0));
            for (climb_mps, tas_mps, pause) in parts {
                for step in 0..150 {
                    let ticks = if step == 149 { pause.unwrap_or(10) } else { 10 };
                    height = Metre(height.0 + 0.02 * climb_mps);
                    let dead = pause.is_some() && step > 100;
                    let pressure = if dead { Pascal(0.0) } else { pressure_at(height) };
                    let mut sample = Sample::of_static(time, pressure);
                    sample.speed = Some(Speed::True(MetrePerSecond(tas_mps)));
                    let readings =
                        [&mut single, &mut run].map(|state| pipeline.step(state, &sample));
                    prop_assert_eq!(readings[0], readings[1]);
                    (0..ticks).for_each(|_| _ = pipeline.tick(&mut single));
                    prop_assert_eq!(pipeline.run(&mut run, ticks), single.voice());
                    time = Micros(time.0 + TICK.0 * i64::from(ticks));
                }
                let [one, other] = [&single, &run].map(|state| format!("{:?}", state.sounder));
                prop_assert_eq!(one, other);
                prop_assert_eq!(single.since_sample, run.since_sample);
                if let Some(milliseconds) = muted_ms {
                    let mute = Micros(1_000 * milliseconds);
                    [&mut single, &mut run].into_iter().for_each(|state| state.mute_for(mute));
                }
            }
        }

        #[test]
        fn results_do_not_depend_on_the_origin_of_time(
            origin in -1_000_000_000_000_i64..1_000_000_000_000,
        ) {
            let run = |origin: i64| -> Vec<Reading> {
                let (pipeline, mut state) = (default_pipeline(), PipelineState::default());
                (0..300)
                    .map(|step| {
                        let height = Metre(700.0 + libm::sinf(step as f32 * 0.05));
                        let time = Micros(origin + step * STEP_US);
                        let sample = Sample::of_static(time, pressure_at(height));
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
                let bad = Sample { static_pressure: Some(Pascal(f32::NAN)), ..sample };
                assert_eq!(pipeline.step(&mut with, &bad).status, Status::BadPressure);
            }
            assert_eq!(pipeline.step(&mut with, &sample), pipeline.step(&mut without, &sample));
        }
    }

    /// A flight with an airspeed, 50 samples a second.
    fn with_speed(step: i64) -> Sample {
        let height = Metre(500.0 + libm::sinf(step as f32 * 0.03));
        let speed = MetrePerSecond(30.0 + libm::sinf(step as f32 * 0.05));
        let sample = Sample::of_static(Micros(step * STEP_US), pressure_at(height));
        Sample { speed: Some(Speed::True(speed)), ..sample }
    }

    /// Its airspeed alone, half an interval before.
    fn speed_alone(step: i64) -> Sample {
        let sample = with_speed(step);
        let time = Micros(sample.time.0 - STEP_US / 2);
        Sample { time, static_pressure: None, ..sample }
    }

    #[test]
    fn an_airspeed_in_a_sample_of_its_own_is_used_with_the_next_static_pressure() {
        let (pipeline, mut apart, mut together) =
            (default_pipeline(), PipelineState::default(), PipelineState::default());
        let mut last = None;
        for step in 0..1_000 {
            let before = pipeline.step(&mut apart, &speed_alone(step));
            assert_eq!((before.status, before.elapsed), (Status::Partial, Micros(0)));
            assert_eq!(before.values, None);
            let sample = with_speed(step);
            let bare = Sample { speed: None, ..sample };
            let reading = pipeline.step(&mut apart, &bare);
            assert_eq!(reading, pipeline.step(&mut together, &sample));
            last = reading.values;
        }
        assert!(last.is_some_and(|values| values.te_vertical_speed.is_some()));
    }

    #[test]
    fn samples_without_a_static_pressure_keep_no_reading_alive() {
        let (pipeline, mut state) = (default_pipeline(), PipelineState::default());
        for step in 0..1_000 {
            pipeline.step(&mut state, &with_speed(step));
        }
        for step in 1_000..2_000 {
            let sample = Sample { static_pressure: None, ..with_speed(step) };
            assert_eq!(pipeline.time_until(&state, &sample), Micros((step - 999) * STEP_US));
            let reading = pipeline.step(&mut state, &sample);
            assert_eq!(reading.status, Status::Partial);
            assert_eq!(pipeline.is_stale(&state), step > 1_100);
            (0..10).for_each(|_| _ = pipeline.tick(&mut state));
        }
        // The barometer is back after 20 s: that is a gap.
        assert_eq!(pipeline.step(&mut state, &with_speed(2_000)).status, Status::Gap);
    }

    #[test]
    fn a_sample_without_a_static_pressure_that_goes_back_in_time_is_not_used() {
        let (pipeline, mut state) = (default_pipeline(), PipelineState::default());
        for step in 0..100 {
            pipeline.step(&mut state, &with_speed(step));
        }
        let back = Sample { static_pressure: None, ..with_speed(50) };
        assert_eq!(pipeline.step(&mut state, &back).status, Status::TimeWentBack);
        // A sample of its own at the same time is another sensor's.
        let same = Sample { static_pressure: None, ..with_speed(99) };
        assert_eq!(pipeline.step(&mut state, &same).status, Status::Partial);
    }

    #[test]
    fn every_status_has_a_unique_name() {
        let mut names: Vec<_> = Status::ALL.iter().map(|status| status.name()).collect();
        names.sort_unstable();
        names.dedup();
        assert_eq!(names.len(), Status::ALL.len());
    }
}
