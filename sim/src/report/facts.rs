//! The facts of a flight in words, in the pilot's units.

use super::flown::Flown;
use crate::inspect::Inspection;
use crate::recording::flight::Event;
use crate::time::Clock;
use crate::units::Units;
use chirrup_core::EnergySource;

/// A fact and how sure it is.
pub struct Fact {
    /// What it is.
    pub name: &'static str,
    /// Its value, with its unit.
    pub value: String,
    /// What it rests on, where that is not plain.
    pub why: String,
}

fn fact(name: &'static str, value: String) -> Fact {
    Fact { name, value, why: String::new() }
}

/// The table at the head of a flight.
pub fn facts(flown: &Flown, units: Units) -> Vec<Fact> {
    let Flown { recording, inspection, .. } = flown;
    let flight = &inspection.flight;
    let utc = recording.clock().kind();
    let mut facts = Vec::new();
    facts.extend(recording.date.clone().map(|date| fact("Date", date)));
    let (samples, lasts) = (inspection.timing.samples, Clock(inspection.timing.duration_s));
    let rate_hz = inspection.timing.rate_hz;
    let value = format!("{samples} samples over {lasts}, {rate_hz:.1} a second");
    facts.push(fact("Recording", value));
    let event = |name: &'static str, event: &Event| Fact {
        name,
        value: format!(
            "{}{utc} (-{:.0} to +{:.0} s), at {}",
            flown.clock(event.at_s),
            event.at_s - event.earliest_s,
            event.latest_s - event.at_s,
            units.height(event.height_m)
        ),
        why: format!("{}: {}", event.confidence, event.why),
    };
    facts.extend(flight.take_off.as_ref().map(|found| event("Take-off", found)));
    facts.extend(flight.launch.as_ref().map(|launch| Fact {
        name: "Launch",
        value: format!(
            "{}, {} in {}, at most {} over 10 s",
            launch.kind,
            units.height(launch.gain_m),
            Clock(launch.lasts_s),
            units.climb(launch.best_climb_mps)
        ),
        why: format!("{}: {}", launch.confidence, launch.why),
    }));
    facts.extend(flight.release.as_ref().map(|found| event("Release", found)));
    facts.extend(flight.landing.as_ref().map(|found| event("Landing", found)));
    let air_s = flight.take_off_s.zip(flight.landing_s).map(|(from, to)| to - from);
    facts.extend(air_s.map(|air_s| fact("Time in the air", Clock(air_s).to_string())));
    facts.extend(duration(flown, units));
    let (lowest, highest) = (units.height(flight.lowest_m), units.height(flight.highest_m));
    let value = format!("{} to {highest}, pressure altitude", lowest.number());
    facts.push(fact("Height", value));
    facts.push(fact("Climbs", climbs(flown, units)));
    facts.extend(gain(flown, units));
    facts.push(fact("Total energy", energy(flown).into()));
    facts
}

fn climbs(flown: &Flown, units: Units) -> String {
    let climbs = &flown.inspection.flight.climbs;
    let (time_s, gain_m) = climbs.iter().fold((0.0, 0.0), |(time_s, gain_m), climb| {
        (time_s + climb.to_s - climb.from_s, gain_m + climb.gain_m)
    });
    if climbs.is_empty() {
        return "none of 40 m and 20 s".into();
    }
    let share = 100.0 * time_s / flown.inspection.timing.duration_s.max(1.0);
    format!(
        "{}, {} in {} ({share:.0} % of the recording), {} on the mean",
        climbs.len(),
        units.height(gain_m),
        Clock(time_s),
        units.climb(gain_m / time_s)
    )
}

fn gain(flown: &Flown, units: Units) -> Option<Fact> {
    let gain = flown.inspection.flight.badges.gain?;
    Some(Fact {
        name: "Best gain",
        value: format!(
            "{} from {} to {}",
            units.height(gain.gain_m),
            flown.clock(gain.from_s),
            flown.clock(gain.to_s)
        ),
        why: "from a low point after release to a later high point; plain pressure height".into(),
    })
}

/// From release to landing, and the height lost between them.
fn duration(flown: &Flown, units: Units) -> Option<Fact> {
    let badges = &flown.inspection.flight.badges;
    let at_least_s = badges.duration_at_least_s.unwrap_or(0.0);
    Some(Fact {
        name: "Free flight",
        value: format!(
            "{} from release to landing, at least {}",
            Clock(badges.duration_s?),
            Clock(at_least_s)
        ),
        why: format!("loss of height between them {}", units.height(badges.loss_m?)),
    })
}

/// What the sound follows.
fn energy(flown: &Flown) -> &'static str {
    if flown.track.contents.follows_the_stick() {
        return "none: no airspeed and no probe, so the sound follows the stick (a pull-up sounds \
                as climb)";
    }
    match flown.source {
        EnergySource::None => {
            "none is used: the sound follows the stick (a pull-up sounds as climb)"
        }
        EnergySource::Electronic => "from the airspeed",
        EnergySource::Probe => "from a probe",
    }
}

/// Below the title of the picture.
pub fn subtitle(flown: &Flown, units: Units) -> String {
    let flight = &flown.inspection.flight;
    let date = flown.recording.date.iter().cloned();
    let launch = flight
        .launch
        .iter()
        .map(|launch| format!("{} to {}", launch.kind, units.height(launch.gain_m)));
    let climbs = format!("climbs: {}", climbs(flown, units));
    let said: Vec<String> = date.chain(launch).chain([climbs]).collect();
    said.join("; ")
}

/// What badges ask for, and why nothing can be said.
pub fn badges(flown: &Flown) -> Vec<String> {
    let badges = &flown.inspection.flight.badges;
    let reached = badges.reached.iter().map(|reached| reached.words.clone());
    reached.chain(badges.not_known.iter().cloned()).collect()
}

/// Noise, findings and faults, a line each.
pub fn sensors(flown: &Flown) -> Vec<String> {
    let Inspection { static_pressure, dynamic_pressure, probe_pressure, findings, .. } =
        &flown.inspection;
    let channels = [
        ("Static pressure", static_pressure),
        ("Impact pressure", dynamic_pressure),
        ("Probe", probe_pressure),
    ];
    let noises = channels.into_iter().filter_map(|(name, noise)| {
        let noise = noise.as_ref()?;
        let most = if noise.is_told_from_flight() { "" } else { "at most " };
        Some(format!("{name}: {most}{:.2} Pa of white noise, {}", noise.at_most(), noise.pace()))
    });
    let faults = flown.faults.iter().map(|(status, count, first_s)| {
        let samples = if *count == 1 { "sample" } else { "samples" };
        format!(
            "{}: {count} {samples}, first at {}",
            status.name().replace('_', " "),
            flown.clock(*first_s)
        )
    });
    noises.chain(findings.iter().cloned()).chain(faults).collect()
}
