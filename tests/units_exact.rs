//! Exact numbers against plain big-integer fractions, and their rounding and text.

use num_bigint::BigInt;
use proptest::prelude::*;
use strikeoff::units::{Exact, NumberProblem, Unit};

/// A fraction without any cleverness: never reduced, compared by cross products.
#[derive(Debug, Clone)]
struct Plain(BigInt, BigInt);

impl Plain {
    fn of(value: &Exact) -> Plain {
        let (num, den) = value.parts();
        Plain(num, den)
    }

    fn is(&self, value: &Exact) -> bool {
        let (num, den) = value.parts();
        &self.0 * den == num * &self.1
    }
}

/// Small ones, ones at the edge of a machine word, and ones beyond it.
fn exact() -> impl Strategy<Value = Exact> {
    let edge = prop_oneof![
        Just(i64::MIN),
        Just(i64::MIN + 1),
        Just(i64::MAX),
        Just(i64::MAX - 1),
        any::<i64>(),
        -20_i64..20,
    ];
    prop_oneof![
        4 => (-2_000_i64..2_000, 1_i64..400).prop_map(|(a, b)| Exact::ratio(a, b)),
        2 => (edge.clone(), edge.clone()).prop_map(|(a, b)| Exact::ratio(a, b)),
        2 => (edge.clone(), edge.clone(), edge.clone(), edge)
            .prop_map(|(a, b, c, d)| Exact::ratio(a, b).mul(&Exact::ratio(c, d))),
        1 => any::<f64>().prop_filter_map("finite", Exact::from_f64),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn arithmetic_is_that_of_fractions(x in exact(), y in exact()) {
        let (Plain(a, b), Plain(c, d)) = (Plain::of(&x), Plain::of(&y));
        let sum = x.add(&y);
        prop_assert!(Plain(&a * &d + &c * &b, &b * &d).is(&sum));
        let difference = x.sub(&y);
        prop_assert!(Plain(&a * &d - &c * &b, &b * &d).is(&difference));
        let product = x.mul(&y);
        prop_assert!(Plain(&a * &c, &b * &d).is(&product));
        match x.div(&y) {
            Some(quotient) => prop_assert!(Plain(&a * &d, &b * &c).is(&quotient)),
            None => prop_assert!(y.is_zero()),
        }
        prop_assert_eq!(x.cmp(&y), (&a * &d).cmp(&(&c * &b)));
        prop_assert_eq!(x == y, a * d == c * b);
    }

    #[test]
    fn the_form_is_canonical(x in exact(), y in exact()) {
        // Equality is that of the form, so going there and back must give the same form.
        prop_assert_eq!(&x.add(&y).sub(&y), &x);
        prop_assert_eq!(&x.neg().neg(), &x);
        if !y.is_zero() {
            prop_assert_eq!(&x.mul(&y).div(&y).unwrap(), &x);
        }
        let (num, den) = x.parts();
        prop_assert!(den > BigInt::ZERO);
        prop_assert_eq!(x.bits(), num.bits().max(den.bits()));
    }

    #[test]
    fn whole_numbers_around_it(x in exact()) {
        let (floor, ceil) = (x.floor(), x.ceil());
        prop_assert!(floor.is_integer() && ceil.is_integer());
        prop_assert!(floor <= x && x <= ceil);
        let gap = if x.is_integer() { Exact::ZERO } else { Exact::ONE };
        prop_assert_eq!(ceil.sub(&floor), gap);
        prop_assert_eq!(x.abs().signum(), x.signum().abs());
    }

    #[test]
    fn outward_brackets_as_tightly_as_can_be(x in exact()) {
        let (low, high) = x.outward();
        let least = Exact::from_f64(low).unwrap();
        prop_assert!(least <= x);
        match Exact::from_f64(high) {
            Some(most) => prop_assert!(x <= most),
            None => prop_assert_eq!(high, f64::INFINITY),
        }
        if low == high {
            prop_assert_eq!(&least, &x);
        } else {
            prop_assert_eq!(low.next_up(), high);
            prop_assert!(least < x);
        }
    }

    #[test]
    fn nearest_is_the_nearer_end_and_even_in_a_tie(x in exact()) {
        let (low, high) = x.outward();
        let nearest = x.nearest();
        if let (Some(least), Some(most)) = (Exact::from_f64(low), Exact::from_f64(high)) {
            let (below, above) = (x.sub(&least), most.sub(&x));
            let right = match below.cmp(&above) {
                std::cmp::Ordering::Less => low,
                std::cmp::Ordering::Greater => high,
                std::cmp::Ordering::Equal if low.to_bits() & 1 == 0 => low,
                std::cmp::Ordering::Equal => high,
            };
            prop_assert_eq!(nearest, right);
        }
    }

    #[test]
    fn floating_point_goes_there_and_back(value in any::<f64>()) {
        match Exact::from_f64(value) {
            Some(exact) => {
                prop_assert_eq!(exact.nearest(), value);
                prop_assert_eq!(exact.outward(), (value, value));
            }
            None => prop_assert!(!value.is_finite()),
        }
    }

    /// The standard library reads decimals correctly rounded.
    #[test]
    fn nearest_agrees_with_the_standard_library(text in "-?[0-9]{1,25}(\\.[0-9]{1,14})?(e-?[1-3]?[0-9])?") {
        let exact = Exact::parse_decimal(&text).unwrap();
        prop_assert_eq!(exact.nearest(), text.parse::<f64>().unwrap());
    }

    #[test]
    fn decimals_round_to_their_side(x in exact(), places in 0_u32..12, digits in 1_u32..9) {
        let (down, up) = (x.decimal_down(places), x.decimal_up(places));
        let step = Exact::from_int(10).powi(-(places as i32)).unwrap();
        if let (Ok(low), Ok(high)) = (Exact::parse_decimal(&down), Exact::parse_decimal(&up)) {
            prop_assert!(low <= x && x <= high, "{} {}", down, up);
            prop_assert!(high.sub(&low) <= step);
            prop_assert_eq!(down.split_once('.').map_or(0, |(_, f)| f.len()), places as usize);
            let near = Exact::parse_decimal(&x.decimal_near(places)).unwrap();
            prop_assert!(near == low || near == high);
        }
        let (down, up) = (x.significant_down(digits), x.significant_up(digits));
        if let (Ok(low), Ok(high)) = (Exact::parse_decimal(&down), Exact::parse_decimal(&up)) {
            prop_assert!(low <= x && x <= high, "{} {}", down, up);
            let step = x.abs().mul(&Exact::from_int(10).powi(1 - digits as i32).unwrap());
            prop_assert!(high.sub(&low) <= step, "{} {}", down, up);
        }
        // Twelve places are written whole exactly when they are the number.
        let near = x.decimal_near(12);
        match (x.decimal(), Exact::parse_decimal(&near)) {
            (Some(whole), Ok(read)) => {
                prop_assert_eq!(&whole, &near);
                prop_assert_eq!(read, x);
            }
            (None, Ok(read)) => prop_assert_ne!(read, x),
            (_, Err(_)) => {}
        }
    }

    #[test]
    fn reading_never_panics(text in "\\PC{0,30}", likely in "[-+0-9.eE]{0,50}", unit in "[a-zA-Z°µΔ²³^/·*()%0-9-]{0,20}") {
        for text in [&text, &likely, &unit] {
            let number = Exact::parse_decimal(text);
            if number.is_ok() {
                prop_assert!(text.parse::<f64>().is_ok(), "{}", text);
            }
            if let Ok(unit) = Unit::parse(text) {
                // What is written is read as the same unit.
                prop_assert_eq!(Unit::parse(unit.spelling()), Ok(unit));
            }
        }
    }
}

#[test]
fn numbers_read_as_they_are_written() {
    let read = Exact::parse_decimal;
    assert_eq!(read("-12.5"), Ok(Exact::ratio(-25, 2)));
    assert_eq!(read("1.4e4"), Ok(Exact::from_int(14_000)));
    assert_eq!(read("1.2E-9"), Ok(Exact::ratio(12, 10_000_000_000)));
    assert_eq!(read("007"), Ok(Exact::from_int(7)));
    assert_eq!(read("-0"), Ok(Exact::ZERO));
    for text in [
        "", "-", ".5", "5.", "+5", "1,5", "--3", "1e", "1e+", "1 ", " 1", "1.2.3", "0x10", "inf",
        "NaN", "1_000", "½", "１",
    ] {
        assert_eq!(read(text), Err(NumberProblem::Malformed), "{text}");
    }
    let digits = "1".repeat(40);
    assert!(read(&digits).is_ok() && read(&format!("0.{}", "1".repeat(39))).is_ok());
    assert_eq!(read(&format!("{digits}1")), Err(NumberProblem::TooLong));
    assert!(read("1e40").is_ok() && read("1e-40").is_ok());
    assert_eq!(read("1e41"), Err(NumberProblem::TooLong));
    assert_eq!(read("1e-99999999999999999999"), Err(NumberProblem::TooLong));
}

#[test]
fn text_of_numbers() {
    let third = Exact::ratio(1, 3);
    assert_eq!(third.decimal(), None);
    assert_eq!(third.to_string(), "1/3");
    assert_eq!(Exact::ratio(-5, 2).decimal().as_deref(), Some("-2.5"));
    assert_eq!(Exact::ratio(1, 8_192).decimal(), None); // 13 places.
    assert_eq!(
        (third.decimal_down(2), third.decimal_up(2)),
        ("0.33".into(), "0.34".into())
    );
    assert_eq!(third.neg().decimal_down(0), "-1");
    assert_eq!(third.neg().decimal_up(2), "-0.33");
    assert_eq!(Exact::ratio(-1, 1_000).decimal_up(2), "0.00");
    assert_eq!(Exact::from_int(5).decimal_down(2), "5.00");
    assert_eq!(Exact::ratio(1, 2).decimal_near(0), "1");
    assert_eq!(Exact::ratio(46_401, 1_000).decimal_near(2), "46.4");
    assert_eq!(Exact::ratio(9_999, 1_000).significant_up(3), "10.0");
    assert_eq!(Exact::from_int(123_456).significant_down(3), "123000");
    assert_eq!(Exact::from_int(123_456).significant_up(3), "124000");
    assert_eq!(
        Exact::parse_decimal("1.234e-9")
            .unwrap()
            .significant_down(2),
        "1.2e-9"
    );
    assert_eq!(
        Exact::parse_decimal("1.234e12").unwrap().significant_up(2),
        "1.3e12"
    );
    assert_eq!(
        Exact::parse_decimal("1.26e-6").unwrap().significant_down(2),
        "0.0000012"
    );
    assert_eq!(third.decimal_down(u32::MAX).len(), 402);
}

#[test]
fn powers_and_edges() {
    let ten = Exact::from_int(10);
    assert_eq!(ten.powi(3), Some(Exact::from_int(1_000)));
    assert_eq!(ten.powi(-3), Some(Exact::ratio(1, 1_000)));
    assert_eq!(Exact::ZERO.powi(0), Some(Exact::ONE));
    assert_eq!(Exact::ZERO.powi(-1), None);
    assert_eq!(ten.powi(65), None);
    assert_eq!(ten.powi(i32::MIN), None);
    assert_eq!(Exact::ONE.div(&Exact::ZERO), None);
    assert_eq!(Exact::ratio(3, 0), Exact::ZERO);
    assert_eq!(Exact::ratio(i64::MIN, -1).to_i64(), None);
    assert_eq!(Exact::ratio(i64::MIN, i64::MIN), Exact::ONE);
    let huge = ten.powi(64).unwrap().powi(6).unwrap();
    assert_eq!(huge.outward(), (f64::MAX, f64::INFINITY));
    assert_eq!(huge.neg().outward(), (f64::NEG_INFINITY, f64::MIN));
    assert_eq!(
        (huge.nearest(), huge.neg().nearest()),
        (f64::INFINITY, f64::NEG_INFINITY)
    );
    let tiny = Exact::ONE.div(&huge).unwrap();
    assert_eq!(tiny.outward(), (0.0, f64::from_bits(1)));
    assert_eq!(tiny.neg().outward(), (-f64::from_bits(1), 0.0));
    assert_eq!(Exact::default(), Exact::ZERO);
}
