//! The Dryden spectra of MIL-F-8785C: variance, correlation and spectrum against the published
//! forms (from memory).

use approx::assert_relative_eq;
use chirrup_flight::air::Wind;
use chirrup_flight::air::settings::{TurbulenceSettings, WindSettings};
use chirrup_flight::air::turbulence::{Law, Turbulence};
use chirrup_flight::physics::vector::Vector;
use realfft::RealFftPlanner;
use std::f64::consts::PI;

/// 1750 ft, the scale from 2000 ft above the ground on.
const SCALE_M: f64 = 533.4;
const HIGH_M: f64 = 1500.0;

fn law() -> Law {
    let wind = Wind::new(&WindSettings { speed_mps: 12.0, ..WindSettings::default() }, 0.0);
    Law::new(&TurbulenceSettings { rms_mps: Some(1.0), ..TurbulenceSettings::default() }, &wind)
}

/// Turbulence of 1 m/s rms sampled every `step_m`: along, across and up.
fn samples(step_m: f64, count: usize) -> [Vec<f64>; 3] {
    let mut turbulence = Turbulence::new(law(), 7);
    let mut all = [const { Vec::new() }; 3];
    for _ in 0..count {
        let gust = turbulence.advance(step_m, HIGH_M, Vector::on_course(0.0));
        for (list, value) in all.iter_mut().zip([gust.north, gust.east, gust.up]) {
            list.push(value);
        }
    }
    all
}

fn covariance(values: &[f64], lag: usize) -> f64 {
    let products = values.iter().zip(&values[lag..]).map(|(a, b)| a * b);
    products.sum::<f64>() / (values.len() - lag) as f64
}

#[test]
fn its_variance_and_correlation_are_right_at_any_step() {
    // Correlations of the Dryden forms: exp(-x / L) along, (1 - x / (2 L)) exp(-x / L) across and
    // up.
    for (step_m, count) in
        [(0.1 * SCALE_M, 2_000_000), (SCALE_M, 400_000), (3.0 * SCALE_M, 400_000)]
    {
        let [along, across, up] = samples(step_m, count);
        for lag in [0, 1, 3] {
            let x = lag as f64 * step_m / SCALE_M;
            let wanted = [(-x).exp(), (1.0 - 0.5 * x) * (-x).exp(), (1.0 - 0.5 * x) * (-x).exp()];
            for (values, wanted) in [&along, &across, &up].into_iter().zip(wanted) {
                let found = covariance(values, lag);
                assert!(
                    (found - wanted).abs() < 0.02,
                    "{found}, expected {wanted} at {x} L by steps of {step_m} m"
                );
            }
        }
    }
}

#[test]
fn its_spectrum_is_the_published_one() {
    // Steps far below the scale, so that what lies beyond the sampling does not fold back;
    // periodograms averaged over segments under Hann's window, then over bands of frequency.
    let (step_m, length, segments) = (10.0, 1 << 13, 400);
    let all = samples(step_m, length * segments);
    let published: [fn(f64) -> f64; 3] = [
        |x| 2.0 / PI / (1.0 + x * x),
        |x| (1.0 + 3.0 * x * x) / (PI * (1.0 + x * x) * (1.0 + x * x)),
        |x| (1.0 + 3.0 * x * x) / (PI * (1.0 + x * x) * (1.0 + x * x)),
    ];
    let fft = RealFftPlanner::<f64>::new().plan_fft_forward(length);
    let window: Vec<f64> =
        (0..length).map(|k| (PI * k as f64 / length as f64).sin().powi(2)).collect();
    let power: f64 = window.iter().map(|w| w * w).sum();
    for (values, published) in all.iter().zip(published) {
        let mut spectrum = vec![0.0; length / 2 + 1];
        for segment in values.chunks_exact(length) {
            let mut input: Vec<f64> = segment.iter().zip(&window).map(|(v, w)| v * w).collect();
            let mut output = fft.make_output_vec();
            fft.process(&mut input, &mut output).expect("the lengths fit");
            for (sum, value) in spectrum.iter_mut().zip(&output) {
                // One-sided, over rad/m.
                *sum += value.norm_sqr() * step_m / (PI * power * segments as f64);
            }
        }
        let omega = |bin: usize| 2.0 * PI * bin as f64 / (length as f64 * step_m);
        for band in [6..22, 22..64, 64..128, 256..512_usize] {
            let found: f64 = band.clone().map(|bin| spectrum[bin]).sum();
            let wanted: f64 =
                band.clone().map(|bin| SCALE_M * published(SCALE_M * omega(bin))).sum();
            assert_relative_eq!(found, wanted, max_relative = 0.06);
        }
    }
}

#[test]
fn scales_and_strengths_near_the_ground_are_the_standards() {
    // At 500 ft: L_up = 500 ft, L_along = 500 / (0.177 + 0.000823 x 500)^1.2 = 948.4 ft,
    // sigma_along / sigma_up = (0.5885)^-0.4 = 1.2363 (worked out by hand from the forms).
    let strength = law().at(152.4);
    assert_relative_eq!(strength.up_scale_m, 152.4, max_relative = 1e-9);
    assert_relative_eq!(
        strength.level_scale_m,
        500.0 * 0.3048 / 0.5885_f64.powf(1.2),
        max_relative = 1e-9
    );
    assert_relative_eq!(
        strength.level_mps / strength.up_mps,
        0.5885_f64.powf(-0.4),
        max_relative = 1e-9
    );
    // A tenth of the wind at 20 ft, by the logarithmic law.
    let wind_mps = 12.0 * (1.0 + 6.096 / 0.05_f64).ln() / (1.0 + 300.0 / 0.05_f64).ln();
    assert_relative_eq!(strength.up_mps, 0.1 * wind_mps, max_relative = 1e-9);
    // Continuous at both ends of the blend: at 1000 ft both scales are 1000 ft.
    assert_relative_eq!(law().at(304.8).level_scale_m, 304.8, max_relative = 1e-3);
    assert_relative_eq!(law().at(609.59).up_mps, 1.0, max_relative = 1e-3);
}

#[test]
fn gusts_of_their_own_strength_and_length_are_the_same_at_every_height() {
    let (gusts, wind) = (own_gusts(), Wind::new(&WindSettings::default(), 0.0));
    let law = Law::new(&gusts, &wind);
    for above_m in [20.0, 150.0, 500.0, 3000.0] {
        let strength = law.at(above_m);
        assert_eq!((strength.level_mps, strength.level_scale_m), (0.5, 150.0), "{above_m} m");
        assert_eq!((strength.up_mps, strength.up_scale_m), (0.3, 60.0), "{above_m} m");
    }
    // Only one of them: the other stays by height.
    let level = TurbulenceSettings { rms_mps: Some(1.0), up_rms_mps: None, ..gusts };
    let strength = Law::new(&level, &wind).at(HIGH_M);
    assert_eq!((strength.level_mps, strength.up_mps, strength.up_scale_m), (0.5, 1.0, SCALE_M));
}

#[test]
fn gusts_of_their_own_have_the_variance_and_the_correlation_asked_for() {
    // exp(-x / L) along, (1 - x / (2 L)) exp(-x / L) across and up, as above.
    let wind = Wind::new(&WindSettings::default(), 0.0);
    let mut turbulence = Turbulence::new(Law::new(&own_gusts(), &wind), 3);
    let mut all = [const { Vec::new() }; 3];
    for _ in 0..1_000_000 {
        let gust = turbulence.advance(30.0, 100.0, Vector::on_course(0.0));
        for (list, value) in all.iter_mut().zip([gust.north, gust.east, gust.up]) {
            list.push(value);
        }
    }
    for (values, rms, length_m, bends) in
        [(&all[0], 0.5, 150.0, 0.0), (&all[1], 0.5, 150.0, 0.5), (&all[2], 0.3, 60.0, 0.5)]
    {
        for lag in [0, 1, 3] {
            let x = f64::from(lag) * 30.0 / length_m;
            let wanted = rms * rms * (1.0 - bends * x) * (-x).exp();
            let found = covariance(values, lag as usize);
            assert!((found - wanted).abs() < 0.02 * rms * rms, "{found}, expected {wanted}");
        }
    }
}

fn own_gusts() -> TurbulenceSettings {
    TurbulenceSettings {
        gust_rms_mps: Some(0.5),
        up_rms_mps: Some(0.3),
        up_length_m: Some(60.0),
        ..TurbulenceSettings::default()
    }
}
