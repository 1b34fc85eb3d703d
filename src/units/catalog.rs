//! The units that ship: one row a unit.
//!
//! Factors are exact by definition; the source says by whose. Compounds (`oz/yd²`, `N/cm`) are not
//! listed: any compound of these words reads. The radian is left out because a degree is not an
//! exact number of them, so degrees are the base of angle here. `K` is a difference; a temperature
//! is written in °C or °F.

use super::dimension::Dimension;
use super::exact::Exact;

/// One unit of the catalogue.
#[derive(Debug)]
pub struct Row {
    /// How it may be written; the first is how the formatter writes it.
    pub spellings: &'static [&'static str],
    /// Its name in words.
    pub name: &'static str,
    /// What it measures.
    pub dimension: Dimension,
    /// One of it in SI base units.
    pub factor: Exact,
    /// What is added before the factor is applied (temperatures only).
    pub offset: Exact,
    /// Where the factor comes from.
    pub source: &'static str,
}

/// All rows.
#[must_use]
pub fn catalog() -> &'static [Row] {
    CATALOG
}

const SI: &str = "SI Brochure, 9th edition";
const YARD: &str =
    "exact by the yard and pound agreement of 1959: 1 yd = 0.9144 m, 1 lb = 0.45359237 kg";
const NIST: &str = "NIST SP 811 (2008), appendix B.8";
const GRAVITY: &str = "exact by standard gravity 9.80665 m/s² (3rd CGPM, 1901)";
const SCALE: &str = "a scale of its own, its own unit";

const fn row(
    spellings: &'static [&'static str],
    name: &'static str,
    dimension: Dimension,
    factor: (i64, i64),
    source: &'static str,
) -> Row {
    Row {
        spellings,
        name,
        dimension,
        factor: Exact::fixed(factor.0, factor.1),
        offset: Exact::ZERO,
        source,
    }
}

const fn scale(
    spellings: &'static [&'static str],
    name: &'static str,
    factor: (i64, i64),
    offset: (i64, i64),
    source: &'static str,
) -> Row {
    Row {
        spellings,
        name,
        dimension: Dimension::TEMPERATURE,
        factor: Exact::fixed(factor.0, factor.1),
        offset: Exact::fixed(offset.0, offset.1),
        source,
    }
}

use Dimension as D;

#[rustfmt::skip]
static CATALOG: &[Row] = &[
    // Length.
    row(&["m"], "metre", D::LENGTH, (1, 1), SI),
    row(&["mm"], "millimetre", D::LENGTH, (1, 1_000), SI),
    row(&["cm"], "centimetre", D::LENGTH, (1, 100), SI),
    row(&["µm", "μm", "um"], "micrometre", D::LENGTH, (1, 1_000_000), SI),
    row(&["nm"], "nanometre", D::LENGTH, (1, 1_000_000_000), SI),
    row(&["km"], "kilometre", D::LENGTH, (1_000, 1), SI),
    row(&["in"], "inch", D::LENGTH, (254, 10_000), YARD),
    row(&["ft"], "foot", D::LENGTH, (3_048, 10_000), YARD),
    row(&["yd"], "yard", D::LENGTH, (9_144, 10_000), YARD),
    row(&["mil"], "thousandth of an inch", D::LENGTH, (254, 10_000_000), YARD),
    // Time.
    row(&["s"], "second", D::TIME, (1, 1), SI),
    row(&["ms"], "millisecond", D::TIME, (1, 1_000), SI),
    row(&["min"], "minute", D::TIME, (60, 1), SI),
    row(&["h"], "hour", D::TIME, (3_600, 1), SI),
    row(&["d"], "day", D::TIME, (86_400, 1), SI),
    // Mass.
    row(&["kg"], "kilogram", D::MASS, (1, 1), SI),
    row(&["g"], "gram", D::MASS, (1, 1_000), SI),
    row(&["mg"], "milligram", D::MASS, (1, 1_000_000), SI),
    row(&["t"], "tonne", D::MASS, (1_000, 1), SI),
    row(&["lb"], "pound", D::MASS, (45_359_237, 100_000_000), YARD),
    row(&["oz"], "ounce", D::MASS, (45_359_237, 1_600_000_000), YARD),
    // Temperature: points, then differences.
    scale(&["°C", "degC", "ºC", "℃"], "degree Celsius", (1, 1), (27_315, 100), SI),
    scale(&["°F", "degF", "ºF", "℉"], "degree Fahrenheit", (5, 9), (45_967, 100), NIST),
    row(&["K", "kelvin", "ΔK", "delta-K"], "kelvin", D::TEMPERATURE_DIFFERENCE, (1, 1), SI),
    row(&["Δ°C", "∆°C", "ΔdegC", "delta-°C", "delta-degC"], "degree Celsius of difference", D::TEMPERATURE_DIFFERENCE, (1, 1), SI),
    row(&["Δ°F", "∆°F", "ΔdegF", "delta-°F", "delta-degF"], "degree Fahrenheit of difference", D::TEMPERATURE_DIFFERENCE, (5, 9), NIST),
    // Force.
    row(&["N"], "newton", D::FORCE, (1, 1), SI),
    row(&["mN"], "millinewton", D::FORCE, (1, 1_000), SI),
    row(&["kN"], "kilonewton", D::FORCE, (1_000, 1), SI),
    row(&["lbf"], "pound-force", D::FORCE, (44_482_216_152_605, 10_000_000_000_000), GRAVITY),
    row(&["kgf"], "kilogram-force", D::FORCE, (980_665, 100_000), GRAVITY),
    // Pressure.
    row(&["Pa"], "pascal", D::PRESSURE, (1, 1), SI),
    row(&["mPa"], "millipascal", D::PRESSURE, (1, 1_000), SI),
    row(&["kPa"], "kilopascal", D::PRESSURE, (1_000, 1), SI),
    row(&["MPa"], "megapascal", D::PRESSURE, (1_000_000, 1), SI),
    row(&["bar"], "bar", D::PRESSURE, (100_000, 1), SI),
    row(&["mbar"], "millibar", D::PRESSURE, (100, 1), SI),
    row(&["psi"], "pound-force per square inch", D::PRESSURE, (44_482_216_152_605, 6_451_600_000), GRAVITY),
    // Energy and power.
    row(&["J"], "joule", D::ENERGY, (1, 1), SI),
    row(&["mJ"], "millijoule", D::ENERGY, (1, 1_000), SI),
    row(&["kJ"], "kilojoule", D::ENERGY, (1_000, 1), SI),
    row(&["MJ"], "megajoule", D::ENERGY, (1_000_000, 1), SI),
    row(&["Wh"], "watt hour", D::ENERGY, (3_600, 1), SI),
    row(&["kWh"], "kilowatt hour", D::ENERGY, (3_600_000, 1), SI),
    row(&["cal"], "thermochemical calorie", D::ENERGY, (4_184, 1_000), NIST),
    row(&["kcal"], "thermochemical kilocalorie", D::ENERGY, (4_184, 1), NIST),
    row(&["Btu", "BTU"], "British thermal unit, International Table", D::ENERGY, (105_505_585_262, 100_000_000), "exact: 1 Btu/lb = 2326 J/kg (5th International Conference on the Properties of Steam, 1956)"),
    row(&["W"], "watt", D::POWER, (1, 1), SI),
    row(&["mW"], "milliwatt", D::POWER, (1, 1_000), SI),
    row(&["kW"], "kilowatt", D::POWER, (1_000, 1), SI),
    // Volume.
    row(&["L", "l"], "litre", D::VOLUME, (1, 1_000), SI),
    row(&["mL", "ml"], "millilitre", D::VOLUME, (1, 1_000_000), SI),
    row(&["gal"], "US gallon", D::VOLUME, (3_785_411_784, 1_000_000_000_000), "exact: 1 US gallon = 231 in³ (NIST Handbook 44, appendix C)"),
    row(&["floz", "fl-oz"], "US fluid ounce", D::VOLUME, (3_785_411_784, 128_000_000_000_000), "exact: 128 to the US gallon (NIST Handbook 44, appendix C)"),
    // Viscosity.
    row(&["P"], "poise", D::VISCOSITY, (1, 10), NIST),
    row(&["cP"], "centipoise", D::VISCOSITY, (1, 1_000), NIST),
    // The rest.
    row(&["Hz"], "hertz", D::FREQUENCY, (1, 1), SI),
    row(&["mol"], "mole", D::AMOUNT, (1, 1), SI),
    row(&["°", "deg"], "degree of arc", D::ANGLE, (1, 1), SCALE),
    row(&["%"], "per cent", D::NUMBER, (1, 100), SI),
    row(&["pieces", "piece", "pcs", "pc"], "piece", D::PIECES, (1, 1), SCALE),
    row(&["money"], "money in the shop's own currency", D::MONEY, (1, 1), SCALE),
    row(&["ShoreA", "Shore-A"], "Shore A hardness", D::HARDNESS_A, (1, 1), SCALE),
    row(&["ShoreD", "Shore-D"], "Shore D hardness", D::HARDNESS_D, (1, 1), SCALE),
];
