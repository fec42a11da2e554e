//! The game "Find the core": its calls, the numbers of a moment, and the result as text.
//!
//! The result, one record a line with fields separated by tabs; metres are east and north of the
//! thermal's middle, which moves:
//!
//! ```text
//! score   seed  round  share  climb  best  seconds to centred, or nothing  did  correlation
//! thermal shape  its way in the three minutes, m east  north
//! best    east  north  radius
//! turn    from s  to s  east  north  climb  off, m  right (1 or 0)
//! path    s,east,north,climb  for every 0.2 s, separated by blanks
//! field   reach m  points on a side  rise in m/s, row by row from the south, separated by blanks
//! ```

use crate::{Desk, with_desk};
use chirrup::hunt::field;
use chirrup::hunt::round::{Phase, Round};
use chirrup::hunt::score::Score;
use chirrup::hunt::turns::{Turn, one_after_the_other};

/// How many numbers there are.
pub const LENGTH: usize = 14;

/// The numbers; `page/hunt.js` names them in the same order.
pub fn numbers(round: &Round) -> [f64; LENGTH] {
    let (point, shown) = (round.point(), round.shown());
    let phase = match round.phase() {
        Phase::Waiting => 0.0,
        Phase::Listening => 1.0,
        Phase::Counting => 2.0,
        Phase::Over => 3.0,
    };
    [
        phase,
        round.time_s(),
        point.east_m,
        point.north_m,
        point.heading_rad,
        point.bank_rad.to_degrees(),
        round.wanted_deg(),
        point.climb_mps,
        shown.reading_mps,
        shown.pitch_hz,
        shown.cadence_hz,
        f64::from(shown.sounding),
        f64::from(shown.meaning as u8),
        f64::from(round.number()),
    ]
}

/// The result as far as the round has been flown.
pub fn result(round: &Round) -> String {
    let score = Score::of(round);
    let after = score.centred_after_s.map_or_else(String::new, |after_s| format!("{after_s:.1}"));
    let mut text = format!(
        "score\t{}\t{}\t{}\t{}\t{}\t{after}\t{}\t{:.2}\n",
        round.seed(),
        round.number(),
        score.share,
        score.climb_mps,
        score.best_mps,
        score.did.word(),
        score.correlation,
    );
    text += &thermal(round);
    let best = round.best();
    let (east_m, north_m) = best.middle_m;
    text += &format!("best\t{east_m:.1}\t{north_m:.1}\t{:.1}\n", best.radius_m);
    let turns = one_after_the_other(round.track(), best);
    text.extend(turns.iter().map(turn));
    text + &path(round) + &map(round)
}

fn thermal(round: &Round) -> String {
    let shape = round.thermal().shape.name();
    let points = round.track().points();
    let (east_m, north_m) = match (points.first(), points.last()) {
        (Some(first), Some(last)) => {
            (last.core_east_m - first.core_east_m, last.core_north_m - first.core_north_m)
        }
        _ => (0.0, 0.0),
    };
    format!("thermal\t{shape}\t{east_m:.1}\t{north_m:.1}\n")
}

fn turn(turn: &Turn) -> String {
    let Turn { from_s, to_s, middle_m: (east_m, north_m), climb_mps, off_m, is_right, .. } = turn;
    let right = u8::from(*is_right);
    format!(
        "turn\t{from_s:.1}\t{to_s:.1}\t{east_m:.1}\t{north_m:.1}\t{climb_mps:.2}\t{off_m:.0}\t\
         {right}\n"
    )
}

fn path(round: &Round) -> String {
    let points = round.track().points().iter().map(|point| {
        let (east_m, north_m) = point.from_core_m();
        format!("{:.1},{east_m:.1},{north_m:.1},{:.1}", point.time_s, point.climb_mps)
    });
    format!("path\t{}\n", points.collect::<Vec<_>>().join(" "))
}

fn map(round: &Round) -> String {
    let rise = field::rise_mps(round.thermal()).into_iter();
    let rise: Vec<String> = rise.map(|rise_mps| format!("{rise_mps:.2}")).collect();
    format!("field\t{}\t{}\t{}\n", field::REACH_M, field::SIDE, rise.join(" "))
}

/// The numbers of the round on the desk; none without one.
fn taken(desk: &mut Desk) {
    desk.report = desk.hunt.as_ref().map_or_else(Vec::new, |round| numbers(round).to_vec());
}

/// Prepares a round of the game with this seed; the flight pauses until [`hunt_close`].
#[unsafe(no_mangle)]
pub extern "C" fn hunt_open(seed: u32, round: u32) {
    with_desk(|desk| {
        desk.drill = None;
        desk.hunt = Some(Round::new(seed, round));
    });
}

/// Begins the round.
#[unsafe(no_mangle)]
pub extern "C" fn hunt_begin() {
    with_desk(|desk| desk.hunt.as_mut().map(Round::begin));
}

/// Sets the bank wanted, degrees, positive to the right.
#[unsafe(no_mangle)]
pub extern "C" fn hunt_bank(bank_deg: f64) {
    with_desk(|desk| desk.hunt.as_mut().map(|round| round.set_bank_deg(bank_deg)));
}

/// Ends the game; the flight continues.
#[unsafe(no_mangle)]
pub extern "C" fn hunt_close() {
    with_desk(|desk| desk.hunt = None);
}

/// Address of the numbers of the round.
#[unsafe(no_mangle)]
pub extern "C" fn hunt_report() -> *const f64 {
    with_desk(|desk| {
        taken(desk);
        desk.report.as_ptr()
    })
}

/// How many they are: 0 without a round.
#[unsafe(no_mangle)]
pub extern "C" fn hunt_length() -> u32 {
    with_desk(|desk| if desk.hunt.is_some() { LENGTH as u32 } else { 0 })
}

/// Sets the text to the result; 1 once the round is over.
#[unsafe(no_mangle)]
pub extern "C" fn hunt_result() -> u32 {
    with_desk(|desk| {
        desk.text = desk.hunt.as_ref().map_or_else(String::new, result);
        u32::from(desk.hunt.as_ref().is_some_and(|round| round.phase() == Phase::Over))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn flown() -> Round {
        let mut round = Round::new(1, 2);
        round.begin();
        while round.phase() != Phase::Over {
            round.tick();
        }
        round
    }

    #[test]
    fn every_record_of_a_result_has_its_fields() {
        let text = result(&flown());
        let mut kinds = Vec::new();
        for line in text.lines() {
            let fields: Vec<&str> = line.split('\t').collect();
            let expected = match fields[0] {
                "score" => 9,
                "thermal" | "best" | "field" => 4,
                "turn" => 8,
                "path" => 2,
                other => panic!("{other}"),
            };
            assert_eq!(fields.len(), expected, "{line}");
            kinds.push(fields[0]);
        }
        kinds.dedup();
        assert_eq!(kinds, ["score", "thermal", "best", "turn", "path", "field"]);
        assert!(text.starts_with("score\t1\t2\t0."), "{}", &text[..40]);
    }

    #[test]
    fn a_round_takes_the_place_of_the_flight_and_gives_it_back() {
        crate::start(8_000, 1);
        assert_eq!(hunt_length(), 0);
        hunt_open(1, 1);
        assert_eq!((hunt_length() as usize, hunt_result()), (LENGTH, 0));
        hunt_begin();
        hunt_bank(20.0);
        (0..8_000 * 191 / 1_000).for_each(|_| _ = crate::fill(1_000));
        assert_eq!(hunt_result(), 1);
        hunt_close();
        assert_eq!((hunt_length(), hunt_result()), (0, 0));
    }
}
