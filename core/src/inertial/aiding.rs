//! The way of a sample: mounting, filter, judgement.

use super::axes::Axes;
use super::clipping::Clipping;
use super::filter::{Filter, Learnt};
use super::judgement::{Judgement, is_beyond_hope, is_whirling};
use super::mounting::Mounting;
use super::noise::Noise;
use super::receiver::Receiver;
use super::settings::{InertialChoice, InertialSettings};
use super::stuck::{Read, Stuck};
use super::trust::{Aided, Felt, Remark, Trust};
use super::vector::dot;
use crate::air::air_data::AirData;
use crate::air::energy::EnergySettings;
use crate::error::SettingsError;
use crate::sensing::inertial::Inertial;
use crate::sensing::sample::Sample;
use crate::units::{Kelvin, MetrePerSecond, Micros, Pascal};

/// Samples further apart than this are too few for the sensor (a guess).
const LONGEST_STEP_S: f32 = 0.3;
/// A sensor that repeats one set of six numbers for this long is dead: noise never does.
const FROZEN_S: f32 = 0.5;
/// What is worth a remark: a gain wrong by this share and known to that, and a force wrong by this,
/// m/s2; after this long, s (guesses).
const REMARKED_GAIN: f32 = 0.08;
const KNOWN_GAIN: f32 = 0.02;
const REMARKED_MPS2: f32 = 0.6;
const REMARK_S: f32 = 20.0;

/// The way with its settings.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Aiding {
    is_on: bool,
    given: Option<Mounting>,
    noise: Noise,
    /// Of the airspeed, this share counts.
    share: f32,
    static_late_s: f32,
    airspeed_late_s: f32,
}

/// All that is remembered from sample to sample.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct AidingState {
    /// There has been a sensor.
    is_there: bool,
    /// Time since the last sample with one, and for which it has repeated itself, s.
    waited_s: f32,
    repeated_s: f32,
    last: Option<Read>,
    stuck: Stuck,
    /// The last static pressure, outside temperature, height and airspeed.
    pressure: Option<Pascal>,
    outside: Option<Kelvin>,
    height: Option<f32>,
    airspeed: Option<f32>,
    clipping: Clipping,
    axes: Axes,
    filter: Option<Filter>,
    judgement: Judgement,
    learnt: Learnt,
    receiver: Receiver,
    trust: Trust,
    /// The last reading, while its weight falls.
    felt: Option<Felt>,
}

/// Height and airspeed of a sample.
#[derive(Clone, Copy, Debug)]
struct Pressures {
    /// The altitude, where it is new.
    height: Option<f32>,
    altitude: f32,
    airspeed: Option<f32>,
    /// Metres of the standard atmosphere for a true one.
    metre: f32,
}

impl Aiding {
    /// # Errors
    /// A setting out of range, or a mounting that cannot be.
    pub(crate) fn of(
        settings: &InertialSettings,
        energy: &EnergySettings,
    ) -> Result<Self, SettingsError> {
        Ok(Self {
            is_on: settings.choice == InertialChoice::Auto,
            given: settings.mounting()?,
            noise: Noise::USUAL,
            share: libm::sqrtf(energy.compensation_percent / 100.0),
            static_late_s: energy.static_delay_ms / 1.0e3,
            airspeed_late_s: energy.airspeed_delay_ms / 1.0e3,
        })
    }

    /// Takes a sample, `elapsed` after the one before, with the air data of those that have a
    /// static pressure, and the deviation of the pressures' own climb. `None` where there has not
    /// been a sensor, or the settings turn it off.
    pub(crate) fn step(
        &self,
        state: &mut AidingState,
        elapsed: Micros,
        (sample, air): (&Sample, Option<&AirData>),
        deviation: Option<MetrePerSecond>,
    ) -> Option<Aided> {
        let inertial = sample.usable_inertial();
        state.is_there |= inertial.is_some();
        if !self.is_on || !state.is_there {
            return None;
        }
        let pressures = self.pressures(state, sample, air)?;
        state.judgement.compare_with(deviation);
        let dt_s = elapsed.as_seconds();
        state.waited_s += dt_s;
        let trust = match inertial {
            Some(inertial) => {
                self.take(state, inertial, sample, &pressures).unwrap_or_else(|trust| {
                    state.filter = None;
                    trust
                })
            }
            None if state.waited_s > FROZEN_S => {
                state.filter = None;
                Trust::Lost
            }
            None => {
                if let Some(filter) = &mut state.filter {
                    // The filter stands where the sensor last was: the others are ahead of it.
                    let is_used = state.receiver.is_used();
                    self.see(filter, -state.waited_s, &pressures, sample, is_used);
                }
                state.trust
            }
        };
        if trust == Trust::Lost {
            state.axes.interrupt();
        }
        state.trust = trust;
        let weight = state.judgement.weigh(dt_s, trust);
        let now = state.filter.as_ref().map(|filter| felt(filter, pressures.metre));
        state.felt = now.or(state.felt.filter(|_| weight > 0.0));
        Some(Aided { felt: state.felt, trust, weight, remark: state.remark() })
    }

    /// Height and airspeed of a sample; without a static pressure, the airspeed at the last one.
    fn pressures(
        &self,
        state: &mut AidingState,
        sample: &Sample,
        air: Option<&AirData>,
    ) -> Option<Pressures> {
        let now = match air {
            Some(air) => *air,
            None => AirData::at(state.pressure?, &Sample { outside_air: state.outside, ..*sample }),
        };
        state.outside = sample.usable_outside_air().or(state.outside);
        state.pressure = Some(now.pressure);
        // What repeats itself is not new: the last value of a slow sensor may stand in every row.
        let height = air.and(Some(now.altitude.0)).filter(|height| state.height != Some(*height));
        state.height = height.or(state.height);
        let speed = sample.usable_speed().and(now.true_airspeed);
        let airspeed = speed.map(|speed| self.share * speed.0);
        state.airspeed = airspeed.or(state.airspeed);
        let metre = 1.0 / now.temperature_ratio;
        Some(Pressures { height, altitude: now.altitude.0, airspeed, metre })
    }

    /// Takes what the sensor felt since the last time.
    ///
    /// # Errors
    /// Why the filter must end.
    fn take(
        &self,
        state: &mut AidingState,
        inertial: &Inertial,
        sample: &Sample,
        pressures: &Pressures,
    ) -> Result<Trust, Trust> {
        let dt_s = core::mem::take(&mut state.waited_s);
        let read = (
            inertial.specific_force.as_array().map(|axis| axis.0),
            inertial.turn_rate.as_array().map(|axis| axis.0),
        );
        let before = state.last.replace(read);
        state.repeated_s = if before == Some(read) { state.repeated_s + dt_s } else { 0.0 };
        state.stuck.see(&read, before.as_ref());
        if state.repeated_s > FROZEN_S || state.stuck.is() || dt_s > LONGEST_STEP_S {
            // At the end of its range an axis repeats itself too.
            return Err(if state.clipping.is() { Trust::Clipped } else { Trust::Lost });
        }
        let is_at_rest = state.filter.as_ref().is_some_and(Filter::is_at_rest);
        let flow = state.filter.as_ref().map(Filter::flow);
        let felt = state.axes.body(self.given, dt_s, read, (state.airspeed, flow), is_at_rest);
        if felt.is_err() {
            state.learnt = Learnt::default();
        }
        let (force, turn) = felt?;
        let reads = (&read, before.as_ref());
        if state.stuck.turns_over((force, state.airspeed), dt_s, reads) {
            return Err(Trust::ForceReversed);
        }
        if is_whirling(turn) {
            state.axes.interrupt();
            return Err(Trust::Spinning);
        }
        let Some(airspeed) = state.airspeed else { return Ok(Trust::Settling) };
        if state.filter.is_none() && state.axes.waits_for_bank(airspeed) {
            return Ok(Trust::Settling);
        }
        let Some(filter) = &mut state.filter else {
            state.judgement.start();
            let altitude = pressures.altitude;
            let banked = (force, state.axes.bank());
            let filter = Filter::start_banked(&self.noise, banked, altitude, airspeed);
            state.filter = Some(filter.knowing(&state.learnt));
            return Ok(Trust::Settling);
        };
        let largest = inertial.spread.map(|spread| spread.largest_force.0);
        state.clipping.see(force, largest, filter.roughness_variance());
        if state.clipping.is() {
            return Err(Trust::Clipped);
        }
        let spread = inertial.spread.map_or(0.0, |spread| spread.force_deviation.0);
        filter.predict(&self.noise, (dt_s, pressures.metre), (force, spread), turn);
        self.see(filter, 0.0, pressures, sample, state.receiver.is_used());
        let energy_m = filter.energy(pressures.metre);
        filter.settle(&self.noise);
        let added_m = filter.energy(pressures.metre) - energy_m;
        state.judgement.pass(dt_s, airspeed, (added_m, filter.strain()));
        let trust = state.judgement.of(filter, turn, state.axes.shown());
        if trust == Trust::Shaken {
            state.axes.pause();
        }
        state.receiver.pass(dt_s, filter.gust);
        let is_lost = filter.is_lost();
        let must_end = is_beyond_hope(filter) || is_lost;
        let is_broken = must_end || state.judgement.is_broken();
        let is_wrong = is_broken || state.receiver.is_against_airspeed();
        if filter.refuses_ground() || (is_wrong && filter.knows_heading()) {
            state.receiver.drop();
            filter.leave_ground();
        }
        if !is_broken {
            if trust == Trust::Trusted {
                state.learnt = filter.learnt();
            }
            return Ok(trust);
        }
        if is_lost {
            // What it took with it on its way would lead the next one there too.
            state.learnt = Learnt::default();
        }
        let was_trusted = state.judgement.was_trusted();
        state.judgement.doubt();
        filter.doubt(&self.noise);
        if must_end || !was_trusted { Err(Trust::Contradicts) } else { Ok(Trust::Contradicts) }
    }

    /// Shows the filter what the other sensors say, `late_s` before the time it stands at; the
    /// velocity over the ground only if the receiver is used.
    fn see(
        &self,
        filter: &mut Filter,
        late_s: f32,
        pressures: &Pressures,
        sample: &Sample,
        uses_receiver: bool,
    ) {
        if let Some(height) = pressures.height {
            filter.see_height(height, late_s + self.static_late_s);
        }
        if let Some(airspeed) = pressures.airspeed {
            filter.see_airspeed(airspeed, late_s + self.airspeed_late_s);
        }
        let ground = sample.usable_ground_velocity().filter(|_| uses_receiver);
        if let Some(ground) = ground {
            let velocity = [ground.north.0, ground.east.0, ground.down.0];
            filter.see_ground(velocity, late_s + ground.age.as_seconds());
        }
    }
}

impl AidingState {
    /// After a gap: what is known of the sensor is kept.
    pub(crate) fn restart(&mut self) {
        self.judgement.restart();
        self.axes.interrupt();
        *self = Self {
            is_there: self.is_there,
            axes: self.axes,
            judgement: self.judgement,
            learnt: self.learnt,
            receiver: self.receiver,
            ..Self::default()
        };
    }

    /// What is odd about the sensor.
    fn remark(&self) -> Option<Remark> {
        let filter = self.filter.as_ref()?;
        let (gain, variance) = filter.gain_error();
        let force = filter.force_error();
        // A wrong gain of the force first: it bends what is found of the gyro's.
        if self.judgement.since_start_s() < REMARK_S {
            None
        } else if dot(force, force) > REMARKED_MPS2 * REMARKED_MPS2 {
            Some(Remark::ForceGain)
        } else {
            (gain.abs() > REMARKED_GAIN && variance < KNOWN_GAIN * KNOWN_GAIN)
                .then_some(Remark::GyroGain)
        }
    }
}

/// The filter's reading; `metre` is metres of the standard atmosphere for a true one.
fn felt(filter: &Filter, metre: f32) -> Felt {
    Felt {
        climb: MetrePerSecond(metre * filter.climb()),
        deviation: MetrePerSecond(metre * filter.deviation()),
        vertical_speed: MetrePerSecond(metre * filter.vertical_speed()),
        load_factor: filter.load_factor(),
        bank: filter.bank(),
    }
}

#[cfg(test)]
mod tests;
