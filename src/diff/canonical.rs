//! What something says, as a text that is the same wherever the same is said.
//!
//! Names, exact numbers and words only: no layout, no spelling of a unit, no order of parts that may
//! stand in any order, and `not x below 5` is `x at least 5`.

use std::fmt::Write as _;

use crate::types::{
    Arithmetic, Axis, Condition, ConditionNode, DUE, Expression, ExpressionNode, Field, Function,
    INSTRUMENT, Limits, Path, Rule, RuleForm, Source, Standard, Stating, Target, Type, Value,
    exact, expression as said, path as led, range as ends, type_words,
};
use crate::units::Exact;

/// A number.
pub(in crate::diff) fn number(value: &Exact) -> String {
    let mut text = String::new();
    exact(&mut text, value);
    text
}

/// A path.
pub(in crate::diff) fn path(standard: &Standard, of: &Path) -> String {
    let mut text = String::new();
    led(&mut text, standard, of);
    text
}

/// An expression. What is added or multiplied may stand in any order.
pub(in crate::diff) fn expression(standard: &Standard, of: &Expression) -> String {
    let inner = |of: &Expression| expression(standard, of);
    match &of.node {
        ExpressionNode::Binary {
            operator: operator @ (Arithmetic::Add | Arithmetic::Multiply),
            ..
        } => {
            let mut parts = Vec::new();
            same_operator(*operator, of, &mut parts);
            let mut parts: Vec<String> = parts.into_iter().map(inner).collect();
            parts.sort_unstable();
            format!("({operator:?} {})", parts.join(", "))
        }
        ExpressionNode::Binary {
            operator,
            left,
            right,
        } => format!("({operator:?} {} {})", inner(left), inner(right)),
        ExpressionNode::Negative(of) => format!("(- {})", inner(of)),
        ExpressionNode::Power(base, power) => format!("(^ {} {power})", inner(base)),
        // What is so behind a dial goes by the records, and is told of there.
        ExpressionNode::Call(Function::Calibrated, dial) => dial.iter().map(inner).collect(),
        ExpressionNode::Call(function, arguments) => {
            let mut parts: Vec<String> = arguments.iter().map(inner).collect();
            if matches!(function, Function::Least | Function::Most) {
                parts.sort_unstable();
                parts.dedup();
                // The least or the most of one value alone is that value, with the same ends.
                let path = |of: &Expression| matches!(of.node, ExpressionNode::Path(_));
                if let ([only], Some(true)) = (parts.as_slice(), arguments.first().map(path)) {
                    return only.clone();
                }
            }
            let called = match function {
                Function::Figure(figure) => figure.name.to_owned(),
                other => format!("{other:?}"),
            };
            format!("{called}({})", parts.join(", "))
        }
        ExpressionNode::Over {
            aggregate,
            kind,
            body,
        } => {
            let body = body.as_ref().map(|of| inner(of)).unwrap_or_default();
            format!("{aggregate:?} {} ({body})", standard.kind(*kind).name)
        }
        ExpressionNode::Constant(_) | ExpressionNode::Path(_) | ExpressionNode::RangeEnd { .. } => {
            let mut text = String::new();
            said(&mut text, standard, of);
            text
        }
    }
}

/// The operands of one operator, however they are bracketed.
fn same_operator<'e>(operator: Arithmetic, of: &'e Expression, found: &mut Vec<&'e Expression>) {
    match &of.node {
        ExpressionNode::Binary {
            operator: mine,
            left,
            right,
        } if *mine == operator => {
            same_operator(operator, left, found);
            same_operator(operator, right, found);
        }
        _ => found.push(of),
    }
}

/// A range.
pub(in crate::diff) fn limits(of: &Limits) -> String {
    let mut text = String::new();
    ends(&mut text, of);
    text
}

/// A value of a setting.
pub(in crate::diff) fn value(standard: &Standard, ty: &Type, of: &Value) -> String {
    match of {
        Value::Quantity(quantity) => format!(
            "{} {} {}",
            number(&quantity.nominal),
            number(&quantity.low),
            number(&quantity.high)
        ),
        Value::Range(range) => limits(range),
        Value::Text(text) => format!("{text:?}"),
        Value::YesNo(true) => "yes".to_owned(),
        Value::YesNo(false) => "no".to_owned(),
        Value::Day(day) => day.to_string(),
        Value::Choice(index) => match ty {
            Type::Choice(words) => words.get(*index as usize).cloned().unwrap_or_default(),
            _ => format!("choice {index}"),
        },
        Value::Reference(Target::Record(id)) => standard.record(*id).name.clone(),
        Value::Reference(Target::Thing(id)) => format!("thing {}", id.0),
        Value::Wrong => "wrong".to_owned(),
    }
}

/// A setting: its type, formula and what is possible; with its sentence where wanted.
pub(in crate::diff) fn field(standard: &Standard, of: &Field, sentence: bool) -> String {
    let mut text = ty(standard, &of.ty);
    if let Some(possible) = &of.possible {
        let _ = write!(text, " from {}", limits(possible));
    }
    let _ = write!(text, "{}", formula(standard, of));
    if sentence {
        let _ = write!(text, " {:?}", of.sentence);
    }
    text
}

/// How a setting is worked out.
pub(in crate::diff) fn formula(standard: &Standard, of: &Field) -> String {
    let mut text = String::new();
    if let Some(formula) = &of.formula {
        let _ = write!(text, " = {}", expression(standard, formula));
    }
    if let Some(reference) = &of.reference {
        let _ = write!(text, " = {}", path(standard, reference));
    }
    text
}

/// A type. The order of choices says nothing.
pub(in crate::diff) fn ty(standard: &Standard, of: &Type) -> String {
    match of {
        Type::Choice(words) => {
            let mut words = words.clone();
            words.sort_unstable();
            format!("choice of {}", words.join(", "))
        }
        other => type_words(standard, other),
    }
}

/// What something rests on.
pub(in crate::diff) fn source(of: Option<&Source>) -> String {
    of.map(|source| format!("{:?}", source.grounds))
        .unwrap_or_default()
}

/// A condition.
pub(in crate::diff) fn condition(standard: &Standard, of: &Condition) -> String {
    asked(standard, of, false)
}

/// The parts of conditions that must all be true.
pub(in crate::diff) fn parts<'c>(list: &'c [Condition]) -> Vec<&'c Condition> {
    let mut found: Vec<&'c Condition> = Vec::new();
    for condition in list {
        match &condition.node {
            ConditionNode::And(inner) => found.extend(parts(inner)),
            _ => found.push(condition),
        }
    }
    found
}

/// Conditions that must all be true, in whatever order.
pub(in crate::diff) fn all(standard: &Standard, list: &[Condition]) -> String {
    let forms = parts(list)
        .into_iter()
        .map(|part| condition(standard, part));
    joined(" and ", forms.collect())
}

fn joined(word: &str, mut parts: Vec<String>) -> String {
    parts.sort_unstable();
    parts.dedup();
    parts.join(word)
}

fn asked(standard: &Standard, of: &Condition, negated: bool) -> String {
    let not = if negated { "not " } else { "" };
    match &of.node {
        ConditionNode::Compare {
            compare,
            left,
            right,
        } => {
            let (mut one, mut other) = (expression(standard, left), expression(standard, right));
            let mut compare = *compare;
            let number = |of: &Expression| matches!(of.node, ExpressionNode::Constant(_));
            let turn = match (number(left), number(right)) {
                (true, false) => true,
                (false, true) => false,
                _ => one > other,
            };
            if turn {
                compare = compare.mirrored();
                (one, other) = (other, one);
            }
            match compare.negated().filter(|_| negated) {
                Some(compare) => format!("({one} {compare:?} {other})"),
                None => format!("({not}{one} {compare:?} {other})"),
            }
        }
        ConditionNode::Within { subject, range } => format!(
            "({not}{} within {})",
            expression(standard, subject),
            path(standard, range)
        ),
        ConditionNode::RangeWithin { inner, outer } => format!(
            "({not}{} within {})",
            path(standard, inner),
            path(standard, outer)
        ),
        ConditionNode::Is {
            path: at,
            values,
            words,
        } => {
            let ty = end(standard, at);
            let words = values.iter().zip(words).map(|(of, word)| match (of, ty) {
                (Value::Wrong, _) | (_, None) => word.clone(),
                (of, Some(ty)) => value(standard, ty, of),
            });
            let words = joined(" or ", words.collect());
            format!("({not}{} is {words})", path(standard, at))
        }
        ConditionNode::Same { left, right } => {
            let mut both = [path(standard, left), path(standard, right)];
            both.sort_unstable();
            format!("({not}{} same {})", both[0], both[1])
        }
        ConditionNode::IsStep { path: at, kinds } => {
            let words = kinds.iter().map(|kind| standard.kind(*kind).name.clone());
            let words = joined(" or ", words.collect());
            format!("({not}{} is step {words})", path(standard, at))
        }
        ConditionNode::Stated { path: at, how } => {
            let how = match how {
                Stating::Anyhow => String::new(),
                Stating::WithTolerance => " with a tolerance".to_owned(),
                Stating::ReadWithin(time) => {
                    format!(
                        " within {} by {}",
                        number(&time.exact),
                        instruments(standard)
                    )
                }
            };
            format!("({not}{} stated{how})", path(standard, at))
        }
        ConditionNode::NotOlder { path: at, than } => format!(
            "({not}{} not older than {})",
            path(standard, at),
            number(&than.exact)
        ),
        ConditionNode::And(list) | ConditionNode::Or(list) => {
            let every = matches!(of.node, ConditionNode::And(_)) != negated;
            let parts = list.iter().map(|part| asked(standard, part, negated));
            let word = if every { " and " } else { " or " };
            format!("({})", joined(word, parts.collect()))
        }
        ConditionNode::Not(inner) => asked(standard, inner, !negated),
        ConditionNode::Wrong => "wrong".to_owned(),
    }
}

/// The instruments that a reading may be taken with, and when each falls due: a reading counts as taken by them.
fn instruments(standard: &Standard) -> String {
    let Some(&kind) = standard.kind_names.get(INSTRUMENT) else {
        return "none".to_owned();
    };
    let due = standard.kind(kind).field_names.get(DUE);
    let mut list: Vec<String> = standard
        .records_of(kind)
        .map(|(_, of)| {
            let due = due.and_then(|due| of.values.get(due.index())?.as_ref());
            match due.map(|due| &due.value) {
                Some(Value::Day(day)) => format!("{} {day}", of.name),
                _ => of.name.clone(),
            }
        })
        .collect();
    list.sort_unstable();
    list.join(", ")
}

/// The type of the setting that a path ends at; of a thing itself, a reference to its kind.
pub(in crate::diff) fn end<'s>(standard: &'s Standard, of: &Path) -> Option<&'s Type> {
    match of.hops.last()? {
        crate::types::Hop::Field(kind, field) => Some(&standard.field(*kind, *field).ty),
        _ => None,
    }
}

/// Whether a rule speaks to a run, and of what: `for each`, `when` and `may`.
pub(in crate::diff) fn reach(standard: &Standard, rule: &Rule) -> String {
    let each = rule
        .each
        .map_or("", |kind| standard.kind(kind).name.as_str());
    let permits = joined(
        " or ",
        rule.permissions
            .iter()
            .map(|permission| condition(standard, permission))
            .collect(),
    );
    format!(
        "each {each} when {} may {permits}",
        all(standard, &rule.when)
    )
}

/// All that can decide an outcome in a rule: no title, no reason, no source.
pub(in crate::diff) fn rule(standard: &Standard, of: &Rule) -> String {
    let mut text = reach(standard, of);
    if let RuleForm::Caution(words) = &of.form {
        let _ = write!(text, " says {words:?}");
    }
    if let Some(table) = &of.table {
        // What the rows go by is asked first, so that a table that is turned is another.
        let axis = |text: &mut String, axis: &Axis| {
            let _ = write!(text, " by {}", path(standard, &axis.path));
        };
        axis(&mut text, &table.rows);
        if let Some(columns) = &table.columns {
            axis(&mut text, columns);
        }
        // Empty rows and columns count too: a run is held to the row that is its own.
        let columns: Vec<&str> = match &table.columns {
            Some(columns) => columns.entries.iter().map(|of| of.name.as_str()).collect(),
            None => vec![""],
        };
        let mut cells = Vec::new();
        for (entry, row) in table.rows.entries.iter().zip(&table.cells) {
            for (column, cell) in columns.iter().zip(row) {
                let held = cell.requirement.and_then(|at| of.requirements.get(at));
                let held = held.map(|wanted| {
                    format!(
                        "{:?} {}",
                        wanted.verb,
                        condition(standard, &wanted.condition)
                    )
                });
                cells.push(format!("cell {:?} {column:?} {held:?}", entry.name));
            }
        }
        text.push_str(&joined("; ", cells));
        return text;
    }
    let mut wanted = Vec::new();
    for requirement in &of.requirements {
        for part in parts(std::slice::from_ref(&requirement.condition)) {
            let form = condition(standard, part);
            wanted.push(format!("{:?} {form}", requirement.verb));
        }
    }
    text.push(' ');
    text.push_str(&joined("; ", wanted));
    text
}
