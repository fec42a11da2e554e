//! A flight: the glider, its pilot and the air, tick by tick, from the first leg to the last.

use super::leg::How;
use super::pilot::Pilot;
use super::scenario::Scenario;
use super::view::View;
use crate::air::turbulence::{Law, Turbulence};
use crate::air::{Air, Sources};
use crate::physics::atmosphere::{Atmosphere, GRAVITY_MPS2, StillAir};
use crate::physics::attitude::{Attitude, Posture};
use crate::physics::glider::Glider;
use crate::physics::gust_response::{GustResponse, InGust};
use crate::physics::moment::Moment;
use crate::physics::motion::{Gust, Held, Motion, TICK_S};
use crate::physics::vector::Vector;

/// Deceleration of a rolling wheel, m/s2, and of its brake (guesses).
const ROLLING_MPS2: f64 = 0.3;
const BRAKING_MPS2: f64 = 2.0;
/// It leaves the ground at this multiple of its stalling speed.
const LIFT_OFF: f64 = 1.15;
/// Upper limit of the atmosphere model.
const HIGHEST_M: f64 = 20_000.0;
/// Turbulence fades out below this, so that a glider at rest stands in calm air.
const CALM_BELOW_M: f64 = 15.0;

/// How a flight can end before its last leg does.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
pub enum Mishap {
    /// It hits the ground on a leg that is not a landing.
    Ground,
    /// It rises above the atmosphere model, 20 km.
    Heaven,
}

/// Why a flight ended before its last leg did.
#[derive(Clone, Debug, PartialEq)]
pub struct Crash {
    /// What happened.
    pub mishap: Mishap,
    /// The leg's place in the scenario, the first being 0.
    pub leg: usize,
    /// When, s.
    pub time_s: f64,
}

/// Gusts along, across (to the right) and up, m/s, as they are met at a time in s.
pub type Gusts = fn(time_s: f64) -> [f64; 3];

/// Where gusts come from.
enum Rough {
    Dryden(Box<Turbulence>),
    Given(Gusts),
}

/// A flight in progress.
pub struct Flight<'a> {
    scenario: &'a Scenario,
    glider: Glider,
    air: Air,
    atmosphere: Atmosphere,
    rough: Option<Rough>,
    response: GustResponse,
    pilot: Pilot<'a>,
    motion: Motion,
    /// The lift that the pilot holds, without the answer to gusts, m/s2.
    held_lift_mps2: f64,
    held: Held,
    posture: Posture,
    smooth: Vector,
    motion_of_air: Vector,
    still: StillAir,
    is_on_ground: bool,
    tick: u64,
}

impl<'a> Flight<'a> {
    /// A flight at its start; `glider` is the scenario's.
    pub fn new(scenario: &'a Scenario, glider: Glider, seed: u64) -> Self {
        let start = &scenario.start;
        let air = Air::new(&Sources {
            wind: &scenario.wind,
            thermals: &scenario.thermal,
            streets: &scenario.street,
            ridge: scenario.ridge.as_ref(),
            wave: scenario.wave.as_ref(),
            ground_m: start.ground_m,
        });
        let atmosphere = Atmosphere {
            sea_level_pa: 100.0 * scenario.day.sea_level_hpa,
            sea_level_k: 273.15 + scenario.day.sea_level_c,
        };
        let is_on_ground = start.height_m.is_none();
        let up = start.height_m.unwrap_or(start.ground_m);
        let place = Vector { east: start.east_m, north: start.north_m, up };
        let heading = Vector::on_course(start.heading_deg.to_radians());
        let still = atmosphere.at(up);
        let motion_of_air = air.motion(place, 0.0);
        let airspeed = if is_on_ground { 0.0 } else { start.speed_mps * still.speed_ratio() };
        let velocity =
            if is_on_ground { Vector::default() } else { heading * airspeed + motion_of_air };
        let law = scenario.turbulence.as_ref().map(|settings| Law::new(settings, air.wind()));
        let mut flight = Self {
            rough: law.map(|law| Rough::Dryden(Box::new(Turbulence::new(law, seed)))),
            response: GustResponse::default(),
            pilot: Pilot::new(scenario, heading),
            scenario,
            glider,
            air,
            atmosphere,
            motion: Motion { place, velocity, lift: Vector::UP },
            held_lift_mps2: GRAVITY_MPS2,
            held: Held { lift_mps2: GRAVITY_MPS2, ..Held::default() },
            posture: Posture::new(Attitude::along(heading, Vector::UP), is_on_ground),
            smooth: motion_of_air,
            motion_of_air,
            still,
            is_on_ground,
            tick: 0,
        };
        flight.posture = Posture::new(flight.attitude(), is_on_ground);
        flight
    }

    /// The same flight through gusts of the caller's own in place of the scenario's turbulence.
    #[must_use]
    pub fn in_gusts(mut self, gusts: Gusts) -> Self {
        self.rough = Some(Rough::Given(gusts));
        self
    }

    /// The truth now.
    pub fn moment(&self) -> Moment<'a> {
        Moment {
            time_s: self.tick as f64 * TICK_S,
            place: self.motion.place,
            velocity: self.motion.velocity,
            air: self.motion_of_air,
            wind: self.smooth.level(),
            airspeed_mps: self.through_air().length(),
            still: self.still,
            attitude: self.posture.attitude(),
            load_factor: if self.is_on_ground { 1.0 } else { self.held.lift_mps2 / GRAVITY_MPS2 },
            phase: self.pilot.phase(),
        }
    }

    /// Advances by a tick; `false` when the last leg is over.
    ///
    /// # Errors
    /// The glider hit the ground on a leg that is not a landing, or rose above the atmosphere
    /// model.
    pub fn advance(&mut self) -> Result<bool, Crash> {
        let moment = self.moment();
        let view = View {
            moment: &moment,
            air_felt: self.air_felt(),
            motion: &self.motion,
            is_on_ground: self.is_on_ground,
            glider: &self.glider,
            air: &self.air,
        };
        let Some(held) = self.pilot.command(&view) else { return Ok(false) };
        self.held_lift_mps2 = held.lift_mps2;
        self.held = self.answered(held);
        let gust = Gust { before: self.motion_of_air, after: self.air_ahead(moment.time_s) };
        if self.is_on_ground {
            self.roll();
        } else {
            self.motion.advance(&self.glider, &self.held, &self.still, &gust);
        }
        self.motion_of_air = gust.after;
        self.tick += 1;
        self.meet_the_ground()?;
        self.still = self.atmosphere.at(self.motion.place.up);
        let attitude = self.attitude();
        self.posture.follow(&attitude, self.is_on_ground);
        Ok(true)
    }

    /// Legs that ended only by their time limit.
    pub fn overdue(&self) -> &[usize] {
        self.pilot.overdue()
    }

    fn through_air(&self) -> Vector {
        self.motion.velocity - self.motion_of_air
    }

    /// The air's motion as far as the pilot has noticed it, m/s.
    fn air_felt(&self) -> Vector {
        if self.rough.is_none() || self.is_on_ground {
            return self.motion_of_air;
        }
        self.smooth + self.response.felt()
    }

    /// Where the nose points, or will once the wheel has been off or on the ground for a second.
    fn attitude(&self) -> Attitude {
        if self.is_on_ground {
            let heading = self.motion.velocity.level().unit_or(self.pilot.heading());
            return Attitude::along(heading, Vector::UP);
        }
        let felt = self.motion.velocity - self.air_felt();
        let speed = felt.length();
        let per_radian = self.glider.lift_per_radian_mps2(speed / self.still.speed_ratio());
        let [up_rad, right_rad] = self.response.nose_rad(speed);
        Attitude::along(felt, self.motion.lift)
            .pitched(self.held_lift_mps2 / per_radian + up_rad)
            .yawed(right_rad)
    }

    /// The pilot's inputs with the glider's answer to the gust that it is in.
    fn answered(&mut self, held: Held) -> Held {
        if self.rough.is_none() || self.is_on_ground {
            return held;
        }
        let at = InGust {
            glider: &self.glider,
            motion: &self.motion,
            through_air: self.through_air(),
            speed_ratio: self.still.speed_ratio(),
            gust: self.motion_of_air - self.smooth,
        };
        self.response.answer(&held, &at)
    }

    fn ground_m(&self) -> f64 {
        self.scenario.start.ground_m
    }

    /// The air's motion where the glider will be at the end of the tick.
    fn air_ahead(&mut self, time_s: f64) -> Vector {
        let place = self.motion.place + self.motion.velocity * TICK_S;
        self.smooth = self.air.motion(place, time_s + TICK_S);
        let (through, above_m) = (self.through_air(), place.up - self.ground_m());
        // The way through the smooth air: a gust does not turn itself.
        let course = (self.motion.velocity - self.smooth).level().unit_or(Vector::on_course(0.0));
        let rough = match &mut self.rough {
            None => return self.smooth,
            Some(Rough::Dryden(turbulence)) => {
                turbulence.advance(through.length() * TICK_S, above_m, course)
            }
            Some(Rough::Given(gusts)) => {
                let [along, across, up] = gusts(time_s + TICK_S);
                course * along + course.cross(Vector::UP) * across + Vector::UP * up
            }
        };
        self.smooth + rough * (above_m / CALM_BELOW_M).clamp(0.0, 1.0)
    }

    /// A tick on the wheel.
    fn roll(&mut self) {
        let heading = self.motion.velocity.level().unit_or(self.pilot.heading());
        let braking = if self.pilot.how() == How::Land { BRAKING_MPS2 } else { ROLLING_MPS2 };
        let speed = self.motion.velocity.dot(heading);
        let faster = (speed + (self.held.pull.dot(heading) - braking) * TICK_S).max(0.0);
        self.motion.place += heading * (0.5 * (speed + faster) * TICK_S);
        self.motion.velocity = heading * faster;
        self.motion.lift = Vector::UP;
    }

    fn meet_the_ground(&mut self) -> Result<(), Crash> {
        if self.is_on_ground {
            let equivalent = self.through_air().length() / self.still.speed_ratio();
            let leaves = matches!(self.pilot.how(), How::Winch | How::Aerotow);
            self.is_on_ground = !(leaves && equivalent >= LIFT_OFF * self.glider.stall_mps);
        } else if self.motion.place.up < self.ground_m() {
            let lands = matches!(self.pilot.how(), How::Land | How::Winch | How::Aerotow);
            if !lands {
                return Err(self.crash(Mishap::Ground));
            }
            self.motion.place.up = self.ground_m();
            self.motion.velocity = self.motion.velocity.level();
            self.is_on_ground = true;
        }
        if self.motion.place.up > HIGHEST_M { Err(self.crash(Mishap::Heaven)) } else { Ok(()) }
    }

    fn crash(&self, mishap: Mishap) -> Crash {
        Crash { mishap, leg: self.pilot.leg(), time_s: self.tick as f64 * TICK_S }
    }
}
