//! The cells of tables as rules of their own, so that they are held against all others.

use crate::types::{Requirement, Rule, Standard};

/// The standard with every table written as one rule a cell: the same requirements on the same runs.
///
/// A cell goes by the name of its table, row and column.
pub(super) fn expand(standard: &Standard) -> Standard {
    let mut expanded = standard.clone();
    expanded.rules = standard
        .rules
        .iter()
        .flat_map(|rule| match &rule.table {
            Some(_) => cells(rule),
            None => vec![rule.clone()],
        })
        .collect();
    expanded
}

fn cells(rule: &Rule) -> Vec<Rule> {
    let Some(table) = rule.table.as_deref() else {
        return Vec::new();
    };
    // A cell has one requirement: it is not made from copies of all of them.
    let bare = Rule {
        requirements: Vec::new(),
        table: None,
        ..rule.clone()
    };
    let cell = |requirement: &Requirement| {
        let place = requirement.cell?;
        let mut when = rule.when.clone();
        when.extend(requirement.when.iter().cloned());
        Some(Rule {
            name: format!("{}: {}", rule.name, table.names(place).join(", ")),
            span: requirement.span,
            when,
            requirements: vec![Requirement {
                when: Vec::new(),
                ..requirement.clone()
            }],
            ..bare.clone()
        })
    };
    rule.requirements.iter().filter_map(cell).collect()
}
