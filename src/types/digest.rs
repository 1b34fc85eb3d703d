//! The digest of the meaning of a standard.
//!
//! Comments, layout, spelling of units and the order of records do not count; names, values, limits,
//! conditions, reasons and sources do. Two standards with one digest give the same findings.

use std::fmt::Write as _;

use sha2::{Digest as _, Sha256};

use super::deviation::Deviation;
use super::model::{Digest, Grounds, Limits, Rule, Source, Standard, Table, Target, Type, Value};
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
                line.push_str(" possible ");
                limits(&mut line, possible);
            }
            if let Some(formula) = &field.formula {
                line.push_str(" = ");
                expression(&mut line, standard, formula);
            }
            if let Some(reference) = &field.reference {
                line.push_str(" = ");
                path(&mut line, standard, reference);
            }
            for (size, _) in &field.steps {
                line.push_str(" step ");
                exact(&mut line, size);
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
            let mut line = format!("parts {} {} ", kind.name, names.join(","));
            exact(&mut line, &whole.total);
            lines.push(line);
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
            let mut line = format!("value {} {} {} ", kind.name, record.name, field.name);
            value(&mut line, standard, &stated.value);
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
    for deviation in &standard.deviations {
        deviation_lines(standard, deviation, &mut lines);
    }
    let mut text = format!("standard {:?} {:?}\n", standard.name, standard.edition);
    for line in &lines {
        text.push_str(line);
        text.push('\n');
    }
    let mut hash = Sha256::new();
    hash.update(text.as_bytes());
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
        let mut line = "when ".to_owned();
        condition(&mut line, standard, when);
        lines.push(line);
    }
    for requirement in &rule.requirements {
        let mut line = format!("{} ", requirement.verb.word());
        condition(&mut line, standard, &requirement.condition);
        source(&mut line, requirement.per.as_ref());
        lines.push(line);
    }
    if let Some(table) = &rule.table {
        table_lines(standard, table, lines);
    }
    for permission in &rule.permissions {
        let mut line = "may ".to_owned();
        condition(&mut line, standard, permission);
        lines.push(line);
    }
    for adjust in &rule.adjust {
        let mut line = "adjust ".to_owned();
        path(&mut line, standard, &adjust.path);
        lines.push(line);
    }
    for caution in &rule.cautions {
        lines.push(format!("caution {caution:?}"));
    }
}

/// The requirements of a table are its cells; this says which is whose.
fn table_lines(standard: &Standard, table: &Table, lines: &mut Vec<String>) {
    for axis in [Some(&table.rows), table.columns.as_ref()]
        .into_iter()
        .flatten()
    {
        let mut line = "by ".to_owned();
        path(&mut line, standard, &axis.path);
        for entry in &axis.entries {
            let _ = write!(line, " {}", entry.name);
        }
        lines.push(line);
    }
    for row in &table.cells {
        let cells: Vec<Option<usize>> = row.iter().map(|cell| cell.requirement).collect();
        lines.push(format!("row {cells:?}"));
    }
}

fn deviation_lines(standard: &Standard, deviation: &Deviation, lines: &mut Vec<String>) {
    let run = deviation.run.as_ref().map(|(name, _)| name);
    let until = deviation.until.map(|date| date.to_string());
    let mut line = format!(
        "deviation {} {:?} run {run:?} because {:?} approved {:?} until {until:?} malformed {}",
        deviation.rule_name,
        deviation.title,
        deviation.because,
        deviation.approved,
        deviation.malformed
    );
    if let Some(pieces) = &deviation.pieces {
        line.push_str(" pieces ");
        exact(&mut line, &pieces.most);
    }
    lines.push(line);
    for when in &deviation.when {
        let mut line = "when ".to_owned();
        condition(&mut line, standard, when);
        lines.push(line);
    }
    for moved in &deviation.moves {
        let mut line = format!("{} up to ", moved.figure);
        exact(&mut line, &moved.limit.exact);
        lines.push(line);
    }
}

fn source(line: &mut String, source: Option<&Source>) {
    // The day of a review is left out: going through a limit does not change it.
    match source.map(|source| &source.grounds) {
        Some(Grounds::Named(name)) => {
            let _ = write!(line, " per {name:?}");
        }
        Some(Grounds::Practice) => line.push_str(" per practice"),
        None => {}
    }
}

pub(crate) fn exact(line: &mut String, value: &Exact) {
    let _ = write!(line, "{value:?}");
}

pub(crate) fn limits(line: &mut String, limits: &Limits) {
    let end = |line: &mut String, end: &Option<Exact>| match end {
        Some(value) => exact(line, value),
        None => line.push_str("open"),
    };
    end(line, &limits.low);
    line.push_str(" to ");
    end(line, &limits.high);
}

pub(crate) fn type_words(standard: &Standard, ty: &Type) -> String {
    match ty {
        Type::Reference(kind) => format!("a {}", standard.kind(*kind).name),
        other => format!("{other:?}"),
    }
}

fn value(line: &mut String, standard: &Standard, value: &Value) {
    match value {
        Value::Quantity(quantity) => {
            exact(line, &quantity.nominal);
            line.push(' ');
            exact(line, &quantity.low);
            line.push(' ');
            exact(line, &quantity.high);
        }
        Value::Range(range) => limits(line, range),
        Value::Text(text) => {
            let _ = write!(line, "{text:?}");
        }
        Value::YesNo(yes) => {
            let _ = write!(line, "{yes}");
        }
        Value::Choice(index) => {
            let _ = write!(line, "choice {index}");
        }
        Value::Reference(Target::Record(id)) => line.push_str(&standard.record(*id).name),
        Value::Reference(Target::Thing(id)) => {
            let _ = write!(line, "thing {}", id.0);
        }
        Value::Wrong => line.push_str("wrong"),
    }
}

pub(crate) fn path(line: &mut String, standard: &Standard, path: &Path) {
    match path.root {
        super::Root::Own => line.push_str("own"),
        super::Root::Single(kind) | super::Root::Each(kind) | super::Root::Member(kind) => {
            line.push_str(&standard.kind(kind).name);
        }
    }
    for hop in &path.hops {
        match hop {
            super::Hop::Field(kind, field) => {
                line.push('.');
                line.push_str(&standard.field(*kind, *field).name);
            }
            super::Hop::Next(kind) | super::Hop::Previous(kind) => {
                let name = kind.map_or("any", |kind| standard.kind(kind).name.as_str());
                let way = if matches!(hop, super::Hop::Next(_)) {
                    "next"
                } else {
                    "previous"
                };
                let _ = write!(line, ".{way}-{name}");
            }
            super::Hop::Place => line.push_str(".place"),
        }
    }
}

/// Writes a list with commas.
fn list<T>(line: &mut String, items: &[T], mut write: impl FnMut(&mut String, &T)) {
    for (index, item) in items.iter().enumerate() {
        if index > 0 {
            line.push_str(", ");
        }
        write(line, item);
    }
}

pub(crate) fn expression(line: &mut String, standard: &Standard, of: &Expression) {
    match &of.node {
        ExpressionNode::Constant(constant) => exact(line, &constant.exact),
        ExpressionNode::Path(at) => path(line, standard, at),
        ExpressionNode::RangeEnd { path: at, high } => {
            line.push_str(if *high { "high(" } else { "low(" });
            path(line, standard, at);
            line.push(')');
        }
        ExpressionNode::Negative(inner) => {
            line.push_str("(- ");
            expression(line, standard, inner);
            line.push(')');
        }
        ExpressionNode::Binary {
            operator,
            left,
            right,
        } => {
            let _ = write!(line, "({operator:?} ");
            expression(line, standard, left);
            line.push(' ');
            expression(line, standard, right);
            line.push(')');
        }
        ExpressionNode::Power(base, power) => {
            line.push_str("(^ ");
            expression(line, standard, base);
            let _ = write!(line, " {power})");
        }
        ExpressionNode::Call(function, arguments) => {
            match function {
                Function::Figure(figure) => line.push_str(figure.name),
                other => {
                    let _ = write!(line, "{other:?}");
                }
            }
            line.push('(');
            list(line, arguments, |line, argument| {
                expression(line, standard, argument);
            });
            line.push(')');
        }
        ExpressionNode::Over {
            aggregate,
            kind,
            body,
        } => {
            let _ = write!(line, "{aggregate:?} {} (", standard.kind(*kind).name);
            if let Some(body) = body {
                expression(line, standard, body);
            }
            line.push(')');
        }
    }
}

fn condition(line: &mut String, standard: &Standard, of: &Condition) {
    let all = |line: &mut String, word: &str, parts: &[Condition]| {
        line.push_str(word);
        list(line, parts, |line, part| condition(line, standard, part));
        line.push(')');
    };
    let names = |line: &mut String, at: &Path, words: &[&str]| {
        line.push('(');
        path(line, standard, at);
        line.push_str(" is ");
        list(line, words, |line, word| line.push_str(word));
        line.push(')');
    };
    match &of.node {
        ConditionNode::Compare {
            compare,
            left,
            right,
        } => {
            let _ = write!(line, "({compare:?} ");
            expression(line, standard, left);
            line.push(' ');
            expression(line, standard, right);
            line.push(')');
        }
        ConditionNode::Within { subject, range } => {
            line.push('(');
            expression(line, standard, subject);
            line.push_str(" within ");
            path(line, standard, range);
            line.push(')');
        }
        ConditionNode::RangeWithin { inner, outer } => {
            line.push('(');
            path(line, standard, inner);
            line.push_str(" within ");
            path(line, standard, outer);
            line.push(')');
        }
        ConditionNode::Is { path, words, .. } => {
            let words: Vec<&str> = words.iter().map(String::as_str).collect();
            names(line, path, &words);
        }
        ConditionNode::Same { left, right } => {
            line.push('(');
            path(line, standard, left);
            line.push_str(" is ");
            path(line, standard, right);
            line.push(')');
        }
        ConditionNode::IsStep { path, kinds } => {
            let words: Vec<&str> = kinds
                .iter()
                .map(|kind| standard.kind(*kind).name.as_str())
                .collect();
            names(line, path, &words);
        }
        ConditionNode::Stated(at) => {
            line.push('(');
            path(line, standard, at);
            line.push_str(" stated)");
        }
        ConditionNode::And(parts) => all(line, "(and ", parts),
        ConditionNode::Or(parts) => all(line, "(or ", parts),
        ConditionNode::Not(inner) => {
            line.push_str("(not ");
            condition(line, standard, inner);
            line.push(')');
        }
        ConditionNode::Wrong => line.push_str("wrong"),
    }
}
