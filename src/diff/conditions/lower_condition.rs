//! Conditions of one standard as exact sets, for a choice of records.
//!
//! What both standards read in the same words and work out in the same way is one thing, whatever its
//! value: a setting, or a whole expression. So a limit on a figure is as exact as one on a setting.
//! A value that a record does not state makes a condition neither true nor false.

use std::collections::BTreeMap;

use crate::diff::canonical;
use crate::diff::conditions::affine::{Affine, known, scaled, sum, unit_of};
use crate::diff::conditions::dependencies::{Closures, Differences, name, passed};
use crate::diff::conditions::formula::{Formula, Var, Vars, all, any, mask};
use crate::diff::conditions::overrides::Overrides;
use crate::diff::conditions::record_monotonicity::UnkeptFigure;
use crate::diff::conditions::resolve_path::Resolved;
use crate::review::{End, Set, expression_reads};
use crate::types::{
    Arithmetic, Condition, ConditionNode, Expression, ExpressionNode, FieldId, KindId, Path,
    PlaceInRun, Reading, RecordId, Standard, Target, Type, Value,
};
use crate::units::Exact;

/// Which record stands at each place where one is chosen; `None` for a thing that is no record.
pub(in crate::diff) type Situation = BTreeMap<String, Option<RecordId>>;

/// How worked-out settings that mean something else now are taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::diff) enum Figures {
    /// As stated in the plan.
    Stated,
    /// As worked out: two different things.
    WorkedOut,
}

/// Reads one standard.
pub(in crate::diff) struct Lowering<'a> {
    pub(in crate::diff) standard: &'a Standard,
    pub(in crate::diff) closures: &'a Closures,
    pub(in crate::diff) differences: &'a Differences,
    pub(in crate::diff) situation: &'a Situation,
    /// What the plan states instead of a record.
    pub(in crate::diff) told: &'a Overrides,
    pub(in crate::diff) figures: Figures,
    /// A figure that keeps nothing where it is worked out.
    pub(in crate::diff) barren: Option<&'a UnkeptFigure>,
    /// Whether it is the new standard.
    pub(in crate::diff) new: bool,
    /// What tells apart what differs between the standards.
    pub(in crate::diff) side: &'static str,
    pub(in crate::diff) vars: &'a mut Vars,
}

impl<'a> Lowering<'a> {
    fn quantity(&mut self, kind: KindId, field: FieldId, key: &str) -> usize {
        let of = self.standard.field(kind, field);
        let mark = self.mark(&name(self.standard, (kind, field)));
        let (low, mut high) = match &of.possible {
            Some(possible) if of.formula.is_none() => (possible.low.clone(), possible.high.clone()),
            _ => (None, None),
        };
        if let (Some(left), Some(most)) = (self.told.most(key), &high) {
            high = Some(Exact::min(left, most));
        }
        let domain = Set::ExactInterval {
            low: low.map(End::closed),
            high: high.map(End::closed),
        };
        let whole = match &of.ty {
            Type::Quantity(measure) => matches!(measure.reading, Reading::Count(_)),
            _ => false,
        };
        self.vars.add(Var {
            key: format!("{key}{mark}"),
            domain: if whole {
                domain.whole().unwrap_or(domain)
            } else {
                domain
            },
            whole: whole && of.formula.is_none(),
            words: Vec::new(),
            plain: mark.is_empty(),
            unit: None,
        })
    }

    pub(in crate::diff) fn opaque(&mut self, key: String, domain: Set) -> usize {
        self.vars.add(Var {
            key,
            domain,
            whole: false,
            words: Vec::new(),
            plain: false,
            unit: None,
        })
    }

    /// A yes or no that is told by its text alone.
    fn unknown(&mut self, key: String) -> Formula {
        let var = self.vars.add(Var {
            key,
            domain: Set::Words(0b11),
            whole: false,
            words: vec!["no".to_owned(), "yes".to_owned()],
            plain: false,
            unit: None,
        });
        Formula::Limit(var, Set::Words(0b10))
    }

    /// An expression; `None` where something it needs is missing.
    pub(in crate::diff) fn line(&mut self, of: &Expression) -> Option<Affine> {
        let constant = |value: &Exact| Affine {
            var: None,
            plus: value.clone(),
        };
        let single = |var: usize| Affine {
            var: Some((var, Exact::ONE)),
            plus: Exact::ZERO,
        };
        match &of.node {
            ExpressionNode::Constant(value) => Some(constant(&value.exact)),
            ExpressionNode::Path(path) => match self.spot(path) {
                Resolved::Stated(Value::Quantity(quantity), key) => {
                    if quantity.low == quantity.high {
                        return Some(constant(&quantity.low));
                    }
                    // A tolerance of a record: one value inside it, the same on both sides.
                    let (low, high) = (&quantity.low, &quantity.high);
                    let text = format!(
                        "{key} {} {}",
                        canonical::number(low),
                        canonical::number(high)
                    );
                    let domain = Set::ExactInterval {
                        low: Some(End::closed(low.clone())),
                        high: Some(End::closed(high.clone())),
                    };
                    Some(single(self.opaque(text, domain)))
                }
                Resolved::Zero => Some(constant(&Exact::ZERO)),
                Resolved::Free(kind, field, _) if self.barren(kind, field).is_some() => None,
                Resolved::Free(kind, field, key) => Some(single(self.quantity(kind, field, &key))),
                // Places are counted from 1.
                Resolved::Place(key) => {
                    let from_one = Set::from(End::closed(Exact::ONE));
                    Some(single(self.opaque(key, from_one)))
                }
                Resolved::Stated(..) | Resolved::Thing(..) | Resolved::Missing => None,
            },
            ExpressionNode::RangeEnd { path, high } => {
                let word = if *high { "high" } else { "low" };
                match self.spot(path) {
                    Resolved::Stated(Value::Range(range), _) => {
                        let end = if *high { &range.high } else { &range.low };
                        Some(constant(end.as_ref()?))
                    }
                    Resolved::Free(_, _, key) => {
                        Some(single(self.opaque(format!("{word}({key})"), Set::ALL)))
                    }
                    _ => None,
                }
            }
            ExpressionNode::Negative(inner) => {
                let inner = self.line(inner)?;
                Some(scaled(inner, &Exact::from_int(-1)))
            }
            ExpressionNode::Binary {
                operator,
                left,
                right,
            } => {
                let (one, other) = (self.line(left)?, self.line(right)?);
                match self.joined(*operator, one, other) {
                    Some(line) => Some(line),
                    None => match self.shares(of) {
                        Some(line) => Some(line),
                        None => Some(single(self.whole_text(of)?)),
                    },
                }
            }
            _ => Some(single(self.whole_text(of)?)),
        }
    }

    fn joined(&self, operator: Arithmetic, one: Affine, other: Affine) -> Option<Affine> {
        match operator {
            Arithmetic::Add => sum(one, other),
            Arithmetic::Subtract => sum(one, scaled(other, &Exact::from_int(-1))),
            Arithmetic::Multiply => match (&one.var, &other.var) {
                (_, None) => Some(scaled(one, &other.plus)),
                (None, _) => Some(scaled(other, &one.plus)),
                _ => None,
            },
            Arithmetic::Divide => {
                if other.var.is_some() {
                    return None;
                }
                let by = Exact::ONE.div(&other.plus)?;
                Some(scaled(one, &by))
            }
        }
    }

    /// An expression as one thing of its own, told by its text.
    fn whole_text(&mut self, of: &Expression) -> Option<usize> {
        let text = self.text(of)?;
        Some(self.opaque(text, Set::ALL))
    }

    /// The text of an expression with the values of the chosen records put in.
    fn text(&self, of: &Expression) -> Option<String> {
        Some(match &of.node {
            ExpressionNode::Constant(value) => canonical::number(&value.exact),
            ExpressionNode::Path(path) => match self.spot(path) {
                Resolved::Stated(Value::Quantity(quantity), key)
                    if quantity.low != quantity.high =>
                {
                    let (low, high) = (&quantity.low, &quantity.high);
                    format!(
                        "{key} {} {}",
                        canonical::number(low),
                        canonical::number(high)
                    )
                }
                Resolved::Stated(Value::Quantity(quantity), _) => canonical::number(&quantity.low),
                Resolved::Zero => canonical::number(&Exact::ZERO),
                Resolved::Free(kind, field, key) => {
                    format!("{key}{}", self.mark(&name(self.standard, (kind, field))))
                }
                Resolved::Place(key) => key,
                Resolved::Stated(..) | Resolved::Thing(..) => canonical::path(self.standard, path),
                // `otherwise` passes over it.
                Resolved::Missing => "nothing".to_owned(),
            },
            ExpressionNode::RangeEnd { path, high } => match self.spot(path) {
                Resolved::Stated(Value::Range(range), _) => {
                    let end = if *high { &range.high } else { &range.low };
                    end.as_ref().map_or("nothing".to_owned(), canonical::number)
                }
                _ => format!("{high}({})", canonical::path(self.standard, path)),
            },
            ExpressionNode::Negative(inner) => format!("(- {})", self.text(inner)?),
            ExpressionNode::Binary {
                operator,
                left,
                right,
            } => {
                let (mut one, mut other) = (self.text(left)?, self.text(right)?);
                let turns = matches!(operator, Arithmetic::Add | Arithmetic::Multiply);
                if turns && one > other {
                    std::mem::swap(&mut one, &mut other);
                }
                format!("({one} {operator:?} {other})")
            }
            ExpressionNode::Power(base, power) => format!("({} ^ {power})", self.text(base)?),
            ExpressionNode::Call(function, arguments) => {
                let arguments: Option<Vec<String>> =
                    arguments.iter().map(|part| self.text(part)).collect();
                let called = match function {
                    crate::types::Function::Figure(figure) => figure.name.to_owned(),
                    other => format!("{other:?}"),
                };
                format!("{called}({})", arguments?.join(", "))
            }
            ExpressionNode::Over { .. } => {
                let mut mark = "";
                expression_reads(of, &mut |read| {
                    for setting in read.path().into_iter().flat_map(passed) {
                        let own = name(self.standard, setting);
                        let plain = self.standard.field(setting.0, setting.1).formula.is_none();
                        // What records state is no figure that a plan could state instead.
                        if plain && self.differs(&own) || !self.mark(&own).is_empty() {
                            mark = self.side;
                        }
                    }
                });
                format!("{}{mark}", canonical::expression(self.standard, of))
            }
        })
    }

    /// Where a condition is true, or where it is false. What is missing is neither.
    pub(in crate::diff) fn node(&mut self, of: &Condition, wanted: bool) -> Formula {
        match &of.node {
            ConditionNode::Not(inner) => self.node(inner, !wanted),
            ConditionNode::And(list) | ConditionNode::Or(list) => {
                let parts: Vec<Formula> = list.iter().map(|part| self.node(part, wanted)).collect();
                let every = matches!(of.node, ConditionNode::And(_)) == wanted;
                if every { all(parts) } else { any(parts) }
            }
            _ => match self.atom(of) {
                None => Formula::False,
                Some(node) if wanted => node,
                Some(node) => node.not(),
            },
        }
    }

    fn atom(&mut self, of: &Condition) -> Option<Formula> {
        match &of.node {
            ConditionNode::Compare {
                compare,
                left,
                right,
            } => {
                let unit = unit_of(right).or_else(|| unit_of(left));
                let (left, right) = (self.line(left)?, self.line(right)?);
                Some(self.compared(*compare, left, right, unit))
            }
            ConditionNode::Within { subject, range } => match self.spot(range) {
                Resolved::Stated(Value::Range(limits), _) => self.inside(subject, limits),
                Resolved::Free(_, _, key) => {
                    let subject = self.text(subject)?;
                    Some(self.unknown(format!("{subject} within {key}")))
                }
                _ => None,
            },
            ConditionNode::RangeWithin { inner, outer } => {
                match (self.spot(inner), self.spot(outer)) {
                    (
                        Resolved::Stated(Value::Range(inner), _),
                        Resolved::Stated(Value::Range(outer), _),
                    ) => Some(known(inner.lie_within(outer))),
                    (Resolved::Missing, _) | (_, Resolved::Missing) => None,
                    _ => Some(self.unknown(canonical::condition(self.standard, of))),
                }
            }
            ConditionNode::Is { path, values, .. } => self.is(of, path, values),
            ConditionNode::Same { left, right } => match (self.spot(left), self.spot(right)) {
                (Resolved::Missing, _) | (_, Resolved::Missing) => None,
                (Resolved::Thing(Some(one), _), Resolved::Thing(Some(other), _)) => {
                    Some(known(one == other))
                }
                _ => Some(self.unknown(canonical::condition(self.standard, of))),
            },
            ConditionNode::IsStep { path, kinds } => {
                let key = canonical::path(self.standard, path);
                let words: Vec<String> = self
                    .standard
                    .kinds
                    .iter()
                    .filter(|kind| kind.place == PlaceInRun::Step)
                    .map(|kind| kind.name.clone())
                    .chain(["nothing".to_owned()])
                    .collect();
                let wanted: Vec<&str> = kinds
                    .iter()
                    .map(|kind| self.standard.kind(*kind).name.as_str())
                    .collect();
                Some(self.words(format!("step {key}"), words, &wanted, false))
            }
            ConditionNode::Stated(path) => Some(self.stated(of, path)),
            ConditionNode::And(_)
            | ConditionNode::Or(_)
            | ConditionNode::Not(_)
            | ConditionNode::Wrong => None,
        }
    }

    fn stated(&mut self, of: &Condition, path: &Path) -> Formula {
        match self.spot(path) {
            Resolved::Stated(..) => Formula::True,
            Resolved::Missing => Formula::False,
            Resolved::Free(_, _, key) if self.told.get(&key) == Some(true) => Formula::True,
            Resolved::Free(kind, field, key) if self.barren(kind, field).is_some() => {
                match self.barren(kind, field) {
                    Some(true) => Formula::False,
                    _ => self.unknown(format!("{key} worked out")),
                }
            }
            Resolved::Free(kind, field, key) => {
                let mark = self.mark(&name(self.standard, (kind, field)));
                self.unknown(format!("{key} stated{mark}"))
            }
            Resolved::Zero | Resolved::Thing(..) | Resolved::Place(_) => {
                self.unknown(canonical::condition(self.standard, of))
            }
        }
    }

    fn words(&mut self, key: String, words: Vec<String>, wanted: &[&str], plain: bool) -> Formula {
        if words.len() > 60 {
            return self.unknown(format!("{key} is {wanted:?}"));
        }
        let var = self.vars.add(Var {
            key,
            domain: Set::Words(mask(words.len())),
            whole: false,
            words,
            plain,
            unit: None,
        });
        let known = &self.vars.list[var].words;
        let mut bits = 0_u64;
        for (bit, word) in known.iter().enumerate().take(64) {
            if wanted.contains(&word.as_str()) {
                bits |= 1 << bit;
            }
        }
        Formula::Limit(var, Set::Words(bits))
    }

    fn is(&mut self, of: &Condition, path: &Path, values: &[Value]) -> Option<Formula> {
        let standard = self.standard;
        match self.spot(path) {
            Resolved::Thing(Some(record), _) => {
                Some(known(values.iter().any(|value| match value {
                    Value::Reference(Target::Record(wanted)) => standard.descends(record, *wanted),
                    _ => false,
                })))
            }
            Resolved::Thing(None, key) => {
                // A thing that the situation says to be no record is none of these.
                if self.situation.contains_key(&key) {
                    return Some(Formula::False);
                }
                Some(self.unknown(canonical::condition(standard, of)))
            }
            Resolved::Stated(value, _) => {
                let ty = canonical::end(standard, path)?;
                let mine = canonical::value(standard, ty, value);
                let same = |other: &Value| canonical::value(standard, ty, other) == mine;
                Some(known(values.iter().any(same)))
            }
            Resolved::Free(kind, field, key) => {
                let ty = &standard.field(kind, field).ty;
                let all = match ty {
                    Type::Choice(words) => words.clone(),
                    Type::YesNo => vec!["no".to_owned(), "yes".to_owned()],
                    _ => return Some(self.unknown(canonical::condition(standard, of))),
                };
                let wanted: Vec<String> = values
                    .iter()
                    .map(|value| canonical::value(standard, ty, value))
                    .collect();
                let wanted: Vec<&str> = wanted.iter().map(String::as_str).collect();
                Some(self.words(key, all, &wanted, true))
            }
            Resolved::Place(_) | Resolved::Zero => {
                Some(self.unknown(canonical::condition(standard, of)))
            }
            Resolved::Missing => None,
        }
    }
}
