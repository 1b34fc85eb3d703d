//! A look at one situation: which requirements can break, and what is left of each setting.

use std::collections::{BTreeMap, BTreeSet};

use super::cast::{Setting, inherited};
use super::look::Look;
use super::narrow;
use super::node::Node;
use super::reads;
use super::set::Set;
use super::solve::{Answer, Found, Region};
use super::study::{ClauseId, Study, Window};
use crate::types::{KindId, PlaceInRun};

impl<'s> Look<'_, '_, 's> {
    pub(super) fn fates(&self, study: &mut Study) {
        for (index, placed) in self.placed.iter().enumerate() {
            let Some(fate) = study.fates.get_mut(&placed.clause) else {
                continue;
            };
            if fate.applies && fate.may_break && fate.may_break_alone {
                continue;
            }
            if !fate.applies_free && self.solver.together(&[&placed.free]) != Answer::No {
                fate.applies_free = true;
            }
            match self.solver.together(&[&placed.applies]) {
                Answer::No => {
                    fate.applies_unknown |= self.clauses.list[placed.clause].by_order;
                    if !fate.applies && !fate.applies_unknown {
                        fate.dead.extend(self.dead(&placed.whens));
                    }
                    continue;
                }
                Answer::Yes(Found { vague: false, .. }) => fate.applies = true,
                Answer::Yes(_) | Answer::Open => fate.applies_unknown = true,
            }
            if !fate.may_break && self.solver.together(&[&placed.breaks]) != Answer::No {
                fate.may_break = true;
            }
            if !fate.may_break || fate.may_break_alone {
                continue;
            }
            let mut others = self.around(index);
            others.retain(|other| self.placed[*other].clause != placed.clause);
            if self.ask(&others) == Answer::No {
                // Where nothing is left anyhow, nothing is learnt.
                continue;
            }
            let mut nodes: Vec<&Node<'s>> = others
                .iter()
                .map(|other| &self.placed[*other].kept)
                .collect();
            nodes.push(&placed.breaks);
            if self.solver.together(&nodes) == Answer::No {
                // What keeps it elsewhere is enough, if it keeps it here too.
                let mut known = others.clone();
                known.retain(|other| fate.kept_by.contains(&self.placed[*other].clause));
                let mut nodes: Vec<&Node<'s>> = known
                    .iter()
                    .map(|other| &self.placed[*other].kept)
                    .collect();
                nodes.push(&placed.breaks);
                if self.solver.together(&nodes) == Answer::No {
                    continue;
                }
                let core = self.core(&others, &[&placed.breaks]);
                fate.kept_by
                    .extend(core.iter().map(|other| self.placed[*other].clause));
            } else {
                fate.may_break_alone = true;
            }
        }
    }

    /// The smallest part of a `when` that cannot be true.
    fn dead(&self, whens: &[Node<'s>]) -> Vec<usize> {
        let mut kept: Vec<usize> = (0..whens.len()).collect();
        let mut at = 0;
        while at < kept.len() {
            let mut fewer = kept.clone();
            fewer.remove(at);
            let nodes: Vec<&Node<'s>> = fewer.iter().map(|index| &whens[*index]).collect();
            if self.solver.together(&nodes) == Answer::No {
                kept = fewer;
            } else {
                at += 1;
            }
        }
        kept
    }

    /// Settings of which the plain limits of requirements leave too little to verify.
    pub(super) fn windows(&self, study: &mut Study) {
        let mut left = Region::new();
        let mut by: BTreeMap<usize, BTreeSet<ClauseId>> = BTreeMap::new();
        let mut clashing = BTreeSet::new();
        for placed in self.placed {
            if !self.clauses.list[placed.clause].shall {
                continue;
            }
            let parts = match &placed.kept {
                Node::And(list) => list.as_slice(),
                node => std::slice::from_ref(node),
            };
            for part in parts {
                let Node::Limit(var, set) = part else {
                    continue;
                };
                match self.solver.of(&left, *var).meet(set) {
                    Some(met) => {
                        if met != self.solver.of(&left, *var) {
                            // Only who cuts is named; an end that was cut again drops its first one.
                            by.entry(*var).or_default().insert(placed.clause);
                        }
                        left.insert(*var, met);
                    }
                    None => {
                        clashing.insert(*var);
                    }
                }
            }
        }
        for (var, set) in left {
            let setting = self.cast.vars[var].setting;
            let narrow = || narrow::why(self.standard, setting, &set).is_some();
            if clashing.contains(&var) || !narrow() || self.is_forbidden() {
                continue;
            }
            let by = self.decisive(var, &set, by.remove(&var).unwrap_or_default());
            let combination = self.combination(&self.kinds(&by));
            let advised = self.near(&by, &self.said.advises);
            let same =
                |known: &Window| known.setting == setting && known.left == set && known.by == by;
            let at = study.windows.iter().position(same).unwrap_or_else(|| {
                study.windows.push(Window {
                    setting,
                    left: set.clone(),
                    by: by.clone(),
                    situation: self.situation.clone(),
                    combinations: BTreeSet::new(),
                    explained: BTreeMap::new(),
                });
                study.windows.len() - 1
            });
            let known = &mut study.windows[at];
            if advised.is_empty() {
                known.combinations.insert(combination);
            } else {
                known
                    .explained
                    .entry(combination)
                    .or_default()
                    .extend(advised);
            }
        }
    }

    /// Of what is said on the records alone, what speaks of the same settings of records as some limits.
    pub(super) fn near(
        &self,
        limits: &BTreeSet<ClauseId>,
        said: &BTreeSet<ClauseId>,
    ) -> BTreeSet<ClauseId> {
        let of_limits = limits.iter().flat_map(|id| self.record_settings(*id));
        let of_limits: BTreeSet<Setting> = of_limits.collect();
        let speaks = |id: &&ClauseId| {
            let mut mine = self.record_settings(**id).into_iter();
            mine.any(|setting| of_limits.contains(&setting))
        };
        said.iter().filter(speaks).copied().collect()
    }

    /// What only records can state that a requirement reads.
    fn record_settings(&self, id: ClauseId) -> BTreeSet<Setting> {
        let clause = &self.clauses.list[id];
        let requirement = &self.standard.rules[clause.rule].requirements[clause.requirement];
        let mut found = BTreeSet::new();
        reads::condition(&requirement.condition, &mut |read| {
            let last = read.path().and_then(reads::last);
            let of_record =
                |setting: &Setting| self.standard.kind(setting.0).place == PlaceInRun::Record;
            found.extend(last.filter(of_record));
        });
        found
    }

    /// Of those that cut, the ones whose ends were left in the end.
    fn decisive(&self, var: usize, left: &Set, by: BTreeSet<ClauseId>) -> BTreeSet<ClauseId> {
        let ends = left.ends();
        let decides = |clause: &ClauseId| {
            self.placed
                .iter()
                .filter(|placed| placed.clause == *clause)
                .any(|placed| {
                    let set = outermost(&placed.kept, var);
                    let mine = set.ends();
                    let shares = |a: Option<&super::set::End>, b: Option<&super::set::End>| {
                        a.is_some() && a == b
                    };
                    let domain = self.cast.vars[var].domain.ends();
                    (shares(mine.0, ends.0) && mine.0 != domain.0)
                        || (shares(mine.1, ends.1) && mine.1 != domain.1)
                })
        };
        by.into_iter().filter(decides).collect()
    }

    /// What records of the situation lack that a requirement reads.
    fn lacks(&self, id: ClauseId, study: &mut Study) {
        let clause = &self.clauses.list[id];
        let requirement = &self.standard.rules[clause.rule].requirements[clause.requirement];
        reads::condition(&requirement.condition, &mut |read| {
            let Some(setting) = read.path().and_then(reads::last) else {
                return;
            };
            let Some(Some(record)) = self.situation.records.get(&setting.0) else {
                return;
            };
            let of_records = self.standard.kind(setting.0).place == PlaceInRun::Record;
            let worked_out = self.standard.field(setting.0, setting.1).formula.is_some();
            if of_records && !worked_out && inherited(self.standard, *record, setting.1).is_none() {
                study
                    .lacking
                    .entry((setting, id))
                    .or_default()
                    .insert(*record);
            }
        });
    }

    /// Which settings have a limit in this combination.
    pub(super) fn limits(&self, study: &mut Study) {
        let mut kinds: BTreeMap<Setting, BTreeSet<KindId>> = BTreeMap::new();
        let mut limited = BTreeSet::new();
        for placed in self.placed {
            let clause = &self.clauses.list[placed.clause];
            if placed.applies != Node::False && placed.requires == Node::Unknown {
                self.lacks(placed.clause, study);
            }
            for setting in &clause.required {
                kinds.entry(*setting).or_default().extend(&clause.kinds);
                let binds = placed.applies != Node::False && placed.requires != Node::Unknown;
                if binds {
                    limited.insert(*setting);
                }
            }
        }
        for (setting, kinds) in kinds {
            let combination = self.combination(&kinds);
            let (with, without) = study.limited.entry(setting).or_default();
            if limited.contains(&setting) {
                with.insert(combination);
            } else {
                without.insert(combination);
            }
        }
    }
}

/// What a condition leaves of a setting at most: its plain limits met.
pub(super) fn outermost(node: &Node<'_>, var: usize) -> Set {
    match node {
        Node::Limit(of, set) if *of == var => set.clone(),
        Node::And(list) => list
            .iter()
            .map(|part| outermost(part, var))
            .try_fold(Set::ALL, |known, part| known.meet(&part))
            .unwrap_or(Set::ALL),
        _ => Set::ALL,
    }
}
