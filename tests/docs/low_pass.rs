//! The low-pass in front of the amplifier: its figures in `docs/src/building.md`, by Kirchhoff's
//! laws from the parts that the page and the picture name.
//!
//! ```text
//! pin --R--+--R--+--470 nF--10 kohm-- ground, the output across the 10 kohm
//!          C     C
//! ```

use super::{read, root};
use std::f64::consts::{PI, TAU};

const LOAD_OHM: f64 = 10e3;
const COUPLING_F: f64 = 470e-9;
const SUPPLY_V: f64 = 3.3;
const CARRIER_HZ: f64 = 125e3;

/// Product and quotient of complex numbers.
type Complex = (f64, f64);

fn times(a: Complex, b: Complex) -> Complex {
    (a.0 * b.0 - a.1 * b.1, a.0 * b.1 + a.1 * b.0)
}

fn over(a: Complex, b: Complex) -> Complex {
    let square = b.0 * b.0 + b.1 * b.1;
    times(a, (b.0 / square, -b.1 / square))
}

/// Output for one volt at the pin: from the load's end, where one volt is taken, back to the pin.
fn passes(hz: f64, stages: usize, ohm: f64, farad: f64) -> f64 {
    let omega = TAU * hz;
    let mut current: Complex = (1.0 / LOAD_OHM, 0.0);
    let mut volt: Complex = (1.0, -1.0 / (omega * COUPLING_F * LOAD_OHM));
    for _ in 0..stages {
        let through = times(volt, (0.0, omega * farad));
        current = (current.0 + through.0, current.1 + through.1);
        volt = (volt.0 + ohm * current.0, volt.1 + ohm * current.1);
    }
    let (real, imaginary) = over((1.0, 0.0), volt);
    real.hypot(imaginary)
}

fn loudest(farad: f64) -> f64 {
    (10..400).map(|tens| passes(10.0 * f64::from(tens), 2, 1e3, farad)).fold(0.0, f64::max)
}

/// Decibels of a frequency against the loudest.
fn decibels(hz: f64, farad: f64) -> f64 {
    20.0 * (passes(hz, 2, 1e3, farad) / loudest(farad)).log10()
}

/// The first frequency of `tried` that is 3 dB down.
fn corner(mut tried: impl Iterator<Item = f64>, farad: f64) -> f64 {
    let is_down = |hz: &f64| decibels(*hz, farad) < -10.0 * 2.0_f64.log10();
    tried.find(is_down).expect("it is a band-pass")
}

fn up() -> impl Iterator<Item = f64> {
    (100..2_000).map(|tens| 10.0 * f64::from(tens))
}

#[test]
fn its_figures_in_the_book_follow_from_its_parts() {
    let page = read(&root().join("docs/src/building.md"));
    let picture = read(&root().join("docs/src/wiring.svg"));
    let figures = [220.0, 1_000.0, 2_500.0, 4_000.0, CARRIER_HZ, 250e3]
        .map(|hz| format!("{:.1} dB", decibels(hz, 10e-9)).replace("-0.0", "0.0"));
    let row = format!("| {} |", figures.join(" | "));
    assert!(page.contains(&row), "{row}");
    let down = corner((10..1_000).rev().map(|tenths| f64::from(tenths) / 10.0), 10e-9);
    // The first harmonic of a pin that is high half of the time.
    let carrier_v = 2.0 / PI * SUPPLY_V;
    let left = |stages| 1e3 * carrier_v * passes(CARRIER_HZ, stages, 1e3, 10e-9);
    let tone_v = SUPPLY_V / 2.0 * passes(1_000.0, 2, 1e3, 10e-9);
    let corner_khz = corner(up(), 10e-9) / 1e3;
    for said in [
        format!("is at {corner_khz:.1} kHz, and below at {down:.0} Hz"),
        format!("{:.0} mV of the carrier", left(2)),
        format!("{tone_v:.2} V of a tone"),
        format!("{:.0} mV.", left(1)),
        format!("Then the corner is at {:.1} kHz", corner(up(), 15e-9) / 1e3),
    ] {
        assert!(page.replace('\n', " ").contains(&said), "{said}");
    }
    let said = format!("Corner of the low-pass: {corner_khz:.1} kHz");
    assert!(picture.contains(&said), "{said}");
    for part in ["1 k&#937;", "10 nF", "470 nF", "10 k&#937;"] {
        assert!(picture.contains(part), "{part}");
    }
}
