//! An inspection as text.

use super::Inspection;
use super::flight_text::{self, Told};
use super::gusts::Gusts;
use super::motion::{InertialSensor, SatelliteReceiver};
use super::noise::{AtRest, Noise};
use crate::circling;
use crate::recording::energy_fit::{COVERS_95, EnergyFit, Late};
use crate::segments::Segment;
use crate::time::Clock;
use crate::words::one_line;
use std::fmt;

impl fmt::Display for Inspection {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.segments.is_empty() {
            return self.one(f);
        }
        for (place, segment) in self.segments.iter().enumerate() {
            f.write_str(if place > 0 { "\n" } else { "" })?;
            segment.one(f)?;
        }
        let (shown, of) = (self.segments.len(), self.segment.map_or(0, |segment| segment.of));
        if shown < of {
            writeln!(f, "\n{} more segments; --segment N shows one of them", of - shown)?;
        }
        Ok(())
    }
}

impl Inspection {
    /// This segment.
    fn one(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let timing = &self.timing;
        write!(f, "{}", self.trace)?;
        if let Some(Segment { number, of, .. }) = self.segment {
            write!(f, ", segment {number} of {of}")?;
        }
        writeln!(f, ": {} samples over {}", timing.samples, Clock(timing.duration_s))?;
        if let Some(caution) = &self.caution {
            writeln!(f, "  CAUTION       {caution}")?;
        }
        writeln!(
            f,
            "  rate          {:.1} a second, interval {:.0} ms ± {:.1} ms, shortest {:.1} ms, \
             longest {:.0} ms",
            timing.rate_hz,
            1e3 * timing.median_interval_s,
            1e3 * timing.jitter_s,
            1e3 * timing.shortest_s,
            1e3 * timing.longest_s
        )?;
        for (name, channel) in [
            ("static", &self.static_pressure),
            ("dynamic", &self.dynamic_pressure),
            ("probe", &self.probe_pressure),
        ] {
            if let Some(noise) = channel {
                self.channel(f, name, noise)?;
            }
        }
        self.gusts.iter().try_for_each(|of| gusts(f, of))?;
        flight_text::write(f, &self.flight, &Told { units: self.units, clock: self.clock })?;
        for recorder in &self.recorder {
            writeln!(f, "  recorder      {recorder}")?;
        }
        self.climbs(f)?;
        self.inertial.iter().try_for_each(|sensor| inertial(f, sensor))?;
        if let Some(felt) = &self.felt {
            writeln!(f, "  instrument    would have it {}", felt.shares())?;
        }
        self.gnss.iter().try_for_each(|receiver| gnss(f, receiver))?;
        for fit in self.energy.iter().flatten() {
            energy(f, fit)?;
        }
        let is_said = |finding: &&String| Some(*finding) == self.caution.as_ref();
        for finding in self.findings.iter().filter(|finding| !is_said(finding)) {
            writeln!(f, "  note          {}", one_line(finding))?;
        }
        Ok(())
    }
}

impl Inspection {
    fn channel(&self, f: &mut fmt::Formatter<'_>, name: &str, noise: &Noise) -> fmt::Result {
        let metres = |pressure: f64| pressure / self.pascals_per_metre;
        let at_most = if noise.is_told_from_flight() { "" } else { "at most " };
        write!(
            f,
            "  {name:<13} white noise {at_most}{:.2} Pa ({:.3} m)",
            noise.at_most(),
            metres(noise.at_most())
        )?;
        if let Some(above) = noise.above_1_hz {
            let gusts = if name == "static" { "" } else { " with gusts" };
            write!(f, ", {above:.2} Pa rms above 1 Hz{gusts}")?;
        }
        if noise.quantum > 0.0 {
            write!(f, ", steps of {} Pa", (noise.quantum * 1e4).round() / 1e4)?;
        }
        writeln!(f, ", {}", noise.pace())?;
        noise.at_rest.iter().try_for_each(|rest| at_rest(f, name, rest))
    }

    /// How the climbs were centred of which more than the height is known.
    fn climbs(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let circled = self.circling.climbs.iter().filter(|climb| climb.circles().is_some());
        let units = &self.units;
        for climb in circled {
            writeln!(
                f,
                "  {:<13} at {}{} for {}, {} at {}",
                format!("climb {}", climb.number),
                climb.clock.at(climb.from_s),
                climb.clock.kind(),
                Clock(climb.to_s - climb.from_s),
                units.height(climb.gain_m),
                units.climb(climb.mean_climb_mps)
            )?;
            for line in circling::text::lines(climb, units) {
                writeln!(f, "  {:<13} {line}", "")?;
            }
        }
        Ok(())
    }
}

fn gusts(f: &mut fmt::Formatter<'_>, gusts: &Gusts) -> fmt::Result {
    let Gusts { within_1_s_pa, within_1_s_mps } = *gusts;
    if within_1_s_pa > 0.0 {
        writeln!(
            f,
            "  gusts         move the airspeed by {within_1_s_mps:.2} m/s rms within a second \
             ({within_1_s_pa:.1} Pa), told from its white noise"
        )
    } else {
        writeln!(f, "  gusts         do not show above the white noise of the airspeed")
    }
}

fn at_rest(f: &mut fmt::Formatter<'_>, name: &str, rest: &AtRest) -> fmt::Result {
    let AtRest { from_s, for_s, flicker, drift_per_min, .. } = rest;
    let label = format!("{name} rest");
    write!(f, "  {label:<13} from {} for {for_s:.0} s: ", Clock(*from_s))?;
    match flicker {
        Some(flicker) => write!(f, "flicker of {flicker:.2} Pa")?,
        None => write!(f, "no flicker shows above the white noise")?,
    }
    match drift_per_min {
        Some(drift) => writeln!(f, ", drift of {drift:+.2} Pa a minute"),
        None => writeln!(f, ", no drift"),
    }
}

/// The intervals cover 95 %.
fn energy(f: &mut fmt::Formatter<'_>, fit: &EnergyFit) -> fmt::Result {
    let EnergyFit { source, percent, percent_error, late, manoeuvres, explained, .. } = fit;
    let (within, explained) = (COVERS_95 * percent_error, 100.0 * explained);
    write!(f, "  {source:<13} fits a compensation of {percent:.1} ± {within:.1} %")?;
    if let Some(Late { ms, error_ms, .. }) = late {
        write!(f, ", {ms:.0} ± {:.0} ms late", COVERS_95 * error_ms)?;
    }
    writeln!(
        f,
        " (95 % sure); {manoeuvres} segments with speed changes, {explained:.1} % explained"
    )
}

fn inertial(f: &mut fmt::Formatter<'_>, sensor: &InertialSensor) -> fmt::Result {
    let InertialSensor { rate_hz, vibration_mps2, largest_mps2, down, down_off_deg, .. } = sensor;
    writeln!(
        f,
        "  inertial      {rate_hz:.1} a second, vibration {vibration_mps2:.2} m/s2 rms above \
         5 Hz, largest force of an axis {largest_mps2:.1} m/s2; its {down} axis points down, \
         {down_off_deg:.1} degrees off"
    )?;
    let Some(rest) = sensor.at_rest else { return Ok(()) };
    let [x, y, z] = rest.gyro_bias_dps;
    writeln!(
        f,
        "  at rest       from {} for {:.0} s: turn rates about x, y, z {x:+.2}, {y:+.2}, {z:+.2} \
         degrees a second (its biases), force {:+.2} m/s2 against gravity",
        Clock(rest.from_s),
        rest.for_s,
        rest.too_much_mps2
    )
}

fn gnss(f: &mut fmt::Formatter<'_>, receiver: &SatelliteReceiver) -> fmt::Result {
    write!(f, "  satellites    {:.1} velocities a second", receiver.rate_hz)?;
    if let (Some(delay_s), Some(differs_mps)) = (receiver.delay_s, receiver.differs_mps) {
        write!(f, ", {delay_s:.2} s late, {differs_mps:.2} m/s rms off the pressure's")?;
    }
    writeln!(f)
}
