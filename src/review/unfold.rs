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
            Some(_) => cells(rule),
            None => vec![rule.clone()],
        })
        .collect();
    unfolded
}

fn cells(rule: &Rule) -> Vec<Rule> {
    let Some(table) = rule.table.as_deref() else {
        return Vec::new();
    };
    let cell = |requirement: &crate::types::Requirement| {
        let place = requirement.cell?;
        let mut when = rule.when.clone();
        when.extend(requirement.when.iter().cloned());
        Some(Rule {
            name: format!("{}: {}", rule.name, table.names(place).join(", ")),
            span: requirement.span,
            when,
            requirements: vec![crate::types::Requirement {
                when: Vec::new(),
                ..requirement.clone()
            }],
            table: None,
            ..rule.clone()
        })
    };
    rule.requirements.iter().filter_map(cell).collect()
}
