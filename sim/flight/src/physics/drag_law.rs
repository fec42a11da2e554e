//! The drag law through the points of a polar.
//!
//! In a steady glide at the equivalent airspeed V, down the angle e:
//!
//! ```text
//! sin e = S / V = D / (m g) = a V^2 + b n + c n^2 / V^2        n = cos e
//! ```
//!
//! which is linear in a, b and c. Three points give them exactly, by Cramer's rule. Four to eight
//! are fitted by least squares of the sink: each equation is weighted by V, so that a centimetre a
//! second counts the same at every point, since sinks are measured. The columns are scaled to
//! length 1 before the normal equations are solved, also by Cramer's rule, which keeps sinks to
//! nine digits.

use serde::Deserialize;

/// A point of the polar.
#[derive(Clone, Copy, Debug, Deserialize, PartialEq)]
#[serde(deny_unknown_fields, expecting = "an entry such as { speed_mps = 27, sink_mps = 0.74 }")]
pub struct PolarPoint {
    /// Equivalent airspeed, m/s. 10 to 80.
    pub speed_mps: f64,
    /// Sink there, positive, m/s. 0.2 to 10.
    pub sink_mps: f64,
}

/// An equation for a, b and c, and its right side.
type Row = ([f64; 3], f64);

/// `[a, b, c]` through the points, at least three; `None` where they do not give a valid polar.
pub fn through(points: &[PolarPoint]) -> Option<[f64; 3]> {
    let [a, b, c] = match points {
        [one, two, three] => solved([row(one), row(two), row(three)]),
        [_, _, _, _, ..] => nearest(points),
        _ => return None,
    };
    // The last condition: drag at the best glide must be positive.
    let is_polar = a > 0.0 && c > 0.0 && b + 2.0 * (a * c).sqrt() > 0.0;
    is_polar.then_some([a, b, c])
}

fn row(point: &PolarPoint) -> Row {
    let PolarPoint { speed_mps: speed, sink_mps: sink } = *point;
    let slope = sink / speed;
    let load = (1.0 - slope * slope).sqrt();
    ([speed * speed, load, load * load / (speed * speed)], slope)
}

/// The solution of three equations, by Cramer's rule.
fn solved(rows: [Row; 3]) -> [f64; 3] {
    let determinant = |m: [[f64; 3]; 3]| {
        m[0][0] * (m[1][1] * m[2][2] - m[1][2] * m[2][1])
            - m[0][1] * (m[1][0] * m[2][2] - m[1][2] * m[2][0])
            + m[0][2] * (m[1][0] * m[2][1] - m[1][1] * m[2][0])
    };
    let whole = determinant(rows.map(|(row, _)| row));
    [0, 1, 2].map(|column| {
        let replaced = rows.map(|(mut row, slope)| {
            row[column] = slope;
            row
        });
        determinant(replaced) / whole
    })
}

/// The least-squares solution for the sinks.
fn nearest(points: &[PolarPoint]) -> [f64; 3] {
    let rows: Vec<Row> = points
        .iter()
        .map(|point| {
            let (terms, slope) = row(point);
            (terms.map(|term| term * point.speed_mps), slope * point.speed_mps)
        })
        .collect();
    let sum = |of: &dyn Fn(&Row) -> f64| rows.iter().map(of).sum::<f64>();
    let lengths = [0, 1, 2].map(|k| sum(&|(terms, _)| terms[k] * terms[k]).sqrt());
    let normal = [0, 1, 2].map(|k| {
        let terms = [0, 1, 2].map(|other| {
            sum(&|(terms, _)| terms[k] / lengths[k] * (terms[other] / lengths[other]))
        });
        (terms, sum(&|(terms, sink)| terms[k] / lengths[k] * sink))
    });
    let scaled = solved(normal);
    [0, 1, 2].map(|k| scaled[k] / lengths[k])
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// Sink of a steady glide by the law, with the load found by iteration.
    fn sink([a, b, c]: [f64; 3], speed: f64) -> f64 {
        let slope = (0..50).fold(0.03_f64, |slope, _| {
            let load = (1.0 - slope * slope).sqrt();
            a * speed * speed + b * load + c * load * load / (speed * speed)
        });
        slope * speed
    }

    fn points(of: &[(f64, f64)]) -> Vec<PolarPoint> {
        of.iter().map(|&(speed_mps, sink_mps)| PolarPoint { speed_mps, sink_mps }).collect()
    }

    #[test]
    fn points_that_lie_on_a_law_give_it_back() {
        let law = through(&points(&[(20.0, 0.67), (27.0, 0.74), (42.0, 1.85)])).unwrap();
        for count in 4..=8 {
            let speeds = (0..count).map(|k| 19.0 + 29.0 * f64::from(k) / f64::from(count - 1));
            let on_it: Vec<(f64, f64)> = speeds.map(|speed| (speed, sink(law, speed))).collect();
            let found = through(&points(&on_it)).unwrap();
            for speed in [16.0, 25.0, 35.0, 60.0] {
                assert_relative_eq!(sink(found, speed), sink(law, speed), max_relative = 1e-8);
            }
        }
    }

    #[test]
    fn more_points_are_met_in_the_middle_and_no_other_law_meets_them_better() {
        let measured = points(&[
            (19.0, 0.70),
            (22.0, 0.64),
            (25.0, 0.72),
            (30.0, 0.90),
            (36.0, 1.28),
            (44.0, 2.10),
        ]);
        let law = through(&measured).unwrap();
        let missed = |law: [f64; 3]| -> f64 {
            let by = |point: &PolarPoint| {
                let (terms, slope) = row(point);
                let found: f64 = terms.iter().zip(law).map(|(term, share)| term * share).sum();
                ((found - slope) * point.speed_mps).powi(2)
            };
            measured.iter().map(by).sum()
        };
        let least = missed(law);
        assert!((least / 6.0).sqrt() < 0.05, "{} m/s rms", (least / 6.0).sqrt());
        for k in 0..3 {
            for share in [0.999, 1.001] {
                let mut other = law;
                other[k] *= share;
                assert!(missed(other) > least, "{k} times {share} meets them better");
            }
        }
    }
}
