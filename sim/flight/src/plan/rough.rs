//! Flights through rough air and the same in still air, to judge a reading by.
//!
//! All are variants of the built-in scenarios `rough-glide`, `rough-thermals` and `rough-entries`:
//! 50 Hz, 0.1 m and 1 Pa of noise, a total-energy probe. The seed of a flight gives its gusts and
//! its noise.

use super::scenario::Scenario;
use super::{Wrong, builtin, check};
use crate::air::settings::TurbulenceSettings;
use crate::physics::glider::Glider;

/// A flight.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
pub enum Rough {
    /// Straight on in gusts of 0.25 m/s rms, 150 m long.
    GlideWeak,
    /// Straight on in gusts of 0.5 m/s rms, 150 m long.
    Glide,
    /// Straight on in gusts of 1 m/s rms, 500 m long.
    GlideStrong,
    /// Straight on in still air.
    GlideCalm,
    /// Thermals, circles at 45 degrees, push-overs and pull-ups; gusts of 0.5 m/s, turbulence of
    /// 0.3 m/s rms up and down.
    Thermals,
    /// The same without gusts.
    ThermalsCalm,
    /// Thermals of 1 m/s crossed straight on, with edges of 1.5 s; gusts of 0.5 m/s, turbulence of
    /// 0.15 m/s rms up and down.
    EntriesWeak,
    /// The same of 2 m/s.
    Entries,
    /// Thermals of 2 m/s crossed in still air.
    EntriesCalm,
    /// Push-overs and pull-ups in still air, without thermals.
    PullUpsCalm,
}

impl Rough {
    /// All of them.
    pub const ALL: [Rough; 10] = [
        Self::GlideWeak,
        Self::Glide,
        Self::GlideStrong,
        Self::GlideCalm,
        Self::Thermals,
        Self::ThermalsCalm,
        Self::EntriesWeak,
        Self::Entries,
        Self::EntriesCalm,
        Self::PullUpsCalm,
    ];

    /// The scenario and its glider.
    ///
    /// # Errors
    /// A built-in scenario that is wrong, which a test excludes.
    pub fn scenario(self) -> Result<(Scenario, Glider), Wrong> {
        let name = match self {
            Self::GlideWeak | Self::Glide | Self::GlideStrong | Self::GlideCalm => "rough-glide",
            Self::Thermals | Self::ThermalsCalm | Self::PullUpsCalm => "rough-thermals",
            Self::EntriesWeak | Self::Entries | Self::EntriesCalm => "rough-entries",
        };
        let text = builtin::find(name).map_or("", |built_in| built_in.text);
        let (mut scenario, glider) = check::read(name, text)?;
        self.change(&mut scenario);
        Ok((scenario, glider))
    }

    fn change(self, scenario: &mut Scenario) {
        match self {
            Self::Glide | Self::Thermals | Self::Entries => {}
            Self::GlideWeak => scenario.turbulence = Some(gusts(0.25, 150.0)),
            Self::GlideStrong => scenario.turbulence = Some(gusts(1.0, 500.0)),
            Self::EntriesWeak => {
                scenario.thermal.iter_mut().for_each(|thermal| thermal.strength_mps = 1.0);
            }
            Self::GlideCalm | Self::ThermalsCalm | Self::EntriesCalm => scenario.turbulence = None,
            Self::PullUpsCalm => {
                scenario.turbulence = None;
                scenario.thermal.clear();
                scenario.leg.retain(|leg| leg.circle.is_none());
            }
        }
    }
}

fn gusts(rms_mps: f64, length_m: f64) -> TurbulenceSettings {
    TurbulenceSettings {
        gust_rms_mps: Some(rms_mps),
        gust_length_m: Some(length_m),
        ..TurbulenceSettings::default()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::flight::Flight;

    #[test]
    fn every_one_of_them_is_flown_to_its_end_in_the_air() {
        for rough in Rough::ALL {
            let (scenario, glider) = rough.scenario().expect("it is right");
            let mut flight = Flight::new(&scenario, glider, 2);
            while flight.advance().expect("it stays in the air") {}
            let lasts_s = flight.moment().time_s;
            let least_s = if rough == Rough::PullUpsCalm { 300.0 } else { 630.0 };
            assert!(lasts_s > least_s, "{rough:?} lasts {lasts_s} s");
        }
    }
}
