//! The two systems that limits are read in: SI and inch-pound.

use std::sync::LazyLock;

use super::unit::Unit;

/// A system of units.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum System {
    /// Metres, kilograms, degrees Celsius, and the units that are used with them.
    Si,
    /// Inches, pounds, degrees Fahrenheit.
    InchPound,
}

impl Unit {
    /// The unit that the system writes such a value in; the unit itself when it is of that system.
    ///
    /// `None` when both systems write it alike: times, shares, counts, hardness, angles.
    #[must_use]
    pub fn in_system(&self, system: System) -> Option<Unit> {
        let dimension = self.dimension();
        let inch_pound = words(self.spelling()).any(|word| INCH_POUND.contains(&word));
        let (own, other): (Side, Side) = match system {
            System::Si => (|pair| &pair.0, |pair| &pair.1),
            System::InchPound => (|pair| &pair.1, |pair| &pair.0),
        };
        let same = |pair: &&(Unit, Unit)| pair.0.dimension() == dimension;
        let spelt = |unit: &Unit| unit.spelling() == self.spelling();
        // A unit of the shop's own is of neither system.
        let of_this = match system {
            System::Si => !inch_pound,
            System::InchPound => inch_pound,
        };
        let known = Unit::parse(self.spelling()).is_ok();
        let first = PAIRS.iter().find(same)?;
        if of_this && known {
            return Some(self.clone());
        }
        let pair = PAIRS.iter().find(|pair| spelt(other(pair)));
        Some(own(pair.unwrap_or(first)).clone())
    }
}

/// One of the two units of a pair.
type Side = fn(&(Unit, Unit)) -> &Unit;

/// Words of units that are inch-pound.
const INCH_POUND: [&str; 17] = [
    "in", "ft", "yd", "mil", "lb", "oz", "lbf", "psi", "gal", "floz", "fl-oz", "Btu", "BTU", "°F",
    "ºF", "Δ°F", "∆°F",
];

/// The words of a unit: `Btu`, `h`, `ft` of `Btu/(h·ft²)`.
fn words(spelling: &str) -> impl Iterator<Item = &str> {
    spelling
        .split(|sign: char| !(sign.is_alphabetic() || matches!(sign, '°' | 'º' | '∆' | '-')))
        .filter(|word| !word.is_empty())
}

/// Units that stand for each other. The first of a dimension stands for all that are not listed;
/// of several with one spelling on a side the first counts.
static PAIRS: LazyLock<Vec<(Unit, Unit)>> = LazyLock::new(|| {
    let read = |(si, inch): &(&str, &str)| Some((Unit::parse(si).ok()?, Unit::parse(inch).ok()?));
    WRITTEN.iter().filter_map(read).collect()
});

const WRITTEN: &[(&str, &str)] = &[
    ("mm", "in"),
    ("m", "ft"),
    ("cm", "in"),
    ("µm", "mil"),
    ("m", "yd"),
    ("cm³/m²", "floz/yd²"),
    ("cm²", "in²"),
    ("m²", "ft²"),
    ("m²", "yd²"),
    ("mL", "floz"),
    ("L", "gal"),
    ("g", "oz"),
    ("kg", "lb"),
    ("°C", "°F"),
    ("K", "Δ°F"),
    ("Δ°C", "Δ°F"),
    ("m/min", "ft/min"),
    ("m/s", "ft/s"),
    ("cm/s", "in/s"),
    ("mm/s", "in/s"),
    ("/cm", "/in"),
    ("N", "lbf"),
    ("N/cm", "lbf/in"),
    ("N/m", "lbf/in"),
    ("kPa", "psi"),
    ("bar", "psi"),
    ("kJ", "Btu"),
    ("kW", "Btu/h"),
    ("kW/m²", "Btu/(h·ft²)"),
    ("W/(m²·K)", "Btu/(h·ft²·Δ°F)"),
    ("W/(m·K)", "Btu/(h·ft·Δ°F)"),
    ("kJ/kg", "Btu/lb"),
    ("J/(kg·K)", "Btu/(lb·Δ°F)"),
    ("kJ/(m²·K)", "Btu/(ft²·Δ°F)"),
    ("m²·K/W", "h·ft²·Δ°F/Btu"),
    ("K/s", "Δ°F/s"),
    ("K/min", "Δ°F/min"),
    ("g/cm³", "lb/gal"),
    ("kg/m³", "lb/ft³"),
    ("g/m²", "oz/yd²"),
    ("kg/m²", "lb/ft²"),
    ("money/kg", "money/lb"),
    ("money/L", "money/gal"),
];

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

    use super::{PAIRS, System, WRITTEN};
    use crate::units::{Exact, Unit, show_exact};

    fn converted(value: &str, unit: &str, system: System) -> String {
        let unit = Unit::parse(unit).unwrap();
        let base = unit.to_base(&Exact::parse_decimal(value).unwrap());
        show_exact(&base, &unit.in_system(system).unwrap())
    }

    #[test]
    fn every_pair_reads_and_measures_the_same() {
        assert_eq!(PAIRS.len(), WRITTEN.len());
        for (si, inch) in PAIRS.iter() {
            assert_eq!(si.dimension(), inch.dimension(), "{si} {inch}");
            assert_eq!(si.in_system(System::Si).as_ref(), Some(si));
            assert_eq!(inch.in_system(System::InchPound).as_ref(), Some(inch));
            assert!(si.in_system(System::InchPound).is_some());
        }
    }

    #[test]
    fn values_are_those_of_published_factors() {
        // NIST SP 811 (2008), appendix B.8: 1 in = 25.4 mm, 1 lbf/in = 175.1268 N/m,
        // 1 oz/yd² = 33.905 75 g/m², 1 psi = 6.894 757 kPa, 1 Btu/(lb·°F) = 4186.8 J/(kg·K),
        // 1 Btu/(h·ft²·°F) = 5.678 263 W/(m²·K), t/°C = (t/°F - 32)/1.8.
        let si = |value, unit| converted(value, unit, System::Si);
        let inch = |value, unit| converted(value, unit, System::InchPound);
        assert_eq!(si("300", "°F"), "148.9 °C");
        assert_eq!(inch("160", "°C"), "320 °F");
        assert_eq!(si("110", "/in"), "43.31 /cm");
        assert_eq!(inch("43", "/cm"), "109.22 /in");
        assert_eq!(inch("20", "N/cm"), "11.42 lbf/in");
        assert_eq!(inch("180", "g/m²"), "5.309 oz/yd²");
        assert_eq!(si("10", "psi"), "68.95 kPa");
        assert_eq!(si("1", "Btu/(lb·Δ°F)"), "4186.8 J/(kg·K)");
        assert_eq!(si("1", "Btu/(h·ft²·Δ°F)"), "5.678 W/(m²·K)");
        assert_eq!(inch("2.44", "m"), "8.005 ft");
        assert_eq!(inch("9", "K"), "16.2 Δ°F");
    }

    #[test]
    fn what_both_write_alike_has_no_other_unit() {
        for unit in ["s", "min", "%", "ShoreA", "°", "pieces", "kJ/mol"] {
            let unit = Unit::parse(unit).unwrap();
            assert_eq!(unit.in_system(System::Si), None, "{unit}");
            assert_eq!(unit.in_system(System::InchPound), None, "{unit}");
        }
        // A unit of the shop's own is read in both.
        let own = Unit::custom("hand", &Exact::from_int(4), &Unit::parse("in").unwrap());
        assert_eq!(own.in_system(System::Si).unwrap().spelling(), "mm");
        assert_eq!(own.in_system(System::InchPound).unwrap().spelling(), "in");
    }
}
