//! A unit: its dimension, its exact factor to the SI base, and how it is written.

use std::borrow::Cow;
use std::fmt;
use std::sync::LazyLock;

use super::catalog::Row;
use super::dimension::Dimension;
use super::exact::Exact;
use super::spelling;

/// A unit of measure.
///
/// A value `x` in it is `(x + offset) · factor` in SI base units. Only a temperature has an offset.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unit {
    dimension: Dimension,
    factor: Exact,
    offset: Exact,
    spelling: Cow<'static, str>,
    sort: Sort,
}

/// What reads differently though the dimension is the same.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Sort {
    Plain,
    Bare,
    Percent,
    Noun,
}

impl Unit {
    pub(super) fn from_row(row: &Row) -> Unit {
        let sort = if row.spellings.first() == Some(&"%") {
            Sort::Percent
        } else {
            Sort::Plain
        };
        Unit {
            dimension: row.dimension,
            factor: row.factor.clone(),
            offset: row.offset.clone(),
            spelling: Cow::Borrowed(row.spellings.first().copied().unwrap_or_default()),
            sort,
        }
    }

    pub(super) fn assembled(dimension: Dimension, factor: Exact, spelling: String) -> Unit {
        Unit {
            dimension,
            factor,
            offset: Exact::ZERO,
            spelling: Cow::Owned(spelling),
            sort: Sort::Plain,
        }
    }

    /// Of a plain number: no unit at all.
    #[must_use]
    pub fn bare() -> Unit {
        Unit {
            dimension: Dimension::NUMBER,
            factor: Exact::ONE,
            offset: Exact::ZERO,
            spelling: Cow::Borrowed(""),
            sort: Sort::Bare,
        }
    }

    /// `%`.
    #[must_use]
    pub fn percent() -> Unit {
        Unit {
            factor: Exact::fixed(1, 100),
            spelling: Cow::Borrowed("%"),
            sort: Sort::Percent,
            ..Unit::bare()
        }
    }

    /// A noun that is counted: `strokes`, `stations`. Its dimension is a number.
    #[must_use]
    pub fn noun(noun: &str) -> Unit {
        Unit {
            spelling: Cow::Owned(noun.to_owned()),
            sort: Sort::Noun,
            ..Unit::bare()
        }
    }

    /// A unit of the shop's own: one `name` is `value` of `unit`, as in `unit dozen = 12 pieces`.
    ///
    /// A unit that is a point counts as its difference: there is no "two times 320 °F". A `value`
    /// of zero makes no sense and is for the caller to refuse.
    #[must_use]
    pub fn custom(name: &str, value: &Exact, unit: &Unit) -> Unit {
        Unit::assembled(
            unit.dimension.difference(),
            unit.factor.mul(value),
            name.to_owned(),
        )
    }

    /// The unit in which base values are held, as in `kg/m³`. For a temperature it is the kelvin
    /// *as a point*, which the language itself has no spelling for (there, `K` is a difference).
    #[must_use]
    pub fn si(dimension: Dimension) -> Unit {
        if dimension.is_point() {
            return Unit {
                dimension,
                ..Unit::assembled(dimension, Exact::ONE, "K".to_owned())
            };
        }
        match listed(&SI, dimension) {
            Some(unit) => unit,
            None => Unit::assembled(dimension, Exact::ONE, spelling::of_bases(dimension)),
        }
    }

    /// The unit people read this dimension in. A share has the dimension of a number, so ask
    /// [`Unit::usual_for`] where the name of the dimension is known.
    #[must_use]
    pub fn usual(dimension: Dimension) -> Unit {
        if dimension.is_number() {
            return Unit::bare();
        }
        listed(&USUAL, dimension).unwrap_or_else(|| Unit::si(dimension))
    }

    /// The unit people read a named dimension in: `%` for `share`, `cm³/m²` for `areal-volume`.
    #[must_use]
    pub fn usual_for(name: &str) -> Option<Unit> {
        let dimension = Dimension::named(name)?;
        let own = match name {
            "share" => Some("%"),
            "areal-volume" => Some("cm³/m²"),
            "areal-energy" => Some("J/m²"),
            _ => None,
        };
        match own {
            Some(own) => Unit::parse(own).ok(),
            None => Some(Unit::usual(dimension)),
        }
    }

    /// What it measures.
    #[must_use]
    pub fn dimension(&self) -> Dimension {
        self.dimension
    }

    /// One of it in SI base units.
    #[must_use]
    pub fn factor(&self) -> &Exact {
        &self.factor
    }

    /// What is added before the factor is applied: 273.15 for °C, 459.67 for °F, else zero.
    #[must_use]
    pub fn offset(&self) -> &Exact {
        &self.offset
    }

    /// Whether a value in it is a point on a scale.
    #[must_use]
    pub fn is_point(&self) -> bool {
        self.dimension.is_point()
    }

    /// The one way it is written: `°F`, `µm`, `/in`, `W/(m²·K)`; empty for a plain number.
    #[must_use]
    pub fn spelling(&self) -> &str {
        &self.spelling
    }

    /// Whether it is `%`.
    #[must_use]
    pub fn is_percent(&self) -> bool {
        self.sort == Sort::Percent
    }

    /// Whether it is no unit at all.
    #[must_use]
    pub fn is_bare(&self) -> bool {
        self.sort == Sort::Bare
    }

    /// Whether it is a counted noun.
    #[must_use]
    pub fn is_noun(&self) -> bool {
        self.sort == Sort::Noun
    }

    /// The counted noun, if it is one.
    #[must_use]
    pub fn as_noun(&self) -> Option<&str> {
        self.is_noun().then_some(self.spelling())
    }

    /// A value in this unit, in SI base units.
    #[must_use]
    pub fn to_base(&self, value: &Exact) -> Exact {
        if self.offset.is_zero() {
            return value.mul(&self.factor);
        }
        value.add(&self.offset).mul(&self.factor)
    }

    /// A value in SI base units, in this unit. Zero for a unit whose factor is zero.
    #[must_use]
    pub fn from_base(&self, base: &Exact) -> Exact {
        let value = base.div(&self.factor).unwrap_or_default();
        if self.offset.is_zero() {
            return value;
        }
        value.sub(&self.offset)
    }

    /// The unit of a difference: `Δ°F` for `°F`, `points` for `%`; any other is its own.
    #[must_use]
    pub fn as_difference(&self) -> Unit {
        if self.is_percent() {
            return Unit {
                spelling: Cow::Borrowed("points"),
                ..self.clone()
            };
        }
        if !self.is_point() {
            return self.clone();
        }
        let spelling = match self.spelling.as_ref() {
            "°C" => Cow::Borrowed("Δ°C"),
            "°F" => Cow::Borrowed("Δ°F"),
            other => Cow::Owned(other.to_owned()),
        };
        Unit {
            dimension: self.dimension.difference(),
            factor: self.factor.clone(),
            offset: Exact::ZERO,
            spelling,
            sort: self.sort,
        }
    }
}

impl fmt::Display for Unit {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str(self.spelling())
    }
}

/// Units with a factor of one, where a name reads better than base units.
static SI: LazyLock<Vec<Unit>> = LazyLock::new(|| {
    read(&[
        "m",
        "kg",
        "s",
        "K",
        "mol",
        "pieces",
        "money",
        "ShoreA",
        "ShoreD",
        "°",
        "N",
        "N/m",
        "Pa",
        "J",
        "W",
        "W/m²",
        "W/(m²·K)",
        "W/(m·K)",
        "J/kg",
        "J/(kg·K)",
        "m²·K/W",
        "J/mol",
        "Pa·s",
        "Hz",
    ])
});

/// Units people read, one for each dimension.
static USUAL: LazyLock<Vec<Unit>> = LazyLock::new(|| {
    read(&[
        "mm",
        "m²",
        "mL",
        "s",
        "°C",
        "K",
        "g",
        "g/cm³",
        "g/m²",
        "/cm",
        "m/min",
        "N",
        "N/cm",
        "kPa",
        "kJ",
        "kW",
        "kW/m²",
        "W/(m²·K)",
        "W/(m·K)",
        "kJ/kg",
        "J/(kg·K)",
        "m²·K/W",
        "mol",
        "kJ/mol",
        "pieces",
        "pieces/h",
        "g/piece",
        "money/kg",
        "money/piece",
        "Pa·s",
        "/min",
        "K/s",
    ])
});

fn read(spellings: &[&str]) -> Vec<Unit> {
    spellings
        .iter()
        .filter_map(|spelling| Unit::parse(spelling).ok())
        .collect()
}

fn listed(units: &[Unit], dimension: Dimension) -> Option<Unit> {
    units
        .iter()
        .find(|unit| unit.dimension == dimension)
        .cloned()
}
