//! The order of the figures: what others rest on comes first.

use std::collections::HashMap;

use crate::eval::{EvalContext, Leaf};
use crate::types::{FieldId, KindId, Path, Standard, Target, Type};

/// All quantities of the run's things, and of the records they refer to, so that a figure stands behind those it is
/// worked out from. As many of one kind as can be stand together; in such a run they go thing by thing.
pub(super) fn all(context: &EvalContext<'_>) -> Vec<Leaf> {
    let targets = targets(context);
    let mut found = Vec::new();
    for (kind, fields) in runs(context.standard) {
        for target in &targets {
            if context.run.target(context.standard, *target).kind != kind {
                continue;
            }
            found.extend(fields.iter().map(|field| Leaf {
                target: *target,
                field: *field,
            }));
        }
    }
    found
}

/// The things of the run, and the records they refer to.
fn targets(context: &EvalContext<'_>) -> Vec<Target> {
    let things = context.run.numbered_instances();
    let mut found: Vec<Target> = things.map(|(id, _)| Target::Thing(id)).collect();
    let mut next = 0;
    while let Some(&target) = found.get(next) {
        next += 1;
        let kind = context.run.target(context.standard, target).kind;
        for (number, field) in context.standard.kind(kind).numbered_fields() {
            let Type::Reference(_) = field.ty else {
                continue;
            };
            let path = Path {
                root: crate::types::Root::Own,
                hops: Vec::new(),
                text: String::new(),
                span: field.span,
            };
            let referred = context.refer(target, kind, number, &path, 0);
            if let Ok(referred) = referred
                && !found.contains(&referred)
            {
                found.push(referred);
            }
        }
    }
    found
}

/// A setting to be placed.
struct Setting {
    kind: KindId,
    field: FieldId,
    /// The settings it is worked out from, by number.
    needs: Vec<usize>,
}

/// All quantities of a standard, with what each is worked out from.
fn quantities(standard: &Standard) -> Vec<Setting> {
    let mut all: Vec<Setting> = Vec::new();
    let mut numbers: HashMap<(KindId, FieldId), usize> = HashMap::new();
    for (kind, field, declared) in standard.numbered_fields() {
        if matches!(declared.ty, Type::Quantity(_)) {
            numbers.insert((kind, field), all.len());
            all.push(Setting {
                kind,
                field,
                needs: Vec::new(),
            });
        }
    }
    for (at, setting) in all.iter_mut().enumerate() {
        let Some(formula) = &standard.field(setting.kind, setting.field).formula else {
            continue;
        };
        for named in formula.paths().into_iter().flat_map(Path::settings) {
            // The same setting of an earlier step is another thing's.
            if let Some(&need) = numbers.get(&named)
                && need != at
                && !setting.needs.contains(&need)
            {
                setting.needs.push(need);
            }
        }
    }
    all
}

/// All quantities in runs of one kind, each behind those its formula names.
fn runs(standard: &Standard) -> Vec<(KindId, Vec<FieldId>)> {
    let all = quantities(standard);
    let mut placed = vec![false; all.len()];
    let mut runs: Vec<(KindId, Vec<FieldId>)> = Vec::new();
    while let Some(first) = placed.iter().position(|placed| !placed) {
        // The kind that can be finished comes first, else the one of which most can be placed; else a circle through
        // earlier steps is cut.
        let mut best: Option<(bool, Vec<usize>)> = None;
        for kind in standard.numbered_kinds().map(|(id, _)| id) {
            let chosen = ready(&all, &placed, kind);
            let left = (0..all.len()).filter(|at| all[*at].kind == kind && !placed[*at]);
            let whole = chosen.len() == left.count();
            let better = best.as_ref().is_none_or(|(known, most)| {
                (whole, if whole { 0 } else { chosen.len() })
                    > (*known, if *known { 0 } else { most.len() })
            });
            if !chosen.is_empty() && better {
                best = Some((whole, chosen));
            }
        }
        let chosen = best.map_or_else(|| vec![first], |(_, chosen)| chosen);
        for at in &chosen {
            placed[*at] = true;
        }
        let kind = chosen.first().map_or(all[first].kind, |at| all[*at].kind);
        runs.push((kind, chosen.iter().map(|at| all[*at].field).collect()));
    }
    runs
}

/// The settings of a kind that can be placed now, each behind what it needs.
fn ready(all: &[Setting], placed: &[bool], kind: KindId) -> Vec<usize> {
    let mut there = placed.to_vec();
    let mut found = Vec::new();
    loop {
        let before = found.len();
        for (at, setting) in all.iter().enumerate() {
            let now =
                setting.kind == kind && !there[at] && setting.needs.iter().all(|need| there[*need]);
            if now {
                there[at] = true;
                found.push(at);
            }
        }
        if found.len() == before {
            return found;
        }
    }
}
