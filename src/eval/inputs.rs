//! The stated values an expression rests on, and how often it uses each.

use std::collections::BTreeMap;

use super::evaluator::{Evaluator, Halt, chosen};
use super::{Binding, EvalContext, EvalError, Found};
use crate::interval::Bounds;
use crate::types::{Expression, ExpressionNode, FieldId, Function, Path, Target};

/// A setting of a thing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Leaf {
    /// The thing.
    pub target: Target,
    /// The setting.
    pub field: FieldId,
}

/// The most parts of expressions that are looked at.
const MOST_VISITS: u32 = 50_000;

/// The most uses that are told apart; more count as many.
const MANY: u32 = 1000;

/// The stated quantities that an expression rests on, in order of first use, with how often each is used.
#[must_use]
pub fn inputs(
    context: &EvalContext<'_>,
    binding: Binding,
    expressions: &[&Expression],
) -> Vec<(Leaf, u32)> {
    let mut walk = Walk::new(context);
    for expression in expressions {
        walk.values.begin();
        walk.expression(binding, expression);
    }
    walk.found
}

struct Walk<'a> {
    context: &'a EvalContext<'a>,
    values: Evaluator<'a, Bounds>,
    found: Vec<(Leaf, u32)>,
    /// Where each stands in `found`.
    places: BTreeMap<Leaf, usize>,
    depth: u32,
    visits: u32,
}

impl<'a> Walk<'a> {
    fn new(context: &'a EvalContext<'a>) -> Self {
        Self {
            context,
            values: Evaluator::new(*context),
            found: Vec::new(),
            places: BTreeMap::new(),
            depth: 0,
            visits: 0,
        }
    }

    fn expression(&mut self, binding: Binding, expression: &Expression) {
        self.visits += 1;
        // A formula that doubles at every level is cut off; what is cut is used many times anyway.
        if self.visits > MOST_VISITS {
            return;
        }
        match &expression.node {
            ExpressionNode::Path(path) => self.path(binding, path),
            ExpressionNode::Call(Function::Otherwise, arguments) => {
                self.first(binding, arguments);
            }
            ExpressionNode::Call(Function::Choose, arguments) => {
                if let Ok(chosen) = chosen(self.context, binding, arguments, self.values.nesting())
                {
                    self.expression(binding, chosen);
                }
            }
            ExpressionNode::Over { kind, body, .. } => {
                let Some(body) = body else { return };
                for member in &self.context.run.many[kind.0 as usize] {
                    let inner = Binding {
                        member: Some(*member),
                        ..binding
                    };
                    self.expression(inner, body);
                }
            }
            // An even power of a value that may change sign is not monotone, but it is one use:
            // the interval power is exact for it.
            _ => {
                for part in expression.children() {
                    self.expression(binding, part);
                }
            }
        }
    }

    /// Only what has a value counts: the values before it are not there.
    fn first(&mut self, binding: Binding, arguments: &[Expression]) {
        for argument in arguments {
            let value = self.values.expression(binding, argument);
            if !matches!(value, Err(Halt::EvalError(EvalError::Missing(_)))) {
                self.expression(binding, argument);
                return;
            }
        }
    }

    fn path(&mut self, binding: Binding, path: &Path) {
        let Ok(Found::Setting(target, kind, field)) = self.context.locate(binding, path) else {
            return;
        };
        let leaf = Leaf { target, field };
        if self.context.quantity(target, field).is_some() {
            if let Some(cache) = self.context.cache {
                cache.budget().count(1);
            }
            let place = *self.places.entry(leaf).or_insert(self.found.len());
            match self.found.get_mut(place) {
                Some((_, uses)) => *uses = (*uses + 1).min(MANY),
                None => self.found.push((leaf, 1)),
            }
            return;
        }
        if let Some(formula) = &self.context.standard.field(kind, field).formula
            && self.depth < 64
        {
            self.depth += 1;
            let binding = Binding {
                own: Some(target),
                ..Binding::default()
            };
            self.expression(binding, formula);
            self.depth -= 1;
        }
    }
}
