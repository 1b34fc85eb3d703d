//! Outward-rounded arithmetic against exact fractions, and three-valued truth.

use proptest::prelude::*;
use strikeoff::eval::{Truth, decided};
use strikeoff::interval::Bounds;
use strikeoff::types::Compare;
use strikeoff::units::Exact;

/// Everyday numbers, and every other: tiny, huge, subnormal, zero.
fn float() -> impl Strategy<Value = f64> {
    use prop::num::f64::{NEGATIVE, NORMAL, POSITIVE, SUBNORMAL, ZERO};
    prop_oneof![
        4 => -1000.0_f64..1000.0,
        2 => (-4000_i32..4000).prop_map(|n| f64::from(n) / 8.0),
        2 => POSITIVE | NEGATIVE | NORMAL | SUBNORMAL | ZERO,
        1 => prop::sample::select(vec![f64::MAX, f64::MIN, f64::MIN_POSITIVE, f64::from_bits(1), 1.0, -1.0]),
    ]
}

/// Ends and a number between them.
fn sampled() -> impl Strategy<Value = (Bounds, f64)> {
    (float(), float(), 0.0_f64..=1.0).prop_map(|(a, b, share)| {
        let bounds = Bounds::new(a, b);
        let inside = bounds.lo + share * (bounds.hi - bounds.lo);
        let inside = if inside.is_nan() { bounds.lo } else { inside };
        (bounds, inside.clamp(bounds.lo, bounds.hi))
    })
}

fn exact(value: f64) -> Exact {
    Exact::from_f64(value).unwrap()
}

/// Whether the bounds hold an exact number.
fn holds(bounds: Bounds, value: &Exact) -> bool {
    let above_low = Exact::from_f64(bounds.lo).map_or(bounds.lo < 0.0, |low| low <= *value);
    let below_high = Exact::from_f64(bounds.hi).map_or(bounds.hi > 0.0, |high| high >= *value);
    !bounds.lo.is_nan() && !bounds.hi.is_nan() && above_low && below_high
}

/// Whether a size is where the error-free transforms are exact, so that bounds are the tightest.
fn everyday(value: &Exact) -> bool {
    let size = value.nearest().abs();
    value.is_zero() || (1e-280..1e280).contains(&size)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 2000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn sums_products_and_quotients_hold_every_sample((x, a) in sampled(), (y, b) in sampled()) {
        let (p, q) = (exact(a), exact(b));
        prop_assert!(holds(x.add(y), &p.add(&q)));
        prop_assert!(holds(x.sub(y), &p.sub(&q)));
        prop_assert!(holds(x.mul(y), &p.mul(&q)));
        match x.div(y) {
            Some(quotient) => prop_assert!(holds(quotient, &p.div(&q).unwrap())),
            None => prop_assert!(y.contains(0.0)),
        }
        prop_assert!(holds(x.neg(), &p.neg()));
        prop_assert!(holds(x.abs(), &p.abs()));
        prop_assert!(holds(x.min(y), &Exact::min(&p, &q)));
        prop_assert!(holds(x.max(y), &Exact::max(&p, &q)));
        prop_assert!(holds(x.floor(), &p.floor()));
        prop_assert!(holds(x.ceil(), &p.ceil()));
        prop_assert!(x.hull(y).contains(a) && x.hull(y).contains(b));
        prop_assert_eq!(x.contains(b) && y.contains(b), x.intersect(y).is_some_and(|both| both.contains(b)));
    }

    #[test]
    fn points_give_the_tightest_bounds(a in float(), b in float()) {
        let (x, y) = (Bounds::point(a), Bounds::point(b));
        let (p, q) = (exact(a), exact(b));
        let mut results = vec![(x.add(y), p.add(&q)), (x.sub(y), p.sub(&q)), (x.mul(y), p.mul(&q))];
        if everyday(&p) && let Some(quotient) = x.div(y) {
            results.push((quotient, p.div(&q).unwrap()));
        }
        for (found, value) in results {
            if everyday(&value) {
                prop_assert_eq!((found.lo, found.hi), value.outward());
            }
        }
    }

    #[test]
    fn powers_hold_every_sample((x, a) in sampled(), power in -5_i32..6) {
        match (x.powi(power), exact(a).powi(power)) {
            (Some(raised), Some(value)) => prop_assert!(holds(raised, &value)),
            (None, _) => prop_assert!(power < 0 && x.contains(0.0)),
            (Some(_), None) => prop_assert!(false),
        }
        if power > 0 && power % 2 == 0 {
            prop_assert!(x.powi(power).unwrap().lo >= 0.0);
        }
    }

    #[test]
    fn roots_bracket((x, a) in sampled()) {
        match x.sqrt() {
            Some(root) => {
                // The root of a lies between them, as the squares say.
                let (low, high) = (exact(root.lo), exact(root.hi));
                prop_assert!(low.mul(&low) <= exact(x.lo) && exact(x.hi) <= high.mul(&high));
                prop_assert!(root.lo >= 0.0 && root.contains(a.sqrt()));
            }
            None => prop_assert!(x.lo < 0.0),
        }
    }

    #[test]
    fn widening_cutting_and_middles((x, a) in sampled(), by in float(), share in 0.0_f64..2.0) {
        let by_exact = exact(by).abs();
        let wide = x.widen(by);
        prop_assert!(holds(wide, &exact(x.lo).sub(&by_exact)) && holds(wide, &exact(x.hi).add(&by_exact)));
        let wide = x.widen_relative(share);
        for end in [a, x.lo, x.hi] {
            prop_assert!(holds(wide, &exact(end).mul(&Exact::ONE.add(&exact(share)))));
            prop_assert!(holds(wide, &exact(end).mul(&Exact::ONE.sub(&exact(share)))));
        }
        let (left, right) = x.split(a);
        prop_assert_eq!((left.lo, left.hi, right.lo, right.hi), (x.lo, a, a, x.hi));
        prop_assert!(x.contains(x.mid()));
        let width = exact(x.hi).sub(&exact(x.lo));
        prop_assert!(Exact::from_f64(x.width()).is_none_or(|found| found >= width));
    }

    #[test]
    fn e_and_its_logarithm_undo_each_other((x, a) in sampled()) {
        prop_assert!(x.exp().contains(libm::exp(a)) || libm::exp(a) == f64::INFINITY);
        prop_assert!(x.exp().lo >= 0.0);
        if x.lo > 0.0 {
            prop_assert!(x.ln().exp().contains(a), "{:?}", x.ln().exp());
        } else if x.lo < 0.0 {
            prop_assert_eq!(x.ln(), Bounds::ENTIRE);
        }
    }

    #[test]
    fn nothing_is_ever_nan(a in any::<f64>(), b in any::<f64>(), c in any::<f64>(), d in any::<f64>(), n in any::<i32>()) {
        let (x, y) = (Bounds::new(a, b), Bounds::new(c, d));
        let mut all = vec![
            x, y, x.add(y), x.sub(y), x.mul(y), x.neg(), x.abs(), x.min(y), x.max(y), x.floor(), x.ceil(),
            x.exp(), x.ln(), x.hull(y), x.widen(c), x.widen_relative(d), x.split(c).0, x.split(d).1,
        ];
        all.extend([x.div(y), x.sqrt(), x.powi(n), x.intersect(y)].into_iter().flatten());
        for bounds in all {
            prop_assert!(bounds.lo <= bounds.hi, "{:?}", bounds);
            prop_assert!(bounds.lo < f64::INFINITY && bounds.hi > f64::NEG_INFINITY, "{:?}", bounds);
        }
    }

    #[test]
    fn comparisons_agree_with_samples((x, a) in sampled(), (y, b) in sampled()) {
        for (compare, sample) in [
            (Compare::AtLeast, a >= b), (Compare::AtMost, a <= b), (Compare::Above, a > b), (Compare::Below, a < b), (Compare::Is, a == b),
        ] {
            prop_assert!(decided(compare, x, y).is_none_or(|known| known == sample));
        }
        // What is said to be unknown is: the ends themselves disagree.
        prop_assert_eq!(decided(Compare::AtLeast, x, y).is_none(), (x.lo >= y.hi) != (x.hi >= y.lo));
    }
}

const EVERY: f64 = f64::INFINITY;

#[test]
fn infinite_ends_mean_no_limit() {
    let at_least_two = Bounds::new(2.0, EVERY);
    assert_eq!(at_least_two.mul(at_least_two), Bounds::new(4.0, EVERY));
    assert_eq!(at_least_two.mul(Bounds::point(0.0)), Bounds::point(0.0));
    assert_eq!(at_least_two.add(Bounds::new(-EVERY, 1.0)), Bounds::ENTIRE);
    assert_eq!(
        at_least_two.div(at_least_two),
        Some(Bounds::new(0.0, EVERY))
    );
    assert_eq!(
        Bounds::point(1.0).div(at_least_two),
        Some(Bounds::new(0.0, 0.5))
    );
    assert_eq!(Bounds::point(1.0).div(Bounds::ENTIRE), None);
    assert_eq!(Bounds::ENTIRE.powi(2), Some(Bounds::new(0.0, EVERY)));
    assert_eq!(Bounds::ENTIRE.mid(), 0.0);
    assert_eq!(Bounds::ENTIRE.exp(), Bounds::new(0.0, EVERY));
    assert_eq!(Bounds::new(0.0, EVERY).ln(), Bounds::ENTIRE);
    assert_eq!(
        Bounds::new(0.0, EVERY).sqrt(),
        Some(Bounds::new(0.0, EVERY))
    );
    let over = Bounds::point(1e300).mul(Bounds::point(1e300));
    assert_eq!(over, Bounds::new(f64::MAX, EVERY));
    assert_eq!(Bounds::point(f64::NAN), Bounds::ENTIRE);
    assert_eq!(Bounds::new(1.0, -1.0), Bounds::new(-1.0, 1.0));
}

#[test]
fn exact_results_are_not_widened() {
    let point = Bounds::point;
    assert_eq!(point(0.5).add(point(0.25)), point(0.75));
    assert_eq!(point(3.0).mul(point(7.0)), point(21.0));
    assert_eq!(point(21.0).div(point(7.0)), Some(point(3.0)));
    assert_eq!(point(-2.0).powi(3), Some(point(-8.0)));
    assert_eq!(point(2.0).powi(-2), Some(point(0.25)));
    assert_eq!(point(2.25).sqrt(), Some(point(1.5)));
    assert_eq!(Bounds::new(-3.0, 2.0).powi(2), Some(Bounds::new(0.0, 9.0)));
    assert_eq!(
        Bounds::new(-3.0, 2.0).powi(3),
        Some(Bounds::new(-27.0, 8.0))
    );
}

/// Decimal expansions as in OEIS A001113 (e), A002162 (ln 2) and A002392 (ln 10); from memory.
#[test]
fn known_constants_lie_inside() {
    for (found, digits) in [
        (Bounds::point(1.0).exp(), "2.718281828459045235360287471352"),
        (Bounds::point(2.0).ln(), "0.693147180559945309417232121458"),
        (Bounds::point(10.0).ln(), "2.302585092994045684017991454684"),
    ] {
        assert!(
            holds(found, &Exact::parse_decimal(digits).unwrap()),
            "{digits}"
        );
        assert!(found.width() < 1e-14, "{digits}");
    }
    assert!(Bounds::point(0.0).exp().contains(1.0) && Bounds::point(1.0).ln().contains(0.0));
}

/// Kleene's strong three-valued logic (Introduction to Metamathematics, 1952, section 64).
#[test]
fn truth_tables() {
    use Truth::{False, True, Unknown};
    for (a, b, and, or) in [
        (True, True, True, True),
        (True, False, False, True),
        (True, Unknown, Unknown, True),
        (False, False, False, False),
        (False, Unknown, False, Unknown),
        (Unknown, Unknown, Unknown, Unknown),
    ] {
        let both = |one: &Truth, other: &Truth| one.clone().and(other.clone());
        let either = |one: &Truth, other: &Truth| one.clone().or(other.clone());
        assert_eq!((both(&a, &b), both(&b, &a)), (and.clone(), and));
        assert_eq!((either(&a, &b), either(&b, &a)), (or.clone(), or));
        assert_eq!(
            both(&a, &b).not(),
            either(&a.clone().not(), &b.clone().not())
        );
    }
    assert_eq!(
        (True.not(), False.not(), Unknown.not()),
        (False, True, Unknown)
    );
}

#[test]
fn a_touching_limit_is_decided() {
    let (low, high) = (Bounds::new(1.0, 2.0), Bounds::new(2.0, 3.0));
    assert_eq!(decided(Compare::AtMost, low, high), Some(true));
    assert_eq!(decided(Compare::Above, low, high), Some(false));
    assert_eq!(decided(Compare::Below, low, high), None);
    assert_eq!(decided(Compare::Is, low, high), None);
    let two = Bounds::point(2.0);
    assert_eq!(decided(Compare::Is, two, two), Some(true));
    let less = low.sub(Bounds::point(4.0));
    assert_eq!(decided(Compare::Is, two, less), Some(false));
}
