//! The flight of a recording as lines of text. Heights are plain pressure heights.

use crate::recording::flight::{Badges, Climb, Confidence, Event, Flight, Launch};
use crate::time::{Clock, LocalClock};
use crate::units::Units;
use std::fmt;

/// How it is told.
#[derive(Clone, Copy)]
pub(super) struct Told {
    /// The pilot's units.
    pub units: Units,
    /// What the clock shows.
    pub clock: LocalClock,
}

/// Writes all that is known of `flight`.
pub(super) fn write(f: &mut fmt::Formatter<'_>, flight: &Flight, told: &Told) -> fmt::Result {
    let Told { units, clock } = *told;
    let lowest = units.height(flight.lowest_m).number();
    let [highest, gain] = [flight.highest_m, flight.best_gain_m].map(|m| units.height(m));
    writeln!(f, "  height        {lowest} to {highest}, best gain after the launch {gain}")?;
    if let Some(take_off) = &flight.take_off {
        write!(f, "  take-off      at {}{}", clock.at(take_off.at_s), clock.kind())?;
        match &flight.launch {
            Some(launch) => write!(f, ", {}", launched(launch, units))?,
            None => write!(f, ", launch type unknown")?,
        }
        writeln!(f)?;
    } else if flight.begins == "in the air" {
        writeln!(f, "  take-off      not in the recording, which begins in the air")?;
    }
    if let Some(release) = &flight.release {
        writeln!(f, "  release       {}", event(release, told))?;
    }
    if let Some(landing) = &flight.landing {
        writeln!(f, "  landing       {}", event(landing, told))?;
    }
    if !flight.climbs.is_empty() {
        writeln!(f, "  climbs        {}", climbs(&flight.climbs, units))?;
    }
    for other in &flight.others {
        let at = |time_s: Option<f64>| time_s.map_or("?".to_owned(), |s| clock.at(s));
        let launch = other.launch.unwrap_or("launch type unknown");
        let (from, to) = (at(other.take_off_s), at(other.landing_s));
        writeln!(f, "  also flown    from {from} to {to}, {launch}")?;
    }
    badges(f, &flight.badges, units)
}

/// The kind of a launch, its height, its time and how sure it is.
fn launched(launch: &Launch, units: Units) -> String {
    let kind = match launch.kind {
        "engine" => "own engine",
        kind => kind,
    };
    let Launch { gain_m, lasts_s, best_climb_mps, confidence, why, .. } = launch;
    let doubt = match confidence {
        Confidence::Sure => String::new(),
        _ => format!(" ({confidence}: {why})"),
    };
    let (gain, best) = (units.height(*gain_m), units.climb(*best_climb_mps).unsigned());
    format!("{kind}: {gain} in {}, best {best} over 10 s{doubt}", Clock(*lasts_s))
}

/// A moment with its error and its confidence.
fn event(event: &Event, told: &Told) -> String {
    let Event { at_s, earliest_s, latest_s, height_m, confidence, why } = event;
    format!(
        "at {}{} (-{:.0} to +{:.0} s), {}; {confidence}: {why}",
        told.clock.at(*at_s),
        told.clock.kind(),
        at_s - earliest_s,
        latest_s - at_s,
        told.units.height(*height_m)
    )
}

fn climbs(climbs: &[Climb], units: Units) -> String {
    let total_m: f64 = climbs.iter().map(|climb| climb.gain_m).sum();
    let best = climbs.iter().max_by(|a, b| a.gain_m.total_cmp(&b.gain_m));
    let highest = best.map_or_else(String::new, |climb| {
        let Climb { from_s, to_s, gain_m, mean_mps, .. } = *climb;
        let (gain, mean) = (units.height(gain_m), units.climb(mean_mps));
        format!("{gain} in {} at {mean}", Clock(to_s - from_s))
    });
    let least = units.height(40.0);
    match climbs.len() {
        1 => format!("one of {least} or more, {highest}"),
        count => {
            let total = units.height(total_m);
            format!("{count} of {least} or more, {total} of height in all; the highest {highest}")
        }
    }
}

/// Never more than figures: what is said needs a recorder and an observer to be evidence.
fn badges(f: &mut fmt::Formatter<'_>, badges: &Badges, units: Units) -> fmt::Result {
    if let (Some(duration_s), Some(loss_m)) = (badges.duration_s, badges.loss_m) {
        let at_least = Clock(badges.duration_at_least_s.unwrap_or(0.0));
        writeln!(
            f,
            "  duration      {} from release to landing, at least {at_least}; loss of height {}",
            Clock(duration_s),
            units.height(loss_m)
        )?;
    }
    for reached in &badges.reached {
        writeln!(f, "  badges        {}", reached.words)?;
    }
    for why in &badges.not_known {
        writeln!(f, "  badges        nothing is said: {why}")?;
    }
    if !badges.reached.is_empty() {
        writeln!(
            f,
            "  badges        this is no evidence for a badge, and the barometer is not calibrated"
        )?;
    }
    Ok(())
}
