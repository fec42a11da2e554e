//! What the filter expects of the next time step, from what is known of sensor and air.
//!
//! ```text
//! quiet density q    4 s^2 dt / T^4, which alone makes the reading T late; more where the air is
//!                    seen to change its climb, or is gusty
//! agile density      1.1 m2/s3 of energy height, 0.66 of altitude; more in gusts
//! walk r             that of the gusts, or of a burst just now
//! variance R         (coloured noise)^2 + what gusts add to a single height
//! ```

use crate::motion::gusts::{Air, QUICK_S, least_walk_m2ps};
use crate::motion::models::Expected;
use crate::units::{larger, smaller};

/// The adaptive filter multiplies the measured noise by up to this factor, more for closer samples.
/// Real sensor noise is not white: errors of samples within some hundredths of a second are
/// correlated, and without this a barometer at rest chirped once in half a minute
/// (tests/real_flights.rs).
const COLOURED: f32 = 0.4;
const COLOUR_S: f32 = 0.04;

/// The quiet filter's density for its lag alone is no more than this, however short the response.
const MOST_QUIET_M2PS3: f32 = 0.06;
/// How much of the measured walk is used.
const USED: ByFlight = ByFlight { gliding: 0.8, circling: 0.13 };
/// Densities of the acceleration as a share of the walk: gusty air changes its climb, too.
const GUSTY_PER_S2: ByFlight = ByFlight { gliding: 0.1, circling: 0.45 };
const GUSTY_AGILE_PER_S2: ByFlight = ByFlight { gliding: 0.24, circling: 0.25 };
/// The agile filter's density is at least this, 1.05 m/s per square root of a second; without total
/// energy less, where the stick is followed by violence instead.
const AGILE_M2PS3: f32 = 1.1;
const AGILE_ALTITUDE_M2PS3: f32 = 0.66;
/// The part of it that comes from gusts is no more than this.
const MOST_AGILE_M2PS3: f32 = 3.0;
/// Gusts have no edges: a height that walks is blurred over this time, and this share of a step.
const BLUR_S: ByFlight = ByFlight { gliding: 0.02, circling: 0.09 };
const STEP_BLUR: ByFlight = ByFlight { gliding: 0.87, circling: 0.31 };
/// A walk beyond that of any gusts is a disturbance, such as a radio's: each m2/s of it blurs by so
/// much more, at most by the last.
const WILD_M2PS: f32 = 1.5;
const WILD_S_PER_M2PS: f32 = 0.4;
const MOST_WILD_S: f32 = 0.4;
/// Without total energy the agile density may grow by this factor: a winch, a pull-up.
const MOST_VIOLENT: f32 = 100.0;
/// Longer steps blur no more than this, s.
const LONGEST_BLUR_S: f32 = 1.0;

/// What is known of sensor and air.
#[derive(Clone, Copy, Debug)]
pub(super) struct Outlook {
    pub(super) response_s: f32,
    /// Deviation of a measured height.
    pub(super) noise_m: f32,
    /// The noise was measured, so that it is that of single samples.
    pub(super) coloured: bool,
    pub(super) air: Air,
    /// The walk that a burst adds now, m2/s.
    pub(super) burst_m2ps: f32,
    /// The heights are of total energy.
    pub(super) compensated: bool,
}

/// A figure in a glide, and while the glider surely circles.
struct ByFlight {
    gliding: f32,
    circling: f32,
}

impl ByFlight {
    fn at(&self, circling: f32) -> f32 {
        self.gliding + circling * (self.circling - self.gliding)
    }
}

impl Outlook {
    /// What to expect of a time step of `dt_s`.
    pub(super) fn expected(&self, dt_s: f32) -> Expected {
        let Air { walk_m2ps, circling, .. } = self.air;
        let circling = if dt_s < QUICK_S { circling } else { 0.0 };
        let sigma_m = self.sigma_m(dt_s);
        let used_m2ps = walk_m2ps * USED.at(circling);
        let always_m2ps = least_walk_m2ps(self.noise_m);
        Expected {
            quiet_m2ps3: self.quiet_m2ps3(dt_s, sigma_m, used_m2ps, circling),
            agile_m2ps3: self.agile_m2ps3(used_m2ps, circling),
            walk_m2ps: larger(used_m2ps, self.burst_m2ps) + always_m2ps,
            measured_m2: sigma_m * sigma_m
                + (used_m2ps + always_m2ps) * blurred_s2(dt_s, used_m2ps, circling) / dt_s,
            most_violent: if self.compensated { 1.0 } else { MOST_VIOLENT },
        }
    }

    fn quiet_m2ps3(&self, dt_s: f32, sigma_m: f32, used_m2ps: f32, circling: f32) -> f32 {
        let squared_s2 = self.response_s * self.response_s;
        let lagging = 4.0 * sigma_m * sigma_m * dt_s / (squared_s2 * squared_s2);
        let gusty = GUSTY_PER_S2.at(circling) * used_m2ps;
        // Uncompensated, the stick changes the climb more than the air does.
        let moves = self.compensated || dt_s >= QUICK_S;
        let moving = if moves { self.air.acceleration_m2ps3 } else { 0.0 };
        larger(larger(smaller(lagging, MOST_QUIET_M2PS3), gusty), moving)
    }

    /// The agile filter's density, before violence.
    fn agile_m2ps3(&self, used_m2ps: f32, circling: f32) -> f32 {
        let least_m2ps3 = if self.compensated { AGILE_M2PS3 } else { AGILE_ALTITUDE_M2PS3 };
        let gusty_m2ps3 = GUSTY_AGILE_PER_S2.at(circling) * used_m2ps;
        larger(smaller(gusty_m2ps3, MOST_AGILE_M2PS3), least_m2ps3)
    }

    fn sigma_m(&self, dt_s: f32) -> f32 {
        let coloured = if self.coloured { COLOURED * COLOUR_S / (COLOUR_S + dt_s) } else { 0.0 };
        (1.0 + coloured) * self.noise_m
    }
}

/// Gusts have no edges: what they add to a height that walks, in the square of a time.
fn blurred_s2(dt_s: f32, used_m2ps: f32, circling: f32) -> f32 {
    let own_s = BLUR_S.at(circling);
    let step_s = STEP_BLUR.at(circling) * smaller(dt_s, LONGEST_BLUR_S);
    let wild_s = smaller(WILD_S_PER_M2PS * larger(used_m2ps - WILD_M2PS, 0.0), MOST_WILD_S);
    let own_s = larger(own_s, wild_s);
    own_s * own_s + step_s * step_s
}
