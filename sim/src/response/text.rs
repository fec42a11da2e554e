//! The report for people: 100 columns at most.

use super::report::{Answer, EdgeReport, FlightError, Report};
use crate::text_table::{Column, Table};
use chirrup_core::{FilterChoice, Settings};
use std::fmt::{self, Display, Formatter};

impl Display for Answer {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        match &self.still {
            Some(still) => write!(f, "{still}")?,
            None => writeln!(f, "Settings  {}", filter_words(&self.name, &self.settings))?,
        }
        if let Some(rough) = &self.rough {
            write!(f, "\n{rough}")?;
        }
        if let Some(pilots) = &self.pilots {
            write!(f, "\n{pilots}")?;
        }
        match &self.tuning {
            Some(tuning) => write!(f, "\n{tuning}"),
            None => Ok(()),
        }
    }
}

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

/// A lag can be read off a climb of 1 m/s through so much noise of the mean.
const READABLE_MPS: f64 = 0.1;

impl Report {
    /// The settings and the sensor, in a line each.
    pub(super) fn what(&self) -> [String; 2] {
        let runs = if self.seeds == 1 {
            String::from("one run")
        } else {
            format!("means of {} runs", self.seeds)
        };
        [
            filter_words(&self.name, &self.settings),
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

    /// Where the mean of the runs still has too much noise for a lag to be read off a climb of
    /// 1 m/s.
    fn caution(&self) -> Option<String> {
        let mean_noise_mps = self.still_air.noise_mps / f64::from(self.seeds).sqrt();
        (mean_noise_mps > READABLE_MPS).then(|| {
            format!(
                "Caution: the mean of the runs still has noise of {mean_noise_mps:.2} m/s; lags of \
                 weak climbs mean little, and may\n\
                 come out negative. More --runs, or less --noise, gives better ones."
            )
        })
    }

    fn edge_lines(&self, f: &mut Formatter<'_>) -> fmt::Result {
        writeln!(
            f,
            "\nEdges of thermals: how long after the truth the mean reading is half and nine \
             tenths there, in s,"
        )?;
        writeln!(f, "and how far it goes beyond; \"fixed\" is the fixed filter of the same noise")?;
        write!(f, "{}", self.edge_table())
    }

    fn edge_table(&self) -> Table {
        let columns = [
            Column::left("climb\nm/s").wide(6),
            Column::right("edge\ns"),
            Column::right("these").gap(4),
            Column::right("fixed"),
            Column::right("ratio"),
            Column::right("these").gap(5),
            Column::right("fixed"),
            Column::right("ratio"),
            Column::right("these").gap(5),
            Column::right("fixed"),
        ];
        let mut table =
            Table::new(columns).group(2, "to 50 %").group(5, "to 90 %").group(8, "overshoot");
        for edge in &self.edges {
            let EdgeReport { from_mps, to_mps, edge_s, present, fixed, .. } = edge;
            table.row([
                format!("{from_mps} to {to_mps}"),
                edge_s.to_string(),
                decimals(present.lag_50_s, 2),
                decimals(fixed.lag_50_s, 2),
                decimals(edge.lag_50_ratio, 2),
                decimals(present.lag_90_s, 2),
                decimals(fixed.lag_90_s, 2),
                decimals(edge.lag_90_ratio, 2),
                format!("{:.0} %", 100.0 * present.overshoot_fraction),
                format!("{:.0} %", 100.0 * fixed.overshoot_fraction),
            ]);
        }
        table
    }

    fn ramp_lines(&self, f: &mut Formatter<'_>) -> fmt::Result {
        let ramp = &self.ramp;
        writeln!(f, "\nSteady acceleration of {} m/s2", ramp.acceleration_mps2)?;
        writeln!(f, "  delay of these settings           {:8.2} s", ramp.delay_s)?;
        writeln!(f, "  delay of the fixed filter         {:8.2} s", ramp.fixed_delay_s)
    }

    fn wave_lines(&self, f: &mut Formatter<'_>) -> fmt::Result {
        let waves = &self.waves;
        let note = match self.settings.filter.choice {
            FilterChoice::Fixed => "",
            FilterChoice::Adaptive => " (other amplitudes give other answers)",
        };
        writeln!(f, "\nSinusoidal vertical speed of {} m/s amplitude{note}", waves.amplitude_mps)?;
        let columns = [
            Column::right("Hz").wide(6),
            Column::right("these").gap(5),
            Column::right("fixed"),
            Column::right("these").gap(5),
            Column::right("fixed"),
        ];
        let mut table = Table::new(columns).group(1, "gain").group(3, "phase lag, degrees");
        for wave in &waves.points {
            table.row([
                format!("{:.2}", wave.frequency_hz),
                format!("{:.3}", wave.gain),
                format!("{:.3}", wave.fixed_gain),
                format!("{:.0}", wave.phase_lag_deg),
                format!("{:.0}", wave.fixed_phase_lag_deg),
            ]);
        }
        write!(f, "{table}")
    }

    fn front_lines(&self, f: &mut Formatter<'_>) -> fmt::Result {
        let (limit, still) = (&self.limit, &self.still_air);
        writeln!(
            f,
            "\nThe limit of fixed filters: noise against lag at the edge from 0 to 2 m/s within 1 s"
        )?;
        let headings = ["response s", "noise m/s", "to 50 %, s", "to 90 %, s"];
        let mut table = Table::new(headings.map(Column::right));
        let mut row = |response: String, noise_mps: f64, lag_50_s, lag_90_s| {
            let noise = format!("{noise_mps:.4}");
            table.row([response, noise, decimals(lag_50_s, 2), decimals(lag_90_s, 2)]);
        };
        for point in &self.front {
            let response = format!("{:.2}", point.response_s);
            row(response, point.noise_mps, point.lag_50_s, point.lag_90_s);
        }
        let lag_90_s = self.at_front_edge().and_then(|edge| edge.present.lag_90_s);
        row(format!("{:<10}", "these"), still.noise_mps, limit.lag_50_s, lag_90_s);
        write!(f, "{table}")?;
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
            "  A fixed filter {what} (response {response_s:.2} s) has noise of {noise_mps:.4} \
             m/s, {times:.1} times as much."
        )
    }

    fn flight_lines(&self, f: &mut Formatter<'_>) -> fmt::Result {
        let flight = &self.flight;
        let minutes = flight.lasts_s / 60.0;
        writeln!(
            f,
            "\n{minutes:.0} minutes, half still air, half thermals of 1 to 5 m/s with 0.5 m/s \
             rms of turbulence"
        )?;
        let columns = [
            Column::left("").wide(32),
            Column::right("response s").gap(1),
            Column::right("error m/s rms"),
            Column::right("still-air noise m/s rms"),
        ];
        let mut table = Table::new(columns);
        let mut row = |name: &str, error: &FlightError| {
            table.row([
                name.to_owned(),
                decimals(error.response_s, 2),
                format!("{:.3}", error.error_mps),
                format!("{:.4}", error.still_air_noise_mps),
            ]);
        };
        row("these settings", &flight.present);
        row("best fixed filter, in hindsight", &flight.best_fixed);
        row("fixed filter of the same noise", &flight.equally_quiet_fixed);
        write!(f, "{table}")
    }
}

/// The name of the settings, and their filter.
pub(super) fn filter_words(name: &str, settings: &Settings) -> String {
    let filter = &settings.filter;
    let noise = match filter.noise_m {
        0.0 => String::from("noise measured"),
        noise_m => format!("noise set to {noise_m} m"),
    };
    format!("{name}: {}, response {} s, {noise}", filter.choice.name(), filter.response_s)
}

/// A number with so many decimals; a dash where there is none.
fn decimals(value: Option<f64>, count: usize) -> String {
    value.map_or_else(|| String::from("-"), |value| format!("{value:.count$}"))
}
