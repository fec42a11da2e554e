//! Climb that sounds where there is none, in the part of a flight that counts.

use super::flown::Flown;
use super::heard::Heard;
use crate::false_climb::{FalseClimb, Sounding};

/// Counts the false climb of the times of which `counts` is true for their place in the flight.
pub fn false_climb(flown: &Flown, heard: &Heard, counts: impl Fn(usize) -> bool) -> FalseClimb {
    let counted = (0..flown.times_s.len()).filter(|place| counts(*place)).count();
    let lasts_s = match (flown.times_s.first(), flown.times_s.last()) {
        (Some(first_s), Some(last_s)) => last_s - first_s,
        _ => 0.0,
    };
    let step_s = lasts_s / (flown.times_s.len() as f64 - 1.0);
    let is_false = |from_s: f64| {
        let place = flown.times_s.partition_point(|time_s| *time_s < from_s);
        counts(place) && flown.truth_mps[place] < 0.0
    };
    let sounding = |(from_s, to_s): &(f64, f64)| Sounding {
        from_s: *from_s,
        to_s: *to_s,
        is_false: is_false(*from_s),
    };
    let sounds: Vec<Sounding> = heard.climbs_s.iter().map(sounding).collect();
    FalseClimb::of(&sounds, counted as f64 * step_s)
}

#[cfg(test)]
mod tests {
    use super::*;
    use chirrup_core::{Micros, Pascal, Sample};

    /// Ten minutes at 10 Hz, sinking but for the seconds 200 to 210.
    fn flown() -> Flown {
        let times_s: Vec<f64> = (1..=6000).map(|step| 0.1 * f64::from(step)).collect();
        let truth = |time_s: &f64| if (200.0..210.0).contains(time_s) { 1.0 } else { -1.0 };
        Flown {
            samples: vec![Sample::of_static(Micros(0), Pascal(9e4)); times_s.len()],
            truth_mps: times_s.iter().map(truth).collect(),
            circles: vec![false; times_s.len()],
            times_s,
        }
    }

    fn counted(climbs_s: &[(f64, f64)], counts: impl Fn(usize) -> bool) -> (f64, f64) {
        let heard = Heard { climbs_s: climbs_s.to_vec(), ..Heard::default() };
        let found = false_climb(&flown(), &heard, counts);
        (libm::round(found.beeps * 1e6) * 1e-6, libm::round(found.spells * 1e6) * 1e-6)
    }

    #[test]
    fn sounds_that_are_close_make_a_spell_and_short_ones_do_not() {
        let always = |_| true;
        assert_eq!(counted(&[(50.05, 50.95)], always), (1.0, 0.0));
        assert_eq!(counted(&[(50.05, 51.25)], always), (1.0, 1.0));
        // Three of 0.4 s, 0.4 s apart; and the same 0.6 s apart.
        assert_eq!(counted(&[(50.0, 50.4), (50.8, 51.2), (51.6, 52.0)], always), (3.0, 1.0));
        assert_eq!(counted(&[(50.0, 50.4), (51.0, 51.4), (52.0, 52.4)], always), (3.0, 0.0));
    }

    #[test]
    fn climb_that_is_true_is_not_false() {
        assert_eq!(counted(&[(200.55, 205.0), (300.0, 303.0)], |_| true), (1.0, 1.0));
        assert_eq!(counted(&[(199.0, 203.0)], |_| true), (1.0, 1.0));
    }

    #[test]
    fn what_counts_is_made_ten_minutes() {
        // Only the first half counts: what is in it counts twice.
        let half = |place: usize| place < 3000;
        assert_eq!(counted(&[(50.0, 53.0), (400.0, 403.0)], half), (2.0, 2.0));
    }
}
