//! Faults of an inertial sensor and a satellite receiver: with each, the instrument beside one that
//! has the pressures alone, in the flights of `chirrup::rough_flight`.
//!
//! A beep is unjustified as in `tests/faults.rs`; what counts is how much longer the longest spell
//! of them is than that of the pressures alone in the same flight, and whether the reading is
//! worse than theirs while the fault lasts.

use super::{HELD_S, Spell, TICK_S, is_climb, runs};
use chirrup::inject::catalogue::{Entry, Kind, Lift, Needs, TRACE_KINDS, entry};
use chirrup::inject::{Chain, Injected, Injection};
use chirrup::rough_flight::{Flown, fly_inertial};
use chirrup_core::{EnergyChoice, InertialChoice, Micros, PipelineState, Sample, Settings, Status};
use chirrup_flight::plan::rough::Rough;
use chirrup_flight::sensors::inertial_settings::{GnssSettings, InertialSettings};
use std::collections::BTreeMap;
use std::fmt;

/// The flight ends, s.
const UNTIL_S: f64 = 240.0;
pub(super) const FLIGHTS: [Rough; 3] = [Rough::Thermals, Rough::Glide, Rough::Entries];

/// When a fault begins, how long it lasts, and from when on it counts, s.
#[derive(Clone, Copy)]
pub(super) struct Times {
    from_s: f64,
    lasts_s: f64,
    counts_s: f64,
}

/// Of a fault that begins in flight.
pub(super) const IN_FLIGHT: Times = Times { from_s: 100.0, lasts_s: 100.0, counts_s: 100.0 };

/// What is wired or mounted wrongly is so from the start on, and has a minute to be found out;
/// everything else happens in flight.
fn times(kind: Kind) -> Times {
    match kind {
        Kind::GyroReversed
        | Kind::ForceReversed
        | Kind::QuarterTurn
        | Kind::GyroGain
        | Kind::GroundLate => Times { from_s: 0.0, lasts_s: UNTIL_S, counts_s: 60.0 },
        _ => IN_FLIGHT,
    }
}

/// What one instrument made of a flight.
pub(super) struct Heard {
    /// Error of the reading while the fault lasts, from when on it counts, m/s rms.
    pub(super) error_mps: f64,
    /// The longest spell of unjustified beeps from then on, s.
    pub(super) spell_s: f64,
    /// When `check_inertial` first came after the fault began, s after that.
    pub(super) noticed_s: Option<f64>,
    /// When it last came, s after the fault ended.
    until_s: f64,
}

pub(super) fn flight(rough: Rough, seed: u64) -> Vec<Flown> {
    let inertial = InertialSettings { mounted_deg: [1.0, -1.0, 0.5], ..Default::default() };
    let mut flown =
        fly_inertial(rough, seed, &inertial, Some(&GnssSettings::default())).expect("it is flown");
    flown.truncate(flown.partition_point(|moment| moment.time_s < UNTIL_S));
    flown
}

/// What the instrument makes of a flight with the pressures alone, or with the inertial sensor and
/// perhaps a fault.
pub(super) fn hear(
    flown: &[Flown],
    with: InertialChoice,
    fault: Option<Injection>,
    times: Times,
    seed: u64,
) -> Heard {
    let Times { from_s, lasts_s, counts_s } = times;
    let mut settings = Settings::default();
    settings.energy.choice = EnergyChoice::Electronic;
    settings.inertial.choice = with;
    let pipeline = settings.build().expect("the settings are good");
    let links = fault.map(|fault| {
        let injection = Injection { duration_s: Some(lasts_s), ..fault };
        Injected::new(&injection, Some(Micros((from_s * 1e6) as i64)), seed)
    });
    let mut chain = Chain::new(links.into_iter().collect());
    let is_ground = fault.is_some_and(|fault| {
        matches!(fault.kind, Kind::GroundWrong | Kind::GroundLate | Kind::GroundFrozen)
    });
    let (mut state, mut spell) = (PipelineState::default(), Spell::default());
    let (mut square, mut count, mut climbed_s) = (0.0, 0.0, f64::MIN);
    let (mut noticed_s, mut until_s) = (None, 0.0);
    for moment in flown {
        let t = moment.time_s;
        if moment.truth_mps > 0.0 {
            climbed_s = t;
        }
        let ground_velocity = moment.sample.ground_velocity.filter(|_| is_ground);
        let sample = Sample { ground_velocity, ..moment.sample };
        let sample = chain.pass(&sample).first().copied().expect("none is lost");
        let reading = pipeline.step(&mut state, &sample);
        if reading.status == Status::CheckInertial && t >= from_s {
            noticed_s.get_or_insert(t - from_s);
            until_s = t - from_s - lasts_s;
        }
        if let Some(values) = reading.values.filter(|_| (counts_s..from_s + lasts_s).contains(&t)) {
            square += (f64::from(values.sounded().0) - moment.truth_mps).powi(2);
            count += 1.0;
        }
        for tick in 0..10 {
            let now_s = t + f64::from(tick) * TICK_S;
            let is_heard = is_climb(&pipeline.tick(&mut state));
            if is_heard && t >= counts_s && now_s - climbed_s > HELD_S {
                spell.unjustified(now_s);
            }
        }
    }
    let error_mps = f64::sqrt(square / f64::max(count, 1.0));
    Heard { error_mps, spell_s: spell.longest_s, noticed_s, until_s }
}

/// The faults that only an instrument with an inertial sensor knows, and whose row names this test
/// of them.
pub(super) fn kinds(test: &str) -> impl Iterator<Item = Kind> {
    let is_held = move |kind: &Kind| {
        let Entry { needs, tests, .. } = entry(*kind);
        *needs == Needs::Inertial && tests.iter().any(|held_by| held_by.ends_with(test))
    };
    TRACE_KINDS.into_iter().filter(is_held)
}

/// The way over to the pressures may cost so much, m/s rms.
pub(super) const WAY_OVER_MPS: f64 = 0.02;

/// Of more than a thousand flights, in so many a false climb is longer by half a second, where the
/// requirement is none; and the reading is worse by so much at most, m/s rms.
const MISSED_FLIGHTS: u64 = 1;
const MISSED_MPS: f64 = 0.01;

/// Flights in which a false climb sounded longer than with the pressures alone, by kind.
#[derive(Default)]
pub(super) struct Longer {
    /// Flights, those of them that were longer by more than [`Longer::BY_S`], and by how much at
    /// most, s.
    of_kind: BTreeMap<&'static str, (u64, u64, f64)>,
}

impl Longer {
    pub(super) const BY_S: f64 = 0.5;

    fn flights(&self) -> u64 {
        self.of_kind.values().map(|(flights, ..)| flights).sum()
    }

    fn longer(&self) -> u64 {
        self.of_kind.values().map(|(_, longer, _)| longer).sum()
    }

    pub(super) fn note(&mut self, kind: &'static str, by_s: f64) {
        let (flights, longer, most_s) = self.of_kind.entry(kind).or_insert((0, 0, f64::MIN));
        *flights += 1;
        *longer += u64::from(by_s > Self::BY_S);
        *most_s = most_s.max(by_s);
    }
}

impl fmt::Display for Longer {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (by_s, flights, longer) = (Self::BY_S, self.flights(), self.longer());
        writeln!(
            f,
            "{flights} flights; in {longer} a false climb sounded more than {by_s} s longer than \
             with the pressures alone:"
        )?;
        for (kind, (flights, longer, most_s)) in &self.of_kind {
            writeln!(f, "  {kind:<16} {longer:>4} of {flights:>4}, by {most_s:+.2} s at most")?;
        }
        Ok(())
    }
}

/// Seeds of each flight.
pub(super) fn seeds() -> u64 {
    (runs() / 10).max(1)
}

#[test]
#[expect(clippy::print_stdout, reason = "the table that the docs quote, shown with --nocapture")]
fn with_a_fault_of_the_inertial_sensor_it_is_as_bad_as_its_row_says_at_worst() {
    let mut wrong = Vec::new();
    let (mut longer, mut worst_mps) = (Longer::default(), 0.0);
    for rough in FLIGHTS {
        for seed in 1..=seeds() {
            let flown = flight(rough, seed);
            let [start, flight] = [Kind::GyroReversed, Kind::Shaken].map(times);
            let [off, auto] = [InertialChoice::Off, InertialChoice::Auto];
            let alone = [start, flight].map(|times| hear(&flown, off, None, times, seed));
            let sound = hear(&flown, auto, None, start, seed);
            longer.note("(no fault)", sound.spell_s - alone[0].spell_s);
            for kind in
                kinds("::with_a_fault_of_the_inertial_sensor_it_is_as_bad_as_its_row_says_at_worst")
            {
                let entry = entry(kind);
                let times = times(kind);
                let heard = hear(&flown, auto, Some(Injection::of(kind)), times, seed);
                let alone = &alone[usize::from(times.from_s > 0.0)];
                let row = format!(
                    "{:<16} {rough:?}, seed {seed}: error {:.3} m/s (pressures {:.3}), spell \
                     {:.2} s ({:.2}), check_inertial after {:.1?} s, until {:.1} s after",
                    entry.name,
                    heard.error_mps,
                    alone.error_mps,
                    heard.spell_s,
                    alone.spell_s,
                    heard.noticed_s,
                    heard.until_s
                );
                println!("{row}");
                worst_mps = f64::max(worst_mps, heard.error_mps - alone.error_mps);
                longer.note(entry.name, heard.spell_s - alone.spell_s);
                let most_s = match entry.lift {
                    Lift::AtMost(most_s, _) => most_s,
                    _ => 0.5,
                };
                let is_late = |within_s: f32| {
                    heard.noticed_s.is_none_or(|after_s| after_s > f64::from(within_s))
                };
                if heard.error_mps > alone.error_mps + WAY_OVER_MPS
                    || heard.spell_s > f64::max(alone.spell_s, most_s)
                    || (rough == Rough::Thermals && entry.within_s.is_some_and(is_late))
                    || entry.recovers_s.is_some_and(|most_s| heard.until_s > f64::from(most_s))
                {
                    wrong.push(row);
                }
            }
        }
    }
    println!("{longer}");
    if longer.flights() < 1_000 {
        assert!(wrong.is_empty(), "{wrong:#?}");
    }
    assert!(longer.longer() <= MISSED_FLIGHTS, "{longer}");
    assert!(worst_mps <= MISSED_MPS, "a reading is worse by {worst_mps} m/s rms");
}
