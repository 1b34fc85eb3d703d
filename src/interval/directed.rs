//! Scalar operations rounded down or up.
//!
//! Round to nearest, then step one unit in the last place only where an error-free transform says
//! that the result is inexact and on the wrong side. Where the transform itself may lose bits
//! (below the normal range, near overflow) it steps anyway: sound, a little wider.
//!
//! "Rounded up" is the mirror image of "rounded down", so only the latter is worked out.

/// Below this size the error of a product may itself be too small to be held.
const SAFE: f64 = 1.0e-290;

/// What a rounded-to-nearest result is worth as a lower bound, given the sign of (true − rounded).
fn lower(rounded: f64, error: f64, finite: bool) -> f64 {
    if rounded == f64::INFINITY {
        // Beyond the range only because it was rounded there, unless an operand was infinite.
        return if finite { f64::MAX } else { f64::INFINITY };
    }
    if rounded == f64::NEG_INFINITY || error >= 0.0 {
        return rounded;
    }
    // Negative, or not a number: the transform failed.
    rounded.next_down()
}

/// `a + b`, not above it. Infinite terms of opposite sign give minus infinity.
pub(super) fn add_down(a: f64, b: f64) -> f64 {
    let sum = a + b;
    if sum.is_nan() {
        return f64::NEG_INFINITY;
    }
    // Two-sum (Knuth): the error of a sum is a floating-point number, and this is it.
    let part = sum - a;
    let error = (a - (sum - part)) + (b - part);
    lower(sum, error, a.is_finite() && b.is_finite())
}

/// `a + b`, not below it.
pub(super) fn add_up(a: f64, b: f64) -> f64 {
    -add_down(-a, -b)
}

/// `a · b`, not above it. Zero times infinity is zero: the bound of a product whose factor is zero.
pub(super) fn mul_down(a: f64, b: f64) -> f64 {
    if a == 0.0 || b == 0.0 {
        return 0.0;
    }
    let product = a * b;
    let finite = a.is_finite() && b.is_finite();
    if product.abs() >= SAFE {
        // Two-product: the fused step rounds once, so this difference is exact.
        return lower(product, a.mul_add(b, -product), finite);
    }
    // A positive product never has a negative lower bound.
    let positive = (a > 0.0) == (b > 0.0);
    let stepped = lower(product, -1.0, finite);
    if positive { stepped.max(0.0) } else { stepped }
}

/// `a · b`, not below it.
pub(super) fn mul_up(a: f64, b: f64) -> f64 {
    -mul_down(-a, b)
}

/// `a / b` for `b` not zero, not above it. Infinity over infinity counts as zero: the corner it
/// stands for lies between its neighbours.
pub(super) fn div_down(a: f64, b: f64) -> f64 {
    if a == 0.0 || b.is_infinite() {
        return 0.0;
    }
    let quotient = a / b;
    let finite = a.is_finite();
    if !finite || quotient.is_infinite() {
        return lower(quotient, 0.0, finite);
    }
    if quotient.abs() >= SAFE && a.abs() >= SAFE {
        // The rest of the division is a floating-point number; over b it has the sign of the error.
        let rest = quotient.mul_add(-b, a);
        let error = if b > 0.0 { rest } else { -rest };
        return lower(quotient, error, finite);
    }
    let positive = (a > 0.0) == (b > 0.0);
    let stepped = lower(quotient, -1.0, finite);
    if positive { stepped.max(0.0) } else { stepped }
}

/// `a / b` for `b` not zero, not below it.
pub(super) fn div_up(a: f64, b: f64) -> f64 {
    -div_down(-a, b)
}

/// Root of `a`, which is not negative, rounded down and up.
pub(super) fn root(a: f64) -> (f64, f64) {
    let root = libm::sqrt(a);
    if a == 0.0 || a.is_infinite() {
        return (root, root);
    }
    if a < SAFE {
        return (root.next_down().max(0.0), root.next_up());
    }
    let rest = root.mul_add(-root, a);
    if rest > 0.0 {
        (root, root.next_up())
    } else if rest < 0.0 {
        (root.next_down(), root)
    } else {
        (root, root)
    }
}

/// A power of `a`, which is not negative, rounded by `multiply` at every step.
pub(super) fn power(a: f64, mut power: u32, multiply: fn(f64, f64) -> f64) -> f64 {
    let (mut result, mut square) = (1.0, a);
    while power > 0 {
        if power & 1 == 1 {
            result = multiply(result, square);
        }
        power >>= 1;
        if power > 0 {
            square = multiply(square, square);
        }
    }
    result
}

/// The fourth number below.
pub(super) fn four_down(a: f64) -> f64 {
    a.next_down().next_down().next_down().next_down()
}

/// The fourth number above.
pub(super) fn four_up(a: f64) -> f64 {
    -four_down(-a)
}
