//! The recorder on what real barometers measured, which nobody here made.

use crate::support::real_flight;
use chirrup_core::Micros;
use chirrup_firmware::log::Columns;
use chirrup_firmware::recorder::page::{self, Page, Rows, SIZE};
use chirrup_firmware::recorder::row::Row;
use chirrup_firmware::sampler::Sampled;

/// Pressures of a recording in sixty-fourths of a pascal, on the grid of an instrument's frames:
/// the instrument's own clock makes no other.
fn rows(name: &str) -> Option<Vec<Row>> {
    let text = std::fs::read_to_string(real_flight(name)?).expect("it can be read");
    let fields = text.lines().skip(1).filter_map(|line| line.split(',').nth(1));
    let mut pressures: Vec<f64> =
        fields.map(|field| field.parse().expect("it is in pascals")).collect();
    // One recording repeats a pressure until the next is measured; an instrument does not.
    pressures.dedup();
    let rows = pressures.into_iter().enumerate().map(|(place, pressure): (usize, f64)| {
        let static_64ths_pa = (pressure * 64.0).round() as i32;
        let time = Micros(place as i64 * 20_000 + 4_199 + i64::from(place % 3 == 0));
        Row { sampled: Sampled { time, static_64ths_pa, ..Sampled::default() }, ..Row::default() }
    });
    Some(rows.collect())
}

/// The rows as pages, and back; the bits that a row takes.
fn bits_a_row(rows: &[Row]) -> f64 {
    let (mut page, mut pages) = (Page::default(), Vec::new());
    for row in rows {
        if !page.push(row) {
            pages.push(page.bytes());
            page.begin(None, Columns::default());
            assert!(page.push(row), "an empty page has room for any row");
        }
    }
    let mut read = Vec::new();
    for bytes in &mut pages {
        page::seal(bytes, 1, 1, 0);
        let mut found = Rows::of(&page::head(bytes).expect("it is a page"));
        read.extend(std::iter::from_fn(|| found.next(bytes)));
    }
    assert_eq!(read, rows[..read.len()], "it is read back to the bit");
    (pages.len() * SIZE * 8) as f64 / read.len() as f64
}

/// Standard deviation of the steps from one pressure to the next, in sixty-fourths of a pascal.
fn deviation(rows: &[Row]) -> f64 {
    let pressure = |row: &Row| f64::from(row.sampled.static_64ths_pa);
    let steps = rows.windows(2).map(|pair| pressure(&pair[1]) - pressure(&pair[0]));
    let squares: f64 = steps.map(|step| step * step).sum();
    (squares / (rows.len() - 1) as f64).sqrt()
}

#[test]
fn pressures_of_real_barometers_take_the_bits_that_their_noise_has() {
    // Steps of deviation s, were they Gaussian and each on its own, have log2(s sqrt(2 pi e)) bits;
    // the time stamps made above have log2(3), and 12 bytes of a page and the first row's 11 are
    // not for the rows behind it. A fifth of a bit is for the code.
    for name in ["static-88hz.csv", "fixedwing-72hz-pressure-eas.csv"] {
        let Some(rows) = rows(name) else { continue };
        let (bits, deviation) = (bits_a_row(&rows), deviation(&rows));
        let noise = (deviation * (std::f64::consts::TAU * std::f64::consts::E).sqrt()).log2();
        let most = (noise + 3_f64.log2() + 0.2) / (1.0 - 23.0 / 256.0);
        assert!(bits < most, "{name}: {bits:.2} bits, {most:.2} at most");
    }
}
