//! Which cell of a table a run is held to.

use crate::diagnostic::{Code, Diagnostic};
use crate::eval::{Conditions, Found, Frame, Scene, Truth, Verdict};
use crate::source::{Span, visible};
use crate::types::{Axis, Entry, Rule, Standard, Table, Target, Value};

use super::outcome::{Applied, RuleResult, frame as frame_of};
use super::place::path_place;
use super::words;

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
    scene: &Scene<'_>,
    conditions: &Conditions<'_>,
    frame: Frame,
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
        match fitting(scene.standard, conditions, frame, axis) {
            Ok(Some(found)) => *place = found,
            Ok(None) => {
                let what = called(scene, frame, axis);
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
            let mut what = called(scene, frame, &table.rows);
            if let Some(columns) = &table.columns {
                what = format!("{what} and {}", called(scene, frame, columns));
            }
            Lookup::None(NoCell {
                words: format!("no limit stated for {what}"),
                span: other.map_or(rule.span, |(_, span)| span),
                missing: false,
            })
        }
    }
}

/// The row or column of a run: of those that fit the one furthest down, a child before its parent.
fn fitting(
    standard: &Standard,
    conditions: &Conditions<'_>,
    frame: Frame,
    axis: &Axis,
) -> Result<Option<usize>, Verdict> {
    let mut best: Option<(usize, &Entry)> = None;
    for (index, entry) in axis.entries.iter().enumerate() {
        match conditions.truth(frame, &entry.condition) {
            Truth::True => {}
            Truth::False => continue,
            Truth::Missing(gap) => return Err(Verdict::NotStated(gap)),
            Truth::CannotWorkOut(words) => return Err(Verdict::CannotWorkOut(words)),
            Truth::Unknown => return Err(Verdict::AtRisk(true)),
        }
        let nearer = match (best.and_then(|(_, known)| known.record), entry.record) {
            (Some(known), Some(new)) => standard.descends(new, known),
            _ => true,
        };
        if nearer {
            best = Some((index, entry));
        }
    }
    Ok(best.map(|(index, _)| index))
}

/// What a run has there, in words: `ink soft-white`.
fn called(scene: &Scene<'_>, frame: Frame, axis: &Axis) -> String {
    let path = &axis.path;
    let own = |target: Target| match target {
        Target::Thing(id) => match scene.run.instance(id).parent {
            Some(record) => words::target(scene, Target::Record(record)),
            None => words::thing(scene, id),
        },
        record @ Target::Record(_) => words::target(scene, record),
    };
    match scene.locate(frame, path) {
        Ok(Found::Thing(found)) => own(found),
        Ok(Found::Setting(target, kind, field)) => {
            if let Ok(found) = scene.refer(target, kind, field, path, 0) {
                return own(found);
            }
            let ty = &scene.standard.field(kind, field).ty;
            let stated = scene.stated(target, field).map(|stated| &stated.value);
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
pub(super) fn limit_place(scene: &Scene<'_>, result: &RuleResult) -> Span {
    let rule = &scene.standard.rules[result.rule];
    let requirement = rule.requirements[result.requirement].span;
    match (&result.applied, rule.table.as_deref()) {
        (Applied::ToNoCell(no_cell), _) => no_cell.span,
        (Applied::To(Verdict::NotStated(_) | Verdict::CannotWorkOut(_)), Some(table)) => {
            let (conditions, frame) = (Conditions::new(*scene), frame_of(result.each));
            match look_up(scene, &conditions, frame, rule, table) {
                Lookup::Requirement(_) => requirement,
                Lookup::None(_) | Lookup::Unknown(_) => rule.span,
            }
        }
        _ => requirement,
    }
}

/// Says that a table has no row or column for what a run has.
pub(super) fn gap(
    scene: &Scene<'_>,
    frame: Frame,
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
            path_place(scene, frame, &axis.path),
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
