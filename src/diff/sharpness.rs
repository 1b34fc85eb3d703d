//! Whether a check shows of a run all that is so at each of its points.
//!
//! What is proved of clauses is proved point by point; a check works out whole tolerances, and cuts them until each
//! piece agrees. What holds at every point is not shown to hold where two limits on one value only touch inside its
//! tolerance: of `x at least 5 or x below 5` neither part holds for any piece about 5. So a proof counts for texts only
//! where no two parts of which one is enough touch so.

use std::collections::BTreeSet;

use crate::diff::conditions::dependencies::{Closures, Name, name, passed};
use crate::diff::pairing::clauses::Part;
use crate::types::{Compare, Condition, ConditionNode, ExpressionNode, Read, Standard, Type};
use crate::units::Exact;

/// Whether a check of a clause shows all that holds at every point of a run.
pub(in crate::diff) fn is_sharp(standard: &Standard, closures: &Closures, part: &Part) -> bool {
    let rule = &standard.rules[part.rule];
    let of = Sharpness { standard, closures };
    part.requirements
        .iter()
        .filter_map(|number| rule.requirements.get(*number))
        .all(|requirement| {
            // It passes where a part of `when` is false, where it holds, or where a `may` does: one is enough.
            let whens = rule.when.iter().chain(&requirement.when);
            let whens: Vec<(&Condition, bool)> = whens.map(|when| (when, false)).collect();
            let held = [&requirement.condition]
                .into_iter()
                .chain(&rule.permissions);
            let all: Vec<(&Condition, bool)> =
                whens.into_iter().chain(held.map(|of| (of, true))).collect();
            of.one_of(&all)
        })
}

/// One comparison.
struct Test {
    /// The values with tolerances that it rests on.
    values: BTreeSet<Name>,
    /// Its numbers.
    numbers: BTreeSet<Exact>,
    /// Whether it asks for one value only.
    equal: bool,
}

impl Test {
    /// Whether two may meet at a single value: one asks for a single one, both have the same limit, or a limit is no
    /// number.
    fn touches(&self, other: &Self) -> bool {
        let plain = !self.numbers.is_empty() && !other.numbers.is_empty();
        let limits = !plain || !self.numbers.is_disjoint(&other.numbers);
        !self.values.is_disjoint(&other.values) && (self.equal || other.equal || limits)
    }
}

struct Sharpness<'s> {
    standard: &'s Standard,
    closures: &'s Closures,
}

impl Sharpness<'_> {
    /// Whether it is shown that one of these is so, wherever at every point one is.
    fn one_of(&self, list: &[(&Condition, bool)]) -> bool {
        let mut seen: Vec<Test> = Vec::new();
        list.iter().all(|(of, truth)| {
            let tests = self.tests(of);
            let apart = tests
                .iter()
                .all(|one| seen.iter().all(|other| !one.touches(other)));
            seen.extend(tests);
            apart && self.shown(of, *truth)
        })
    }

    /// The comparisons in a condition.
    fn tests(&self, of: &Condition) -> Vec<Test> {
        let mut found = Vec::new();
        of.visit(&mut |part| {
            if part.is_joined() {
                return;
            }
            let mut values = BTreeSet::new();
            part.reads(&mut |read: Read<'_>| self.add(read, &mut values));
            let mut numbers = BTreeSet::new();
            part.visit_expressions(&mut |of| {
                if let ExpressionNode::Constant(constant) = &of.node {
                    numbers.insert(constant.exact.clone());
                }
            });
            let equal = match &part.node {
                ConditionNode::Compare { compare, .. } => *compare == Compare::Is,
                _ => false,
            };
            found.push(Test {
                values,
                numbers,
                equal,
            });
        });
        found
    }

    /// Whether it is shown that a condition is true, or false, wherever it is so at every point.
    fn shown(&self, of: &Condition, truth: bool) -> bool {
        match (&of.node, truth) {
            (ConditionNode::Not(inner), _) => self.shown(inner, !truth),
            (ConditionNode::And(list), true) | (ConditionNode::Or(list), false) => {
                list.iter().all(|part| self.shown(part, truth))
            }
            (ConditionNode::Or(list), true) | (ConditionNode::And(list), false) => {
                let all: Vec<(&Condition, bool)> = list.iter().map(|of| (of, truth)).collect();
                self.one_of(&all)
            }
            _ => true,
        }
    }

    fn add(&self, read: Read<'_>, found: &mut BTreeSet<Name>) {
        let Read::Value(path) = read else { return };
        for setting in passed(path) {
            let of = self.standard.field(setting.0, setting.1);
            if !matches!(of.ty, Type::Quantity(_)) {
                continue;
            }
            let own = name(self.standard, setting);
            // A figure that a plan states is one value; one that is worked out, those it rests on.
            found.extend(self.closures.of(&own).cloned());
            found.insert(own);
        }
    }
}
