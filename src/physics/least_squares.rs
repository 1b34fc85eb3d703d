//! Least squares for a model that is not a straight line, inside bounds.
//!
//! Levenberg and Marquardt's damped steps (Marquardt, SIAM J. Appl. Math. 11, 1963), slopes by central differences; an
//! unknown that stands at its bound and is pushed against it is left out of the step.

use super::function::Outside;

/// Steps after which a fit is given up where it stands.
const MOST_STEPS: usize = 60;
/// Damping beyond which no step helps any more.
const MOST_DAMPING: f64 = 1.0e10;
/// Relative step of the difference quotients: well above an adaptive solver's own noise.
const DIFFERENCE: f64 = 1.0e-3;

/// An unknown: where the search starts, and between what it may lie.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Unknown {
    /// First guess.
    pub guess: f64,
    /// Least value.
    pub low: f64,
    /// Greatest value.
    pub high: f64,
}

/// What a fit comes to.
#[derive(Debug, Clone, PartialEq)]
pub struct Fitted {
    /// Best value of each unknown.
    pub values: Vec<f64>,
    /// Standard error of each, if the model is right and the readings' errors are independent.
    pub errors: Vec<f64>,
    /// Correlation of each with each.
    pub correlation: Vec<Vec<f64>>,
    /// Root of the mean squared difference between model and readings.
    pub residual: f64,
    /// Whether the search came to rest.
    pub settled: bool,
}

/// Fits `model`, which predicts every reading from the unknowns, to `readings`.
///
/// # Errors
/// What the model says at the first guess or where its slopes are taken; [`Outside::Together`] for fewer readings than
/// unknowns, a guess outside its bounds, a prediction of the wrong length, or readings that do not tell the unknowns apart.
pub fn fit(
    mut model: impl FnMut(&[f64]) -> Result<Vec<f64>, Outside>,
    readings: &[f64],
    unknowns: &[Unknown],
) -> Result<Fitted, Outside> {
    if unknowns.is_empty() || readings.len() < unknowns.len() {
        return Err(Outside::Together(
            "a fit needs at least as many readings as unknowns",
        ));
    }
    if !unknowns
        .iter()
        .all(|u| u.low < u.high && (u.low..=u.high).contains(&u.guess))
    {
        return Err(Outside::Together(
            "a first guess must lie between its bounds",
        ));
    }
    let mut differences = |x: &[f64]| -> Result<Vec<f64>, Outside> {
        let predicted = model(x)?;
        if predicted.len() != readings.len() {
            return Err(Outside::Together("the model must predict every reading"));
        }
        Ok(predicted.iter().zip(readings).map(|(p, r)| p - r).collect())
    };
    let mut x: Vec<f64> = unknowns.iter().map(|u| u.guess).collect();
    let mut off = differences(&x)?;
    let mut damping = 1.0e-3;
    let mut settled = false;
    let mut slopes = jacobian(&mut differences, &x, unknowns)?;
    for _ in 0..MOST_STEPS {
        let Some(next) = step(&slopes, &off, &x, unknowns, damping) else {
            return Err(INDISTINCT);
        };
        let moved = next
            .iter()
            .zip(&x)
            .zip(unknowns)
            .map(|((a, b), u)| (a - b).abs() / (u.high - u.low));
        if moved.fold(0.0, f64::max) < 1.0e-9 {
            settled = true;
            break;
        }
        // A trial point at which the model has no answer is as bad as one that fits worse.
        match differences(&next) {
            Ok(trial) if square(&trial) < square(&off) => {
                let gain = 1.0 - square(&trial) / square(&off);
                (x, off) = (next, trial);
                damping = (damping * 0.2).max(1.0e-12);
                slopes = jacobian(&mut differences, &x, unknowns)?;
                if gain < 1.0e-10 {
                    settled = true;
                    break;
                }
            }
            _ => {
                damping *= 8.0;
                if damping > MOST_DAMPING {
                    settled = true;
                    break;
                }
            }
        }
    }
    let spare = (readings.len() - unknowns.len()).max(1) as f64;
    let variance = square(&off) / spare;
    let covariance = inverse(&normal(&slopes)).ok_or(INDISTINCT)?;
    let errors: Vec<f64> = (0..x.len())
        .map(|i| (covariance[i][i] * variance).sqrt())
        .collect();
    let correlation = covariance
        .iter()
        .enumerate()
        .map(|(i, row)| {
            let scaled = |(j, c): (usize, &f64)| c / (covariance[i][i] * covariance[j][j]).sqrt();
            row.iter().enumerate().map(scaled).collect()
        })
        .collect();
    Ok(Fitted {
        values: x,
        errors,
        correlation,
        residual: (square(&off) / readings.len() as f64).sqrt(),
        settled,
    })
}

const INDISTINCT: Outside = Outside::Together("the readings do not tell the unknowns apart");

fn square(x: &[f64]) -> f64 {
    x.iter().map(|x| x * x).sum()
}

/// One column for each unknown.
fn jacobian(
    differences: &mut impl FnMut(&[f64]) -> Result<Vec<f64>, Outside>,
    x: &[f64],
    unknowns: &[Unknown],
) -> Result<Vec<Vec<f64>>, Outside> {
    let mut columns = Vec::with_capacity(x.len());
    for (index, unknown) in unknowns.iter().enumerate() {
        let step = DIFFERENCE * x[index].abs().max(0.01 * (unknown.high - unknown.low));
        let (above, below) = (
            (x[index] + step).min(unknown.high),
            (x[index] - step).max(unknown.low),
        );
        let mut at = |value: f64| {
            let mut moved = x.to_vec();
            moved[index] = value;
            differences(&moved)
        };
        let (up, down) = (at(above)?, at(below)?);
        columns.push(
            up.iter()
                .zip(&down)
                .map(|(u, d)| (u - d) / (above - below))
                .collect(),
        );
    }
    Ok(columns)
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

/// The slopes' products with each other.
fn normal(slopes: &[Vec<f64>]) -> Vec<Vec<f64>> {
    slopes
        .iter()
        .map(|a| slopes.iter().map(|b| dot(a, b)).collect())
        .collect()
}

/// The next point of the search, inside the bounds.
fn step(
    slopes: &[Vec<f64>],
    off: &[f64],
    x: &[f64],
    unknowns: &[Unknown],
    damping: f64,
) -> Option<Vec<f64>> {
    let pull: Vec<f64> = slopes.iter().map(|column| -dot(column, off)).collect();
    let free: Vec<usize> = (0..x.len())
        .filter(|&i| {
            !(x[i] <= unknowns[i].low && pull[i] < 0.0 || x[i] >= unknowns[i].high && pull[i] > 0.0)
        })
        .collect();
    let columns: Vec<Vec<f64>> = free.iter().map(|&i| slopes[i].clone()).collect();
    let mut matrix = normal(&columns);
    for (index, row) in matrix.iter_mut().enumerate() {
        row[index] *= 1.0 + damping;
    }
    let inverse = inverse(&matrix)?;
    let mut next = x.to_vec();
    for (row, &i) in inverse.iter().zip(&free) {
        let change: f64 = row.iter().zip(&free).map(|(c, &j)| c * pull[j]).sum();
        next[i] = (x[i] + change).clamp(unknowns[i].low, unknowns[i].high);
    }
    next.iter().all(|v| v.is_finite()).then_some(next)
}

/// Inverse of a positive definite matrix, by elimination after scaling the diagonal to one; `None` where it has none.
fn inverse(matrix: &[Vec<f64>]) -> Option<Vec<Vec<f64>>> {
    let count = matrix.len();
    let scale: Vec<f64> = (0..count).map(|i| matrix[i][i].sqrt()).collect();
    if !scale.iter().all(|s| s.is_finite() && *s > 0.0) {
        return None;
    }
    let mut rows: Vec<Vec<f64>> = (0..count)
        .map(|i| {
            let mut row: Vec<f64> = (0..count)
                .map(|j| matrix[i][j] / (scale[i] * scale[j]))
                .collect();
            row.extend((0..count).map(|j| f64::from(u8::from(i == j))));
            row
        })
        .collect();
    for pivot in 0..count {
        let by = rows[pivot][pivot];
        // Correlated to ten digits: nothing certain is left.
        if by.is_nan() || by <= 1.0e-10 {
            return None;
        }
        for cell in &mut rows[pivot] {
            *cell /= by;
        }
        let taken = rows[pivot].clone();
        for (index, row) in rows.iter_mut().enumerate() {
            if index != pivot {
                let factor = row[pivot];
                for (cell, t) in row.iter_mut().zip(&taken) {
                    *cell -= factor * t;
                }
            }
        }
    }
    Some(
        (0..count)
            .map(|i| {
                (0..count)
                    .map(|j| rows[i][count + j] / (scale[i] * scale[j]))
                    .collect()
            })
            .collect(),
    )
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn unknown(guess: f64, low: f64, high: f64) -> Unknown {
        Unknown { guess, low, high }
    }

    /// A straight line has closed forms (the data and results of Anscombe's first set, 1973: y = 3.00 + 0.500 x,
    /// standard errors 1.12 and 0.118).
    #[test]
    fn a_line_is_the_textbooks_line() {
        let x = [10.0, 8.0, 13.0, 9.0, 11.0, 14.0, 6.0, 4.0, 12.0, 7.0, 5.0];
        let y = [
            8.04, 6.95, 7.58, 8.81, 8.33, 9.96, 7.24, 4.26, 10.84, 4.82, 5.68,
        ];
        let line = |p: &[f64]| Ok(x.iter().map(|x| p[0] + p[1] * x).collect());
        let fitted = fit(
            line,
            &y,
            &[unknown(0.0, -100.0, 100.0), unknown(0.0, -10.0, 10.0)],
        )
        .unwrap();
        assert!(fitted.settled);
        assert!(
            (fitted.values[0] - 3.0001).abs() < 5.0e-4
                && (fitted.values[1] - 0.5001).abs() < 5.0e-4
        );
        assert!(
            (fitted.errors[0] - 1.1247).abs() < 5.0e-4
                && (fitted.errors[1] - 0.1179).abs() < 5.0e-4
        );
        assert!(
            fitted.correlation[0][1] < -0.9 && (fitted.correlation[1][1] - 1.0).abs() < 1.0e-12
        );
    }

    /// Misra1a of the NIST statistical reference data sets: b1 = 238.94212918, b2 = 5.5015643181e-4 (from memory).
    #[test]
    fn a_curve_is_the_reference_curve() {
        let x = [
            77.6, 114.9, 141.1, 190.8, 239.9, 289.0, 332.8, 378.4, 434.8, 477.3, 536.8, 593.1,
            689.1, 760.0,
        ];
        let y = [
            10.07, 14.73, 17.94, 23.93, 29.61, 35.18, 40.02, 44.82, 50.76, 55.05, 61.01, 66.40,
            75.47, 81.78,
        ];
        let curve = |p: &[f64]| {
            Ok(x.iter()
                .map(|x| p[0] * (1.0 - libm::exp(-p[1] * x)))
                .collect())
        };
        let fitted = fit(
            curve,
            &y,
            &[unknown(500.0, 1.0, 5000.0), unknown(1.0e-4, 1.0e-6, 0.1)],
        )
        .unwrap();
        assert!(
            (fitted.values[0] / 238.942_129_18 - 1.0).abs() < 1.0e-5,
            "{fitted:?}"
        );
        assert!(
            (fitted.values[1] / 5.501_564_318_1e-4 - 1.0).abs() < 1.0e-5,
            "{fitted:?}"
        );
        assert!(
            (fitted.errors[0] / 2.707_007_524_1 - 1.0).abs() < 1.0e-3,
            "{fitted:?}"
        );
    }

    #[test]
    fn what_cannot_be_told_apart_is_said_and_bounds_hold() {
        let sum = |p: &[f64]| Ok(vec![p[0] + p[1]; 5]);
        let two = [unknown(0.0, -9.0, 9.0), unknown(0.0, -9.0, 9.0)];
        assert!(matches!(
            fit(sum, &[1.0; 5], &two),
            Err(Outside::Together(_))
        ));
        // The best slope is below zero, which the bounds forbid; the offset then is the mean.
        let line = |p: &[f64]| Ok((0..5).map(|i| p[0] + p[1] * f64::from(i)).collect());
        let bound = [unknown(1.0, -9.0, 9.0), unknown(1.0, 0.0, 9.0)];
        let fitted = fit(line, &[4.0, 3.0, 2.0, 1.0, 0.0], &bound).unwrap();
        assert!(
            (fitted.values[0] - 2.0).abs() < 1.0e-6 && fitted.values[1] == 0.0,
            "{fitted:?}"
        );
        assert!(fit(line, &[1.0], &bound).is_err());
    }
}
