//! Tables: which cells are empty. Their limits are held against those of rules as rules are.

use super::finding;
use super::symbolic_run::Setting;
use crate::diagnostic::{Code, Diagnostic, Evidence, ReviewFinding};
use crate::types::{Axis, ConditionNode, ExpressionNode, RecordId, Rule, Standard, Table};

/// The empty cells of each table.
pub(super) fn empty(standard: &Standard) -> Vec<ReviewFinding> {
    let of_rule = |rule: &Rule| of_table(rule, rule.table.as_deref()?);
    standard.rules.iter().filter_map(of_rule).collect()
}

fn of_table(rule: &Rule, table: &Table) -> Option<ReviewFinding> {
    let mut members = Vec::new();
    let mut first = None;
    for (row, cells) in table.rows.entries.iter().zip(&table.cells) {
        for (number, cell) in cells.iter().enumerate() {
            if cell.requirement.is_some() {
                continue;
            }
            first.get_or_insert(cell.span);
            let axis = table.columns.as_ref();
            let column = axis.and_then(|axis| axis.entries.get(number));
            members.push(match column {
                Some(column) => format!("{}, {}", row.name, column.name),
                None => row.name.clone(),
            });
        }
    }
    let cells = match members.len() {
        1 => "a cell".to_owned(),
        many => format!("{many} cells"),
    };
    let said = Diagnostic::new(
        Code::NoLimit,
        first?,
        format!("{cells} of `{}` without a limit", rule.name),
        "nothing stated here",
    )
    .help("decide whether the room wants a limit there; an empty cell may be meant");
    let mut finding = finding(said, Evidence::Read);
    finding.noun = "cell";
    finding.members = members;
    Some(finding)
}

/// Whether some table that limits a setting has an empty cell for these records: that is told of the cell.
pub(super) fn leaves_empty(standard: &Standard, setting: Setting, records: &[RecordId]) -> bool {
    standard.rules.iter().any(|rule| {
        let table = rule.table.as_deref();
        table.is_some_and(|table| {
            limited(rule) == Some(setting) && is_empty(standard, table, records)
        })
    })
}

/// The setting that the cells of a table limit.
fn limited(rule: &Rule) -> Option<Setting> {
    let mut condition = &rule.requirements.first()?.condition;
    if let ConditionNode::And(list) = &condition.node {
        condition = list.first()?;
    }
    let ConditionNode::Compare { left, .. } = &condition.node else {
        return None;
    };
    match &left.node {
        ExpressionNode::Path(path) => path.setting(),
        _ => None,
    }
}

fn is_empty(standard: &Standard, table: &Table, records: &[RecordId]) -> bool {
    let place = |axis: &Axis| {
        let mut found: Option<(usize, RecordId)> = None;
        for (index, entry) in axis.entries.iter().enumerate() {
            let Some(own) = entry.record else { continue };
            let fits = records.iter().any(|record| standard.descends(*record, own));
            if fits && found.is_none_or(|(_, known)| standard.descends(own, known)) {
                found = Some((index, own));
            }
        }
        found.map(|(index, _)| index)
    };
    let row = place(&table.rows);
    let column = match &table.columns {
        Some(columns) => place(columns),
        None => Some(0),
    };
    let (Some(row), Some(column)) = (row, column) else {
        return false;
    };
    let cell = table.cells.get(row).and_then(|row| row.get(column));
    cell.is_some_and(|cell| cell.requirement.is_none())
}
