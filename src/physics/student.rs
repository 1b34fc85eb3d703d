//! Coverage factors: by how many standard uncertainties to widen (GUM G.3), from Student's t.

use super::function::Outside;
use std::f64::consts::{PI, SQRT_2};

/// Coverage factor k of an interval `y ± k u` that holds the value with probability `level`.
///
/// The two-sided quantile of Student's t; of the normal distribution when `freedom` is infinite.
/// GUM G.4.1 advises rounding effective degrees of freedom down to a whole number first; this
/// function takes them as they come. Rises with `level`, falls with `freedom`.
///
/// * `level`, 0.01 to 0.9999. `freedom`, from 1, may be infinite.
///
/// Accurate to about 1e-9 of k; checked against the printed GUM table G.2.
///
/// # Errors
///
/// [`Outside::Parameter`] outside these ranges.
pub fn coverage_factor(level: f64, freedom: f64) -> Result<f64, Outside> {
    if !(0.01..=0.9999).contains(&level) {
        return Err(Outside::Parameter(0));
    }
    if freedom.is_nan() || freedom < 1.0 {
        return Err(Outside::Parameter(1));
    }
    // With one degree of freedom and 99.99 %, k is 6366.
    let (mut low, mut high) = (0.0, 1e4);
    for _ in 0..200 {
        let middle = 0.5 * (low + high);
        if middle <= low || middle >= high {
            break;
        }
        if within(middle, freedom) < level {
            low = middle;
        } else {
            high = middle;
        }
    }
    Ok(high)
}

/// Probability that Student's t lies within ±k.
fn within(k: f64, freedom: f64) -> f64 {
    if freedom > 1e7 {
        // The difference to the normal distribution is of the order of 1/freedom.
        return libm::erf(k / SQRT_2);
    }
    1.0 - incomplete_beta(freedom / (freedom + k * k), 0.5 * freedom)
}

/// The regularised incomplete beta function `I_x(a, 1/2)`.
fn incomplete_beta(x: f64, a: f64) -> f64 {
    const B: f64 = 0.5;
    if x <= 0.0 {
        return 0.0;
    }
    if x >= 1.0 {
        return 1.0;
    }
    // 1 - x loses no digits that matter here: k is not small next to one at any level asked for.
    let front = libm::exp(
        libm::lgamma(a + B) - libm::lgamma(a) - 0.5 * libm::log(PI)
            + a * libm::log(x)
            + B * libm::log(1.0 - x),
    );
    // The continued fraction converges fast only on its own side of the mean.
    if x < (a + 1.0) / (a + B + 2.0) {
        front * fraction(x, a, B) / a
    } else {
        1.0 - front * fraction(1.0 - x, B, a) / B
    }
}

/// The continued fraction of the incomplete beta function, by the method of Lentz.
fn fraction(x: f64, a: f64, b: f64) -> f64 {
    const TINY: f64 = 1e-300;
    let guard = |value: f64| if value.abs() < TINY { TINY } else { value };
    let mut c = 1.0;
    let mut d = 1.0 / guard(1.0 - (a + b) * x / (a + 1.0));
    let mut product = d;
    for step in 1..2000 {
        let m = f64::from(step);
        let even = m * (b - m) * x / ((a + 2.0 * m - 1.0) * (a + 2.0 * m));
        let odd = -(a + m) * (a + b + m) * x / ((a + 2.0 * m) * (a + 2.0 * m + 1.0));
        for term in [even, odd] {
            d = 1.0 / guard(1.0 + term * d);
            c = guard(1.0 + term / c);
            product *= c * d;
        }
        if (c * d - 1.0).abs() < 1e-15 {
            break;
        }
    }
    product
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    /// Closed forms: one degree of freedom is the Cauchy distribution, two have an algebraic one.
    #[test]
    fn one_and_two_degrees_have_closed_forms() {
        for level in [0.05, 0.5, 0.9, 0.95, 0.99, 0.999] {
            let one = libm::tan(0.5 * PI * level);
            let two = level * (2.0 / (1.0 - level * level)).sqrt();
            assert!((coverage_factor(level, 1.0).unwrap() / one - 1.0).abs() < 1e-9);
            assert!((coverage_factor(level, 2.0).unwrap() / two - 1.0).abs() < 1e-9);
        }
    }

    #[test]
    fn many_degrees_become_normal() {
        let normal = coverage_factor(0.95, f64::INFINITY).unwrap();
        let many = coverage_factor(0.95, 9.9e6).unwrap();
        assert!((normal - 1.959_963_984_540_054).abs() < 1e-9);
        assert!((many - normal).abs() < 1e-6);
    }
}
