//! What is said of how the made pilots correct.

use super::judged::Judged;
use super::made::Made;
use chirrup::technique::Correction;
use chirrup_flight::centring::Pilot;

const PILOTS: [(Pilot, &str); 6] = [
    (Pilot::NeverCorrects, "never corrects"),
    (Pilot::Tightens, "tightens while it improves"),
    (Pilot::Flattens, "flattens while it improves"),
    (Pilot::BestHeading, "rolls out before the best heading"),
    (Pilot::Both, "both"),
    (Pilot::Expert, "keeps a map"),
];

/// In how many of some thermals a pilot is said to have flattened, and to have tightened.
fn said_of(pilot: Pilot, seeds: std::ops::Range<u64>) -> [usize; 2] {
    let mut said = [0; 2];
    for seed in seeds {
        let judged = Judged::of(&Made::flown_by(pilot, seed));
        match judged.circles().technique.expect("three minutes are enough").while_improving {
            Correction::Flattened => said[0] += 1,
            Correction::Tightened => said[1] += 1,
            Correction::Neither => {}
        }
    }
    said
}

/// The table as Markdown.
pub fn table(seeds: std::ops::Range<u64>) -> String {
    let mut text = format!(
        "| pilot, in {} thermals each | said to flatten | said to tighten |\n|---|---|---|\n",
        seeds.end - seeds.start
    );
    for (pilot, name) in PILOTS {
        let [flattened, tightened] = said_of(pilot, seeds.clone());
        text += &format!("| {name} | {flattened} | {tightened} |\n");
    }
    text
}

#[test]
fn who_flattens_is_told_from_who_tightens() {
    let [flattened, tightened] = said_of(Pilot::Flattens, 1_000..1_010);
    assert!(flattened >= 8 && tightened == 0, "{flattened} {tightened}");
    let [flattened, tightened] = said_of(Pilot::Tightens, 1_000..1_010);
    assert!(flattened == 0 && tightened >= 6, "{flattened} {tightened}");
}
