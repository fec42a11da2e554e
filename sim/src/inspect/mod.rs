//! The quality of a recording, and what to do about it: `chirrup inspect`.
//!
//! | module | what it looks at |
//! |---|---|
//! | [`timing`] | rate, jitter, gaps |
//! | [`noise`] | of a channel: white noise, steps, repeats, Allan deviation, flicker, drift |
//! | [`gusts`] | what gusts do to the airspeed |
//! | `rest` | the longest stretch at rest |
//! | [`steps`] | steps of the height that no glider flies, taken off it first |
//! | [`flight`](crate::recording::flight) | take-off, launch, landing, gain |
//! | [`mod@crate::circling`] | how well each climb was centred |
//! | [`motion`] | an inertial sensor and a satellite receiver |
//! | [`energy_fit`] | the compensation and the delay that its own speed changes show |
//! | [`recorder`] | what the recorder's own vario read beside ours |
//! | `findings` | all that in plain words; `text` and the JSON show it |

mod findings;
mod flight_text;
pub mod gusts;
mod inspection;
pub mod motion;
pub mod noise;
pub(crate) mod picture;
pub mod recorder;
mod rest;
pub mod steps;
mod text;
pub mod timing;

pub use inspection::Inspection;

use crate::circling::{self, Circling};
use crate::error::{Error, Result};
use crate::felt::FeltSummary;
use crate::input::Input;
use crate::output::files::PlotFormat;
use crate::output::picture_file::PictureFile;
use crate::output::place::{Placed, place_all};
use crate::recording::Recording;
use crate::recording::energy_fit::{self, NoFit};
use crate::recording::flight::Flight;
use crate::recording::height_source::height_source;
use crate::recording::samples::Samples;
use crate::recording::smoother::Smoothed;
use crate::recording::track::Track;
use crate::recording::truth::smoothed_energy;
use crate::trace::columns::ColumnMap;
use crate::units::Units;
use crate::words::plural;
use chirrup_core::stages::{Energy, Polar};
use chirrup_core::{EnergySource, PipelineState, Sample, Settings, Speed};
use gusts::Gusts;
use motion::{InertialSensor, SatelliteReceiver};
use noise::{Channel, Noise};
use std::path::PathBuf;
use std::sync::atomic::{AtomicBool, Ordering};
use steps::Steps;
use timing::Timing;

/// So many segments of a trace are inspected.
const MOST_SEGMENTS: usize = 100;

/// The inspection to make and its outputs.
#[derive(Clone, Debug)]
pub struct Request {
    /// The traces.
    pub inputs: Vec<Input>,
    /// Which columns they are in.
    pub columns: ColumnMap,
    /// The only segment to inspect where a trace has several, the first being 1; else all.
    pub segment: Option<usize>,
    /// Checked settings; their polar, if any, makes the energy fit a little better.
    pub settings: Settings,
    /// The units in which people are told.
    pub units: Units,
    /// Where the picture of the last trace goes.
    pub plot: Option<(PathBuf, PlotFormat)>,
    /// The climb that the picture shows, the first being 1, instead of the recording.
    pub climb: Option<usize>,
    /// Where the smoothed energy height of the last trace goes.
    pub csv: Option<PathBuf>,
}

/// Inspects the traces one after another, and writes the requested files.
///
/// # Errors
/// The first trace that cannot be used, a file that cannot be written, or an interruption.
pub fn all(request: &Request, interrupted: &AtomicBool) -> Result<Vec<Inspection>> {
    let Request { inputs, columns, settings, .. } = request;
    // Before the work, so that a missing folder is reported at once.
    let plot = request.plot.as_ref().map(PictureFile::create).transpose()?;
    let csv = request.csv.as_deref().map(Placed::create).transpose()?;
    let mut inspections = Vec::new();
    let mut last = None;
    for input in inputs {
        let recording = Recording::read(input, columns, interrupted)?;
        let recording = recording.segment(request.segment)?;
        let (track, steps) = Steps::off(Track::of(&recording));
        let mut inspection = Inspection::of(&recording, &track, steps, settings);
        inspection.units = request.units;
        if request.segment.is_none() {
            inspection.segments = of_segments(&recording, settings, interrupted)?;
            inspection.segments.iter_mut().for_each(|one| one.units = request.units);
        }
        inspections.push(inspection);
        last = Some((recording, track));
    }
    let mut sealed = Vec::new();
    if let (Some((recording, track)), Some(inspection)) = (last, inspections.last()) {
        if let Some(plot) = plot {
            let svg = match request.climb {
                Some(number) => climb_picture(inspection, number)?,
                None => picture::draw(inspection, &track),
            };
            sealed.push(plot.write(&svg)?);
        }
        if let Some(file) = csv {
            sealed.push(file.seal_with(smoothed(&recording, settings)?.as_bytes())?);
        }
    }
    place_all(sealed)?;
    Ok(inspections)
}

/// Inspections of the segments of a trace in order, where there are several.
fn of_segments(
    recording: &Recording,
    settings: &Settings,
    interrupted: &AtomicBool,
) -> Result<Vec<Inspection>> {
    let mut all = Vec::new();
    if recording.segment.of == 1 {
        return Ok(all);
    }
    for segment in recording.all_segments().take(MOST_SEGMENTS) {
        if interrupted.load(Ordering::Relaxed) {
            return Err(Error::Interrupted);
        }
        let (track, steps) = Steps::off(Track::of(segment));
        all.push(Inspection::of(segment, &track, steps, settings));
    }
    Ok(all)
}

/// The picture of a climb, the first being 1.
fn climb_picture(inspection: &Inspection, number: usize) -> Result<String> {
    let climbs = &inspection.circling.climbs;
    let Some(climb) = climbs.iter().find(|climb| climb.number == number) else {
        let count = plural(inspection.flight.climbs.len() as u64, "climb");
        return Err(Error::Usage(format!(
            "--climb {number}: {} has {count} after its launch, counted from 1",
            inspection.trace
        )));
    };
    circling::picture::draw(climb, &inspection.units)
        .ok_or_else(|| Error::Usage(format!("--climb {number}: {}", climb.why_no_picture())))
}

/// The energy height and its rate as CSV, smoothed from the samples before and after.
fn smoothed(recording: &Recording, settings: &Settings) -> Result<String> {
    let energy =
        Energy::new(&settings.energy).map_err(|error| Error::Settings(error.to_string()))?;
    let (heights, smoothed) = smoothed_energy(recording, &energy);
    let Smoothed { height_m, speed_mps, q_m2ps3, r_m2 } = smoothed;
    let mut text = format!(
        "# smoothed with q = {q_m2ps3:e} m2/s3, r = {r_m2:e} m2\n\
         time_s,energy_height_m,smoothed_m,smoothed_mps\n"
    );
    for (place, height) in heights.values.iter().enumerate() {
        let time_s = heights.start_s + place as f64 * heights.step_s;
        text +=
            &format!("{time_s:.6},{height:.5},{:.5},{:.6}\n", height_m[place], speed_mps[place]);
    }
    Ok(text)
}

impl Inspection {
    /// Analyses a recording and its `track`, which has lost its `steps`. The glider's polar in the
    /// checked `settings` makes the energy fit a little better; an instrument with them judges an
    /// inertial sensor.
    pub fn of(recording: &Recording, track: &Track, steps: Steps, settings: &Settings) -> Self {
        // The settings are checked by now, so the polar is good.
        let polar = settings.polar.as_ref().and_then(|polar| Polar::new(polar).ok());
        let timing = Timing::of(&track.times_s);
        let flight = Flight::of(recording, track);
        let climbs: Vec<(f64, f64)> =
            flight.climbs.iter().map(|climb| (climb.from_s, climb.to_s)).collect();
        let rest_s = rest::of(track, &flight);
        let channel = |value: fn(&Sample) -> Option<f64>, step: f64| {
            let pairs = track.times_s.iter().zip(recording.samples.iter());
            let (times_s, values): (Vec<f64>, Vec<f64>) =
                pairs.filter_map(|(time, sample)| Some((*time, value(&sample)?))).unzip();
            let (times_s, values) = (&times_s, &values);
            let rate_hz = timing.rate_hz;
            Noise::of_channel(&Channel { times_s, values, step, rate_hz, rest_s })
        };
        let sources = [
            (EnergySource::Electronic, !track.kinetic_m.is_empty()),
            (EnergySource::Probe, !track.probe_m.is_empty()),
        ];
        let present = sources.iter().filter(|(_, there)| *there).map(|(source, _)| *source);
        let mut energy: Vec<_> =
            present.map(|source| energy_fit::fit(track, source, polar.as_ref())).collect();
        if energy.is_empty() {
            energy.push(Err(NoFit::NoSource));
        }
        energy.dedup_by(|a, b| a.is_err() && a == b);
        let mean_pa = recording.samples.iter().filter_map(|sample| static_pa(&sample)).sum::<f64>()
            / recording.samples.len() as f64;
        let pascals_per_metre = pascals_per_metre(mean_pa);
        let dynamic_pressure = channel(
            |sample| match sample.usable_speed() {
                Some(Speed::Dynamic(pressure)) => Some(f64::from(pressure.0)),
                _ => None,
            },
            0.0,
        );
        // A recorder that writes whole metres has steps of a metre.
        let step_pa = match recording.format {
            "igc" => noise::quantum(&track.altitude_m) * pascals_per_metre,
            _ => 0.0,
        };
        let mut inspection = Self {
            trace: recording.name.clone(),
            title: recording.title.clone(),
            segment: recording.segment.if_one_of_several(),
            segments: Vec::new(),
            static_pressure: channel(static_pa, step_pa),
            gusts: Gusts::of(dynamic_pressure.as_ref(), track),
            dynamic_pressure,
            probe_pressure: channel(
                |sample| sample.usable_te_pressure().map(|pressure| f64::from(pressure.0)),
                0.0,
            ),
            pascals_per_metre,
            steps,
            flight,
            circling: Circling::of(recording, track, &climbs),
            inertial: InertialSensor::of(recording.all()),
            felt: felt(recording.all(), settings),
            gnss: SatelliteReceiver::of(recording.all(), track),
            timing,
            heights: height_source(recording),
            contents: track.contents.words(),
            recorder: recorder::of(recording, &settings.energy),
            energy,
            partial_samples: recording.partial,
            left_out: recording.left_out,
            units: Units::default(),
            clock: recording.clock(),
            caution: recording.caution(),
            findings: Vec::new(),
        };
        let notes = recording.notes.iter().cloned();
        let told = inspection.caution.clone().into_iter().chain(findings::of(&inspection));
        inspection.findings = told.chain(notes).collect();
        inspection
    }
}

/// What an instrument with these settings makes of an inertial sensor; `None` without one.
fn felt(samples: &Samples, settings: &Settings) -> Option<FeltSummary> {
    let pipeline = settings.build().ok()?;
    let (mut state, mut felt) = (PipelineState::default(), FeltSummary::default());
    for sample in samples.iter() {
        felt.take(&pipeline.step(&mut state, &sample));
    }
    felt.finish();
    (!felt.is_empty()).then_some(felt)
}

fn static_pa(sample: &Sample) -> Option<f64> {
    sample.usable_static_pressure().map(|pressure| f64::from(pressure.0))
}

/// -dp/dH of the standard atmosphere at pressure `pressure_pa`.
fn pascals_per_metre(pressure_pa: f64) -> f64 {
    let altitude = chirrup_core::pressure_altitude(chirrup_core::Pascal(pressure_pa as f32));
    let temperature = chirrup_core::stages::temperature_at(altitude);
    pressure_pa * 9.80665 / (287.05287 * f64::from(temperature.0))
}
