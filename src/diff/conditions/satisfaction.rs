//! Where a clause is kept, as a condition on what both standards read.

use crate::diff::clause_effect::{ClauseEffects, Here};
use crate::diff::conditions::lower_condition::{Figures, Lowering};
use crate::diff::conditions::variables::{Formula, Vars};
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
            return Formula::TRUE;
        };
        let world = self.side(new);
        let situation = &here.situations[usize::from(new)];
        let mut reader = Lowering {
            unkept: here.unkept.as_ref(),
            inlined: here.inlined.as_ref(),
            ..world.lowering(
                &self.worlds.differences,
                (situation, here.overrides),
                (figures, new),
                vars,
            )
        };
        kept(&mut reader, part)
    }
}

/// Where requirements of a rule are kept, as one standard reads them.
pub(in crate::diff) fn kept(reader: &mut Lowering<'_>, part: &Part) -> Formula {
    let standard = reader.standard;
    let rule = &standard.rules[part.rule];
    reader.each = rule.each;
    let not_applying = Formula::any(
        rule.when
            .iter()
            .map(|when| reader.formula(when, false))
            .collect::<Vec<_>>(),
    );
    let applies = Formula::all(
        rule.when
            .iter()
            .map(|when| reader.formula(when, true))
            .collect::<Vec<_>>(),
    );
    let permitted = Formula::any(
        rule.permissions
            .iter()
            .map(|may| reader.formula(may, true))
            .collect::<Vec<_>>(),
    );
    let wanted = match &rule.table {
        Some(table) => {
            let (no_cell, wanted) = cells(reader, rule, table, &permitted);
            // Where there is no cell, it does not matter whether the rule applies.
            return Formula::any([not_applying, no_cell, Formula::all([applies, wanted])]);
        }
        None => Formula::all(
            part.requirements
                .iter()
                .filter_map(|number| rule.requirements.get(*number))
                .map(|requirement| one(reader, &requirement.condition, &permitted))
                .collect::<Vec<_>>(),
        ),
    };
    Formula::any([not_applying, Formula::all([applies, wanted])])
}

/// Where one requirement is kept: by itself, or where it is false by a permission.
fn one(reader: &mut Lowering<'_>, requirement: &Condition, permitted: &Formula) -> Formula {
    let holds = reader.formula(requirement, true);
    if permitted.is_false() {
        return holds;
    }
    let fails = reader.formula(requirement, false);
    Formula::any([holds, Formula::all([fails, permitted.clone()])])
}

/// Where a table has no cell for a run, and where it is kept in the cell of the run's own row and column.
fn cells(
    reader: &mut Lowering<'_>,
    rule: &Rule,
    table: &Table,
    permitted: &Formula,
) -> (Formula, Formula) {
    let axis =
        |reader: &mut Lowering<'_>, axis: Option<&Axis>| -> (Vec<(usize, Formula)>, Formula) {
            let Some(axis) = axis else {
                return (vec![(0, Formula::TRUE)], Formula::FALSE);
            };
            let mut best: Option<(usize, Option<RecordId>)> = None;
            let mut open = Vec::new();
            let mut none = Vec::new();
            // A run is held to no entry as long as one of them is in doubt.
            let mut decided = Vec::new();
            for (index, entry) in axis.entries.iter().enumerate() {
                let is = reader.formula(&entry.condition, true);
                let is_not = reader.formula(&entry.condition, false);
                decided.push(Formula::any([is.clone(), is_not.clone()]));
                none.push(is_not);
                if is.is_true() {
                    let nearer = match (best.and_then(|(_, known)| known), entry.record) {
                        (Some(known), Some(new)) => reader.standard.descends(new, known),
                        _ => true,
                    };
                    if nearer {
                        best = Some((index, entry.record));
                    }
                } else if !is.is_false() {
                    open.push((index, is));
                }
            }
            let decided = Formula::all(decided);
            if let Some((index, _)) = best {
                return (vec![(index, decided)], Formula::FALSE);
            }
            let open = open
                .into_iter()
                .map(|(index, is)| (index, Formula::all([is, decided.clone()])));
            (open.collect(), Formula::all(none))
        };
    let (rows, no_row) = axis(reader, Some(&table.rows));
    let (columns, no_column) = axis(reader, table.columns.as_ref());
    let a_row = Formula::any(rows.iter().map(|(_, is)| is.clone()));
    let mut no_cell = vec![no_row, Formula::all([a_row, no_column])];
    let mut ways = Vec::new();
    for (row, row_is) in &rows {
        for (column, column_is) in &columns {
            let here = Formula::all([row_is.clone(), column_is.clone()]);
            let cell = table.cells.get(*row).and_then(|cells| cells.get(*column));
            let requirement = cell
                .and_then(|cell| cell.requirement)
                .and_then(|number| rule.requirements.get(number));
            match requirement {
                Some(requirement) => {
                    let wanted = one(reader, &requirement.condition, permitted);
                    ways.push(Formula::all([here, wanted]));
                }
                None => no_cell.push(here),
            }
        }
    }
    (Formula::any(no_cell), Formula::any(ways))
}
