//! What paths mean in a run whose settings are free, for a choice of records.

use super::symbolic_run::SymbolicRun;
use crate::constraint::{
    Affine, Atom, Domain, Formula, Resolved, Resolver, Variable, Wanted, Words,
};
use crate::eval::{Aim, Binding, Conditions, EvalContext, Found, Leaf, Truth, range};
use crate::types::{Condition, ConditionNode, Expression, Path, Read, Standard, Type, Value};
use crate::units::Exact;

/// A condition that is worked out region by region.
#[derive(Debug, Clone)]
pub(super) struct Figure<'s> {
    /// The condition.
    pub(super) condition: &'s Condition,
    /// What its words stand for.
    pub(super) binding: Binding,
    /// Whether it is to be true, or false.
    pub(super) truth: bool,
    /// The free settings it rests on.
    variables: Vec<Variable>,
}

impl PartialEq for Figure<'_> {
    fn eq(&self, other: &Self) -> bool {
        self.condition.span == other.condition.span
            && self.binding == other.binding
            && self.truth == other.truth
    }
}

impl Atom for Figure<'_> {
    fn variables(&self) -> &[Variable] {
        &self.variables
    }
}

/// Reads conditions in one situation.
pub(super) struct RunResolver<'a> {
    context: EvalContext<'a>,
    run: &'a SymbolicRun,
    truths: Conditions<'a>,
    /// What the words of the condition stand for that is read now.
    pub(super) binding: Binding,
    /// Whether what was read since this was last set to `false` hangs on a free setting.
    pub(super) free: bool,
}

impl<'a> RunResolver<'a> {
    /// For a run that was put into a situation.
    pub(super) fn new(context: EvalContext<'a>, run: &'a SymbolicRun) -> Self {
        Self {
            context,
            run,
            truths: Conditions::new(context),
            binding: Binding::default(),
            free: false,
        }
    }

    fn standard(&self) -> &'a Standard {
        self.context.standard
    }

    /// The free setting at the end of a path.
    fn variable(&self, path: &Path) -> Option<Variable> {
        match self.context.locate(self.binding, path) {
            Ok(Found::Setting(target, _, field)) => self.run.variable(Leaf { target, field }),
            _ => None,
        }
    }

    /// The free settings of what is read; `None` where it goes over all things of a kind.
    fn variables(&self, reads: impl FnOnce(&mut dyn FnMut(Read<'_>))) -> Option<Vec<Variable>> {
        let (mut found, mut over) = (Vec::new(), false);
        reads(&mut |read| match read {
            Read::Value(path) => found.extend(self.variable(path)),
            Read::Over => over = true,
            _ => {}
        });
        found.sort_unstable();
        found.dedup();
        (!over).then_some(found)
    }

    /// The ends of an expression that rests on records only, and whether they are reached.
    fn constant(&self, of: &Expression) -> Option<(Exact, Exact, bool)> {
        let found = range(&self.context, self.binding, Aim::value(of)).ok()?;
        if found.sampled {
            return None;
        }
        match found.exact {
            Some((low, high)) => Some((low, high, true)),
            None => Some((
                Exact::from_f64(found.bounds.lo)?,
                Exact::from_f64(found.bounds.hi)?,
                false,
            )),
        }
    }

    /// A condition on records and places only, which are all known.
    fn on_records<'s>(&self, of: &Condition, wanted: Wanted) -> Formula<Figure<'s>> {
        let mut free = false;
        of.reads(&mut |read| match read {
            Read::Stated(_) => {}
            Read::Over => free = true,
            read => {
                free |= read
                    .path()
                    .is_some_and(|path| self.variable(path).is_some())
            }
        });
        if free {
            return Formula::UNKNOWN;
        }
        match self.truths.truth(self.binding, of) {
            Truth::True => Formula::known(wanted.truth),
            Truth::False => Formula::known(!wanted.truth),
            _ => Formula::UNKNOWN,
        }
    }

    fn figure<'s>(&self, of: &'s Condition, wanted: Wanted) -> Formula<Figure<'s>> {
        let Some(variables) = self.variables(|found| of.reads(found)) else {
            return Formula::UNKNOWN;
        };
        if variables.is_empty() {
            return Formula::UNKNOWN;
        }
        // Something it needs may be missing whatever is chosen.
        match self.truths.truth(self.binding, of) {
            Truth::Missing(_) | Truth::CannotWorkOut(_) => return Formula::UNKNOWN,
            _ => {}
        }
        Formula::atom(Figure {
            condition: of,
            binding: self.binding,
            truth: wanted.truth,
            variables,
        })
    }
}

impl<'s> Resolver<'s> for RunResolver<'_> {
    type Atom = Figure<'s>;

    fn domain(&self, variable: Variable) -> &Domain {
        &self.run.of(variable).domain
    }

    fn is_whole(&self, variable: Variable) -> bool {
        self.run.of(variable).whole
    }

    fn path(&mut self, path: &'s Path) -> Resolved {
        let Ok(Found::Setting(target, kind, field)) = self.context.locate(self.binding, path)
        else {
            return Resolved::Other;
        };
        if let Some(variable) = self.run.variable(Leaf { target, field }) {
            self.free = true;
            return Resolved::Variable(variable);
        }
        if let Type::Range(_) = self.standard().field(kind, field).ty
            && let Ok(limits) = self.truths.limits(self.binding, path)
        {
            return Resolved::Range(limits.clone());
        }
        Resolved::Other
    }

    fn known(&mut self, expression: &'s Expression) -> Resolved {
        let free = self.variables(|found| expression.reads(found));
        if free.is_none_or(|free| !free.is_empty()) {
            return Resolved::Other;
        }
        match self.constant(expression) {
            Some((low, high, reached)) => Resolved::Number(Affine::between(low, high, reached)),
            None => Resolved::Other,
        }
    }

    fn words(&mut self, variable: Variable, _: &'s Path, values: &'s [Value]) -> Option<Domain> {
        let (kind, field) = self.run.of(variable).setting;
        let ty = &self.standard().field(kind, field).ty;
        let number = |value: &Value| match (value, ty) {
            (Value::Choice(number), Type::Choice(_)) => Some(*number),
            (Value::YesNo(yes), Type::YesNo) => Some(u32::from(*yes)),
            _ => None,
        };
        let numbers: Option<Vec<u32>> = values.iter().map(number).collect();
        Some(Domain::words(Words::of(numbers?)))
    }

    fn other(&mut self, condition: &'s Condition, wanted: Wanted) -> Formula<Figure<'s>> {
        match &condition.node {
            ConditionNode::Compare { .. } | ConditionNode::Within { .. } => {
                self.figure(condition, wanted)
            }
            _ => self.on_records(condition, wanted),
        }
    }
}
