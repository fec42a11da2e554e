//! The report for people: 100 columns at most.

use super::report::{EdgeReport, FlightError, Report};
use chirrup_core::estimator::FilterChoice;
use std::fmt::{self, Display, Formatter};

impl Display for Report {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        self.heading(f)?;
        self.still_air_lines(f)?;
        if let Some(caution) = self.caution() {
            writeln!(f, "\n{caution}")?;
        }
        self.edge_lines(f)?;
        self.ramp_lines(f)?;
        self.wave_lines(f)?;
        self.front_lines(f)?;
        self.flight_lines(f)
    }
}

/// A lag can be read off a climb of 1 m/s through so much trembling of the mean.
const READABLE_MPS: f64 = 0.1;

impl Report {
    /// The settings and the sensor, in a line each.
    pub(super) fn what(&self) -> [String; 2] {
        let settings = &self.settings;
        let filter = settings.filter.name();
        let noise = match settings.noise_m {
            0.0 => String::from("noise measured"),
            noise_m => format!("noise set to {noise_m} m"),
        };
        let runs = if self.seeds == 1 {
            String::from("one run")
        } else {
            format!("means of {} runs", self.seeds)
        };
        [
            format!("{}: {filter}, response {} s, {noise}", self.name, settings.response_s),
            format!("{} Hz, white noise of {} m rms, {runs}", self.rate_hz, self.sensor_noise_m),
        ]
    }

    fn heading(&self, f: &mut Formatter<'_>) -> fmt::Result {
        let [settings, sensor] = self.what();
        writeln!(f, "Settings  {settings}")?;
        writeln!(f, "Sensor    {sensor}")
    }

    fn still_air_lines(&self, f: &mut Formatter<'_>) -> fmt::Result {
        let still = &self.still_air;
        let beyond = 100.0 * still.beyond_climb_threshold_fraction;
        writeln!(f, "\nStill air")?;
        writeln!(f, "  noise of the reading              {:8.4} m/s rms", still.noise_mps)?;
        writeln!(
            f,
            "  beyond {:4.2} m/s, where beeps begin {beyond:7.3} % of the time",
            still.climb_from_mps
        )?;
        writeln!(
            f,
            "  the fixed filter of this noise    {:8.2} s response",
            still.equally_quiet_fixed_response_s
        )
    }

    /// Said where the mean of the runs still trembles too much for a lag to be read off a climb of
    /// 1 m/s.
    fn caution(&self) -> Option<String> {
        let trembles_mps = self.still_air.noise_mps / f64::from(self.seeds).sqrt();
        (trembles_mps > READABLE_MPS).then(|| {
            format!(
                "Caution: the mean of the runs still trembles by {trembles_mps:.2} m/s; lags of weak climbs mean little, and may\n\
                 come out negative. More --runs, or less --noise, gives better ones."
            )
        })
    }

    fn edge_lines(&self, f: &mut Formatter<'_>) -> fmt::Result {
        writeln!(
            f,
            "\nEdges of thermals: how long after the truth the mean reading is half and nine tenths there, in s,"
        )?;
        writeln!(f, "and how far it goes beyond; \"fixed\" is the fixed filter of the same noise")?;
        writeln!(
            f,
            "  climb    edge    to 50 %                   to 90 %                   overshoot"
        )?;
        writeln!(
            f,
            "  m/s         s    these   fixed   ratio     these   fixed   ratio     these   fixed"
        )?;
        self.edges.iter().try_for_each(|edge| edge_line(f, edge))
    }

    fn ramp_lines(&self, f: &mut Formatter<'_>) -> fmt::Result {
        let ramp = &self.ramp;
        writeln!(f, "\nSteady acceleration of {} m/s2", ramp.acceleration_mps2)?;
        writeln!(f, "  delay of these settings           {:8.2} s", ramp.delay_s)?;
        writeln!(f, "  delay of the fixed filter         {:8.2} s", ramp.fixed_delay_s)
    }

    fn wave_lines(&self, f: &mut Formatter<'_>) -> fmt::Result {
        let waves = &self.waves;
        let note = match self.settings.filter {
            FilterChoice::Fixed => "",
            FilterChoice::Adaptive => " (other amplitudes give other answers)",
        };
        writeln!(f, "\nSinusoidal vertical speed of {} m/s amplitude{note}", waves.amplitude_mps)?;
        writeln!(f, "             gain              phase lag, degrees")?;
        writeln!(f, "      Hz     these   fixed     these   fixed")?;
        waves.points.iter().try_for_each(|wave| {
            let (hz, gain, lag) = (wave.frequency_hz, wave.gain, wave.phase_lag_deg);
            let (fixed_gain, fixed_lag) = (wave.fixed_gain, wave.fixed_phase_lag_deg);
            writeln!(f, "  {hz:6.2}    {gain:6.3}  {fixed_gain:6.3}    {lag:6.0}  {fixed_lag:6.0}")
        })
    }

    fn front_lines(&self, f: &mut Formatter<'_>) -> fmt::Result {
        let (limit, still) = (&self.limit, &self.still_air);
        writeln!(
            f,
            "\nThe limit of fixed filters: noise against lag at the edge from 0 to 2 m/s within 1 s"
        )?;
        writeln!(f, "  response s   noise m/s   to 50 %, s   to 90 %, s")?;
        for point in &self.front {
            let (at_50, at_90) = (decimals(point.lag_50_s, 2), decimals(point.lag_90_s, 2));
            writeln!(
                f,
                "  {:10.2}   {:9.4}   {at_50:>10}   {at_90:>10}",
                point.response_s, point.noise_mps
            )?;
        }
        let at_90 = decimals(self.at_front_edge().and_then(|edge| edge.present.lag_90_s), 2);
        let at_50 = decimals(limit.lag_50_s, 2);
        writeln!(f, "  these        {:9.4}   {at_50:>10}   {at_90:>10}", still.noise_mps)?;
        if let (Some(response_s), Some(noise_mps)) =
            (limit.equally_quick_fixed_response_s, limit.equally_quick_fixed_noise_mps)
        {
            self.limit_line(f, "as quick to 50 %", response_s, noise_mps)?;
        }
        let what = format!("as late at {} m/s2", self.ramp.acceleration_mps2);
        self.limit_line(f, &what, self.ramp.delay_s, limit.fixed_noise_of_ramp_delay_mps)
    }

    fn limit_line(
        &self,
        f: &mut Formatter<'_>,
        what: &str,
        response_s: f64,
        noise_mps: f64,
    ) -> fmt::Result {
        let times = noise_mps / self.still_air.noise_mps;
        writeln!(
            f,
            "  A fixed filter {what} (response {response_s:.2} s) trembles by {noise_mps:.4} m/s, {times:.1} times as much."
        )
    }

    fn flight_lines(&self, f: &mut Formatter<'_>) -> fmt::Result {
        let flight = &self.flight;
        let minutes = flight.lasts_s / 60.0;
        writeln!(
            f,
            "\n{minutes:.0} minutes, half still air, half thermals of 1 to 5 m/s with 0.5 m/s rms of turbulence"
        )?;
        writeln!(
            f,
            "                                   response s   error m/s rms   still-air noise m/s rms"
        )?;
        flight_line(f, "these settings", &flight.present)?;
        flight_line(f, "best fixed filter, in hindsight", &flight.best_fixed)?;
        flight_line(f, "fixed filter of the same noise", &flight.equally_quiet_fixed)
    }
}

fn edge_line(f: &mut Formatter<'_>, report: &EdgeReport) -> fmt::Result {
    let EdgeReport { from_mps, to_mps, edge_s, present, fixed, .. } = report;
    let lags = |ours, theirs, ratio| {
        format!("{:>5}   {:>5}   {:>5}", decimals(ours, 2), decimals(theirs, 2), decimals(ratio, 2))
    };
    writeln!(
        f,
        "  {from_mps} to {to_mps}   {edge_s:4}    {}     {}     {:3.0} %   {:3.0} %",
        lags(present.lag_50_s, fixed.lag_50_s, report.lag_50_ratio),
        lags(present.lag_90_s, fixed.lag_90_s, report.lag_90_ratio),
        100.0 * present.overshoot_fraction,
        100.0 * fixed.overshoot_fraction,
    )
}

fn flight_line(f: &mut Formatter<'_>, name: &str, error: &FlightError) -> fmt::Result {
    let response = decimals(error.response_s, 2);
    let FlightError { error_mps, still_air_noise_mps, .. } = error;
    writeln!(f, "  {name:<32} {response:>10}   {error_mps:13.3}   {still_air_noise_mps:23.4}")
}

/// A number with so many decimals; a dash where there is none.
fn decimals(value: Option<f64>, count: usize) -> String {
    value.map_or_else(|| String::from("-"), |value| format!("{value:.count$}"))
}
