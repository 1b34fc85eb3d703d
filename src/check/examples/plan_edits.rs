//! Changes of a plan's text: a setting given another value, left out, put in; a thing copied; a step more or less.

use std::ops::Range;

use crate::eval::{Binding, EvalContext, Found, Leaf, condition_inputs};
use crate::types::{
    Condition, ConditionNode, Expression, ExpressionNode, FieldId, Hop, InstanceId, Origin, Path,
    PlaceInRun, Quantity, Reading, RecordId, Target, Type, Value,
};
use crate::units::{Exact, Unit};

/// Stretches of a text and what stands there then.
pub(super) type Edits = Vec<(Range<usize>, String)>;

/// The most records that are tried for one reference.
const MOST_RECORDS: usize = 80;

/// The most steps that are left out or repeated, one at a time.
const MOST_STEPS: usize = 24;

/// A text with edits made; `None` when they overlap or lie outside.
pub(super) fn edited(text: &str, edits: &Edits) -> Option<String> {
    let mut edits: Vec<&(Range<usize>, String)> = edits.iter().collect();
    edits.sort_by_key(|(range, _)| (range.start, range.end));
    let mut result = String::with_capacity(text.len() + 64);
    let mut at = 0;
    for (range, new) in edits {
        if range.start < at {
            return None;
        }
        result.push_str(text.get(at..range.start)?);
        result.push_str(new);
        at = range.end;
    }
    result.push_str(text.get(at..)?);
    Some(result)
}

/// Makes a setting of a thing another value.
pub(super) fn set(context: &EvalContext<'_>, text: &str, leaf: Leaf, value: &str) -> Option<Edits> {
    let Target::Thing(id) = leaf.target else {
        return None;
    };
    let instance = context.run.instance(id);
    let field = context.standard.field(instance.kind, leaf.field);
    let kind = context.standard.kind(instance.kind);
    if let Some(stated) = instance.values.get(leaf.field.0 as usize)?
        && stated.origin == Origin::Plan
    {
        return Some(vec![(stated.span.range(), value.to_owned())]);
    }
    if context.place(leaf.target).is_some() {
        let end = instance.header?.end as usize;
        return Some(vec![(end..end, format!(", {} {value}", field.name))]);
    }
    let line = format!("  {:<16} {value}\n", field.name);
    if let Some(insert) = instance.insert {
        let at = insert.start as usize;
        return Some(vec![(at..at, line)]);
    }
    match instance.header {
        Some(header) => {
            let from = header.end as usize;
            let end = from + text.get(from..)?.find('\n').unwrap_or(text.len() - from);
            Some(vec![(end..end, format!(" {{\n{line}}}"))])
        }
        None if kind.place == PlaceInRun::One => {
            let end = text.len();
            Some(vec![(end..end, format!("\n{} {{\n{line}}}\n", kind.name))])
        }
        None => None,
    }
}

/// Sets a quantity; the other shares of its whole make room for it.
pub(super) fn set_quantity(
    context: &EvalContext<'_>,
    text: &str,
    leaf: Leaf,
    value: &Exact,
    written: &str,
) -> Option<Edits> {
    let mut edits = set(context, text, leaf, written)?;
    let kind = context.run.target(context.standard, leaf.target).kind;
    let parts = &context.standard.kind(kind).parts;
    let Some(whole) = parts
        .iter()
        .find(|whole| whole.fields.contains(&leaf.field))
    else {
        return Some(edits);
    };
    let of = |field: FieldId| context.quantity(leaf.target, field);
    let size = |field: &FieldId| of(*field).map_or(Exact::ZERO, |found| found.nominal.clone());
    let others = whole
        .fields
        .iter()
        .copied()
        .filter(|field| *field != leaf.field);
    let mut others: Vec<FieldId> = others.collect();
    others.sort_by_key(|field| std::cmp::Reverse(size(field)));
    let mut rest = whole.total.sub(value);
    for (index, field) in others.iter().enumerate() {
        if index > 0 && of(*field).is_none_or(|found| found.nominal.is_zero()) {
            continue;
        }
        let share = number(&rest, &Unit::percent())?;
        let leaf = Leaf {
            field: *field,
            ..leaf
        };
        edits.extend(set(context, text, leaf, &share)?);
        rest = Exact::ZERO;
    }
    Some(joined(edits))
}

/// Insertions at one place become one, in order.
fn joined(edits: Edits) -> Edits {
    let mut found: Edits = Vec::new();
    for (range, text) in edits {
        match found
            .iter_mut()
            .find(|(known, _)| *known == range && range.is_empty())
        {
            Some((_, known)) => known.push_str(&text),
            None => found.push((range, text)),
        }
    }
    found
}

/// A number with its unit, where it has a short decimal.
pub(super) fn number(value: &Exact, unit: &Unit) -> Option<String> {
    let text = unit.from_base(value).decimal()?;
    if text.len() > 12 {
        return None;
    }
    Some(match unit.spelling() {
        "" => text,
        spelling => format!("{text} {spelling}"),
    })
}

/// The unit to write a setting in.
pub(super) fn unit_of(context: &EvalContext<'_>, leaf: Leaf) -> Option<Unit> {
    if let Some(quantity) = context.quantity(leaf.target, leaf.field) {
        return Some(quantity.unit.clone());
    }
    let kind = context.run.target(context.standard, leaf.target).kind;
    let field = context.standard.field(kind, leaf.field);
    let Type::Quantity(measure) = &field.ty else {
        return None;
    };
    Some(match (&measure.reading, &field.possible) {
        (Reading::Share, _) => Unit::percent(),
        (Reading::Count(Some(noun)), _) => Unit::noun(noun),
        (Reading::Unit | Reading::Number, Some(possible)) => possible.unit.clone(),
        (Reading::Count(None) | Reading::Number, _) => Unit::bare(),
        (Reading::Unit, None) => Unit::usual(measure.dimension),
    })
}

/// Settings of the plan that a condition can rest on, those it names itself first.
pub(super) fn settings(
    context: &EvalContext<'_>,
    binding: Binding,
    condition: &Condition,
) -> Vec<(Leaf, bool)> {
    let mut found: Vec<(Leaf, bool)> = Vec::new();
    let mut add = |leaf: Leaf, direct: bool| {
        let thing = matches!(leaf.target, Target::Thing(_));
        if thing && !found.iter().any(|(known, _)| *known == leaf) {
            found.push((leaf, direct));
        }
    };
    let mut paths = Vec::new();
    condition_paths(condition, &mut paths);
    for path in paths {
        let members: &[InstanceId] = match path.root {
            crate::types::Root::Member(kind) => context
                .run
                .many
                .get(kind.0 as usize)
                .map_or(&[], Vec::as_slice),
            _ => &[],
        };
        let bindings = members.iter().map(|member| Binding {
            member: Some(*member),
            ..binding
        });
        for binding in bindings.chain(members.is_empty().then_some(binding)) {
            if let Ok(Found::Setting(target, kind, field)) = context.locate(binding, path)
                && matches!(context.standard.field(kind, field).ty, Type::Quantity(_))
            {
                add(Leaf { target, field }, true);
            }
        }
    }
    for leaf in condition_inputs(context, binding, &[condition]) {
        add(leaf, false);
    }
    found
}

/// All paths of a condition.
fn condition_paths<'c>(condition: &'c Condition, found: &mut Vec<&'c Path>) {
    match &condition.node {
        ConditionNode::Compare { left, right, .. } => {
            expression_paths(left, found);
            expression_paths(right, found);
        }
        ConditionNode::Within { subject, range } => {
            expression_paths(subject, found);
            found.push(range);
        }
        ConditionNode::RangeWithin { inner, outer } => found.extend([inner, outer]),
        ConditionNode::Same { left, right } => found.extend([left, right]),
        ConditionNode::Is { path, .. }
        | ConditionNode::IsStep { path, .. }
        | ConditionNode::Stated { path, .. }
        | ConditionNode::NotOlder { path, .. } => found.push(path),
        ConditionNode::And(list) | ConditionNode::Or(list) => {
            for part in list {
                condition_paths(part, found);
            }
        }
        ConditionNode::Not(inner) => condition_paths(inner, found),
        ConditionNode::Wrong => {}
    }
}

fn expression_paths<'c>(expression: &'c Expression, found: &mut Vec<&'c Path>) {
    match &expression.node {
        ExpressionNode::Constant(_) => {}
        ExpressionNode::Path(path) | ExpressionNode::RangeEnd { path, .. } => found.push(path),
        ExpressionNode::Negative(part) | ExpressionNode::Power(part, _) => {
            expression_paths(part, found);
        }
        ExpressionNode::Binary { left, right, .. } => {
            expression_paths(left, found);
            expression_paths(right, found);
        }
        ExpressionNode::Call(_, arguments) => {
            for argument in arguments {
                expression_paths(argument, found);
            }
        }
        ExpressionNode::Over { body, .. } => {
            if let Some(body) = body {
                expression_paths(body, found);
            }
        }
    }
}

/// Changes of words, references and steps that can make a condition come out otherwise.
pub(super) fn word_moves(
    context: &EvalContext<'_>,
    text: &str,
    binding: Binding,
    condition: &Condition,
) -> Vec<Edits> {
    let mut found = Vec::new();
    let mut paths = Vec::new();
    condition_paths(condition, &mut paths);
    let stated = has_stated(condition);
    let mut steps = false;
    for path in paths {
        for index in 0..path.hops.len() {
            let part = Path {
                hops: path.hops[..=index].to_vec(),
                ..path.clone()
            };
            steps |= !matches!(path.hops[index], Hop::Field(..));
            if let Ok(Found::Setting(target, kind, field)) = context.locate(binding, &part) {
                let last = stated && index + 1 == path.hops.len();
                setting_moves(
                    context,
                    text,
                    Leaf { target, field },
                    kind,
                    last,
                    &mut found,
                );
            }
        }
        if let crate::types::Root::Single(kind) = path.root {
            found.extend(parent_moves(context, text, kind));
        }
    }
    if steps {
        found.extend(step_moves(context, text));
    }
    found
}

fn has_stated(condition: &Condition) -> bool {
    match &condition.node {
        ConditionNode::Stated { .. } => true,
        ConditionNode::And(list) | ConditionNode::Or(list) => list.iter().any(has_stated),
        ConditionNode::Not(inner) => has_stated(inner),
        _ => false,
    }
}

fn setting_moves(
    context: &EvalContext<'_>,
    text: &str,
    leaf: Leaf,
    kind: crate::types::KindId,
    stated: bool,
    found: &mut Vec<Edits>,
) {
    let Target::Thing(id) = leaf.target else {
        return;
    };
    let field = context.standard.field(kind, leaf.field);
    let words: Vec<String> = match &field.ty {
        Type::YesNo => vec!["yes".to_owned(), "no".to_owned()],
        Type::Choice(choices) => choices.clone(),
        Type::Reference(kind) => referred(context, *kind),
        _ => Vec::new(),
    };
    for word in words {
        found.extend(set(context, text, leaf, &word));
    }
    if !stated {
        return;
    }
    found.extend(left_out(context, text, id, leaf.field));
    if context.stated(leaf.target, leaf.field).is_none()
        && let (Type::Quantity(_), Some(unit)) = (&field.ty, unit_of(context, leaf))
    {
        let value = match &field.possible {
            Some(limits) => middle(limits, &unit),
            None => Some(unit.to_base(&Exact::ONE)),
        };
        let written = value.and_then(|value| number(&value, &unit));
        found.extend(written.and_then(|written| set(context, text, leaf, &written)));
    }
}

/// A round value somewhere inside a range.
fn middle(limits: &crate::types::Limits, unit: &Unit) -> Option<Exact> {
    let (low, high) = (limits.low.as_ref()?, limits.high.as_ref()?);
    let (low, high) = (unit.from_base(low), unit.from_base(high));
    let third = high.sub(&low).div(&Exact::from_int(3))?;
    let value = low.add(&third);
    let whole = value.ceil();
    Some(unit.to_base(if whole <= high { &whole } else { &high }))
}

/// What a reference may name: the things of the run where it has named ones of the kind, else records.
fn referred(context: &EvalContext<'_>, kind: crate::types::KindId) -> Vec<String> {
    if context.standard.kind(kind).place != PlaceInRun::Many {
        return records(context, kind);
    }
    let things = context.run.many.get(kind.0 as usize).into_iter().flatten();
    things
        .map(|id| context.run.instance(*id).name.clone())
        .collect()
}

fn records(context: &EvalContext<'_>, kind: crate::types::KindId) -> Vec<String> {
    let of_kind = context
        .standard
        .records
        .iter()
        .filter(|one| one.kind == kind);
    of_kind
        .map(|record| record.name.clone())
        .take(MOST_RECORDS)
        .collect()
}

/// The one thing of a kind as another record.
fn parent_moves(context: &EvalContext<'_>, text: &str, kind: crate::types::KindId) -> Vec<Edits> {
    let single = context.run.singles.get(kind.0 as usize).copied().flatten();
    let Some(header) = single.and_then(|id| context.run.instance(id).header) else {
        return Vec::new();
    };
    let written = text.get(header.range()).unwrap_or("");
    let Some(at) = written.rfind(" is ") else {
        return Vec::new();
    };
    let range = header.start as usize + at + 4..header.end as usize;
    let names = records(context, kind).into_iter();
    names.map(|name| vec![(range.clone(), name)]).collect()
}

/// A setting taken out of the plan.
pub(super) fn left_out(
    context: &EvalContext<'_>,
    text: &str,
    id: InstanceId,
    field: FieldId,
) -> Option<Edits> {
    let stated = context
        .run
        .instance(id)
        .values
        .get(field.0 as usize)?
        .as_ref()?;
    if stated.origin != Origin::Plan {
        return None;
    }
    let range = stated.span.range();
    let before = text.get(..range.start)?;
    if context.place(Target::Thing(id)).is_some() {
        let comma = before.rfind(',')?;
        return Some(vec![(comma..range.end, String::new())]);
    }
    let start = before.rfind('\n').map_or(0, |at| at + 1);
    let end = range.end + text.get(range.end..)?.find('\n')? + 1;
    Some(vec![(start..end, String::new())])
}

/// A step left out, or done twice.
fn step_moves(context: &EvalContext<'_>, text: &str) -> Vec<Edits> {
    let mut found = Vec::new();
    for id in context.run.steps.iter().take(MOST_STEPS) {
        let Some(line) = line_of(context, text, *id) else {
            continue;
        };
        let copy = text.get(line.clone()).unwrap_or("").to_owned();
        found.push(vec![(line.end..line.end, copy)]);
        found.push(vec![(line, String::new())]);
    }
    found
}

fn line_of(context: &EvalContext<'_>, text: &str, id: InstanceId) -> Option<Range<usize>> {
    let range = context.run.instance(id).header?.range();
    let start = text.get(..range.start)?.rfind('\n')? + 1;
    let end = range.end + text.get(range.end..)?.find('\n')? + 1;
    Some(start..end)
}

/// The record that states a setting for another: itself, or one it takes its values from.
fn owner(context: &EvalContext<'_>, record: RecordId, field: FieldId) -> Option<RecordId> {
    let mut at = Some(record);
    for _ in 0..=context.standard.records.len() {
        let id = at?;
        let record = context.standard.record(id);
        if record.values.get(field.0 as usize)?.is_some() {
            return Some(id);
        }
        at = record.parent;
    }
    None
}

/// Whether some thing of the plan refers to a record that takes this setting from it.
pub(super) fn reads(
    context: &EvalContext<'_>,
    record: RecordId,
    field: FieldId,
) -> Vec<InstanceId> {
    let kind = context.standard.record(record).kind;
    let mut found = Vec::new();
    for (index, instance) in context.run.instances.iter().enumerate() {
        let own = instance.values.iter().flatten().any(|stated| {
            matches!(stated.value, Value::Reference(Target::Record(id))
                if context.standard.record(id).kind == kind
                    && owner(context, id, field) == Some(record))
        });
        let is = instance.kind == kind
            && instance
                .parent
                .is_some_and(|parent| owner(context, parent, field) == Some(record));
        if own || is {
            found.push(InstanceId(u32::try_from(index).unwrap_or(u32::MAX)));
        }
    }
    found
}

/// Whether a condition, for one thing, reads a setting that a record states.
pub(super) fn touches(
    context: &EvalContext<'_>,
    binding: Binding,
    condition: &Condition,
    record: RecordId,
    field: FieldId,
) -> bool {
    let kind = context.standard.record(record).kind;
    let mut paths = Vec::new();
    condition_paths(condition, &mut paths);
    paths
        .into_iter()
        .any(|path| match context.locate(binding, path) {
            Ok(Found::Setting(Target::Record(id), of, last)) => {
                of == kind && last == field && owner(context, id, field) == Some(record)
            }
            // A thing of the run takes it from its own record.
            Ok(Found::Setting(Target::Thing(id), of, last)) => {
                let parent = context.run.instance(id).parent;
                of == kind
                    && last == field
                    && parent.is_some_and(|parent| owner(context, parent, field) == Some(record))
            }
            _ => false,
        })
}

/// Plans in which a thing refers to a record: a copy of one that refers to another, or that one itself.
pub(super) fn reference_moves(
    context: &EvalContext<'_>,
    text: &str,
    record: RecordId,
) -> Vec<Edits> {
    let wanted = context.standard.record(record);
    let (mut copies, mut changes) = (Vec::new(), Vec::new());
    for (index, instance) in context.run.instances.iter().enumerate() {
        for stated in instance.values.iter().flatten() {
            let Value::Reference(Target::Record(id)) = stated.value else {
                continue;
            };
            if stated.origin != Origin::Plan || context.standard.record(id).kind != wanted.kind {
                continue;
            }
            changes.push(vec![(stated.span.range(), wanted.name.clone())]);
            let thing = InstanceId(u32::try_from(index).unwrap_or(u32::MAX));
            copies.extend(copied(
                context,
                text,
                thing,
                stated.span.range(),
                &wanted.name,
            ));
        }
    }
    let parents = records_as_parent(context, text, record);
    copies.truncate(1);
    changes.truncate(4);
    copies.into_iter().chain(changes).chain(parents).collect()
}

/// The run's one thing of a record's kind, as this record.
fn records_as_parent(context: &EvalContext<'_>, text: &str, record: RecordId) -> Vec<Edits> {
    let wanted = context.standard.record(record);
    let mut moves = parent_moves(context, text, wanted.kind);
    moves.retain(|edits| edits.iter().any(|(_, name)| *name == wanted.name));
    moves
}

/// A copy of a named thing's block, with one value changed, put behind it.
fn copied(
    context: &EvalContext<'_>,
    text: &str,
    id: InstanceId,
    value: Range<usize>,
    record: &str,
) -> Option<Edits> {
    let instance = context.run.instance(id);
    if instance.name.is_empty() || context.place(Target::Thing(id)).is_some() {
        return None;
    }
    let header = instance.header?.range();
    let end = instance.insert?.start as usize;
    let tail = text.get(end..)?;
    let close = end + tail.find('\n').map_or(tail.len(), |at| at + 1);
    let taken = |name: &str| {
        let things = context.run.many.get(instance.kind.0 as usize);
        let mut things = things.into_iter().flatten();
        things.any(|other| context.run.instance(*other).name == name)
    };
    let mut name = record.to_owned();
    for number in 2..100 {
        if !taken(&name) {
            break;
        }
        name = format!("{record}-{number}");
    }
    let kind = &context.standard.kind(instance.kind).name;
    let head = text.get(header.clone())?;
    let rest = head.strip_prefix(kind.as_str())?.trim_start();
    let rest = rest.strip_prefix(instance.name.as_str())?;
    let before = text.get(header.end..value.start)?;
    let after = text.get(value.end..close)?;
    let block = format!("\n{kind} {name}{rest}{before}{record}{after}");
    Some(vec![(close..close, block)])
}

/// Whether a quantity is one sharp value.
pub(super) fn sharp(quantity: &Quantity) -> bool {
    quantity.low == quantity.high
}
