//! One setting in words.

use crate::diagnostic::{WordChapter, WordEntry};
use crate::source::Store;
use crate::types::{Field, FieldId, KindId, Path, Reading, Sort, Standard, Type, expression_words};
use crate::units::{Dimension, Unit, show_exact};

use super::super::wording;
use super::{chapter, entry};

/// A setting in one line: what it holds, what is possible, its sentence.
pub(super) fn setting_words(standard: &Standard, field: &Field) -> String {
    let mut words = vec![type_words(standard, &field.ty)];
    if let Some(possible) = &field.possible {
        words.push(wording::limits(possible));
    }
    words.push(sort_words(field));
    let line = words.join(", ");
    match &field.sentence {
        Some(sentence) => format!("{sentence}; {line}"),
        None => line,
    }
}

/// How its value comes about, in a few words.
fn sort_words(field: &Field) -> String {
    let sort = match (&field.sort, steps(field)) {
        (Sort::WorkedOut, _) => String::new(),
        (Sort::Set, Some(steps)) => format!("set in steps of {steps}"),
        (sort, _) => sort.words(),
    };
    if field.formula.is_none() && field.reference.is_none() {
        return sort;
    }
    let worked_out = "worked out where it is not stated";
    if sort.is_empty() {
        worked_out.to_owned()
    } else {
        format!("{sort}, {worked_out}")
    }
}

fn steps(field: &Field) -> Option<String> {
    let steps: Vec<String> = field
        .steps
        .iter()
        .map(|(size, unit)| wording::plain_degrees(show_exact(size, unit)))
        .collect();
    (!steps.is_empty()).then(|| steps.join(" or "))
}

fn type_words(standard: &Standard, ty: &Type) -> String {
    let measure = |of: &crate::types::Measure| match &of.reading {
        Reading::Share => "a share, in %".to_owned(),
        Reading::Count(Some(noun)) => format!("a number of {noun}"),
        Reading::Count(None) => "a whole number".to_owned(),
        Reading::Number => "a number".to_owned(),
        Reading::Unit => {
            let names = Dimension::names();
            let name = names.iter().find(|(_, known, _)| *known == of.dimension);
            let usual = Unit::usual(of.dimension);
            match name {
                Some((name, ..)) => format!("{name}, as in {usual}"),
                None => format!("in {usual}"),
            }
        }
    };
    match ty {
        Type::Quantity(of) => measure(of),
        Type::Range(of) => format!("a range: {}", measure(of)),
        Type::Text => "a text in quotes".to_owned(),
        Type::YesNo => "`yes` or `no`".to_owned(),
        Type::Day => "a day, as in `2026-12-31`".to_owned(),
        Type::Choice(words) => format!("one of {}", words.join(", ")),
        Type::Reference(kind) => format!("the name of a `{}`", standard.kind(*kind).name),
    }
}

/// All that is known of a setting.
pub(super) fn of_setting(
    store: &Store,
    standard: &Standard,
    kind: KindId,
    id: FieldId,
) -> WordChapter {
    let field = standard.field(kind, id);
    let of = standard.kind(kind);
    let mut entries: Vec<WordEntry> = Vec::new();
    if let Some(sentence) = &field.sentence {
        entries.push(entry("is", sentence.clone()));
    }
    entries.push(entry("holds", type_words(standard, &field.ty)));
    if let Some(possible) = &field.possible {
        entries.push(entry("possible", wording::limits(possible)));
    }
    entries.push(entry("comes", sort_words(field)));
    if let Some(formula) = &field.formula {
        entries.push(entry("worked out as", expression_words(standard, formula)));
    }
    if let Some(reference) = &field.reference {
        entries.push(entry("taken from", reference.text.clone()));
    }
    if let Some(takes) = &field.takes {
        let time = show_exact(&takes.time, &takes.unit);
        let words = takes.words.as_ref();
        let words = words.map_or_else(String::new, |words| format!(" ({words})"));
        entries.push(entry("changing it takes", time + &words));
    }
    let stated: Vec<&str> = standard
        .records_of(kind)
        .filter(|(_, record)| record.values.get(id.index()).is_some_and(Option::is_some))
        .map(|(_, record)| record.name.as_str())
        .collect();
    if !stated.is_empty() {
        entries.push(entry("stated by", some_of(&stated)));
    }
    let reads = |path: &&Path| path.settings().any(|at| at == (kind, id));
    let mut figures: Vec<String> = Vec::new();
    for (in_kind, _, other) in standard.numbered_fields() {
        let formula = other.formula.iter().flat_map(|formula| formula.paths());
        let mut paths = formula.chain(&other.reference);
        if paths.any(|path| reads(&path)) {
            figures.push(format!("{}.{}", standard.kind(in_kind).name, other.name));
        }
    }
    if !figures.is_empty() {
        let figures: Vec<&str> = figures.iter().map(String::as_str).collect();
        entries.push(entry("goes into", some_of(&figures)));
    }
    let mut rules: Vec<&str> = Vec::new();
    for rule in &standard.rules {
        let conditions = rule.when.iter().chain(&rule.permissions);
        let requirements = rule.requirements.iter();
        let own = requirements.flat_map(|own| own.when.iter().chain([&own.condition]));
        if conditions
            .chain(own)
            .any(|condition| condition.paths().iter().any(reads))
        {
            rules.push(&rule.name);
        }
    }
    let read = if rules.is_empty() {
        "no rule by itself".to_owned()
    } else {
        some_of(&rules)
    };
    entries.push(entry("read by", read));
    let place = store.get(field.span.file).place(field.span.start as usize);
    let file = store.get(field.span.file).name();
    entries.push(entry("declared", format!("{file}:{}", place.line)));
    chapter(&format!("`{}.{}`", of.name, field.name), entries)
}

/// A list that stays on a screen.
fn some_of(names: &[&str]) -> String {
    const MOST: usize = 12;
    let shown = names
        .iter()
        .take(MOST)
        .copied()
        .collect::<Vec<_>>()
        .join(", ");
    match names.len().saturating_sub(MOST) {
        0 => shown,
        more => format!("{shown} and {more} more"),
    }
}

/// The kind that a setting refers to.
pub(super) fn leads_to(standard: &Standard, kind: KindId, name: &str) -> Option<KindId> {
    let of = standard.kind(kind);
    let field = of.field_names.get(name)?;
    match &of.fields.get(field.index())?.ty {
        Type::Reference(to) => Some(*to),
        _ => None,
    }
}
