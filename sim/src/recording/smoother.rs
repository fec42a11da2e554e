//! The vertical speed estimated from the whole recording, before and after each moment: the
//! reference for tuning where no truth was recorded.
//!
//! The model is a vertical speed that wanders at random, measured through noisy heights:
//!
//! ```text
//! h' = v,   v' = white noise of density q          measured: h + noise of variance r
//! ```
//!
//! A Kalman filter runs forward, the smoother of Rauch, Tung and Striebel backward over its stored
//! states. The ratio q / r of the air's noise to the sensor's is the one with the highest
//! likelihood of the recording, searched on a grid of a third of a decade; r then follows.
//!
//! Source: Rauch, Tung and Striebel, AIAA Journal 3 (1965); the concentrated likelihood is Harvey's
//! (1989), both from memory. Checked against filterpy's smoother in tests/oracle, and here against
//! the least-squares problem that it solves.

/// Range of the ratio that is searched, in powers of ten of 1/s3.
const FIRST_THIRD: i32 = -9;
const LAST_THIRD: i32 = 15;

/// A smoothed recording.
#[derive(Clone, Debug, Default)]
pub struct Smoothed {
    /// Height in m at each time.
    pub height_m: Vec<f64>,
    /// Vertical speed in m/s at each time.
    pub speed_mps: Vec<f64>,
    /// Noise density of the vertical speed, m2/s3.
    pub q_m2ps3: f64,
    /// Variance of the measured heights, m2.
    pub r_m2: f64,
}

/// Smooths `heights_m` measured at increasing `times_s`, two at least, under the likeliest ratio of
/// q and r.
pub fn smooth(times_s: &[f64], heights_m: &[f64]) -> Smoothed {
    let ratios = (FIRST_THIRD..=LAST_THIRD).map(|third| 10.0_f64.powf(f64::from(third) / 3.0));
    let runs = ratios.map(|ratio| (Forward::run(times_s, heights_m, ratio), ratio));
    let likeliest = runs.max_by(|(a, _), (b, _)| a.log_likelihood().total_cmp(&b.log_likelihood()));
    // The grid is never empty.
    let Some((forward, ratio)) = likeliest else { return Smoothed::default() };
    let r_m2 = forward.variance();
    let (height_m, speed_mps) = forward.back(times_s, ratio);
    Smoothed { height_m, speed_mps, q_m2ps3: ratio * r_m2, r_m2 }
}

/// Smooths with a `ratio` q / r that is known.
#[cfg(test)]
fn smooth_with(times_s: &[f64], heights_m: &[f64], ratio: f64) -> Smoothed {
    let forward = Forward::run(times_s, heights_m, ratio);
    let r_m2 = forward.variance();
    let (height_m, speed_mps) = forward.back(times_s, ratio);
    Smoothed { height_m, speed_mps, q_m2ps3: ratio * r_m2, r_m2 }
}

/// Mean and covariance of height and vertical speed; the covariance in units of r.
#[derive(Clone, Copy, Debug)]
struct Belief {
    h: f64,
    v: f64,
    hh: f64,
    hv: f64,
    vv: f64,
}

/// Variance of the first vertical speed, (m/s)2 in units of r: anything a glider can do.
const FIRST_SPEED: f64 = 1.0e6;

impl Belief {
    fn forecast(self, dt: f64, q: f64) -> Self {
        let Self { h, v, hh, hv, vv } = self;
        Self {
            h: h + dt * v,
            v,
            hh: hh + dt * (2.0 * hv + dt * vv) + q * dt.powi(3) / 3.0,
            hv: hv + dt * vv + q * dt * dt / 2.0,
            vv: vv + q * dt,
        }
    }

    /// Takes a height; gives the innovation squared over its variance, and the variance's
    /// logarithm.
    fn correct(self, measured: f64) -> (Self, f64, f64) {
        let variance = self.hh + 1.0;
        let (kh, kv) = (self.hh / variance, self.hv / variance);
        let error = measured - self.h;
        let after = Self {
            h: self.h + kh * error,
            v: self.v + kv * error,
            hh: self.hh - kh * self.hh,
            hv: self.hv - kh * self.hv,
            vv: self.vv - kv * self.hv,
        };
        (after, error * error / variance, variance.ln())
    }
}

/// The filter's stored state of each sample.
struct Forward {
    beliefs: Vec<Belief>,
    squares: f64,
    logarithms: f64,
}

impl Forward {
    fn run(times_s: &[f64], heights_m: &[f64], q: f64) -> Self {
        let first = Belief { h: heights_m[0], v: 0.0, hh: 1.0, hv: 0.0, vv: FIRST_SPEED };
        let mut run = Self { beliefs: vec![first], squares: 0.0, logarithms: 0.0 };
        let mut belief = first;
        for (pair, height) in times_s.windows(2).zip(&heights_m[1..]) {
            let (after, square, logarithm) = belief.forecast(pair[1] - pair[0], q).correct(*height);
            belief = after;
            run.beliefs.push(belief);
            run.squares += square;
            run.logarithms += logarithm;
        }
        run
    }

    /// The likeliest r.
    fn variance(&self) -> f64 {
        (self.squares / (self.beliefs.len() - 1) as f64).max(1e-12)
    }

    fn log_likelihood(&self) -> f64 {
        let count = (self.beliefs.len() - 1) as f64;
        -0.5 * (count * self.variance().ln() + self.logarithms)
    }

    fn back(self, times_s: &[f64], q: f64) -> (Vec<f64>, Vec<f64>) {
        let count = self.beliefs.len();
        let (mut heights, mut speeds) = (vec![0.0; count], vec![0.0; count]);
        let last = self.beliefs[count - 1];
        (heights[count - 1], speeds[count - 1]) = (last.h, last.v);
        for place in (0..count - 1).rev() {
            let dt = times_s[place + 1] - times_s[place];
            let now = self.beliefs[place];
            let next = now.forecast(dt, q);
            // The smoother's gain: the covariance of now with the next, times the next's inverse.
            let (chh, chv, cvh, cvv) = (now.hh + dt * now.hv, now.hv, now.hv + dt * now.vv, now.vv);
            let determinant = next.hh * next.vv - next.hv * next.hv;
            let (dh, dv) = (heights[place + 1] - next.h, speeds[place + 1] - next.v);
            let (eh, ev) = (
                (next.vv * dh - next.hv * dv) / determinant,
                (next.hh * dv - next.hv * dh) / determinant,
            );
            heights[place] = now.h + chh * eh + chv * ev;
            speeds[place] = now.v + cvh * eh + cvv * ev;
        }
        (heights, speeds)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;
    use rand_chacha::ChaCha8Rng;
    use rand_chacha::rand_core::SeedableRng;
    use rand_distr::{Distribution, StandardNormal};

    /// The least-squares problem of the model, solved directly: the heights and speeds at `times`
    /// that best match the measurements and a randomly varying vertical speed. Normal equations and
    /// Gaussian elimination; independent of the filter.
    fn least_squares(times: &[f64], measured: &[f64], q: f64) -> Vec<f64> {
        let unknowns = 2 * times.len();
        let mut matrix = vec![vec![0.0; unknowns + 1]; unknowns];
        let mut add = |row: &[(usize, f64)], value: f64, weight: f64| {
            for (a, ca) in row {
                for (b, cb) in row {
                    matrix[*a][*b] += weight * ca * cb;
                }
                matrix[*a][unknowns] += weight * ca * value;
            }
        };
        for (place, height) in measured.iter().enumerate() {
            add(&[(2 * place, 1.0)], *height, 1.0);
        }
        add(&[(1, 1.0)], 0.0, 1.0 / FIRST_SPEED);
        for place in 0..times.len() - 1 {
            let dt = times[place + 1] - times[place];
            // The two residuals of a step have the covariance q [dt3/3 dt2/2; dt2/2 dt]; its
            // Cholesky factor makes them independent.
            let (a, b) = ((q * dt.powi(3) / 3.0).sqrt(), q * dt * dt / 2.0);
            let (b, c) = (b / a, (q * dt - (b / a).powi(2)).sqrt());
            let height = [(2 * place + 2, 1.0), (2 * place, -1.0), (2 * place + 1, -dt)];
            let speed = [(2 * place + 3, 1.0), (2 * place + 1, -1.0)];
            add(&height.map(|(at, value)| (at, value / a)), 0.0, 1.0);
            let mut second: Vec<(usize, f64)> =
                speed.iter().map(|(at, value)| (*at, value / c)).collect();
            for (at, value) in height {
                let share = -b / (a * c) * value;
                match second.iter_mut().find(|(there, _)| *there == at) {
                    Some(entry) => entry.1 += share,
                    None => second.push((at, share)),
                }
            }
            add(&second, 0.0, 1.0);
        }
        solve(matrix)
    }

    fn solve(mut rows: Vec<Vec<f64>>) -> Vec<f64> {
        let count = rows.len();
        for place in 0..count {
            let pivot = (place..count)
                .max_by(|a, b| rows[*a][place].abs().total_cmp(&rows[*b][place].abs()))
                .unwrap();
            rows.swap(place, pivot);
            for other in 0..count {
                if other != place {
                    let factor = rows[other][place] / rows[place][place];
                    let above = rows[place].clone();
                    rows[other]
                        .iter_mut()
                        .zip(above)
                        .for_each(|(value, above)| *value -= factor * above);
                }
            }
        }
        (0..count).map(|place| rows[place][count] / rows[place][place]).collect()
    }

    fn noisy(count: usize, sigma: f64, truth: impl Fn(f64) -> f64) -> (Vec<f64>, Vec<f64>) {
        let mut rng = ChaCha8Rng::seed_from_u64(9);
        let times: Vec<f64> =
            (0..count).map(|step| 0.1 * step as f64 + 0.03 * (step % 3) as f64).collect();
        let heights = times
            .iter()
            .map(|time| {
                let noise: f64 = StandardNormal.sample(&mut rng);
                truth(*time) + sigma * noise
            })
            .collect();
        (times, heights)
    }

    #[test]
    fn the_smoother_solves_the_least_squares_problem_of_its_model() {
        let (times, heights) = noisy(30, 0.1, |t| 2.0 * (t - 1.5).max(0.0));
        for ratio in [0.5, 20.0, 1000.0] {
            let smoothed = smooth_with(&times, &heights, ratio);
            let solved = least_squares(&times, &heights, ratio);
            for place in 0..times.len() {
                assert_abs_diff_eq!(smoothed.height_m[place], solved[2 * place], epsilon = 1e-6);
                assert_abs_diff_eq!(
                    smoothed.speed_mps[place],
                    solved[2 * place + 1],
                    epsilon = 1e-5
                );
            }
        }
    }

    #[test]
    fn the_noise_of_air_and_sensor_is_found() {
        for sigma in [0.03, 0.1, 0.5] {
            let (times, heights) = noisy(20_000, sigma, |t| 3.0 * (t / 6.0).sin() * 6.0);
            let smoothed = smooth(&times, &heights);
            approx::assert_relative_eq!(smoothed.r_m2.sqrt(), sigma, max_relative = 0.1);
            let errors = times
                .iter()
                .zip(&smoothed.speed_mps)
                .map(|(time, speed)| (speed - 3.0 * (time / 6.0).cos()).powi(2));
            let rms = (errors.sum::<f64>() / times.len() as f64).sqrt();
            assert!(rms < 0.35, "{rms} m/s at {sigma} m");
        }
    }
}
