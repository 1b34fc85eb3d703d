//! The cells of a table one by one: what each is called, and the runs it is for.

use super::model::{Axis, Standard, Table};
use super::terms::{Condition, ConditionNode};

impl Table {
    /// What its rows go by, and its columns where it has any.
    pub fn axes(&self) -> impl Iterator<Item = &Axis> {
        std::iter::once(&self.rows).chain(&self.columns)
    }

    /// The row and column of the cell that a requirement of the rule stands in.
    #[must_use]
    pub fn place(&self, requirement: usize) -> Option<(usize, usize)> {
        self.cells.iter().enumerate().find_map(|(row, cells)| {
            let mut cells = cells.iter();
            let column = cells.position(|cell| cell.requirement == Some(requirement))?;
            Some((row, column))
        })
    }

    /// The names of the row and the column of a cell.
    #[must_use]
    pub fn names(&self, (row, column): (usize, usize)) -> Vec<&str> {
        let rows = self.rows.entries.get(row);
        let columns = self.columns.as_ref();
        let columns = columns.and_then(|axis| axis.entries.get(column));
        let both = rows.into_iter().chain(columns);
        both.map(|entry| entry.name.as_str()).collect()
    }

    /// What is true of the runs that a cell is for: their row and column, and none that is nearer.
    ///
    /// A table is the same as its cells written as rules, each with these as its `when`.
    #[must_use]
    pub fn when(&self, standard: &Standard, (row, column): (usize, usize)) -> Vec<Condition> {
        let mut found = self.rows.when(standard, row);
        if let Some(columns) = &self.columns {
            found.extend(columns.when(standard, column));
        }
        found
    }
}

impl Axis {
    fn when(&self, standard: &Standard, place: usize) -> Vec<Condition> {
        let Some(own) = self.entries.get(place) else {
            return Vec::new();
        };
        let mut found = vec![own.condition.clone()];
        for (other, entry) in self.entries.iter().enumerate() {
            let nearer = match (own.record, entry.record) {
                (Some(mine), Some(child)) => other != place && standard.descends(child, mine),
                _ => false,
            };
            if nearer {
                found.push(Condition {
                    span: entry.condition.span,
                    node: ConditionNode::Not(Box::new(entry.condition.clone())),
                });
            }
        }
        found
    }
}
