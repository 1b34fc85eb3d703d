//! Expressions in one form: a number times factors in a fixed order, so that what is the same number is
//! told by the same text, whatever the order it was written in.

use std::collections::{BTreeMap, BTreeSet};

use crate::constraint::{Affine, Domain, End, Resolved, Variable};
use crate::diff::canonical;
use crate::diff::conditions::dependencies::{name, passed};
use crate::diff::conditions::lower_condition::Lowering;
use crate::diff::conditions::resolve_path::PathEnd;
use crate::types::{
    Arithmetic, Condition, ConditionNode, Expression, ExpressionNode, Function, PlaceInRun, Read,
    Type, Value,
};
use crate::units::Exact;

/// A number `factor * core`.
#[derive(Debug, Clone)]
pub(in crate::diff) struct Term {
    factor: Exact,
    /// What it is made of, by its text, and to which power. Nothing for a number that is known.
    core: BTreeMap<String, i32>,
    /// The one setting that it is, where it is one to the first power.
    variable: Option<Variable>,
    /// What must be stated for it to have a value.
    needs: BTreeSet<Variable>,
    /// Whether it has a value wherever all that it needs is stated.
    total: bool,
    /// Between what the core lies, as far as that is known.
    low: Option<Exact>,
    high: Option<Exact>,
}

/// What an expression comes to.
#[derive(Debug, Clone)]
pub(in crate::diff) enum Found {
    /// A number.
    Term(Term),
    /// Something it needs is missing.
    Missing,
    /// No number.
    Other,
}

impl Found {
    /// What must be stated for a number that then always has a value.
    pub(in crate::diff) fn total(&self) -> Option<&BTreeSet<Variable>> {
        match self {
            Self::Term(term) if term.total => Some(&term.needs),
            _ => None,
        }
    }
}

impl Term {
    fn constant(value: Exact) -> Self {
        Self {
            factor: value,
            core: BTreeMap::new(),
            variable: None,
            needs: BTreeSet::new(),
            total: true,
            low: Some(Exact::ONE),
            high: Some(Exact::ONE),
        }
    }

    pub(in crate::diff) fn text(&self) -> String {
        let mut text = canonical::number(&self.factor);
        for (part, power) in &self.core {
            match power {
                1 => text.push_str(&format!(" * {part}")),
                power => text.push_str(&format!(" * {part} ^ {power}")),
            }
        }
        text
    }

    /// Whether it is never below nothing.
    pub(in crate::diff) fn is_not_below_zero(&self) -> bool {
        let core = self.core.is_empty() || self.low.as_ref().is_some_and(|low| *low >= Exact::ZERO);
        core && self.factor >= Exact::ZERO
    }

    /// Between what it lies, as far as that is known.
    fn ends(&self) -> [Option<Exact>; 2] {
        let of = |end: &Option<Exact>| end.as_ref().map(|end| end.mul(&self.factor));
        let [low, high] = [of(&self.low), of(&self.high)];
        if self.factor < Exact::ZERO {
            [high, low]
        } else {
            [low, high]
        }
    }

    /// Of a text, with what it rests on.
    fn atom(text: String, needs: BTreeSet<Variable>, total: bool) -> Self {
        Self {
            factor: Exact::ONE,
            core: BTreeMap::from([(text, 1)]),
            variable: None,
            needs,
            total,
            low: None,
            high: None,
        }
    }

    fn times(self, other: &Self) -> Self {
        let plain = |of: &Self| of.core.is_empty();
        let variable = match (plain(&self), plain(other)) {
            (_, true) => self.variable,
            (true, false) => other.variable,
            _ => None,
        };
        let mut core = self.core;
        for (part, power) in &other.core {
            *core.entry(part.clone()).or_insert(0) += power;
        }
        // What cancels is still needed, and is no number where it is nothing: it is not struck out.
        let cancels = core.values().any(|power| *power == 0);
        // Of what is never below nothing.
        let not_below = |of: &Option<Exact>| of.as_ref().is_some_and(|low| *low >= Exact::ZERO);
        let positive = not_below(&self.low) && not_below(&other.low);
        let both = |one: &Option<Exact>, two: &Option<Exact>| {
            one.as_ref()
                .zip(two.as_ref())
                .filter(|_| positive)
                .map(|(one, two)| one.mul(two))
        };
        let (low, high) = (both(&self.low, &other.low), both(&self.high, &other.high));
        Self {
            factor: self.factor.mul(&other.factor),
            core,
            variable,
            needs: &self.needs | &other.needs,
            total: self.total && other.total && !cancels,
            low: low.filter(|_| !cancels),
            high: high.filter(|_| !cancels),
        }
    }

    /// One over it; `None` where it is nothing.
    fn inverse(self) -> Option<Self> {
        let above = self.low.as_ref().is_some_and(|low| *low > Exact::ZERO);
        let turned = |of: &Option<Exact>| {
            of.as_ref()
                .filter(|_| above)
                .and_then(|of| Exact::ONE.div(of))
        };
        let low = match &self.high {
            Some(_) => turned(&self.high),
            None if above => Some(Exact::ZERO),
            None => None,
        };
        Some(Self {
            factor: Exact::ONE.div(&self.factor)?,
            low,
            high: turned(&self.low),
            total: self.total && (above || self.core.is_empty()),
            core: self
                .core
                .into_iter()
                .map(|(part, power)| (part, -power))
                .collect(),
            variable: None,
            needs: self.needs,
        })
    }
}

impl Lowering<'_> {
    /// An expression in one form, with the values of the chosen records put in.
    pub(in crate::diff) fn term(&mut self, of: &Expression) -> Found {
        match &of.node {
            ExpressionNode::Constant(value) => Found::Term(Term::constant(value.exact.clone())),
            ExpressionNode::Path(path) => {
                let resolved = crate::constraint::Resolver::path(self, path);
                self.term_of(&resolved)
            }
            ExpressionNode::RangeEnd { path, high } => match self.end(path) {
                PathEnd::Stated(Value::Range(range), _) => {
                    let end = if *high { &range.high } else { &range.low };
                    end.clone()
                        .map_or(Found::Missing, |end| Found::Term(Term::constant(end)))
                }
                PathEnd::Missing => Found::Missing,
                PathEnd::Free(_, _, key) => {
                    let word = if *high { "high" } else { "low" };
                    let text = format!("{word}({key})");
                    Found::Term(Term::atom(text, BTreeSet::new(), false))
                }
                _ => Found::Other,
            },
            ExpressionNode::Negative(inner) => match self.term(inner) {
                Found::Term(term) => Found::Term(term.times(&Term::constant(Exact::from_int(-1)))),
                other => other,
            },
            ExpressionNode::Binary {
                operator,
                left,
                right,
            } => match operator {
                Arithmetic::Add | Arithmetic::Subtract => self.sum(of),
                Arithmetic::Multiply | Arithmetic::Divide => {
                    let (one, other) = match (self.term(left), self.term(right)) {
                        (Found::Missing, _) | (_, Found::Missing) => return Found::Missing,
                        (Found::Term(one), Found::Term(other)) => (one, other),
                        _ => return Found::Other,
                    };
                    if *operator == Arithmetic::Multiply {
                        return Found::Term(one.times(&other));
                    }
                    match other.inverse() {
                        Some(inverse) => Found::Term(one.times(&inverse)),
                        None => Found::Other,
                    }
                }
            },
            ExpressionNode::Power(base, power) => self.power(base, *power),
            ExpressionNode::Call(Function::Calibrated, dial) => self.behind_dial(of, dial),
            ExpressionNode::Call(function, arguments) => self.call(*function, arguments),
            ExpressionNode::Over { kind, body, .. } => {
                let text = format!(
                    "{}{}",
                    canonical::expression(self.standard, of),
                    self.of_side_expression(of)
                );
                let term = Term::atom(text, BTreeSet::new(), body.is_none());
                if body.is_some() {
                    return Found::Term(term);
                }
                // How many there are is always known; where one of them is asked about, it is one at least.
                let many = self.standard.kind(*kind).place == PlaceInRun::Many;
                let least = i64::from(many && self.each == Some(*kind));
                Found::Term(Term {
                    low: Some(Exact::from_int(least)),
                    ..term
                })
            }
        }
    }

    fn term_of(&mut self, resolved: &Resolved) -> Found {
        match resolved {
            Resolved::Number(affine) => match &affine.term {
                None if affine.low == affine.high => Found::Term(Term {
                    needs: affine.needs.clone(),
                    ..Term::constant(affine.low.clone())
                }),
                Some((variable, factor)) if affine.low.is_zero() && affine.high.is_zero() => {
                    let mut term = self.variable_term(*variable);
                    term.needs.extend(&affine.needs);
                    Found::Term(term.times(&Term::constant(factor.clone())))
                }
                _ => Found::Other,
            },
            Resolved::Variable(variable) => Found::Term(self.variable_term(*variable)),
            Resolved::Missing => Found::Missing,
            Resolved::Range(_) | Resolved::Other => Found::Other,
        }
    }

    fn variable_term(&self, variable: Variable) -> Term {
        let of = self.vars.get(variable);
        let (low, high) = of.domain.ends();
        let value = |end: Option<&End>| end.map(|end| end.value.clone());
        Term {
            low: value(low),
            high: value(high),
            variable: Some(variable),
            ..Term::atom(of.key.clone(), BTreeSet::from([variable]), true)
        }
    }

    fn sum(&mut self, of: &Expression) -> Found {
        let mut parts = Vec::new();
        addends(of, false, &mut parts);
        let mut plus = Exact::ZERO;
        let mut terms: Vec<Term> = Vec::new();
        let (mut needs, mut total) = (BTreeSet::new(), true);
        for (part, negative) in parts {
            let term = match self.term(part) {
                Found::Term(term) => term,
                other => return other,
            };
            let term = if negative {
                term.times(&Term::constant(Exact::from_int(-1)))
            } else {
                term
            };
            needs.extend(term.needs.iter().copied());
            total &= term.total;
            if term.core.is_empty() {
                plus = plus.add(&term.factor);
            } else {
                terms.push(term);
            }
        }
        if terms.is_empty() {
            return Found::Term(Term {
                needs,
                total,
                ..Term::constant(plus)
            });
        }
        if terms.len() == 1
            && plus.is_zero()
            && let Some(only) = terms.pop()
        {
            return Found::Term(Term {
                needs,
                total,
                ..only
            });
        }
        let mut texts: Vec<String> = terms.iter().map(Term::text).collect();
        if !plus.is_zero() {
            texts.push(canonical::number(&plus));
        }
        texts.sort_unstable();
        Found::Term(Term::atom(format!("({})", texts.join(" + ")), needs, total))
    }

    fn power(&mut self, base: &Expression, power: i32) -> Found {
        let base = match self.term(base) {
            Found::Term(term) => term,
            other => return other,
        };
        let mut all = Term {
            needs: base.needs.clone(),
            total: base.total,
            ..Term::constant(Exact::ONE)
        };
        if power.unsigned_abs() > 16 {
            let text = format!("({}) ^ {power}", base.text());
            let total = base.total && power > 0;
            return Found::Term(Term::atom(text, base.needs, total));
        }
        for _ in 0..power.unsigned_abs() {
            all = all.times(&base);
        }
        if power < 0 {
            return all.inverse().map_or(Found::Other, Found::Term);
        }
        Found::Term(all)
    }

    /// What is so behind a dial that reads wrong is a number of its own: the same where no record says otherwise.
    fn behind_dial(&mut self, of: &Expression, dial: &[Expression]) -> Found {
        let shown = dial.first().map_or(Found::Other, |dial| self.term(dial));
        let Found::Term(shown) = shown else {
            return shown;
        };
        let text = format!(
            "behind {}{}",
            canonical::expression(self.standard, of),
            self.of_side_expression(of)
        );
        Found::Term(Term::atom(text, shown.needs, false))
    }

    fn call(&mut self, function: Function, arguments: &[Expression]) -> Found {
        // The first that has a value: what is missing is passed over.
        let passes_over = matches!(function, Function::Otherwise | Function::Choose);
        let mut texts = Vec::new();
        let (mut needs, mut total) = (BTreeSet::new(), true);
        let mut above = true;
        let mut ends: Vec<[Option<Exact>; 2]> = Vec::new();
        for (place, argument) in arguments.iter().enumerate() {
            match self.term(argument) {
                Found::Term(term) => {
                    // What `choose` goes by is none of its values.
                    let goes_by = matches!(function, Function::Choose) && place == 0;
                    above &= goes_by || term.is_not_below_zero();
                    ends.push(term.ends());
                    texts.push(term.text());
                    needs.extend(term.needs.iter().copied());
                    total &= term.total;
                }
                Found::Missing if passes_over => texts.push("nothing".to_owned()),
                Found::Missing => return Found::Missing,
                Found::Other => return Found::Other,
            }
        }
        let called = match function {
            Function::Figure(figure) => figure.name.to_owned(),
            Function::Least | Function::Most => {
                texts.sort_unstable();
                texts.dedup();
                format!("{function:?}")
            }
            other => format!("{other:?}"),
        };
        if passes_over {
            needs.clear();
        }
        // What is stated is there or not; behind it stands a number.
        let number = |of: &Expression| matches!(of.node, ExpressionNode::Constant(_));
        let always = matches!(function, Function::Otherwise)
            && arguments.split_last().is_some_and(|(last, first)| {
                number(last)
                    && first.iter().all(|of| match &of.node {
                        ExpressionNode::Path(path) => {
                            self.is_stated_only(path) || self.is_worked_out_where_stated(path)
                        }
                        _ => false,
                    })
            });
        let total = total
            && (always
                || matches!(
                    function,
                    Function::Least | Function::Most | Function::RoundUp
                ));
        let text = format!("{called}({})", texts.join(", "));
        let figure = matches!(function, Function::Figure(_));
        let low = (above && !figure).then_some(Exact::ZERO);
        let [low, high] = match function {
            Function::Most => {
                let low = ends.iter().filter_map(|[low, _]| low.as_ref());
                let low = low.cloned().reduce(|one, other| Exact::max(&one, &other));
                let high: Option<Vec<&Exact>> = ends.iter().map(|of| of[1].as_ref()).collect();
                [low, high.and_then(|all| all.into_iter().max().cloned())]
            }
            Function::Least => {
                let high = ends.iter().filter_map(|[_, high]| high.as_ref());
                let low: Option<Vec<&Exact>> = ends.iter().map(|of| of[0].as_ref()).collect();
                [
                    low.and_then(|all| all.into_iter().min().cloned()),
                    high.min().cloned(),
                ]
            }
            _ => [low, None],
        };
        Found::Term(Term {
            low,
            high,
            ..Term::atom(text, needs, total)
        })
    }

    /// A number of one form as a multiple of one variable.
    pub(in crate::diff) fn as_number(&mut self, found: Found) -> Resolved {
        let term = match found {
            Found::Term(term) => term,
            Found::Missing => return Resolved::Missing,
            Found::Other => return Resolved::Other,
        };
        if term.core.is_empty() && term.total {
            let constant = Affine::constant(term.factor);
            return Resolved::Number(Affine {
                needs: term.needs,
                ..constant
            });
        }
        let one = Term {
            factor: Exact::ONE,
            ..term.clone()
        };
        let variable = match term.variable {
            Some(variable) => variable,
            None => {
                let closed = |end: Option<Exact>| end.map(End::closed);
                let domain = Domain::between(closed(term.low), closed(term.high));
                let domain = if term.total {
                    domain
                } else {
                    domain.or_not_stated()
                };
                self.opaque(one.text(), domain)
            }
        };
        let mut affine = Affine::variable(variable).times(&term.factor);
        affine.needs.extend(term.needs);
        Resolved::Number(affine)
    }

    /// What tells a condition apart that reads what differs.
    pub(in crate::diff) fn of_side(&self, of: &Condition) -> &'static str {
        // Which record something is, and what that one is, may be another.
        let asks = of.any(&mut |part| match &part.node {
            ConditionNode::Is { values, .. } => values
                .iter()
                .any(|value| matches!(value, Value::Reference(_))),
            _ => false,
        });
        let mut differs = asks && !self.differences.ancestry.is_empty();
        of.reads(&mut |read| differs |= self.reads_what_differs(read));
        if differs { self.side } else { "" }
    }

    /// What tells an expression apart that goes over what differs.
    fn of_side_expression(&self, of: &Expression) -> &'static str {
        let mut differs = false;
        of.reads(&mut |read| differs |= self.reads_what_differs(read));
        if differs { self.side } else { "" }
    }

    fn reads_what_differs(&self, read: Read<'_>) -> bool {
        read.path().into_iter().flat_map(passed).any(|setting| {
            let own = name(self.standard, setting);
            let of = self.standard.field(setting.0, setting.1);
            let plain = of.formula.is_none() || !matches!(of.ty, Type::Quantity(_));
            // What records state is no figure that a plan could state instead.
            plain && self.differs(&own) || !self.mark(&own).is_empty()
        })
    }
}

/// The addends of a sum, and whether each is taken away.
fn addends<'e>(of: &'e Expression, negative: bool, found: &mut Vec<(&'e Expression, bool)>) {
    match &of.node {
        ExpressionNode::Binary {
            operator: Arithmetic::Add,
            left,
            right,
        } => {
            addends(left, negative, found);
            addends(right, negative, found);
        }
        ExpressionNode::Binary {
            operator: Arithmetic::Subtract,
            left,
            right,
        } => {
            addends(left, negative, found);
            addends(right, !negative, found);
        }
        ExpressionNode::Negative(inner) => addends(inner, !negative, found),
        _ => found.push((of, negative)),
    }
}
