//! Which of the requirements of a table a run can be held to, so that not all of its cells are asked.
//!
//! The requirement says itself whether the run is its own; this finds the only one that can say yes, and the words for
//! a run that none is for.

use crate::diagnostic::{Code, Diagnostic};
use crate::eval::{Binding, Conditions, EvalContext, EvalError, Found, Held, Verdict};
use crate::source::{Span, visible};
use crate::types::{Axis, Rule, Table, Target, Value};

use super::blame::path_place;
use super::outcome::{Applied, RuleResult, binding as binding_of};
use super::wording;

/// Why a run is held to no cell.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NoCell {
    /// In words: `no limit stated for …`, `no row for …`.
    pub words: String,
    /// The empty cell, or the axis that has no such row or column.
    pub span: Span,
    /// Whether a row or column is missing, rather than a cell empty.
    pub missing: bool,
}

/// What was found.
pub(super) enum Lookup {
    /// The requirement of this number.
    Requirement(usize),
    /// No cell.
    None(NoCell),
    /// What the run has cannot be told.
    Unknown(Verdict),
}

/// Looks up the cell for a run.
pub(super) fn look_up(
    context: &EvalContext<'_>,
    conditions: &Conditions<'_>,
    binding: Binding,
    rule: &Rule,
    table: &Table,
) -> Lookup {
    let mut places = [0, 0];
    let axes = [
        ("row", Some(&table.rows)),
        ("column", table.columns.as_ref()),
    ];
    for ((noun, axis), place) in axes.into_iter().zip(&mut places) {
        let Some(axis) = axis else { continue };
        match own_place(context, conditions, binding, axis) {
            Ok(Some(found)) => *place = found,
            Ok(None) => {
                let what = called(context, binding, axis);
                return Lookup::None(NoCell {
                    words: format!("no {noun} for {what}"),
                    span: rule.span,
                    missing: true,
                });
            }
            Err(verdict) => return Lookup::Unknown(verdict),
        }
    }
    let cell = table
        .cells
        .get(places[0])
        .and_then(|row| row.get(places[1]));
    match cell.map(|cell| (cell.requirement, cell.span)) {
        Some((Some(requirement), _)) => Lookup::Requirement(requirement),
        other => {
            let mut what = called(context, binding, &table.rows);
            if let Some(columns) = &table.columns {
                what = format!("{what} and {}", called(context, binding, columns));
            }
            Lookup::None(NoCell {
                words: format!("no limit stated for {what}"),
                span: other.map_or(rule.span, |(_, span)| span),
                missing: false,
            })
        }
    }
}

/// The row or column of a run: that of the nearest record, a child's before its parent's.
fn own_place(
    context: &EvalContext<'_>,
    conditions: &Conditions<'_>,
    binding: Binding,
    axis: &Axis,
) -> Result<Option<usize>, Verdict> {
    let record = match conditions.held(binding, &axis.path) {
        Ok(Held::Thing(Target::Record(record))) => Some(record),
        Ok(Held::Thing(Target::Thing(id))) => context.run.instance(id).parent,
        Ok(Held::Value(value)) => return Ok(axis.of_value(value)),
        Ok(Held::Place) => None,
        Err(EvalError::Missing(gap)) => return Err(Verdict::NotStated(gap)),
        Err(EvalError::CannotWorkOut(words)) => return Err(Verdict::CannotWorkOut(words)),
    };
    Ok(record.and_then(|record| axis.of_record(context.standard, record)))
}

/// What a run has there, in words: `ink soft-white`.
fn called(context: &EvalContext<'_>, binding: Binding, axis: &Axis) -> String {
    let path = &axis.path;
    let own = |target: Target| match target {
        Target::Thing(id) => match context.run.instance(id).parent {
            Some(record) => wording::target(context, Target::Record(record)),
            None => wording::thing(context, id),
        },
        record @ Target::Record(_) => wording::target(context, record),
    };
    match context.locate(binding, path) {
        Ok(Found::Thing(found)) => own(found),
        Ok(Found::Setting(target, kind, field)) => {
            if let Ok(found) = context.refer(target, kind, field, path, 0) {
                return own(found);
            }
            let ty = &context.standard.field(kind, field).ty;
            let stated = context.stated(target, field).map(|stated| &stated.value);
            match (stated, ty) {
                (Some(Value::Choice(index)), crate::types::Type::Choice(choices)) => {
                    let choice = choices.get(*index as usize).map_or("", String::as_str);
                    format!("`{}` {choice}", path.text)
                }
                (Some(Value::YesNo(yes)), _) => {
                    format!("`{}` {}", path.text, if *yes { "yes" } else { "no" })
                }
                _ => format!("`{}`", path.text),
            }
        }
        _ => format!("`{}`", path.text),
    }
}

/// Where the standard states the limit of a result: its requirement, or the table where the cell is not known.
pub(super) fn limit_place(context: &EvalContext<'_>, result: &RuleResult) -> Span {
    let rule = &context.standard.rules[result.rule];
    let requirement = rule.requirements[result.requirement].span;
    match (&result.applied, rule.table.as_deref()) {
        (Applied::ToNoCell(no_cell), _) => no_cell.span,
        (Applied::To(Verdict::NotStated(_) | Verdict::CannotWorkOut(_)), Some(table)) => {
            let (conditions, binding) = (Conditions::new(*context), binding_of(result.each));
            match look_up(context, &conditions, binding, rule, table) {
                Lookup::Requirement(_) => requirement,
                Lookup::None(_) | Lookup::Unknown(_) => rule.span,
            }
        }
        _ => requirement,
    }
}

/// Says that a table has no row or column for what a run has.
pub(super) fn gap(
    context: &EvalContext<'_>,
    binding: Binding,
    rule: &Rule,
    no_cell: &NoCell,
) -> Option<Diagnostic> {
    let table = rule.table.as_deref().filter(|_| no_cell.missing)?;
    let axis = match (&table.columns, no_cell.words.starts_with("no column")) {
        (Some(columns), true) => columns,
        _ => &table.rows,
    };
    Some(
        Diagnostic::new(
            Code::TableGap,
            path_place(context, binding, &axis.path),
            format!(
                "`{}` has {}, so it states no limit",
                visible(&rule.name),
                no_cell.words
            ),
            "not in the table",
        )
        .related(no_cell.span, "the table")
        .help("add it, with an empty cell where no limit is meant"),
    )
}
