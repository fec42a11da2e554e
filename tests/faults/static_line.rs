//! `check_static` is said of a blocked static line, and of no flight whose line is open.

use crate::support::{Table, chirrup, folder, path, real_flight, run};
use std::path::Path;

/// The times at which a replay of `trace` says `check_static`, s.
fn suspected_at(trace: &Path, more: &[&str]) -> Vec<f64> {
    let mut args = vec!["replay", trace.to_str().expect("the path is text"), "--csv", "-"];
    args.extend(more);
    let table = Table::read(&run(&args));
    let times = table.column("time_s").iter().zip(&table.status);
    times.filter(|(_, status)| *status == "check_static").map(|(time_s, _)| *time_s).collect()
}

#[test]
fn our_recordings_are_not_suspected() {
    let recordings = Path::new(env!("CARGO_MANIFEST_DIR")).join("../recordings");
    let mut read = 0;
    for entry in std::fs::read_dir(recordings).expect("the recordings are there") {
        let file = entry.expect("it is there").path();
        if file.extension().is_none_or(|extension| extension != "csv") {
            continue;
        }
        read += 1;
        // One has a line that is blocked for a minute, but in a thermal, which takes the airspeed
        // below flying speed: 20 s are left.
        let at = suspected_at(&file, &[]);
        assert!(at.is_empty(), "{}: {at:?}", file.display());
    }
    assert!(read > 10, "{read} recordings");
}

#[test]
fn flights_in_rough_air_are_not_suspected() {
    let folder = folder();
    for scenario in ["rough-glide", "rough-thermals", "rough-entries", "cloud-street", "ridge"] {
        let trace = path(&folder, "flight.csv");
        chirrup().args(["fly", scenario, "--seed", "2", "-o", &trace]).assert().success();
        assert_eq!(suspected_at(Path::new(&trace), &[]), [0.0; 0], "{scenario}");
        // The same with a blocked line, for which half a minute of sink or climb is needed.
        let more = ["--inject", "static-blocked@3:00,90"];
        let at = suspected_at(Path::new(&trace), &more);
        assert!(at.iter().all(|at| (209.9..274.0).contains(at)), "{scenario}: {at:?}");
        assert!(scenario != "rough-glide" || at.len() > 100, "{scenario}: {at:?}");
    }
}

#[test]
fn no_real_flight_is_suspected() {
    let columns = ["--columns", "time=t_s,static=p_pa,ias=eas_mps"];
    for (name, more) in
        [("sailplane-1hz-tas-vat.igc", &[][..]), ("fixedwing-72hz-pressure-eas.csv", &columns)]
    {
        let Some(flight) = real_flight(name) else { return };
        assert_eq!(suspected_at(&flight, more), [0.0; 0], "{name}");
    }
}
