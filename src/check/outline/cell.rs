//! The cell of a table as a sentence: which setting, its limit, and for which row and column.

use crate::diagnostic::Wording;
use crate::source::Store;
use crate::types::{Compare, Condition, Rule, Table};
use crate::units::{Exact, System, Unit, show_exact};

use super::wording::{from_to, of_condition, on_one_line};

/// A requirement of a rule in words; that of a table says which cell it is.
pub(super) fn of_requirement(store: &Store, rule: &Rule, index: usize) -> Option<Wording> {
    let requirement = rule.requirements.get(index)?;
    let condition = &requirement.condition;
    let place = rule.table.as_deref().zip(requirement.cell);
    let cell = place.and_then(|(table, cell)| of_cell(store, table, cell, condition));
    Some(cell.unwrap_or_else(|| of_condition(store, condition)))
}

fn of_cell(
    store: &Store,
    table: &Table,
    cell: (usize, usize),
    condition: &Condition,
) -> Option<Wording> {
    let names = table.names(cell).join(", ");
    let (mut figure, mut bounds) = (None, Vec::new());
    for part in condition.conjuncts() {
        let (compare, left, _, constant) = part.fixed_limit()?;
        figure = Some(on_one_line(store.slice(left.span)));
        bounds.push((compare, &constant.exact, &constant.unit));
    }
    let figure = figure?;
    let said = |system: Option<System>| {
        let limit = limit(&bounds, system)?;
        Some(format!("{figure} {limit} for {names}"))
    };
    Some(Wording {
        written: said(None)?,
        si: said(Some(System::Si))?,
        inch_pound: said(Some(System::InchPound))?,
    })
}

fn limit(bounds: &[(Compare, &Exact, &Unit)], system: Option<System>) -> Option<String> {
    let in_unit = |unit: &Unit| system.and_then(|system| unit.in_system(system));
    let shown = |exact: &Exact, unit: &Unit| match in_unit(unit) {
        Some(other) => show_exact(exact, &other),
        None => show_exact(exact, unit),
    };
    Some(match bounds {
        [(Compare::AtLeast, low, unit), (Compare::AtMost, high, _)] => {
            let unit = in_unit(unit).unwrap_or_else(|| (*unit).clone());
            format!("within {}", from_to(low, high, &unit))
        }
        [(Compare::AtLeast, low, unit)] => format!("at least {}", shown(low, unit)),
        [(Compare::AtMost, high, unit)] => format!("at most {}", shown(high, unit)),
        [(Compare::Is, value, unit)] => format!("is {}", shown(value, unit)),
        _ => return None,
    })
}
