//! Units against tables made elsewhere: Pint's factors and conversions, NIST SP 811, SI definitions.

use std::collections::HashSet;
use std::fs;

use strikeoff::units::{Dimension, Exact, Unit, UnitProblem, catalog};

/// Rows of a table in `tests/reference/units`, without remarks and the heading.
fn table(name: &str) -> Vec<Vec<String>> {
    let path = format!(
        "{}/tests/reference/units/{name}",
        env!("CARGO_MANIFEST_DIR")
    );
    let text = fs::read_to_string(path).unwrap();
    text.lines()
        .filter(|line| !line.starts_with('#'))
        .skip(1)
        .map(|line| line.split(',').map(str::to_owned).collect())
        .collect()
}

fn number(text: &str) -> Exact {
    Exact::parse_decimal(text).unwrap_or_else(|problem| panic!("{text}: {problem}"))
}

fn unit(text: &str) -> Unit {
    Unit::parse(text).unwrap_or_else(|problem| panic!("{text}: {problem}"))
}

fn convert(value: &str, from: &str, to: &str) -> Exact {
    let (from, to) = (unit(from), unit(to));
    assert_eq!(from.dimension(), to.dimension(), "{from} and {to}");
    to.from_base(&from.to_base(&number(value)))
}

/// Within 1e-12 of the expected value, relative; exactly where that is zero.
fn close(found: &Exact, expected: &Exact) -> bool {
    let allowed = expected.abs().mul(&Exact::ratio(1, 1_000_000_000_000));
    found.sub(expected).abs() <= allowed
}

#[test]
fn every_catalogue_unit_has_the_factor_of_the_table() {
    let rows = table("factors.csv");
    let mut seen = HashSet::new();
    for row in &rows {
        let [word, base, factor, zero] = row.as_slice() else {
            panic!("{row:?}");
        };
        let found = unit(word);
        let base = if base.is_empty() {
            Unit::bare()
        } else {
            unit(base)
        };
        assert_eq!(base.factor(), &Exact::ONE, "{word}");
        assert_eq!(found.dimension().difference(), base.dimension(), "{word}");
        assert!(close(found.factor(), &number(factor)), "{word}");
        assert!(close(&found.to_base(&Exact::ZERO), &number(zero)), "{word}");
        seen.insert(found.spelling().to_owned());
    }
    for row in catalog() {
        assert!(
            seen.contains(row.spellings[0]),
            "{} is not in the table",
            row.name
        );
        assert!(
            !row.source.is_empty() && !row.factor.is_zero(),
            "{}",
            row.name
        );
        for spelling in row.spellings {
            assert_eq!(unit(spelling).spelling(), row.spellings[0]);
        }
    }
    assert_eq!(seen.len(), catalog().len());
}

#[test]
fn no_spelling_names_two_units() {
    let mut seen = HashSet::new();
    for row in catalog() {
        for spelling in row.spellings {
            assert!(seen.insert(*spelling), "{spelling}");
        }
    }
}

#[test]
fn conversions_agree_with_the_table() {
    let rows = table("conversions.csv");
    assert!(rows.len() >= 120, "{}", rows.len());
    for row in rows {
        let [value, from, to, expected] = row.as_slice() else {
            panic!("{row:?}");
        };
        let found = convert(value, from, to);
        assert!(
            close(&found, &number(expected)),
            "{value} {from} is {expected} {to}, not {found}"
        );
    }
}

#[test]
fn factors_round_to_those_nist_printed() {
    let rows = table("nist-sp-811.csv");
    assert!(rows.len() >= 25, "{}", rows.len());
    for row in rows {
        let [from, to, factor, _] = row.as_slice() else {
            panic!("{row:?}");
        };
        let (found, printed) = (convert("1", from, to), number(factor));
        // Half a unit of the seventh digit.
        let power = factor
            .split_once('e')
            .map_or(0, |(_, power)| power.parse::<i32>().unwrap());
        let half = Exact::from_int(10)
            .powi(power - 6)
            .unwrap()
            .mul(&Exact::ratio(1, 2));
        assert!(
            found.sub(&printed).abs() <= half,
            "1 {from} is {factor} {to}, not {found}"
        );
    }
}

/// SI Brochure, 9th edition, and the yard and pound agreement of 1959.
#[test]
fn definitions_are_exact() {
    assert_eq!(number("0.1").add(&number("0.2")), number("0.3"));
    assert_eq!(convert("320", "°F", "°C"), Exact::from_int(160));
    assert_eq!(convert("1", "in", "mm"), number("25.4"));
    assert_eq!(convert("80", "/in", "/cm"), Exact::ratio(4_000, 127));
    assert_eq!(convert("16", "oz", "lb"), Exact::ONE);
    assert_eq!(convert("1", "gal", "in³"), Exact::from_int(231));
    assert_eq!(convert("128", "floz", "gal"), Exact::ONE);
    assert_eq!(convert("1", "psi", "lbf/in²"), Exact::ONE);
    assert_eq!(convert("1", "Btu/lb", "J/kg"), Exact::from_int(2_326));
    assert_eq!(convert("1", "kWh", "J"), Exact::from_int(3_600_000));
}

#[test]
fn ascii_and_other_spellings_read_the_same() {
    for (written, same) in [
        ("°F", "degF"),
        ("°C", "℃"),
        ("Δ°F", "delta-degF"),
        ("Δ°C", "∆°C"),
        ("K", "kelvin"),
        ("µm", "um"),
        ("µm", "μm"),
        ("/in", "lpi"),
        ("/in", "dpi"),
        ("g/cm³", "g/cm^3"),
        ("W/(m²·K)", "W/(m^2*K)"),
        ("W/(m²·K)", "W/m²/K"),
        ("W/(m²·K)", "W·m⁻²·K⁻¹"),
        ("W/(m²·K)", "W*m^-2*K^-1"),
        ("/in", "in^-1"),
        ("m²", "m·m"),
        ("g/piece", "g/pieces"),
        ("pieces/h", "pcs/h"),
        ("Δ°C/min", "°C/min"),
        ("/(m·s)", "/m/s"),
        ("kg/(m·s²)", "kg/(m*s^2)"),
    ] {
        assert_eq!(unit(same), unit(written), "{same}");
        assert_eq!(unit(same).spelling(), written);
    }
}

#[test]
fn points_and_differences_are_kept_apart() {
    assert!(unit("°F").is_point() && unit("°C").is_point());
    assert!(!unit("K").is_point() && !unit("Δ°F").is_point());
    assert_eq!(unit("°F").as_difference(), unit("Δ°F"));
    assert_eq!(unit("mm").as_difference(), unit("mm"));
    assert_eq!(unit("°C/s").dimension(), Dimension::HEATING_RATE);
    assert_eq!(Unit::parse("°C²"), Err(UnitProblem::PointInCompound));
    assert_eq!(Dimension::TEMPERATURE.multiply(&Dimension::LENGTH), None);
}

#[test]
fn mistakes_are_named() {
    for (text, word, suggestion) in [
        ("C", "C", "°C"),
        ("F", "F", "°F"),
        ("sec", "sec", "s"),
        ("inch", "inch", "in"),
        ("fpm", "fpm", "ft/min"),
        ("micron", "micron", "µm"),
        ("\"", "\"", "in"),
        ("N/cm2", "cm2", "cm²"),
        ("gsm", "gsm", "g/m²"),
        ("MM", "MM", "mm"),
        ("Kg", "Kg", "kg"),
        ("PSI", "PSI", "psi"),
        ("lbs/gal", "lbs", "lb"),
        ("pieecs", "pieecs", "pieces"),
        ("m/mn", "mn", "min"),
        ("shoreA", "shoreA", "ShoreA"),
        ("g/sqm", "sqm", "m²"),
    ] {
        match Unit::parse(text) {
            Err(UnitProblem::Unknown {
                word: found,
                suggestions,
            }) => {
                assert_eq!(found, word);
                assert_eq!(suggestions.first(), Some(&suggestion), "{text}");
                for suggestion in suggestions {
                    unit(suggestion);
                }
            }
            other => panic!("{text}: {other:?}"),
        }
    }
    let far = Unit::parse("furlongs");
    assert!(matches!(far, Err(UnitProblem::Unknown { suggestions, .. }) if suggestions.is_empty()));
    for text in [
        "",
        "/",
        "m/",
        "·m",
        "m··m",
        "m²²",
        "m^",
        "m^0",
        "m^99",
        "(m)",
        "m/(s",
        "m/s)",
        "m /s",
        "m/(s/h)",
        "m/(s)(h)",
        "m/(s)/(h)",
        "m^x",
        "²",
    ] {
        assert_eq!(Unit::parse(text), Err(UnitProblem::Malformed), "{text}");
    }
    assert_eq!(Unit::parse("W/m²·K"), Err(UnitProblem::Ambiguous));
}

#[test]
fn units_of_the_shops_own_work_inside_compounds() {
    let dozen = Unit::custom("dozen", &Exact::from_int(12), &unit("pieces"));
    let find = |word: &str| match word {
        "dozen" => Some(dozen.clone()),
        "EUR" => Some(Unit::custom("EUR", &Exact::ONE, &unit("money"))),
        "strokes" => Some(Unit::noun("strokes")),
        _ => None,
    };
    let rate = Unit::parse_with("dozen/h", &find).unwrap();
    assert_eq!(rate.dimension(), Dimension::PIECE_RATE);
    assert_eq!(rate.factor(), &Exact::ratio(12, 3_600));
    let price = Unit::parse_with("EUR/kg", &find).unwrap();
    assert_eq!(price.dimension(), Dimension::PRICE_PER_MASS);
    assert_eq!(price.spelling(), "EUR/kg");
    let strokes = Unit::parse_with("strokes", &find).unwrap();
    assert!(strokes.is_noun() && strokes.dimension().is_number());
    assert_eq!(
        Unit::parse_with("strokes/min", &find).unwrap().dimension(),
        Dimension::FREQUENCY
    );
    assert!(Unit::parse("EUR/kg").is_err());
}

#[test]
fn every_dimension_has_units_and_words() {
    for (name, dimension, sentence) in Dimension::names() {
        assert_eq!(Dimension::named(name), Some(*dimension));
        assert!(!sentence.is_empty());
        let usual = Unit::usual_for(name).unwrap();
        assert_eq!(usual.dimension(), *dimension, "{name}");
        assert_eq!(Unit::usual(*dimension).dimension(), *dimension, "{name}");
        let si = Unit::si(*dimension);
        assert_eq!(
            (si.dimension(), si.factor()),
            (*dimension, &Exact::ONE),
            "{name}"
        );
        if !usual.is_bare() {
            assert_eq!(unit(usual.spelling()), usual, "{name}");
        }
    }
    let usual = |name: &str| Unit::usual_for(name).unwrap().spelling().to_owned();
    assert_eq!(usual("share"), "%");
    assert_eq!(usual("areal-volume"), "cm³/m²");
    assert_eq!(usual("temperature"), "°C");
    assert_eq!(Dimension::SPEED.describe(), "a speed (length per time)");
    assert_eq!(Dimension::AREA.describe(), "an area (length squared)");
    assert_eq!(Dimension::TEMPERATURE.describe(), "a temperature");
    assert_eq!(Dimension::NUMBER.describe(), "a number");
    assert_eq!(
        Dimension::THREAD_COUNT.describe(),
        "a thread count (per length)"
    );
    let odd = Dimension::SPEED.divide(&Dimension::TIME).unwrap();
    assert_eq!(odd.describe(), "length per time squared");
    assert_eq!(Unit::si(odd).spelling(), "m/s²");
    assert_eq!(Dimension::AREA.root(), Some(Dimension::LENGTH));
    assert_eq!(Dimension::VOLUME.root(), None);
    assert_eq!(Dimension::LENGTH.powi(200), None);
}
