//! Which figures are meant by the names that were asked for.

use crate::eval::{EvalContext, Leaf};
use crate::names::did_you_mean;
use crate::source::visible;
use crate::types::Type;

use super::super::wording;
use super::{declared, order};

/// The figures to show: all with a formula, or those that are named.
///
/// A name is `dryer.dwell`, `screen.opening` for all screens, `screen base: opening` for one; a kind or a thing alone
/// means all its formulas.
///
/// # Errors
/// A sentence for every name that nothing answers to.
pub(super) fn choose(
    context: &EvalContext<'_>,
    names: &[String],
) -> Result<Vec<Leaf>, Vec<String>> {
    let all = order::all(context);
    let with_formula = |leaf: &&Leaf| declared(context, **leaf).1.formula.is_some();
    if names.is_empty() {
        return Ok(all.iter().filter(with_formula).copied().collect());
    }
    let mut problems = Vec::new();
    let mut wanted = vec![false; all.len()];
    for name in names {
        let mut any = false;
        for (leaf, wanted) in all.iter().zip(&mut wanted) {
            if answers(context, *leaf, name) {
                any = true;
                *wanted = true;
            }
        }
        if !any {
            problems.push(unknown(context, &all, name));
        }
    }
    if !problems.is_empty() {
        return Err(problems);
    }
    let chosen = all.iter().zip(wanted).filter(|(_, wanted)| *wanted);
    Ok(chosen.map(|(leaf, _)| *leaf).collect())
}

fn answers(context: &EvalContext<'_>, leaf: Leaf, name: &str) -> bool {
    let (kind, field) = declared(context, leaf);
    let kind = &context.standard.kind(kind).name;
    if wording::setting(context, leaf) == name {
        return true;
    }
    match name.split_once('.') {
        Some((of, setting)) => of == kind && setting == field.name,
        None => {
            let whole = kind == name || wording::target(context, leaf.target) == name;
            whole && field.formula.is_some()
        }
    }
}

fn unknown(context: &EvalContext<'_>, all: &[Leaf], name: &str) -> String {
    let standard = context.standard;
    let shown = visible(name);
    if let Some((kind, setting)) = name.split_once('.')
        && let Some(&id) = standard.kind_names.get(kind)
        && let Some(&field) = standard.kind(id).field_names.get(setting)
    {
        return match standard.field(id, field).ty {
            Type::Quantity(_) => format!("the run has no `{kind}`, so `{shown}` has no value"),
            _ => format!("`{shown}` is no quantity, so there is nothing to work out"),
        };
    }
    if let Some(&id) = standard.kind_names.get(name) {
        let kind = &standard.kind(id).name;
        let formula = standard
            .kind(id)
            .fields
            .iter()
            .any(|field| field.formula.is_some());
        return if formula {
            format!("the run has no `{kind}`")
        } else {
            format!("the standard has no formula for anything of `{kind}`")
        };
    }
    let mut known: Vec<String> = Vec::new();
    for leaf in all {
        let (kind, field) = declared(context, *leaf);
        known.push(format!("{}.{}", standard.kind(kind).name, field.name));
        known.push(wording::setting(context, *leaf));
    }
    let help = did_you_mean(name, known.iter().map(String::as_str)).unwrap_or_else(|| {
        "name a figure as in `dryer.dwell`; without a name all of the run are shown".to_owned()
    });
    format!("there is no figure `{shown}`; {help}")
}
