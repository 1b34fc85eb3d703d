//! Where a clause is kept, as a condition on what both standards read.

use crate::diff::clause_effect::{ClauseEffects, Here};
use crate::diff::conditions::formula::{Formula, Vars, all, any};
use crate::diff::conditions::lower_condition::{Figures, Lowering};
use crate::diff::pairing::clauses::Part;
use crate::types::{Axis, Condition, RecordId, Rule, Table};

impl ClauseEffects<'_, '_> {
    /// Where a clause is kept.
    pub(in crate::diff) fn kept(
        &self,
        new: bool,
        part: Option<&Part>,
        here: &Here<'_>,
        figures: Figures,
        vars: &mut Vars,
    ) -> Formula {
        let Some(part) = part else {
            return Formula::True;
        };
        let world = self.side(new);
        let rule = &world.view.rules[part.rule];
        let mut reader = Lowering {
            standard: world.view,
            closures: &world.closures,
            differences: &self.worlds.differences,
            situation: &here.situations[usize::from(new)],
            told: here.told,
            barren: here.barren.as_ref(),
            new,
            figures,
            side: world.side,
            vars,
        };
        let not_applying = any(rule
            .when
            .iter()
            .map(|when| reader.node(when, false))
            .collect::<Vec<_>>());
        let applies = all(rule
            .when
            .iter()
            .map(|when| reader.node(when, true))
            .collect::<Vec<_>>());
        let permitted = any(rule
            .permissions
            .iter()
            .map(|may| reader.node(may, true))
            .collect::<Vec<_>>());
        let wanted = match &rule.table {
            Some(table) => cells(&mut reader, rule, table, &permitted),
            None => all(part
                .requirements
                .iter()
                .filter_map(|number| rule.requirements.get(*number))
                .map(|requirement| one(&mut reader, &requirement.condition, &permitted))
                .collect::<Vec<_>>()),
        };
        any([not_applying, all([applies, wanted])])
    }
}

/// Where one requirement is kept: by itself, or where it is false by a permission.
fn one(reader: &mut Lowering<'_>, requirement: &Condition, permitted: &Formula) -> Formula {
    let holds = reader.node(requirement, true);
    if *permitted == Formula::False {
        return holds;
    }
    let fails = reader.node(requirement, false);
    any([holds, all([fails, permitted.clone()])])
}

/// Where a table is kept: in the cell of the run's own row and column.
fn cells(reader: &mut Lowering<'_>, rule: &Rule, table: &Table, permitted: &Formula) -> Formula {
    let axis =
        |reader: &mut Lowering<'_>, axis: Option<&Axis>| -> (Vec<(usize, Formula)>, Formula) {
            let Some(axis) = axis else {
                return (vec![(0, Formula::True)], Formula::False);
            };
            let mut best: Option<(usize, Option<RecordId>)> = None;
            let mut open = Vec::new();
            let mut none = Vec::new();
            for (index, entry) in axis.entries.iter().enumerate() {
                let node = reader.node(&entry.condition, true);
                match node {
                    Formula::True => {
                        let nearer = match (best.and_then(|(_, known)| known), entry.record) {
                            (Some(known), Some(new)) => reader.standard.descends(new, known),
                            _ => true,
                        };
                        if nearer {
                            best = Some((index, entry.record));
                        }
                    }
                    Formula::False => {}
                    node => {
                        none.push(node.not());
                        open.push((index, node));
                    }
                }
            }
            if let Some((index, _)) = best {
                return (vec![(index, Formula::True)], Formula::False);
            }
            let none = if open.is_empty() {
                Formula::True
            } else {
                all(none)
            };
            (open, none)
        };
    let (rows, no_row) = axis(reader, Some(&table.rows));
    let (columns, no_column) = axis(reader, table.columns.as_ref());
    let mut ways = vec![no_row, no_column];
    for (row, row_is) in &rows {
        for (column, column_is) in &columns {
            let cell = table.cells.get(*row).and_then(|cells| cells.get(*column));
            let requirement = cell
                .and_then(|cell| cell.requirement)
                .and_then(|number| rule.requirements.get(number));
            let wanted = match requirement {
                Some(requirement) => one(reader, &requirement.condition, permitted),
                None => Formula::True,
            };
            ways.push(all([row_is.clone(), column_is.clone(), wanted]));
        }
    }
    any(ways)
}
