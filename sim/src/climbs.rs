//! The climbs of a flight, counted as they end: in energy height as the instrument counts them, and
//! after the launch in plain height, which people read.

use crate::so_far::Flown;
use crate::time::Clock;
use crate::units::Units;
use chirrup_core::Climb;
use serde::Serialize;

/// The number of climbs, their total gain, and the best one.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
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
    /// Those after the launch, in plain height.
    #[serde(flatten)]
    pub after_launch: AfterLaunch,
    /// The present one at its highest point so far, and when that was, s.
    #[serde(skip)]
    present: Option<(Climb, f64)>,
    /// From when to when each was that is over, s.
    #[serde(skip)]
    spans: Vec<(f64, f64)>,
}

/// Climbs after the launch, in plain pressure height.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct AfterLaunch {
    /// How many.
    #[serde(rename = "count_after_launch")]
    pub count: u64,
    /// Height gained in all of them, m.
    pub height_gain_m: f64,
    /// Height gained in the highest one, m.
    pub most_height_gain_m: f64,
    /// Its mean, m/s.
    pub most_height_mean_mps: f64,
    /// How long it took, s.
    pub most_height_lasted_s: f64,
}

impl Climbs {
    /// Takes a reading's figures of the present climb at a time in seconds of the trace.
    pub fn take(&mut self, climb: Option<Climb>, time_s: f64) {
        match (climb, self.present) {
            (None, Some(_)) => self.end(),
            (Some(now), before) if before.is_none_or(|(before, _)| now.gain >= before.gain) => {
                self.present = Some((now, time_s))
            }
            _ => {}
        }
    }

    /// End of the trace: a climb under way counts, and figures are rounded like the rest of the
    /// summary. What was `flown` tells the launch and the heights.
    pub fn finish(&mut self, flown: &[Flown]) {
        self.end();
        self.after_launch = AfterLaunch::of(&self.spans, flown);
        for value in [
            &mut self.gain_m,
            &mut self.most_m,
            &mut self.most_average_mps,
            &mut self.most_lasted_s,
            &mut self.after_launch.height_gain_m,
            &mut self.after_launch.most_height_gain_m,
            &mut self.after_launch.most_height_mean_mps,
            &mut self.after_launch.most_height_lasted_s,
        ] {
            *value = (*value * 1e3).round() / 1e3;
        }
    }

    fn end(&mut self) {
        let Some((climb, to_s)) = self.present.take() else { return };
        self.spans.push((to_s - climb.lasted.0 as f64 * 1e-6, to_s));
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

impl AfterLaunch {
    fn of(spans: &[(f64, f64)], flown: &[Flown]) -> Self {
        let mut sum = Self::default();
        for &(from_s, to_s) in spans {
            let of = flown.iter().find(|flown| flown.has(to_s));
            let Some((from_s, gain_m)) = of.and_then(|flown| flown.gain(from_s, to_s)) else {
                continue;
            };
            sum.count += 1;
            sum.height_gain_m += gain_m;
            if gain_m > sum.most_height_gain_m {
                sum.most_height_gain_m = gain_m;
                sum.most_height_lasted_s = to_s - from_s;
                sum.most_height_mean_mps = gain_m / (to_s - from_s);
            }
        }
        sum
    }
}

impl Climbs {
    /// Those after the launch in words, in plain height and the pilot's units.
    pub fn in_units(&self, units: Units) -> String {
        let sum = &self.after_launch;
        let most = format!(
            "{} of height in {} at {}",
            units.height(sum.most_height_gain_m),
            Clock(sum.most_height_lasted_s),
            units.climb(sum.most_height_mean_mps)
        );
        match sum.count {
            0 => "none".into(),
            1 => format!("one, {most}"),
            count => {
                format!("{count}, {} in all; the highest {most}", units.height(sum.height_gain_m))
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::so_far::{Moment, SoFar};
    use chirrup_core::{Metre, MetrePerSecond, Micros};

    fn climb(gain_m: f32, seconds: i64) -> Option<Climb> {
        let average = MetrePerSecond(gain_m / seconds as f32);
        Some(Climb { gain: Metre(gain_m), lasted: Micros(seconds * 1_000_000), average })
    }

    #[test]
    fn a_climb_counts_to_its_highest_point_and_the_last_one_counts_too() {
        let mut climbs = Climbs::default();
        for (climb, time_s) in
            [None, climb(20.0, 10), climb(100.0, 50), climb(90.0, 60), None, climb(30.0, 30)]
                .into_iter()
                .zip([0.0, 10.0, 50.0, 60.0, 61.0, 120.0])
        {
            climbs.take(climb, time_s);
        }
        let mut so_far = SoFar::default();
        for second in 0..=120 {
            let time_s = f64::from(second);
            let altitude_m = 1.5 * time_s.min(50.0) + 0.5 * (time_s - 90.0).max(0.0);
            so_far.take(Moment { time_s, altitude_m, tas_mps: None, position: None, engine: None });
        }
        climbs.finish(&so_far.finish());
        assert_eq!((climbs.count, climbs.gain_m, climbs.most_m), (2, 130.0, 100.0));
        assert_eq!(
            climbs.in_units(Units::default()),
            "2, 90 m in all; the highest 75 m of height in 0:50 at +1.5 m/s"
        );
        assert_eq!(Climbs::default().in_units(Units::default()), "none");
    }
}
