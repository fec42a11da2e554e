//! How sure the ear was: right answers against guessing.

use serde::Serialize;

/// Two-sided 95 % of the normal distribution.
const Z: f64 = 1.959_963_984_540_054;

/// Where a share lies, with 95 % confidence.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Interval {
    /// The lowest.
    pub lowest: f64,
    /// The highest.
    pub highest: f64,
}

/// How probable it is to have `right` or more of `total` answers right by guessing: the upper tail
/// of the binomial distribution with one half. Exact up to the last rounding for up to 120 answers.
pub fn p_of_guessing(right: u32, total: u32) -> f64 {
    let (mut ways, mut sum, mut all) = (1_u128, 0_u128, 0_u128);
    for count in 0..=total {
        all += ways;
        if count >= right {
            sum += ways;
        }
        // Of n things count + 1: the product is divisible.
        ways = ways * u128::from(total - count) / u128::from(count + 1);
    }
    sum as f64 / all as f64
}

/// The fewest right answers of `total` that guessing reaches in at most 5 % of tries; `None` where
/// not even all of them are enough.
pub fn least_right(total: u32) -> Option<u32> {
    (0..=total).find(|right| p_of_guessing(*right, total) <= 0.05)
}

/// The share of right answers with 95 % confidence, by the score interval of E. B. Wilson (Probable
/// inference, the law of succession, and statistical inference, J. Am. Stat. Assoc. 22, 1927).
pub fn interval(right: u32, total: u32) -> Interval {
    let count = f64::from(total);
    if total == 0 {
        return Interval { lowest: 0.0, highest: 1.0 };
    }
    let share = f64::from(right) / count;
    let whole = 1.0 + Z * Z / count;
    let middle = (share + Z * Z / (2.0 * count)) / whole;
    let half = Z * (share * (1.0 - share) / count + Z * Z / (4.0 * count * count)).sqrt() / whole;
    Interval { lowest: (middle - half).max(0.0), highest: (middle + half).min(1.0) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    /// Counted by hand in Pascal's triangle: the last entries of row 12 are 66, 12 and 1, of row 10
    /// 10 and 1, of row 16 1820, 560, 120, 16 and 1.
    #[test]
    fn the_tail_of_guessing_is_that_of_pascals_triangle() {
        for (right, total, ways) in [
            (10, 12, 79.0),
            (9, 12, 299.0),
            (12, 12, 1.0),
            (0, 12, 4096.0),
            (9, 10, 11.0),
            (12, 16, 2517.0),
            (5, 5, 1.0),
            (0, 0, 1.0),
        ] {
            let expected = ways / f64::from(2_u32.pow(total));
            assert_eq!(p_of_guessing(right, total), expected, "{right} of {total}");
        }
        // Half of all ways, and the middle one: C(100, 50) = 1.008913445455642e29 (OEIS A000984).
        let expected = 0.5 + 0.5 * 1.008_913_445_455_642e29 / 2.0_f64.powi(100);
        assert_abs_diff_eq!(p_of_guessing(50, 100), expected, epsilon = 1e-12);
    }

    #[test]
    fn ten_of_twelve_are_the_fewest_that_beat_guessing() {
        assert_eq!([4, 5, 12, 16].map(least_right), [None, Some(5), Some(10), Some(12)]);
    }

    /// What defines the interval: at each end the share found is just 1.96 standard errors of that
    /// end away. And an example of the literature, 15 of 148: 0.0624 to 0.1605 (R. G. Newcombe,
    /// Two-sided confidence intervals for the single proportion, Statistics in Medicine 17, 1998,
    /// method 3).
    #[test]
    fn the_interval_is_wilsons() {
        for (right, total) in [(10_u32, 12_u32), (1, 12), (50, 100), (12, 16)] {
            let Interval { lowest, highest } = interval(right, total);
            let (share, count) = (f64::from(right) / f64::from(total), f64::from(total));
            for end in [lowest, highest] {
                let error = (end * (1.0 - end) / count).sqrt();
                assert_abs_diff_eq!((share - end).abs(), Z * error, epsilon = 1e-12);
            }
        }
        let Interval { lowest, highest } = interval(15, 148);
        assert_abs_diff_eq!(lowest, 0.0624, epsilon = 5e-5);
        assert_abs_diff_eq!(highest, 0.1605, epsilon = 5e-5);
        let Interval { lowest, highest } = interval(12, 12);
        assert!(lowest > 0.7 && highest > 0.999_999, "{lowest} {highest}");
        assert_eq!(interval(0, 0), Interval { lowest: 0.0, highest: 1.0 });
    }
}
