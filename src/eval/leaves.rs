//! The stated values an expression rests on, and how often it uses each.

use std::collections::BTreeMap;

use super::evaluator::{Evaluator, Halt, chosen};
use super::{Found, Frame, Scene, Stop};
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
pub fn leaves(scene: &Scene<'_>, frame: Frame, expressions: &[&Expression]) -> Vec<(Leaf, u32)> {
    let mut walk = Walk::new(scene);
    for expression in expressions {
        walk.values.begin();
        walk.expression(frame, expression);
    }
    walk.found
}

struct Walk<'a> {
    scene: &'a Scene<'a>,
    values: Evaluator<'a, Bounds>,
    found: Vec<(Leaf, u32)>,
    /// Where each stands in `found`.
    places: BTreeMap<Leaf, usize>,
    depth: u32,
    visits: u32,
}

impl<'a> Walk<'a> {
    fn new(scene: &'a Scene<'a>) -> Self {
        Self {
            scene,
            values: Evaluator::new(*scene),
            found: Vec::new(),
            places: BTreeMap::new(),
            depth: 0,
            visits: 0,
        }
    }

    fn expression(&mut self, frame: Frame, expression: &Expression) {
        self.visits += 1;
        // A formula that doubles at every level is cut off; what is cut is used many times anyway.
        if self.visits > MOST_VISITS {
            return;
        }
        match &expression.node {
            ExpressionNode::Constant(_) | ExpressionNode::RangeEnd { .. } => {}
            ExpressionNode::Path(path) => self.path(frame, path),
            ExpressionNode::Negative(inner) => self.expression(frame, inner),
            // An even power of a value that may change sign is not monotone, but it is one use:
            // the interval power is exact for it.
            ExpressionNode::Power(inner, _) => self.expression(frame, inner),
            ExpressionNode::Binary { left, right, .. } => {
                self.expression(frame, left);
                self.expression(frame, right);
            }
            ExpressionNode::Call(Function::Otherwise, arguments) => {
                self.first(frame, arguments);
            }
            ExpressionNode::Call(Function::Choose, arguments) => {
                if let Ok(chosen) = chosen(self.scene, frame, arguments, self.values.nesting()) {
                    self.expression(frame, chosen);
                }
            }
            ExpressionNode::Call(_, arguments) => {
                for argument in arguments {
                    self.expression(frame, argument);
                }
            }
            ExpressionNode::Over { kind, body, .. } => {
                let Some(body) = body else { return };
                for member in &self.scene.run.many[kind.0 as usize] {
                    let inner = Frame {
                        member: Some(*member),
                        ..frame
                    };
                    self.expression(inner, body);
                }
            }
        }
    }

    /// Only what has a value counts: the values before it are not there.
    fn first(&mut self, frame: Frame, arguments: &[Expression]) {
        for argument in arguments {
            let value = self.values.expression(frame, argument);
            if !matches!(value, Err(Halt::Stop(Stop::Missing(_)))) {
                self.expression(frame, argument);
                return;
            }
        }
    }

    fn path(&mut self, frame: Frame, path: &Path) {
        let Ok(Found::Setting(target, kind, field)) = self.scene.locate(frame, path) else {
            return;
        };
        let leaf = Leaf { target, field };
        if self.scene.quantity(target, field).is_some() {
            if let Some(memory) = self.scene.memory {
                memory.count(1);
            }
            let place = *self.places.entry(leaf).or_insert(self.found.len());
            match self.found.get_mut(place) {
                Some((_, uses)) => *uses = (*uses + 1).min(MANY),
                None => self.found.push((leaf, 1)),
            }
            return;
        }
        if let Some(formula) = &self.scene.standard.field(kind, field).formula
            && self.depth < 64
        {
            self.depth += 1;
            let frame = Frame {
                own: Some(target),
                ..Frame::default()
            };
            self.expression(frame, formula);
            self.depth -= 1;
        }
    }
}
