//! The cells of tables: each end of each cell a step up and down.

use crate::diagnostic::Nudge;
use crate::interval::Bounds;
use crate::types::{
    Compare, Condition, ConditionNode, Constant, Expression, ExpressionNode, Path, RecordId, Rule,
    Standard, Table, Target, Value,
};
use crate::units::show_exact;

use super::limits::{ends, idle, moved, step};
use super::mutant::{Change, Maker, Moved, Mutant, Slot};

/// One comparison of a cell.
struct End<'c> {
    compare: Compare,
    figure: &'c Expression,
    limit: &'c Expression,
    constant: &'c Constant,
    /// The end as written: `280` of `280 to 320 °F`.
    written: &'c str,
}

impl Maker<'_> {
    /// Changes of the cells of a table. A cell says a range, so no comparison in it can be turned round.
    pub(super) fn cells(&mut self, index: usize, owner: &str, rule: &Rule, table: &Table) {
        for (at, one) in rule.requirements.iter().enumerate() {
            let condition = &one.condition;
            let written = self.store.slice(condition.span);
            let (parts, texts) = match &condition.node {
                ConditionNode::And(parts) => (parts.as_slice(), ends(written)),
                _ => (std::slice::from_ref(condition), (written, written)),
            };
            let cell = one.cell.map(|place| table.names(place).join(", "));
            let texts = [texts.0, texts.1];
            for (number, written) in (0..parts.len()).zip(texts) {
                let Some(end) = end(&parts[number], written) else {
                    continue;
                };
                for nudge in [Nudge::Up, Nudge::Down] {
                    let Some(moved) = self.moved_end(&end, nudge) else {
                        self.found.beyond += 1;
                        continue;
                    };
                    let words = format!(
                        "`{}` could be `{}` for {}",
                        show_exact(&moved.old, &moved.unit),
                        show_exact(&moved.new, &moved.unit),
                        cell.as_deref().unwrap_or("this cell")
                    );
                    let mut parts = parts.to_vec();
                    parts[number].node = nudged(&end, &moved);
                    let changed = match parts.len() {
                        1 => parts.remove(0),
                        _ => Condition {
                            node: ConditionNode::And(parts),
                            span: condition.span,
                        },
                    };
                    self.found.all.push(Mutant {
                        owner: owner.to_owned(),
                        span: condition.span,
                        nudge,
                        words,
                        change: Change::Condition(index, Slot::Require(at), Box::new(changed)),
                        limit: Some(moved),
                        rules: vec![index],
                        condition: Some(condition.clone()),
                    });
                }
            }
        }
    }

    /// The end a step off, if a possible value could tell.
    fn moved_end(&self, end: &End<'_>, nudge: Nudge) -> Option<Moved> {
        let field = self.setting(end.figure);
        let step = step(field, &end.constant.unit, end.written);
        let moved = moved(&end.constant.exact, &step, &end.constant.unit, nudge);
        let possible = field.and_then(|field| field.possible.as_ref());
        let idle = idle(end.compare, &moved, possible, moved.unit.is_point());
        (!idle).then_some(moved)
    }
}

fn end<'c>(part: &'c Condition, written: &'c str) -> Option<End<'c>> {
    let (compare, figure, limit, constant) = part.fixed_limit()?;
    Some(End {
        compare,
        figure,
        limit,
        constant,
        written,
    })
}

fn nudged(end: &End<'_>, moved: &Moved) -> ConditionNode {
    let (low, high) = (moved.new.outward().0, moved.new.outward().1);
    let constant = ExpressionNode::Constant(Constant {
        exact: moved.new.clone(),
        bounds: Bounds::new(low, high),
        unit: end.constant.unit.clone(),
    });
    ConditionNode::Compare {
        compare: end.compare,
        left: end.figure.clone(),
        right: Expression {
            node: constant,
            ..end.limit.clone()
        },
    }
}

/// Whether a `when` is true of all runs that any cell is for, so that leaving it out changes nothing.
pub(super) fn says_the_same(standard: &Standard, table: &Table, when: &Condition) -> bool {
    let ConditionNode::Is { path, values, .. } = &when.node else {
        return false;
    };
    let same = |other: &Path| other.root == path.root && other.hops == path.hops;
    let records: Vec<RecordId> = values
        .iter()
        .filter_map(|value| match value {
            Value::Reference(Target::Record(record)) => Some(*record),
            _ => None,
        })
        .collect();
    table.axes().any(|axis| {
        same(&axis.path)
            && axis.entries.iter().all(|entry| {
                let mine = entry.record;
                mine.is_some_and(|mine| {
                    records
                        .iter()
                        .any(|record| standard.descends(mine, *record))
                })
            })
    })
}
