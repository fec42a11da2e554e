use chirrup_flight::centring::*;
use chirrup_flight::centring::thermal::Thermal;
use std::io::Write;
fn main() {
    let first: u64 = std::env::args().nth(1).unwrap().parse().unwrap();
    let last: u64 = std::env::args().nth(2).unwrap().parse().unwrap();
    let pilots = [Pilot::NeverCorrects, Pilot::Flattens, Pilot::BestHeading, Pilot::Both, Pilot::Expert];
    let mut out = std::io::BufWriter::new(std::fs::File::create(std::env::args().nth(3).unwrap()).unwrap());
    let mut tr = std::io::BufWriter::new(std::fs::File::create(std::env::args().nth(4).unwrap()).unwrap());
    for seed in first..last {
        let pilot = pilots[(seed / 3 % 5) as usize];
        let trial = Trial { seed, day: Day::SMOOTH, has_motion_sensors: false };
        let mut late = 0.0;
        let mut ear = |m: &Moment| { late += (m.climb_mps - late) * 0.02 / 0.7; Some(late) };
        for (k, s) in trial.seen(pilot, 1.5, &mut ear).iter().enumerate() {
            if k % 50 == 0 {
                writeln!(out, "{seed},{},{},{},{},{},{},{},{}", s.time_s, s.place_m.0, s.place_m.1, s.height_m, s.speed_mps, s.gust_mps, s.middle_m.0, s.middle_m.1).unwrap();
            }
        }
        let t = Thermal::of_seed(seed);
        for i in -30..=30 { for j in -30..=30 {
            write!(tr, "{:.3},", t.rise(10.0 * i as f64, 10.0 * j as f64)).unwrap();
        } }
        writeln!(tr, "{seed}").unwrap();
    }
}
