//! Values and bounds as people read them.

use proptest::prelude::*;
use strikeoff::units::{Exact, Unit, show_bounds, show_down, show_exact, show_up};

fn unit(text: &str) -> Unit {
    Unit::parse(text).unwrap()
}

fn base(value: &str, unit: &Unit) -> Exact {
    unit.to_base(&Exact::parse_decimal(value).unwrap())
}

fn exact(value: &str, name: &str) -> String {
    let unit = unit(name);
    show_exact(&base(value, &unit), &unit)
}

/// The outward bounds of two written ends, shown again.
fn bounds(low: &str, high: &str, name: &str) -> String {
    let unit = unit(name);
    let (low, high) = (base(low, &unit).outward().0, base(high, &unit).outward().1);
    show_bounds(low, high, &unit)
}

#[test]
fn exact_values() {
    assert_eq!(exact("320", "°F"), "320 °F");
    assert_eq!(exact("0.05", "m/min"), "0.05 m/min");
    assert_eq!(exact("30", "%"), "30 %");
    assert_eq!(exact("80", "/in"), "80 /in");
    assert_eq!(exact("1", "pieces"), "1 piece");
    assert_eq!(exact("123456789", "pieces"), "123456789 pieces");
    assert_eq!(exact("-5", "°C"), "-5 °C");
    assert_eq!(exact("0", "s"), "0 s");
    assert_eq!(exact("1.23456789", "s"), "1.235 s");
    let mesh = unit("/in").to_base(&Exact::from_int(80));
    assert_eq!(show_exact(&mesh, &unit("/cm")), "31.5 /cm"); // 31.496…
    assert_eq!(show_exact(&Exact::ratio(1, 3), &Unit::bare()), "0.3333");
    assert_eq!(
        show_exact(&Exact::from_int(2), &Unit::noun("strokes")),
        "2 strokes"
    );
    assert_eq!(show_exact(&Exact::ratio(3, 10), &Unit::percent()), "30 %");
}

#[test]
fn bounds_are_rounded_outward() {
    let s = unit("s");
    assert_eq!(show_bounds(46.37, 51.42, &s), "46.3 to 51.5 s");
    assert_eq!(show_bounds(51.42, 46.37, &s), "46.3 to 51.5 s");
    assert_eq!(show_bounds(-1.0, 2.5, &s), "-1 to 2.5 s");
    assert_eq!(show_bounds(48.0, 48.0, &s), "48 s");
    assert_eq!(show_bounds(0.0, 0.0, &s), "0 s");
    assert_eq!(show_bounds(48.123, 48.124, &s), "48.123 to 48.124 s");
    assert_eq!(show_bounds(1.0 / 3.0, 1.0 / 3.0, &s), "0.3333 to 0.3334 s");
    assert_eq!(show_bounds(46.4, f64::INFINITY, &s), "at least 46.4 s");
    assert_eq!(show_bounds(f64::NEG_INFINITY, 51.4, &s), "at most 51.4 s");
    assert_eq!(
        show_bounds(f64::NEG_INFINITY, f64::INFINITY, &s),
        "any value"
    );
    assert_eq!(show_bounds(f64::NAN, 1.0, &s), "any value");
    // The floating-point number is a little above 10 to the power 300.
    assert_eq!(show_bounds(0.0, 1e300, &s), "0 to 1.01e300 s");
}

#[test]
fn written_limits_read_as_written() {
    assert_eq!(bounds("280", "320", "°F"), "280 to 320 °F");
    assert_eq!(bounds("80", "200", "/in"), "80 to 200 /in");
    assert_eq!(bounds("64", "64", "µm"), "64 µm");
    assert_eq!(bounds("0.1", "0.1", "m/min"), "0.1 m/min");
    assert_eq!(bounds("1.28", "1.36", "g/cm³"), "1.28 to 1.36 g/cm³");
    assert_eq!(bounds("2.0", "2.2", "m/min"), "2 to 2.2 m/min");
    assert_eq!(bounds("30", "30", "%"), "30 %");
    assert_eq!(bounds("1200", "1200", "pieces"), "1200 pieces");
    let speed = unit("ft/min");
    assert_eq!(
        show_down(base("7", &speed).outward().0, &speed, 3),
        "7 ft/min"
    );
    assert_eq!(
        show_up(base("7", &speed).outward().1, &speed, 3),
        "7 ft/min"
    );
    assert_eq!(show_down(46.37, &unit("s"), 3), "46.3 s");
    assert_eq!(show_up(46.37, &unit("s"), 3), "46.4 s");
    assert_eq!(
        show_up(f64::INFINITY, &unit("s"), 3),
        "without an upper limit"
    );
}

/// The ends of a shown text, read back and bounded outward again.
fn read_back(text: &str, unit: &Unit) -> (f64, f64) {
    let ends = text.strip_suffix(unit.spelling()).unwrap().trim_end();
    let (low, high) = ends.split_once(" to ").unwrap_or((ends, ends));
    (base(low, unit).outward().0, base(high, unit).outward().1)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn what_is_shown_holds_the_bounds(
        middle in -1000.0_f64..1000.0,
        power in -12_i32..12,
        width in prop_oneof![Just(0.0), 1e-16_f64..1e-9, 1e-9_f64..1.0, 1.0_f64..1e6],
        name in prop::sample::select(vec!["s", "mm", "°F", "°C", "/in", "N/cm", "%", "oz/yd²", "Btu"]),
    ) {
        let unit = unit(name);
        let low = middle * 10.0_f64.powi(power);
        let high = low + low.abs() * width;
        let text = show_bounds(low, high, &unit);
        let (below, above) = read_back(&text, &unit);
        prop_assert!(below <= low && high <= above, "{} for {} to {}", text, low, high);
    }

    #[test]
    fn one_end_stays_on_its_side(value in -1e9_f64..1e9, digits in 1_u32..7) {
        let unit = unit("mm");
        let (below, _) = read_back(&show_down(value, &unit, digits), &unit);
        let (_, above) = read_back(&show_up(value, &unit, digits), &unit);
        prop_assert!(below <= value && value <= above);
    }

    #[test]
    fn showing_never_panics(low in any::<f64>(), high in any::<f64>()) {
        for unit in [unit("°F"), unit("µm"), Unit::bare(), Unit::custom("none", &Exact::ZERO, &unit("m"))] {
            prop_assert!(!show_bounds(low, high, &unit).is_empty());
            prop_assert!(!show_down(low, &unit, 3).is_empty());
        }
    }
}
