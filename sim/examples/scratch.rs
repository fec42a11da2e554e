#![allow(missing_docs, clippy::print_stdout)]
use chirrup::input::Input;
use chirrup::inspect::*;
use chirrup::recording::Recording;
use chirrup_core::energy::EnergySource;
use std::path::Path;
use std::sync::atomic::AtomicBool;
fn main() {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let columns = args.get(1).map(|c| c.parse().unwrap()).unwrap_or_default();
    let r = Recording::read(&Input::new(Path::new(&args[0])), &columns, &AtomicBool::new(false)).unwrap();
    let t = timing::Timing::of(&r.times_s());
    println!("{t:?}");
    let p: Vec<f64> = r.samples.iter().map(|s| f64::from(s.static_pressure.0)).collect();
    println!("{:?}", noise::Noise::of(&r.times_s(), &p, t.rate_hz));
    let tr = track::Track::of(&r);
    let now = std::time::Instant::now();
    println!("{:?}", energy_fit::fit(&tr, EnergySource::Electronic, None));
    println!("{:?}", energy_fit::fit(&tr, EnergySource::Probe, None));
    println!("{:?}", now.elapsed());
}
