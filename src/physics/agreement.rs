//! What the model is known to miss, and whether a reading contradicts it.

use super::function::Outside;
use super::student::coverage_factor;

/// What the next residual of a model lies in, from those of logs it was not fitted to: one for each log.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Prediction {
    /// Mean residual.
    pub mean: f64,
    /// Standard deviation of the residuals.
    pub deviation: f64,
    /// Half the width of the interval about the mean.
    pub half: f64,
}

/// The interval in which the next residual lies with this probability: `r̄ ± t s √(1 + 1/n)`.
///
/// One residual for each log, not for each reading: along one log they hang together. They must span what they are used for.
///
/// * `residuals`, two or more, reading less model. `level`, 0.01 to 0.9999.
///
/// Source: Student's prediction interval (any textbook of statistics).
///
/// # Errors
/// [`Outside::Together`] where there are fewer than two, or one is no number; [`Outside::Parameter`] for the level.
pub fn prediction(residuals: &[f64], level: f64) -> Result<Prediction, Outside> {
    if residuals.len() < 2 || residuals.iter().any(|residual| !residual.is_finite()) {
        return Err(Outside::Together("two residuals or more are needed"));
    }
    let n = residuals.len() as f64;
    let mean = residuals.iter().sum::<f64>() / n;
    let squares: f64 = residuals.iter().map(|r| (r - mean) * (r - mean)).sum();
    let deviation = (squares / (n - 1.0)).sqrt();
    let half = coverage_factor(level, n - 1.0)? * deviation * (1.0 + 1.0 / n).sqrt();
    Ok(Prediction {
        mean,
        deviation,
        half,
    })
}

/// The normalised error of two values with expanded uncertainties: `(x − X)/√(U_x² + U_X²)`; within ±1 they agree.
///
/// Source: ISO 13528 and ISO/IEC 17043, as a national institute's handbook gives them.
///
/// # Errors
/// [`Outside::Together`] where a number is not finite, or both uncertainties are nothing.
pub fn normalised_error(
    value: f64,
    uncertainty: f64,
    reference: f64,
    of_reference: f64,
) -> Result<f64, Outside> {
    let found = (value - reference) / libm::hypot(uncertainty, of_reference);
    if found.is_finite() {
        Ok(found)
    } else {
        Err(Outside::Together(
            "a normalised error needs numbers and an uncertainty",
        ))
    }
}

/// How a reading stands to what a model says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    /// It lies in what the model gives over the tolerances.
    Agrees,
    /// Not there, but some value fits both with what each may be off.
    WithinError,
    /// No value fits both.
    Contradicted,
}

/// How a reading stands to a model, and by how much.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Agreement {
    /// How it stands.
    pub standing: Standing,
    /// How far the two lie apart, with all that each may be off; nothing where some value fits both.
    pub gap: f64,
    /// The model error that would just take the reading in.
    pub needs: f64,
}

/// Holds a reading against what a model gives over the tolerances, `low` to `high`, known to miss up to `error`.
///
/// * `off`: what the reading may be off, class and placement. All in one unit.
#[must_use]
pub fn agreement((low, high): (f64, f64), error: f64, reading: f64, off: f64) -> Agreement {
    let gap = (low - error - (reading + off))
        .max(reading - off - (high + error))
        .max(0.0);
    let standing = if gap > 0.0 {
        Standing::Contradicted
    } else if (low..=high).contains(&reading) {
        Standing::Agrees
    } else {
        Standing::WithinError
    };
    Agreement {
        standing,
        gap,
        needs: (low - reading).max(reading - high).max(0.0),
    }
}
