//! The climbs of a flight, counted as they end.

use crate::time::Clock;
use crate::units::Units;
use chirrup_core::Climb;
use serde::Serialize;

/// The number of climbs, their total gain, and the best one.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct Climbs {
    /// How many.
    pub count: u64,
    /// Energy height gained in all of them, to the highest point of each.
    pub gain_m: f64,
    /// Energy height gained in the best one.
    pub most_m: f64,
    /// Its average, to its highest point.
    pub most_average_mps: f64,
    /// How long it took to its highest point, in seconds.
    pub most_lasted_s: f64,
    /// The present one at its highest point so far.
    #[serde(skip)]
    present: Option<Climb>,
}

impl Climbs {
    /// Takes a reading's figures of the present climb.
    pub fn take(&mut self, climb: Option<Climb>) {
        match (climb, self.present) {
            (None, Some(_)) => self.end(),
            (Some(now), before) if before.is_none_or(|before| now.gain >= before.gain) => {
                self.present = Some(now)
            }
            _ => {}
        }
    }

    /// End of the trace: a climb under way counts, and figures are rounded like the rest of the
    /// summary.
    pub fn finish(&mut self) {
        self.end();
        for value in [
            &mut self.gain_m,
            &mut self.most_m,
            &mut self.most_average_mps,
            &mut self.most_lasted_s,
        ] {
            *value = (*value * 1e3).round() / 1e3;
        }
    }

    fn end(&mut self) {
        let Some(climb) = self.present.take() else { return };
        let gain_m = f64::from(climb.gain.0);
        self.count += 1;
        self.gain_m += gain_m;
        if gain_m > self.most_m {
            self.most_m = gain_m;
            self.most_average_mps = f64::from(climb.average.0);
            self.most_lasted_s = climb.lasted.0 as f64 * 1e-6;
        }
    }
}

impl Climbs {
    /// In words, in the pilot's units.
    pub fn in_units(&self, units: Units) -> String {
        let Self { count, gain_m, most_m, most_average_mps, most_lasted_s, .. } = self;
        let (most, average) = (units.height(*most_m), units.climb(*most_average_mps));
        let most = format!("{most} in {} at {average}", Clock(*most_lasted_s));
        match count {
            0 => "none".into(),
            1 => format!("one, {most}"),
            _ => format!("{count}, {} in all; the highest {most}", units.height(*gain_m)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use chirrup_core::{Metre, MetrePerSecond, Micros};

    fn climb(gain_m: f32, seconds: i64) -> Option<Climb> {
        let average = MetrePerSecond(gain_m / seconds as f32);
        Some(Climb { gain: Metre(gain_m), lasted: Micros(seconds * 1_000_000), average })
    }

    #[test]
    fn a_climb_counts_to_its_highest_point_and_the_last_one_counts_too() {
        let mut climbs = Climbs::default();
        for climb in
            [None, climb(20.0, 10), climb(100.0, 50), climb(90.0, 60), None, climb(30.0, 30)]
        {
            climbs.take(climb);
        }
        assert_eq!(climbs.in_units(Units::default()), "one, 100 m in 0:50 at +2.0 m/s");
        climbs.finish();
        assert_eq!(
            climbs.in_units(Units::default()),
            "2, 130 m in all; the highest 100 m in 0:50 at +2.0 m/s"
        );
        assert_eq!(Climbs::default().in_units(Units::default()), "none");
    }
}
