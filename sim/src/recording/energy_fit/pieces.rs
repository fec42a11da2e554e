//! The pieces of a recording that have a change of speed, and their spectra at the periods that
//! count: 40 s long, half overlapping, without their straight line, faded in and out (Hann), so
//! that white noise of variance s^2 has the power s^2 in every place.

use crate::recording::series::Even;
use realfft::num_complex::Complex64;
use realfft::{RealFftPlanner, RealToComplex};
use std::f64::consts::TAU;
use std::sync::Arc;

/// Length of a piece.
const PIECE_S: f64 = 40.0;
/// Both ends of the recording that are not used.
const MARGIN_S: f64 = 8.0;
/// Periods that count.
const LONGEST_PERIOD_S: f64 = 21.0;
const SHORTEST_PERIOD_S: f64 = 2.5;
/// No period shorter than this many samples: recorders of one sample a second smooth.
const LEAST_SAMPLES: f64 = 6.0;
/// A piece counts as having a speed change when its kinetic height, smoothed over this time,
/// changes by this much (8 m/s at 30 m/s is 27 m).
const SPEED_SMOOTH_S: f64 = 3.0;
const LEAST_CHANGE_M: f64 = 20.0;
/// Fewer such pieces are not enough.
const FEWEST: usize = 4;

/// Spectra by piece and place.
pub(super) type Spectra = Vec<Vec<Complex64>>;

/// Where the pieces are and which places of their spectra count.
pub(super) struct Pieces {
    starts: Vec<usize>,
    fade: Vec<f64>,
    places: std::ops::Range<usize>,
    fft: Arc<dyn RealToComplex<f64>>,
    /// Angular frequency of each place, rad/s.
    pub omegas: Vec<f64>,
}

impl Pieces {
    /// Those with a change of this kinetic height; `None` where there are too few.
    pub fn of(kinetic: &Even) -> Option<Self> {
        let step_s = kinetic.step_s;
        let count = (PIECE_S / step_s).round() as usize;
        let margin = (MARGIN_S / step_s) as usize;
        let smooth = kinetic.smoothed(SPEED_SMOOTH_S).values;
        let last = smooth.len().checked_sub(margin + count)?;
        let starts: Vec<usize> = (margin..=last)
            .step_by((count / 2).max(1))
            .filter(|&start| change(&smooth[start..start + count]) > LEAST_CHANGE_M)
            .collect();
        let omega = |place: usize| TAU * place as f64 / (count as f64 * step_s);
        let shortest_s = SHORTEST_PERIOD_S.max(LEAST_SAMPLES * step_s);
        let is_in =
            |place: &usize| (TAU / LONGEST_PERIOD_S..=TAU / shortest_s).contains(&omega(*place));
        let first = (1..count / 2).find(is_in)?;
        let places = first..(first..count / 2).take_while(is_in).last()? + 1;
        (starts.len() >= FEWEST).then(|| Self {
            starts,
            fade: fade(count),
            omegas: places.clone().map(omega).collect(),
            places,
            fft: RealFftPlanner::<f64>::new().plan_fft_forward(count),
        })
    }

    /// How many there are.
    pub fn count(&self) -> usize {
        self.starts.len()
    }

    /// The mean of a series over all of them.
    pub fn mean(&self, series: &Even) -> f64 {
        let count = self.fade.len();
        let sum: f64 = self
            .starts
            .iter()
            .map(|&start| series.values[start..start + count].iter().sum::<f64>())
            .sum();
        sum / (count * self.starts.len()) as f64
    }

    /// The spectra of a series.
    pub fn spectra(&self, series: &Even) -> Spectra {
        let count = self.fade.len();
        let mut spectrum = self.fft.make_output_vec();
        let of_piece = |&start: &usize| {
            let mut faded = faded(&series.values[start..start + count], &self.fade);
            // The lengths match, and real input has no other error.
            let _ = self.fft.process(&mut faded, &mut spectrum);
            spectrum[self.places.clone()].to_vec()
        };
        self.starts.iter().map(of_piece).collect()
    }
}

fn change(heights: &[f64]) -> f64 {
    let (least, most) = heights
        .iter()
        .fold((f64::MAX, f64::MIN), |(a, b), height| (a.min(*height), b.max(*height)));
    most - least
}

/// Hann's window with a sum of squares of one.
fn fade(count: usize) -> Vec<f64> {
    let raw: Vec<f64> = (0..count)
        .map(|place| 0.5 - 0.5 * (TAU * (place as f64 + 0.5) / count as f64).cos())
        .collect();
    let size = raw.iter().map(|value| value * value).sum::<f64>().sqrt();
    raw.into_iter().map(|value| value / size).collect()
}

/// Values without their straight line, faded.
fn faded(values: &[f64], fade: &[f64]) -> Vec<f64> {
    let count = values.len() as f64;
    let middle = 0.5 * (count - 1.0);
    let mean = values.iter().sum::<f64>() / count;
    let (sxy, sxx) = values.iter().enumerate().fold((0.0, 0.0), |(sxy, sxx), (place, value)| {
        let x = place as f64 - middle;
        (sxy + x * (value - mean), sxx + x * x)
    });
    let slope = sxy / sxx;
    let value = |(place, value): (usize, &f64)| {
        fade[place] * (value - mean - slope * (place as f64 - middle))
    };
    values.iter().enumerate().map(value).collect()
}
