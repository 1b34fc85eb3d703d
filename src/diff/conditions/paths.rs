//! The paths of a condition, and the places on them at which records stand.

use crate::diff::conditions::dependencies::refers;
use crate::types::{
    Condition, Expression, ExpressionNode, FieldId, Hop, KindId, Path, Read, Root, Standard,
};

/// The key of the place at which a path starts.
pub(in crate::diff) fn root_key(standard: &Standard, root: Root) -> (Option<KindId>, String) {
    match root {
        Root::Own => (None, "own".to_owned()),
        Root::Single(kind) | Root::Each(kind) => (Some(kind), standard.kind(kind).name.clone()),
        Root::Member(kind) => (Some(kind), format!("any {}", standard.kind(kind).name)),
    }
}

pub(in crate::diff) fn hop_word(standard: &Standard, hop: &Hop) -> String {
    let named = |word: &str, kind: &Option<KindId>| match kind {
        Some(kind) => format!("{word}-{}", standard.kind(*kind).name),
        None => word.to_owned(),
    };
    match hop {
        Hop::Next(kind) => named("next", kind),
        Hop::Previous(kind) => named("previous", kind),
        Hop::Place => "place".to_owned(),
        Hop::Field(kind, field) => standard.field(*kind, *field).name.clone(),
    }
}

/// The places on a path at which a record may stand, with the setting read there (`None` where the
/// record itself is asked for).
pub(in crate::diff) fn slots(
    standard: &Standard,
    path: &Path,
) -> Vec<(String, KindId, Option<FieldId>)> {
    let mut found = Vec::new();
    let (mut kind, mut key) = root_key(standard, path.root);
    if matches!(path.root, Root::Member(_)) {
        return found;
    }
    for hop in &path.hops {
        match hop {
            Hop::Field(of, field) => {
                found.push((key.clone(), *of, Some(*field)));
                key = format!("{key}.{}", standard.field(*of, *field).name);
                kind = refers(standard, (*of, *field));
            }
            Hop::Next(_) | Hop::Previous(_) | Hop::Place => {
                key = format!("{key}.{}", hop_word(standard, hop));
                kind = None;
            }
        }
    }
    if let Some(kind) = kind {
        found.push((key, kind, None));
    }
    found
}

/// All paths that a condition follows.
pub(in crate::diff) fn paths<'c>(of: &'c Condition, found: &mut Vec<&'c Path>) {
    of.reads(&mut |read: Read<'c>| found.extend(read.path()));
}

/// The kinds that a condition goes over.
pub(in crate::diff) fn over(of: &Condition, found: &mut Vec<KindId>) {
    of.visit_expressions(&mut |part| found.extend(gone_over(part)));
}

/// The kinds that an expression goes over.
pub(in crate::diff) fn over_expression(of: &Expression, found: &mut Vec<KindId>) {
    of.visit(&mut |part| found.extend(gone_over(part)));
}

fn gone_over(part: &Expression) -> Option<KindId> {
    match &part.node {
        ExpressionNode::Over { kind, .. } => Some(*kind),
        _ => None,
    }
}
