//! Conditions of one standard as formulas, for a choice of records.
//!
//! What both standards read in the same words and work out in the same way is one variable, whatever its
//! value: a setting, or a whole expression. So a limit on a figure is as exact as one on a setting.
//! Three-valued as evaluation is: a value that a plan leaves out, or that a record does not state, makes a
//! condition neither true nor false.

use std::collections::BTreeMap;

use crate::constraint::{
    Combination, Domain, End, NoAtom, Resolved, Resolver, Variable, Wanted, Words, lower,
};
use crate::diff::canonical;
use crate::diff::conditions::dependencies::{Closures, Differences, Name, name};
use crate::diff::conditions::extremes::expanded;
use crate::diff::conditions::overrides::Overrides;
use crate::diff::conditions::record_monotonicity::UnkeptFigure;
use crate::diff::conditions::resolve_path::PathEnd;
use crate::diff::conditions::term::Found;
use crate::diff::conditions::variables::{Formula, Var, Vars};
use crate::types::{
    Condition, ConditionNode, Expression, ExpressionNode, FieldId, Hop, KindId, Path, PlaceInRun,
    Reading, RecordId, Standard, Stating, Target, Type, Value,
};
use crate::units::{Exact, Unit};

/// Which record stands at each place where one is chosen; `None` for a thing that is no record, and for a
/// record that is not named.
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
    pub(in crate::diff) overrides: &'a Overrides,
    pub(in crate::diff) figures: Figures,
    /// A figure that keeps nothing where it is worked out.
    pub(in crate::diff) unkept: Option<&'a UnkeptFigure>,
    /// The one figure that is worked out differently and whose formula is read in its place.
    pub(in crate::diff) inlined: Option<&'a Name>,
    /// The thing whose formula is read, and the place it stands at.
    pub(in crate::diff) own: Option<(KindId, String)>,
    /// The kind of the thing that is asked about.
    pub(in crate::diff) each: Option<KindId>,
    /// Whether a plan may state something else than a record wherever nothing is said of that, if it may pass so.
    pub(in crate::diff) relaxed: bool,
    /// Whether it is the new standard.
    pub(in crate::diff) new: bool,
    /// What tells apart what differs between the standards.
    pub(in crate::diff) side: &'static str,
    pub(in crate::diff) vars: &'a mut Vars,
}

impl<'a> Lowering<'a> {
    /// Where a condition is true, or where it is false. What is missing is neither.
    pub(in crate::diff) fn formula(&mut self, of: &Condition, truth: bool) -> Formula {
        let wanted = if truth { Wanted::TRUE } else { Wanted::FALSE };
        let of = self.unpowered(&self.by_case(&expanded(of)));
        let of = expanded(&of);
        lower(self, &of, wanted)
    }

    /// The variable of a quantity that a plan states, or that is worked out.
    pub(in crate::diff) fn quantity(
        &mut self,
        kind: KindId,
        field: FieldId,
        key: &str,
    ) -> Variable {
        let of = self.standard.field(kind, field);
        let mark = self.mark(&name(self.standard, (kind, field)));
        let (low, mut high) = match &of.possible {
            Some(possible) if of.formula.is_none() => (possible.low.clone(), possible.high.clone()),
            _ => (None, None),
        };
        // A share that is left out is nothing, also where nothing may not be stated.
        let mut wholes = self.standard.kind(kind).parts.iter();
        let low = match wholes.any(|whole| whole.fields.contains(&field)) {
            true => low.map(|low| Exact::min(&low, &Exact::ZERO)),
            false => low,
        };
        if let (Some(left), Some(most)) = (self.overrides.most(key), &high) {
            high = Some(Exact::min(left, most));
        }
        let domain = Domain::between(low.map(End::closed), high.map(End::closed));
        let whole = match &of.ty {
            Type::Quantity(measure) => matches!(measure.reading, Reading::Count(_)),
            _ => false,
        };
        let domain = if whole { domain.whole() } else { domain };
        // What the plan states instead of its record is stated.
        let domain = if self.overrides.get(key) == Some(true) {
            domain
        } else {
            domain.or_not_stated()
        };
        let variable = self.vars.add(Var {
            key: format!("{key}{mark}"),
            domain,
            whole: whole && of.formula.is_none(),
            words: Vec::new(),
            plain: mark.is_empty(),
            expression: false,
            unit: None,
        });
        if let Some(formula) = of.formula.as_ref().filter(|_| self.own.is_none()) {
            self.tie(variable, (kind, key), formula);
        }
        variable
    }

    /// A figure that is plain arithmetic has a value where all that it needs is stated.
    fn tie(&mut self, figure: Variable, (kind, key): (KindId, &str), formula: &Expression) {
        if !is_plain(formula) {
            return;
        }
        let place = key.rsplit_once('.').map_or(key, |(place, _)| place);
        self.own = Some((kind, place.to_owned()));
        let found = self.term(formula);
        self.own = None;
        let Some(needs) = found.total() else { return };
        let stated = Formula::variable_in(figure, Domain::stated());
        let missing = needs
            .iter()
            .map(|needed| Formula::variable_in(*needed, Domain::NOT_STATED));
        let tie = Formula::any(std::iter::once(stated).chain(missing));
        if !self.vars.ties.contains(&tie) {
            self.vars.ties.push(tie);
        }
    }

    /// A number that is told by its text.
    pub(in crate::diff) fn opaque(&mut self, key: String, domain: Domain) -> Variable {
        self.vars.add(Var {
            key,
            domain,
            whole: false,
            words: Vec::new(),
            plain: false,
            expression: true,
            unit: None,
        })
    }

    /// A yes or no that is told by its text alone, or that is missing.
    fn unknown(&mut self, key: &str, wanted: Wanted) -> Formula {
        let words = ["no".to_owned(), "yes".to_owned()];
        let variable = self.vars.add_words(key, &words, false, false);
        let word = self
            .vars
            .word(variable, if wanted.truth { "yes" } else { "no" });
        Formula::variable_in(variable, Domain::words(Words::of([word])))
    }

    /// The same of something that is always so or not, whatever a plan leaves out.
    fn answered(&mut self, key: &str, wanted: Wanted) -> Formula {
        let formula = self.unknown(key, wanted);
        if let Some(variable) = self.vars.find(key) {
            let of = &mut self.vars.list[variable.0];
            of.domain = of.domain.clone().and_stated();
        }
        formula
    }

    fn text(&mut self, of: &Condition, wanted: Wanted) -> Formula {
        let text = canonical::condition(self.standard, of);
        let side = self.of_side(of);
        self.unknown(&format!("{text}{side}"), wanted)
    }

    fn stated(&mut self, of: &Condition, path: &Path, wanted: Wanted) -> Formula {
        // Whether a step or a setting of its own is there has an answer; of what it refers to, not always.
        let fields = path.hops.iter().filter(|hop| matches!(hop, Hop::Field(..)));
        let near = fields.count() <= 1;
        match self.end(path) {
            PathEnd::Stated(..) => Formula::known(wanted.truth),
            // Whether an ink states something is not known where no ink is named, one way or the other.
            PathEnd::Missing if self.goes_by_nothing(path) => Formula::FALSE,
            PathEnd::Missing => Formula::known(!wanted.truth),
            PathEnd::Free(_, _, key) if self.overrides.get(&key) == Some(true) => {
                Formula::known(wanted.truth)
            }
            PathEnd::Free(kind, field, key) if self.unkept(kind, field).is_some() => {
                match self.unkept(kind, field) {
                    Some(true) => Formula::known(!wanted.truth),
                    _ => self.unknown(&format!("{key} worked out"), wanted),
                }
            }
            PathEnd::Free(kind, field, _) if matches!(self.inlined(kind, field), Some(None)) => {
                Formula::known(!wanted.truth)
            }
            PathEnd::Free(kind, field, key)
                if near
                    && self.standard.field(kind, field).formula.is_none()
                    && matches!(self.standard.field(kind, field).ty, Type::Quantity(_)) =>
            {
                let variable = self.quantity(kind, field, &key);
                let domain = if wanted.truth {
                    Domain::stated()
                } else {
                    Domain::NOT_STATED
                };
                Formula::variable_in(variable, domain)
            }
            PathEnd::Free(kind, field, key) => {
                let mark = self.mark(&name(self.standard, (kind, field)));
                let key = format!("{key} stated{mark}");
                if near && self.standard.field(kind, field).formula.is_none() {
                    self.answered(&key, wanted)
                } else {
                    self.unknown(&key, wanted)
                }
            }
            PathEnd::Thing(..) if near => {
                let text = canonical::condition(self.standard, of);
                let side = self.of_side(of);
                self.answered(&format!("{text}{side}"), wanted)
            }
            // A share that is the rest counts as stated.
            PathEnd::Zero => Formula::known(wanted.truth),
            PathEnd::Thing(..) | PathEnd::Place(_) => self.text(of, wanted),
        }
    }

    /// Whether a path goes on behind a reference that the plan does not state.
    fn goes_by_nothing(&self, path: &Path) -> bool {
        let mut before = path.clone();
        let own = before.hops.pop();
        own.is_some()
            && !before.hops.is_empty()
            && match self.end(&before) {
                PathEnd::Thing(None, key) => self.situation.get(&key) == Some(&None),
                PathEnd::Missing => true,
                _ => false,
            }
    }

    fn is(&mut self, of: &Condition, path: &Path, values: &[Value], wanted: Wanted) -> Formula {
        let standard = self.standard;
        let known = |truth: bool| Formula::known(truth == wanted.truth);
        match self.end(path) {
            PathEnd::Thing(Some(record), _) => known(values.iter().any(|value| match value {
                Value::Reference(Target::Record(wanted)) => standard.descends(record, *wanted),
                _ => false,
            })),
            PathEnd::Thing(None, key) if self.situation.contains_key(&key) => {
                // A thing that is no record is none of these; where it is not mentioned, nobody knows.
                let mentioned = ["yes".to_owned()];
                let variable =
                    self.vars
                        .add_words(&format!("{key} mentioned"), &mentioned, false, false);
                if wanted.truth {
                    Formula::FALSE
                } else {
                    Formula::variable_in(variable, Domain::stated())
                }
            }
            PathEnd::Stated(value, _) => {
                let Some(ty) = canonical::end(standard, path) else {
                    return self.text(of, wanted);
                };
                let mine = canonical::value(standard, ty, value);
                let same = |other: &Value| canonical::value(standard, ty, other) == mine;
                known(values.iter().any(same))
            }
            PathEnd::Missing => Formula::FALSE,
            PathEnd::Thing(None, _) | PathEnd::Free(..) | PathEnd::Place(_) | PathEnd::Zero => {
                self.text(of, wanted)
            }
        }
    }

    /// Whether a record is of a kind that a plan names and states nothing of.
    fn is_only_named(&self, record: RecordId) -> bool {
        let kind = self.standard.record(record).kind;
        self.standard.kind(kind).place == PlaceInRun::Record
    }

    /// The words that a setting may hold; `None` where it holds none, any text where the list is open.
    fn possible_words(&self, kind: KindId, field: FieldId) -> Option<(Vec<String>, bool)> {
        match &self.standard.field(kind, field).ty {
            Type::Choice(words) => Some((words.clone(), false)),
            Type::YesNo => Some((vec!["no".to_owned(), "yes".to_owned()], false)),
            Type::Text => Some((Vec::new(), true)),
            _ => None,
        }
    }

    /// Of a figure that keeps nothing where it is worked out: whether it cannot even be worked out.
    pub(in crate::diff) fn unkept(&self, kind: KindId, field: FieldId) -> Option<bool> {
        let unkept = self.unkept.filter(|_| self.figures == Figures::WorkedOut)?;
        let missing = unkept.missing[usize::from(self.new)];
        (unkept.own == name(self.standard, (kind, field))).then_some(missing)
    }

    /// The formula that is read in the place of a setting which is worked out differently; `Some(None)` where
    /// this standard has none for it.
    fn inlined(&self, kind: KindId, field: FieldId) -> Option<Option<&'a Expression>> {
        let own = self
            .inlined
            .filter(|_| self.figures == Figures::WorkedOut && self.own.is_none())?;
        (*own == name(self.standard, (kind, field)))
            .then(|| self.standard.field(kind, field).formula.as_ref())
    }

    /// What the formula of a setting at a place comes to.
    fn worked_out(&mut self, kind: KindId, key: &str, formula: &Expression) -> Resolved {
        let place = key.rsplit_once('.').map_or(key, |(place, _)| place);
        self.own = Some((kind, place.to_owned()));
        let found = self.term(formula);
        self.own = None;
        self.as_number(found)
    }
}

impl Resolver<'_> for Lowering<'_> {
    type Atom = NoAtom;

    fn domain(&self, variable: Variable) -> &Domain {
        &self.vars.get(variable).domain
    }

    fn is_whole(&self, variable: Variable) -> bool {
        self.vars.get(variable).whole
    }

    fn path(&mut self, path: &Path) -> Resolved {
        match self.end(path) {
            PathEnd::Stated(Value::Quantity(quantity), key) => {
                if quantity.low == quantity.high {
                    return Resolved::Number(crate::constraint::Affine::constant(
                        quantity.low.clone(),
                    ));
                }
                // A tolerance of a record: one value inside it, the same on both sides.
                let (low, high) = (&quantity.low, &quantity.high);
                let text = format!(
                    "{key} {} {}",
                    canonical::number(low),
                    canonical::number(high)
                );
                let domain = Domain::between(
                    Some(End::closed(low.clone())),
                    Some(End::closed(high.clone())),
                );
                Resolved::Variable(self.opaque(text, domain))
            }
            PathEnd::Stated(Value::Range(range), _) => Resolved::Range((**range).clone()),
            PathEnd::Zero => Resolved::Number(crate::constraint::Affine::constant(Exact::ZERO)),
            PathEnd::Free(kind, field, _) if self.unkept(kind, field).is_some() => {
                Resolved::Missing
            }
            PathEnd::Free(kind, field, key) => {
                match self.inlined(kind, field) {
                    Some(Some(formula)) => return self.worked_out(kind, &key, formula),
                    Some(None) => return Resolved::Missing,
                    None => {}
                }
                match &self.standard.field(kind, field).ty {
                    Type::Quantity(_) => Resolved::Variable(self.quantity(kind, field, &key)),
                    _ => match self.possible_words(kind, field) {
                        Some((words, any)) => {
                            Resolved::Variable(self.vars.add_words(&key, &words, any, true))
                        }
                        None => Resolved::Other,
                    },
                }
            }
            // Places are counted from 1.
            PathEnd::Place(key) => {
                let from_one = Domain::from(End::closed(Exact::ONE)).or_not_stated();
                Resolved::Variable(self.opaque(key, from_one))
            }
            PathEnd::Missing => Resolved::Missing,
            PathEnd::Stated(..) | PathEnd::Thing(..) => Resolved::Other,
        }
    }

    fn known(&mut self, expression: &Expression) -> Resolved {
        self.shares(expression)
    }

    fn whole(&mut self, expression: &Expression) -> Resolved {
        let found = self.term(expression);
        self.as_number(found)
    }

    fn combination(&mut self, of: Combination) -> Option<Variable> {
        let key = |vars: &Vars, variable: Variable| vars.get(variable).key.clone();
        let text = match &of {
            Combination::Ratio { over, under } => {
                format!("({} / {})", key(self.vars, *over), key(self.vars, *under))
            }
            Combination::Difference { one, times, other } => format!(
                "({} - {} * {})",
                key(self.vars, *one),
                canonical::number(times),
                key(self.vars, *other)
            ),
        };
        // Both are stated where it is compared.
        Some(self.opaque(text, Domain::numbers()))
    }

    fn precedes(&self, one: Variable, other: Variable) -> bool {
        self.vars.get(one).key < self.vars.get(other).key
    }

    fn words(&mut self, variable: Variable, path: &Path, values: &[Value]) -> Option<Domain> {
        let ty = canonical::end(self.standard, path)?;
        let words: Vec<u32> = values
            .iter()
            .map(|value| {
                let word = match value {
                    Value::Text(text) => text.clone(),
                    value => canonical::value(self.standard, ty, value),
                };
                self.vars.word(variable, &word)
            })
            .collect();
        Some(Domain::words(Words::of(words)))
    }

    fn spoken_in(&mut self, variable: Variable, unit: &Unit) {
        let of = &mut self.vars.list[variable.0];
        if of.unit.is_none() {
            of.unit = Some(unit.clone());
        }
    }

    fn other(&mut self, of: &Condition, wanted: Wanted) -> Formula {
        let standard = self.standard;
        let known = |truth: bool| Formula::known(truth == wanted.truth);
        match &of.node {
            ConditionNode::Within { subject, range } => match self.end(range) {
                PathEnd::Missing => Formula::FALSE,
                PathEnd::Free(_, _, key) => match self.term(subject) {
                    Found::Missing => Formula::FALSE,
                    Found::Term(term) => {
                        self.unknown(&format!("{} within {key}", term.text()), wanted)
                    }
                    Found::Other => self.text(of, wanted),
                },
                _ => self.text(of, wanted),
            },
            ConditionNode::RangeWithin { inner, outer } => match (self.end(inner), self.end(outer))
            {
                (
                    PathEnd::Stated(Value::Range(inner), _),
                    PathEnd::Stated(Value::Range(outer), _),
                ) => known(inner.lie_within(outer)),
                (PathEnd::Missing, _) | (_, PathEnd::Missing) => Formula::FALSE,
                _ => self.text(of, wanted),
            },
            ConditionNode::Is { path, values, .. } => self.is(of, path, values, wanted),
            ConditionNode::Same { left, right } => match (self.end(left), self.end(right)) {
                (PathEnd::Missing, _) | (_, PathEnd::Missing) => Formula::FALSE,
                // Two things of a run may be the same record, and are not the same for that.
                (PathEnd::Thing(Some(one), _), PathEnd::Thing(Some(other), _))
                    if self.is_only_named(one) =>
                {
                    known(one == other)
                }
                _ => self.text(of, wanted),
            },
            ConditionNode::IsStep { path, kinds } => {
                let key = format!("step {}", canonical::path(standard, path));
                let words: Vec<String> = standard
                    .kinds
                    .iter()
                    .filter(|kind| kind.place == PlaceInRun::Step)
                    .map(|kind| kind.name.clone())
                    .chain(["nothing".to_owned()])
                    .collect();
                let variable = self.vars.add_words(&key, &words, false, false);
                let numbers: Vec<u32> = kinds
                    .iter()
                    .map(|kind| self.vars.word(variable, &standard.kind(*kind).name))
                    .collect();
                let is = Domain::words(Words::of(numbers));
                let domain = if wanted.truth {
                    is
                } else {
                    is.complement().and_stated()
                };
                Formula::variable_in(variable, domain)
            }
            ConditionNode::Stated {
                path,
                how: Stating::Anyhow,
            } => self.stated(of, path, wanted),
            _ => self.text(of, wanted),
        }
    }
}

/// Whether an expression can be read in the place of a figure: plain arithmetic.
pub(in crate::diff) fn is_plain(of: &Expression) -> bool {
    match &of.node {
        ExpressionNode::Constant(_) | ExpressionNode::Path(_) => true,
        ExpressionNode::Negative(inner) | ExpressionNode::Power(inner, _) => is_plain(inner),
        ExpressionNode::Binary { left, right, .. } => is_plain(left) && is_plain(right),
        ExpressionNode::Call(
            crate::types::Function::Least | crate::types::Function::Most,
            list,
        ) => list.iter().all(is_plain),
        _ => false,
    }
}
