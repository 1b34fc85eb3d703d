//! Units of the case files: products and quotients of the usual symbols, such as `W/(m2 K)`.

/// SI value of a unit's symbol; kelvin and degree Celsius as differences.
fn symbol(name: &str) -> Option<f64> {
    const TABLE: &[(&str, f64)] = &[
        ("m", 1.0),
        ("cm", 1e-2),
        ("mm", 1e-3),
        ("um", 1e-6),
        ("µm", 1e-6),
        ("nm", 1e-9),
        ("in", 0.0254),
        ("ft", 0.3048),
        ("kg", 1.0),
        ("g", 1e-3),
        ("mg", 1e-6),
        ("t", 1e3),
        ("lb", 0.453_592_37),
        ("oz", 0.028_349_523_125),
        ("s", 1.0),
        ("ms", 1e-3),
        ("min", 60.0),
        ("h", 3600.0),
        ("K", 1.0),
        ("degC", 1.0),
        ("degF", 5.0 / 9.0),
        ("°C", 1.0),
        ("°F", 5.0 / 9.0),
        ("C", 1.0),
        ("J", 1.0),
        ("kJ", 1e3),
        ("MJ", 1e6),
        ("W", 1.0),
        ("kW", 1e3),
        // International table: NIST SP 811, appendix B.8.
        ("Btu", 1_055.055_852_62),
        ("N", 1.0),
        ("Pa", 1.0),
        ("hPa", 1e2),
        ("kPa", 1e3),
        ("MPa", 1e6),
        ("bar", 1e5),
        ("mbar", 1e2),
        ("mol", 1.0),
        ("L", 1e-3),
        ("ml", 1e-6),
        ("%", 1e-2),
        ("ppm", 1e-6),
        ("cycles", 1.0),
        ("cycle", 1.0),
        ("pieces", 1.0),
        ("piece", 1.0),
        ("stations", 1.0),
        ("lanes", 1.0),
    ];
    TABLE
        .iter()
        .find(|(known, _)| *known == name)
        .map(|(_, factor)| *factor)
}

/// Factor from the unit to SI base units; `None` for one that is not known.
pub(crate) fn factor(name: &str) -> Option<f64> {
    // What the number is of (`J/kg dry fibre`) is not part of the unit.
    let name = name.split(" dry").next()?.split(" water").next()?.trim();
    if name.is_empty() {
        return Some(1.0);
    }
    if let Ok(number) = name.parse::<f64>() {
        return Some(number);
    }
    let mut value = 1.0;
    let mut below = false;
    for (index, part) in name.split('/').enumerate() {
        // Everything after the first stroke is below it; brackets may hold a product.
        below |= index > 0;
        for word in part.trim().trim_matches(['(', ')']).split([' ', '*', '·']) {
            let term = power(word)?;
            value = if below { value / term } else { value * term };
        }
    }
    Some(value)
}

/// A symbol with an exponent: `m2`, `s-1`, `1`.
fn power(word: &str) -> Option<f64> {
    if let Ok(number) = word.parse::<f64>() {
        return Some(number);
    }
    let split = word.find(|c: char| c.is_ascii_digit() || c == '-' || c == '^');
    let (name, exponent) = match split {
        Some(at) => (
            &word[..at],
            word[at..].trim_start_matches('^').parse::<i32>().ok()?,
        ),
        None => (word, 1),
    };
    let superscript = [("²", 2), ("³", 3)]
        .into_iter()
        .find(|(sign, _)| name.ends_with(sign));
    match superscript {
        Some((sign, exponent)) => Some(symbol(name.trim_end_matches(sign))?.powi(exponent)),
        None => Some(symbol(name)?.powi(exponent)),
    }
}

/// A temperature in kelvin.
pub(crate) fn temperature(name: &str, value: f64) -> Option<f64> {
    match name {
        "K" => Some(value),
        "degC" | "°C" | "C" => Some(value + 273.15),
        "degF" | "°F" | "F" => Some((value + 459.67) * 5.0 / 9.0),
        _ => None,
    }
}

/// A temperature in kelvin as a number of the unit.
pub(crate) fn temperature_in(name: &str, kelvin: f64) -> Option<f64> {
    match name {
        "K" => Some(kelvin),
        "degC" | "°C" | "C" => Some(kelvin - 273.15),
        "degF" | "°F" | "F" => Some(kelvin * 9.0 / 5.0 - 459.67),
        _ => None,
    }
}

#[test]
fn units_are_read() {
    for (name, expected) in [
        ("1", 1.0),
        ("", 1.0),
        ("m2", 1.0),
        ("cm2", 1e-4),
        ("g/cm3", 1000.0),
        ("1/cm", 100.0),
        ("m/min", 1.0 / 60.0),
        ("W/(m2 K)", 1.0),
        ("J/(kg K)", 1.0),
        ("kJ/mol", 1000.0),
        ("1e-4", 1e-4),
        ("J/kg dry fibre", 1.0),
        ("g/m2", 1e-3),
        ("kW/m2", 1000.0),
        ("m2 K/W", 1.0),
        ("mm2/s", 1e-6),
        ("%", 0.01),
        ("kg/kg", 1.0),
        ("W/m²K", f64::NAN),
    ] {
        match factor(name) {
            Some(got) => assert!((got / expected - 1.0).abs() < 1e-12, "{name}: {got}"),
            None => assert!(expected.is_nan(), "{name} is not known"),
        }
    }
    assert_eq!(factor("furlong"), None);
    assert_eq!(temperature("degF", 32.0), Some(273.15));
}
