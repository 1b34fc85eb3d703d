//! The cells of tables as rules of their own, so that they are held against all others.

use crate::types::{Rule, Standard};

/// The standard with every table written as one rule a cell: the same requirements on the same runs.
///
/// A cell goes by the name of its table, row and column.
pub(super) fn unfold(standard: &Standard) -> Standard {
    let mut unfolded = standard.clone();
    unfolded.rules = standard
        .rules
        .iter()
        .flat_map(|rule| match &rule.table {
            Some(_) => cells(standard, rule),
            None => vec![rule.clone()],
        })
        .collect();
    unfolded
}

fn cells(standard: &Standard, rule: &Rule) -> Vec<Rule> {
    let Some(table) = rule.table.as_deref() else {
        return Vec::new();
    };
    let cell = |(index, requirement): (usize, &crate::types::Requirement)| {
        let place = table.place(index)?;
        let mut when = rule.when.clone();
        when.extend(table.when(standard, place));
        Some(Rule {
            name: format!("{}: {}", rule.name, table.names(place).join(", ")),
            span: requirement.span,
            when,
            requirements: vec![requirement.clone()],
            table: None,
            ..rule.clone()
        })
    };
    let requirements = rule.requirements.iter().enumerate();
    requirements.filter_map(cell).collect()
}
