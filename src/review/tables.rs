//! Tables: which cells are empty, and that their limits were not held against those of rules.

use super::finding;
use crate::diagnostic::{Code, Diagnostic, Evidence, ReviewFinding};
use crate::types::{Rule, Standard, Table};

/// What there is to say of each table.
pub(super) fn tables(standard: &Standard) -> Vec<ReviewFinding> {
    let tables = standard.rules.iter().filter_map(|rule| {
        let table = rule.table.as_deref()?;
        Some([empty(rule, table), Some(not_compared(rule))])
    });
    tables.flatten().flatten().collect()
}

fn empty(rule: &Rule, table: &Table) -> Option<ReviewFinding> {
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

fn not_compared(rule: &Rule) -> ReviewFinding {
    let said = Diagnostic::new(
        Code::NotDecided,
        rule.span,
        format!(
            "the cells of `{}` were not held against the limits of other rules",
            rule.name
        ),
        "this table",
    )
    .help("compare it with the rules on the same setting by eye; a check of plans looks at both");
    finding(said, Evidence::NotDecided)
}
