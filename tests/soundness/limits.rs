//! Values that lie exactly on their limit, written in other units than it.

use num_traits::{One as _, Zero as _};
use strikeoff::eval::Verdict;

use super::fraction::{Fraction, decimal};
use super::{ready, verdict};
use crate::demo_room::{Random, cases};

/// A unit: how it is written, its size, and where its zero lies, in one common unit of the dimension.
struct Unit(&'static str, (i64, i64), (i64, i64));

/// Exact by definition: the inch is 25.4 mm and the pound 0.45359237 kg (international yard and pound
/// agreement, 1959); standard gravity is 9.80665 m/s² (BIPM, SI brochure). Temperatures by
/// t/°F = 9/5 · t/°C + 32.
const UNITS: &[(&str, &[Unit])] = &[
    (
        "length",
        &[
            Unit("m", (1, 1), (0, 1)),
            Unit("cm", (1, 100), (0, 1)),
            Unit("mm", (1, 1_000), (0, 1)),
            Unit("µm", (1, 1_000_000), (0, 1)),
            Unit("in", (254, 10_000), (0, 1)),
            Unit("ft", (3_048, 10_000), (0, 1)),
        ],
    ),
    (
        "temperature",
        &[Unit("°C", (1, 1), (0, 1)), Unit("°F", (5, 9), (-160, 9))],
    ),
    (
        "thread-count",
        &[
            Unit("/cm", (100, 1), (0, 1)),
            Unit("/in", (10_000, 254), (0, 1)),
            Unit("/m", (1, 1), (0, 1)),
        ],
    ),
    (
        "speed",
        &[
            Unit("m/min", (1, 60), (0, 1)),
            Unit("m/s", (1, 1), (0, 1)),
            Unit("ft/min", (3_048, 600_000), (0, 1)),
            Unit("in/s", (254, 10_000), (0, 1)),
        ],
    ),
    (
        "time",
        &[
            Unit("s", (1, 1), (0, 1)),
            Unit("min", (60, 1), (0, 1)),
            Unit("h", (3_600, 1), (0, 1)),
            Unit("ms", (1, 1_000), (0, 1)),
        ],
    ),
];

/// A decimal in one unit and the same value as a decimal in the other; `None` when it is none there.
fn pair(random: &Random, one: &Unit, other: &Unit) -> Option<(String, String)> {
    let part = |(num, den): (i64, i64)| Fraction::new(num, den);
    let places = u32::try_from(random.below(4)).unwrap();
    // A multiple of the other unit's odd part, so that the value is a decimal there too: 127 for the inch.
    let odd = *random.pick(&[1, 9, 127, 381, 3, 45]);
    let (text, value) = decimal(random.whole(1, 400) * odd, places);
    let common = value.mul(&part(one.1)).add(&part(one.2));
    let there = common.sub(&part(other.2)).div(&part(other.1))?;
    // As few places as show it exactly.
    let exact = |digits: &u32| {
        let scaled = there.mul(&Fraction::whole(10_i64.pow(*digits)));
        scaled.den.is_one()
    };
    let digits = (0..12).find(exact)?;
    if there.num.is_zero() {
        return None;
    }
    let scaled = there.mul(&Fraction::whole(10_i64.pow(digits)));
    let number = i64::try_from(scaled.num).ok()?;
    Some((text, decimal(number, digits).0))
}

#[test]
fn a_value_on_its_limit_is_on_it_in_any_unit() {
    let mut tried = 0;
    for seed in 0..cases(120) {
        let random = Random::new(3_000_000 + seed);
        let (dimension, units) = random.pick(UNITS);
        let (one, other) = (random.pick(units), random.pick(units));
        let Some((value, limit)) = pair(&random, one, other) else {
            continue;
        };
        tried += 1;
        let (value, limit) = (format!("{value} {}", one.0), format!("{limit} {}", other.0));
        // Points of temperature add to nothing; the rest may go through arithmetic and stay exact.
        let ways: &[&str] = match *dimension {
            "temperature" => &["bed.x"],
            _ => &[
                "bed.x",
                "bed.x * 3 / 3",
                "bed.x * bed.x / bed.x",
                "bed.x + bed.x - bed.x",
                "root(bed.x ^ 2)",
                "least(bed.x, bed.x * 7)",
            ],
        };
        let way = *random.pick(ways);
        for (words, holds) in [
            ("at least", true),
            ("at most", true),
            ("is", true),
            ("above", false),
            ("below", false),
            ("is not", false),
        ] {
            let standard = format!(
                "standard \"a\" edition \"1\"\nkind bed, one to a run \"a\" {{\n  x {dimension} set\n}}\n\
                 rule r {{\n  shall {way} {words} {limit}\n  per practice\n}}\n"
            );
            let plan = format!("run \"a\" against \"room.std\"\nbed {{\n  x {value}\n}}\n");
            let (prepared, run) = ready(&standard, &plan);
            let found = verdict(&prepared, &run);
            let wanted = if holds {
                Verdict::Holds(None)
            } else {
                Verdict::Breaks
            };
            assert_eq!(found, wanted, "{value}: {way} {words} {limit}");
        }
    }
    eprintln!("{tried} values on their limit");
    assert!(tried > 20);
}

#[test]
fn well_known_pairs_are_the_same() {
    for (dimension, value, limit) in [
        ("temperature", "320 °F", "160 °C"),
        ("temperature", "-40 °C", "-40 °F"),
        ("temperature", "160 °C", "433.15 K"),
        ("thread-count", "127 /in", "50 /cm"),
        ("thread-count", "109.22 /in", "43 /cm"),
        ("length", "0.1 in", "2.54 mm"),
        ("speed", "1 ft/min", "0.3048 m/min"),
        ("number", "0.3", "0.1 + 0.2"),
        ("number", "1", "0.1 * 10"),
    ] {
        for (words, holds) in [
            ("at least", true),
            ("at most", true),
            ("is", true),
            ("above", false),
            ("below", false),
        ] {
            if limit.ends_with(" K") && dimension == "temperature" {
                // Kelvin stands for differences only; the language says so itself.
                continue;
            }
            let standard = format!(
                "standard \"a\" edition \"1\"\nkind bed, one to a run \"a\" {{\n  x {dimension} set\n}}\n\
                 rule r {{\n  shall bed.x {words} {limit}\n  per practice\n}}\n"
            );
            let plan = format!("run \"a\" against \"room.std\"\nbed {{\n  x {value}\n}}\n");
            let (prepared, run) = ready(&standard, &plan);
            let wanted = if holds {
                Verdict::Holds(None)
            } else {
                Verdict::Breaks
            };
            assert_eq!(verdict(&prepared, &run), wanted, "{value} {words} {limit}");
        }
    }
}
