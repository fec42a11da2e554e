//! `chirrup report`: the page of a flight, and of two; what a browser makes of it is in
//! `sim/web/test/flight.test.mjs`.

use crate::support::{complaint, folder, path, run, write};
use std::fs;

const RECORDINGS: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../recordings");

fn recording(name: &str) -> String {
    format!("{RECORDINGS}/{name}.csv")
}

/// The page that `report` makes with these words before the output.
fn page(args: &[&str]) -> String {
    let folder = folder();
    let file = path(&folder, "page.html");
    run(&[&["report"], args, &["-o", &file]].concat());
    fs::read_to_string(file).expect("it was written")
}

/// Text of the page without its scripts and data.
fn words(page: &str) -> String {
    let mut kept = String::new();
    let mut rest = page;
    while let Some(start) = rest.find("<script") {
        kept += &rest[..start];
        let end = rest[start..].find("</script>").expect("a script ends");
        rest = &rest[start + end..];
    }
    kept + rest
}

#[test]
fn a_page_is_one_file_that_fetches_nothing() {
    let folder = folder();
    let (file, wav) = (path(&folder, "page.html"), path(&folder, "flight.wav"));
    run(&["report", &recording("demo-flight"), "-o", &file, "--wav", &wav]);
    let html = fs::read_to_string(&file).expect("it is there");
    for part in [
        "<h1>demo-flight.csv</h1>",
        "winch",
        "Climbs after release",
        "The sensors",
        "Not certified",
        "src=\"./flight.wav\"",
    ] {
        assert!(html.contains(part), "{part} is not in the page");
    }
    assert_eq!(html.matches("<svg").count(), 3);
    let fetched = html.replace("http://www.w3.org/2000/svg", "");
    assert!(!fetched.contains("http://") && !fetched.contains("https://"), "it fetches something");
    assert!(fs::metadata(&wav).expect("it is there").len() > 1_000_000);
}

#[test]
fn two_flights_stand_side_by_side() {
    let html = page(&[&recording("winch-and-circuit"), &recording("aerotow-and-thermal")]);
    let text = words(&html);
    assert!(text.contains("<h1>winch-and-circuit.csv and aerotow-and-thermal.csv</h1>"));
    for row in ["<td>winch</td><td>tow</td>", "mean climb", "sink of the glides"] {
        assert!(text.contains(row), "{row}");
    }
    assert_eq!(text.matches("<article").count(), 2);
    assert_eq!(text.matches(">Together</text>").count(), 1);
}

#[test]
fn the_pilots_units_are_in_every_figure_and_the_samples_stay_what_they_are() {
    let trace = recording("aerotow-and-thermal");
    let metric = page(&[&trace]);
    let other = page(&[
        &trace,
        "--settings",
        "units.climb=kt,units.height=ft,units.speed=mph,response_s=1",
    ]);
    let text = words(&other);
    for there in ["mean (kt)", "gain (ft)", "Pressure altitude (ft)", "Mean vertical speed (kt)"] {
        assert!(text.contains(there), "{there}");
    }
    let facts = &text[text.find("<table class=\"facts\">").expect("facts")..];
    let facts = &facts[..facts.find("</table>").expect("an end")];
    assert!(!facts.contains(" m/s") && !facts.contains(" m "), "{facts}");
    // Each gain of the table is that of the other page in feet, within half a unit of both.
    let gains = |page: &str| -> Vec<f64> {
        let text = words(page);
        let rows = text.split("<tr>").chain(text.split("<tr class=\"best\">"));
        let cell =
            |row: &str| row.split("<td class=\"n\">").nth(2)?.split('<').next()?.parse().ok();
        rows.filter_map(cell).collect()
    };
    let (metres, feet) = (gains(&metric), gains(&other));
    assert!(!metres.is_empty() && metres.len() == feet.len(), "{metres:?} {feet:?}");
    for (metres, feet) in metres.iter().zip(&feet) {
        assert!((metres / 0.3048 - feet).abs() <= 0.5 / 0.3048 + 0.5, "{metres} m, {feet} ft");
    }
    let samples = |page: &str| {
        let start = page.find("class=\"samples\">").expect("samples");
        page[start..].split('<').next().expect("text").to_owned()
    };
    assert_eq!(samples(&metric), samples(&other));
}

#[test]
fn names_are_text_and_nothing_else() {
    let folder = folder();
    let text = fs::read_to_string(recording("spin")).expect("a recording");
    let trace = write(&folder, "<b onclick=alert(1)>&'\".csv", text);
    let file = path(&folder, "page.html");
    run(&["report", &trace, "-o", &file]);
    let html = fs::read_to_string(file).expect("it was written");
    assert!(!html.contains("<b onclick"), "a name is markup");
    assert!(html.contains("&lt;b onclick"), "the name is there");
}

#[test]
fn what_follows_the_stick_is_said_at_once() {
    let folder = folder();
    let rows: String = (0..2_000)
        .map(|row| format!("{},{}\n", f64::from(row) * 0.1, 90_000.0 - 2.0 * f64::from(row % 400)))
        .collect();
    let trace = write(&folder, "static.csv", format!("time_s,static_pa\n{rows}"));
    let html = page(&[&trace]);
    assert!(words(&html).contains("the sound follows the stick"));
}

#[test]
fn a_page_is_not_written_over_its_trace_nor_half_of_it_anywhere() {
    let folder = folder();
    let trace = write(&folder, "flight.csv", "time_s,static_pa\n0,no\n");
    let file = path(&folder, "page.html");
    let wav = path(&folder, "flight.wav");
    complaint(&["report", &trace, "-o", &file, "--wav", &wav], 1);
    let left: Vec<_> = fs::read_dir(folder.path()).expect("a folder").collect();
    assert_eq!(left.len(), 1, "{left:?}");
}

#[test]
fn a_replay_and_its_picture_speak_the_pilots_units_and_its_figures_stay_si() {
    let folder = folder();
    let (trace, picture) = (recording("aerotow-and-thermal"), path(&folder, "flight.svg"));
    let units = "units.climb=ft/min,units.height=ft,units.speed=kt";
    let said = run(&["replay", &trace, "--settings", units, "--plot", &picture]);
    for there in [" ft\n", " kt\n", " ft/min"] {
        assert!(said.contains(there), "{there:?} in {said}");
    }
    assert!(!said.contains(" m/s") && !said.contains(" m\n"), "{said}");
    let drawn = fs::read_to_string(&picture).expect("it was written");
    for there in ["Pressure altitude (ft)", "Vertical speed (ft/min)"] {
        assert!(drawn.contains(there), "{there}");
    }
    let json = |options: &[&str]| {
        let said = run(&[&["replay", &trace, "--json"], options].concat());
        let mut figures: serde_json::Value = serde_json::from_str(&said).expect("JSON");
        figures["instruments"][0]["name"].take();
        figures
    };
    assert_eq!(json(&["--settings", units]), json(&[]));
}

#[test]
fn an_inspection_speaks_the_pilots_units_and_its_figures_stay_si() {
    let trace = recording("aerotow-and-thermal");
    let units = "units.climb=kt,units.height=ft,units.speed=kt";
    let said = run(&["inspect", &trace, "--settings", units]);
    let of_flight = ["  height ", "  take-off", "  release", "  climbs", "  climb 1", "  duration"];
    let lines: Vec<&str> =
        said.lines().filter(|line| of_flight.iter().any(|start| line.starts_with(start))).collect();
    assert!(lines.len() >= 4, "{said}");
    for line in lines {
        assert!(line.contains(" ft"), "{line}");
        assert!(!line.contains(" m/s") && !line.contains(" m "), "{line}");
    }
    let json = |options: &[&str]| run(&[&["inspect", &trace, "--json"], options].concat());
    assert_eq!(json(&["--settings", units]), json(&[]));
}
