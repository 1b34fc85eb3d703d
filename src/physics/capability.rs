//! Process capability: does the scatter of repeated runs fit between the limits?
//!
//! Cp and Cpk speak of a process shown to be stable; otherwise ISO 22514 calls the same numbers Pp
//! and Ppk (from memory). A single log proves nothing.

use super::function::Outside;

/// Passes below which a capability should not be reported.
pub const FEWEST_PASSES: usize = 12;

/// One-sided 95 % quantile of the normal distribution.
const ONE_SIDED_95: f64 = 1.644_853_626_951_472_7;

/// Capability against one limit or two.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Capability {
    /// Width between the limits over six standard deviations; none with one limit only.
    pub cp: Option<f64>,
    /// Distance of the mean to the nearer limit over three standard deviations.
    pub cpk: f64,
}

/// Cp = (U - L)/(6 s) and Cpk = min(U - m, m - L)/(3 s).
///
/// * `mean` m: moves Cpk either way. `deviation` s, more than zero: a rise lowers both.
/// * `lower` limit L: a rise lowers both. `upper` limit U: a rise lifts both. At least one.
///
/// Source: NIST/SEMATECH e-Handbook of Statistical Methods, 7.1.6 (from memory).
///
/// # Errors
///
/// [`Outside::Parameter`] for a mean that is not finite (0) or a deviation that is not positive and
/// finite (1); [`Outside::Together`] without a limit, with one that is not finite, or with the
/// lower one above the upper.
pub fn capability(
    mean: f64,
    deviation: f64,
    lower: Option<f64>,
    upper: Option<f64>,
) -> Result<Capability, Outside> {
    if !mean.is_finite() {
        return Err(Outside::Parameter(0));
    }
    if !(deviation > 0.0 && deviation.is_finite()) {
        return Err(Outside::Parameter(1));
    }
    if [lower, upper]
        .iter()
        .flatten()
        .any(|limit| !limit.is_finite())
    {
        return Err(Outside::Together("a limit is a finite number"));
    }
    let below = |limit: f64| (mean - limit) / (3.0 * deviation);
    let above = |limit: f64| (limit - mean) / (3.0 * deviation);
    match (lower, upper) {
        (None, None) => Err(Outside::Together("capability needs a limit")),
        (Some(lower), None) => Ok(Capability {
            cp: None,
            cpk: below(lower),
        }),
        (None, Some(upper)) => Ok(Capability {
            cp: None,
            cpk: above(upper),
        }),
        (Some(lower), Some(upper)) if lower <= upper => Ok(Capability {
            cp: Some((upper - lower) / (6.0 * deviation)),
            cpk: below(lower).min(above(upper)),
        }),
        (Some(_), Some(_)) => Err(Outside::Together("the lower limit is above the upper one")),
    }
}

/// Lower 95 % confidence bound of Cpk from `passes` passes.
///
/// `Cpk - 1.645 √(1/(9 n) + Cpk²/(2 (n - 1)))`, the normal approximation of Bissell (1990, from
/// memory). Rises with the number of passes; with Cpk it rises as long as there are at least three
/// passes. Fewer than [`FEWEST_PASSES`] passes should not be reported.
///
/// # Errors
///
/// [`Outside::Parameter`] for a Cpk that is not finite (0) or fewer than two passes (1).
pub fn cpk_lower_95(cpk: f64, passes: usize) -> Result<f64, Outside> {
    if !cpk.is_finite() {
        return Err(Outside::Parameter(0));
    }
    if passes < 2 {
        return Err(Outside::Parameter(1));
    }
    let n = passes as f64;
    Ok(cpk - ONE_SIDED_95 * (1.0 / (9.0 * n) + cpk * cpk / (2.0 * (n - 1.0))).sqrt())
}
