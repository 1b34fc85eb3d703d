//! The cells of a table one by one: what each is called, the runs it is for, and how it is found.

use super::model::{Axis, Called, Entry, RecordId, Standard, Table, Target, Value};
use super::terms::{Condition, ConditionNode};

impl Table {
    /// What its rows go by, and its columns where it has any.
    pub fn axes(&self) -> impl Iterator<Item = &Axis> {
        std::iter::once(&self.rows).chain(&self.columns)
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
    pub(super) fn when(
        &self,
        standard: &Standard,
        (row, column): (usize, usize),
    ) -> Vec<Condition> {
        let mut found = self.rows.when(standard, row);
        if let Some(columns) = &self.columns {
            found.extend(columns.when(standard, column));
        }
        found
    }
}

impl Axis {
    /// Adds a row or column, and returns its place.
    pub(super) fn add(&mut self, entry: Entry) -> usize {
        let place = self.entries.len();
        if let ConditionNode::Is { values, .. } = &entry.condition.node {
            for called in values.iter().filter_map(Called::after) {
                self.places.entry(called).or_insert(place);
            }
        }
        self.entries.push(entry);
        place
    }

    /// The place of a record: its own row or column, or that of the nearest record it takes its values from.
    #[must_use]
    pub fn of_record(&self, standard: &Standard, record: RecordId) -> Option<usize> {
        let mut line = standard.ancestry(record);
        line.find_map(|one| self.places.get(&Called::Record(one)).copied())
    }

    /// The place of a choice or an answer.
    #[must_use]
    pub fn of_value(&self, value: &Value) -> Option<usize> {
        self.places.get(&Called::after(value)?).copied()
    }

    /// A run has this row or column: it is this record or choice, and no record further down that has its own.
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

impl Called {
    fn after(value: &Value) -> Option<Self> {
        match value {
            Value::Reference(Target::Record(record)) => Some(Self::Record(*record)),
            Value::Choice(index) => Some(Self::Choice(*index)),
            Value::YesNo(yes) => Some(Self::YesNo(*yes)),
            _ => None,
        }
    }
}
