//! All that is not stated and that a condition waits for, at once.

use std::collections::BTreeSet;

use super::evaluator::{Evaluator, Halt, chosen};
use super::{Binding, EvalContext, EvalError, Found, Leaf};
use crate::interval::Bounds;
use crate::types::{
    Condition, ConditionNode, Expression, ExpressionNode, Function, Path, Read, Stating,
};

/// The most parts of expressions that are looked at.
const MOST_VISITS: u32 = 50_000;

/// Deepest chain of formulas that is followed.
const DEEPEST: u32 = 64;

/// A setting that is not stated and that something waits for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct MissingInput {
    /// The setting.
    pub leaf: Leaf,
    /// The setting that could be read off instead, where this one is only needed to work that one out.
    pub instead_of: Option<Leaf>,
}

/// The settings that are not stated and that these conditions wait for, in order of first use.
///
/// A setting that is read off and can be worked out as well comes first, then what it is worked out from; what is also
/// needed by itself stands there twice. Of the
/// arguments of `otherwise` the last one is asked for, as that is the one every run has.
#[must_use]
pub fn missing_inputs(
    context: &EvalContext<'_>,
    binding: Binding,
    conditions: &[&Condition],
) -> Vec<MissingInput> {
    let mut walk = Walk {
        context,
        values: Evaluator::new(*context),
        found: Vec::new(),
        known: BTreeSet::new(),
        depth: 0,
        visits: 0,
    };
    for condition in conditions {
        walk.condition(binding, condition);
    }
    walk.found
}

struct Walk<'a> {
    context: &'a EvalContext<'a>,
    values: Evaluator<'a, Bounds>,
    found: Vec<MissingInput>,
    known: BTreeSet<(Leaf, Option<Leaf>)>,
    depth: u32,
    visits: u32,
}

impl Walk<'_> {
    fn condition(&mut self, binding: Binding, condition: &Condition) {
        let mut parts = Vec::new();
        condition.visit(&mut |part| parts.push(part));
        for part in parts {
            for expression in part.expressions() {
                self.values.begin();
                self.expression(binding, expression, None);
            }
            if let ConditionNode::Stated {
                path,
                how: Stating::WithTolerance | Stating::ReadWithin(_),
            } = &part.node
            {
                self.stated_so(binding, path);
            }
            for read in part.own_reads() {
                match read {
                    Read::Range(path) | Read::Word(path) | Read::Value(path) => {
                        self.path(binding, path, None);
                    }
                    Read::Stated(_) | Read::Step(_) | Read::Over | Read::Figure => {}
                }
            }
        }
    }

    /// What has to be stated itself, whatever it could be worked out from.
    fn stated_so(&mut self, binding: Binding, path: &Path) {
        let Ok(Found::Setting(target, _, field)) = self.context.locate(binding, path) else {
            return self.path(binding, path, None);
        };
        let run = self.context.run;
        if run.stated(self.context.standard, target, field).is_none() {
            self.push(Leaf { target, field }, None);
        }
    }

    fn expression(&mut self, binding: Binding, expression: &Expression, instead_of: Option<Leaf>) {
        self.visits += 1;
        if self.visits > MOST_VISITS {
            return;
        }
        match &expression.node {
            ExpressionNode::Path(path) | ExpressionNode::RangeEnd { path, .. } => {
                self.path(binding, path, instead_of);
            }
            ExpressionNode::Call(Function::Otherwise, arguments) => {
                let has = |argument: &Expression| {
                    let value = self.values.expression(binding, argument);
                    !matches!(value, Err(Halt::EvalError(EvalError::Missing(_))))
                };
                if !arguments.iter().any(has)
                    && let Some(last) = arguments.last()
                {
                    self.expression(binding, last, instead_of);
                }
            }
            ExpressionNode::Call(Function::Choose, arguments) => {
                match chosen(self.context, binding, arguments, self.values.nesting()) {
                    Ok(chosen) => self.expression(binding, chosen, instead_of),
                    Err(_) => {
                        if let Some(number) = arguments.first() {
                            self.expression(binding, number, instead_of);
                        }
                    }
                }
            }
            ExpressionNode::Over { kind, body, .. } => {
                let Some(body) = body else { return };
                for member in &self.context.run.many[kind.index()] {
                    let inner = Binding {
                        member: Some(*member),
                        ..binding
                    };
                    self.expression(inner, body, instead_of);
                }
            }
            _ => {
                for part in expression.children() {
                    self.expression(binding, part, instead_of);
                }
            }
        }
    }

    fn path(&mut self, binding: Binding, path: &Path, instead_of: Option<Leaf>) {
        let (target, kind, field) = match self.context.locate(binding, path) {
            Ok(Found::Setting(target, kind, field)) => (target, kind, field),
            // A reference on the way is not stated: nothing behind it can be asked for yet.
            Err(EvalError::Missing(gap)) => {
                if let (Some(target), Some(field)) = (gap.at, gap.field) {
                    self.push(Leaf { target, field }, instead_of);
                }
                return;
            }
            _ => return,
        };
        let leaf = Leaf { target, field };
        if self.context.stated(target, field).is_some() {
            return;
        }
        let setting = self.context.standard.field(kind, field);
        let Some(formula) = &setting.formula else {
            self.push(leaf, instead_of);
            return;
        };
        if self.depth >= DEEPEST {
            return;
        }
        // Within a way round a reading, another reading is asked for as it is.
        if setting.measured().is_some() && instead_of.is_some() {
            self.values.begin();
            let own = Binding {
                own: Some(target),
                ..Binding::default()
            };
            let value = self.values.expression(own, formula);
            if matches!(value, Err(Halt::EvalError(EvalError::Missing(_)))) {
                self.push(leaf, instead_of);
            }
            return;
        }
        let before = self.found.len();
        let behind = setting.measured().map(|_| leaf).or(instead_of);
        self.depth += 1;
        let own = Binding {
            own: Some(target),
            ..Binding::default()
        };
        self.expression(own, formula, behind);
        self.depth -= 1;
        let lacks = self.found.len() > before;
        if lacks && setting.measured().is_some() && self.known.insert((leaf, None)) {
            let reading = MissingInput {
                leaf,
                instead_of: None,
            };
            self.found.insert(before, reading);
        }
    }

    fn push(&mut self, leaf: Leaf, instead_of: Option<Leaf>) {
        if self.known.insert((leaf, instead_of)) {
            self.found.push(MissingInput { leaf, instead_of });
        }
    }
}
