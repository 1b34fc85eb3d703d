//! Expressions for one sort of number.

use std::cell::{Cell, RefCell};
use std::collections::BTreeMap;

use super::figure_cache::TOO_MUCH;
use super::number::{Fault, Marks, Number};
use super::{Binding, EvalContext, EvalError, Found, Leaf, MissingValue};
use crate::interval::Bounds;
use crate::types::{
    Aggregate, Arithmetic, Calibration, Constant, Expression, ExpressionNode, Function, Limits,
    Path, Value,
};

/// Deepest chain of formulas that is followed.
const DEEPEST: u32 = 64;

/// No value: a stop, or an operation that this sort of number lacks.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Halt {
    EvalError(EvalError),
    Unsupported,
}

impl From<EvalError> for Halt {
    fn from(stop: EvalError) -> Self {
        Self::EvalError(stop)
    }
}

impl From<Fault> for Halt {
    fn from(fault: Fault) -> Self {
        match fault {
            Fault::Words(words) => Self::EvalError(EvalError::CannotWorkOut(words)),
            Fault::Unsupported => Self::Unsupported,
        }
    }
}

/// What a setting came to, and what that rests on.
type Known<N> = (Result<N, Halt>, Marks);

/// Works out expressions; every worked-out setting once.
pub(super) struct Evaluator<'a, N> {
    pub(super) context: EvalContext<'a>,
    memo: RefCell<BTreeMap<Leaf, Known<N>>>,
    depth: Cell<u32>,
    marks: Cell<Marks>,
    /// Work when the value now worked out was begun.
    began: Cell<u64>,
}

impl<'a, N: Number> Evaluator<'a, N> {
    pub(super) fn new(context: EvalContext<'a>) -> Self {
        Self {
            context,
            memo: RefCell::new(BTreeMap::new()),
            depth: Cell::new(0),
            marks: Cell::new(Marks::default()),
            began: Cell::new(context.cache.map_or(0, |cache| cache.budget().work())),
        }
    }

    /// A further value begins: its work is counted from here.
    pub(super) fn begin(&self) {
        self.began.set(self.work());
    }

    fn work(&self) -> u64 {
        self.context.cache.map_or(0, |cache| cache.budget().work())
    }

    /// Counts one operation; a value that takes too many is given up.
    fn count(&self) -> Result<(), Halt> {
        let Some(cache) = self.context.cache else {
            return Ok(());
        };
        // Every operation on slopes goes over all of them, and every value is looked for among all.
        cache
            .budget()
            .count(1 + self.context.narrowed.len() as u64 / 2);
        if cache.budget().may_go_on(self.began.get()) {
            return Ok(());
        }
        Err(EvalError::CannotWorkOut(TOO_MUCH.to_owned()).into())
    }

    pub(super) fn nesting(&self) -> Nesting {
        Nesting {
            depth: self.depth.get(),
            began: self.began.get(),
        }
    }

    /// Goes on where another evaluator stands, one level deeper.
    fn nest(&self, nesting: Nesting) -> Result<(), Halt> {
        if nesting.depth >= DEEPEST {
            return Err(EvalError::CannotWorkOut("its formulas go too deep".to_owned()).into());
        }
        self.depth.set(nesting.depth + 1);
        self.began.set(nesting.began);
        Ok(())
    }

    /// What has been worked out since the last call rests on.
    pub(super) fn take_marks(&self) -> Marks {
        self.marks.take()
    }

    fn mark(&self, more: Marks) {
        self.marks.set(self.marks.get().with(more));
    }

    /// The value of an expression.
    pub(super) fn expression(&self, binding: Binding, expression: &Expression) -> Result<N, Halt> {
        self.count()?;
        match &expression.node {
            ExpressionNode::Constant(constant) => Ok(N::constant(&self.context, constant)),
            ExpressionNode::Path(path) => self.path(binding, path),
            ExpressionNode::RangeEnd { path, high } => self.range_end(binding, path, *high),
            ExpressionNode::Negative(inner) => Ok(self.expression(binding, inner)?.negative()),
            ExpressionNode::Binary {
                operator,
                left,
                right,
            } => {
                let mut all = Gathered::default();
                let left = all.take(self.expression(binding, left))?;
                let right = all.take(self.expression(binding, right))?;
                all.done()?;
                let (Some(left), Some(right)) = (left, right) else {
                    return Err(Halt::Unsupported);
                };
                Ok(match operator {
                    Arithmetic::Add => left.add(&right),
                    Arithmetic::Subtract => left.subtract(&right),
                    Arithmetic::Multiply => left.multiply(&right),
                    Arithmetic::Divide => left.divide(&right)?,
                })
            }
            ExpressionNode::Power(base, power) => {
                Ok(self.expression(binding, base)?.power(*power)?)
            }
            ExpressionNode::Call(function, arguments) => self.call(binding, *function, arguments),
            ExpressionNode::Over {
                aggregate,
                kind,
                body,
            } => {
                let members = &self.context.run.many[kind.0 as usize];
                let Some(body) = body else {
                    return Ok(N::whole(u32::try_from(members.len()).unwrap_or(u32::MAX)));
                };
                let mut all = Gathered::default();
                let mut result: Option<N> = None;
                for member in members {
                    let inner = Binding {
                        member: Some(*member),
                        ..binding
                    };
                    let Some(value) = all.take(self.expression(inner, body))? else {
                        continue;
                    };
                    result = Some(match result {
                        None => value,
                        Some(so_far) => match aggregate {
                            Aggregate::Least => so_far.least(&value),
                            Aggregate::Most => so_far.most(&value),
                            Aggregate::Count | Aggregate::Total => so_far.add(&value),
                        },
                    });
                }
                all.done()?;
                match (result, aggregate) {
                    (Some(value), _) => Ok(value),
                    (None, Aggregate::Total) => Ok(N::whole(0)),
                    (None, _) => {
                        let name = &self.context.standard.kind(*kind).name;
                        Err(EvalError::Missing(Box::new(MissingValue {
                            at: None,
                            field: None,
                            path: name.clone(),
                            words: Some(format!("the run has no `{name}`")),
                        }))
                        .into())
                    }
                }
            }
        }
    }

    fn call(
        &self,
        binding: Binding,
        function: Function,
        arguments: &[Expression],
    ) -> Result<N, Halt> {
        match function {
            Function::Otherwise => return self.otherwise(binding, arguments),
            Function::Choose => {
                let chosen = chosen(&self.context, binding, arguments, self.nesting())?;
                return self.expression(binding, chosen);
            }
            Function::Calibrated => {
                let [dial] = arguments else {
                    return Err(Halt::Unsupported);
                };
                let shown = self.expression(binding, dial)?;
                return match self.calibration(binding, dial) {
                    Some(by) => Ok(shown.calibrated(by)?),
                    None => Ok(shown),
                };
            }
            _ => {}
        }
        let mut all = Gathered::default();
        let mut values = Vec::with_capacity(arguments.len());
        for argument in arguments {
            values.extend(all.take(self.expression(binding, argument))?);
        }
        all.done()?;
        let first = |values: &[N]| values.first().cloned().ok_or(Halt::Unsupported);
        match function {
            Function::Least | Function::Most | Function::Between => {
                let mut result = first(&values)?;
                for value in &values[1..] {
                    result = match function {
                        Function::Least => result.least(value),
                        Function::Most => result.most(value),
                        _ => result.between(value),
                    };
                }
                Ok(result)
            }
            Function::Root => Ok(first(&values)?.root()?),
            Function::RoundUp => Ok(first(&values)?.round_up()?),
            Function::Otherwise | Function::Choose | Function::Calibrated => Err(Halt::Unsupported),
            Function::Figure(figure) => {
                // It took what it takes even where it has no value.
                self.mark(Marks::of(figure));
                let before = self.work();
                let (value, marks) = N::figure(&self.context, figure, &values)?;
                // What a figure takes is measured by a budget of its own.
                self.began.set(self.began.get() + (self.work() - before));
                self.mark(marks);
                Ok(value)
            }
        }
    }

    /// What is so behind a dial. Where the plan does not say how it is set there is nothing to correct.
    fn calibration(&self, binding: Binding, dial: &Expression) -> Option<&'a Calibration> {
        let ExpressionNode::Path(path) = &dial.node else {
            return None;
        };
        match self.context.locate(binding, path).ok()? {
            Found::Setting(target, _, field) if self.context.quantity(target, field).is_some() => {
                let (run, standard) = (self.context.run, self.context.standard);
                run.calibration(standard, target, field)
            }
            _ => None,
        }
    }

    /// The first that has a value. What is there but wrong is not passed over.
    fn otherwise(&self, binding: Binding, arguments: &[Expression]) -> Result<N, Halt> {
        let mut last = Err(Halt::Unsupported);
        if self.context.assumed {
            // What stands in for what is not stated does so whatever that might be.
            let plain = Evaluator::<N>::new(EvalContext {
                assumed: false,
                ..self.context
            });
            plain.nest(self.nesting())?;
            let there = |argument: &&Expression| {
                let value = plain.expression(binding, argument);
                !matches!(value, Err(Halt::EvalError(EvalError::Missing(_))))
            };
            let taken = arguments.iter().find(there).or(arguments.last());
            return taken.map_or(last, |argument| self.expression(binding, argument));
        }
        for argument in arguments {
            last = self.expression(binding, argument);
            if !matches!(last, Err(Halt::EvalError(EvalError::Missing(_)))) {
                break;
            }
        }
        last
    }

    fn path(&self, binding: Binding, path: &Path) -> Result<N, Halt> {
        match self.context.locate(binding, path)? {
            Found::Setting(target, kind, field) => {
                let leaf = Leaf { target, field };
                if let Some(quantity) = self.context.quantity(target, field) {
                    return Ok(N::stated(&self.context, leaf, quantity));
                }
                let declared = self.context.standard.field(kind, field);
                let found = match &declared.formula {
                    Some(formula) => self.formula(leaf, formula),
                    None => Err(self.context.gap(target, field, path).into()),
                };
                match (found, declared.possible.as_ref().and_then(anything)) {
                    (Err(_), Some(anything)) if self.context.assumed => {
                        Ok(N::constant(&self.context, &anything))
                    }
                    (found, _) => found,
                }
            }
            Found::Place(place) => Ok(N::whole(place)),
            Found::Thing(_) => {
                Err(EvalError::CannotWorkOut(format!("`{}` is not a value", path.text)).into())
            }
        }
    }

    /// The worked-out value of a setting, whatever is stated for it.
    pub(super) fn formula(&self, leaf: Leaf, formula: &Expression) -> Result<N, Halt> {
        if let Some(known) = self.memo.borrow().get(&leaf) {
            self.mark(known.1);
            return known.0.clone();
        }
        if self.depth.get() >= DEEPEST {
            return Err(EvalError::CannotWorkOut("its formulas go too deep".to_owned()).into());
        }
        self.depth.set(self.depth.get() + 1);
        let binding = Binding {
            own: Some(leaf.target),
            ..Binding::default()
        };
        let before = self.marks.take();
        let value = self.expression(binding, formula);
        let own = self.marks.get();
        self.mark(before);
        self.depth.set(self.depth.get() - 1);
        self.memo.borrow_mut().insert(leaf, (value.clone(), own));
        value
    }

    fn range_end(&self, binding: Binding, path: &Path, high: bool) -> Result<N, Halt> {
        let Found::Setting(target, _, field) = self.context.locate(binding, path)? else {
            return Err(EvalError::CannotWorkOut(format!("`{}` is not a range", path.text)).into());
        };
        let end = match self
            .context
            .stated(target, field)
            .map(|stated| &stated.value)
        {
            Some(Value::Range(limits)) => {
                let end = if high { &limits.high } else { &limits.low };
                end.as_ref().map(|end| (end, &limits.unit))
            }
            _ => None,
        };
        let Some((end, unit)) = end else {
            return Err(self.context.gap(target, field, path).into());
        };
        let (low, up) = end.outward();
        let constant = crate::types::Constant {
            exact: end.clone(),
            bounds: crate::interval::Bounds::new(low, up),
            unit: unit.clone(),
        };
        Ok(N::constant(&self.context, &constant))
    }
}

/// All that is possible, as one number that is not known better.
fn anything(possible: &Limits) -> Option<Constant> {
    let (low, high) = (possible.low.as_ref()?, possible.high.as_ref()?);
    Some(Constant {
        exact: low.clone(),
        bounds: Bounds::new(low.outward().0, high.outward().1),
        unit: possible.unit.clone(),
    })
}

/// How deep in formulas an evaluator is, and when its work began; for one that works for it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Nesting {
    depth: u32,
    began: u64,
}

/// Operands one after the other. One that cannot be worked out is put off until all have been looked at: where another is
/// not stated, that comes first, wherever it stands. Else whether a figure counts as stated would hang on the values.
#[derive(Default)]
struct Gathered(Option<String>);

impl Gathered {
    fn take<N>(&mut self, found: Result<N, Halt>) -> Result<Option<N>, Halt> {
        match found {
            Err(Halt::EvalError(EvalError::CannotWorkOut(words))) => {
                self.0.get_or_insert(words);
                Ok(None)
            }
            other => other.map(Some),
        }
    }

    fn done(self) -> Result<(), Halt> {
        match self.0 {
            Some(words) => Err(EvalError::CannotWorkOut(words).into()),
            None => Ok(()),
        }
    }
}

/// The value that `choose` takes: its first argument counts the others.
pub(super) fn chosen<'e>(
    context: &EvalContext<'_>,
    binding: Binding,
    arguments: &'e [Expression],
    nesting: Nesting,
) -> Result<&'e Expression, Halt> {
    let Some((number, choices)) = arguments.split_first() else {
        return Err(Halt::Unsupported);
    };
    let evaluator = Evaluator::<Bounds>::new(*context);
    evaluator.nest(nesting)?;
    let number = evaluator.expression(binding, number)?;
    let place = (1_u32..)
        .zip(choices)
        .find(|(place, _)| number == Bounds::point(f64::from(*place)));
    place.map(|(_, choice)| choice).ok_or_else(|| {
        EvalError::CannotWorkOut(format!(
            "a whole number from 1 to {} is wanted to choose by",
            choices.len()
        ))
        .into()
    })
}
