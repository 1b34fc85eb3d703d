//! The order of the figures: what others rest on comes first.

use crate::eval::{Leaf, Scene};
use crate::types::{
    Expression, ExpressionNode, FieldId, Hop, InstanceId, KindId, Path, Standard, Target, Type,
};

/// A number that a 32-bit index is made of.
fn number(index: usize) -> u32 {
    u32::try_from(index).unwrap_or(u32::MAX)
}

/// All quantities of the run's things, and of the records they refer to: by kind, in a kind by thing, in a thing
/// so that a figure stands behind those it is worked out from.
pub(super) fn all(scene: &Scene<'_>) -> Vec<Leaf> {
    let standard = scene.standard;
    let targets = targets(scene);
    let mut found = Vec::new();
    for kind in kinds(standard) {
        let fields = fields(standard, kind);
        for target in &targets {
            if scene.run.target(standard, *target).kind != kind {
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
fn targets(scene: &Scene<'_>) -> Vec<Target> {
    let things =
        (0..scene.run.instances.len()).map(|index| Target::Thing(InstanceId(number(index))));
    let mut found: Vec<Target> = things.collect();
    let mut next = 0;
    while let Some(&target) = found.get(next) {
        next += 1;
        let kind = scene.run.target(scene.standard, target).kind;
        for (index, field) in scene.standard.kind(kind).fields.iter().enumerate() {
            let Type::Reference(_) = field.ty else {
                continue;
            };
            let path = Path {
                root: crate::types::Root::Own,
                hops: Vec::new(),
                text: String::new(),
                span: field.span,
            };
            let referred = scene.refer(target, kind, FieldId(number(index)), &path, 0);
            if let Ok(referred) = referred
                && !found.contains(&referred)
            {
                found.push(referred);
            }
        }
    }
    found
}

/// All kinds; a kind whose figures rest on those of another comes behind it where that is possible.
fn kinds(standard: &Standard) -> Vec<KindId> {
    let count = standard.kinds.len();
    let needs: Vec<Vec<usize>> = standard
        .kinds
        .iter()
        .map(|kind| {
            let mut found = Vec::new();
            for formula in kind
                .fields
                .iter()
                .filter_map(|field| field.formula.as_ref())
            {
                settings(formula, &mut |kind, _| found.push(kind.0 as usize));
            }
            found
        })
        .collect();
    let order = sorted(count, &needs);
    order.into_iter().map(|kind| KindId(number(kind))).collect()
}

/// The quantities of a kind, each behind those its formula names.
fn fields(standard: &Standard, kind: KindId) -> Vec<FieldId> {
    let fields = &standard.kind(kind).fields;
    let needs: Vec<Vec<usize>> = fields
        .iter()
        .map(|field| {
            let mut found = Vec::new();
            if let Some(formula) = &field.formula {
                settings(formula, &mut |of, field| {
                    if of == kind {
                        found.push(field.0 as usize);
                    }
                });
            }
            found
        })
        .collect();
    sorted(fields.len(), &needs)
        .into_iter()
        .filter(|index| matches!(fields[*index].ty, Type::Quantity(_)))
        .map(|index| FieldId(number(index)))
        .collect()
}

/// Numbers from 0, each behind those it needs, else in their own order. A circle is cut where it is entered.
fn sorted(count: usize, needs: &[Vec<usize>]) -> Vec<usize> {
    let mut order = Vec::with_capacity(count);
    let mut seen = vec![false; count];
    for start in 0..count {
        let mut stack = vec![(start, 0_usize)];
        if std::mem::replace(&mut seen[start], true) {
            continue;
        }
        while let Some((at, next)) = stack.pop() {
            let Some(&needed) = needs[at].get(next) else {
                order.push(at);
                continue;
            };
            stack.push((at, next + 1));
            if needed < count && !std::mem::replace(&mut seen[needed], true) {
                stack.push((needed, 0));
            }
        }
    }
    order
}

/// Calls `found` for every setting that an expression names.
fn settings(expression: &Expression, found: &mut dyn FnMut(KindId, FieldId)) {
    match &expression.node {
        ExpressionNode::Constant(_) => {}
        ExpressionNode::Path(path) | ExpressionNode::RangeEnd { path, .. } => {
            for hop in &path.hops {
                if let Hop::Field(kind, field) = hop {
                    found(*kind, *field);
                }
            }
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
