//! What every standard has: functions, units, dimensions.

use crate::diagnostic::{WordChapter, WordEntry};
use crate::physics;
use crate::units::{Dimension, Unit, catalog};

use super::{chapter, entry};

/// Functions of the language itself.
const OWN: &[(&str, &str)] = &[
    (
        "least(a, b, …)",
        "the smallest; over a kind, `least(print.strokes)`, the smallest of all of them",
    ),
    (
        "most(a, b, …)",
        "the largest; over a kind, the largest of all of them",
    ),
    ("total(print.ink)", "the sum over all things of a kind"),
    ("count(screen)", "how many things of a kind a run has"),
    ("root(a)", "square root"),
    ("round-up(a)", "up to the next whole number"),
    ("otherwise(a, b, …)", "the first of them that has a value"),
    (
        "choose(n, a, b, …)",
        "the first where `n` is 1, the second where it is 2",
    ),
    (
        "low(range)",
        "the lower end of a setting that holds a range",
    ),
    (
        "high(range)",
        "the upper end of a setting that holds a range",
    ),
];

/// All functions in a line each.
pub(super) fn functions() -> Vec<WordEntry> {
    let own = OWN.iter().map(|(name, words)| entry(name, *words));
    let figures = physics::functions().iter();
    let figures = figures.map(|of| entry(of.name, format!("a figure; {}", of.source)));
    own.chain(figures).collect()
}

/// Their names, for suggestions.
pub(super) fn function_names() -> impl Iterator<Item = &'static str> {
    let own = OWN.iter().map(|(name, _)| before_bracket(name));
    own.chain(physics::functions().iter().map(|of| of.name))
}

fn before_bracket(name: &'static str) -> &'static str {
    name.split_once('(').map_or(name, |(name, _)| name)
}

/// All of one function.
pub(super) fn function(name: &str) -> Option<WordChapter> {
    let own = OWN.iter().find(|(known, _)| before_bracket(known) == name);
    if let Some((written, words)) = own {
        return Some(chapter("a function", vec![entry(written, *words)]));
    }
    let of = physics::functions().iter().find(|of| of.name == name)?;
    let mut entries = vec![
        entry("gives", of.result),
        entry("formula", of.formula),
        entry("source", of.source),
    ];
    for parameter in of.parameters {
        let unit = Unit::usual_for(parameter.dimension);
        let shown = |base: f64| {
            let exact = crate::units::Exact::from_f64(base);
            match (&unit, exact) {
                (Some(unit), Some(exact)) => crate::units::show_exact(&exact, unit),
                _ => format!("{base}"),
            }
        };
        entries.push(entry(
            parameter.name,
            format!(
                "{}, {} to {}",
                parameter.dimension,
                shown(parameter.low),
                shown(parameter.high)
            ),
        ));
    }
    Some(chapter(
        &format!("figure `{name}`, its inputs in this order"),
        entries,
    ))
}

/// The units, a line for each dimension.
pub(super) fn units() -> Vec<WordEntry> {
    let named = Dimension::names().iter();
    let lines = named.filter_map(|(name, dimension, _)| {
        let units = spellings(*dimension, name);
        (!units.is_empty()).then(|| entry(name, units.join(", ")))
    });
    lines.collect()
}

fn spellings(dimension: Dimension, name: &str) -> Vec<String> {
    let rows = catalog().iter().filter(|row| row.dimension == dimension);
    let rows = rows.filter(|row| {
        // A share and a number have one dimension, and are not written in the same way.
        !dimension.is_number() || (name == "share") == (row.spellings.first() == Some(&"%"))
    });
    let rows = rows.filter_map(|row| row.spellings.first());
    let mut found: Vec<String> = rows.map(|spelling| (*spelling).to_owned()).collect();
    let usual = Unit::usual_for(name).map(|unit| unit.spelling().to_owned());
    if let Some(usual) = usual
        && !usual.is_empty()
        && !found.contains(&usual)
    {
        found.push(usual);
    }
    found
}

/// All of one unit.
pub(super) fn unit(name: &str) -> Option<WordChapter> {
    let row = catalog().iter().find(|row| row.spellings.contains(&name))?;
    let names = Dimension::names();
    let measures: Vec<&str> = names
        .iter()
        .filter(|(_, dimension, _)| *dimension == row.dimension)
        .map(|(name, ..)| *name)
        .collect();
    let mut entries = vec![
        entry("is", row.name),
        entry("measures", measures.join(", ")),
        entry("written", row.spellings.join(" or ")),
        entry("source", row.source),
    ];
    entries.retain(|entry| !entry.words.is_empty());
    Some(chapter(&format!("unit `{name}`"), entries))
}

/// All of one dimension.
pub(super) fn dimension(name: &str) -> Option<WordChapter> {
    let (_, dimension, sentence) = Dimension::names().iter().find(|row| row.0 == name)?;
    let units = spellings(*dimension, name);
    let mut entries = vec![entry("is", *sentence)];
    if !units.is_empty() {
        entries.push(entry("units", units.join(", ")));
    }
    Some(chapter(
        &format!("`{name}`, what a setting may hold"),
        entries,
    ))
}
