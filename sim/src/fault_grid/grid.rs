//! The sizes of each disturbance that are tried.

use super::effect::Trial;
use super::flight::Source;
use crate::inject::disturbance::Disturbance;

/// Both kinds of instrument.
pub const SOURCES: [Source; 2] = [Source::Static, Source::Airspeed];
/// 50 samples a second.
pub const USUAL_S: f64 = 0.02;

/// Bursts, 160 kinds: 5 strengths, 4 lengths, 4 intervals, either sign.
const BURSTS_PA: [f32; 5] = [5.0, 10.0, 20.0, 30.0, 50.0];
const BURSTS_LAST_S: [f32; 4] = [0.02, 0.05, 0.12, 0.4];
const BURSTS_EVERY_S: [f32; 4] = [0.5, 1.0, 2.0, 5.0];

/// Vents: the shift of the static pressure, and from one movement of the vent to the next.
const VENTS_PA: [f32; 2] = [20.0, 40.0];
const VENT_EVERY_S: f32 = 8.0;
/// Time constants with which the pressure follows a vent.
pub const VENT_RISES_S: [f32; 10] = [0.03, 0.05, 0.1, 0.2, 0.3, 0.5, 0.7, 1.0, 2.0, 3.0];

const STEPS_M: [f32; 6] = [8.0, 15.0, 30.0, 50.0, 120.0, 340.0];
const STARTS_M: [f32; 5] = [10.0, 30.0, 100.0, 300.0, 600.0];
const ICE_CLOSES_S: [f32; 3] = [5.0, 20.0, 60.0];

/// Both signs of each.
fn signed(sizes: &[f32]) -> impl Iterator<Item = f32> {
    sizes.iter().flat_map(|size| [*size, -*size])
}

/// The 160 kinds of burst.
pub fn bursts(source: Source) -> Vec<Trial> {
    let mut trials = Vec::new();
    for pa in signed(&BURSTS_PA) {
        for lasts_s in BURSTS_LAST_S {
            for every_s in BURSTS_EVERY_S {
                let bursts = Disturbance::Bursts { pa, lasts_s, every_s };
                trials.push(Trial::of(source, USUAL_S, bursts));
            }
        }
    }
    trials
}

/// Vents of a rise time, of either sign, in a compensated glide.
pub fn vents(rise_s: f32) -> Vec<Trial> {
    let vent = |pa| Disturbance::Vent { pa, rise_s, every_s: VENT_EVERY_S };
    signed(&VENTS_PA).map(|pa| Trial::of(Source::Airspeed, USUAL_S, vent(pa))).collect()
}

/// Steps of 8 to 340 m, up and down.
pub fn steps(interval_s: f64) -> Vec<Trial> {
    let of = |source| {
        signed(&STEPS_M)
            .map(move |metres| Trial::of(source, interval_s, Disturbance::Step { metres }))
    };
    SOURCES.into_iter().flat_map(of).collect()
}

/// One or two first samples wrong by 10 to 600 m, up or down.
pub fn starts(interval_s: f64) -> Vec<Trial> {
    let mut trials = Vec::new();
    for source in SOURCES {
        for metres in signed(&STARTS_M) {
            for samples in [1, 2] {
                let wrong = Disturbance::Wrong { metres, samples };
                trials.push(Trial { from_s: 0.0, ..Trial::of(source, interval_s, wrong) });
            }
        }
    }
    trials
}

/// One wrong sample by `sizes_m`, up or down.
pub fn spikes(interval_s: f64, sizes_m: &[f32]) -> Vec<Trial> {
    let of = |source| {
        signed(sizes_m).map(move |metres| {
            Trial::of(source, interval_s, Disturbance::Wrong { metres, samples: 1 })
        })
    };
    SOURCES.into_iter().flat_map(of).collect()
}

/// A barometer with steps of 4 Pa, a third of a metre.
pub fn coarse(interval_s: f64) -> Vec<Trial> {
    let of = |source| Trial::of(source, interval_s, Disturbance::Coarse { pa: 4.0 });
    SOURCES.map(of).to_vec()
}

/// A static line that ice closes for a minute and a half, and then opens.
pub fn static_ice() -> Vec<Trial> {
    ice(|closes_s| Disturbance::StaticIce { closes_s })
}

/// The same of the pitot line.
pub fn pitot_ice() -> Vec<Trial> {
    ice(|closes_s| Disturbance::PitotIce { closes_s })
}

fn ice(of: fn(f32) -> Disturbance) -> Vec<Trial> {
    let trial =
        |closes_s| Trial { lasts_s: 90.0, ..Trial::of(Source::Airspeed, USUAL_S, of(closes_s)) };
    ICE_CLOSES_S.map(trial).to_vec()
}
