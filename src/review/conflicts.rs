//! The questions asked of one situation, and which requirements clash in it.

use std::collections::{BTreeMap, BTreeSet};
use std::ops::{Deref, Range};

use super::clauses::Clauses;
use super::neighbours::{Neighbours, Part};
use super::oracle::RunOracle;
use super::redundancy::outermost;
use super::resolver::Figure;
use super::study::{Clash, ClauseId, Placed, Said, Study};
use super::symbolic_run::{Situation, SymbolicRun};
use crate::constraint::{
    Answer, Budget, Candidate, Domain, Formula, Reason, Region, Shares, Solver, Variable,
};
use crate::types::{KindId, RecordId, Standard};
use crate::units::Exact;

/// What is asked of one situation.
pub(super) struct Questions<'l, 'a, 's> {
    pub(super) standard: &'s Standard,
    pub(super) clauses: &'l Clauses,
    pub(super) run: &'l SymbolicRun,
    pub(super) oracle: &'l RunOracle<'a, 's>,
    pub(super) solver: Solver<'l, RunOracle<'a, 's>>,
    /// What each requirement may take.
    pub(super) shares: &'l Shares<'l>,
    pub(super) placed: &'l [Placed<'s>],
    pub(super) neighbours: &'l Neighbours<'l, 's>,
    pub(super) situation: &'l Situation,
    /// What rules on the records alone say of it.
    pub(super) said: &'l dyn Deref<Target = Said>,
}

impl<'l, 's> Questions<'l, '_, 's> {
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

    /// What a variable may be in a region.
    pub(super) fn of<'r>(&'r self, region: &'r Region, variable: Variable) -> &'r Domain {
        region.of(self.oracle, variable)
    }

    /// Whether these can be true together.
    pub(super) fn together(
        &self,
        who: ClauseId,
        formulas: &[&Formula<Figure<'s>>],
    ) -> Answer<Candidate> {
        let ask = |budget: &Budget<'_>| self.solver.together(formulas, budget);
        self.shares.ask(who, ask)
    }

    /// Whether all members can be kept, and these be true.
    pub(super) fn kept(
        &self,
        who: ClauseId,
        members: &[usize],
        also: &[&Formula<Figure<'s>>],
    ) -> Answer<Candidate> {
        let kept = members.iter().map(|index| &self.placed[*index].kept);
        let formulas: Vec<_> = kept.chain(also.iter().copied()).collect();
        self.together(who, &formulas)
    }

    /// Whether all that a requirement bears on can be kept but some, and these be true.
    pub(super) fn others_kept(
        &self,
        index: usize,
        left_out: &Range<usize>,
        also: &[&Formula<Figure<'s>>],
    ) -> Answer<Candidate> {
        let placed = &self.placed[index];
        let mut region = Region::default();
        let mut formulas = Vec::new();
        for part in self.neighbours.around(placed) {
            match part.kept_without(self.oracle, &mut region, left_out) {
                Ok(rest) => formulas.extend(rest),
                Err(proof) => return Answer::Proved(proof),
            }
        }
        formulas.extend(also);
        let ask = |budget: &Budget<'_>| self.solver.together_within(region, &formulas, budget);
        self.shares.ask(placed.clause, ask)
    }

    /// All that a requirement bears on, but some.
    pub(super) fn around(&self, index: usize, left_out: &Range<usize>) -> Vec<usize> {
        let parts = self.neighbours.around(&self.placed[index]);
        let members = parts.iter().flat_map(|part| part.members.iter().copied());
        members.filter(|index| !left_out.contains(index)).collect()
    }

    /// The places of all things that a requirement is asked of.
    pub(super) fn of_clause(&self, id: ClauseId) -> Range<usize> {
        let start = self.placed.partition_point(|placed| placed.clause < id);
        let end = self.placed.partition_point(|placed| placed.clause <= id);
        start..end
    }

    /// The requirement that a question on a part is counted for: one with a figure, which takes most.
    fn asker(&self, part: &Part<'_, 's>) -> ClauseId {
        let mut members = part.members.iter().map(|index| &self.placed[*index]);
        let figure = members.clone().find(|of| of.kept.has_atoms());
        figure.or_else(|| members.next()).map_or(0, |of| of.clause)
    }

    /// The members of a clash met before, if they clash here too: one reason is told once.
    fn known_core<'c>(
        &self,
        who: ClauseId,
        members: &[usize],
        known: impl IntoIterator<Item = &'c Clash>,
    ) -> Option<Vec<usize>> {
        let here: BTreeSet<ClauseId> = members
            .iter()
            .map(|index| self.placed[*index].clause)
            .collect();
        known.into_iter().find_map(|clash| {
            if !clash.core.is_subset(&here) {
                return None;
            }
            let mine: Vec<usize> = members
                .iter()
                .copied()
                .filter(|index| clash.core.contains(&self.placed[*index].clause))
                .collect();
            if !self.kept(who, &mine, &[]).is_proved() {
                return None;
            }
            let core = self.core(who, &mine, &[]);
            let clauses: BTreeSet<ClauseId> = core
                .iter()
                .map(|index| self.placed[*index].clause)
                .collect();
            (clauses == clash.core).then_some(core)
        })
    }

    /// The fewest members that cannot be kept, where these are true; of several such sets the one furthest down.
    ///
    /// By halving, so that a few of thousands are found in a few dozen questions. What stays open
    /// leaves a member in that could have gone, never one out.
    pub(super) fn core(
        &self,
        who: ClauseId,
        members: &[usize],
        also: &[&Formula<Figure<'s>>],
    ) -> Vec<usize> {
        if self.kept(who, &[], also).is_proved() {
            return Vec::new();
        }
        let last_first: Vec<usize> = members.iter().rev().copied().collect();
        let mut core = self.halved(who, &mut Vec::new(), false, &last_first, also);
        core.sort_unstable();
        core
    }

    fn halved(
        &self,
        who: ClauseId,
        kept: &mut Vec<usize>,
        added: bool,
        members: &[usize],
        also: &[&Formula<Figure<'s>>],
    ) -> Vec<usize> {
        if added && self.kept(who, kept, also).is_proved() {
            return Vec::new();
        }
        if members.len() <= 1 {
            return members.to_vec();
        }
        let (first, second) = members.split_at(members.len() / 2);
        let before = kept.len();
        kept.extend(first);
        let mut core = self.halved(who, kept, true, second, also);
        kept.truncate(before);
        kept.extend(&core);
        let more = self.halved(who, kept, !core.is_empty(), first, also);
        kept.truncate(before);
        core.extend(more);
        core
    }

    pub(super) fn clashes(&self, study: &mut Study) {
        // A thing that is no record of its kind could be anything: what clashes there clashes for records.
        if !self.situation.is_named() {
            return;
        }
        for part in self.neighbours.parts() {
            let who = self.asker(part);
            let mut region = Region::default();
            let answer = match part.kept_without(self.oracle, &mut region, &(0..0)) {
                Err(proof) => Answer::Proved(proof),
                Ok(rest) => {
                    let ask =
                        |budget: &Budget<'_>| self.solver.together_within(region, &rest, budget);
                    self.shares.ask(who, ask)
                }
            };
            match answer {
                Answer::Proved(_) => {
                    let known = study.clashes.iter().chain(&study.explained);
                    let core = self.known_core(who, &part.members, known);
                    let core = core.unwrap_or_else(|| self.core(who, &part.members, &[]));
                    let into = match self.is_forbidden() {
                        true => &mut study.explained,
                        false => &mut study.clashes,
                    };
                    self.clash(core, None, into);
                }
                Answer::Open(reason) => self.shares.leave_open(who, reason),
                Answer::Witness(_) => {}
            }
        }
        // What is recommended, on top of what is required.
        for (index, placed) in self.placed.iter().enumerate() {
            let who = placed.clause;
            if self.clauses.list[who].shall || placed.is_settled() {
                continue;
            }
            let itself = index..index + 1;
            let with = self.others_kept(index, &itself, &[&placed.kept]);
            if let Answer::Open(reason) = with {
                self.leave_open(who, reason);
            }
            if !with.is_proved() || self.others_kept(index, &itself, &[]).is_proved() {
                continue;
            }
            if !self.is_forbidden() {
                let mut with = self.around(index, &itself);
                with.push(index);
                let core = self.known_core(who, &with, &study.vain);
                let core = core.unwrap_or_else(|| self.core(who, &with, &[]));
                self.clash(core, Some(index), &mut study.vain);
            }
        }
    }

    /// Notes a question that the bounds of the search ended, so that it is said; what cannot be decided at all is no news.
    pub(super) fn leave_open(&self, who: ClauseId, reason: Reason) {
        if matches!(reason, Reason::Spent | Reason::TooDeep) {
            self.shares.leave_open(who, reason);
        }
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
            let shall = self.clauses.list[id].shall;
            if !shall || study.keepable.contains(&id) {
                continue;
            }
            if placed.applies.is_settled() || placed.requires_nothing_free() {
                // Where the `when` is certain, what cannot be kept is a clash by itself.
                if placed.applies.is_true() && !self.is_forbidden() {
                    study.keepable.insert(id);
                }
                continue;
            }
            if self.is_forbidden() {
                continue;
            }
            let itself = index..index + 1;
            let Answer::Witness(free) = self.others_kept(index, &itself, &[&placed.applies]) else {
                continue;
            };
            let both = [&placed.applies, &placed.requires];
            if !self.others_kept(index, &itself, &both).is_proved() {
                study.keepable.insert(id);
                continue;
            }
            if study.stuck.contains_key(&id) {
                continue;
            }
            let others = self.around(index, &itself);
            let mut members = self.core(id, &others, &both);
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
        let others: Vec<usize> = members
            .iter()
            .copied()
            .filter(|index| *index != advice)
            .collect();
        let placed = &self.placed[advice];
        let found = self.kept(placed.clause, &others, &[&placed.may_do]);
        found.witness().is_some_and(|found| found.certain)
    }

    /// The one setting that plain limits leave nothing of, and what each leaves.
    fn leaves(&self, members: &[usize]) -> Option<(Variable, Vec<(ClauseId, Domain)>)> {
        // One requirement that nothing keeps leaves nothing.
        if members.len() < 2 {
            return None;
        }
        let mut shared: Option<BTreeSet<Variable>> = None;
        for index in members {
            let variables = self.placed[*index].requires.variables();
            shared = Some(match shared {
                Some(known) => &known & &variables,
                None => variables,
            });
        }
        let variable = *shared?.first()?;
        let each = |index: &usize| {
            let placed = &self.placed[*index];
            let found = self.together(placed.clause, &[&placed.requires]);
            let left = match found.witness() {
                Some(found) => self.of(&found.region, variable).clone(),
                None => outermost(&placed.requires, variable),
            };
            (placed.clause, left)
        };
        Some((variable, members.iter().map(each).collect()))
    }

    /// Runs that keep all but one: without each in turn, `last` at first where it is given.
    fn without(
        &self,
        members: &[usize],
        last: Option<usize>,
    ) -> Vec<(ClauseId, BTreeMap<Variable, Exact>)> {
        let mut order: Vec<usize> = last.into_iter().collect();
        if order.is_empty() {
            order.extend(members.iter().rev());
        }
        let run = |left_out: usize| {
            let left_out = self.placed[left_out].clause;
            let others: Vec<usize> = (0..self.placed.len())
                .filter(|index| {
                    let placed = &self.placed[*index];
                    let shall = self.clauses.list[placed.clause].shall;
                    placed.clause != left_out && shall && !placed.is_settled()
                })
                .collect();
            let found = self.kept(left_out, &others, &[]).witness()?;
            Some((left_out, found.point))
        };
        order.into_iter().filter_map(run).collect()
    }
}
