//! The digest of the meaning of a standard.
//!
//! Comments, layout, spelling of units and the order of records do not count, nor what only ranks repairs, the day of
//! a review and the examples. All else does that can change what the text of a plan comes to: how it is read, what is
//! worked out, what is asked. Names, reasons and sources count too, as reports show them.
//! Two standards with one digest give every plan the same outcomes.

use std::fmt::Write as _;

use sha2::{Digest as _, Sha256};

use super::deviation::Deviation;
use super::model::{
    Digest, Grounds, Limits, PlaceInRun, Rule, Source, Standard, Table, Target, Type, Value,
};
use super::show::{Canonical, Spelling, spell, spell_condition};
use super::terms::{Condition, Expression, Path};
use crate::units::Exact;

/// Works out the digest.
pub(super) fn digest(standard: &Standard) -> Digest {
    let mut lines: Vec<String> = Vec::new();
    for (name, unit) in standard.own_units() {
        let mut line = format!("unit {name} = {:?} ", unit.dimension());
        exact(&mut line, &unit.to_base(&Exact::ONE));
        lines.push(line);
    }
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
            let _ = write!(line, " {}", field.sort.words());
            for (size, _) in &field.steps {
                line.push_str(" in steps of ");
                exact(&mut line, size);
            }
            source(&mut line, field.per.as_ref());
            lines.push(line);
        }
        if kind.place == PlaceInRun::Step {
            // A step states its settings without their names: which is meant goes by their order.
            let names: Vec<&str> = kind
                .fields
                .iter()
                .map(|field| field.name.as_str())
                .collect();
            lines.push(format!("order {} {}", kind.name, names.join(",")));
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
        for (field, calibration) in &record.calibrations {
            let mut line = format!(
                "dial {} {} {} {}",
                kind.name,
                record.name,
                kind.fields[field.0 as usize].name,
                calibration.canonical()
            );
            for point in &calibration.points {
                source(&mut line, point.per.as_ref());
            }
            lines.push(line);
        }
        for (field, stated) in kind.fields.iter().zip(&record.values) {
            let Some(stated) = stated else { continue };
            let mut line = format!("value {} {} {} ", kind.name, record.name, field.name);
            value(&mut line, standard, &stated.value);
            // Beside a formula, the last digit says how far the two may be apart.
            if let (Some(_), Value::Quantity(quantity)) = (&field.formula, &stated.value) {
                line.push_str(" to ");
                exact(&mut line, &quantity.resolution);
            }
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
        for when in &requirement.when {
            let mut line = "for ".to_owned();
            condition(&mut line, standard, when);
            lines.push(line);
        }
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
    if let Some(every) = &rule.read_every {
        let mut line = "read every ".to_owned();
        exact(&mut line, &every.after);
        lines.push(format!("{line} {:?}", every.unit.dimension()));
    }
    if let Some(words) = &rule.when_out {
        lines.push(format!("when out {words:?}"));
    }
    for caution in &rule.cautions {
        lines.push(format!("caution {caution:?}"));
    }
}

/// The rows and columns of a table, those of empty cells too: a run without one is told so.
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
        let counted = standard.field(pieces.counted_by.0, pieces.counted_by.1);
        let _ = write!(line, " of {}", counted.name);
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
        for site in &moved.sites {
            let _ = write!(line, " at {site:?}");
        }
        lines.push(line);
    }
}

fn source(line: &mut String, source: Option<&Source>) {
    // The day of a review is left out: going through a limit does not change it.
    match source.map(|source| &source.grounds) {
        Some(Grounds::Named(name)) => {
            let _ = write!(line, " per {name:?}");
        }
        Some(Grounds::Law(name)) => {
            let _ = write!(line, " law {name:?}");
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
        Value::Day(day) => {
            let _ = write!(line, "{day}");
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
    line.push_str(&Canonical(standard).path(path));
}

pub(crate) fn expression(line: &mut String, standard: &Standard, of: &Expression) {
    line.push_str(&spell(&Canonical(standard), of).0);
}

fn condition(line: &mut String, standard: &Standard, of: &Condition) {
    line.push_str(&spell_condition(&Canonical(standard), of));
}
