//! What must be so, over named variables. Built by its own constructors only, so that it is always simplified.

use std::collections::{BTreeMap, BTreeSet};

use super::domain::Domain;

/// A thing that a formula speaks of, by its number.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(crate) struct Variable(pub(crate) usize);

/// A condition that is no limit on one variable: an oracle decides it over a region.
pub(crate) trait Atom: Clone + PartialEq {
    /// The variables it rests on, each once.
    fn variables(&self) -> &[Variable];
}

/// Where there is none.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum NoAtom {}

impl Atom for NoAtom {
    fn variables(&self) -> &[Variable] {
        &[]
    }
}

/// A condition on a run.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Formula<A>(Form<A>);

/// The forms of a formula.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Form<A> {
    True,
    False,
    /// True or false, which is not known: it rules nothing out and shows nothing.
    Unknown,
    /// A variable lies in a domain.
    In(Variable, Domain),
    /// An atom is true, or it is not: *not true* is false, or missing.
    Atom {
        atom: A,
        holds: bool,
    },
    All(Vec<Formula<A>>),
    Any(Vec<Formula<A>>),
}

impl<A: Atom> Formula<A> {
    /// True.
    pub(crate) const TRUE: Self = Self(Form::True);

    /// False.
    pub(crate) const FALSE: Self = Self(Form::False);

    /// Not known: nothing is proved by it.
    pub(crate) const UNKNOWN: Self = Self(Form::Unknown);

    /// What is known to be so or not.
    pub(crate) fn known(truth: bool) -> Self {
        if truth { Self::TRUE } else { Self::FALSE }
    }

    /// A variable lies in a domain.
    pub(crate) fn variable_in(variable: Variable, domain: Domain) -> Self {
        if domain.is_empty() {
            Self::FALSE
        } else if domain.complement().is_empty() {
            Self::TRUE
        } else {
            Self(Form::In(variable, domain))
        }
    }

    /// An atom is true.
    pub(crate) fn atom(atom: A) -> Self {
        Self(Form::Atom { atom, holds: true })
    }

    /// All of these.
    pub(crate) fn all(list: impl IntoIterator<Item = Self>) -> Self {
        Self::joined(list, true)
    }

    /// Any of these.
    pub(crate) fn any(list: impl IntoIterator<Item = Self>) -> Self {
        Self::joined(list, false)
    }

    /// All, or any, with the limits on one variable made one.
    fn joined(list: impl IntoIterator<Item = Self>, all: bool) -> Self {
        let (neutral, decisive) = if all {
            (Form::True, Form::False)
        } else {
            (Form::False, Form::True)
        };
        let mut parts: Vec<Form<A>> = Vec::new();
        let mut places: BTreeMap<Variable, usize> = BTreeMap::new();
        let mut unknown = false;
        let mut todo: Vec<Form<A>> = Vec::new();
        for formula in list {
            todo.push(formula.0);
            while let Some(form) = todo.pop() {
                match form {
                    form if form == neutral => {}
                    form if form == decisive => return Self(decisive),
                    Form::Unknown => unknown = true,
                    Form::All(inner) if all => {
                        todo.extend(inner.into_iter().rev().map(|part| part.0));
                    }
                    Form::Any(inner) if !all => {
                        todo.extend(inner.into_iter().rev().map(|part| part.0));
                    }
                    Form::In(variable, domain) => match places.get(&variable) {
                        None => {
                            places.insert(variable, parts.len());
                            parts.push(Form::In(variable, domain));
                        }
                        Some(place) => {
                            if let Form::In(_, known) = &mut parts[*place] {
                                *known = if all {
                                    known.meet(&domain)
                                } else {
                                    known.union(&domain)
                                };
                            }
                        }
                    },
                    other => parts.push(other),
                }
            }
        }
        let mut simple: Vec<Self> = Vec::with_capacity(parts.len());
        for form in parts {
            let part = match form {
                Form::In(variable, domain) => Self::variable_in(variable, domain),
                other => Self(other),
            };
            if part.0 == decisive {
                return part;
            }
            if part.0 != neutral {
                simple.push(part);
            }
        }
        if unknown {
            simple.push(Self::UNKNOWN);
        }
        match simple.len() {
            0 => Self(neutral),
            1 => simple.remove(0),
            _ if all => Self(Form::All(simple)),
            _ => Self(Form::Any(simple)),
        }
    }

    /// Where it is not true. Of a limit that is all else a variable may be, *not stated* included.
    pub(crate) fn negated(&self) -> Self {
        match &self.0 {
            Form::True => Self::FALSE,
            Form::False => Self::TRUE,
            Form::Unknown => Self::UNKNOWN,
            Form::In(variable, domain) => Self::variable_in(*variable, domain.complement()),
            Form::Atom { atom, holds } => Self(Form::Atom {
                atom: atom.clone(),
                holds: !holds,
            }),
            Form::All(list) => Self::any(list.iter().map(Self::negated)),
            Form::Any(list) => Self::all(list.iter().map(Self::negated)),
        }
    }

    pub(super) fn form(&self) -> &Form<A> {
        &self.0
    }

    /// Whether it is true, whatever the variables are.
    pub(crate) fn is_true(&self) -> bool {
        matches!(self.0, Form::True)
    }

    /// Whether it is false, whatever the variables are.
    pub(crate) fn is_false(&self) -> bool {
        matches!(self.0, Form::False)
    }

    /// Whether nothing at all is known of it.
    pub(crate) fn is_unknown(&self) -> bool {
        matches!(self.0, Form::Unknown)
    }

    /// Whether no variable bears on it.
    pub(crate) fn is_settled(&self) -> bool {
        self.is_true() || self.is_false() || self.is_unknown()
    }

    /// The variable and its domain, where it is a limit on one.
    pub(crate) fn limit(&self) -> Option<(Variable, &Domain)> {
        match &self.0 {
            Form::In(variable, domain) => Some((*variable, domain)),
            _ => None,
        }
    }

    /// The parts that must all be so: its own, or itself.
    pub(crate) fn conjuncts(&self) -> &[Self] {
        match &self.0 {
            Form::All(list) => list,
            _ => std::slice::from_ref(self),
        }
    }

    /// Whether an oracle is asked for a part of it.
    pub(crate) fn has_atoms(&self) -> bool {
        match &self.0 {
            Form::True | Form::False | Form::Unknown | Form::In(..) => false,
            Form::Atom { .. } => true,
            Form::All(list) | Form::Any(list) => list.iter().any(Self::has_atoms),
        }
    }

    /// The variables it speaks of.
    pub(crate) fn variables(&self) -> BTreeSet<Variable> {
        let mut found = BTreeSet::new();
        self.collect(&mut found);
        found
    }

    /// The domains that it limits a variable to, part by part.
    pub(crate) fn domains<'f>(&'f self, of: Variable, found: &mut Vec<&'f Domain>) {
        match &self.0 {
            Form::In(variable, domain) if *variable == of => found.push(domain),
            Form::All(list) | Form::Any(list) => {
                list.iter().for_each(|part| part.domains(of, found));
            }
            Form::True | Form::False | Form::Unknown | Form::In(..) | Form::Atom { .. } => {}
        }
    }

    fn collect(&self, found: &mut BTreeSet<Variable>) {
        match &self.0 {
            Form::True | Form::False | Form::Unknown => {}
            Form::In(variable, _) => {
                found.insert(*variable);
            }
            Form::Atom { atom, .. } => found.extend(atom.variables()),
            Form::All(list) | Form::Any(list) => list.iter().for_each(|part| part.collect(found)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{Domain, Formula, NoAtom, Variable};
    use crate::types::Compare;
    use crate::units::Exact;

    fn limit(compare: Compare, value: i64) -> Formula<NoAtom> {
        let domain = Domain::compared(compare, &Exact::from_int(value));
        Formula::variable_in(Variable(0), domain)
    }

    #[test]
    fn limits_on_one_variable_become_one() {
        let both = Formula::all([limit(Compare::AtLeast, 2), limit(Compare::AtMost, 1)]);
        assert!(both.is_false());
        let either = Formula::any([limit(Compare::AtLeast, 2), limit(Compare::AtMost, 3)]);
        // Any number, but not a value that is left out.
        assert_eq!(either.limit(), Some((Variable(0), &Domain::numbers())));
        let stated = either.negated();
        assert!(stated.limit().is_some_and(|(_, of)| of.may_be_missing()));
    }

    #[test]
    fn what_is_not_known_is_not_lost() {
        let unknown = Formula::all([limit(Compare::AtLeast, 2), Formula::UNKNOWN]);
        assert_eq!(unknown.conjuncts().len(), 2);
        let never = Formula::all([Formula::UNKNOWN, Formula::<NoAtom>::FALSE]);
        assert!(never.is_false());
        assert!(Formula::<NoAtom>::UNKNOWN.negated().is_unknown());
        let any = Formula::any([Formula::UNKNOWN, Formula::<NoAtom>::FALSE]);
        assert!(any.is_unknown());
    }

    #[test]
    fn the_negation_of_a_negation_is_the_same() {
        let one = Formula::any([
            Formula::all([limit(Compare::AtLeast, 2), Formula::UNKNOWN]),
            Formula::variable_in(Variable(1), Domain::NOT_STATED),
        ]);
        assert_eq!(one.negated().negated(), one);
    }
}
