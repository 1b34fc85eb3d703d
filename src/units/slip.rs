//! What a mistaken unit was likely meant to be.

use strsim::osa_distance;

use super::catalog::catalog;

/// Longest word worth comparing.
const LONGEST: usize = 24;
/// Most suggestions given.
const MOST: usize = 3;

/// Suggestions for a word that is no unit, the likeliest first.
pub(super) fn suggestions(word: &str) -> Vec<&'static str> {
    let letters = word.chars().count();
    if letters > LONGEST {
        return Vec::new();
    }
    let folded = word.to_lowercase();
    let slip = SLIPS.iter().find(|(wrong, _)| *wrong == word);
    let slip = slip.or_else(|| SLIPS.iter().find(|(wrong, _)| *wrong == folded));
    if let Some((_, right)) = slip {
        return right.to_vec();
    }
    let mut near: Vec<(usize, &'static str)> = Vec::new();
    let reach = (letters / 3).min(2);
    for row in catalog() {
        let Some(written) = row.spellings.first() else {
            continue;
        };
        let distance = row
            .spellings
            .iter()
            .map(|spelling| match spelling.to_lowercase() {
                same if same == folded => 0,
                _ => osa_distance(spelling, word).max(1),
            })
            .min();
        match distance {
            Some(distance) if distance <= reach => near.push((distance, written)),
            _ => {}
        }
    }
    near.sort_by_key(|(distance, _)| *distance);
    // A word that differs in case only is the word.
    if let Some((0, _)) = near.first() {
        near.retain(|(distance, _)| *distance == 0);
    }
    near.into_iter()
        .map(|(_, written)| written)
        .take(MOST)
        .collect()
}

/// A word people write, and what is to be written instead. Looked up as it stands, then in lower case.
#[rustfmt::skip]
static SLIPS: &[(&str, &[&str])] = &[
    ("C", &["°C"]), ("F", &["°F"]), ("c", &["°C"]), ("f", &["°F"]),
    ("celsius", &["°C"]), ("centigrade", &["°C"]), ("fahrenheit", &["°F"]),
    ("deg-c", &["°C"]), ("deg-f", &["°F"]), ("degrees", &["°C", "°F", "°"]), ("degree", &["°C", "°F", "°"]),
    ("°k", &["K"]), ("degk", &["K"]), ("k", &["K"]), ("kelvins", &["K"]), ("δc", &["Δ°C"]), ("δf", &["Δ°F"]),
    ("sec", &["s"]), ("secs", &["s"]), ("second", &["s"]), ("seconds", &["s"]),
    ("mins", &["min"]), ("mn", &["min"]), ("minute", &["min"]), ("minutes", &["min"]),
    ("hr", &["h"]), ("hrs", &["h"]), ("hour", &["h"]), ("hours", &["h"]), ("day", &["d"]), ("days", &["d"]),
    ("inch", &["in"]), ("inches", &["in"]), ("\"", &["in"]), ("″", &["in"]), ("”", &["in"]), ("'", &["ft"]), ("′", &["ft"]),
    ("foot", &["ft"]), ("feet", &["ft"]), ("yard", &["yd"]), ("yards", &["yd"]), ("mils", &["mil"]), ("thou", &["mil"]),
    ("micron", &["µm"]), ("microns", &["µm"]), ("micrometre", &["µm"]), ("micrometer", &["µm"]), ("µ", &["µm"]), ("μ", &["µm"]), ("mu", &["µm"]),
    ("metre", &["m"]), ("meter", &["m"]), ("metres", &["m"]), ("meters", &["m"]), ("mtr", &["m"]), ("mtrs", &["m"]),
    ("millimetre", &["mm"]), ("millimeter", &["mm"]), ("centimetre", &["cm"]), ("centimeter", &["cm"]),
    ("fpm", &["ft/min"]), ("mpm", &["m/min"]), ("mps", &["m/s"]), ("kph", &["km/h"]), ("rpm", &["/min"]),
    ("lpi", &["/in"]), ("dpi", &["/in"]), ("tpi", &["/in"]), ("epi", &["/in"]), ("ppi", &["/in"]), ("lpcm", &["/cm"]),
    ("gsm", &["g/m²"]), ("osy", &["oz/yd²"]), ("ppg", &["lb/gal"]), ("pph", &["pieces/h"]), ("cps", &["cP"]), ("centipoise", &["cP"]),
    ("gram", &["g"]), ("grams", &["g"]), ("gr", &["g"]), ("gm", &["g"]), ("gms", &["g"]),
    ("kilo", &["kg"]), ("kilos", &["kg"]), ("kgs", &["kg"]), ("kilogram", &["kg"]), ("kilograms", &["kg"]),
    ("lbs", &["lb"]), ("pound", &["lb"]), ("pounds", &["lb"]), ("#", &["lb"]), ("ounce", &["oz"]), ("ounces", &["oz"]), ("ozs", &["oz"]),
    ("ton", &["t"]), ("tonne", &["t"]), ("tonnes", &["t"]),
    ("newton", &["N"]), ("newtons", &["N"]), ("n", &["N"]), ("pascal", &["Pa"]), ("pascals", &["Pa"]), ("bars", &["bar"]),
    ("w", &["W"]), ("watt", &["W"]), ("watts", &["W"]), ("j", &["J"]), ("joule", &["J"]), ("joules", &["J"]), ("btus", &["Btu"]),
    ("litre", &["L"]), ("liter", &["L"]), ("litres", &["L"]), ("liters", &["L"]), ("ltr", &["L"]), ("cc", &["cm³"]), ("ccm", &["cm³"]),
    ("gallon", &["gal"]), ("gallons", &["gal"]), ("gals", &["gal"]), ("fl", &["floz"]), ("fl.oz", &["floz"]),
    ("pct", &["%"]), ("percent", &["%"]), ("per-cent", &["%"]), ("pieces.", &["pieces"]), ("pce", &["pieces"]), ("pces", &["pieces"]), ("ea", &["pieces"]), ("each", &["pieces"]), ("shirts", &["pieces"]), ("garments", &["pieces"]),
    ("shore", &["ShoreA", "ShoreD"]), ("duro", &["ShoreA"]), ("durometer", &["ShoreA"]), ("rad", &["°"]),
    ("m2", &["m²"]), ("m3", &["m³"]), ("cm2", &["cm²"]), ("cm3", &["cm³"]), ("mm2", &["mm²"]), ("mm3", &["mm³"]),
    ("in2", &["in²"]), ("in3", &["in³"]), ("ft2", &["ft²"]), ("ft3", &["ft³"]), ("yd2", &["yd²"]), ("yd3", &["yd³"]), ("s2", &["s²"]), ("µm2", &["µm²"]), ("um2", &["µm²"]),
    ("sqm", &["m²"]), ("sqcm", &["cm²"]), ("sqin", &["in²"]), ("sqft", &["ft²"]), ("sqyd", &["yd²"]),
    ("m-1", &["/m"]), ("cm-1", &["/cm"]), ("in-1", &["/in"]), ("s-1", &["/s"]), ("min-1", &["/min"]),
    ("$", &["money"]), ("€", &["money"]), ("£", &["money"]),
];
