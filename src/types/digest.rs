//! The digest of the meaning of a standard.
//!
//! Comments, layout, spelling of units and the order of records do not count; names, values, limits,
//! conditions, reasons and sources do. Two standards with one digest give the same findings.

use std::fmt::Write as _;

use sha2::{Digest as _, Sha256};

use super::model::{Digest, Limits, Rule, Source, Standard, Target, Type, Value};
use super::terms::{Condition, ConditionNode, Expression, ExpressionNode, Function, Path};
use crate::units::Exact;

/// Works out the digest.
pub(super) fn digest(standard: &Standard) -> Digest {
    let mut lines: Vec<String> = Vec::new();
    for kind in &standard.kinds {
        lines.push(format!("kind {} {:?}", kind.name, kind.place));
        for field in &kind.fields {
            let mut line = format!(
                "setting {}.{} {}",
                kind.name,
                field.name,
                type_words(standard, &field.ty)
            );
            if let Some(possible) = &field.possible {
                let _ = write!(line, " possible {}", limits(possible));
            }
            if let Some(formula) = &field.formula {
                let _ = write!(line, " = {}", expression(standard, formula));
            }
            if let Some(path) = &field.reference {
                let _ = write!(line, " = {}", path_words(standard, path));
            }
            for (size, _) in &field.steps {
                let _ = write!(line, " step {}", exact(size));
            }
            source(&mut line, field.per.as_ref());
            lines.push(line);
        }
        for whole in &kind.parts {
            let names: Vec<&str> = whole
                .fields
                .iter()
                .map(|id| kind.fields[id.0 as usize].name.as_str())
                .collect();
            lines.push(format!(
                "parts {} {} {}",
                kind.name,
                names.join(","),
                exact(&whole.total)
            ));
        }
    }
    for record in &standard.records {
        let kind = standard.kind(record.kind);
        let parent = record
            .parent
            .map_or("", |id| standard.record(id).name.as_str());
        lines.push(format!("record {} {} is {parent}", kind.name, record.name));
        for (field, stated) in kind.fields.iter().zip(&record.values) {
            let Some(stated) = stated else { continue };
            let shown = value(standard, &stated.value);
            let mut line = format!("value {} {} {} {shown}", kind.name, record.name, field.name);
            source(&mut line, stated.per.as_ref());
            if let Some(reason) = &stated.loosened {
                let _ = write!(line, " loosened {reason:?}");
            }
            lines.push(line);
        }
    }
    // The order in which kinds and records are declared does not matter.
    lines.sort_unstable();
    for rule in &standard.rules {
        rule_lines(standard, rule, &mut lines);
    }
    let mut hash = Sha256::new();
    for line in [&format!(
        "standard {:?} {:?}",
        standard.name, standard.edition
    )]
    .into_iter()
    .chain(&lines)
    {
        hash.update(line.as_bytes());
        hash.update(b"\n");
    }
    let mut text = String::with_capacity(64);
    for byte in hash.finalize() {
        let _ = write!(text, "{byte:02x}");
    }
    Digest(text)
}

fn rule_lines(standard: &Standard, rule: &Rule, lines: &mut Vec<String>) {
    let each = rule
        .each
        .map_or("", |kind| standard.kind(kind).name.as_str());
    let mut line = format!(
        "rule {} {:?} {:?} each {each} because {:?}",
        rule.name, rule.form, rule.title, rule.because
    );
    source(&mut line, rule.per.as_ref());
    lines.push(line);
    for when in &rule.when {
        lines.push(format!("when {}", condition(standard, when)));
    }
    for requirement in &rule.requirements {
        let mut line = format!(
            "{} {}",
            requirement.verb.word(),
            condition(standard, &requirement.condition)
        );
        source(&mut line, requirement.per.as_ref());
        lines.push(line);
    }
    for permission in &rule.permissions {
        lines.push(format!("may {}", condition(standard, permission)));
    }
    for adjust in &rule.adjust {
        lines.push(format!("adjust {}", path_words(standard, &adjust.path)));
    }
    for caution in &rule.cautions {
        lines.push(format!("caution {caution:?}"));
    }
}

fn source(line: &mut String, source: Option<&Source>) {
    match source {
        Some(Source::Named(name)) => {
            let _ = write!(line, " per {name:?}");
        }
        Some(Source::Practice) => line.push_str(" per practice"),
        None => {}
    }
}

fn exact(value: &Exact) -> String {
    format!("{value:?}")
}

fn limits(limits: &Limits) -> String {
    let end = |end: &Option<Exact>| end.as_ref().map_or("open".to_owned(), exact);
    format!("{} to {}", end(&limits.low), end(&limits.high))
}

fn type_words(standard: &Standard, ty: &Type) -> String {
    match ty {
        Type::Reference(kind) => format!("a {}", standard.kind(*kind).name),
        other => format!("{other:?}"),
    }
}

fn value(standard: &Standard, value: &Value) -> String {
    match value {
        Value::Quantity(quantity) => {
            format!(
                "{} {} {}",
                exact(&quantity.nominal),
                exact(&quantity.low),
                exact(&quantity.high)
            )
        }
        Value::Range(range) => limits(range),
        Value::Text(text) => format!("{text:?}"),
        Value::YesNo(yes) => yes.to_string(),
        Value::Choice(index) => format!("choice {index}"),
        Value::Reference(Target::Record(id)) => standard.record(*id).name.clone(),
        Value::Reference(Target::Thing(id)) => format!("thing {}", id.0),
        Value::Wrong => "wrong".to_owned(),
    }
}

fn path_words(standard: &Standard, path: &Path) -> String {
    let mut words = match path.root {
        super::Root::Own => "own".to_owned(),
        super::Root::Single(kind) | super::Root::Each(kind) | super::Root::Member(kind) => {
            standard.kind(kind).name.clone()
        }
    };
    for hop in &path.hops {
        match hop {
            super::Hop::Field(kind, field) => {
                let _ = write!(words, ".{}", standard.field(*kind, *field).name);
            }
            super::Hop::Next(kind) | super::Hop::Previous(kind) => {
                let name = kind.map_or("any", |kind| standard.kind(kind).name.as_str());
                let way = if matches!(hop, super::Hop::Next(_)) {
                    "next"
                } else {
                    "previous"
                };
                let _ = write!(words, ".{way}-{name}");
            }
            super::Hop::Place => words.push_str(".place"),
        }
    }
    words
}

fn expression(standard: &Standard, of: &Expression) -> String {
    match &of.node {
        ExpressionNode::Constant(constant) => exact(&constant.exact),
        ExpressionNode::Path(path) => path_words(standard, path),
        ExpressionNode::RangeEnd { path, high } => {
            format!(
                "{}({})",
                if *high { "high" } else { "low" },
                path_words(standard, path)
            )
        }
        ExpressionNode::Negative(inner) => format!("(- {})", expression(standard, inner)),
        ExpressionNode::Binary {
            operator,
            left,
            right,
        } => {
            format!(
                "({operator:?} {} {})",
                expression(standard, left),
                expression(standard, right)
            )
        }
        ExpressionNode::Power(base, power) => format!("(^ {} {power})", expression(standard, base)),
        ExpressionNode::Call(function, arguments) => {
            let name = match function {
                Function::Figure(figure) => figure.name.to_owned(),
                other => format!("{other:?}"),
            };
            let arguments: Vec<String> = arguments
                .iter()
                .map(|argument| expression(standard, argument))
                .collect();
            format!("{name}({})", arguments.join(", "))
        }
        ExpressionNode::Over {
            aggregate,
            kind,
            body,
        } => {
            let body = body
                .as_ref()
                .map(|body| expression(standard, body))
                .unwrap_or_default();
            format!("{aggregate:?} {} ({body})", standard.kind(*kind).name)
        }
    }
}

fn condition(standard: &Standard, of: &Condition) -> String {
    let all = |list: &[Condition]| {
        let parts: Vec<String> = list.iter().map(|part| condition(standard, part)).collect();
        parts.join(", ")
    };
    match &of.node {
        ConditionNode::Compare {
            compare,
            left,
            right,
        } => {
            format!(
                "({compare:?} {} {})",
                expression(standard, left),
                expression(standard, right)
            )
        }
        ConditionNode::Within { subject, range } => {
            format!(
                "({} within {})",
                expression(standard, subject),
                path_words(standard, range)
            )
        }
        ConditionNode::RangeWithin { inner, outer } => {
            format!(
                "({} within {})",
                path_words(standard, inner),
                path_words(standard, outer)
            )
        }
        ConditionNode::Is { path, words, .. } => {
            format!("({} is {})", path_words(standard, path), words.join(", "))
        }
        ConditionNode::Same { left, right } => {
            format!(
                "({} is {})",
                path_words(standard, left),
                path_words(standard, right)
            )
        }
        ConditionNode::IsStep { path, kinds } => {
            let names: Vec<&str> = kinds
                .iter()
                .map(|kind| standard.kind(*kind).name.as_str())
                .collect();
            format!("({} is {})", path_words(standard, path), names.join(", "))
        }
        ConditionNode::Stated(path) => format!("({} stated)", path_words(standard, path)),
        ConditionNode::And(list) => format!("(and {})", all(list)),
        ConditionNode::Or(list) => format!("(or {})", all(list)),
        ConditionNode::Not(inner) => format!("(not {})", condition(standard, inner)),
        ConditionNode::Wrong => "wrong".to_owned(),
    }
}
