//! Small symmetric systems, by Cholesky's factor (any text on linear algebra).

/// A square matrix, row by row.
pub(super) type Square<const N: usize> = [[f64; N]; N];

/// The lower factor L with L L^T = `matrix`; `None` unless that is positive definite.
pub(super) fn factor<const N: usize>(matrix: &Square<N>) -> Option<Square<N>> {
    let mut lower = [[0.0; N]; N];
    for row in 0..N {
        for column in 0..=row {
            let done: f64 = (0..column).map(|k| lower[row][k] * lower[column][k]).sum();
            let rest = matrix[row][column] - done;
            lower[row][column] = if row == column {
                if rest.is_nan() || rest <= 0.0 {
                    return None;
                }
                rest.sqrt()
            } else {
                rest / lower[column][column]
            };
        }
    }
    Some(lower)
}

/// The solution of L L^T x = `right`.
pub(super) fn solved<const N: usize>(lower: &Square<N>, right: &[f64; N]) -> [f64; N] {
    let mut x = *right;
    for row in 0..N {
        let done: f64 = (0..row).map(|k| lower[row][k] * x[k]).sum();
        x[row] = (x[row] - done) / lower[row][row];
    }
    for row in (0..N).rev() {
        let done: f64 = (row + 1..N).map(|k| lower[k][row] * x[k]).sum();
        x[row] = (x[row] - done) / lower[row][row];
    }
    x
}

/// `x^T matrix x`.
pub(super) fn square_form<const N: usize>(matrix: &Square<N>, x: &[f64; N]) -> f64 {
    (0..N).map(|row| x[row] * (0..N).map(|k| matrix[row][k] * x[k]).sum::<f64>()).sum()
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn a_system_is_solved_and_an_indefinite_one_refused() {
        let matrix = [[4.0, 2.0, 0.6], [2.0, 5.0, 1.5], [0.6, 1.5, 3.8]];
        let lower = factor(&matrix).unwrap();
        let x = solved(&lower, &[1.0, -2.0, 0.5]);
        for (row, expected) in matrix.iter().zip([1.0, -2.0, 0.5]) {
            let left: f64 = row.iter().zip(x).map(|(a, b)| a * b).sum();
            assert_relative_eq!(left, expected, max_relative = 1e-12);
        }
        assert_relative_eq!(
            square_form(&matrix, &x),
            x[0] - 2.0 * x[1] + 0.5 * x[2],
            max_relative = 1e-12
        );
        assert!(factor(&[[1.0, 2.0], [2.0, 1.0]]).is_none());
        assert!(factor(&[[f64::NAN]]).is_none());
    }
}
