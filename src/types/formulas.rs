//! Formulas that need each other.

use std::collections::HashMap;

use super::model::{FieldId, KindId, Standard};
use super::terms::{Expression, ExpressionNode, Hop, Path};
use crate::diagnostic::{Code, Diagnostic};

type Setting = (KindId, FieldId);

/// Takes out formulas that need themselves, and says so.
///
/// A formula may look at earlier or later steps of the sequence, even for the same setting: the
/// pallet is as warm as the previous flash left it. Such a chain ends with the sequence.
pub(super) fn check_formula_cycles(standard: &mut Standard, problems: &mut Vec<Diagnostic>) {
    let mut needs: HashMap<Setting, Vec<Setting>> = HashMap::new();
    let mut order = Vec::new();
    for (kind_index, kind) in standard.kinds.iter().enumerate() {
        for (field_index, field) in kind.fields.iter().enumerate() {
            let id = (
                KindId(u32::try_from(kind_index).unwrap_or(u32::MAX)),
                FieldId(u32::try_from(field_index).unwrap_or(u32::MAX)),
            );
            let mut found = Vec::new();
            if let Some(formula) = &field.formula {
                settings(formula, &mut found);
            }
            if let Some(path) = &field.reference {
                path_settings(path, &mut found);
            }
            needs.insert(id, found);
            order.push(id);
        }
    }
    let mut state: HashMap<Setting, bool> = HashMap::new();
    let mut bad = Vec::new();
    for start in order {
        let mut stack = vec![(start, 0_usize)];
        if state.contains_key(&start) {
            continue;
        }
        state.insert(start, false);
        while let Some((at, next)) = stack.pop() {
            let following = needs.get(&at).and_then(|list| list.get(next)).copied();
            let Some(following) = following else {
                state.insert(at, true);
                continue;
            };
            stack.push((at, next + 1));
            match state.get(&following) {
                Some(true) => {}
                Some(false) => bad.push((at, following)),
                None => {
                    state.insert(following, false);
                    stack.push((following, 0));
                }
            }
        }
    }
    for (at, following) in bad {
        let (from, to) = (
            standard.field(at.0, at.1),
            standard.field(following.0, following.1),
        );
        problems.push(
            Diagnostic::new(
                Code::FormulaCycle,
                from.span,
                if at == following {
                    format!("`{}` needs itself to be worked out", from.name)
                } else {
                    format!(
                        "`{}` needs `{}`, which needs it in turn",
                        from.name, to.name
                    )
                },
                "closes the circle",
            )
            .related(to.span, "needed here")
            .help("let one of the formulas go, and have that setting stated"),
        );
        let field = &mut standard.kinds[at.0.0 as usize].fields[at.1.0 as usize];
        field.formula = None;
        field.reference = None;
    }
}

fn settings(expression: &Expression, found: &mut Vec<Setting>) {
    match &expression.node {
        ExpressionNode::Constant(_) => {}
        ExpressionNode::Path(path) | ExpressionNode::RangeEnd { path, .. } => {
            path_settings(path, found)
        }
        ExpressionNode::Negative(inner) | ExpressionNode::Power(inner, _) => settings(inner, found),
        ExpressionNode::Binary { left, right, .. } => {
            settings(left, found);
            settings(right, found);
        }
        ExpressionNode::Call(_, arguments) => {
            for argument in arguments {
                settings(argument, found);
            }
        }
        ExpressionNode::Over { body, .. } => {
            if let Some(body) = body {
                settings(body, found);
            }
        }
    }
}

fn path_settings(path: &Path, found: &mut Vec<Setting>) {
    let elsewhere = path
        .hops
        .iter()
        .any(|hop| matches!(hop, Hop::Next(_) | Hop::Previous(_)));
    if elsewhere {
        return;
    }
    for hop in &path.hops {
        if let Hop::Field(kind, field) = hop {
            found.push((*kind, *field));
        }
    }
}
