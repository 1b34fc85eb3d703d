//! Which requirements bear on each other in a situation: those that share a setting, directly or not.
//!
//! What plain limits leave of a setting without one requirement is worked out once for all of them,
//! so that thousands of limits on one setting are not met anew for each.

use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;

use super::clauses::Clauses;
use super::oracle::RunOracle;
use super::resolver::Figure;
use super::study::Placed;
use crate::constraint::{Domain, End, Formula, Oracle, Proof, Region, Variable};

/// The requirements of a situation in parts that share no setting.
pub(super) struct Neighbours<'p, 's> {
    parts: Vec<Part<'p, 's>>,
    /// The part that a variable belongs to.
    of: BTreeMap<Variable, usize>,
}

/// Requirements that share settings.
#[derive(Default)]
pub(super) struct Part<'p, 's> {
    /// Their places in the list, in order.
    pub(super) members: Vec<usize>,
    limits: BTreeMap<Variable, Limits>,
    /// What is no plain limit.
    rest: Vec<(usize, &'p Formula<Figure<'s>>)>,
}

/// The plain limits on one variable, in the order of the requirements they come from.
#[derive(Default)]
struct Limits {
    from: Vec<usize>,
    each: Vec<Domain>,
    /// What the first so many leave.
    before: Vec<Domain>,
    /// What those from here on leave.
    after: Vec<Domain>,
    /// By how far up the lower end lies, the highest last; and by how far down the upper end does.
    by_low: Vec<usize>,
    by_high: Vec<usize>,
}

impl Limits {
    fn finish(&mut self) {
        let all = Domain::everything();
        self.before = vec![all.clone()];
        for domain in &self.each {
            let known = &self.before[self.before.len() - 1];
            self.before.push(known.meet(domain));
        }
        let mut after = vec![all];
        for domain in self.each.iter().rev() {
            let known = &after[after.len() - 1];
            after.push(known.meet(domain));
        }
        after.reverse();
        self.after = after;
        let value = |end: Option<&End>| end.map(|end| end.value.clone());
        self.by_low = (0..self.each.len()).collect();
        self.by_low
            .sort_by_cached_key(|index| value(self.each[*index].ends().0));
        self.by_high = (0..self.each.len())
            .filter(|index| self.each[*index].ends().1.is_some())
            .collect();
        self.by_high
            .sort_by_cached_key(|index| std::cmp::Reverse(value(self.each[*index].ends().1)));
    }

    /// What all leave, but those of some requirements.
    fn without(&self, left_out: &Range<usize>) -> Domain {
        let start = self.from.partition_point(|from| *from < left_out.start);
        let end = self.from.partition_point(|from| *from < left_out.end);
        self.before[start].meet(&self.after[end])
    }

    /// A requirement whose limit alone excludes a domain, but those of some; the strictest.
    fn excluding(&self, domain: &Domain, left_out: &Range<usize>) -> Option<usize> {
        // Of each side the strictest few: what they do not exclude, hardly anything does.
        let strictest = |order: &[usize]| -> Vec<usize> {
            let of = order.iter().rev().copied();
            of.filter(|index| !left_out.contains(&self.from[*index]))
                .take(2)
                .collect()
        };
        let candidates = strictest(&self.by_low).into_iter();
        candidates
            .chain(strictest(&self.by_high))
            .filter(|index| !self.each[*index].overlaps(domain))
            .map(|index| self.from[index])
            .max()
    }
}

impl<'p, 's> Neighbours<'p, 's> {
    /// Of the requirements of a situation.
    pub(super) fn of(
        clauses: &Clauses,
        oracle: &RunOracle<'_, 's>,
        placed: &'p [Placed<'s>],
    ) -> Self {
        let mut groups = Groups::default();
        for definition in oracle.definitions() {
            groups.join(std::iter::once(&definition.variable).chain(&definition.inputs));
        }
        let binds = |of: &Placed<'s>| clauses.list[of.clause].shall && !of.is_settled();
        let variables: Vec<Vec<Variable>> = placed
            .iter()
            .map(|of| of.kept.variables().into_iter().collect())
            .collect();
        for (of, variables) in placed.iter().zip(&variables) {
            if binds(of) {
                groups.join(variables.iter());
            }
        }
        let mut found = Self {
            parts: Vec::new(),
            of: BTreeMap::new(),
        };
        let mut places: BTreeMap<Variable, usize> = BTreeMap::new();
        for (index, (of, variables)) in placed.iter().zip(&variables).enumerate() {
            if !binds(of) {
                continue;
            }
            let Some(first) = variables.first() else {
                // What no value does is a part of its own.
                found.parts.push(Part::of(index, &of.kept));
                continue;
            };
            let root = groups.root(*first);
            let place = *places.entry(root).or_insert_with(|| {
                found.parts.push(Part::default());
                found.parts.len() - 1
            });
            let part = &mut found.parts[place];
            part.members.push(index);
            for conjunct in of.kept.conjuncts() {
                match conjunct.limit() {
                    Some((variable, domain)) => {
                        let limits = part.limits.entry(variable).or_default();
                        limits.from.push(index);
                        limits.each.push(domain.clone());
                    }
                    None => part.rest.push((index, conjunct)),
                }
            }
        }
        for part in &mut found.parts {
            part.limits.values_mut().for_each(Limits::finish);
        }
        for variable in groups.all() {
            if let Some(place) = places.get(&groups.root(variable)) {
                found.of.insert(variable, *place);
            }
        }
        found
    }

    /// All parts.
    pub(super) fn parts(&self) -> &[Part<'p, 's>] {
        &self.parts
    }

    /// The parts that a requirement bears on.
    pub(super) fn around(&self, placed: &Placed<'s>) -> Vec<&Part<'p, 's>> {
        let mut variables = placed.kept.variables();
        variables.extend(placed.breaks.variables());
        let of = variables.iter().filter_map(|of| self.of.get(of));
        let places: BTreeSet<usize> = of.copied().collect();
        places.into_iter().map(|place| &self.parts[place]).collect()
    }
}

impl<'p, 's> Part<'p, 's> {
    /// One requirement by itself.
    fn of(index: usize, kept: &'p Formula<Figure<'s>>) -> Self {
        Self {
            members: vec![index],
            limits: BTreeMap::new(),
            rest: vec![(index, kept)],
        }
    }

    /// Where all are kept but some: what plain limits leave, and what else must be so.
    ///
    /// # Errors
    /// With the proof, when plain limits leave nothing.
    pub(super) fn kept_without(
        &self,
        oracle: &RunOracle<'_, 's>,
        region: &mut Region,
        left_out: &Range<usize>,
    ) -> Result<Vec<&'p Formula<Figure<'s>>>, Proof> {
        for (variable, limits) in &self.limits {
            region.narrow(oracle, *variable, &limits.without(left_out))?;
        }
        let others = self.rest.iter();
        let others = others.filter(|(index, _)| !left_out.contains(index));
        Ok(others.map(|(_, formula)| *formula).collect())
    }

    /// A requirement that alone excludes a plain limit.
    pub(super) fn excluding(
        &self,
        formula: &Formula<Figure<'s>>,
        left_out: &Range<usize>,
    ) -> Option<usize> {
        let conjuncts = formula.conjuncts().iter().filter_map(Formula::limit);
        let of = |(variable, domain): (Variable, &Domain)| {
            self.limits.get(&variable)?.excluding(domain, left_out)
        };
        conjuncts.filter_map(of).max()
    }
}

/// Variables that belong together.
#[derive(Default)]
struct Groups(BTreeMap<Variable, Variable>);

impl Groups {
    fn root(&self, mut of: Variable) -> Variable {
        while let Some(next) = self.0.get(&of).filter(|next| **next != of) {
            of = *next;
        }
        of
    }

    fn join<'v>(&mut self, variables: impl Iterator<Item = &'v Variable>) {
        let mut first = None;
        for variable in variables {
            self.0.entry(*variable).or_insert(*variable);
            let root = self.root(*variable);
            match first {
                None => first = Some(root),
                Some(to) => {
                    self.0.insert(root, to);
                    // The way to the root stays short.
                    self.0.insert(*variable, to);
                }
            }
        }
    }

    fn all(&self) -> impl Iterator<Item = Variable> + '_ {
        self.0.keys().copied()
    }
}
