//! The report as one HTML file: text, tables and pictures inside it, nothing fetched; good on a
//! screen, a telephone and paper.

use super::climbs::Listed;
use crate::inspect::Inspection;
use crate::output::plot::svg::escaped;
use crate::summary::Summary;
use crate::time::Clock;
use std::fmt::Write;

/// What a report is made of.
pub struct Parts<'a> {
    /// The replay's summary.
    pub summary: &'a Summary,
    /// The inspection of the recording.
    pub inspection: &'a Inspection,
    /// Time of the running average, in seconds.
    pub average_s: f32,
    /// Every climb.
    pub climbs: &'a [Listed],
    /// The replay's picture and the inspection's, as SVG.
    pub pictures: [&'a str; 2],
    /// File name of the sound beside the page.
    pub sound: Option<&'a str>,
}

/// Climbs that are listed one by one; smaller ones are only counted.
const LISTED_M: f64 = 50.0;

/// Height gains and duration of the badges: FAI Sporting Code, section 3, from memory.
const BADGES: [(&str, f64); 3] = [("Silver", 1000.0), ("Gold", 3000.0), ("Diamond", 5000.0)];
const SILVER_DURATION_S: f64 = 5.0 * 3600.0;

/// The text of the page.
pub fn html(parts: &Parts<'_>) -> String {
    let title = escaped(&parts.inspection.title);
    let mut page = format!(
        "<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n<meta \
         name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n\
         <title>{title}</title>\n<style>{STYLE}</style>\n</head>\n\
         <body>\n<main>\n<h1>{title}</h1>\n"
    );
    facts(&mut page, parts);
    if let Some(sound) = parts.sound {
        let _ = writeln!(
            page,
            "<p><audio controls preload=\"none\" src=\"{0}\">{0}</audio><br>The sound: <a \
             href=\"{0}\">{0}</a>, beside this page.</p>",
            escaped(sound)
        );
    }
    figure(&mut page, parts.pictures[0], "Height, vertical speed and tone");
    climbs(&mut page, parts);
    health(&mut page, parts);
    figure(&mut page, parts.pictures[1], "Intervals between samples, and noise by averaging time");
    page.push_str(
        "<p class=\"small\">Made by chirrup report. A hobby instrument's bench: not certified, and \
         no evidence for a badge; that is for an approved recorder \
         and an official observer. Keep the lookout.</p>\n</main>\n</body>\n</html>\n",
    );
    page
}

const STYLE: &str = "\
:root{color-scheme:light}body{margin:0;background:#faf9f5;\
color:#1d2733;font:1rem/1.5 system-ui,sans-serif}\
main{max-width:62rem;margin:auto;padding:1rem}h1{font-size:1.6rem;overflow-wrap:anywhere}\
h2{font-size:1.2rem;margin-top:2rem}\
table{border-collapse:collapse;width:100%}th,td{text-align:left;\
padding:.25rem .75rem .25rem 0;border-bottom:1px solid #d5d9dd;vertical-align:top}\
.scroll{overflow-x:auto}td.n,th.n{text-align:right;font-variant-numeric:tabular-nums}\
figure{margin:1.5rem 0}figure svg{width:100%;min-width:40rem;height:auto}\
figcaption,.small{color:#4a5560;font-size:.9rem}audio{width:100%}\
@media print{body{background:#fff}main{max-width:none;padding:0}audio{display:none}figure \
svg{min-width:0}h2,figure,tr{break-inside:avoid}h2{break-after:avoid}}";

fn facts(page: &mut String, parts: &Parts<'_>) {
    let Parts { summary, inspection, climbs, .. } = parts;
    let flight = &inspection.flight;
    let utc = if summary.utc_at_zero_s.is_some() { " UTC" } else { "" };
    let clock = |seconds: f64| time_of(parts, seconds) + utc;
    let mut rows: Vec<(&str, String)> = Vec::new();
    if let Some(date) = &summary.date {
        rows.push(("Date", date.clone()));
    }
    rows.push((
        "Recording",
        format!(
            "{} over {}, {:.1} samples a second",
            inspection.timing.samples,
            Clock(inspection.timing.duration_s),
            inspection.timing.rate_hz
        ),
    ));
    if let Some(segment) = inspection.segment {
        rows.push(("Part of the file", segment.to_string()));
    }
    if let Some(take_off_s) = flight.take_off_s {
        rows.push(("Take-off", clock(take_off_s)));
    }
    if let Some(launch) = &flight.launch {
        rows.push((
            "Launch",
            format!(
                "{}, {:.0} m in {}, at most {:.1} m/s over 10 s",
                launch.kind,
                launch.gain_m,
                Clock(launch.lasts_s),
                launch.best_climb_mps
            ),
        ));
    }
    if let Some(landing_s) = flight.landing_s {
        rows.push(("Landing", clock(landing_s)));
    }
    let lasts_s = flight.take_off_s.zip(flight.landing_s).map(|(from, to)| to - from);
    if let Some(lasts_s) = lasts_s {
        rows.push(("Time in the air", Clock(lasts_s).to_string()));
    }
    rows.push((
        "Height",
        format!("{:.0} to {:.0} m (standard atmosphere)", flight.lowest_m, flight.highest_m),
    ));
    rows.push(("Best gain", gain(flight.best_gain_m, lasts_s)));
    let in_climb: f64 = climbs.iter().map(|climb| climb.to_s - climb.from_s).sum();
    let share = 100.0 * in_climb / inspection.timing.duration_s.max(1.0);
    rows.push((
        "Climbs",
        format!("{}, {} in them ({share:.0} % of the recording)", climbs.len(), Clock(in_climb)),
    ));
    page.push_str("<table>\n");
    for (name, value) in rows {
        let _ =
            writeln!(page, "<tr><th scope=\"row\">{name}</th><td>{}</td></tr>", escaped(&value));
    }
    page.push_str("</table>\n");
}

fn gain(gain_m: f64, lasts_s: Option<f64>) -> String {
    let badge = BADGES.iter().rev().find(|(_, height_m)| gain_m >= *height_m);
    let mut text = format!("{gain_m:.0} m from a low point to a later high point");
    if let Some((name, height_m)) = badge {
        let _ = write!(text, "; enough for the {name} badge's gain of height ({height_m:.0} m)");
    }
    if lasts_s.is_some_and(|lasts_s| lasts_s >= SILVER_DURATION_S) {
        text.push_str("; in the air for the Silver badge's five hours");
    }
    if badge.is_some() || lasts_s.is_some_and(|lasts_s| lasts_s >= SILVER_DURATION_S) {
        text.push_str(" (FAI Sporting Code, section 3, from memory)");
    }
    text
}

fn climbs(page: &mut String, parts: &Parts<'_>) {
    let _ = writeln!(page, "<h2>Climbs of {LISTED_M:.0} m and more</h2>");
    let listed = || parts.climbs.iter().filter(|climb| climb.gain_m >= LISTED_M);
    if listed().next().is_none() {
        page.push_str("<p>None.</p>\n");
        return;
    }
    let utc = if parts.summary.utc_at_zero_s.is_some() { " (UTC)" } else { "" };
    let _ = writeln!(
        page,
        "<div class=\"scroll\"><table>\n<tr><th scope=\"col\">from{utc}</th><th \
         scope=\"col\">to</th><th scope=\"col\" class=\"n\">gain (m)</th>\
         <th scope=\"col\" class=\"n\">average (m/s)</th><th scope=\"col\" class=\"n\">best over \
         {} s</th></tr>",
        parts.average_s
    );
    for climb in listed() {
        let best = climb.best_mps.map_or_else(String::new, |best| format!("{best:+.1}"));
        let _ = writeln!(
            page,
            "<tr><td>{}</td><td>{}</td><td class=\"n\">{:.0}</td><td class=\"n\">{:+.1}</td><td \
             class=\"n\">{best}</td></tr>",
            time_of(parts, climb.from_s),
            time_of(parts, climb.to_s),
            climb.gain_m,
            climb.average_mps
        );
    }
    page.push_str("</table></div>\n");
}

fn health(page: &mut String, parts: &Parts<'_>) {
    page.push_str("<h2>The sensors</h2>\n<ul>\n");
    let inspection = parts.inspection;
    let channels = [
        ("Static pressure", &inspection.static_pressure),
        ("Impact pressure", &inspection.dynamic_pressure),
        ("Probe", &inspection.probe_pressure),
    ];
    for (name, noise) in channels {
        if let Some(noise) = noise {
            let most = if noise.is_told_from_flight() { "" } else { "at most " };
            let _ = writeln!(
                page,
                "<li>{name}: {most}{:.2} Pa of white noise, {}</li>",
                noise.at_most(),
                noise.pace()
            );
        }
    }
    let faults = parts.summary.faults.iter().map(|fault| {
        format!(
            "{}: {} samples, first at line {}",
            fault.what.replace('_', " "),
            fault.count,
            fault.first_line
        )
    });
    for said in inspection.findings.iter().cloned().chain(faults) {
        let _ = writeln!(page, "<li>{}</li>", escaped(&said));
    }
    page.push_str("</ul>\n");
}

fn figure(page: &mut String, svg: &str, caption: &str) {
    // Inside a page an SVG has no XML declaration.
    let svg = svg.find("<svg").map_or(svg, |start| &svg[start..]);
    let _ = writeln!(
        page,
        "<figure><div class=\"scroll\">{svg}</div><figcaption>{caption}</figcaption></figure>"
    );
}

/// A moment by the clock where the trace knows it, else in the trace's own time.
fn time_of(parts: &Parts<'_>, seconds: f64) -> String {
    match parts.summary.utc_at_zero_s {
        Some(zero_s) => Clock((zero_s + seconds).rem_euclid(86_400.0)).to_string(),
        None => Clock(seconds).to_string(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn badges_are_named_from_their_height_on() {
        assert_eq!(gain(999.0, None), "999 m from a low point to a later high point");
        assert!(gain(1000.0, None).contains("Silver") && gain(4999.0, None).contains("Gold"));
        assert!(
            gain(5000.0, Some(18_000.0)).contains("Diamond")
                && gain(10.0, Some(18_000.0)).contains("five hours")
        );
    }

    #[test]
    fn what_a_file_is_called_is_text_and_no_markup() {
        assert_eq!(escaped("<b>&\"x\""), "&lt;b&gt;&amp;&quot;x&quot;");
    }
}
