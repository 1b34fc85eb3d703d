//! A look at one situation: which requirements clash in it.

use std::collections::{BTreeMap, BTreeSet};
use std::ops::Deref;

use super::cast::{Cast, Situation};
use super::clauses::Clauses;
use super::node::Node;
use super::remains::outermost;
use super::set::Set;
use super::solve::{Answer, Found, Solver};
use super::study::{Clash, ClauseId, Placed, Said, Study};
use crate::types::{KindId, RecordId, Standard};
use crate::units::Exact;

/// A look at one situation.
pub(super) struct Look<'l, 'a, 's> {
    pub(super) standard: &'s Standard,
    pub(super) clauses: &'l Clauses,
    pub(super) cast: &'l Cast,
    pub(super) solver: &'l Solver<'a, 's>,
    pub(super) placed: &'l [Placed<'s>],
    pub(super) situation: &'l Situation,
    /// What rules on the records alone say of it.
    pub(super) said: &'l dyn Deref<Target = Said>,
}

impl<'s> Look<'_, '_, 's> {
    /// The records of the situation, of these kinds.
    pub(super) fn combination(&self, kinds: &BTreeSet<KindId>) -> Vec<RecordId> {
        let of = self.situation.records.iter();
        of.filter(|(kind, _)| kinds.contains(kind))
            .filter_map(|(_, record)| *record)
            .collect()
    }

    pub(super) fn kinds(&self, core: &BTreeSet<ClauseId>) -> BTreeSet<KindId> {
        let of = |clause: &ClauseId| self.clauses.list[*clause].kinds.iter().copied();
        core.iter().flat_map(of).collect()
    }

    /// Requirements that bind something here, in parts that share no setting.
    fn parts(&self) -> Vec<Vec<usize>> {
        let mut parts: Vec<(BTreeSet<usize>, Vec<usize>)> = Vec::new();
        for (index, placed) in self.placed.iter().enumerate() {
            let clause = &self.clauses.list[placed.clause];
            let known = matches!(placed.kept, Node::True | Node::False | Node::Unknown);
            if !clause.shall || known {
                continue;
            }
            let mut vars = Vec::new();
            placed.kept.vars(&mut vars);
            let mut mine: BTreeSet<usize> = self.solver.with_links(vars);
            let mut members = vec![index];
            parts.retain_mut(|(others, list)| {
                let apart = others.is_disjoint(&mine);
                if !apart {
                    mine.append(others);
                    members.append(list);
                }
                apart
            });
            parts.push((mine, members));
        }
        parts.into_iter().map(|(_, members)| members).collect()
    }

    pub(super) fn ask(&self, members: &[usize]) -> Answer {
        let nodes: Vec<&Node<'s>> = members
            .iter()
            .map(|index| &self.placed[*index].kept)
            .collect();
        self.solver.together(&nodes)
    }

    /// The members of a clash met before, if they clash here too: one reason is told once.
    fn known_core<'c>(
        &self,
        members: &[usize],
        known: impl IntoIterator<Item = &'c Clash>,
    ) -> Option<Vec<usize>> {
        known.into_iter().find_map(|clash| {
            let mine: Vec<usize> = members
                .iter()
                .copied()
                .filter(|index| clash.core.contains(&self.placed[*index].clause))
                .collect();
            let core = self.core(&mine, &[]);
            let clauses: BTreeSet<ClauseId> = core
                .iter()
                .map(|index| self.placed[*index].clause)
                .collect();
            (self.ask(&mine) == Answer::No && clauses == clash.core).then_some(core)
        })
    }

    /// The members without which all others could be kept, taken out one by one.
    pub(super) fn core(&self, members: &[usize], also: &[&Node<'s>]) -> Vec<usize> {
        let mut kept = members.to_vec();
        let mut at = 0;
        while at < kept.len() {
            let mut fewer = kept.clone();
            fewer.remove(at);
            let mut nodes: Vec<&Node<'s>> = fewer
                .iter()
                .map(|index| &self.placed[*index].kept)
                .collect();
            nodes.extend(also);
            if self.solver.together(&nodes) == Answer::No {
                kept = fewer;
            } else {
                at += 1;
            }
        }
        kept
    }

    pub(super) fn clashes(&self, study: &mut Study) {
        // A thing that is no record of its kind could be anything: what clashes there clashes for records.
        if !self.situation.is_named() {
            return;
        }
        for members in self.parts() {
            match self.ask(&members) {
                Answer::No => {
                    let known = study.clashes.iter().chain(&study.explained);
                    let core = self.known_core(&members, known);
                    let core = core.unwrap_or_else(|| self.core(&members, &[]));
                    let into = match self.is_forbidden() {
                        true => &mut study.explained,
                        false => &mut study.clashes,
                    };
                    self.clash(core, None, into);
                }
                Answer::Open => study.undecided += 1,
                Answer::Yes(_) => {}
            }
        }
        // What is recommended, on top of what is required.
        for (index, placed) in self.placed.iter().enumerate() {
            let known = matches!(placed.kept, Node::True | Node::False | Node::Unknown);
            if self.clauses.list[placed.clause].shall || known {
                continue;
            }
            let members = self.around(index);
            let mut with = members.clone();
            with.push(index);
            let vain = self.ask(&with) == Answer::No && self.ask(&members) != Answer::No;
            if vain && !self.is_forbidden() {
                let core = self.known_core(&with, &study.vain);
                let core = core.unwrap_or_else(|| self.core(&with, &[]));
                self.clash(core, Some(index), &mut study.vain);
            }
        }
    }

    /// The requirements that share settings with a clause, directly or not.
    pub(super) fn around(&self, index: usize) -> Vec<usize> {
        let mut vars = Vec::new();
        self.placed[index].kept.vars(&mut vars);
        self.placed[index].breaks.vars(&mut vars);
        let vars = self.solver.with_links(vars);
        let touches = |members: &Vec<usize>| {
            members.iter().any(|member| {
                let mut theirs = Vec::new();
                self.placed[*member].kept.vars(&mut theirs);
                !self.solver.with_links(theirs).is_disjoint(&vars)
            })
        };
        let parts = self.parts().into_iter().filter(touches);
        parts.flatten().filter(|member| *member != index).collect()
    }

    fn clash(&self, members: Vec<usize>, last: Option<usize>, into: &mut Vec<Clash>) {
        let core: BTreeSet<ClauseId> = members
            .iter()
            .map(|index| self.placed[*index].clause)
            .collect();
        let combination = self.combination(&self.kinds(&core));
        let known = into.iter().position(|clash| clash.core == core);
        let at = known.unwrap_or_else(|| {
            into.push(Clash {
                leaves: self.leaves(&members),
                without: self.without(&members, last),
                core,
                whenever: None,
                situation: self.situation.clone(),
                combinations: BTreeSet::new(),
                explained: BTreeMap::new(),
                disputed: last.is_some_and(|last| self.disputed(&members, last)),
            });
            into.len() - 1
        });
        if self.is_forbidden() {
            let about = self.about(&into[at].core, &self.said.forbids);
            let known = into[at].explained.entry(combination.clone()).or_default();
            known.extend(about);
        }
        into[at].combinations.insert(combination);
    }

    /// Whether a rule on the records alone says that they do not go together.
    pub(super) fn is_forbidden(&self) -> bool {
        !self.said.forbids.is_empty()
    }

    /// Of what is said on the records alone, what speaks of the same settings of records as some limits; else all.
    fn about(&self, limits: &BTreeSet<ClauseId>, said: &BTreeSet<ClauseId>) -> BTreeSet<ClauseId> {
        let near = self.near(limits, said);
        if near.is_empty() { said.clone() } else { near }
    }

    /// Requirements that cannot be kept where their rule applies: a run gets around them only by the `when`.
    pub(super) fn stuck(&self, study: &mut Study) {
        if !self.situation.is_named() {
            return;
        }
        for (index, placed) in self.placed.iter().enumerate() {
            let id = placed.clause;
            let always = matches!(placed.applies, Node::True | Node::False | Node::Unknown);
            let known = matches!(placed.requires, Node::True | Node::False | Node::Unknown);
            let shall = self.clauses.list[id].shall;
            if !shall || study.keepable.contains(&id) || self.is_forbidden() {
                continue;
            }
            if always || known {
                // Where the `when` is certain, what cannot be kept is a clash by itself.
                if placed.applies == Node::True {
                    study.keepable.insert(id);
                }
                continue;
            }
            let others = self.around(index);
            let with = |also: &[&Node<'s>]| {
                let mut nodes: Vec<&Node<'s>> = others
                    .iter()
                    .map(|other| &self.placed[*other].kept)
                    .collect();
                nodes.extend(also);
                self.solver.together(&nodes)
            };
            let Answer::Yes(free) = with(&[&placed.applies]) else {
                continue;
            };
            let both = [&placed.applies, &placed.requires];
            if with(&both) != Answer::No {
                study.keepable.insert(id);
                continue;
            }
            if study.stuck.contains_key(&id) {
                continue;
            }
            let mut members = self.core(&others, &both);
            members.push(index);
            let core: BTreeSet<ClauseId> = members
                .iter()
                .map(|index| self.placed[*index].clause)
                .collect();
            let clash = Clash {
                leaves: self.leaves(&members),
                combinations: BTreeSet::from([self.combination(&self.kinds(&core))]),
                core,
                whenever: Some(id),
                situation: self.situation.clone(),
                without: vec![(id, free.point)],
                explained: BTreeMap::new(),
                disputed: false,
            };
            study.stuck.insert(id, clash);
        }
    }

    /// Whether advice could be followed at some point inside what records state as a span.
    fn disputed(&self, members: &[usize], advice: usize) -> bool {
        let mut nodes: Vec<&Node<'s>> = members
            .iter()
            .filter(|index| **index != advice)
            .map(|index| &self.placed[*index].kept)
            .collect();
        nodes.push(&self.placed[advice].may_do);
        let clear = |found: &Found| !found.vague;
        matches!(self.solver.together(&nodes), Answer::Yes(found) if clear(&found))
    }

    /// The one setting that plain limits leave nothing of, and what each leaves.
    fn leaves(&self, members: &[usize]) -> Option<(usize, Vec<(ClauseId, Set)>)> {
        // One requirement that nothing keeps leaves nothing.
        if members.len() < 2 {
            return None;
        }
        let mut shared: Option<BTreeSet<usize>> = None;
        for index in members {
            let mut vars = Vec::new();
            self.placed[*index].requires.vars(&mut vars);
            let vars: BTreeSet<usize> = vars.into_iter().collect();
            shared = Some(match shared {
                Some(known) => known.intersection(&vars).copied().collect(),
                None => vars,
            });
        }
        let var = *shared?.iter().next()?;
        let each = |index: &usize| {
            let placed = &self.placed[*index];
            let Answer::Yes(found) = self.solver.together(&[&placed.requires]) else {
                return (placed.clause, outermost(&placed.requires, var));
            };
            (placed.clause, self.solver.of(&found.left, var))
        };
        Some((var, members.iter().map(each).collect()))
    }

    /// Runs that keep all but one: without each in turn, `last` at first where it is given.
    fn without(
        &self,
        members: &[usize],
        last: Option<usize>,
    ) -> Vec<(ClauseId, BTreeMap<usize, Exact>)> {
        let mut order: Vec<usize> = last.into_iter().collect();
        if order.is_empty() {
            order.extend(members.iter().rev());
        }
        let run = |left_out: usize| {
            let left_out = self.placed[left_out].clause;
            let others: Vec<usize> = (0..self.placed.len())
                .filter(|index| {
                    let placed = &self.placed[*index];
                    let known = matches!(placed.kept, Node::True | Node::False | Node::Unknown);
                    let shall = self.clauses.list[placed.clause].shall;
                    placed.clause != left_out && shall && !known
                })
                .collect();
            match self.ask(&others) {
                Answer::Yes(found) => Some((left_out, found.point)),
                _ => None,
            }
        };
        order.into_iter().filter_map(run).collect()
    }
}
