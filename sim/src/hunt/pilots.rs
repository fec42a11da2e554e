//! Scripted pilots play the game. They hear what sounds, tick by tick, and nothing else.
//!
//! The rules, the reactions and the clumsiness are those of [`chirrup_flight::centring`]; the ear
//! is the ideal listener of `chirrup response`.

#![allow(clippy::print_stdout, reason = "the table is what the long run is for")]

use super::round::{Phase, Round};
use super::score::{Did, Score};
use super::start::air_seed;
use crate::response::centring::listener::Listener;
use chirrup_core::{ToneSettings, Voice};
use chirrup_flight::centring::{Pilot, Scripted};
use rayon::prelude::*;
use std::sync::LazyLock;

/// A pilot: the rule, its name in the table, what he allows for the lateness of what he hears, s,
/// and his share of the best circle's climb in the project's own measurement of the rules, percent
/// (311 thermals of another simulation; `docs/src/teaching.md` has its table).
type Known = (Pilot, &'static str, f64, f64);
const PILOTS: [Known; 6] = [
    (Pilot::NeverCorrects, "never corrects", 0.0, 24.0),
    (Pilot::Tightens, "tightens while it improves", 0.0, 12.0),
    (Pilot::Flattens, "flattens while it improves", 0.0, 60.0),
    (Pilot::BestHeading, "remembers the best heading", 2.0, 60.0),
    (Pilot::Both, "both", 2.0, 64.0),
    (Pilot::Expert, "keeps a map in the head", 0.5, 71.0),
];
/// How far from that a share may be, percent.
const WITHIN: f64 = 5.0;
/// Whose share is not as near as that, and what it is, percent. Tightening costs more in this air
/// than was measured: the circle walks out of the thermal altogether, and the air beside it sinks.
/// Who does both climbs more here.
const MISSED: [(Pilot, f64); 2] = [(Pilot::Tightens, -8.8), (Pilot::Both, 70.8)];
/// The most that holding still may have, percent.
const HELD_MOST: f64 = 35.0;

/// How many seeds are flown: 10, or as many as `CHIRRUP_HUNT_SEEDS` says (`just hunt-long`: 100).
fn seeds() -> u32 {
    let wanted = std::env::var("CHIRRUP_HUNT_SEEDS").ok();
    wanted.and_then(|seeds| seeds.parse().ok()).unwrap_or(10)
}

/// Fewer seeds scatter by more than [`WITHIN`].
const ENOUGH_SEEDS: u32 = 100;

/// The air of every seed.
static AIRS: LazyLock<Vec<u64>> =
    LazyLock::new(|| (1..=seeds()).into_par_iter().map(air_seed).collect());

fn air_of(seed: u32) -> u64 {
    AIRS[seed as usize - 1]
}

/// A round is played to its end; `steer` is called at the end of each 20 ms.
fn played(seed: u32, mut steer: impl FnMut(&mut Round, Voice)) -> Score {
    let mut round = Round::in_air(seed, 1, air_of(seed));
    round.begin();
    while round.phase() != Phase::Over {
        let voice = round.tick();
        steer(&mut round, voice);
    }
    Score::of(&round)
}

/// A scripted pilot plays a round. Of the round he has what sounds and his heading, wrongly.
fn played_by(seed: u32, pilot: Pilot, allowance_s: f64) -> Score {
    let mut listener = Listener::new(&ToneSettings::default());
    let mut scripted = Scripted::new(air_of(seed), pilot, allowance_s);
    played(seed, |round, voice| {
        listener.listen(voice);
        if round.is_step_done() {
            let corrects = round.phase() == Phase::Counting;
            let heading_rad = round.point().heading_rad;
            let bank_rad = scripted.bank_rad(listener.climb_mps(), heading_rad, corrects);
            round.set_bank_rad(bank_rad);
        }
    })
}

/// The scores of a pilot in the first seeds.
fn scores_of(pilot: Pilot, allowance_s: f64) -> Vec<Score> {
    (1..=seeds()).into_par_iter().map(|seed| played_by(seed, pilot, allowance_s)).collect()
}

/// Mean climb over the mean of the best circles', percent.
fn share_percent(scores: &[Score]) -> f64 {
    let sum = |of: fn(&Score) -> f64| scores.iter().map(of).sum::<f64>();
    100.0 * sum(|score| score.climb_mps) / sum(|score| score.best_mps)
}

fn row(name: &str, expected: f64, scores: &[Score]) -> String {
    let count = |is: fn(&Score) -> bool| scores.iter().filter(|score| is(score)).count();
    let most = scores.iter().map(|score| 100.0 * score.share).fold(f64::MIN, f64::max);
    format!(
        "{name:28} {:6.1} {expected:6.0} {most:6.1} {:7} {:10} {:10}",
        share_percent(scores),
        count(|score| score.centred_after_s.is_some()),
        count(|score| score.did == Did::Flattened),
        count(|score| score.did == Did::Tightened),
    )
}

/// Most who flatten or tighten are told so, and nobody the opposite.
fn is_told_what_he_did(pilot: Pilot, scores: &[Score]) {
    let (does, opposite) = match pilot {
        Pilot::Flattens => (Did::Flattened, Did::Tightened),
        Pilot::Tightens => (Did::Tightened, Did::Flattened),
        _ => return,
    };
    let told = |did: Did| scores.iter().filter(|score| score.did == did).count();
    assert!(5 * told(does) >= 3 * scores.len() && told(opposite) == 0, "{pilot:?}: {scores:?}");
}

#[test]
fn scripted_pilots_climb_as_the_rules_say() {
    let mut shares = Vec::new();
    println!("pilot                         share  known   most centred  flattened  tightened");
    for (pilot, name, allowance_s, expected) in PILOTS {
        let scores = scores_of(pilot, allowance_s);
        println!("{}", row(name, expected, &scores));
        is_told_what_he_did(pilot, &scores);
        shares.push(share_percent(&scores));
    }
    let [never, tightens, flattens, best_heading, both, expert] = shares[..] else {
        panic!("six pilots");
    };
    assert!(tightens < never && never + 15.0 < flattens.min(best_heading), "{shares:?}");
    assert!(both > never + 20.0 && expert > never + 20.0, "{shares:?}");
    if seeds() < ENOUGH_SEEDS {
        return;
    }
    assert!(flattens.max(best_heading) < both && both < expert && expert < 100.0, "{shares:?}");
    for (share, (pilot, name, _, expected)) in shares.iter().zip(PILOTS) {
        let missed = MISSED.iter().find(|(who, _)| *who == pilot);
        let (aim, within) = missed.map_or((expected, WITHIN), |(_, found)| (*found, 2.0));
        assert!((share - aim).abs() <= within, "{name}: {share} %, expected {aim} %");
        assert!(missed.is_none() || (share - expected).abs() > WITHIN, "{name} is not missed");
    }
}

#[test]
fn holding_still_is_never_worth_more_than_a_third() {
    let held = |seed| played(seed, |_, _| ());
    let scores: Vec<Score> = (1..=seeds()).into_par_iter().map(held).collect();
    let is_little = |score: &Score| (0.0..=HELD_MOST).contains(&(100.0 * score.share));
    assert!(scores.iter().all(is_little), "{scores:?}");
    assert!(scores.iter().all(|score| score.did == Did::KeptTheBank), "{scores:?}");
}

#[test]
fn who_hears_nothing_gains_nothing_by_correcting() {
    let deaf = |seed| {
        let mut scripted = Scripted::new(air_of(seed), Pilot::Both, 2.0);
        played(seed, |round, _| {
            if round.is_step_done() {
                let heading_rad = round.point().heading_rad;
                round.set_bank_rad(scripted.bank_rad(None, heading_rad, true));
            }
        })
    };
    let scores: Vec<Score> = (1..=seeds()).into_par_iter().map(deaf).collect();
    let (deaf, hears) = (share_percent(&scores), share_percent(&scores_of(Pilot::Both, 2.0)));
    assert!(deaf + 20.0 < hears, "{deaf} % and {hears} %");
}

#[test]
fn the_same_banks_give_the_same_score_to_the_bit_and_volume_changes_nothing() {
    let score = |volume: f64| {
        played(3, |round, _| {
            round.set_volume(volume);
            if round.is_step_done() {
                let step = (round.time_s() / 7.0).floor();
                round.set_bank_deg(35.0 + 10.0 * (step - 2.0 * (step / 2.0).floor()));
            }
        })
    };
    let (one, other) = (score(8.0), score(2.0));
    assert_eq!(one.climb_mps.to_bits(), other.climb_mps.to_bits());
    assert_eq!(one, other);
    assert_ne!(one.climb_mps, played(3, |_, _| ()).climb_mps);
}

#[test]
fn a_round_waits_listens_counts_and_ends() {
    let mut round = Round::new(1, 1);
    assert_eq!((round.tick(), round.phase()), (Voice::default(), Phase::Waiting));
    round.begin();
    (0..5_000).for_each(|_| _ = round.tick());
    assert_eq!(round.phase(), Phase::Listening);
    round.tick();
    assert_eq!((round.phase(), round.time_s()), (Phase::Counting, 0.0));
    let mut sounded = false;
    (0..90_000).for_each(|_| sounded |= round.tick().gate);
    assert!(sounded && round.phase() == Phase::Over);
    assert_eq!(round.track().points().len(), 901);
    assert_eq!(round.tick(), Voice::default());
    round.begin();
    assert_eq!(round.phase(), Phase::Over, "a round is flown once");
}

#[test]
fn no_bank_at_all_and_no_number_do_no_harm() {
    for bank_deg in [0.0, -60.0, 1e9, f64::NAN] {
        let score = played(2, |round, _| round.set_bank_deg(bank_deg));
        assert!(score.share.is_finite() && score.share < 1.2, "{bank_deg}: {score:?}");
    }
}
