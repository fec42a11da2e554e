//! Findings about a recording, in plain words, and what to do about them.

use super::Inspection;
use super::motion::{InertialSensor, SatelliteReceiver};
use super::noise::{Noise, Repeats};
use super::steps::{Step, Steps};
use crate::recording::contents::FOLLOWS_THE_STICK;
use crate::recording::energy_fit::{
    COVERS_95, EnergyFit, Late, MOST_DELAY_MS, NoFit, WhyNot, too_late,
};
use crate::recording::height_source::Source;
use crate::time::Clock;
use crate::words::plural;

/// With more white noise than this a barometer is worse than usual (MS5611 data sheet: 1.2 Pa
/// typical, from memory).
const NOISY_PA: f64 = 2.0;
/// With coarser steps than this, a weak climb looks like a staircase: 1 Pa is 8 cm near the ground.
const COARSE_PA: f64 = 2.0;
/// At a lower rate than this the reading is late with any filter.
const SLOW_HZ: f64 = 4.0;
/// Jitter above this share of the interval is more than a filter can tolerate (a guess).
const JITTERY: f64 = 0.5;

/// With fewer inertial samples a second turns and pulls are missed (a guess).
const FEW_HZ: f64 = 20.0;
/// More vibration than this is much for an inertial sensor (a guess).
const SHAKEN_MPS2: f64 = 5.0;
/// A mounting further askew than this is worth a word, degrees (a guess).
const ASKEW_DEG: f64 = 10.0;
/// A bias at rest beyond this is worth a word (data sheets: 1 degree a second or less, from
/// memory), and a force so far off gravity (40 mg, twice a usual bias).
const BIASED_DPS: f64 = 2.0;
const OFF_GRAVITY_MPS2: f64 = 0.4;
/// A velocity later than this is worth a word, s (a guess).
const LATE_S: f64 = 0.5;

/// What it means that the heights are a satellite receiver's.
const COPY: &str = "the pressure altitude is a copy of the altitude from satellites: there is no \
                    barometer; climbs are rougher and later, and no height counts for a badge";

/// The sentences.
pub(super) fn of(inspection: &Inspection) -> Vec<String> {
    let mut said = inspection.contents.clone();
    if inspection.heights == Source::Satellites {
        said.push(COPY.into());
    }
    timing(inspection, &mut said);
    if let Some(noise) = &inspection.static_pressure {
        pressure(inspection, noise, &mut said);
    }
    steps(&inspection.steps, &mut said);
    for fit in &inspection.energy {
        match fit {
            Ok(fit) => energy(fit, &mut said),
            Err(NoFit::NoSource) if said.iter().any(|one| one == FOLLOWS_THE_STICK) => {}
            Err(why) => said.push(no_energy(*why)),
        }
    }
    if inspection.energy.iter().any(wants_manoeuvres) {
        said.push(MANOEUVRE.into());
    }
    if inspection.partial_samples > 0 {
        said.push(format!(
            "{} without a static pressure: what else is there is used with the next one",
            plural(inspection.partial_samples, "sample")
        ));
    }
    if let Some(sensor) = &inspection.inertial {
        inertial(sensor, &mut said);
    }
    if let Some(felt) = &inspection.felt {
        said.extend(felt.advice());
    }
    if let Some(receiver) = &inspection.gnss {
        said.push(satellites(receiver));
    }
    let left_out = inspection.left_out;
    if left_out.count() > 0 {
        said.push(format!(
            "{} left out: {} without one, {} with a pressure that is not the atmosphere's, {} not \
             later than the one before",
            plural(left_out.count(), "sample"),
            plural(left_out.unreadable_lines, "line"),
            left_out.bad_pressure,
            left_out.out_of_order
        ));
    }
    said
}

fn inertial(sensor: &InertialSensor, said: &mut Vec<String>) {
    if sensor.rate_hz < FEW_HZ {
        said.push(format!(
            "{:.1} inertial samples a second are few: the filter needs 20 or more to tell gusts \
             from climb",
            sensor.rate_hz
        ));
    }
    said.push(shaken(sensor.vibration_mps2));
    if sensor.clipped_samples > 0 {
        said.push(format!(
            "the force ends at {:.1} m/s2 in {}, the end of the sensor's range: set a wider range, \
             or mount it softer; what is clipped is missing in the climb",
            sensor.largest_mps2,
            plural(sensor.clipped_samples as u64, "sample")
        ));
    }
    if sensor.down != "z" {
        said.push(format!(
            "the sensor's {} axis points down: its axes are not the glider's; the instrument finds \
             that out, or give it inertial_down",
            sensor.down
        ));
    } else if sensor.down_off_deg > ASKEW_DEG {
        said.push(format!(
            "the sensor is {:.0} degrees askew: the instrument levels it, but mount it straighter \
             if that is easy",
            sensor.down_off_deg
        ));
    }
    let Some(rest) = sensor.at_rest else {
        said.push(
            "the sensor never stands still for 3 s with an airspeed below 8 m/s, hardly shaken: \
             its biases are not known; the instrument learns them in flight, a recording that \
             begins on the ground shows them"
                .into(),
        );
        return;
    };
    if rest.gyro_bias_dps.iter().any(|bias| bias.abs() > BIASED_DPS) {
        said.push(
            "a gyroscope turns by more than 2 degrees a second at rest: let the instrument stand \
             still for some seconds before take-off"
                .into(),
        );
    }
    if rest.too_much_mps2.abs() > OFF_GRAVITY_MPS2 {
        said.push(format!(
            "at rest the force is {:+.2} m/s2 off gravity, more than a good sensor's bias: check \
             its range and its scale",
            rest.too_much_mps2
        ));
    }
}

fn shaken(vibration_mps2: f64) -> String {
    let (verdict, help) = match vibration_mps2 {
        ..1.0 => ("little", "an inertial sensor can be used"),
        1.0..SHAKEN_MPS2 => ("some", "an inertial sensor can be used, with more noise"),
        _ => ("much", "mount the sensor softer; shaken so, the pressures alone may sound"),
    };
    format!("vibration of {vibration_mps2:.2} m/s2 above 5 Hz is {verdict}: {help}")
}

fn satellites(receiver: &SatelliteReceiver) -> String {
    match receiver.delay_s {
        Some(delay_s) if delay_s > LATE_S => format!(
            "the receiver's velocity is {delay_s:.2} s late: the filter learns that, but a quicker \
             receiver or line helps"
        ),
        Some(delay_s) => {
            format!("the receiver's velocity is {delay_s:.2} s late, which the filter learns")
        }
        None => "how late the receiver's velocity is does not show: its rate of descent and that \
                 of the pressure do not agree, or hardly change"
            .into(),
    }
}

fn timing(inspection: &Inspection, said: &mut Vec<String>) {
    let timing = &inspection.timing;
    if timing.rate_hz < SLOW_HZ {
        said.push(format!(
            "{:.1} samples a second are few: the reading is late by at least about {:.1} s; an \
             instrument takes 20 or more",
            timing.rate_hz,
            0.3 / timing.rate_hz
        ));
    }
    if timing.jitter_s > JITTERY * timing.median_interval_s {
        said.push(format!(
            "the sample intervals jitter by {:.0} %; if the sensor is read evenly, record the time \
             of the measurement and not that of writing the line",
            100.0 * timing.jitter_s / timing.median_interval_s
        ));
    }
    if let Some(gap) = timing.first_gaps.first() {
        let (count, longest) = (timing.gaps, timing.longest_s);
        said.push(format!(
            "{}, the longest of {longest:.1} s, the first at {:.1} s; the reading starts again \
             after a long gap",
            plural(count as u64, "gap"),
            gap.at_s
        ));
    }
}

fn pressure(inspection: &Inspection, noise: &Noise, said: &mut Vec<String>) {
    if noise.repeats == Repeats::Rate && inspection.timing.rate_hz > SLOW_HZ {
        said.push(format!(
            "{:.0} % of the pressures repeat the one before: the sensor gives {:.0} new values a \
             second; polling faster gains nothing",
            100.0 * noise.repeated_share,
            noise.fresh_rate_hz
        ));
    }
    if noise.repeats == Repeats::Steps {
        said.push(format!(
            "{:.0} % of the pressures repeat the one before, because they come in steps of {:.1} \
             Pa and not because the sensor is slow; keep more digits",
            100.0 * noise.repeated_share,
            noise.quantum
        ));
    } else if noise.quantum >= COARSE_PA {
        said.push(format!(
            "the pressure comes in steps of {:.1} Pa; keep more digits, a climb of 0.2 m/s is 2.4 \
             Pa a second",
            noise.quantum
        ));
    }
    if noise.is_told_from_flight() && noise.white > NOISY_PA {
        said.push(format!(
            "{:.1} Pa of white noise is more than an ordinary barometer's; let it average more (a \
             higher oversampling), and shield it from cockpit airflow",
            noise.white
        ));
    }
}

/// How many steps are named in a sentence.
const NAMED_STEPS: usize = 3;

fn steps(steps: &Steps, said: &mut Vec<String>) {
    if steps.count > 0 {
        let named: Vec<String> = steps
            .first
            .iter()
            .take(NAMED_STEPS)
            .map(|Step { at_s, size_m }| format!("{size_m:+.0} m at {}", Clock(*at_s)))
            .collect();
        let more = match steps.count - named.len() {
            0 => String::new(),
            more => format!(" and {more} more"),
        };
        said.push(format!(
            "the height steps as no glider flies: {}{more}; the heights, the gain and the launch \
             above are without that; look at the static line and the sensor",
            named.join(", ")
        ));
    }
    if steps.wrong_samples > 0 {
        said.push(format!(
            "wrong heights, which the samples around them contradict: {}; taken from those samples",
            steps.wrong_samples
        ));
    }
}

fn energy(fit: &EnergyFit, said: &mut Vec<String>) {
    let EnergyFit { source, percent, percent_error, late, .. } = fit;
    if let Some(why) = fit.why_not() {
        said.push(not_telling(fit, why));
        return;
    }
    if (percent - 100.0).abs() > COVERS_95 * percent_error.max(0.5) {
        said.push(format!(
            "{source}: compensation_percent = {percent:.0} fits best (± {:.1}, 95 % sure)",
            COVERS_95 * percent_error
        ));
    }
    let is_known = |late: &Late| late.ms.abs() > COVERS_95 * late.error_ms.max(5.0);
    let Some(Late { ms, error_ms, .. }) = late.filter(is_known) else { return };
    if ms.abs() > MOST_DELAY_MS {
        said.push(format!("{source}: {}", too_late(ms, error_ms)));
        return;
    }
    let line = if ms > 0.0 { "airspeed_delay_ms" } else { "static_delay_ms" };
    said.push(format!(
        "{source}: {line} = {:.0} would align height and speed (± {:.0} ms, 95 % sure)",
        ms.abs(),
        COVERS_95 * error_ms
    ));
}

fn not_telling(fit: &EnergyFit, why: WhyNot) -> String {
    let EnergyFit { source, percent_error, late, explained, .. } = fit;
    match why {
        WhyNot::NoOneLaw => format!(
            "{source}: height and speed do not follow one law at all periods, as where a recorder \
             smooths one of them; keep the settings"
        ),
        WhyNot::Air => format!(
            "{source}: {:.0} % of the height changes follow the speed, the rest is air movement; \
             keep the settings",
            100.0 * explained
        ),
        WhyNot::Wide => {
            let late = late.map_or_else(String::new, |late| {
                format!(" and ± {:.0} ms", COVERS_95 * late.error_ms)
            });
            format!(
                "{source}: the speed changes are too few or too small against the movement of the \
                 air: ± {:.0} %{late} (95 % sure) is of no use; keep the settings",
                COVERS_95 * percent_error
            )
        }
    }
}

fn wants_manoeuvres(fit: &Result<EnergyFit, NoFit>) -> bool {
    match fit {
        Ok(fit) => !fit.is_telling(),
        Err(why) => *why == NoFit::TooFewManoeuvres,
    }
}

/// How to record what the fit needs.
const MANOEUVRE: &str = "to measure the compensation and the delays, fly six or more smooth \
                         pull-ups and push-overs of 10 m/s and more in calm air, at a safe height \
                         and within the \
                         glider's limits, and inspect that recording (common practice, no source)";

fn no_energy(why: NoFit) -> String {
    match why {
        NoFit::NoSource => {
            "there is neither an airspeed nor a total-energy probe: the reading cannot be \
             compensated"
                .into()
        }
        NoFit::TooFewManoeuvres => "too few speed changes to measure the compensation".into(),
        NoFit::TooSlow => "the samples are too far apart to measure the compensation".into(),
    }
}
