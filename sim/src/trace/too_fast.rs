//! Whether pressures would be a climb or a sink as no glider has it: heights that look like
//! hectopascals, or times whose unit is another.

use super::clock::Clock;
use super::header::Header;
use super::number::{self, Field};

/// Nobody climbs or sinks so fast for most of the first rows (a guess). A climb of 2 m/s in metres,
/// read as hectopascals, is a sink of 15 to 16 m/s near 1000.
const MOST_MPS: f64 = 12.0;
/// Rates are those over this time, s, so that noise does not count; over half of the first rows
/// where they are shorter.
const OVER_S: f64 = 1.0;
/// Height for a change of the pressure by its own value, m: R T / g at the freezing point.
const SCALE_M: f64 = 8_000.0;
/// Fewer rates show nothing.
const FEWEST: usize = 3;

/// The middle one of the rates of climb, where most are too fast, all up or all down.
pub(super) fn rate_mps(
    header: &Header<'_>,
    pressure: usize,
    (time, clock): (usize, &Clock),
) -> Option<f64> {
    let mut clock = clock.clone();
    let times = header.first.column(time);
    let mut rows: Vec<(f64, f64)> = Vec::new();
    for (line, text) in header.first.column(pressure) {
        let Some((_, moment)) = times.iter().find(|(of, _)| *of == line) else { continue };
        let (Ok(moment), Field::Value(value)) =
            (clock.read(moment), number::field(&text, header.style))
        else {
            continue;
        };
        rows.push((moment as f64 * 1e-6, value));
    }
    let mut rates = rates_mps(&rows);
    rates.sort_by(f64::total_cmp);
    let up = rates.iter().filter(|rate| **rate > MOST_MPS).count();
    let down = rates.iter().filter(|rate| **rate < -MOST_MPS).count();
    (rates.len() >= FEWEST && 2 * up.max(down) > rates.len()).then(|| rates[rates.len() / 2])
}

fn rates_mps(rows: &[(f64, f64)]) -> Vec<f64> {
    let (Some(first), Some(last)) = (rows.first(), rows.last()) else { return Vec::new() };
    let over_s = OVER_S.min((last.0 - first.0) / 2.0);
    let rate = |(place, (from_s, before)): (usize, &(f64, f64))| {
        let later = rows[place + 1..].iter().find(|(to_s, _)| to_s - from_s >= over_s)?;
        let rate = SCALE_M * (before / later.1).ln() / (later.0 - from_s);
        rate.is_finite().then_some(rate)
    };
    rows.iter().enumerate().filter_map(rate).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Rows of half a second from 988 on, each `step` more.
    fn rates(step: f64) -> Vec<f64> {
        let rows = (0..20).map(|row| (0.5 * f64::from(row), 988.0 + step * f64::from(row)));
        rates_mps(&rows.collect::<Vec<_>>())
    }

    #[test]
    fn a_climb_in_metres_is_too_fast_a_sink_in_hectopascals() {
        // 1.4 m in half a second: 1.4 hPa there are 11 m.
        assert!(rates(1.4).iter().all(|rate| (-24.0..-18.0).contains(rate)));
        // 2 m/s, in hectopascals.
        assert!(rates(-0.12).iter().all(|rate| (1.8..2.2).contains(rate)));
    }
}
